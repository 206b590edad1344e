"""A motor from its plate and catalogue line: the double-cage circuit that reproduces everything given, together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import pi, sqrt

import numpy as np

from slipwise.identify.cage_fit import Cages, Goal, NoCircuitError
from slipwise.identify.cage_search import Solution, solve
from slipwise.identify.plate_checks import fault
from slipwise.identify.reading import Reading, goal_of, read
from slipwise.identify.records import Plate, PlateFit
from slipwise.identify.rows import Shown, plate_rows, shown_by
from slipwise.identify.single_cage import single_cage_torque
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating
from slipwise.model.machine.typical import spread
from slipwise.quantity.errors import Fault, InputError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.results.study import PlateRow

WINDING_TEMPERATURE = 95.0  # degC, at which a class B temperature rise states its efficiency
_PRACTICE = "common practice, no source"
_STRAY = f"0.6 of the assigned allowance of IEC 60034-2-1:2014 (from memory); {_PRACTICE} for the 0.6"
_TRIALS = 24
_MOVED = (
    "The middles of the typical values do not go together with what is given; others inside their ranges were taken."
)
_GIVEN = {
    "locked_rotor_current_ratio": ("current", "locked-rotor current / rated"),
    "locked_rotor_torque_ratio": ("torque", "locked-rotor torque / rated"),
    "breakdown_torque_ratio": ("breakdown", "breakdown torque / rated"),
}


def fit_plate(plate: Plate) -> PlateFit:
    """A double-cage motor that shows together all the plate says: rated point, locked rotor, breakdown.

    Args:
        plate: power, voltage, frequency, poles and connection at least; what is missing is taken typical, with a range.

    Returns:
        The motor (circuit as star equivalent, windings at 95 degC), plate against model row by row, every value that
        was not given, and notes. The circuit is one of many that show the same plate, and the notes say so.

    Raises:
        InputError: a value no motor has, or values that contradict each other, each named with the numbers.

    Source: per-phase equivalent circuit with two rotor cages (Chapman, 4th ed., ch. 7); assigned stray loss of
    IEC 60034-2-1; tolerances of IEC 60034-1. The way of solving is described in `cage_fit` and `cage_search`.
    """
    reading = read(plate)
    try:
        return _fitted_to(reading)
    except InputError as refused:
        for chosen in _elsewhere(reading):
            try:
                fit = _fitted_to(read(plate, chosen))
            except InputError:
                continue
            return replace(fit, notes=(*fit.notes, _MOVED))
        raise refused from None


def _elsewhere(reading: Reading) -> Iterator[dict[str, float]]:
    """Other places in the distributions of what was not given, the nearest to their middles first; always the same ones.

    A typical value must not refute what is given: only when none of these will do is the plate refused.
    """
    names = [row.name.removeprefix("motor.") for row in reading.estimated if row.origin is Origin.ESTIMATED]
    if not any(name in reading.taken for name in names if name != "inertia"):
        return
    generator = np.random.default_rng(1)
    trials = generator.standard_normal((_TRIALS, len(names))).clip(-2.5, 2.5)
    for row in trials[np.argsort((trials**2).sum(axis=1))]:
        yield dict(zip(names, row.tolist(), strict=True))


def _fitted_to(reading: Reading) -> PlateFit:
    """The motor of one complete reading; InputError where a given value is missed."""
    plate = reading.plate
    goal = goal_of(reading)
    try:
        solution = solve(goal)
    except NoCircuitError as reason:
        raise InputError(_explained(reading, str(reason))) from reason
    motor = motor_of(reading, solution.cages)
    shown = shown_by(motor, first_peak=goal.first_peak)
    rows = plate_rows(plate, motor, shown)
    _refuse_missed(reading, goal, rows, shown)
    return PlateFit(
        motor=motor,
        rows=rows,
        estimated=(*(_as_shown(row, shown) for row in reading.estimated), *_fitted(reading, goal, motor)),
        notes=(*reading.notes, *_notes(reading, goal, solution, shown)),
    )


def _as_shown(row: Sourced, shown: Shown) -> Sourced:
    """A typical ratio brought to what the circuit shows, where the middle of its range could not be had."""
    name = row.name.removeprefix("motor.")
    if row.origin is not Origin.ESTIMATED or name not in {*_GIVEN, "rated_speed"} or row.value is None:
        return row
    found = shown.speed if name == "rated_speed" else float(getattr(shown, name))
    if abs(found / row.value - 1) < 0.002:
        return row
    low, high = min(row.low or found, found), max(row.high or found, found)
    return replace(row, value=found, low=low, high=high, why=f"{row.why}; moved to what the other values allow")


def motor_of(reading: Reading, cages: Cages) -> Motor:
    """The per-unit circuit in ohms, with losses in W and the plate as its rating."""
    plate = reading.plate
    base = plate.voltage / sqrt(3) / reading.current
    apparent = sqrt(3) * plate.voltage * reading.current
    printed = plate.current or reading.current
    sync = 4 * pi * plate.frequency / plate.poles
    speed = plate.speed or reading.speed
    fitted_speed = (1 - cages.slip) * sync
    circuit = Circuit(
        frequency=plate.frequency,
        R1=base * cages.R1,
        X1=base * cages.X1,
        Xm=base / cages.magnetising,
        Rfe=base / cages.core,
        rotor=(
            RotorBranch(R=base * cages.R2, X=base * cages.X2),
            RotorBranch(R=base * cages.R3, X=base * cages.X3),
        ),
    )
    rating = Rating(
        power=plate.power,
        voltage=plate.voltage,
        frequency=plate.frequency,
        poles=plate.poles,
        speed=speed,
        current=printed,
        connection=plate.connection,
        power_factor=plate.power_factor or reading.power_factor,
        efficiency=plate.efficiency or reading.efficiency,
    )
    scale = (printed / reading.current) ** 2 * (speed / fitted_speed) ** 2
    return Motor(
        rating=rating,
        inertia=reading.inertia,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(torque=cages.mechanical * apparent * sync / fitted_speed**2),
        stray=cages.stray * apparent * scale,
        stall=plate.stall,
        stator_temperature=WINDING_TEMPERATURE,
        rotor_temperature=WINDING_TEMPERATURE,
        locked_rotor_current=reading.locked_current.value * printed if reading.locked_current.given else None,
        locked_rotor_torque=reading.locked_torque.value * rating.torque if reading.locked_torque.given else None,
    )


def _explained(r: Reading, reason: str) -> Fault:
    """Why no circuit exists at all, for the value that forbids it."""
    if reason == "power_factor":
        sine = sqrt(1 - r.power_factor**2)
        text = (
            f"reactive power {sine:.3g} of the rated apparent power does not cover the leakage that locked-rotor current "
            f"ratio {r.locked_current.value:.3g} implies, and leaves nothing to magnetise"
        )
        return fault("power_factor", f"{r.power_factor:.3g}", text, "check power factor and locked-rotor current")
    if reason == "efficiency":
        text = f"slip {r.slip:.4g} alone loses more than efficiency {r.efficiency:.4g} allows"
        return fault("efficiency", f"{r.efficiency:.4g}", text, "check efficiency, speed and poles")
    if reason == "mechanical_loss":
        text = "it takes all the loss that efficiency and slip leave"
        return fault(
            "friction_and_windage", f"{r.plate.mechanical_loss or 0.0:.4g} W", text, "check loss and efficiency"
        )
    text = (
        f"with locked-rotor current ratio {r.locked_current.value:.3g} the power needed for this torque and the stator "
        "loss together exceed what the terminals bring"
    )
    return fault("locked_rotor_torque_ratio", f"{r.locked_torque.value:.3g}", text, "check the two ratios")


def _refuse_missed(reading: Reading, goal: Goal, rows: tuple[PlateRow, ...], shown: Shown) -> None:
    """Given values the nearest circuit misses by more than their tolerance contradict the rest of the plate."""
    by_name = {row.name: row for row in rows}
    faults = []
    for field, (wish, name) in _GIVEN.items():
        row = by_name.get(name)
        if row is None:
            continue
        miss = row.model / row.plate - 1
        allowed = max(0.05, getattr(goal, wish).slack)
        if abs(miss) > allowed:
            reason = (
                f"no circuit shows it together with the other values of the plate; the nearest has {row.model:.3g} "
                f"({100 * miss:+.0f} %), with locked-rotor current {shown.locked_rotor_current_ratio:.3g}, locked-rotor torque "
                f"{shown.locked_rotor_torque_ratio:.3g} and breakdown torque {shown.breakdown_torque_ratio:.3g} times rated"
            )
            faults.append(fault(field, f"{row.plate:g}", reason, "check the catalogue line; one of the ratios is off"))
    speed = by_name.get("rated speed")
    if speed is not None and abs(shown.slip - reading.slip) > max(0.1, reading.slip_slack) * reading.slip:
        reason = f"no circuit runs at slip {reading.slip:.4g} and shows the other values; the nearest has slip {shown.slip:.4g}"
        faults.append(
            fault("rated_speed", f"{speed.plate * 30 / pi:.5g} r/min", reason, "check speed, poles and frequency")
        )
    if faults:
        raise InputError(*faults)


def _fitted(reading: Reading, goal: Goal, motor: Motor) -> tuple[Sourced, ...]:
    """What the plate cannot tell, as the fit chose it, with ranges."""
    assert motor.circuit is not None
    c = motor.circuit

    def row(name: str, value: float, unit: str, why: str) -> Sourced:
        found = spread(name.rpartition(".")[2], value)
        return Sourced(
            name=name, value=value, unit=unit, origin=Origin.ESTIMATED, low=found.low, high=found.high, why=why
        )

    found = [
        row("motor.circuit.R1", c.R1, "ohm", f"share of the loss outside the rotor; {_PRACTICE}"),
        row("motor.circuit.X1", c.X1, "ohm", f"share of the locked-rotor reactance; {_PRACTICE}"),
        row("motor.stray_load_loss", motor.stray, "W", _STRAY),
        Sourced(
            name="motor.circuit.temperature",
            value=WINDING_TEMPERATURE,
            unit="degC",
            origin=Origin.ASSUMED,
            low=75.0,
            high=115.0,
            why="rated values hold at the reference temperature of class B, IEC 60034-2-1 (from memory)",
        ),
    ]
    if reading.plate.mechanical_loss is None:
        loss = motor.mechanical_loss.torque * motor.rating.speed**2 / motor.rating.synchronous_speed
        why = f"{100 * goal.mechanical_share:.0f} % of the loss outside the rotor; {_PRACTICE}"
        found.append(row("motor.friction_and_windage", loss, "W", why))
    return tuple(found)


def _notes(reading: Reading, goal: Goal, solution: Solution, shown: Shown) -> tuple[str, ...]:
    notes = [
        "The circuit is not unique: many sets of values show the same plate. Stator resistance and leakage were chosen in "
        "usual proportion, the rest follows.",
        _single_cage_note(reading, goal),
    ]
    if solution.excess(goal) > 1e-3 or solution.error > 1e-4:
        notes.append(
            "The plate values cannot all be met to the last digit by one circuit; locked-rotor current, locked-rotor "
            "torque, breakdown torque and slip were moved by "
            + ", ".join(f"{100 * move:+.2g} %" for move in solution.moved)
            + "."
        )
    if reading.plate.pull_up_torque_ratio is not None:
        wanted, found = reading.plate.pull_up_torque_ratio, shown.pull_up_torque_ratio
        if abs(found / wanted - 1) > 0.03:
            notes.append(
                f"Pull-up torque of the circuit is {found:.3g} times rated against {wanted:g} on the plate: torque "
                "harmonics of the winding, which the circuit does not hold, lower the true valley."
            )
    return tuple(notes)


def _single_cage_note(reading: Reading, goal: Goal) -> str:
    """Says what one cage, fitted to the rated point and the locked-rotor current, would have started with."""
    torque = single_cage_torque(goal)
    whole = "given" if reading.locked_torque.given else "typical"
    if torque is None:
        return "A single cage cannot show the rated point and the locked-rotor current together; two cages are used."
    miss = torque / goal.torque.value - 1
    if abs(miss) < 0.1:
        return f"A single cage would show the {whole} locked-rotor torque too, within {100 * abs(miss):.1f} %."
    word = "miss" if miss < 0 else "exceed"
    return (
        f"A single cage with the same rated point and locked-rotor current would start with {torque:.3g} times rated torque "
        f"and {word} the {whole} {goal.torque.value:.3g} by {100 * abs(miss):.0f} %; two cages are used."
    )
