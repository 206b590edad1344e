"""Braking on an inverter with a resistor: the frequency is lowered, and a chopper burns what the motor returns."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Annotated, ClassVar, Self

from slipwise.methods.settings import Choice, Given, assemble, assumed, checked, computed
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
from slipwise.methods.stopping.tools import SECTION, part, require_circuit, tried, unsaturated
from slipwise.methods.stopping.way import StopTask
from slipwise.methods.survey import amount
from slipwise.methods.way import Designed, Dial
from slipwise.quantity.formula import Formula
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage
from slipwise.solve.stop import returned

LINK, LOW_LINK, HIGH_LINK = (
    1.25,
    1.2,
    1.35,
)  # of the peak line voltage, where the chopper works: common practice, no source
IN_HAND = 0.9  # of the largest resistance, used by a design
LEAST_SHARE = 0.02  # of rated power: a resistor is not made for less (common practice, no source)

OHMS = Formula(
    key="stopping.braking_resistor",
    title="Greatest braking resistance that takes the returned power",
    symbol="R_b",
    expression="U_d**2 / P_max",
    units={"U_d": "V", "P_max": "W"},
    source="definition; the link is held at the voltage where the chopper works",
    validity="losses of the inverter left out, which is on the safe side",
    result_unit="ohm",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakingResistor:
    """The inverter lowers frequency and voltage; a switch in its dc link puts a resistor on while the motor generates.

    Losses of the inverter are left out, so the resistor is sized on the safe side. Fundamental only.
    """

    key: ClassVar[str] = "braking_resistor"
    title: ClassVar[str] = "Braking resistor"
    also: ClassVar[tuple[str, ...]] = ("brake resistor", "brake chopper", "braking chopper", "dynamic braking")
    summary: ClassVar[str] = (
        "The inverter lowers its frequency and the motor generates into the dc link, where a switched resistor turns the "
        "energy into heat. Smooth, repeatable and gentle on the rotor; the resistor needs room and air, and the inverter "
        "must be there anyway."
    )

    ramp_time: Annotated[float, RAMP_DIAL]
    current_limit: Annotated[float, LIMIT_DIAL]
    boost: Annotated[float, BOOST_DIAL]
    link_voltage: Annotated[
        float,
        Dial(
            title="link voltage",
            unit="V",
            example="750 V",
            doc="Of the dc link while the chopper works.",
            low=10.0,
            high=2e4,
        ),
    ]
    resistance: Annotated[
        float,
        Dial(
            title="braking resistor",
            unit="ohm",
            example="4.7 ohm",
            doc="In the dc link, through the chopper.",
            low=0.01,
            high=1e5,
        ),
    ]

    @classmethod
    def designed_for(cls, task: StopTask, given: Given) -> Designed[Self]:
        """Ramp as `inverter_ramp.ramp_choice`; resistor: nine tenths of the largest that takes the greatest power.

        Raises:
            InputError: the motor is known by its curves only; a setting outside its dial.
        """
        checked(cls, given, SECTION)
        require_circuit(cls.key, task.nominal, "the curves hold at rated frequency only")
        peak = sqrt(2) * task.nominal.motor.rating.voltage
        chosen = {
            "current_limit": limit_choice(),
            "boost": boost_choice(task),
            "link_voltage": assumed(
                LINK * peak, "a quarter above the peak of the line (common practice)", LOW_LINK * peak, HIGH_LINK * peak
            ),
            "ramp_time": computed(10.0, ""),
            "resistance": computed(1.0, ""),
        }
        trial = assemble(cls, given, chosen, "").way
        if "ramp_time" not in given:
            chosen["ramp_time"] = ramp_choice(task, trial.current_limit, trial.boost)
        way = assemble(cls, given, chosen, "").way
        power = max(_power(way, drive) for drive in (task.nominal, task.worst))
        chosen["resistance"] = _resistor(way, power, task.nominal.motor.rating.power)
        said = [] if "ramp_time" in given else [f"Ramp: {amount(way.ramp_time)} s, {chosen['ramp_time'].why}."]
        if "resistance" not in given:
            ohms = amount(float(chosen["resistance"].value))
            said.append(f"Resistor: {ohms} ohm, {chosen['resistance'].why}.")
        return assemble(cls, given, chosen, " ".join([*said, "Losses of the inverter left out."]))

    @property
    def capacity(self) -> float:
        """Power the resistor takes at the link voltage."""
        return self.link_voltage**2 / self.resistance

    def running(self, drive: Drive) -> Stage | None:
        """On the inverter at rated frequency."""
        del drive
        return full(("K1 line",))

    def stages(self, drive: Drive) -> Plan:
        """The ramp down, then off."""
        return ramp(drive, self.ramp_time, self.boost, ("K1 line",))

    def wiring(self) -> Wiring:
        """Breaker, line contactor, inverter, motor; the resistor hangs on the inverter's dc link."""
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind="inverter", label="U1", after="K1 line", note="with chopper and resistor in its dc link"),
                Device(kind="motor", label="M1", after="U1"),
            ),
            stages=("running", "frequency ramp", "off"),
            closed=(("K1 line",), ("K1 line",), ()),
            notes=(
                "R1 hangs on the dc link behind the chopper of U1, with a thermal switch that opens K1 line.",
                "The dc link stays charged after Q1 is opened.",
            ),
        )

    def parts(self, drive: Drive, run: RunUp) -> tuple[Setting, ...]:
        """Resistor: ohms, greatest power, energy of one stop."""
        back = returned(self.stages(drive), drive, run)
        return (
            part("resistor", "braking resistor", self.resistance, "ohm", f"takes {self.capacity / 1e3:.3g} kW at most"),
            part("resistor_power", "greatest power", back.power, "W", "returned by the motor, nominal case"),
            part("resistor_heat", "energy of one stop", back.energy, "J", "into the resistor, losses left out"),
        )


def _resistor(way: BrakingResistor, power: float, rated: float) -> Choice:
    """Nine tenths of the largest resistance that takes `power` (W), or a fiftieth of rated power where less comes back."""
    least = LEAST_SHARE * rated
    most = way.link_voltage**2 / max(power, least)
    if power < least:
        why = f"little comes back on this ramp; sized for {amount(least / 1e3)} kW, a fiftieth of rated power"
        return computed(most, why)
    why = f"at {amount(way.link_voltage)} V no more than {amount(most)} ohm takes {amount(power / 1e3)} kW"
    return computed(IN_HAND * most, why)


def _power(way: BrakingResistor, drive: Drive) -> float:
    """Greatest power returned along the ramp. [W]"""
    drive = unsaturated(drive)
    plan = way.stages(drive)
    return returned(plan, drive, tried(plan, drive, full(()))).power
