"""Regenerative braking: the inverter lowers its frequency and gives what the motor returns back to the line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Given, assemble, checked, computed
from slipwise.methods.stopping.inverter_ramp import (
    BOOST_DIAL,
    LIMIT_DIAL,
    RAMP_DIAL,
    boost_choice,
    full,
    limit_choice,
    ramp,
    ramp_choice,
)
from slipwise.methods.stopping.tools import SECTION, part, require_circuit
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import amount
from slipwise.methods.way import Designed
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring
from slipwise.solve import network
from slipwise.solve.plan import Drive, Plan, Stage
from slipwise.solve.stop import returned


@dataclass(frozen=True, slots=True, kw_only=True)
class Regenerative:
    """An inverter whose line side also works backwards. Losses left out, displacement factor 1, fundamental only."""

    key: ClassVar[str] = "regenerative"
    title: ClassVar[str] = "Regenerative"
    also: ClassVar[tuple[str, ...]] = (
        "regeneration",
        "regenerative braking",
        "active front end",
        "AFE",
        "line feedback",
    )
    summary: ClassVar[str] = (
        "An inverter with a line converter returns the energy of the moving masses to the line. As smooth as braking on a "
        "resistor and without its heat; it pays for large masses stopped often and for loads that are lowered. The line "
        "must take the power, and a stop during a power cut needs another brake."
    )

    ramp_time: Annotated[float, RAMP_DIAL]
    current_limit: Annotated[float, LIMIT_DIAL]
    boost: Annotated[float, BOOST_DIAL]

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """Ramp as `inverter_ramp.ramp_choice`.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        checked(cls, given, SECTION)
        require_circuit(cls.key, task.nominal, "the curves hold at rated frequency only")
        chosen = {"current_limit": limit_choice(), "boost": boost_choice(task), "ramp_time": computed(10.0, "")}
        trial = assemble(cls, given, chosen, "").way
        if "ramp_time" not in given:
            chosen["ramp_time"] = ramp_choice(task, trial.current_limit, trial.boost)
        time = float(chosen["ramp_time"].value)
        words = "" if "ramp_time" in given else f"Ramp: {amount(time)} s, {chosen['ramp_time'].why}."
        return assemble(cls, given, chosen, f"{words} Losses of the converters left out.".strip())

    def running(self, drive: Drive) -> Stage | None:
        """On the inverter at rated frequency."""
        del drive
        return full(("K1 line",))

    def stages(self, drive: Drive) -> Plan:
        """The ramp down, then off."""
        return ramp(drive, self.ramp_time, self.boost, ("K1 line",))

    def wiring(self) -> Wiring:
        """Breaker, contactor, choke in the line, inverter, motor."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="reactor", label="L1", after="K1 line", note="of the line converter"),
                Device(kind="inverter", label="U1", after="L1", note="line side works both ways"),
                Device(kind="motor", label="M1", after="U1"),
            ),
            stages=("running", "frequency ramp", "off"),
            closed=(("K1 line",), ("K1 line",), ()),
            notes=("The dc link stays charged after Q1 is opened.",),
        )

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """Power and energy returned, and how high the terminals rise meanwhile."""
        back = returned(self.stages(drive), drive, run)
        level = network.per_unit(drive.supply, network.solve(drive.supply, power=-back.power / 3 + 0.0))[-1]
        return (
            part("returned_power", "greatest power returned", back.power, "W", "by the motor, nominal case"),
            part("returned", "returned in one stop", back.energy, "J", "losses of the converters left out"),
            part("terminal_voltage", "terminals meanwhile", float(level), "pu", "of nominal, at that power"),
        )
