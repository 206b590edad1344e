"""The cases a start is judged in: ordinary, everything against it, and everything for the current.

nominal: motor, load and supply as stated.
worst: the weak network at the low source voltage, locked-rotor torque at its lower and locked-rotor current at its
    upper tolerance, hot resistances.
strong: the strong network at the high source voltage, locked-rotor current at its upper tolerance, cold resistances;
    for the greatest current and torque peak only.

The tolerance of the current acts on the locked-rotor current and fades to nothing at rated current; that of the torque on
the whole curve. In the electrical transient the current's acts at every speed, see `Case.at_once`.

Source of the tolerances: IEC 60034-1, table of tolerances (locked-rotor torque -15 % +25 %, locked-rotor current +20 %).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.temperature import at_temperature
from slipwise.model.machine.tolerance import at_every_speed, with_current_tolerance
from slipwise.model.supply.path import SupplyPath
from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.start import Curves, RunUp, TransientBand
from slipwise.solve import steady
from slipwise.solve.plan import Drive, Plan, Stage
from slipwise.solve.run_up import run_up
from slipwise.solve.sweep import can_sweep, sweep
from slipwise.study.model import Study

NOMINAL, WORST, STRONG = "nominal", "worst", "strong"
EXACT, QUICK = 1e-9, 1e-7  # tolerance of a step of the run-up
TOLERANCE_ROW = "torque tolerance"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One case: the drive handed to the solvers, and the torque it then has per unit of what the solver says.

    A torque tolerance is no other circuit but torque missing from the sum of all fields. With every torque of a motor
    multiplied by `torque_factor`, the equation of motion is the same as with load torque and inertia divided by it, so
    `drive` carries those divided, the solvers need not know, and results are multiplied back.
    """

    name: str
    drive: Drive
    motor: Motor
    load: Load
    torque_factor: float

    def curves(self, stage: Stage) -> Curves:
        """Characteristics of a stage with true torques; a voltage law is taken at its end."""
        end = 0.0 if stage.voltage is None else stage.voltage.x[-1]
        found = steady.characteristic(stage, self.drive, time=end)
        return replace(found, torque=found.torque * self.torque_factor, load=found.load * self.torque_factor)

    def run_up(self, plan: Plan, *, quick: bool = False) -> RunUp:
        """The start with true torques; the missing torque is a row of the ledger.

        quick: good to about 0.1 %, without a ledger where the plan allows a sweep.
        """
        if quick and can_sweep(plan):
            found = sweep(plan, self.drive, case=self.name)
        else:
            found = run_up(plan, self.drive, case=self.name, relative=QUICK if quick else EXACT)
        return self.restored(found)

    def restored(self, found: RunUp) -> RunUp:
        """What the solvers said of `drive`, with true torques; the missing torque is a row of the ledger."""
        if self.torque_factor == 1.0:
            return found
        return replace(
            found,
            torque=found.torque * self.torque_factor,
            load=found.load * self.torque_factor,
            energy=_restored(found.energy, self.torque_factor),
        )

    def at_once(self) -> AtOnce:
        """The case for the electrical transient."""
        law = self.motor.current_tolerance
        share = 0.0 if law is None else law.share
        factor = self.torque_factor / (1 + share)
        return AtOnce(
            drive=_drive(at_every_speed(self.motor), self.load, self.drive.supply, factor),
            share=share,
            torque_factor=factor,
        )

    def band(self, plan: Plan, study: Study, note: Callable[[str], None] | None = None) -> TransientBand:
        """The electrical transient over switching angle and scatter of pauses, with true torques of the extremes.

        note: is told before a wait.
        """
        from slipwise.solve import transient

        fast = self.at_once()
        found = transient.band(
            fast.plan(plan),
            fast.drive,
            case=self.name,
            angles=study.switching_angles,
            pause_scatter=study.pause_scatter,
            note=note,
        )
        return fast.peaks(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class AtOnce:
    """A case as the electrical transient has it: its tolerance of current is in the circuit and acts at every speed.

    With every impedance divided by k = `share` + 1, time constants stay and currents and torques are k times theirs; the
    torque is divided out again, so that only the current differs.
    """

    drive: Drive
    share: float
    torque_factor: float

    def plan(self, plan: Plan) -> Plan:
        """The same stages; a machine that a stage brings along, and what feeds direct current, for these impedances."""
        return tuple(self._stage(stage) for stage in plan) if self.share else plan

    def _stage(self, stage: Stage) -> Stage:
        k, dc = 1 + self.share, stage.dc
        return replace(
            stage,
            motor=None if stage.motor is None else at_every_speed(stage.motor),
            dc=None if dc is None else replace(dc, current=dc.current * k, resistance=dc.resistance / k),
        )

    def peaks(self, found: TransientBand) -> TransientBand:
        """What the transient said, with true torques of the extremes."""
        k = self.torque_factor
        return found if k == 1.0 else replace(found, torque_max=found.torque_max * k, torque_min=found.torque_min * k)


_MECHANICAL = ("friction and windage", "stray load loss", "kinetic energy", "driven machine")


def _restored(ledger: Ledger, factor: float) -> Ledger:
    """Mechanical energies times the factor; what is missing went into fields that give no torque, as loss."""
    rows = [replace(r, energy=r.energy * factor) if r.name in _MECHANICAL else r for r in ledger.rows]
    missing = sum(r.energy for r in ledger.rows if r.name in _MECHANICAL) * (1 - factor)
    return Ledger(rows=(*rows, LedgerRow(name=TOLERANCE_ROW, energy=missing, side=Side.LOST)))


def cases_of(study: Study) -> dict[str, Case]:
    """The three cases of a study, nominal first."""
    t = study.tolerances
    current = 0.0 if study.motor.wound_ratio is not None else t.current
    hot, cold = (
        with_current_tolerance(_at(study.motor, degrees), current)
        for degrees in (t.hot_temperature, t.cold_temperature)
    )
    weak = at_voltage(study.supply.weak, t.low_voltage)
    strong = at_voltage(study.supply.strong, t.high_voltage)
    return {
        NOMINAL: nominal_of(study),
        WORST: _case(WORST, hot, study.load, weak, 1 + t.torque),
        STRONG: _case(STRONG, cold, study.load, strong, 1.0),
    }


def nominal_of(study: Study) -> Case:
    """The nominal case alone."""
    return _case(NOMINAL, study.motor, study.load, study.supply.nominal, 1.0)


def _case(name: str, motor: Motor, load: Load, supply: SupplyPath, factor: float) -> Case:
    return Case(name=name, drive=_drive(motor, load, supply, factor), motor=motor, load=load, torque_factor=factor)


def _drive(motor: Motor, load: Load, supply: SupplyPath, factor: float) -> Drive:
    if factor == 1.0:
        return Drive(motor=motor, load=load, supply=supply)
    return Drive(motor=_divided_motor(motor, factor), load=_divided_load(load, factor), supply=supply)


def _at(motor: Motor, temperature: float) -> Motor:
    """Stator and rotor at one temperature (degC), each of its own conductor."""
    return at_temperature(
        motor,
        temperature,
        temperature,
        stator_conductor=motor.stator_conductor,
        rotor_conductor=motor.rotor_conductor,
    )


def at_voltage(path: SupplyPath, factor: float) -> SupplyPath:
    """The same path with its source voltage multiplied by `factor`."""
    return replace(path, voltage=path.voltage * factor)


def _divided_load(load: Load, factor: float) -> Load:
    terms = tuple(replace(term, coefficient=term.coefficient / factor) for term in load.terms)
    return replace(
        load,
        terms=terms,
        inertia=load.inertia / factor,
        curve_torque=tuple(torque / factor for torque in load.curve_torque),
        breakaway=load.breakaway / factor,
    )


def _divided_motor(motor: Motor, factor: float) -> Motor:
    """Everything mechanical divided, the rated power too, so that torques per unit of rated torque are true ones."""
    loss = replace(motor.mechanical_loss, torque=motor.mechanical_loss.torque / factor)
    rating = replace(motor.rating, power=motor.rating.power / factor)
    return replace(
        motor, rating=rating, inertia=motor.inertia / factor, mechanical_loss=loss, stray=motor.stray / factor
    )
