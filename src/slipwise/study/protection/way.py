"""Everything that protects one way or has to bear it: trips, contactors, starter, bank, coils, and the settings sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from slipwise.limits.coil_voltage import SOURCE, coil_rows, coil_voltage
from slipwise.limits.contactor import contactor_rows, contactors, stage_currents
from slipwise.limits.instantaneous import instantaneous, instantaneous_rows
from slipwise.limits.phase_loss import phase_loss
from slipwise.limits.protection import winding_share
from slipwise.limits.resistor_bank import BankTask, bank_order, bank_rows, ring_current
from slipwise.limits.stall import RUNNING, stalls
from slipwise.limits.starter_order import autotransformer, soft_starter, soft_starter_rows
from slipwise.methods.way import StartingWay
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.point import operating_point
from slipwise.quantity.provenance import Origin
from slipwise.results.criteria import Criterion
from slipwise.results.protection import Protection, Stall
from slipwise.results.protection_devices import (
    AutotransformerDuty,
    BankOrder,
    CoilVoltage,
    ContactorDuty,
    InstantaneousTrip,
    PhaseLoss,
    SoftStarterDuty,
)
from slipwise.results.setting import Setting
from slipwise.results.start import Outcome, RunUp
from slipwise.results.wiring import Wiring
from slipwise.study.cases import NOMINAL, STRONG, WORST
from slipwise.study.judging import Evidence
from slipwise.study.protection.sheet import settings_sheet

LOADS = (0.5, 0.75, 1.0)  # of rated torque, at which a lost line is looked at
CLOSE = 0.02  # a load this near to one of those is not told twice


@dataclass(frozen=True, slots=True, kw_only=True)
class Guarded:
    """The protection of one way, and the criteria that come from what the user states of it."""

    protection: Protection | None
    rows: tuple[Criterion, ...] = ()


def guarded(evidence: Evidence, way: StartingWay, settings: Sequence[Setting]) -> Guarded:
    """The relay with all that stands beside it; nothing for a start that does not arrive."""
    found = evidence.protection
    if found is None:
        return Guarded(protection=None)
    wiring = way.wiring()
    # Behind a dc link the line sees neither the standstill current nor an open line of the motor.
    straight = evidence.plans[STRONG][0].frequency is None
    found = replace(
        found,
        instantaneous=_trip(evidence) if straight else None,
        stalls=_stalls(evidence, found) if straight else (),
        phase_loss=_phase_loss(evidence, found) if straight else (),
        contactors=_contactors(evidence, wiring),
        coil=_coil(evidence),
        soft_starter=_soft_starter(evidence, wiring),
        autotransformer=_autotransformer(evidence, wiring),
        bank=_bank(evidence),
    )
    found = replace(found, sheet=settings_sheet(evidence, found, way, settings))
    return Guarded(protection=found, rows=_rows(evidence, found))


def _trip(evidence: Evidence) -> InstantaneousTrip:
    asked = evidence.study.protection
    return instantaneous(
        evidence.fast,
        evidence.bands,
        evidence.cases[WORST].drive.supply,
        setting=asked.instantaneous,
        tolerance=asked.tolerance,
        controlled=evidence.plans[STRONG][0].controlled,
        rated=evidence.study.motor.rating.current,
    )


def _phase_loss(evidence: Evidence, found: Protection) -> tuple[PhaseLoss, ...]:
    return () if found.relay is None else phase_loss(evidence.study.motor, found.relay, _loads(evidence))


def _rows(evidence: Evidence, found: Protection) -> tuple[Criterion, ...]:
    asked = evidence.study.protection
    rows: list[Criterion] = []
    if found.instantaneous is not None:
        rows += instantaneous_rows(found.instantaneous)
    rows += contactor_rows(found.contactors)
    rows += coil_rows(found.coil, _hold_in_source(evidence))
    starter = asked.soft_starter
    if found.soft_starter is not None and starter is not None:
        stated = (starter.current, starter.ratio, starter.seconds)
        rows += soft_starter_rows(found.soft_starter, stated, starter.starts_per_hour)
    rows += bank_rows(found.bank)
    return tuple(rows)


def _hold_in_source(evidence: Evidence) -> str:
    names = {row.name for row in evidence.study.inputs if row.origin is Origin.GIVEN}
    return "given by user" if "protection.hold_in_voltage" in names else SOURCE


def _arrived(evidence: Evidence, case: str) -> RunUp:
    """The start in a case, or the nominal one where it does not arrive there."""
    run = evidence.run_ups[case]
    return run if run.outcome is Outcome.ARRIVED else evidence.run_ups[NOMINAL]


def _stalls(evidence: Evidence, found: Protection) -> tuple[Stall, ...]:
    """At rated voltage, on the weak supply, and in the first stage of the way where that is another connection."""
    if found.relay is None:
        return ()
    first = evidence.plans[NOMINAL][0]
    drives = [("weak supply", evidence.cases[WORST].drive, RUNNING)]
    if len(evidence.plans[NOMINAL]) > 1:
        drives.append((f"first stage: {first.name}", evidence.cases[NOMINAL].drive, first))
    return stalls(found.relay, evidence.study.motor, drives)


def _loads(evidence: Evidence) -> tuple[float, ...]:
    """The usual loads, and this study's own at rated speed."""
    rating = evidence.study.motor.rating
    own = float(evidence.study.load.torque(rating.speed)) / rating.torque
    known = own <= 0.02 or any(abs(own - load) < CLOSE for load in LOADS)
    return tuple(sorted(LOADS if known else (*LOADS, round(own, 3))))


def _contactors(evidence: Evidence, wiring: Wiring) -> tuple[ContactorDuty, ...]:
    case = STRONG if evidence.run_ups[STRONG].outcome is Outcome.ARRIVED else NOMINAL
    run, drive, motor = evidence.run_ups[case], evidence.cases[case].drive, evidence.study.motor
    rings = ring_current(evidence.plans[case], drive, run)
    rated = motor.rating.current
    running = {
        "line": rated,
        "motor": rated,
        "winding": rated * winding_share(motor),
        "star point": 0.0,
        "rotor": rated_ring_current(motor),
    }
    stated = evidence.study.protection.line_contactor
    return contactors(wiring, stage_currents(run, rings), running, wound=motor.wound_ratio is not None, rated=stated)


def rated_ring_current(motor: Motor) -> float:
    """Current in the rings at rated load by the circuit, rms; 0 for a cage. [A]"""
    if motor.wound_ratio is None or motor.circuit is None:
        return 0.0
    rating = motor.rating
    at = operating_point(motor.circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    return float(abs(at.rotor_current)) * motor.wound_ratio


def _coil(evidence: Evidence) -> CoilVoltage | None:
    asked = evidence.study.protection
    if asked.coil_busbar is None:
        return None
    return coil_voltage(evidence.slow, asked.coil_busbar, asked.hold_in)


def _soft_starter(evidence: Evidence, wiring: Wiring) -> SoftStarterDuty | None:
    """The order line of a way with thyristors: all stages in which they conduct."""
    if not any(device.kind == "thyristors" for device in wiring.devices):
        return None
    plan, asked = evidence.plans[STRONG], evidence.study.protection.soft_starter
    through = sum(stage.controlled for stage in plan)
    run = _arrived(evidence, STRONG)
    return soft_starter(
        run,
        evidence.study.motor.rating.current,
        stages=max(through, 1),
        starts_per_hour=evidence.study.starts_per_hour,
        bypassed=through < len(plan),
        stated=None if asked is None else (asked.current, asked.ratio, asked.seconds),
    )


def _autotransformer(evidence: Evidence, wiring: Wiring) -> AutotransformerDuty | None:
    if not any(device.kind == "autotransformer" for device in wiring.devices):
        return None
    run, slow = _arrived(evidence, STRONG), _arrived(evidence, WORST)
    last = evidence.cases[STRONG].drive.supply.busbars[-1]
    volts = float(run.busbar_voltage[-1][0]) * last.nominal * last.referral
    tap = abs(evidence.plans[STRONG][0].ratio)
    return autotransformer(run, tap, volts, slow.stages[0].end, evidence.study.starts_per_hour)


def _bank(evidence: Evidence) -> BankOrder | None:
    """The bank in the case that heats it most."""
    asked = evidence.study.protection.bank
    if asked is None:
        return None
    task = BankTask(
        heat_capacity=asked.heat_capacity,
        time_constant=asked.time_constant,
        rise=asked.rise,
        ambient=asked.ambient,
        starts=asked.starts,
        rest=asked.rest,
        starts_per_hour=evidence.study.starts_per_hour,
    )
    found = [
        bank_order(evidence.plans[case], evidence.cases[case].drive, run, task)
        for case, run in evidence.slow.items()
        if run.outcome is Outcome.ARRIVED
    ]
    return max((order for order in found if order is not None), key=lambda order: order.energy, default=None)
