"""Direct start: full voltage at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Self

from slipwise.methods.settings import Given, assemble, checked
from slipwise.methods.way import Designed, Task
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, settled


@dataclass(frozen=True, slots=True, kw_only=True)
class Direct:
    """The winding in its running connection on the full supply from the first moment. There is nothing to set."""

    key: ClassVar[str] = "direct"
    title: ClassVar[str] = "Direct"
    also: ClassVar[tuple[str, ...]] = ("DOL", "direct on line", "direct online", "across the line", "full voltage")
    summary: ClassVar[str] = (
        "The motor is switched straight onto the supply. It gives the most torque and the shortest run-up with the fewest "
        "parts, and it costs the greatest current and voltage dip and the hardest first torque peak."
    )

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """There is nothing to design; raises InputError when a setting was given all the same."""
        del task  # the same for every task
        return assemble(cls, checked(cls, given), {}, "")

    def stages(self, drive: Drive) -> Plan:
        """One stage that lasts until the motor has settled."""
        del drive  # the same for every drive
        return (Stage(name="direct", until=settled(), contacts=("K1 line",)),)

    def wiring(self) -> Wiring:
        """Breaker, line contactor, overload relay, motor."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="overload", label="F1", after="K1 line"),
                Device(kind="motor", label="M1", after="F1"),
            ),
            stages=("direct",),
            closed=(("K1 line",),),
        )
