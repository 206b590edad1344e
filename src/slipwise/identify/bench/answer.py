"""The motor of a reduction, and what is to be said beside it: readings against the model, assumptions, notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf, pi, sqrt
from typing import TYPE_CHECKING, Any

from slipwise.identify.bench.numbers import TESTS, Leaf, Numbers, uses_share
from slipwise.identify.bench.records import Bench
from slipwise.identify.bench.uncertainty import Spread
from slipwise.identify.rows import shown_by
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.saturated import saturated_point
from slipwise.model.machine.temperature import resistance_factor
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.results.identification import LoadPointRow
from slipwise.results.study import PlateRow

if TYPE_CHECKING:
    from slipwise.identify.bench.fit import Reduction

FIELDS = {"P_fw": "motor.friction_and_windage", "P_stray": "motor.stray_load_loss"}
_ROUNDS = 4  # rated current and stray loss depend on each other weakly


def motor_of(reduction: Reduction, values: Mapping[str, Any], numbers: Numbers) -> Motor:
    """The motor with the values found; full-load speed and current as given, or as its circuit gives them."""
    bench, locked = reduction.plan.bench, reduction.plan.locked
    sync = 4 * pi * bench.frequency / bench.poles
    circuit = _circuit(bench, values)
    rating = Rating(
        power=bench.power,
        voltage=bench.voltage,
        frequency=bench.frequency,
        poles=bench.poles,
        speed=bench.speed or 0.96 * sync,
        current=bench.current or bench.power / (sqrt(3) * bench.voltage * 0.7),
        connection=bench.connection,
    )
    motor = Motor(
        rating=rating,
        inertia=bench.inertia,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(torque=float(values["P_fw"]) / sync),
        stray=float(values.get("P_stray", 0.0)),
        wound_ratio=bench.wound_ratio,
        stator_temperature=float(numbers["dc.temperature"]),
        rotor_temperature=float(numbers[f"locked_rotor[{locked}].temperature"]),
        stator_conductor=bench.stator_conductor,
        rotor_conductor=bench.rotor_conductor,
    )
    for _ in range(_ROUNDS if not (bench.speed and bench.current) else 0):
        shown = shown_by(motor)
        rating = replace(rating, speed=bench.speed or shown.speed, current=bench.current or shown.current)
        motor = replace(motor, rating=rating)
    leakage, main = reduction.saturated, reduction.main
    laws = replace(
        circuit,
        leakage_saturation=None if leakage is None else leakage.law,
        main_saturation=None if main is None else main.law,
    )
    return replace(motor, circuit=laws)


def _circuit(bench: Bench, values: Mapping[str, Any]) -> Circuit:
    """Without laws of saturation."""
    rotor = [RotorBranch(R=float(values["R2"]), X=float(values["X2"]))]
    if "R3" in values:
        rotor.append(RotorBranch(R=float(values["R3"]), X=float(values["X3"])))
    return Circuit(
        frequency=bench.frequency,
        R1=float(values["R1"]),
        X1=float(values["X1"]),
        Xm=float(values["Xm"]),
        Rfe=float(values.get("Rfe", inf)),
        rotor=tuple(rotor),
    )


def full_load_gap(motor: Motor) -> float:
    """Voltage behind the stator impedance at the rated point. [V]"""
    assert motor.circuit is not None
    rating = motor.rating
    point = operating_point(
        motor.circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed
    )
    return float(abs(point.gap_voltage))


def plate_of_readings(bench: Bench, numbers: Numbers, motor: Motor) -> tuple[PlateRow, ...]:
    """Load readings, which the circuit was not fitted to, against what it gives at the speed read: current, input, torque."""
    rows = []
    for place in range(len(bench.loads)):
        read = {name: float(numbers[f"load[{place}].{name}"]) for name in ("current", "power", "torque")}
        model = _at_reading(bench, numbers, motor, place)
        for name, unit in (("current", "A"), ("power", "W"), ("torque", "N m")):
            title = {"power": "input power"}.get(name, name)
            rows.append(
                PlateRow(
                    name=f"load reading {place + 1}: {title}",
                    plate=read[name],
                    model=model[name],
                    unit=unit,
                    tolerance_low=None,
                    tolerance_high=None,
                    source="not fitted",
                )
            )
    return tuple(rows)


def _at_reading(bench: Bench, numbers: Numbers, motor: Motor, place: int) -> dict[str, float]:
    """Current, input and shaft torque of the model at a load reading's voltage and speed, windings as warm as read."""
    assert motor.circuit is not None
    warm = float(numbers[f"load[{place}].temperature"])
    circuit = motor.circuit.warmed(
        resistance_factor(motor.stator_temperature, warm, bench.stator_conductor),
        resistance_factor(motor.rotor_temperature, warm, bench.rotor_conductor),
    )
    sync, speed = motor.rating.synchronous_speed, float(numbers[f"load[{place}].speed"])
    voltage = float(numbers[f"load[{place}].voltage"]) / sqrt(3)
    point = saturated_point(circuit, 1 - speed / sync, voltage, bench.frequency, sync).point
    current = float(abs(point.stator_current))
    drag = float(motor.mechanical_torque(speed)) + float(motor.stray_torque(speed, current))
    return {"current": current, "power": float(point.input_power.real), "torque": float(point.torque) - drag}


def estimated_rows(
    found: Mapping[str, Leaf], bench: Bench, values: Mapping[str, Any], bounds: Mapping[str, Spread]
) -> tuple[Sourced, ...]:
    """Circuit values with their intervals, and everything that was assumed on the way."""
    rows = []
    for symbol, value in values.items():
        spread = bounds.get(symbol)
        rows.append(
            Sourced(
                name=FIELDS.get(symbol, f"motor.circuit.{symbol}"),
                value=float(value),
                unit="W" if symbol.startswith("P") else "ohm",
                origin=Origin.ESTIMATED,
                low=None if spread is None else spread.low,
                high=None if spread is None else spread.high,
                why="reduced from the bench readings"
                + ("" if spread is None else "; 95 % interval of the meter classes"),
            )
        )
    for key, leaf in found.items():
        if leaf.known or (key == "mechanical_share" and not uses_share(bench)):
            continue
        low, high = leaf.bounds
        name = {"split": "leakage_split", "mechanical_share": "mechanical_share"}.get(key, key)
        rows.append(
            Sourced(
                name=f"motor.readings.{name}",
                value=leaf.value,
                unit=leaf.unit,
                origin=Origin.ASSUMED,
                low=low,
                high=high,
                why=leaf.why,
            )
        )
    return tuple(rows)


def words_of(
    reduction: Reduction,
    bench: Bench,
    found: Mapping[str, Leaf],
    lost: tuple[int, int],
    loads: tuple[LoadPointRow, ...],
) -> tuple[str, ...]:
    """What a reader must know of this reduction."""
    words = ["The circuit is the star equivalent of the running connection."]
    if bench.tested != bench.connection:
        words.append(
            f"Tested in {bench.tested}, runs in {bench.connection}: voltages and currents are shown as the running "
            f"connection would take them for the same winding values."
        )
    if bench.speed is None or bench.current is None:
        words.append("Full-load speed or current was not given: those at which the circuit gives rated power.")
    exact_meters = sorted(
        {_meter(key) for key, leaf in found.items() if leaf.known and leaf.limit is None and "." in key}
    )
    if exact_meters:
        words.append(
            f"No meter class given for {', '.join(exact_meters)}: taken as exact, so the intervals are too narrow."
        )
    if lost[0]:
        words.append(f"{lost[0]} of {lost[1]} trials gave readings no machine can give, and were left out.")
    words += _laws_in_words(reduction, bench)
    if loads and not reduction.used:
        few = "fewer than three load readings" if len(loads) < 3 else "the loss left over does not rise with torque"
        words.append(f"Stray load loss is not told: {few}.")
    return tuple(words)


def _laws_in_words(reduction: Reduction, bench: Bench) -> list[str]:
    """Saturation and the second cage, found or not."""
    words = []
    if reduction.saturated is not None:
        law = reduction.saturated.law
        words.append(
            f"Leakage saturates: of it {law.stator_share:.0%} falls above {law.knee / sqrt(2):.3g} A rms; worst reading "
            f"missed by {reduction.saturated.worst:.1%}. X1 and X2 hold at small current."
        )
    if reduction.main is not None:
        main = reduction.main
        words.append(
            f"The main path saturates: at little flux Xm is {main.law.unsaturated:.3g} times that at full load, exponent "
            f"{main.law.exponent:.3g}; worst reading missed by {main.worst:.1%}. Xm holds at the flux of full load."
        )
    if reduction.two:
        words.append("Two cages, from the locked tests at two frequencies; they hold at the current of these tests.")
    elif reduction.plan.starting is not None:
        words.append(
            "The locked tests at two frequencies do not call for a second cage within the class of the meters."
        )
    elif bench.locked[reduction.plan.locked].frequency > 0.6 * bench.frequency:
        words.append(
            "The locked test was made near rated frequency only: R2 then holds at standstill and is too large for running "
            "where the bars are deep."
        )
    return words


def _meter(key: str) -> str:
    test, _, name = key.partition(".")
    return f"dc {name}" if test == "dc" and name != "temperature" else name


def runs_of(titles: Sequence[str]) -> str:
    """Numbered titles with their runs drawn together: "no load 1 to 11, load 2 and 3"."""
    runs: list[tuple[str, list[int]]] = []
    for title in titles:
        head, _, last = title.rpartition(" ")
        number = int(last) if last.isdecimal() else None
        if number is not None and runs and runs[-1][0] == head and runs[-1][1][-1:] == [number - 1]:
            runs[-1][1].append(number)
        else:
            runs.append((title, []) if number is None else (head, [number]))
    return ", ".join(_run(head, numbers) for head, numbers in runs)


def _run(head: str, numbers: list[int]) -> str:
    if len(numbers) < 2:
        return " ".join((head, *map(str, numbers)))
    return f"{head} {numbers[0]} {'and' if len(numbers) == 2 else 'to'} {numbers[-1]}"


def reading_title(key: str) -> str:
    """`no_load[0].voltage` as "no load 1, voltage"; other names as they are, in words."""
    test, _, name = key.partition(".")
    head, _, place = test.partition("[")
    if not name:
        return {"split": "split of the leakage", "mechanical_share": "share of friction"}.get(key, key)
    number = f" {int(place[:-1]) + 1}" if place else ""
    return f"{TESTS[head].lower()}{number}, {name}"
