"""Invented motors with known insides, printed as a catalogue would print them.

Their rotors are single cages, double cages with a shared leakage, or deep bars by the classical field formula; none of
it uses the package's own circuit code.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import floor, log10, pi, sqrt
from typing import Any

import numpy as np

from slipwise.identify.records import Plate

_SIZES = [-0.75, 0, 1, 2, 3, 3.3]  # log10 of rated power in kW
KINDS = ("single cage", "double cage", "deep bar")


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """One motor: its plate as printed, the half digits of that print, and the truth behind it (ratios)."""

    kind: str
    plate: Plate
    half: dict[str, float]
    truth: dict[str, float]


def _by_size(size: float, values: list[float]) -> float:
    return float(np.interp(size, _SIZES, values))


def _rotor(kind: str, size: float, slip: float, leakage: float, rng: np.random.Generator) -> Callable[[Any], Any]:
    """Rotor admittance against slip, per unit."""
    resistance = 0.95 * slip
    if kind == "single cage":
        return lambda s: s / (resistance + 1j * s * leakage)
    if kind == "double cage":
        ratio = rng.uniform(2, 8)
        inner, outer = resistance * (1 + 1 / ratio), resistance * (1 + ratio)
        deep, shallow, shared = (
            leakage * rng.uniform(1.5, 4),
            leakage * rng.uniform(0.3, 1),
            leakage * rng.uniform(0, 0.4),
        )

        def double(s: Any) -> Any:
            y = s / (inner + 1j * s * deep) + s / (outer + 1j * s * shallow)
            return y / (1 + 1j * shared * y)

        return double
    depth = _by_size(size, [1.0, 1.5, 2.5, 3.5, 5.0, 5.5]) * rng.uniform(
        0.4, 1.1
    )  # bar height over skin depth at slip 1
    in_bar, slot = rng.uniform(0.5, 0.9), rng.uniform(0.4, 0.8)

    def deep_bar(s: Any) -> Any:
        xi = depth * np.sqrt(np.abs(s) + 1e-12)
        below = np.cosh(2 * xi) - np.cos(2 * xi)
        r = xi * (np.sinh(2 * xi) + np.sin(2 * xi)) / below
        x = 1.5 / xi * (np.sinh(2 * xi) - np.sin(2 * xi)) / below
        return s / (resistance * (1 - in_bar + in_bar * r) + 1.5j * s * leakage * (1 - slot + slot * x))

    return deep_bar


def invent(rng: np.random.Generator) -> Invented:
    """One motor between 0.18 kW and 2 MW, 2 to 8 poles, 50 or 60 Hz."""
    kind = str(rng.choice(KINDS))
    power = 1e3 * 0.18 * (2000 / 0.18) ** rng.random()
    size, poles, frequency = log10(power / 1e3), int(rng.choice([2, 4, 6, 8])), float(rng.choice([50, 60]))
    slip = _by_size(size, [0.08, 0.05, 0.028, 0.012, 0.006, 0.005]) * rng.uniform(0.6, 1.4)
    r1 = _by_size(size, [0.08, 0.055, 0.03, 0.015, 0.007, 0.006]) * rng.uniform(0.6, 1.4)
    total, split = 1 / rng.uniform(4.5, 8), rng.uniform(0.3, 0.6)
    pole_factor = {2: 1.3, 4: 1.0, 6: 0.85, 8: 0.7}[poles]
    xm = _by_size(size, [1.2, 1.6, 2.3, 3.2, 3.8, 3.9]) * pole_factor * rng.uniform(0.8, 1.25)
    core = 1 / (_by_size(size, [12, 20, 35, 60, 110, 120]) * rng.uniform(0.6, 1.6))
    friction = _by_size(size, [0.02, 0.015, 0.01, 0.007, 0.005, 0.005]) * pole_factor * rng.uniform(0.5, 1.6)
    stray = _by_size(size, [0.015, 0.012, 0.009, 0.007, 0.005, 0.005]) * rng.uniform(0.5, 1.5)
    rotor = _rotor(kind, size, slip, total * (1 - split), rng)

    def at(s: Any) -> tuple[Any, Any]:
        beyond = core + 1 / (1j * xm) + rotor(s)
        gap = 1 / (1 + (r1 + 1j * total * split) * beyond)
        return gap * beyond, np.abs(gap) ** 2 * np.real(rotor(s))

    current, gap_power = at(slip)
    friction, stray = friction * gap_power, stray * gap_power
    output = gap_power * (1 - slip) - friction - stray
    scan = np.geomspace(1e-4, 1, 4000)
    currents, powers = at(scan)
    drag = (friction + stray * np.abs(currents) ** 2 / abs(current) ** 2) * (1 - scan) / (1 - slip) ** 2
    torque = (powers - drag) / (output / (1 - slip))
    top = int(np.argmax(torque))
    truth = {
        "slip": slip,
        "power_factor": float(current.real / abs(current)),
        "efficiency": float(output / current.real),
        "locked_rotor_current_ratio": float(abs(currents[-1]) / abs(current)),
        "locked_rotor_torque_ratio": float(torque[-1]),
        "breakdown_torque_ratio": float(torque[top]),
        "pull_up_torque_ratio": float(torque[top:].min()),
    }
    return _printed(kind, power, poles, frequency, truth)


def _printed(kind: str, power: float, poles: int, frequency: float, truth: dict[str, float]) -> Invented:
    """Rounded as catalogues round: three figures of power and current, whole r/min, 0.1 % efficiency, 0.01, 0.1."""
    power = _significant(power, 3)
    voltage = 400.0 if power < 400e3 else 6000.0
    sync = 120 * frequency / poles
    current = power / (sqrt(3) * voltage * truth["power_factor"] * truth["efficiency"])
    ratios = {name: round(truth[name], 1) for name in truth if name.endswith("_ratio") and not name.startswith("pull")}
    plate = Plate(
        power=power,
        voltage=voltage,
        frequency=frequency,
        poles=poles,
        connection="delta",
        speed=round(sync * (1 - truth["slip"])) * pi / 30,
        current=_significant(current, 3),
        power_factor=round(truth["power_factor"], 2),
        efficiency=round(truth["efficiency"], 3),
        **ratios,
    )
    half = dict.fromkeys(ratios, 0.05) | {"speed": 0.5 * pi / 30, "power_factor": 0.005, "efficiency": 0.0005}
    half["current"] = 0.5 * 10.0 ** (floor(log10(current)) - 2)
    return Invented(kind=kind, plate=plate, half=half, truth=truth)


def _significant(value: float, digits: int) -> float:
    return round(value, digits - 1 - floor(log10(value)))
