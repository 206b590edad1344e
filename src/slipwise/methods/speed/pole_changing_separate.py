"""Two separate windings in one frame: any two pole numbers, one winding at work at a time."""

from __future__ import annotations

from dataclasses import dataclass
from math import lcm
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.speed import pole_changing as common
from slipwise.methods.speed import pole_changing_change as changing
from slipwise.methods.speed.pole_changing import Pair
from slipwise.methods.speed.pole_changing_winding import Standing, diagram
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import rpm
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.windings import Connection, Rewound, belts, rewound, usual_slots
from slipwise.quantity.errors import InputError
from slipwise.results.changeover import Changeover
from slipwise.results.speed import DutyPoint, Envelope, Family, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.winding import WindingDiagram
from slipwise.results.wiring import Device, Wiring

SHORTENED = 5 / 6  # coil pitch over pole pitch of an ordinary winding (common practice, no source)
MOST_POLES = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class SeparateWindings:
    """A frame with two windings in the same slots; the plate stands for one of them as it is built.

    The other has the turns that give the same flux density at its poles, in the same copper section: its resistance and
    leakage go with the square of those turns. Leakage so found is good to some 20 %.
    """

    key: ClassVar[str] = "separate_windings"
    title: ClassVar[str] = "Pole changing, two windings"
    also: ClassVar[tuple[str, ...]] = ("two windings", "two speed, two windings", "pole changing")
    summary: ClassVar[str] = (
        "Two windings of different pole numbers share the slots and one works at a time. Any two speeds, with plain "
        "switching; but each winding has only part of the copper, so the frame is larger or the output smaller."
    )

    low_poles: Annotated[
        float,
        Dial(title="poles at low speed", unit="", example="6", doc="Even; more than at high speed.", low=4, high=48),
    ]
    high_poles: Annotated[
        float,
        Dial(title="poles at high speed", unit="", example="4", doc="Even; fewer than at low speed.", low=2, high=46),
    ]
    slots: Annotated[float, Dial(title="stator slots", unit="", example="72", doc="Whole number.", low=12, high=576)]
    ring_share: Annotated[
        float,
        Dial(
            title="end-ring share",
            unit="pu",
            example="20 %",
            doc="Part of the rotor impedance in the end rings, at the poles of the plate.",
            low=0.0,
            high=0.8,
        ),
    ]
    pause: Annotated[
        float,
        Dial(
            title="pause",
            unit="s",
            example="0.5 s",
            doc="Without current when the speed is changed.",
            low=0.02,
            high=60.0,
        ),
    ]
    speed_tolerance: Annotated[
        float,
        Dial(
            title="speed tolerance",
            unit="pu",
            example="2 %",
            doc="How far from a demand a running speed may lie and still serve it.",
            low=0.001,
            high=0.5,
        ),
    ]

    @classmethod
    def designed_for(cls, task: SpeedTask, given: Given) -> Designed[Self]:
        """The other pole number by the demand that lies furthest from the plate's speed.

        Raises:
            InputError: the motor is known by its curves only; poles that do not include the plate's; slots that do not divide.
        """
        checked(cls, given, "speed")
        motor = task.drive.motor
        common.require_circuit(cls.key, motor)
        low, high = _poles(task, given)
        numbers = [float(given.get(name, choice.value)) for name, choice in (("low_poles", low), ("high_poles", high))]
        _check_poles(numbers, motor.rating.poles)
        pairs = [int(n) // 2 for n in numbers]
        usual = usual_slots(*pairs)
        _check_slots(float(given.get("slots", usual)), pairs, usual)
        chosen = {
            "low_poles": low,
            "high_poles": high,
            "slots": assumed(usual, "divides into equal belts of both windings; near 48 (common practice, no source)"),
            "ring_share": assumed(0.25, "of a cage of usual proportions (common practice, no source)", 0.1, 0.4),
            "pause": assumed(0.3, "contactors and interlock (common practice, no source)", 0.1, 1.0),
            "speed_tolerance": assumed(0.05, "slip and load move the speed that much anyway", 0.02, 0.1),
        }
        words = "" if {"low_poles", "high_poles"} <= set(given) else f"Poles: {low.why}; {high.why}."
        return assemble(cls, given, chosen, words)

    def pair(self, task: SpeedTask) -> Pair:
        """The two motors; the one of the plate unchanged."""
        motor = task.drive.motor
        circuit = common.require_circuit(self.key, motor)
        low, high = self._standings()
        plate, other = (high, low) if motor.rating.poles == high.poles else (low, high)
        change = self._change(other, plate)
        made = common.at_poles(motor, rewound(circuit, change), other.poles, motor.rating.connection)
        if plate is high:
            return Pair(frame=motor, low=made, high=motor)
        return Pair(frame=motor, low=motor, high=made)

    def _change(self, other: Standing, plate: Standing) -> Rewound:
        """The other winding against the plate's, at the same flux density."""
        poles, factor = other.poles / plate.poles, other.factor / plate.factor
        turns = poles / factor
        return Rewound(squared_turns=turns**2, factor=factor, poles=poles, ring_share=self.ring_share)

    def _standings(self) -> tuple[Standing, Standing]:
        slots = int(self.slots)
        low, high = (
            Standing(
                name=name,
                poles=poles,
                connection=Connection.SERIES_STAR,
                coils=belts(slots, poles // 2),
                slots=slots,
                pitch=max(round(SHORTENED * slots / poles), 1),
            )
            for name, poles in (("low", int(self.low_poles)), ("high", int(self.high_poles)))
        )
        return low, high

    def windings(self) -> tuple[WindingDiagram, ...]:
        """Coils, current directions and terminals of either winding."""
        low, high = self._standings()
        return tuple(diagram(f"winding of {s.poles} poles", (s,), s) for s in (low, high))

    def point(self, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
        """The speed nearest the demand, feasible within the tolerance."""
        return common.point(task, duty, self.pair(task), self.speed_tolerance)

    def families(self, task: SpeedTask) -> tuple[Family, ...]:
        """Both pole numbers over the whole speed range, the change down among them."""
        pair = self.pair(task)
        return (common.family(task, pair, changing.note(task, pair, self.pause)),)

    def changeovers(self, task: SpeedTask) -> tuple[Changeover, ...]:
        """The change down, which generates, and the change up."""
        return changing.changeovers(task, self.pair(task), self.pause)

    def envelope(self, task: SpeedTask) -> Envelope | None:
        """Continuous and greatest torque at the two speeds."""
        return common.envelope(task, self.pair(task))

    def ratings(self, task: SpeedTask) -> tuple[Setting, ...]:
        """Plate of both windings."""
        return common.rating_rows(self.pair(task))

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """Straight onto the low speed, which is gentler, or onto the high speed."""
        del task  # the same for every task
        return ("direct", "soft_starter")

    def wiring(self) -> Wiring:
        """A contactor and an overload relay for each winding."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 low", after="Q1", note="to 1U, 1V, 1W"),
                Device(kind="overload", label="F1", after="K1 low"),
                Device(kind="motor", label="M1", after="F1"),
                Device(kind="contactor", label="K2 high", after="Q1", branch="high", note="to 2U, 2V, 2W"),
                Device(kind="overload", label="F2", after="K2 high", branch="high"),
            ),
            stages=("low speed", "high speed"),
            closed=(("K1 low",), ("K2 high",)),
            motor_leads=6,
            notes=(
                "K1 low and K2 high are interlocked, electrically and mechanically.",
                "A winding in delta must be opened while the other works, or currents circulate in it.",
                "Changing down brakes by generating: the driven machine and the coupling must bear it.",
            ),
            windings=self.windings(),
        )


def _poles(task: SpeedTask, given: Given) -> tuple[Choice, Choice]:
    """Low and high pole number; the plate has one of them, a given one the other."""
    plate = task.drive.motor.rating.poles
    named = [int(float(given[name])) for name in ("low_poles", "high_poles") if name in given]
    other = next((n for n in named if n != plate), None)
    why = "given by user"
    if other is None:
        other, why = _other(task)
    choice = {plate: computed(plate, f"{plate} poles of the plate"), other: computed(other, f"{other} poles, {why}")}
    return choice[max(plate, other)], choice[min(plate, other)]


def _other(task: SpeedTask) -> tuple[int, str]:
    """Even pole number whose synchronous speed suits the demand furthest from the plate's speed."""
    rating = task.drive.motor.rating
    speeds = [d.speed for d in task.duty if d.speed > 0]
    furthest = max(speeds, key=lambda w: abs(w / rating.speed - 1), default=rating.speed)
    wanted = rating.poles * rating.speed / furthest
    even = [n for n in range(2, MOST_POLES + 1, 2) if n != rating.poles]
    poles = min(even, key=lambda n: abs(n - wanted))
    return poles, f"nearest to {rpm(furthest)}"


def _check_poles(numbers: list[float], plate: int) -> None:
    low, high = numbers
    whole = all(n == int(n) and int(n) % 2 == 0 for n in numbers)
    if whole and low > high and plate in (low, high):
        return
    raise InputError.of(
        "speed.separate_windings",
        f"{low:g} and {high:g} poles",
        f"must be even, the low speed with more poles, and one of them the plate's {plate}",
        "give the other pole number only",
    )


def _check_slots(slots: float, pairs: list[int], usual: int) -> None:
    unit = lcm(*(6 * p for p in pairs))
    if slots != int(slots) or int(slots) % unit:
        reason = f"must be a multiple of {unit} for both pole numbers"
        raise InputError.of("speed.separate_windings.slots", f"{slots:g}", reason, f"take {usual}")
