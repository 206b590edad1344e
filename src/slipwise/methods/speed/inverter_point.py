"""One operating point of a motor behind an inverter, as a result: losses from line to shaft, currents, verdict in words."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from slipwise.methods.speed.converter_chain import ChainState, Converter, settle
from slipwise.methods.speed.cooling import winding_heat
from slipwise.methods.speed.duty_load import slope, through
from slipwise.methods.speed.voltage_law import Demand, Met, VoltageLaw
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, percent, rpm
from slipwise.model.converter.dc_link import Choke
from slipwise.quantity.provenance import Origin
from slipwise.results.speed import DutyPoint, Harmonic, Loss, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.solve.converter_feed import SATURATION_NOTE, Feed

# Breakdown torque may be a tenth less than stated (IEC 60034-1, table of tolerances, from memory).
TOLERANCE = 0.9
_FULL_FLUX = 1.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """All that a point needs: the motor as connected, its law, its converter.

    top: greatest voltage the motor may be given, V per phase. reserve: breakdown torque over load torque wanted.
    """

    feed: Feed
    law: VoltageLaw
    converter: Converter
    top: float
    reserve: float
    compensation: float = 1.0

    @property
    def linked_top(self) -> float:
        """Greatest voltage per phase when the link delivers about rated power. [V]"""
        rated = self.feed.motor.rating
        return min(self.top, self.converter.top(self.converter.link_at(rated.power * self.top / rated.phase_voltage)))

    def heat(self, task: SpeedTask, speed: float, copper_loss: float) -> float:
        """Winding heat, 1 at its limit."""
        return float(winding_heat(self.feed.motor, task.site, speed, copper_loss))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """The motor alone at one demand, as a design looks at it. current: A; heat: pu; reserve: breakdown over load torque."""

    met: Met
    current: float
    heat: float
    reserve: float
    stable: bool


def outline(arranged: Arrangement, task: SpeedTask, duty: DutyPoint, top: float) -> Outline:
    """The motor without its converter, `top` being the greatest voltage per phase (V)."""
    load = through(task.drive.load, duty)
    demand = Demand(speed=duty.speed, load=load, compensation=arranged.compensation)
    met = arranged.law.met(arranged.feed, demand, top)
    speed = float(met.fed.speed[0])
    return Outline(
        met=met,
        current=float(met.fed.current[0]),
        heat=arranged.heat(task, speed, float(met.fed.copper_loss[0])),
        reserve=TOLERANCE * met.breakdown / max(abs(duty.torque), 1e-9),
        stable=slope(load, speed) > met.slope,
    )


def operate(arranged: Arrangement, task: SpeedTask, duty: DutyPoint) -> OperatingPoint:
    """The motor and its converter at one demand; what cannot be held is shown at the nearest that can."""
    load = through(task.drive.load, duty)
    demand = Demand(speed=duty.speed, load=load, compensation=arranged.compensation)
    state = settle(
        arranged.converter,
        arranged.feed.motor,
        arranged.feed.circuit,
        lambda top: arranged.law.met(arranged.feed, demand, top),
        arranged.top,
    )
    fed, speed = state.met.fed, float(state.met.fed.speed[0])
    stability = slope(load, speed) - state.met.slope
    faults = _faults(arranged, state, duty, stability)
    heat = arranged.heat(task, speed, float(fed.copper_loss[0]) + state.harmonic.copper)
    conditions = _conditions(arranged, state, duty, heat)
    losses = _losses(arranged, state)
    shaft = float(fed.torque[0]) * speed
    motor_input = float(fed.point.input_power[0].real) + state.harmonic.total
    line = state.link
    return OperatingPoint(
        duty=duty,
        feasible=not faults,
        reason="; ".join(faults or conditions),
        settings=_dials(state),
        speed=speed,
        torque=float(fed.torque[0]),
        slip=float(fed.slip[0]),
        stability=stability,
        frequency=float(fed.frequency[0]),
        flux=float(fed.flux[0]),
        losses=losses,
        line_power=line.line_power,
        shaft_power=shaft,
        motor_efficiency=shaft / motor_input if motor_input > 0 and shaft > 0 else 0.0,
        efficiency=shaft / line.line_power if line.line_power > 0 and shaft > 0 else 0.0,
        line_current=line.line_current,
        motor_current=sqrt(float(fed.current[0]) ** 2 + state.harmonic.current**2),
        displacement_factor=line.displacement_factor,
        power_factor=line.power_factor,
        harmonics=tuple(Harmonic(order=float(h), current=i) for h, i in line.harmonics),
        distortion=line.distortion,
        winding_heat=heat,
        notes=_notes(arranged, state),
    )


def _losses(arranged: Arrangement, state: ChainState) -> tuple[Loss, ...]:
    fed, line = state.met.fed, state.link
    in_line = arranged.converter.line.choke is Choke.LINE
    parts = (
        (Part.RECTIFIER, line.rectifier_loss),
        (Part.LINK, state.control + (0.0 if in_line else line.choke_loss)),
        (Part.INVERTER, state.inverter),
        (Part.SERIES, line.choke_loss if in_line else 0.0),
        (Part.STATOR, float(fed.point.stator_loss[0])),
        (Part.CORE, float(fed.point.core_loss[0])),
        (Part.ROTOR, float(fed.point.rotor_loss[0])),
        (Part.EXTERNAL, state.brake),
        (Part.HARMONIC, state.harmonic.total),
        (Part.STRAY, float(fed.stray_loss[0])),
        (Part.FRICTION, float(fed.mechanical_loss[0])),
    )
    return tuple(Loss(part=part, power=power) for part, power in parts if power)


def _faults(arranged: Arrangement, state: ChainState, duty: DutyPoint, stability: float) -> list[str]:
    """Why the way does not hold the point, each with its numbers; empty when it does."""
    met, motor = state.met, arranged.feed.motor
    needed, current = abs(duty.torque), sqrt(float(met.fed.current[0]) ** 2 + state.harmonic.current**2)
    said = []
    if not met.reached:
        said.append(f"asks {amount(needed)} N m at {rpm(duty.speed)}; the most there is {amount(met.peak)} N m")
    elif stability < -1e-9:
        said.append(f"past the breakdown of its frequency of {amount(float(met.fed.frequency[0]))} Hz, so not stable")
    elif needed > TOLERANCE * met.breakdown:
        said.append(
            f"asks {amount(needed)} N m of {amount(met.breakdown)} N m breakdown torque, which may be a tenth less by tolerance"
        )
    if duty.speed > motor.maximum_speed:
        said.append(f"{rpm(duty.speed)} is above the motor's greatest speed of {rpm(motor.maximum_speed)}")
    if current > arranged.converter.current * (1 + 1e-9):
        said.append(f"takes {amount(current)} A; the converter gives {amount(arranged.converter.current)} A for good")
    if not state.carried:
        said.append("the supply is too weak for the diode bridge at this power; line values without its impedance")
    return said


def _conditions(arranged: Arrangement, state: ChainState, duty: DutyPoint, heat: float) -> list[str]:
    """What a point that is held depends on."""
    met, said, speed = state.met, [], float(state.met.fed.speed[0])
    if heat > 1:
        said.append(
            f"not for good: the windings get {percent(heat)} of the heat that the cooling at this speed carries away"
        )
    if abs(duty.torque) * arranged.reserve > TOLERANCE * met.breakdown:
        ratio = TOLERANCE * met.breakdown / abs(duty.torque)
        said.append(f"breakdown reserve {ratio:.2f} where {arranged.reserve:.2f} is wanted, tolerance taken off")
    if duty.speed > 0 and abs(speed / duty.speed - 1) > 1e-3:
        said.append(
            f"runs at {rpm(speed)}, {percent(1 - speed / duty.speed)} below the speed asked, for want of slip compensation"
        )
    if state.brake:
        said.append(
            f"needs a braking resistor for {amount(state.brake / 1e3)} kW: a diode bridge returns nothing to the line"
        )
    return said


def _dials(state: ChainState) -> tuple[Setting, ...]:
    fed = state.met.fed
    rows = (
        ("frequency", "frequency", float(fed.frequency[0]), "Hz", "meets the load at the speed asked"),
        ("voltage", "motor voltage", sqrt(3) * float(fed.voltage[0]), "V", "line voltage, fundamental, by the law"),
        ("slip_frequency", "slip frequency", float(fed.frequency[0] * fed.slip[0]), "Hz", "of the rotor currents"),
        ("no_load_flux", "flux without load", state.met.no_load_flux, "pu", "at this frequency, of rated"),
        ("link_voltage", "link voltage", state.link.voltage, "V", "under this load"),
    )
    return tuple(
        Setting(key=key, title=title, value=value, unit=unit, origin=Origin.DERIVED.value, why=why)
        for key, title, value, unit, why in rows
    )


def _notes(arranged: Arrangement, state: ChainState) -> tuple[str, ...]:
    fed, flux, bare = state.met.fed, float(state.met.fed.flux[0]), state.met.no_load_flux
    said = []
    if bool(fed.limited[0]):
        said.append(
            f"voltage at its limit of {amount(sqrt(3) * float(fed.voltage[0]))} V: flux {percent(flux)} of rated"
        )
    if max(flux, bare) > _FULL_FLUX:
        said.append(
            f"over-fluxed: {percent(flux)} of rated under this load, {percent(bare)} without load; {SATURATION_NOTE}"
        )
    if state.ratio > 1e-9 and state.harmonic.total > 0.01 * arranged.feed.motor.rating.power:
        said.append(f"harmonics heat the motor with {amount(state.harmonic.total)} W")
    return tuple(said)


def choke_millihenry(converter: Converter) -> float:
    """[mH]"""
    return 1e3 * converter.line.choke_reactance / (2 * pi * converter.line.frequency)


def breakaway_current(arranged: Arrangement, task: SpeedTask) -> float:
    """Motor current that gives the load's holding torque at standstill; that of the greatest torque when it cannot. [A]"""
    load = task.drive.load
    needed = load.holding + load.pull
    demand = Demand(speed=0.0, load=lambda speed: needed + 0.0 * np.asarray(speed))
    return float(arranged.law.met(arranged.feed, demand, arranged.top).fed.current[0])
