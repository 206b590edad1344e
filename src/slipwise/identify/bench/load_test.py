"""The load test: losses set apart at each reading, and the stray load loss from what is left of them."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np

from slipwise.identify.bench.numbers import Numbers
from slipwise.identify.bench.records import Bench
from slipwise.identify.bench.reduce import straight
from slipwise.identify.bench.sheet import Sheet
from slipwise.results.identification import LoadPointRow, StrayLine

LEAST_CORRELATION = 0.95  # IEC 60034-2-1 (from memory); IEEE 112 asks 0.9 (from memory)
SOURCE = "residual-loss regression of IEC 60034-2-1, method B of IEEE 112 (from memory)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """Losses at one load reading, W; each a number or an array over trials. square: torque squared, (N m)^2."""

    slip: Any
    output: Any
    stator: Any
    core: Any
    rotor: Any
    mechanical: Any
    residual: Any
    square: Any


def losses_at(bench: Bench, numbers: Numbers, sheet: Sheet, place: int) -> Losses:
    """Losses of one load reading: copper by current and temperature, core by the voltage behind the stator impedance,
    rotor by slip times air-gap power, friction by speed squared; the residual is what the input still has beyond the output.

    Source: IEC 60034-2-1, IEEE 112 (from memory).
    """
    circuit = sheet.values
    read = {name: numbers[f"load[{place}].{name}"] for name in ("voltage", "current", "power", "speed", "torque")}
    warm = (circuit["k"] + numbers[f"load[{place}].temperature"]) / (circuit["k"] + circuit["t_dc"])
    r1 = circuit["R1"] * warm
    with np.errstate(all="ignore"):
        reactive = np.sqrt(3 * read["voltage"] ** 2 * read["current"] ** 2 - read["power"] ** 2)
        taken = (read["power"] - 1j * reactive) / (np.sqrt(3) * read["voltage"])
    gap = np.abs(read["voltage"] / np.sqrt(3) - (r1 + 1j * circuit["X1"]) * taken)
    slip = 1 - read["speed"] * bench.poles / (4 * pi * bench.frequency)
    stator = 3 * read["current"] ** 2 * r1
    core = 3 * gap**2 / circuit["Rfe"]
    rotor = slip * (read["power"] - stator - core)
    mechanical = circuit["P_fw"] * (1 - slip) ** 2
    output = read["torque"] * read["speed"]
    return Losses(
        slip=slip,
        output=output,
        stator=stator,
        core=core,
        rotor=rotor,
        mechanical=mechanical,
        residual=read["power"] - output - stator - core - rotor - mechanical,
        square=read["torque"] ** 2,
    )


def slope_of(bench: Bench, numbers: Numbers, sheet: Sheet, used: tuple[int, ...]) -> Any:
    """Slope of residual loss against torque squared over the readings used; over trials as well. [W/(N m)^2]"""
    found = [losses_at(bench, numbers, sheet, place) for place in used]
    return straight([p.square for p in found], [p.residual for p in found])[1]


def stray_line(points: list[Losses], rated_torque: float) -> tuple[StrayLine | None, tuple[int, ...]]:
    """The line through the residual losses, without the worst reading when that is what spoils the correlation.

    Returns:
        The line and the places used. None with fewer than three readings, or when the loss does not rise with torque.
    """
    places = tuple(range(len(points)))
    if len(points) < 3:
        return None, places
    words = ""
    if len(points) > 4 and _correlation(points) < LEAST_CORRELATION:
        without = {i: _correlation([p for j, p in enumerate(points) if j != i]) for i in places}
        best = max(without, key=lambda i: without[i])
        if without[best] > _correlation(points):
            places = tuple(i for i in places if i != best)
            words = f"reading {best + 1} left out: the correlation was {_correlation(points):.3f} with it; "
    used = [points[i] for i in places]
    offset, slope = straight([p.square for p in used], [p.residual for p in used])
    correlation = _correlation(used)
    enough = "enough" if correlation >= LEAST_CORRELATION else "too little: repeat the test or look for a bad reading"
    words += f"correlation {correlation:.3f}, {LEAST_CORRELATION:g} asked for: {enough}"
    if not slope > 0:
        return None, places
    line = StrayLine(
        slope=float(slope),
        offset=float(offset),
        correlation=correlation,
        at_rated=float(slope) * rated_torque**2,
        words=words,
    )
    return line, places


def falls_by(points: list[Losses], rated_torque: float) -> float:
    """How much the residual loss falls from no torque to rated torque by the line through all readings. [W]"""
    return -float(straight([p.square for p in points], [p.residual for p in points])[1]) * rated_torque**2


def _correlation(points: list[Losses]) -> float:
    with np.errstate(all="ignore"):
        return float(np.corrcoef([p.square for p in points], [p.residual for p in points])[0, 1])


def row_of(numbers: Numbers, place: int, found: Losses, line: StrayLine | None, used: bool) -> LoadPointRow:
    """One line of the table of losses; stray load loss smoothed by the line, none without one."""
    read = {name: float(numbers[f"load[{place}].{name}"]) for name in ("current", "power", "speed", "torque")}
    stray = 0.0 if line is None else line.slope * float(found.square)
    lost = float(found.stator + found.core + found.rotor + found.mechanical) + stray
    return LoadPointRow(
        torque=read["torque"],
        speed=read["speed"],
        slip=float(found.slip),
        current=read["current"],
        input_power=read["power"],
        output_power=float(found.output),
        stator_loss=float(found.stator),
        core_loss=float(found.core),
        rotor_loss=float(found.rotor),
        mechanical_loss=float(found.mechanical),
        residual=float(found.residual),
        stray=stray,
        direct=float(found.output) / read["power"],
        segregated=1 - lost / read["power"],
        used=used,
    )
