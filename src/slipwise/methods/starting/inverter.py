"""Inverter start: frequency and voltage are raised together, no faster than the current limit lets."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed, number
from slipwise.methods.starting.frequency_ramp import RampAsked, fastest_ramp, ramp_laws
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial, Task
from slipwise.quantity.errors import InputError
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Law, Plan, Stage, elapsed, settled

# Short-time current of an inverter of the motor's size, and where the ramp begins: common practice, no source.
USUAL_LIMIT, LOW_LIMIT, HIGH_LIMIT = 1.5, 1.1, 2.0
START_FREQUENCY, LOW_START, HIGH_START = 0.02, 0.01, 0.05
IN_HAND = 0.9  # of the limit, used by the design
SHORTEST_RAMP, HOPELESS_RAMP, LONGEST_RAMP = 1.0, 60.0, 600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Inverter:
    """Constant volts per hertz with a boost for the stator drop, raised along a ramp.

    Where the motor current would pass the limit the frequency is raised more slowly, as the current limit of an inverter
    does; where even a standing frequency needs more, it is held there and the motor hangs. Fundamental only, inverter
    losses left out; the line sees the active power alone.
    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.11 (volts per hertz).
    """

    key: ClassVar[str] = "inverter"
    title: ClassVar[str] = "Inverter"
    also: ClassVar[tuple[str, ...]] = (
        "VFD",
        "VSD",
        "ASD",
        "AFD",
        "drive",
        "converter",
        "frequency converter",
        "variable-frequency drive",
        "variable-speed drive",
        "adjustable-speed drive",
    )
    summary: ClassVar[str] = (
        "An inverter raises frequency and voltage together, so the motor keeps full torque at little more than rated current "
        "and the line carries less than rated. It is the gentlest start and the dearest; it pays when speed varies too."
    )

    ramp_time: Annotated[
        float,
        Dial(
            title="ramp time",
            unit="s",
            example="12 s",
            doc="From standstill to rated frequency.",
            low=0.05,
            high=3600.0,
        ),
    ]
    current_limit: Annotated[
        float,
        Dial(
            title="current limit", unit="pu", example="150 %", doc="Motor current per rated current.", low=0.5, high=5.0
        ),
    ]
    boost: Annotated[
        float,
        Dial(title="boost", unit="pu", example="3 %", doc="Voltage at frequency zero, of rated.", low=0.0, high=0.3),
    ]
    start_frequency: Annotated[
        float,
        Dial(
            title="start frequency",
            unit="pu",
            example="2 %",
            doc="Where the ramp begins, of rated.",
            low=0.002,
            high=0.3,
        ),
    ]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Ramp: the shortest that keeps the motor current with some in hand under the limit and, where it can, the line
        current within the agreed or the rated current, worst case; where the rated line current would make it longer than
        the run-up limit, as long as that limit lets. Limit: the usual one, or a higher one where only that
        starts the load. Boost: the stator drop at rated current, or at the current the breakaway needs.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        checked(cls, given)
        require_circuit(task.nominal)
        limit, boost, ramp = _designed(task, given)
        chosen = {
            "ramp_time": ramp,
            "current_limit": limit,
            "boost": boost,
            "start_frequency": assumed(
                START_FREQUENCY, "about the rated slip (common practice)", LOW_START, HIGH_START
            ),
        }
        said = [] if "ramp_time" in given else [f"Ramp: {amount(float(ramp.value))} s, {ramp.why}."]
        said += (
            [] if "current_limit" in given else [f"Current limit: {percent(float(limit.value))} of rated, {limit.why}."]
        )
        said += [] if "boost" in given else [f"Boost: {boost.why}."]
        return assemble(cls, given, chosen, " ".join([*said, "Fundamental only, inverter losses left out."]))

    def stages(self, drive: Drive) -> Plan:
        """The ramp as the current limit shapes it, then running; a ramp that is held back for good hangs there.

        Raises:
            InputError: the motor is known by its curves only.
        """
        require_circuit(drive)
        asked = RampAsked(
            ramp_time=self.ramp_time,
            current_limit=self.current_limit,
            boost=self.boost,
            start_frequency=self.start_frequency,
        )
        frequency, voltage = ramp_laws(drive, asked)
        ends = elapsed(frequency.x[-1]) if frequency.y[-1] >= 1.0 else settled()
        (ramp, closed), (running, still_closed) = self._sequence()
        full = Law(x=(0.0,), y=(1.0,))
        return (
            Stage(name=ramp, until=ends, frequency=frequency, voltage=voltage, contacts=closed),
            Stage(name=running, until=settled(), frequency=full, voltage=full, contacts=still_closed),
        )

    def wiring(self) -> Wiring:
        """Breaker, line contactor, inverter, motor."""
        sequence = self._sequence()
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="inverter", label="T1", after="K1 line"),
                Device(kind="motor", label="M1", after="T1"),
            ),
            stages=tuple(name for name, _ in sequence),
            closed=tuple(contacts for _, contacts in sequence),
            notes=("No capacitors between T1 and the motor. The dc link stays charged after Q1 is opened.",),
        )

    def _sequence(self) -> tuple[tuple[str, tuple[str, ...]], tuple[str, tuple[str, ...]]]:
        return ("frequency ramp", ("K1 line",)), ("running", ("K1 line",))


def require_circuit(drive: Drive) -> None:
    """Raises InputError for a motor known by its curves only."""
    if drive.motor.circuit is None:
        raise InputError.of(
            "starting.inverter",
            "a motor known by its curves",
            "the curves hold at rated frequency only",
            "give the equivalent circuit or the plate",
        )


def _designed(task: Task, given: Given) -> tuple[Choice, Choice, Choice]:
    """Current limit, boost and ramp: the usual limit if the load can be started under it, else the highest usual one."""
    usual = assumed(
        USUAL_LIMIT, "short-time current of an inverter of the motor's size (common practice)", LOW_LIMIT, HIGH_LIMIT
    )
    high = computed(
        HIGH_LIMIT, "a larger inverter than usual, because the load cannot be started under less, worst case"
    )
    fixed = number(given, "current_limit")
    limits = (usual, high) if fixed is None else (computed(fixed, "given by user"),)
    for limit in limits:
        boost = _boost(task, float(limit.value))
        asked = RampAsked(
            ramp_time=SHORTEST_RAMP,
            current_limit=float(limit.value),
            boost=float(given.get("boost", boost.value)),
            start_frequency=float(given.get("start_frequency", START_FREQUENCY)),
        )
        ramp = _ramp(task, asked)
        if ramp is not None:
            return limit, boost, ramp
    seconds = task.limits.run_up_time.value
    held = HOPELESS_RAMP if seconds is None else float(np.clip(seconds, SHORTEST_RAMP, HOPELESS_RAMP))
    return (
        limits[0],
        _boost(task, float(limits[0].value)),
        computed(held, "no ramp is slow enough: the load itself needs more"),
    )


def _boost(task: Task, limit: float) -> Choice:
    """Stator drop at the current that the breakaway needs, at least rated and at most the limit."""
    rating, circuit = task.worst.motor.rating, task.worst.motor.circuit
    resistance = 0.0 if circuit is None else circuit.R1
    share = float(survey.needed(task.worst, np.array([0.0]))[0]) / rating.torque + survey.reserve(task.limits)
    current = float(np.clip(share, 1.0, max(limit, 1.0))) * rating.current
    boost = resistance * current / rating.phase_voltage
    why = f"stator drop at {amount(current)} A, which is {percent(boost)} of rated voltage"
    return computed(float(np.clip(boost, 0.0, 0.3)), why)


def _ramp(task: Task, asked: RampAsked) -> Choice | None:
    """The shortest ramp within the currents, the gentlest aim that keeps the run-up limit first; None when none starts.

    A line current that was agreed is kept before the run-up limit; the rated one, which is only an aim, after it.
    """
    agreed = task.limits.line_current.value
    line = task.worst.motor.rating.current if agreed is None else agreed
    hand = f"the motor current {percent(1 - IN_HAND)} under its limit"
    held = replace(asked, current_limit=IN_HAND * asked.current_limit)
    aims = (
        (replace(held, line_limit=line), f"{hand} and the line current within {amount(line)} A"),
        (held, f"{hand}; the line passes {amount(line)} A"),
        (asked, "the motor current at its limit, with nothing in hand"),
    )
    limit = task.limits.run_up_time.value
    in_time = LONGEST_RAMP if limit is None or agreed is not None else IN_HAND * limit
    gentlest: tuple[float, str] | None = None
    for aim, words in aims:
        shortest = fastest_ramp(task.worst, aim)
        if shortest is None or shortest > LONGEST_RAMP:
            continue
        if gentlest is not None and shortest <= in_time:
            return computed(in_time, f"{percent(IN_HAND)} of the run-up limit; it keeps {words}, worst case")
        gentlest = gentlest or (shortest, words)
        if shortest <= in_time:
            break
    return None if gentlest is None else _no_shorter(*gentlest, task)


def _no_shorter(shortest: float, words: str, task: Task) -> Choice:
    """The ramp found, or the shortest usual one; says when it is longer than the run-up limit."""
    ramp, why = shortest, f"the shortest that keeps {words}, worst case"
    if shortest < SHORTEST_RAMP:
        ramp, why = SHORTEST_RAMP, f"shortest usual (common practice); the currents would allow {amount(shortest)} s"
    limit = task.limits.run_up_time.value
    if limit is not None and ramp > limit:
        why += f"; longer than the run-up limit of {amount(limit)} s"
    return computed(ramp, why)
