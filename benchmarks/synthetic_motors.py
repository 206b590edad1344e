"""Invented motors with known insides, printed as a catalogue would print them.

Their rotors are single cages, double cages with a shared leakage, or deep bars by the classical field formula; none of
it uses the package's own circuit code. Two populations: every kind at every size (a hard test of the fit), and `usual`
motors, whose kind follows the size and which start at least as well as design N asks (a fair test of typical ranges).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import floor, log10, pi, sqrt
from typing import Any

import numpy as np

from slipwise.data import table
from slipwise.identify.records import Plate

KINDS = ("single cage", "double cage", "deep bar")
LARGEST, SMALLEST = 5e6, 0.12e3  # W
_SIZES = [-0.92, 0, 1, 2, 3, 3.7]  # log10 of rated power in kW, for the columns below
_SLIP = [0.078, 0.045, 0.024, 0.0105, 0.006, 0.0048]
_R1 = [0.12, 0.055, 0.03, 0.015, 0.007, 0.006]
_LEAKAGE = [0.12, 0.093, 0.1, 0.125, 0.16, 0.175]
_XM = [0.66, 1.2, 1.9, 2.5, 3.1, 3.4]
_CORE = [8, 16, 32, 60, 100, 110]
_FRICTION = [0.02, 0.015, 0.01, 0.007, 0.005, 0.005]
_STRAY = [0.015, 0.012, 0.009, 0.007, 0.005, 0.005]
_DEPTH = [1.0, 1.5, 3.0, 5.0, 4.5, 4.5]  # bar height over skin depth at slip 1
_POLES = {2: 0.2, 4: 0.4, 6: 0.18, 8: 0.12, 10: 0.06, 12: 0.04}
_POLE_XM = {2: 1.3, 4: 1.0, 6: 0.82, 8: 0.68, 10: 0.6, 12: 0.54}
_POLE_SLIP = {2: 0.92, 4: 1.0, 6: 1.12, 8: 1.2, 10: 1.25, 12: 1.3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """One motor: its plate as printed, the half digits of that print, and the truth behind it.

    truth: in the units of Plate (speed rad/s, current A), and R1, X1 (ohm), friction and stray loss (W) beside it.
    """

    kind: str
    plate: Plate
    half: dict[str, float]
    truth: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Inside:
    """The stator side in per unit; losses over the gap power at rated load."""

    slip: float
    R1: float
    X1: float
    Xm: float
    core: float
    friction: float
    stray: float
    rotor: Callable[[Any], Any]

    def at(self, s: Any) -> tuple[Any, Any]:
        """Stator current and power across the gap at slip `s`."""
        admittance = self.rotor(s)
        beyond = self.core + 1 / (1j * self.Xm) + admittance
        gap = 1 / (1 + (self.R1 + 1j * self.X1) * beyond)
        return gap * beyond, np.abs(gap) ** 2 * np.real(admittance)


def _by_size(size: float, values: list[float]) -> float:
    return float(np.interp(size, _SIZES, values))


def _rotor(kind: str, size: float, slip: float, leakage: float, rng: np.random.Generator) -> Callable[[Any], Any]:
    """Rotor admittance against slip, per unit."""
    resistance = 0.95 * slip
    if kind == "single cage":
        return lambda s: s / (resistance + 1j * s * leakage)
    if kind == "double cage":
        return _double_cage(resistance, leakage, rng)
    return _deep_bar(resistance, leakage, _by_size(size, _DEPTH) * rng.uniform(0.5, 1.2), rng)


def _double_cage(resistance: float, leakage: float, rng: np.random.Generator) -> Callable[[Any], Any]:
    ratio = rng.uniform(2, 8)
    inner, outer = resistance * (1 + 1 / ratio), resistance * (1 + ratio)
    deep, shallow = leakage * rng.uniform(1.5, 4), leakage * rng.uniform(0.3, 1)
    shared = leakage * rng.uniform(0, 0.4)

    def admittance(s: Any) -> Any:
        y = s / (inner + 1j * s * deep) + s / (outer + 1j * s * shallow)
        return y / (1 + 1j * shared * y)

    return admittance


def _deep_bar(resistance: float, leakage: float, depth: float, rng: np.random.Generator) -> Callable[[Any], Any]:
    in_bar, slot = rng.uniform(0.6, 0.95), rng.uniform(0.4, 0.8)

    def admittance(s: Any) -> Any:
        xi = depth * np.sqrt(np.abs(s) + 1e-12)
        below = np.cosh(2 * xi) - np.cos(2 * xi)
        r = xi * (np.sinh(2 * xi) + np.sin(2 * xi)) / below
        x = 1.5 / xi * (np.sinh(2 * xi) - np.sin(2 * xi)) / below
        return s / (resistance * (1 - in_bar + in_bar * r) + 1.5j * s * leakage * (1 - slot + slot * x))

    return admittance


def invent(rng: np.random.Generator, *, usual: bool = False) -> Invented:
    """One motor between 0.12 kW and 5 MW, 2 to 12 poles, 50 or 60 Hz; rng decides everything."""
    while True:
        made = _one(rng, usual)
        if not usual or _starts_well(made):
            return made


def _one(rng: np.random.Generator, usual: bool) -> Invented:
    power = SMALLEST * (LARGEST / SMALLEST) ** rng.random()
    size = log10(power / 1e3)
    poles = int(rng.choice(list(_POLES), p=list(_POLES.values()))) if usual else int(rng.choice(list(_POLES)))
    frequency = float(rng.choice([50, 60]))
    kind = str(rng.choice(KINDS, p=_kinds(size))) if usual else str(rng.choice(KINDS))
    slip = _by_size(size, _SLIP) * _POLE_SLIP[poles] * rng.uniform(0.65, 1.4)
    leakage, split = _by_size(size, _LEAKAGE) * rng.uniform(0.8, 1.3), rng.uniform(0.35, 0.6)
    inside = _Inside(
        slip=slip,
        R1=_by_size(size, _R1) * rng.uniform(0.65, 1.4),
        X1=leakage * split,
        Xm=_by_size(size, _XM) * _POLE_XM[poles] * rng.uniform(0.8, 1.25),
        core=1 / (_by_size(size, _CORE) * rng.uniform(0.6, 1.6)),
        friction=_by_size(size, _FRICTION) * (1.3 if poles == 2 else 1.0) * rng.uniform(0.5, 1.6),
        stray=_by_size(size, _STRAY) * rng.uniform(0.5, 1.5),
        rotor=_rotor(kind, size, slip, leakage * (1 - split), rng),
    )
    inertia = 0.0018 * (power / 1e3) ** 1.4 * (poles / 4) ** 1.6 * float(np.exp(rng.normal(0, 0.36)))
    return _printed(kind, inside, inertia, (_significant(power, 3), poles, frequency))


def _kinds(size: float) -> tuple[float, float, float]:
    """Shares of the kinds: small rotors are plain, large ones have deep bars or two cages."""
    plain = float(np.interp(size, [-0.5, 0.5, 1.0, 3.0], [0.7, 0.4, 0.1, 0.05]))
    return plain, 0.4 * (1 - plain), 0.6 * (1 - plain)


def _starts_well(made: Invented) -> bool:
    """Whether locked-rotor and breakdown torque reach what IEC 60034-12 asks of design N at this size."""
    plate, truth = made.plate, made.truth
    for row in table("iec_design_n").where(poles=min(plate.poles, 8)):
        if row["above_kW"] < plate.power / 1e3 <= row["to_kW"]:
            enough = truth["locked_rotor_torque_ratio"] >= row["locked_rotor"]
            return bool(enough and truth["breakdown_torque_ratio"] >= row["breakdown"])
    return truth["locked_rotor_torque_ratio"] >= 0.4 and truth["breakdown_torque_ratio"] >= 1.6


def _printed(kind: str, inside: _Inside, inertia: float, frame: tuple[float, int, float]) -> Invented:
    """What the circuit shows, by scanning it, and its print."""
    power, poles, frequency = frame
    current, gap_power = inside.at(inside.slip)
    friction, stray = inside.friction * gap_power, inside.stray * gap_power
    output = gap_power * (1 - inside.slip) - friction - stray
    scan = np.geomspace(1e-4, 1, 4000)
    currents, powers = inside.at(scan)
    drag = (friction + stray * np.abs(currents) ** 2 / abs(current) ** 2) * (1 - scan) / (1 - inside.slip) ** 2
    torque = (powers - drag) / (output / (1 - inside.slip))
    top = int(np.argmax(torque))
    voltage = 400.0 if power < 400e3 else 6000.0
    factor, efficiency = float(current.real / abs(current)), float(output / current.real)
    amps = power / (sqrt(3) * voltage * factor * efficiency)
    base = voltage / sqrt(3) / amps * abs(current)  # ohm per unit; the circuit's unit current is not its rated one
    truth = {
        "speed": (1 - inside.slip) * 4 * pi * frequency / poles,
        "current": amps,
        "power_factor": factor,
        "efficiency": efficiency,
        "locked_rotor_current_ratio": float(abs(currents[-1]) / abs(current)),
        "locked_rotor_torque_ratio": float(torque[-1]),
        "breakdown_torque_ratio": float(torque[top]),
        "pull_up_torque_ratio": float(torque[top:].min()),
        "inertia": inertia,
        "R1": base * inside.R1,
        "X1": base * inside.X1,
        "friction_and_windage": friction / output * power,
        "stray_load_loss": stray / output * power,
    }
    return _rounded(kind, (power, voltage, poles, frequency), truth)


def _rounded(kind: str, frame: tuple[float, float, int, float], truth: dict[str, float]) -> Invented:
    """Rounded as catalogues round: three figures of power and current, whole r/min, 0.1 % efficiency, 0.01, 0.1."""
    power, voltage, poles, frequency = frame
    names = ("locked_rotor_current_ratio", "locked_rotor_torque_ratio", "breakdown_torque_ratio")
    ratios = {name: round(truth[name], 1) for name in names}
    plate = Plate(
        power=power,
        voltage=voltage,
        frequency=frequency,
        poles=poles,
        connection="delta",
        speed=round(truth["speed"] * 30 / pi) * pi / 30,
        current=_significant(truth["current"], 3),
        power_factor=round(truth["power_factor"], 2),
        efficiency=round(truth["efficiency"], 3),
        inertia=_significant(truth["inertia"], 3),
        **ratios,
    )
    half = dict.fromkeys(ratios, 0.05) | {"speed": 0.5 * pi / 30, "power_factor": 0.005, "efficiency": 0.0005}
    half["current"] = 0.5 * 10.0 ** (floor(log10(truth["current"])) - 2)
    return Invented(kind=kind, plate=plate, half=half, truth=truth)


def _significant(value: float, digits: int) -> float:
    return round(value, digits - 1 - floor(log10(value)))
