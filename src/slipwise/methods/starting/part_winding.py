"""Part-winding start: one part of a divided winding first, the rest soon after."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.starting.changeover import changeover_after
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial, Task
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.tolerance import like
from slipwise.quantity.errors import InputError
from slipwise.results.criteria import Criterion, Sense, Status
from slipwise.results.start import Outcome
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, elapsed, settled, speed_reaches
from slipwise.solve.run_up import run_up

# Longest time on one part of the winding, and the time of a start that only staggers the current: common practice, no source.
LONGEST, SHORTEST_LONGEST, LONGEST_LONGEST = 3.0, 2.0, 4.0
STAGGER, SHORT_STAGGER, LONG_STAGGER = 1.0, 0.5, 2.0
HALF = 0.5
_DIVIDED = Criterion(
    key="divided_winding",
    title="Divided winding",
    value=None,
    limit=None,
    unit="",
    sense=Sense.AT_LEAST,
    status=Status.CONDITION,
    margin=None,
    case="all",
    source="definition",
    condition="nothing states that the winding is divided: the maker must confirm it and its shares (or state `share`)",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWinding:
    """One part of the winding for a time, then all of it, without a break.

    With a share q of the parallel paths in use, stator resistance and leakage reactance are 1/q of those of the whole
    winding; magnetising and rotor circuit are taken as unchanged. The harmonic fields of a part winding, which may make
    the torque sag at part speed, are left out.
    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., Example 6.2 (R1 and X1 doubled for one half).
    """

    key: ClassVar[str] = "part_winding"
    title: ClassVar[str] = "Part-winding"
    also: ClassVar[tuple[str, ...]] = ("part winding start", "split winding", "PWS")
    summary: ClassVar[str] = (
        "One part of a divided winding is switched on first and the rest a moment later, so that the supply takes the "
        "current in two steps. It needs only two small contactors, but a motor wound for it, and the reduction is modest."
    )

    share: Annotated[
        float,
        Dial(
            title="share of the winding",
            unit="pu",
            example="50 %",
            doc="Of the parallel paths switched on first.",
            low=0.3,
            high=0.9,
        ),
    ]
    hold: Annotated[
        float,
        Dial(
            title="time on the first part",
            unit="s",
            example="1 s",
            doc="Until the rest is switched on.",
            low=0.05,
            high=10.0,
        ),
    ]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Hold: until the current of the whole winding no longer exceeds that of the part at standstill, but no longer than
        one part bears; short when the part does not move the load.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        checked(cls, given)
        require_circuit(task.nominal)
        share = float(given.get("share", HALF))
        hold, words = _hold(share, task, given)
        chosen = {
            "share": assumed(HALF, "two equal halves; whether the winding is so divided must be asked of the maker"),
            "hold": hold,
        }
        designed = assemble(cls, given, chosen, words)
        return designed if "share" in given else replace(designed, conditions=(_DIVIDED,))

    def stages(self, drive: Drive) -> Plan:
        """The part, then the whole; raises InputError for a motor without a circuit."""
        part, whole = self._sequence()
        return (
            replace(_part(self.share, drive), until=elapsed(self.hold), contacts=part[1]),
            Stage(name=whole[0], until=settled(), contacts=whole[1]),
        )

    def wiring(self) -> Wiring:
        """A contactor and an overload relay for each part."""
        sequence = self._sequence()
        first, rest = percent(self.share), percent(1 - self.share)
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 first part", after="Q1", share=self.share),
                Device(
                    kind="overload",
                    label="F1",
                    after="K1 first part",
                    note=f"set for {first} of rated current",
                    share=self.share,
                ),
                Device(kind="motor", label="M1", after="F1"),
                Device(kind="contactor", label="K2 rest", after="Q1", branch="rest", share=1 - self.share),
                Device(
                    kind="overload",
                    label="F2",
                    after="K2 rest",
                    branch="rest",
                    note=f"set for {rest} of rated current",
                    share=1 - self.share,
                ),
            ),
            stages=tuple(name for name, _ in sequence),
            closed=tuple(contacts for _, contacts in sequence),
            motor_leads=6,
            notes=("The motor must be wound in two parts, each brought out.",),
        )

    def _sequence(self) -> tuple[tuple[str, tuple[str, ...]], tuple[str, tuple[str, ...]]]:
        return ("part winding", ("K1 first part",)), ("whole winding", ("K1 first part", "K2 rest"))


def require_circuit(drive: Drive) -> Circuit:
    """The circuit; raises InputError for a motor known by its curves only."""
    circuit = drive.motor.circuit
    if circuit is None:
        raise InputError.of(
            "starting.part_winding",
            "a motor known by its curves",
            "the curves say nothing of a part of the winding",
            "give the equivalent circuit or the plate, or take the maker's curve for the part winding as a motor of its own",
        )
    return circuit


def _part(share: float, drive: Drive) -> Stage:
    """The stage with a share of the parallel paths."""
    circuit = require_circuit(drive)
    reduced = replace(circuit, R1=circuit.R1 / share, X1=circuit.X1 / share)
    part = like(replace(drive.motor, circuit=reduced), drive.motor)
    return replace(survey.RUNNING, name="part winding", motor=part)


def _hold(share: float, task: Task, given: Given) -> tuple[Choice, str]:
    """Time on the part, and the words for it."""
    if "hold" in given:
        return computed(float(given["hold"]), "given by user"), ""
    stage = _part(share, task.nominal)
    change = changeover_after(stage, task, {}, "the part winding")
    run = run_up((replace(stage, until=speed_reaches(change.speed)),), task.nominal, max_time=LONGEST)
    small, direct = (float(survey.curves(s, task.nominal).line_current[0]) for s in (stage, survey.RUNNING))
    start = f"The part takes {amount(small)} A at standstill against {amount(direct)} A of the whole winding."
    if run.outcome is Outcome.NEVER_MOVED:
        why = "the part does not move the load; it only staggers the current (common practice, no source)"
        return assumed(STAGGER, why, SHORT_STAGGER, LONG_STAGGER), f"{start} Hold: {amount(STAGGER)} s, {why}."
    seconds = float(run.time[-1])
    if seconds >= LONGEST or run.stages[-1].reason == "settled":
        why = f"one part should not carry the start longer (common practice, no source); it reaches {survey.rpm(run.final_speed)}"
        return assumed(LONGEST, why, SHORTEST_LONGEST, LONGEST_LONGEST), f"{start} Hold: {amount(LONGEST)} s, {why}."
    seconds = max(seconds, 0.05)
    why = f"time to {survey.rpm(change.speed)}; {change.bound}"
    return computed(seconds, why), f"{start} Hold: {amount(seconds)} s, {why}."
