"""Start through a reactor in each line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Given, assemble, checked
from slipwise.methods.starting import series
from slipwise.methods.starting.changeover import require_below_synchronous
from slipwise.methods.way import Designed, Task
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive, Plan

ELEMENT = series.Element(name="reactor", kind="reactor", unit=1j, label="L10")


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesReactor:
    """A reactor in each line up to a speed, then bridged.

    The motor voltage is k of full at standstill and rises by itself with speed; line current falls with k, torque with
    k^2. Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.2.
    """

    key: ClassVar[str] = "series_reactor"
    title: ClassVar[str] = "Series reactor"
    also: ClassVar[tuple[str, ...]] = ("reactor", "choke", "primary reactor", "stator reactor", "line reactor")
    summary: ClassVar[str] = (
        "A reactor in each line takes part of the voltage; as the motor speeds up its share grows and the torque with it, and "
        "the reactor is bridged without a break. Cheap and smooth at high voltage, but torque falls faster than current."
    )

    ohms: Annotated[float, series.OHMS]
    changeover_speed: Annotated[float, series.CHANGEOVER]

    @classmethod
    def designed_for(cls, task: Task, given: Given) -> Designed[Self]:
        """Designs ohms and changeover speed, see `series.design`; raises InputError for a setting that cannot stand."""
        checked(cls, given)
        require_below_synchronous(cls.key, given, task.nominal)
        chosen, words = series.design(ELEMENT, task, given)
        return assemble(cls, given, chosen, words)

    def stages(self, drive: Drive) -> Plan:
        """Through the reactor, then running."""
        del drive  # the same element whatever it feeds
        return ELEMENT.plan(self.ohms, self.changeover_speed)

    def wiring(self) -> Wiring:
        """Line contactor, reactor, bridging contactor."""
        return ELEMENT.wiring(self.ohms)
