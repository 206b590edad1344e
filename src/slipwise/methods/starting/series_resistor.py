"""Start through a resistor in each line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Given, assemble, checked
from slipwise.methods.starting import series
from slipwise.methods.starting.changeover import require_below_synchronous
from slipwise.methods.way import Designed, Task
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive, Plan

ELEMENT = series.Element(name="resistor", kind="resistor", unit=1, label="R1")


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesResistor:
    """A resistor in each line up to a speed, then bridged.

    The motor voltage is k of full at standstill and rises by itself with speed; line current falls with k, torque with
    k^2. Source: Hubert, Electric Machines, 2nd ed., sect. 5.17.
    """

    key: ClassVar[str] = "series_resistor"
    title: ClassVar[str] = "Series resistor"
    also: ClassVar[tuple[str, ...]] = ("primary resistor", "primary resistance", "stator resistor", "stator resistance")
    summary: ClassVar[str] = (
        "A resistor in each line takes part of the voltage and is bridged without a break. It improves the power factor of "
        "the start and needs no iron, but it turns energy into heat in the starter and suits small motors and few starts."
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
        """Through the resistor, then running."""
        del drive  # the same element whatever it feeds
        return ELEMENT.plan(self.ohms, self.changeover_speed)

    def wiring(self) -> Wiring:
        """Line contactor, resistor, bridging contactor."""
        return ELEMENT.wiring(self.ohms)
