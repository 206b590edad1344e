"""One tapped winding for two speeds 2:1: half the coils are reversed, and the halves are put in series or side by side."""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.speed import pole_changing as common
from slipwise.methods.speed import pole_changing_change as changing
from slipwise.methods.speed.pole_changing import Pair
from slipwise.methods.speed.pole_changing_winding import Standing, diagram
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.windings import Connection, belts, rewound, usual_slots
from slipwise.quantity.errors import InputError
from slipwise.results.changeover import Changeover
from slipwise.results.speed import DutyPoint, Envelope, Family, OperatingPoint
from slipwise.results.study import Setting
from slipwise.results.winding import WindingDiagram
from slipwise.results.wiring import Device, Wiring

FULL_FLUX = 1.1  # of the plate's flux density, at the speed with the greater flux (common practice, no source)
CONSTANT_TORQUE, CONSTANT_POWER, VARIABLE_TORQUE = "constant torque", "constant power", "variable torque"


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """Connections at the low and the high speed, and the rated torque at high speed over that at low speed it is made for."""

    low: Connection
    high: Connection
    torque_ratio: float


ARRANGEMENTS = {
    CONSTANT_TORQUE: Arrangement(low=Connection.SERIES_DELTA, high=Connection.DOUBLE_STAR, torque_ratio=1.0),
    CONSTANT_POWER: Arrangement(low=Connection.DOUBLE_STAR, high=Connection.SERIES_DELTA, torque_ratio=0.5),
    VARIABLE_TORQUE: Arrangement(low=Connection.SERIES_STAR, high=Connection.DOUBLE_STAR, torque_ratio=4.0),
}
"""The three arrangements of a tapped winding and the load each is named for (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TappedWinding:
    """A frame wound for two pole numbers 2:1 with one winding; the plate stands for one of the two speeds.

    The other speed's circuit follows from turns, winding factors and poles (`model.machine.windings`); leakage so found is
    good to some 20 %. The coils are full pitch at the larger pole number.
    """

    key: ClassVar[str] = "tapped_winding"
    title: ClassVar[str] = "Pole changing, tapped winding"
    also: ClassVar[tuple[str, ...]] = (
        "Dahlander",
        "consequent pole",
        "one winding, two speeds",
        "pole changing",
        "two-speed",
    )
    summary: ClassVar[str] = (
        "Half the coils of each phase are reversed, which doubles the poles and halves the speed. Two speeds with cage "
        "losses only, cheap and robust; nothing in between, and the change down brakes by generating."
    )

    arrangement: Annotated[
        str,
        Dial(
            title="arrangement",
            unit="",
            doc="Which load the two connections are made for.",
            choices=tuple(ARRANGEMENTS),
        ),
    ]
    fast_poles: Annotated[
        float,
        Dial(
            title="poles at high speed",
            unit="",
            example="4",
            doc="Those of the plate, or half of them when the plate stands for the low speed.",
            low=2,
            high=48,
        ),
    ]
    slots: Annotated[float, Dial(title="stator slots", unit="", example="48", doc="Whole number.", low=12, high=288)]
    turns: Annotated[
        float,
        Dial(
            title="turns",
            unit="pu",
            example="1.2",
            doc="Of every coil, per unit of the winding that the plate stands for.",
            low=0.5,
            high=3.0,
        ),
    ]
    ring_share: Annotated[
        float,
        Dial(
            title="end-ring share",
            unit="pu",
            example="20 %",
            doc="Part of the rotor impedance in the end rings, at the speed of the plate.",
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
        """The arrangement by the slope of the load over the duty; the plate's speed by the fastest demand.

        Raises:
            InputError: the motor is known by its curves only; its poles cannot be halved; slots that do not divide.
        """
        checked(cls, given, "speed")
        motor = task.drive.motor
        common.require_circuit(cls.key, motor)
        poles = _fast_poles(task)
        fast = float(given.get("fast_poles", poles.value))
        _check_poles(fast, motor.rating.poles)
        usual = usual_slots(int(fast) // 2, multiple=12)
        _check_slots(float(given.get("slots", usual)), int(fast), usual)
        chosen = {
            "arrangement": _arrangement(task),
            "fast_poles": poles,
            "slots": assumed(usual, "divides into equal belts; near 48 (common practice, no source)"),
            "turns": computed(1.0, ""),
            "ring_share": assumed(0.25, "of a cage of usual proportions (common practice, no source)", 0.1, 0.4),
            "pause": assumed(0.3, "contactors and interlock (common practice, no source)", 0.1, 1.0),
            "speed_tolerance": assumed(0.05, "slip and load move the speed that much anyway", 0.02, 0.1),
        }
        trial = assemble(cls, given, chosen, "").way
        chosen["turns"] = _turns(trial.winding(motor.rating.poles))
        arrangement = chosen["arrangement"]
        words = "" if "arrangement" in given else f"Arrangement for {arrangement.value}: {arrangement.why}."
        return assemble(cls, given, chosen, words)

    def pair(self, task: SpeedTask) -> Pair:
        """The two motors; the one of the plate unchanged."""
        motor = task.drive.motor
        circuit = common.require_circuit(self.key, motor)
        low, high = self._standings()
        plate = high if motor.rating.poles == high.poles else low
        return Pair(
            frame=motor, low=self._made(motor, circuit, low, plate), high=self._made(motor, circuit, high, plate)
        )

    def _made(self, motor: Motor, circuit: Circuit, standing: Standing, plate: Standing) -> Motor:
        """The motor of the plate, or the one that the frame makes on this standing."""
        if standing is plate and self.turns == 1.0:
            return motor
        running = "delta" if standing.connection is Connection.SERIES_DELTA else "star"
        change = standing.against(plate, self.ring_share, self.turns)
        return common.at_poles(motor, rewound(circuit, change), standing.poles, running)

    def _standings(self) -> tuple[Standing, Standing]:
        """How the winding stands at the low and at the high speed."""
        slots, poles = int(self.slots), int(self.fast_poles)
        coils = belts(slots, poles // 2)
        made = ARRANGEMENTS[self.arrangement]
        pitch = slots // (2 * poles)  # full at the larger pole number
        reversed_half = tuple(coil.turned() for coil in coils)
        low = Standing(name="low", poles=2 * poles, connection=made.low, coils=reversed_half, slots=slots, pitch=pitch)
        high = Standing(name="high", poles=poles, connection=made.high, coils=coils, slots=slots, pitch=pitch)
        return low, high

    def winding(self, plate_poles: int) -> WindingDiagram:
        """Coils, current directions, terminals, and flux at both speeds against that of the plate's poles."""
        low, high = self._standings()
        plate = high if plate_poles == high.poles else low
        return diagram("tapped winding", (low, high), plate, self.turns)

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
        """Plate of both speeds, the torque ratio reached, and the flux of either."""
        pair = self.pair(task)
        reached = pair.high.rating.torque / pair.low.rating.torque
        nominal = ARRANGEMENTS[self.arrangement].torque_ratio
        ratio = Setting(
            key="torque_ratio",
            title="torque at high over low speed",
            value=reached,
            unit="pu",
            origin="estimated",
            why=f"the arrangement is named for {amount(nominal)}",
        )
        density = [
            Setting(
                key=f"flux_{speed.poles}_poles",
                title=f"gap flux density on {speed.poles} poles",
                value=speed.flux_density,
                unit="pu",
                origin="derived",
                why=f"of the plate's; winding factor {amount(speed.factor)}, {speed.connection}",
            )
            for speed in self.winding(task.drive.motor.rating.poles).speeds
        ]
        return (*common.rating_rows(pair), ratio, *density)

    def started_by(self, task: SpeedTask) -> tuple[str, ...]:
        """Straight onto the low speed, which is gentler, or onto the high speed."""
        del task  # the same for every task
        return ("direct", "soft_starter")

    def wiring(self) -> Wiring:
        """One contactor and overload relay a speed, and one that joins the star point of the double star."""
        made = ARRANGEMENTS[self.arrangement]
        closed: dict[str, tuple[str, ...]] = {"low": ("K1 low",), "high": ("K2 high",)}
        double = "low" if made.low is Connection.DOUBLE_STAR else "high"
        closed[double] += ("K3 star",)
        joined = "1U, 1V, 1W" if double == "high" else "2U, 2V, 2W"
        swap = ", two phases swapped" if self.winding(int(self.fast_poles)).speeds[0].swapped else ""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 low", after="Q1", note="to 1U, 1V, 1W"),
                Device(kind="overload", label="F1", after="K1 low"),
                Device(kind="motor", label="M1", after="F1"),
                Device(kind="contactor", label="K2 high", after="Q1", branch="high", note=f"to 2U, 2V, 2W{swap}"),
                Device(kind="overload", label="F2", after="K2 high", branch="high"),
                Device(kind="contactor", label="K3 star", after="M1", branch="star", note=f"joins {joined}"),
            ),
            stages=("low speed", "high speed"),
            closed=(closed["low"], closed["high"]),
            motor_leads=6,
            notes=(
                "K1 low and K2 high are interlocked, electrically and mechanically.",
                "Two phases are swapped at K2 high, so that the field turns the same way at both speeds.",
                "Changing down brakes by generating: the driven machine and the coupling must bear it.",
            ),
            windings=(self.winding(int(self.fast_poles)),),
        )


def _turns(trial: WindingDiagram) -> Choice:
    """Those of the plate, or as many more as keep the core from saturating at the other speed."""
    most = max(speed.flux_density for speed in trial.speeds)
    if most <= common.HIGH_FLUX:
        return assumed(1.0, "the winding of the plate; the flux of both speeds is near or below its own")
    why = f"the plate's turns would bring the other speed {amount(most)} times the plate's flux density"
    return computed(most / FULL_FLUX, f"{why}; so {amount(FULL_FLUX)} times at most")


def _check_poles(fast: float, plate: int) -> None:
    """Raises InputError unless the plate stands for one of the two speeds."""
    if fast == int(fast) and int(fast) % 2 == 0 and plate in (fast, 2 * fast):
        return
    halves = f" or {plate // 2}" if plate % 4 == 0 else ""
    raise InputError.of(
        "speed.tapped_winding.fast_poles",
        f"{fast:g}",
        f"the plate of {plate} poles is then neither the high nor the low speed of a tapped winding",
        f"take {plate}{halves}, or use separate windings",
    )


def _check_slots(slots: float, fast: int, usual: int) -> None:
    if slots != int(slots) or int(slots) % (6 * fast):
        raise InputError.of(
            "speed.tapped_winding.slots",
            f"{slots:g}",
            f"must be a multiple of {6 * fast} for {fast} and {2 * fast} poles",
            f"take {usual}",
        )


def _fast_poles(task: SpeedTask) -> Choice:
    """The plate is the high speed, unless a demand lies well above it and its poles can be halved."""
    rating = task.drive.motor.rating
    fastest = max((d.speed for d in task.duty), default=0.0)
    if fastest > 1.2 * rating.synchronous_speed and rating.poles % 4 == 0:
        return computed(rating.poles // 2, "a demand lies above the plate's synchronous speed")
    return assumed(rating.poles, "the frame is wound anew with the plate's circuit at the high speed")


def _arrangement(task: SpeedTask) -> Choice:
    """By how the demanded torque goes with speed."""
    exponent = _exponent(task)
    shown = (
        f"the load goes with speed to the power {amount(exponent)}" if abs(exponent) > 0.005 else "a level load torque"
    )
    if exponent > 1.0:
        return computed(VARIABLE_TORQUE, shown)
    return computed(CONSTANT_POWER if exponent < -0.5 else CONSTANT_TORQUE, shown)


def _exponent(task: SpeedTask) -> float:
    """d log(torque) / d log(speed) between the slowest and the fastest demand, or of the load itself near rated speed."""
    demands = sorted((d.speed, d.torque) for d in task.duty if d.torque > 0 and d.speed > 0)
    if len(demands) > 1 and demands[-1][0] > 1.1 * demands[0][0]:
        (n1, t1), (n2, t2) = demands[0], demands[-1]
        return log(t2 / t1) / log(n2 / n1)
    speeds = task.drive.motor.rating.speed * np.array([0.6, 1.0])
    low, high = (float(t) for t in task.drive.load.running(speeds))
    return log(high / low) / log(1 / 0.6) if low > 0 and high > 0 else 0.0


def nominal_factor(arrangement: str) -> float:
    """Power at the high speed over that at the low speed for which an arrangement is named. [1]"""
    return 2 * ARRANGEMENTS[arrangement].torque_ratio
