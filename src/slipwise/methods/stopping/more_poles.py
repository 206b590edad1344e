"""Change to more poles: a motor wound for two speeds generates down to the lower one, then it is cut off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

import numpy as np

from slipwise.methods.settings import Given, assemble, assumed, checked, computed
from slipwise.methods.speed.pole_changing_tapped import ARRANGEMENTS, TappedWinding
from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.methods.stopping.tools import SECTION, part, require_circuit
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import rpm
from slipwise.methods.way import Designed, Dial
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.windings import Connection
from slipwise.quantity.errors import InputError
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, elapsed, speed_falls_to
from slipwise.solve.stop import off
from slipwise.solve.stop import returned as given_back

PAUSE, SHORT_PAUSE, LONG_PAUSE = 0.3, 0.1, 1.0  # s, contactors and interlock: common practice, no source
LET_GO = 1.02  # of the lower synchronous speed: below it the motor would drive


@dataclass(frozen=True, slots=True, kw_only=True)
class MorePoles:
    """The tapped winding is put on twice the poles; above the lower synchronous speed the motor returns power to the line.

    The field of the first pole number induces nothing in the winding as it then stands. The circuit on more poles is that of
    `methods.speed.pole_changing_tapped`.
    """

    key: ClassVar[str] = "more_poles"
    title: ClassVar[str] = "More poles"
    also: ClassVar[tuple[str, ...]] = ("pole changing", "change of poles")
    summary: ClassVar[str] = (
        "A motor wound for two speeds is switched to the lower one and brakes hard by generating, down to half the speed. "
        "The energy goes back to the line; the rest coasts or needs another brake. Gear and coupling feel the change."
    )

    arrangement: Annotated[
        str, Dial(title="arrangement", unit="", doc="Of the tapped winding.", choices=tuple(ARRANGEMENTS))
    ]
    pause: Annotated[
        float,
        Dial(
            title="pause",
            unit="s",
            example="0.5 s",
            doc="Without supply between the two connections.",
            low=0.02,
            high=60.0,
        ),
    ]

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """The arrangement as the motor has it; it is never assumed, because a motor for one speed has none.

        Raises:
            InputError: a motor for one speed, or known by its curves only; a setting outside its dial.
        """
        checked(cls, given, SECTION)
        require_circuit(cls.key, task.nominal, "the curves say nothing of another pole number")
        if "arrangement" not in given and not task.arrangement:
            raise InputError.of(
                f"{SECTION}.more_poles",
                "a motor for one speed",
                "it has no second pole number to change to",
                "leave this way out, or give arrangement for a motor with a tapped winding",
            )
        chosen = {
            "arrangement": computed(task.arrangement, "that of the motor's speed control"),
            "pause": assumed(PAUSE, "contactors and interlock (common practice, no source)", SHORT_PAUSE, LONG_PAUSE),
        }
        made = assemble(cls, given, chosen, "")
        low = made.way.slow(task.nominal).rating
        words = f"Brakes down to {rpm(LET_GO * low.synchronous_speed)} on {low.poles} poles, then coasts."
        return assemble(cls, given, chosen, words)

    def slow(self, drive: Drive) -> Motor:
        """The motor as the frame makes it on twice the poles."""
        task = SpeedTask(drive=drive, duty=(), site=Site())
        settings: Given = {"arrangement": self.arrangement, "fast_poles": float(drive.motor.rating.poles)}
        return TappedWinding.designed_for(task, settings).way.pair(task).low

    def running(self, drive: Drive) -> Stage | None:
        """Nothing of the running field counts: it has another number of poles."""
        del drive
        return None

    def stages(self, drive: Drive) -> Plan:
        """Pause, twice the poles until nearly the lower synchronous speed, off."""
        slow = self.slow(drive)
        end = speed_falls_to(LET_GO * slow.rating.synchronous_speed)
        return (
            Stage(name="pause", until=elapsed(self.pause), connected=False, motor=slow),
            Stage(name="more poles", until=end, motor=slow, contacts=self.wiring().closed[2]),
            off(drive),
        )

    def wiring(self) -> Wiring:
        """One contactor for either connection and one for the star point, as the motor has them."""
        double = ARRANGEMENTS[self.arrangement].low is Connection.DOUBLE_STAR
        low = ("K1 low", "K3 star") if double else ("K1 low",)
        high = ("K2 high",) if double else ("K2 high", "K3 star")
        joined = "2U, 2V, 2W" if double else "1U, 1V, 1W"
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 low", after="Q1", note="to 1U, 1V, 1W"),
                Device(kind="overload", label="F1", after="K1 low"),
                Device(kind="motor", label="M1", after="F1"),
                Device(kind="contactor", label="K2 high", after="Q1", branch="high", note="to 2U, 2V, 2W"),
                Device(kind="overload", label="F2", after="K2 high", branch="high"),
                Device(kind="contactor", label="K3 star", after="M1", branch="star", note=f"joins {joined}"),
            ),
            stages=("running", "pause", "more poles", "off"),
            closed=(high, (), low, ()),
            motor_leads=6,
            notes=("K1 low is interlocked with K2 high and K3 star.",),
        )

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """What goes back to the line, and the greatest braking torque."""
        back = given_back(self.stages(drive), drive, run)
        at = int(np.argmin(run.torque))
        return (
            part("returned", "returned to the line", back.energy, "J", f"one stop; at most {back.power / 1e3:.3g} kW"),
            part("braking_torque", "greatest braking torque", -float(run.torque[at]), "N m", "steady curve"),
        )
