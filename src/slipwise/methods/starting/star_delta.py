"""Star-delta start: the delta winding stands in star until the motor is nearly up to speed."""

from __future__ import annotations

from cmath import exp
from dataclasses import dataclass, replace
from math import pi, sqrt
from typing import Annotated, ClassVar, Self

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
from slipwise.methods.starting.changeover import Changeover, changeover_after, require_below_synchronous
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial, Task
from slipwise.quantity.errors import InputError
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, elapsed, settled, speed_reaches

# Contactor break, arc and make of a changeover without a timer of its own: common practice, no source.
USUAL_PAUSE, SHORT_PAUSE, LONG_PAUSE = 0.05, 0.03, 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class StarDelta:
    """Star up to a speed, a changeover, then delta.

    The star equivalent of the running delta carries 1/sqrt 3 of the voltage while the winding stands in star, turned by
    30 degrees one way or the other according to how the delta is wired; line current and torque are then one third of
    delta. Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.2; IEC 60947-4-1 for the one third.
    """

    key: ClassVar[str] = "star_delta"
    title: ClassVar[str] = "Star-delta"
    also: ClassVar[tuple[str, ...]] = ("wye-delta", "Y-delta", "Y-D", "YD", "Y-Δ", "star/delta")
    summary: ClassVar[str] = (
        "The winding starts in star with a third of the direct line current and a third of the torque, and goes over to "
        "delta near full speed. It suits loads that stay light until then; with an open changeover the second current and "
        "torque peak can exceed that of a direct start."
    )

    changeover_speed: Annotated[
        float,
        Dial(
            title="changeover speed",
            unit="rad/s",
            example="1410 r/min",
            doc="Shaft speed at which the star is opened.",
            low=0.0,
        ),
    ]
    pause: Annotated[
        float,
        Dial(
            title="pause",
            unit="s",
            example="50 ms",
            doc="Open: time without supply. Closed: time in each of the two steps with resistors.",
            low=0.001,
            high=5.0,
        ),
    ]
    transition: Annotated[
        str,
        Dial(
            title="transition",
            unit="",
            doc="Open leaves the motor without supply for the pause; closed keeps it fed through resistors.",
            choices=("open", "closed"),
        ),
    ]
    changeover_wiring: Annotated[
        str,
        Dial(
            title="wiring of the changeover",
            unit="",
            doc="Whether the phase voltage in delta is 30° ahead of the one in star (leading) or behind it (lagging).",
            choices=("lagging", "leading"),
        ),
    ]
    transition_resistance: Annotated[
        float,
        Dial(
            title="transition resistance",
            unit="ohm",
            example="1.4 ohm",
            doc="Closed transition: resistor per winding phase; without effect in an open transition.",
            low=1e-6,
        ),
    ]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Changeover speed: where the delta current has fallen to what star already took at standstill, unless the star
        torque ends before. Pause: of a contactor. Wiring: the one in which the new voltage turns towards the slipping
        residual voltage. Resistors: so that the winding keeps its torque when they take over.

        Raises:
            InputError: the motor's running connection is not delta; a setting outside its dial; a changeover speed at or
                above synchronous speed.
        """
        checked(cls, given)
        require_delta(task.nominal)
        require_below_synchronous(cls.key, given, task.nominal)
        pause = float(given.get("pause", USUAL_PAUSE))
        dead = pause if given.get("transition", "open") == "open" else 0.0
        change = changeover_after(_star("lagging"), task, given, "star", dead)
        resistance = _transition_resistance(task.nominal, change.speed)
        residual = survey.residual_words(task.nominal, change.speed, pause)
        chosen = {
            "changeover_speed": change.choice,
            "pause": assumed(
                USUAL_PAUSE,
                "usual break, arc and make of a contactor pair (common practice, no source)" + residual,
                SHORT_PAUSE,
                LONG_PAUSE,
            ),
            "transition": assumed("open", "the ordinary starter; closed needs a fourth contactor and resistors"),
            "changeover_wiring": computed(
                "lagging",
                "the residual voltage falls behind the supply during the pause, so a delta voltage behind the star voltage "
                "meets it at the smaller angle; the other wiring is computed beside it",
            ),
            "transition_resistance": resistance,
        }
        return assemble(cls, given, chosen, _words(change, given))

    def stages(self, drive: Drive) -> Plan:
        """Star, pause, delta; or star, star with resistors, delta through resistors, delta.

        Raises:
            InputError: the motor's running connection is not delta.
        """
        require_delta(drive)
        star, *between, delta = self._sequence()
        reach = speed_reaches(self.changeover_speed)
        first = replace(_star(self.changeover_wiring), until=reach, contacts=star[1])
        last = Stage(name="delta", until=settled(), contacts=delta[1])
        wait = elapsed(self.pause)
        if self.transition == "open":
            return (first, Stage(name="pause", until=wait, connected=False, contacts=between[0][1]), last)
        shunted = replace(
            first, name=between[0][0], until=wait, shunt=complex(self.transition_resistance), contacts=between[0][1]
        )
        through = Stage(
            name=between[1][0], until=wait, series=complex(self.transition_resistance / 3), contacts=between[1][1]
        )
        return (first, shunted, through, last)

    def twin(self) -> Self:
        """The same start with the other wiring of the changeover."""
        other = "leading" if self.changeover_wiring == "lagging" else "lagging"
        return replace(self, changeover_wiring=other)

    def wiring(self) -> Wiring:
        """Line, delta and star contactors on six leads; resistors and their contactor for the closed transition."""
        ends = "U2-L3, V2-L1, W2-L2" if self.changeover_wiring == "lagging" else "U2-L2, V2-L3, W2-L1"
        devices = [
            Device(kind="breaker", label="Q1", after=""),
            Device(kind="contactor", label="K1 line", after="Q1", carries="winding"),
            Device(kind="overload", label="F1", after="K1 line", note="in the winding: set to 0.58 of rated current"),
            Device(kind="motor", label="M1", after="F1"),
            Device(
                kind="contactor",
                label="K2 delta",
                after="Q1",
                branch="delta",
                note=f"to the winding ends: {ends}",
                carries="winding",
            ),
            Device(
                kind="contactor", label="K3 star", after="M1", branch="star", note="joins U2, V2, W2", carries="winding"
            ),
        ]
        if self.transition == "closed":
            devices += [
                Device(kind="contactor", label="K4 transition", after="Q1", branch="transition"),
                Device(kind="resistor", label="R1", after="K4 transition", branch="transition", note=f"to {ends}"),
            ]
        sequence = self._sequence()
        return Wiring(
            devices=tuple(devices),
            stages=tuple(name for name, _ in sequence),
            closed=tuple(contacts for _, contacts in sequence),
            motor_leads=6,
            notes=(
                "K2 delta and K3 star are interlocked, electrically and mechanically.",
                f"Delta wired {ends}: the phase voltage in delta stands 30° "
                f"{'behind' if self.changeover_wiring == 'lagging' else 'ahead of'} that in star.",
            ),
        )

    def _sequence(self) -> list[tuple[str, tuple[str, ...]]]:
        """Stages and their closed contacts, in order."""
        if self.transition == "open":
            return [("star", ("K1 line", "K3 star")), ("pause", ("K1 line",)), ("delta", ("K1 line", "K2 delta"))]
        return [
            ("star", ("K1 line", "K3 star")),
            ("star with resistors", ("K1 line", "K3 star", "K4 transition")),
            ("delta through resistors", ("K1 line", "K4 transition")),
            ("delta", ("K1 line", "K2 delta")),
        ]


def require_delta(drive: Drive) -> None:
    """Raises InputError unless the motor runs in delta."""
    rating = drive.motor.rating
    if rating.connection != "delta":
        raise InputError.of(
            "starting.star_delta",
            f"a motor that runs in {rating.connection} at {rating.voltage:.4g} V",
            "star-delta needs a winding that runs in delta at this line voltage, with all six leads brought out; in star "
            "this one already has its full voltage",
            f"take a motor wound for delta at {rating.voltage:.4g} V, or another way such as an autotransformer",
        )


def _star(changeover_wiring: str) -> Stage:
    """The star stage: winding voltage 1/sqrt 3, turned against the delta by the wiring."""
    turn = -pi / 6 if changeover_wiring == "leading" else pi / 6
    return Stage(name="star", until=settled(), ratio=exp(1j * turn) / sqrt(3))


def _transition_resistance(drive: Drive, speed: float) -> Choice:
    """Ohms per winding phase at which delta through resistors has the torque that star had at the changeover speed."""
    ohms = 3 * survey.ohms_for_torque(drive, 1, speed, _star("lagging"))
    why = "the torque through the resistors at the changeover equals that in star: no step at that moment"
    return computed(max(ohms, 1e-6), why)


def _words(change: Changeover, given: Given) -> str:
    if "changeover_speed" in given:
        return ""
    return (
        f"Changeover speed: as late as needed for the delta current ({amount(change.current)} A) not to exceed the star "
        f"current at standstill ({amount(change.target)} A); {change.bound}. Delta then starts with "
        f"{percent(change.of_direct)} of the direct standstill current."
    )
