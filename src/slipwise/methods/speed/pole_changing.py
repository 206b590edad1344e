"""What motors for two speeds have in common: two machines in one frame, the one nearest a demand, and the change between."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipwise.methods.speed import duty_load, line_fed
from slipwise.methods.speed.cooling import COOLING_NOTE, fan_share, rated_copper_loss, site_share, winding_heat
from slipwise.methods.speed.way import SpeedTask
from slipwise.methods.survey import amount, percent, rpm
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import first_peak, operating_point
from slipwise.model.machine.tolerance import like
from slipwise.quantity.errors import InputError
from slipwise.results.speed import DutyPoint, Envelope, Family, FamilyCurve, OperatingPoint, Part
from slipwise.results.study import Setting
from slipwise.solve.plan import Drive
from slipwise.solve.steady import solve

LEAST_BREAKDOWN = 1.6  # breakdown over rated torque (IEC 60034-1, least for general motors, from memory)
HIGH_FLUX = 1.15  # of the plate's flux density: beyond it a linear magnetising reactance says too little current


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two motors in one frame. frame: the motor of the plate, one of the two; low, high: by speed."""

    frame: Motor
    low: Motor
    high: Motor

    @property
    def both(self) -> tuple[Motor, Motor]:
        return self.low, self.high


def require_circuit(key: str, motor: Motor) -> Circuit:
    """The circuit; InputError for a motor known by its curves only."""
    if motor.circuit is None:
        raise InputError.of(
            f"speed.{key}",
            "a motor known by its curves",
            "the curves say nothing of another pole number",
            "give the equivalent circuit or the plate",
        )
    return motor.circuit


def at_poles(frame: Motor, circuit: Circuit, poles: int, connection: str) -> Motor:
    """The same frame on another winding: friction at its own speed, and a rating of its own (`_rated`)."""
    rating = replace(frame.rating, poles=poles, connection=connection)
    loss = frame.mechanical_loss
    share = rating.synchronous_speed / frame.rating.synchronous_speed
    bare = replace(
        frame,
        circuit=circuit,
        rating=rating,
        mechanical_loss=replace(loss, torque=loss.torque * share**loss.exponent),
        stray=0.0,
        stall=replace(frame.stall, cold=None, hot=None),
        locked_rotor_current=None,
        locked_rotor_torque=None,
    )
    return _rated(frame, bare)


def _rated(frame: Motor, bare: Motor) -> Motor:
    """The torque whose copper loss the frame sheds at that speed with its own fan, within the breakdown reserve.

    Stray loss is kept as the same share of output.
    """
    rating = bare.rating
    assert bare.circuit is not None
    sync = rating.synchronous_speed
    peak = first_peak(bare.circuit, rating.phase_voltage, rating.frequency, sync)
    slips = np.linspace(1e-4, peak.slip, 400)
    at = operating_point(bare.circuit, slips, rating.phase_voltage, rating.frequency, sync)
    shed = rated_copper_loss(frame) * fan_share(sync * (1 - slips), frame.rating.speed)
    good = (at.stator_loss + at.rotor_loss <= shed) & (at.torque <= peak.torque / LEAST_BREAKDOWN)
    best = int(np.flatnonzero(good)[-1]) if np.any(good) else 0
    speed = sync * (1 - float(slips[best]))
    torque = max(float(at.torque[best]) - float(bare.mechanical_torque(speed)), 1e-3 * frame.rating.torque)
    power = torque * speed
    found = replace(
        rating,
        power=power,
        speed=speed,
        current=float(abs(at.stator_current[best])),
        power_factor=None,
        efficiency=None,
    )
    return like(replace(bare, rating=found, stray=frame.stray * power / frame.rating.power), frame)


def point(task: SpeedTask, duty: DutyPoint, pair: Pair, tolerance: float) -> OperatingPoint:
    """The pole number whose running speed with this load is nearest the demand; feasible within the tolerance (pu)."""
    law = duty_load.through(task.drive.load, duty)
    runs = []
    for motor in pair.both:
        drive = replace(task.drive, motor=motor)
        run = line_fed.against(drive, law)
        if run is not None:
            runs.append((abs(run.speed - duty.speed), motor, run))
    if not runs:
        reason = f"neither winding carries {amount(duty.torque)} N m at {rpm(duty.speed)}"
        stalled = line_fed.stalled(replace(task, drive=replace(task.drive, motor=pair.low)), duty, reason)
        return _with_heat(task, pair, stalled, pair.low)
    miss, motor, run = min(runs, key=lambda row: row[0])
    reached = f"runs at {rpm(run.speed)} on {motor.rating.poles} poles"
    near = miss <= tolerance * duty.speed
    weak = [m.rating.poles for m in pair.both if all(m is not carried for _, carried, _ in runs)]
    lost = "".join(f"; with {poles} poles it does not carry {amount(duty.torque)} N m" for poles in weak)
    reason = "" if near else f"{reached}, {percent(miss / duty.speed)} from the {rpm(duty.speed)} asked for{lost}"
    there = replace(task, drive=replace(task.drive, motor=motor))
    settings = (
        Setting(key="poles", title="poles", value=float(motor.rating.poles), unit="", origin="derived", why=reached),
    )
    found = line_fed.answer(there, duty, run, reason=reason, feasible=near, settings=settings)
    return _with_heat(task, pair, found, motor)


def _with_heat(task: SpeedTask, pair: Pair, found: OperatingPoint, motor: Motor) -> OperatingPoint:
    """Heat and flux by the frame of the plate; what else limits this pole number is said."""
    copper = sum(row.power for row in found.losses if row.part in (Part.STATOR, Part.ROTOR))
    heat = float(winding_heat(pair.frame, task.site, found.speed, copper))
    reason = found.reason
    if found.feasible and heat > 1:
        reason = f"for a short time only: the windings heat {amount(heat)} times what the cooling carries away"
    flux = found.flux * _flux(pair, motor)
    full: tuple[str, ...] = ()
    if flux > HIGH_FLUX:
        full = (f"The gap flux is {amount(flux)} times the plate's: the core saturates, which is not counted here.",)
    return replace(found, winding_heat=heat, reason=reason, flux=flux, notes=(*found.notes, *full, COOLING_NOTE))


def _flux(pair: Pair, motor: Motor) -> float:
    """Rated gap flux density of one winding over that of the plate, by rated gap voltage, effective turns and poles.

    Magnetising reactance goes with (turns x factor / poles)^2, so the density goes with voltage / sqrt(Xm).
    """
    assert motor.circuit is not None
    assert pair.frame.circuit is not None
    return float(_gap_voltage(motor) / _gap_voltage(pair.frame) * (pair.frame.circuit.Xm / motor.circuit.Xm) ** 0.5)


def _gap_voltage(motor: Motor) -> float:
    rating = motor.rating
    assert motor.circuit is not None
    at = operating_point(motor.circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    return float(abs(at.gap_voltage))


def family(task: SpeedTask, pair: Pair, note: str) -> Family:
    """Torque against speed of both pole numbers, the low speed carried on above its synchronous speed where it brakes."""
    top = pair.high.rating.synchronous_speed
    speed = np.linspace(0.0, top, 401)
    curves = []
    for motor in pair.both:
        drive: Drive = replace(task.drive, motor=motor)
        at = solve(drive, line_fed.RUNNING, speed)
        label = f"{motor.rating.poles} poles"
        curves.append(
            FamilyCurve(
                label=label,
                value=float(motor.rating.poles),
                unit="",
                speed=speed,
                torque=np.asarray(at.torque, dtype=float),
                current=np.asarray(at.line, dtype=float),
            )
        )
    law: Any = task.drive.load.running
    if task.duty:
        law = duty_load.through(task.drive.load, max(task.duty, key=lambda d: d.speed))
    return Family(
        key="poles",
        title="Torque on either pole number",
        parameter="poles",
        curves=tuple(curves),
        load_speed=speed,
        load_torque=np.asarray(law(speed), dtype=float),
        bound="",
        note=note,
    )


def envelope(task: SpeedTask, pair: Pair) -> Envelope:
    """Continuous and greatest torque at the two running speeds, shape (2,)."""
    ratings = [motor.rating for motor in pair.both]
    share = site_share(task.site)
    peaks = [
        first_peak(m.circuit, m.rating.phase_voltage, m.rating.frequency, m.rating.synchronous_speed).torque
        for m in pair.both
        if m.circuit is not None
    ]
    torques = [r.torque for r in ratings]
    bound = [abs(p / LEAST_BREAKDOWN - t) <= 0.02 * t for p, t in zip(peaks, torques, strict=True)]
    return Envelope(
        speed=np.array([r.speed for r in ratings]),
        continuous=np.array([t * share**0.5 for t in torques]),
        short_time=np.array(peaks),
        continuous_limit=tuple("breakdown reserve" if b else "cooling" for b in bound),
    )


def rating_rows(pair: Pair) -> tuple[Setting, ...]:
    """Power, torque and current of each pole number, as the maker would plate it."""
    rows = []
    for motor in pair.both:
        rating = motor.rating
        given = motor is pair.frame
        why = f"{amount(rating.torque)} N m and {amount(rating.current)} A at {rpm(rating.speed)}; " + (
            "the plate" if given else "copper loss that the frame sheds at this speed, within the breakdown reserve"
        )
        rows.append(
            Setting(
                key=f"power_{rating.poles}_poles",
                title=f"power on {rating.poles} poles",
                value=rating.power,
                unit="W",
                origin="given" if given else "estimated",
                why=why,
            )
        )
    return tuple(rows)
