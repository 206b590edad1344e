"""All criteria of one way in one place, in the order in which they are shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from slipwise.limits.acceleration import belt_acceleration
from slipwise.limits.arrival import arrival, run_up_time
from slipwise.limits.current import coupling_share, line_current, peak_current, running_current, shaft_torque
from slipwise.limits.generator import engine_power
from slipwise.limits.heat import heat
from slipwise.limits.protection import protection
from slipwise.limits.running_voltage import running_voltage
from slipwise.limits.stall import relay_rows, stalled_first
from slipwise.limits.torque_margin import Gap, least_gap, spans, torque_margin
from slipwise.limits.voltage import dip_criteria, terminal_voltage
from slipwise.limits.voltage_change import change_rows
from slipwise.results.criteria import Criterion
from slipwise.results.protection import Protection
from slipwise.results.start import Outcome, RunUp, TransientBand
from slipwise.solve.plan import Plan
from slipwise.study.cases import NOMINAL, STRONG, WORST, Case
from slipwise.study.model import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What was computed for one way, by case name. bands: empty when no transient was computed."""

    study: Study
    cases: Mapping[str, Case]
    plans: Mapping[str, Plan]
    run_ups: Mapping[str, RunUp]
    bands: Mapping[str, TransientBand]

    @property
    def slow(self) -> dict[str, RunUp]:
        """The cases that judge voltage, torque, time and heat."""
        return {name: self.run_ups[name] for name in (NOMINAL, WORST) if name in self.run_ups}

    @property
    def fast(self) -> dict[str, RunUp]:
        """The cases that judge currents and peaks."""
        return {name: self.run_ups[name] for name in (NOMINAL, STRONG) if name in self.run_ups}

    @property
    def protection(self) -> Protection | None:
        """The overload relay against the nominal start; None when that start does not arrive."""
        nominal = self.run_ups[NOMINAL]
        if nominal.outcome is not Outcome.ARRIVED:
            return None
        others = [run for name, run in self.run_ups.items() if name != NOMINAL]
        plan = self.plans[NOMINAL]
        return protection(
            nominal,
            self.study.motor,
            others,
            self.study.protection.relay,
            first=stalled_first(self.cases[NOMINAL].drive, plan[0]),
            six_leads=any(stage.lead_factor < 1 for stage in plan),
        )

    @property
    def gaps(self) -> dict[str, Gap]:
        """The least surplus of torque in each slow case; a case with nothing left to judge is absent."""
        slip = self.study.motor.rating.slip
        found = {}
        for name, run_up in self.slow.items():
            case, plan = self.cases[name], self.plans[name]
            used = spans(plan, [case.curves(stage) for stage in plan], run_up, slip)
            gap = least_gap(used, case.load)
            if gap is not None:
                found[name] = gap
        return found


def _repeats(study: Study) -> bool:
    """Whether the load comes and goes, so that the current at full load says nothing of the heat."""
    return bool(study.pulses) or (study.thermal is not None and bool(study.thermal.duties))


def _running(evidence: Evidence) -> tuple[Criterion, ...]:
    """The voltage the motor runs on, in every case; none where an inverter makes it."""
    study = evidence.study
    if any(plan[-1].frequency is not None for plan in evidence.plans.values()):
        return ()
    terminals = study.supply.nominal.busbars[-1]
    referred = terminals.nominal * terminals.referral / study.motor.rating.voltage
    return running_voltage(evidence.run_ups, referred, study.limits.running_voltage)


def criteria(evidence: Evidence, *, relays: bool = True) -> tuple[Criterion, ...]:
    """Every row for one way. relays: the overload relay among them."""
    study, slow, bands = evidence.study, evidence.slow, evidence.bands
    limits, rating = study.limits, study.motor.rating
    terminals = study.supply.nominal.busbars[-1]
    rows: list[Criterion] = [
        arrival(slow, rating.synchronous_speed),
        *dip_criteria(slow, study.supply.nominal.busbars),
        *change_rows(slow, study.supply.nominal.busbars),
        terminal_voltage(slow, terminals.nominal * terminals.referral / rating.voltage, limits.terminal_voltage),
        *_running(evidence),
        *torque_margin(evidence.gaps, rating.torque, limits.torque_margin),
        run_up_time(slow, limits.run_up_time),
        *heat(slow, {name: evidence.cases[name].motor for name in slow}, limits.heat),
        line_current(evidence.fast, limits.line_current),
        *(() if _repeats(study) else running_current(evidence.run_ups[NOMINAL], rating.current)),
        *belt_acceleration(
            evidence.run_ups, study.motor.inertia + study.load.inertia, study.load.travel, limits.belt_acceleration
        ),
        *engine_power(slow, {name: evidence.cases[name].drive.supply for name in slow}),
    ]
    relay = evidence.protection if relays else None
    if relay is not None:
        rows += relay_rows(relay, evidence.run_ups, evidence.study.motor)
    if bands:
        passed = coupling_share(study.motor.inertia, study.load.inertia)
        rows.append(peak_current(bands, limits.peak_current))
        rows.append(shaft_torque(bands, rating.torque, limits.shaft_torque, passed))
    return tuple(rows)
