"""Graded rotor resistors: sections, closing slips, and the choice of their number and ohms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp, log

import numpy as np

from slipwise.methods import survey
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Task
from slipwise.quantity.errors import InputError
from slipwise.results.start import Curves
from slipwise.solve.plan import Drive, Stage

MOST_STEPS = 8
# Upper switching current and torque of a design: common practice, no source.
MOST_CURRENT, OF_BREAKDOWN = 2.0, 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Grading:
    """A bank of `steps` sections in geometric steps. resistance: whole bank, ohm a phase; grading: ratio of totals.

    With a shorted rotor of R2 and a bank of Rx the totals go R2 + Rx, grading (R2 + Rx), ... R2, hence
    grading^steps = R2 / (R2 + Rx). Source: Theraja and Theraja, Electrical Technology vol. II, Example 35.22.
    """

    resistance: float
    steps: int
    grading: float

    def sections(self) -> tuple[float, ...]:
        """In the order they are shorted. [ohm]"""
        return tuple(self.left(k) - self.left(k + 1) for k in range(self.steps))

    def left(self, closed: int) -> float:
        """Bank resistance in circuit after `closed` sections have been shorted. [ohm]"""
        last = self.grading**self.steps
        if last == 1.0:  # so little beside the rotor's own that the sections are equal
            return self.resistance * (1 - closed / self.steps)
        return self.resistance * (self.grading**closed - last) / (1 - last)

    def closing_slip(self, step: int) -> float:
        """Slip at which section `step` (from 0) is shorted. [1]"""
        return float(self.grading ** (step + 1))


def graded(own: float, resistance: float, steps: int) -> Grading:
    """The bank of `resistance` ohm in equal ratios down to the rotor's own `own` ohm."""
    return Grading(resistance=resistance, steps=steps, grading=(own / (own + resistance)) ** (1 / steps))


def require_slip_rings(drive: Drive) -> float:
    """Stator to rotor ratio of a slip-ring motor.

    Raises:
        InputError: a cage motor, or one known by its curves only, or with more than one rotor branch.
    """
    motor = drive.motor
    if motor.wound_ratio is None or motor.circuit is None or len(motor.circuit.rotor) != 1:
        raise InputError.of(
            "starting.rotor_resistor",
            "a motor without a known slip-ring rotor",
            "resistors can only be put into a wound rotor brought out to slip rings, with circuit and ratio known",
            "give the circuit and the rotor voltage at the open rings (line value) of a slip-ring motor, or another way",
        )
    return motor.wound_ratio


def stator_ohms(rotor: float, ratio: float) -> float:
    """Rotor ohms seen from the stator. ratio: stator over rotor, phase over phase or line over line alike. [ohm]"""
    return rotor * ratio**2


def rotor_ohms(stator: float, ratio: float) -> float:
    """Stator-referred ohms as they are in the rotor. [ohm]"""
    return stator / ratio**2


def own_resistance(drive: Drive) -> float:
    """The rotor's own resistance per phase, as it is in the rotor. [ohm]"""
    ratio, circuit = require_slip_rings(drive), drive.motor.circuit
    return rotor_ohms(circuit.rotor[0].R, ratio) if circuit is not None else 0.0


def with_bank(drive: Drive, ohms: float) -> Stage:
    """The motor running with `ohms` per rotor phase on its rings."""
    return replace(survey.RUNNING, rotor_external=stator_ohms(ohms, require_slip_rings(drive)))


def fewest_steps(task: Task, steps: int | None, resistance: float | None) -> tuple[Grading, str]:
    """The bank with the fewest sections; given steps and ohms are kept. Words for what bound it beside it."""
    own = own_resistance(task.nominal)
    if resistance is None:
        slip, upper = _upper_slip(task)
        resistance = own * (1 / slip - 1)
    else:
        upper = "the ohms were given"
    if steps is not None:
        return graded(own, resistance, steps), f"{upper}; the number of steps was given"
    for count in range(1, MOST_STEPS + 1):
        found = graded(own, resistance, count)
        if _shortfall(found, task) is None:
            return (
                found,
                f"{upper}; {count} is the fewest with a reserve of {_least(task)} at every closing, worst case",
            )
    short = _shortfall(graded(own, resistance, MOST_STEPS), task)
    return graded(
        own, resistance, MOST_STEPS
    ), f"{upper}; even {MOST_STEPS} steps fall short of the reserve of {_least(task)}: {short}"


def least_time(task: Task, steps: int | None, resistance: float | None) -> tuple[Grading, str]:
    """The bank with the shortest nominal run-up for its number of steps (given, or the fewest that do)."""
    own = own_resistance(task.nominal)
    count = steps or fewest_steps(task, None, resistance)[0].steps
    if resistance is not None:
        return graded(own, resistance, count), "the ohms were given"

    def seconds(logarithm: float) -> float:
        return run_up_seconds(graded(own, exp(logarithm), count), task.nominal)

    best = exp(_lowest(seconds, log(0.05 * own), log(200 * own)))
    found = graded(own, best, count)
    taken = seconds(log(best))
    return (
        found,
        f"the shortest run-up with {count} steps, about {amount(taken)} s; currents are not held to a limit for it",
    )


def run_up_seconds(grading: Grading, drive: Drive) -> float:
    """Run-up time to 99 % of the running speed, by quadrature; a long time where the torque falls short. [s]"""
    sync = drive.motor.rating.synchronous_speed
    edges = [0.0, *(sync * (1 - grading.closing_slip(k)) for k in range(grading.steps))]
    edges.append(max(0.99 * survey.running_speed(drive), edges[-1]))
    return sum(
        passage_seconds(with_bank(drive, grading.left(k)), drive, edges[k], edges[k + 1])
        for k in range(grading.steps + 1)
    )


def passage_seconds(stage: Stage, drive: Drive, start: float, end: float, points: int = 201) -> float:
    """Time from one speed to another in a stage, by quadrature; 1e6 s and more where the torque falls short. [s]"""
    if end <= start:
        return 0.0
    speeds = np.linspace(start, end, points)
    spare = survey.margins(survey.curves(stage, drive, speeds), drive) * drive.motor.rating.torque
    return float(np.trapezoid(drive.inertia / np.maximum(spare, 1e-6 * drive.motor.rating.torque), speeds))


def resistance_for_least_time(drive: Drive, end_speed: float) -> tuple[float, float]:
    """The one fixed bank that brings `drive` to `end_speed` (rad/s) soonest: ohm per rotor phase, and the time in s.

    Source: Nagrath and Kothari, Electric Machines, Example 9.19, for a pure inertia without stator resistance.
    """
    own = own_resistance(drive)

    def seconds(logarithm: float) -> float:
        return passage_seconds(with_bank(drive, exp(logarithm)), drive, 0.0, end_speed, 801)

    best = _lowest(seconds, log(1e-3 * own), log(1e3 * own))
    return exp(best), seconds(best)


def _lowest(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function with one valley is lowest: a coarse look, then golden sections."""
    looks = np.linspace(low, high, 25)
    i = int(np.argmin([function(float(x)) for x in looks]))
    a, b = float(looks[max(i - 1, 0)]), float(looks[min(i + 1, looks.size - 1)])
    golden = (5**0.5 - 1) / 2
    for _ in range(30):
        c, d = b - golden * (b - a), a + golden * (b - a)
        a, b = (a, d) if function(c) < function(d) else (c, b)
    return (a + b) / 2


def _upper_slip(task: Task) -> tuple[float, str]:
    """Slip of the upper switching torque with the rings shorted, and what bound it."""
    drive = task.nominal
    rating = drive.motor.rating
    slips = np.geomspace(1e-3, 1.0, 600)
    found = survey.curves(survey.RUNNING, drive, rating.synchronous_speed * (1 - slips))
    peak = int(np.argmax(found.torque))
    bounds = {
        f"{percent(OF_BREAKDOWN)} of the breakdown torque": found.torque <= OF_BREAKDOWN * found.torque[peak],
        f"{amount(MOST_CURRENT)} times rated current": found.motor_current <= MOST_CURRENT * rating.current,
        **_supply_bounds(task, found),
    }
    reach = {words: int(np.argmin(np.append(kept[: peak + 1], False))) - 1 for words, kept in bounds.items()}
    words = min(reach, key=lambda name: reach[name])
    i = max(reach[words], 0)
    return float(slips[i]), f"upper switching torque {amount(float(found.torque[i]))} N m, bound by {words}"


def _supply_bounds(task: Task, found: Curves) -> dict[str, np.ndarray]:
    """Which slips keep the dip limits and the agreed line current, nominal case."""
    bounds: dict[str, np.ndarray] = {}
    before = survey.prestart_voltage(task.nominal)
    for busbar, prior, during in zip(task.nominal.supply.busbars, before, found.busbar_voltage, strict=True):
        if busbar.dip_limit:
            bounds[f"the dip limit at {busbar.name}"] = during >= (1 - busbar.dip_limit) * prior
    agreed = task.limits.line_current.value
    if agreed is not None:
        bounds["the agreed line current"] = found.line_current <= agreed
    return bounds


def _shortfall(grading: Grading, task: Task) -> str | None:
    """Where a step's torque falls short of the reserve in the worst case, in words; None when nowhere."""
    drive = task.worst
    sync, least = drive.motor.rating.synchronous_speed, survey.reserve(task.limits)
    edges = [0.0, *(sync * (1 - grading.closing_slip(k)) for k in range(grading.steps))]
    for k in range(grading.steps):
        speeds = np.linspace(edges[k], edges[k + 1], 21)
        spare = survey.margins(survey.curves(with_bank(drive, grading.left(k)), drive, speeds), drive)
        if np.min(spare) < least:
            return f"{percent(float(np.min(spare)))} of rated torque is left on step {k + 1}"
    return None


def _least(task: Task) -> str:
    return percent(survey.reserve(task.limits))
