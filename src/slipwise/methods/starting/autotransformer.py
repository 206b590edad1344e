"""Autotransformer start: a tap of the line voltage until the motor is nearly up to speed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Self

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed, number
from slipwise.methods.starting.changeover import Changeover, changeover_after, require_below_synchronous
from slipwise.methods.starting.strength import Ladder, weakest
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Designed, Dial, Task
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, elapsed, settled, speed_reaches
from slipwise.solve.steady import solve

# Usual taps of starting autotransformers, and their leakage reactance per unit of the motor's locked-rotor impedance:
# common practice, no source.
TAPS = (0.50, 0.65, 0.80)
USUAL_LEAKAGE, LOW_LEAKAGE, HIGH_LEAKAGE = 0.04, 0.02, 0.08
USUAL_PAUSE, SHORT_PAUSE, LONG_PAUSE = 0.05, 0.03, 0.1
TRANSITION_TIME = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Autotransformer:
    """A tap up to a speed, a changeover, then the full voltage.

    With tap k the motor current is k, the line current k^2 and the torque k^2 of direct, less what the leakage takes;
    the magnetising current of the autotransformer is left out. Closed transition: the star point is opened first, the
    part of the winding between line and tap stays in circuit as a reactor, then it is bridged.
    Source: Hubert, Electric Machines, 2nd ed., sect. 5.17; Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.2.
    """

    key: ClassVar[str] = "autotransformer"
    title: ClassVar[str] = "Autotransformer"
    also: ClassVar[tuple[str, ...]] = (
        "Korndorfer",
        "Korndörfer",
        "compensator",
        "auto-transformer starter",
        "reduced voltage transformer",
    )
    summary: ClassVar[str] = (
        "The motor starts on a tap of an autotransformer: torque and line current fall with the square of the tap, so it "
        "gives the most torque for each ampere of line current. It costs a bulky transformer that bears few starts an hour."
    )

    tap: Annotated[
        float,
        Dial(
            title="tap",
            unit="pu",
            example="65 %",
            doc="Motor voltage per unit of line voltage; usual taps 50, 65, 80 %.",
            low=0.2,
            high=1.0,
        ),
    ]
    taps: Annotated[
        str,
        Dial(
            title="taps to choose from",
            unit="",
            doc="For the design: the usual taps only, or any tap.",
            choices=("standard", "free"),
        ),
    ]
    changeover_speed: Annotated[
        float,
        Dial(
            title="changeover speed",
            unit="rad/s",
            example="1400 r/min",
            doc="Shaft speed at which the tap is left.",
            low=0.0,
        ),
    ]
    pause: Annotated[
        float,
        Dial(
            title="pause",
            unit="s",
            example="80 ms",
            doc="Open: time without supply. Closed: time with the winding as a reactor.",
            low=0.001,
            high=5.0,
        ),
    ]
    transition: Annotated[
        str,
        Dial(
            title="transition",
            unit="",
            doc="Closed opens the star point and keeps the motor fed; open leaves it without supply for the pause.",
            choices=("closed", "open"),
        ),
    ]
    leakage: Annotated[
        float,
        Dial(
            title="leakage reactance",
            unit="pu",
            example="5 %",
            doc="Of the autotransformer at its tap, per unit of the motor's locked-rotor impedance.",
            low=0.0,
            high=0.5,
        ),
    ]
    transition_reactance: Annotated[
        float,
        Dial(
            title="transition reactance",
            unit="ohm",
            example="0.8 ohm",
            doc="Closed: reactance per line of the winding left in circuit; without effect in an open transition.",
            low=0.0,
        ),
    ]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs what is not given.

        Tap: the lowest that keeps the accelerating reserve in the worst case and the run-up time, unless the agreed line
        current or a dip limit allows less; the words say which bound it. Changeover as for every reduced voltage.

        Raises:
            InputError: a setting outside its dial; a changeover speed at or above synchronous speed.
        """
        checked(cls, given)
        require_below_synchronous(cls.key, given, task.nominal)
        leakage = float(given.get("leakage", USUAL_LEAKAGE))
        tap, words = _tap(task, given, leakage)
        transition = str(given.get("transition", "closed"))
        pause = float(given.get("pause", USUAL_PAUSE if transition == "open" else TRANSITION_TIME))
        dead = pause if transition == "open" else 0.0
        change = changeover_after(tapped(float(tap.value), leakage, task.nominal), task, given, "the tap", dead)
        chosen = {
            "tap": tap,
            "taps": assumed("standard", "taps in stock (common practice, no source)"),
            "changeover_speed": change.choice,
            "pause": _pause(task, change, transition),
            "transition": assumed("closed", "avoids reconnection onto the residual voltage for one contact more"),
            "leakage": assumed(
                USUAL_LEAKAGE, "of starting autotransformers (common practice, no source)", LOW_LEAKAGE, HIGH_LEAKAGE
            ),
            "transition_reactance": _transition_reactance(task.nominal, float(tap.value), leakage, change.speed),
        }
        return assemble(cls, given, chosen, " ".join(filter(None, (words, _change_words(change, given)))))

    def stages(self, drive: Drive) -> Plan:
        """Tap, pause or reactor, running."""
        tap, between, running = self._sequence()
        first = replace(
            tapped(self.tap, self.leakage, drive), until=speed_reaches(self.changeover_speed), contacts=tap[1]
        )
        wait = elapsed(self.pause)
        last = Stage(name=running[0], until=settled(), contacts=running[1])
        if self.transition == "open":
            return (first, Stage(name=between[0], until=wait, connected=False, contacts=between[1]), last)
        reactor = 1j * self.transition_reactance
        return (first, Stage(name=between[0], until=wait, line_series=reactor, contacts=between[1]), last)

    def wiring(self) -> Wiring:
        """Feed to the autotransformer, its star point, and the contactor that bridges it."""
        sequence = self._sequence()
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1", note="bridges the autotransformer"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1"),
                Device(kind="contactor", label="K2 feed", after="Q1", branch="tap"),
                Device(
                    kind="autotransformer",
                    label="T1",
                    after="K2 feed",
                    branch="tap",
                    note=f"tap {percent(self.tap)} to F1",
                ),
                Device(kind="contactor", label="K3 star point", after="T1", branch="star point", carries="star point"),
            ),
            stages=tuple(name for name, _ in sequence),
            closed=tuple(contacts for _, contacts in sequence),
            notes=("K1 line and K3 star point are interlocked.",),
        )

    def _sequence(self) -> list[tuple[str, tuple[str, ...]]]:
        """Stages and their closed contacts, in order."""
        tap = ("tap", ("K2 feed", "K3 star point"))
        between = ("pause", ()) if self.transition == "open" else ("reactor", ("K2 feed",))
        return [tap, between, ("running", ("K1 line",))]


def tapped(tap: float, leakage: float, drive: Drive) -> Stage:
    """The stage on a tap: ratio k, then the leakage reactance per unit of the locked-rotor impedance."""
    return Stage(name="tap", until=settled(), ratio=complex(tap), series=1j * leakage * locked_rotor_impedance(drive))


def locked_rotor_impedance(drive: Drive) -> float:
    """Magnitude of the star-equivalent impedance at standstill at the terminals' own voltage. [ohm]"""
    found = solve(drive, survey.RUNNING, 0.0)
    return float(abs(found.busbars[-1]) / found.line)


def _tap(task: Task, given: Given, leakage: float) -> tuple[Choice, str]:
    """The lowest tap that does, and the words for it."""
    fixed = number(given, "tap")
    if fixed is not None:
        return computed(fixed, "given by user"), ""
    free = given.get("taps", "standard") == "free"
    found = weakest(
        Ladder(
            stage=lambda tap, drive: tapped(tap, leakage, drive),
            steps=None if free else TAPS,
            low=0.2,
            high=1.0,
            up_to=number(given, "changeover_speed"),
        ),
        task,
    )
    name = percent(found.strength)
    what = "any tap" if free else "the usual taps 50, 65, 80 %"
    words = f"Tap: of {what} the lowest that lifts the load is sought; {name} it is, {found.bound}."
    return computed(found.strength, found.bound), words


def _pause(task: Task, change: Changeover, transition: str) -> Choice:
    if transition == "closed":
        return assumed(
            TRANSITION_TIME, "two contactor times with the winding as a reactor (common practice)", 0.05, 0.3
        )
    why = "usual break, arc and make of a contactor pair (common practice, no source)"
    return assumed(
        USUAL_PAUSE, why + survey.residual_words(task.nominal, change.speed, USUAL_PAUSE), SHORT_PAUSE, LONG_PAUSE
    )


def _transition_reactance(drive: Drive, tap: float, leakage: float, speed: float) -> Choice:
    """Ohms per line at which the reactor leaves the motor the torque it had on the tap at the changeover speed."""
    ohms = survey.ohms_for_torque(drive, 1j, speed, tapped(tap, leakage, drive))
    why = "assumed gapped so that the motor keeps the torque it had on the tap at the changeover; ask the maker"
    return assumed(ohms, why, 0.5 * ohms, 3 * ohms)


def _change_words(change: Changeover, given: Given) -> str:
    if "changeover_speed" in given:
        return ""
    return (
        f"Changeover speed: as late as needed for the full-voltage current ({amount(change.current)} A) not to exceed the "
        f"line current on the tap at standstill ({amount(change.target)} A); {change.bound}."
    )
