"""Coasting: the motor is switched off, and the load and friction stop it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Self

from slipwise.methods.settings import Given, assemble, checked
from slipwise.methods.stopping.tools import RUNNING, SECTION, line_devices
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.way import Designed
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive, Plan, Stage
from slipwise.solve.stop import off


@dataclass(frozen=True, slots=True, kw_only=True)
class Coasting:
    """No supply and no brake. There is nothing to set."""

    key: ClassVar[str] = "coasting"
    title: ClassVar[str] = "Coasting"
    also: ClassVar[tuple[str, ...]] = ("coast", "free stop", "run down", "freewheel")
    summary: ClassVar[str] = (
        "The motor is cut off and the driven machine with all friction stops it. It costs nothing and heats nothing; a fan "
        "or a flywheel takes minutes, and a load that hangs is not stopped at all."
    )

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """There is nothing to design; raises InputError when a setting was given all the same."""
        del task  # the same for every task
        return assemble(cls, checked(cls, given, SECTION), {}, "")

    def running(self, drive: Drive) -> Stage | None:
        """On the line; the field dies away without torque."""
        del drive
        return RUNNING

    def stages(self, drive: Drive) -> Plan:
        """One stage without supply."""
        return (off(drive),)

    def wiring(self) -> Wiring:
        """Breaker, line contactor, overload relay, motor."""
        return Wiring(devices=line_devices(), stages=("running", "off"), closed=(("K1 line",), ()))

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """Nothing beside what the motor runs on."""
        del drive, run
        return ()
