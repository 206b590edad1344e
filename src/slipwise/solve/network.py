"""The supply path solved for a shunt at the motor's terminals; complex, per phase, at the motor's voltage level.

Everything here takes plain complex numbers and arrays alike, so that a run-up can march on scalars and a
characteristic can be drawn over a whole grid with the same arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt
from typing import Any

import numpy as np

from slipwise.model.supply.path import Busbar, LoadModel, SupplyPath
from slipwise.quantity.errors import InputError

# Below this share of nominal voltage a constant-power load is held at the admittance it has there, because motors stall
# and controls let go (common practice, no source); it also keeps a collapsing path solvable.
CONSTANT_POWER_FLOOR = 0.7
_ITERATIONS = 60
_TOLERANCE = 1e-10  # of the voltage, between iterations; each is some twenty times as near as the one before


@dataclass(frozen=True, slots=True, kw_only=True)
class Voltages:
    """busbars: complex phase voltage at each busbar at the motor's level, in path order (the last is the terminals). [V]"""

    busbars: tuple[Any, ...]

    @property
    def terminals(self) -> Any:
        return self.busbars[-1]


def solve(path: SupplyPath, admittance: Any = 0.0, frequency: float = 1.0, power: Any = 0.0) -> Voltages:
    """Busbar voltages with a per-phase `admittance` (S) and a constant active `power` (W) drawn at the terminals.

    admittance, power: numbers or arrays of one shape. frequency: of the source per unit of the path's.
    A constant-power base load is solved with its own voltage, several by iteration; below CONSTANT_POWER_FLOOR they keep
    the admittance they have there. `power` is what a converter takes per phase at displacement factor 1.

    Source: bus impedance matrix built branch by branch (Stagg and El-Abiad, Computer Methods in Power System Analysis,
    from memory); IEC 60909-0 gives the impedances.
    """
    net = reduced(path, frequency)
    draw_power = not (isinstance(power, float) and power == 0.0)
    shunted = admittance / (1 + net.impedance[-1][-1] * admittance)
    emf = [e - row[-1] * shunted * net.emf[-1] for e, row in zip(net.emf, net.impedance, strict=True)]
    if not net.followers and not (draw_power and any(row[-1] for row in net.impedance)):
        return Voltages(busbars=tuple(emf))
    places = [f.place for f in net.followers] + [len(emf) - 1] * draw_power
    last = net.impedance[-1]
    impedance = [[row[k] - row[-1] * shunted * last[k] for k in places] for row in net.impedance]
    currents = _currents(net.followers, power, [emf[k] for k in places], [impedance[k] for k in places])
    return Voltages(busbars=tuple(_dropped(e, row, currents) for e, row in zip(emf, impedance, strict=True)))


def _currents(followers: Sequence[Follower], power: Any, emf: list[Any], impedance: list[list[Any]]) -> list[Any]:
    """Currents of the constant-power loads (and of `power`, when a place is left for it). [A]"""
    if len(followers) == len(emf) == 1:
        return [_alone(followers[0], emf[0], impedance[0][0])]
    return _iterated(followers, power, emf, impedance)


def _alone(follower: Follower, emf: Any, impedance: Any) -> Any:
    """Current of the only constant-power load, in closed form. [A]

    With w the impedance times the conjugate power, V (1 + w / |V|^2) = E, so x = |V|^2 is the upper root of
    x^2 + (2 Re w - |E|^2) x + |w|^2 = 0; where there is none above the floor, the load is an admittance.
    """
    drawn = follower.power.conjugate()
    w = impedance * drawn
    half = 0.5 * (abs(emf) ** 2 - 2 * w.real)
    root = half * half - abs(w) ** 2
    floor = follower.floor**2
    if isinstance(root, float):
        held = max(half + root**0.5, floor) if root > 0.0 else floor
    else:
        held = np.where(root > 0.0, np.maximum(half + np.maximum(root, 0.0) ** 0.5, floor), floor)
    return drawn * emf / (held + w)


def _iterated(followers: Sequence[Follower], power: Any, emf: list[Any], impedance: list[list[Any]]) -> list[Any]:
    """The same by simple iteration, for several of them."""
    volts = emf
    close = _TOLERANCE * (abs(emf[0]) if isinstance(emf[0], complex) else np.max(abs(emf[0])))
    for _ in range(_ITERATIONS):
        currents = [_current(f, v) for f, v in zip(followers, volts, strict=False)]
        if len(volts) > len(followers):
            currents.append(power / volts[-1].conjugate())
        before, volts = volts, [_dropped(e, row, currents) for e, row in zip(emf, impedance, strict=True)]
        change = abs(volts[0] - before[0]) + abs(volts[-1] - before[-1])
        if (change if isinstance(change, float) else np.max(change)) < close:
            break
    return currents


def _dropped(emf: Any, row: Sequence[Any], currents: Sequence[Any]) -> Any:
    """Voltage left after the currents have flown through a row of the impedance matrix. [V]"""
    for z, i in zip(row, currents, strict=True):
        emf = emf - z * i
    return emf


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
    if all(link.busbar.load is None for link in path.links):
        return emf, sum(_at(link.impedance, frequency) for link in path.links)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Follower:
    """A constant-power base load: at which busbar, its power per phase [VA], and the voltage below which it lets go [V]."""

    place: int
    power: complex
    floor: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduced:
    """The path seen from its busbars, constant-impedance loads taken in: voltage without current [V], impedance [ohm]."""

    emf: tuple[complex, ...]
    impedance: tuple[tuple[complex, ...], ...]
    followers: tuple[Follower, ...]


_last: list[tuple[SupplyPath, float, Reduced]] = []  # one entry: a run-up asks for the same path again and again


def reduced(path: SupplyPath, frequency: float = 1.0) -> Reduced:
    """The reduced path; the one asked for last is known again without a look at what is in it."""
    last = _last[0] if _last else None
    if last is not None and last[0] is path and last[1] == frequency:
        return last[2]
    found = _reduced(path, frequency)
    _last[:] = [(path, frequency, found)]
    return found


@lru_cache(maxsize=512)
def _reduced(path: SupplyPath, frequency: float) -> Reduced:
    size = len(path.links)
    if size == 1 and path.links[0].busbar.load is None:
        alone = _at(path.links[0].impedance, frequency)
        return Reduced(emf=(complex(path.voltage / sqrt(3)),), impedance=((alone,),), followers=())
    impedance = np.zeros((size, size), complex)
    emf = np.full(size, path.voltage / sqrt(3), complex)
    for k, link in enumerate(path.links):
        if k:
            impedance[k, :k] = impedance[:k, k] = impedance[k - 1, :k]
            impedance[k, k] = impedance[k - 1, k - 1]
            emf[k] = emf[k - 1]
        impedance[k, k] += _at(link.impedance, frequency)
        load = 0.0 if _follows_voltage(link.busbar) else _admittance(link.busbar, _nominal(link.busbar))
        column = impedance[: k + 1, k] * load / (1 + impedance[k, k] * load)
        emf[: k + 1] -= column * emf[k]
        impedance[: k + 1, : k + 1] -= np.outer(column, impedance[k, : k + 1])
    followers = tuple(
        Follower(place=k, power=bar.load.power / 3, floor=CONSTANT_POWER_FLOOR * _nominal(bar))
        for k, bar in enumerate(path.busbars)
        if bar.load is not None and _follows_voltage(bar)
    )
    rows = tuple(tuple(complex(z) for z in row) for row in impedance)
    return Reduced(emf=tuple(complex(e) for e in emf), impedance=rows, followers=followers)


def _current(follower: Follower, voltage: Any) -> Any:
    """Current of a constant-power load, per phase. [A]"""
    magnitude = abs(voltage)
    held = max(magnitude, follower.floor) if isinstance(magnitude, float) else np.maximum(magnitude, follower.floor)
    return follower.power.conjugate() * voltage / held**2


def _at(impedance: complex, frequency: float) -> complex:
    return complex(impedance.real, impedance.imag * frequency)
