"""The supply path solved for a shunt at the motor's terminals; complex, per phase, at the motor's voltage level.

Everything here takes plain complex numbers and arrays alike, so that a run-up can march on scalars and a
characteristic can be drawn over a whole grid with the same arithmetic.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.supply.path import Busbar, LoadModel, SupplyPath
from slipwise.quantity.errors import InputError

# Below this share of nominal voltage a constant-power load is held at the admittance it has there, because motors stall
# and controls let go (common practice, no source); it also keeps a collapsing path solvable.
CONSTANT_POWER_FLOOR = 0.7
_ITERATIONS = 60
_TOLERANCE = 1e-13


@dataclass(frozen=True, slots=True, kw_only=True)
class Voltages:
    """busbars: complex phase voltage at each busbar at the motor's level, in path order (the last is the terminals). [V]"""

    busbars: tuple[Any, ...]

    @property
    def terminals(self) -> Any:
        return self.busbars[-1]


def solve(path: SupplyPath, admittance: Any = 0.0, frequency: float = 1.0) -> Voltages:
    """Busbar voltages with a per-phase `admittance` (S, any shape) drawn at the terminals.

    frequency: of the source per unit of the path's. Constant-power base loads are iterated on their own voltage; below
    CONSTANT_POWER_FLOOR they keep the admittance they have there.

    Source: ladder network by back-substitution from the far end (IEC 60909-0 gives the impedances).
    """
    loads = [_admittance(link.busbar, _nominal(link.busbar)) for link in path.links]
    voltages = _ladder(path, loads, admittance, frequency)
    if not any(_follows_voltage(busbar) for busbar in path.busbars):
        return Voltages(busbars=voltages)
    for _ in range(_ITERATIONS):
        loads = [_admittance(busbar, abs(v)) for busbar, v in zip(path.busbars, voltages, strict=True)]
        before, voltages = voltages, _ladder(path, loads, admittance, frequency)
        change = abs(voltages[-1] - before[-1]) / abs(before[-1])
        if (change if isinstance(change, float) else np.max(change)) < _TOLERANCE:
            break
    return Voltages(busbars=voltages)


def prestart(path: SupplyPath) -> Voltages:
    """Busbar voltages before the motor is switched on."""
    return solve(path)


def per_unit(path: SupplyPath, voltages: Voltages) -> tuple[Any, ...]:
    """Magnitude at each busbar per unit of its own nominal voltage."""
    return tuple(abs(v) / _nominal(b) for b, v in zip(path.busbars, voltages.busbars, strict=True))


def thevenin(path: SupplyPath, frequency: float = 1.0) -> tuple[complex, complex]:
    """Open-circuit phase voltage (V) and impedance (ohm) at the terminals, base loads held at their pre-start admittance."""
    emf: complex = path.voltage / sqrt(3)
    impedance: complex = 0.0
    for link, load in zip(path.links, prestart_loads(path), strict=True):
        impedance += _at(link.impedance, frequency)
        emf, impedance = emf / (1 + impedance * load), impedance / (1 + impedance * load)
    return emf, impedance


def held_at(path: SupplyPath, level: float, busbar: int = 0) -> SupplyPath:
    """The path with its source raised so that one busbar stands at `level` (pu of nominal) before the start.

    What a voltage regulator does: the emf behind a generator's transient reactance, which then stays as it is while
    the motor starts.

    Raises:
        InputError: no source voltage up to three times nominal holds that busbar.
    """
    low, high = 0.1 * path.voltage, 3.0 * path.voltage

    def gap(voltage: float) -> float:
        raised = replace(path, voltage=voltage)
        return float(per_unit(raised, prestart(raised))[busbar]) - level

    if gap(high) < 0:
        name = path.busbars[busbar].name
        raise InputError.of(
            "supply", f"{level:g} pu at {name}", "the base load is too heavy for the source", "lessen it"
        )
    while high - low > 1e-12 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if gap(middle) < 0 else (low, middle)
    return replace(path, voltage=high)


def prestart_loads(path: SupplyPath) -> tuple[complex, ...]:
    """Shunt admittance of each busbar's base load at the voltage it has before the start. [S]"""
    return tuple(complex(_admittance(b, abs(v))) for b, v in zip(path.busbars, prestart(path).busbars, strict=True))


def _nominal(busbar: Busbar) -> float:
    return busbar.nominal * busbar.referral / sqrt(3)


def _follows_voltage(busbar: Busbar) -> bool:
    return busbar.load is not None and busbar.load.model is LoadModel.CONSTANT_POWER


def _admittance(busbar: Busbar, voltage: Any) -> Any:
    """Shunt admittance of the base load at phase voltage magnitude `voltage`. [S]"""
    if busbar.load is None:
        return 0.0
    nominal = _nominal(busbar)
    held = nominal if not _follows_voltage(busbar) else np.maximum(voltage, CONSTANT_POWER_FLOOR * nominal)
    return busbar.load.power.conjugate() / 3 / held**2


def _ladder(path: SupplyPath, loads: list[Any], admittance: Any, frequency: float) -> tuple[Any, ...]:
    voltage: Any = 1.0
    current: Any = admittance
    ratios = []
    for link, load in zip(reversed(path.links), reversed(loads), strict=True):
        current = current + voltage * load
        ratios.append(voltage)
        voltage = voltage + _at(link.impedance, frequency) * current
    scale = path.voltage / sqrt(3) / voltage
    return tuple(ratio * scale for ratio in reversed(ratios))


def _at(impedance: complex, frequency: float) -> complex:
    return complex(impedance.real, impedance.imag * frequency)
