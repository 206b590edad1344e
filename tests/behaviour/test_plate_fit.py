"""A motor from its plate: what is given is shown, what is missing is a range, what contradicts itself is refused."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmarks.evidence_plates import measure
from benchmarks.synthetic_motors import invent
from slipwise.identify.ensemble import draw, ensemble
from slipwise.identify.plate import fit_plate
from slipwise.identify.reading import half_digit
from slipwise.identify.records import Plate
from slipwise.identify.rows import shown_by
from slipwise.model.machine.point import operating_point
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from tests.reference import sampled

WHOLE = Plate(
    power=90e3,
    voltage=400.0,
    frequency=50.0,
    poles=4,
    connection="delta",
    speed=1483 * pi / 30,
    current=160.0,
    power_factor=0.86,
    efficiency=0.945,
    locked_rotor_current_ratio=6.9,
    locked_rotor_torque_ratio=2.2,
    breakdown_torque_ratio=2.7,
    inertia=1.4,
)
THIN = Plate(power=90e3, voltage=400.0, frequency=50.0, poles=4, connection="delta")


def without(*names: str) -> Plate:
    missing: dict[str, Any] = dict.fromkeys(names)
    return replace(WHOLE, **missing)


def test_invented_motors_print_what_was_fitted() -> None:
    """Of 60 invented motors at least 59 are met in every given value, and refusals name a value."""
    rng = np.random.default_rng(7)
    tally = measure(invent(rng) for _ in range(60))
    assert tally.count == 60
    assert tally.whole.total() >= 59
    assert all(field.startswith("motor.") for field, _ in tally.refused)


def test_every_given_value_stands_beside_the_model() -> None:
    """The rows show plate and model within 0.5 %, with the tolerance of the standard and its source."""
    fit = fit_plate(WHOLE)
    rows = {row.name: row for row in fit.rows}
    assert len(rows) == 7
    for row in fit.rows:
        assert row.model == pytest.approx(row.plate, rel=0.005)
    torque = rows["locked-rotor torque / rated"]
    assert (torque.tolerance_low, torque.tolerance_high) == (-0.15, 0.25)
    assert "IEC 60034-1" in torque.source
    assert rows["breakdown torque / rated"].tolerance_high is None
    slip = 1 - 1483 / 1500
    assert rows["rated speed"].tolerance_low == pytest.approx(-0.2 * slip / (1 - slip))
    assert rows["efficiency"].tolerance_low == pytest.approx(-0.15 * 0.055 / 0.945)


def test_the_fitted_motor_delivers_rated_power_and_its_losses_add_up() -> None:
    """At rated slip: shaft power + friction + stray + the circuit's losses = input power."""
    motor = fit_plate(WHOLE).motor
    assert motor.circuit is not None
    r, shown = motor.rating, shown_by(motor)
    p = operating_point(motor.circuit, shown.slip, r.phase_voltage, r.frequency, r.synchronous_speed)
    speed = shown.speed
    drag = float(motor.mechanical_torque(speed) + motor.stray_torque(speed, abs(p.stator_current))) * speed
    total = r.power + drag + p.stator_loss + p.core_loss + p.rotor_loss
    assert p.input_power.real == pytest.approx(total, rel=1e-9)
    assert 0.2 < drag / (p.input_power.real - r.power) < 0.5


def test_the_notes_say_the_circuit_is_not_unique_and_what_one_cage_would_miss() -> None:
    """One cage would start this motor with about a third of its torque, and the note says by how much it misses."""
    notes = fit_plate(WHOLE).notes
    assert any("not unique" in note for note in notes)
    single = next(note for note in notes if "single cage" in note)
    assert "miss the given 2.2 by" in single
    assert int(single.split(" by ")[1].split(" %")[0]) > 50


def test_a_true_single_cage_is_recognised() -> None:
    """A plate printed from a single cage gets the note that one cage would do."""
    rng = np.random.default_rng(3)
    motors = [
        m
        for m in (invent(rng) for _ in range(20))
        if m.kind == "single cage" and m.truth["locked_rotor_torque_ratio"] > 0.8
    ]
    notes = [note for note in fit_plate(motors[0].plate).notes if "single cage" in note]
    assert len(notes) == 1
    assert "too, within" in notes[0]


def test_stated_pull_up_torque_is_shown() -> None:
    """A pull-up torque on the plate pulls the valley of the curve to it, and the other ratios stay."""
    for wanted in (2.05, 1.95):
        rows = {row.name: row.model for row in fit_plate(replace(WHOLE, pull_up_torque_ratio=wanted)).rows}
        assert rows["pull-up torque / rated"] == pytest.approx(wanted, rel=0.01)
        assert rows["locked-rotor torque / rated"] == pytest.approx(2.2, rel=0.01)
        assert rows["breakdown torque / rated"] == pytest.approx(2.7, rel=0.01)


def test_a_pull_up_torque_out_of_reach_is_said() -> None:
    """Where no smooth curve has so deep a valley, the note gives both numbers; the rest of the plate is still shown."""
    fit = fit_plate(replace(WHOLE, pull_up_torque_ratio=1.4))
    assert any("against 1.4 on the plate: torque harmonics" in note for note in fit.notes)
    rows = {row.name: row.model for row in fit.rows}
    assert rows["locked-rotor torque / rated"] == pytest.approx(2.2, rel=0.01)


@pytest.mark.parametrize("missing", ["current", "power_factor", "efficiency"])
def test_one_of_four_follows_from_the_others(missing: str) -> None:
    """Without one of current, power factor and efficiency it is derived, near what the plate said."""
    fit = fit_plate(without(missing))
    name = "motor.rated_current" if missing == "current" else f"motor.{missing}"
    row = next(row for row in fit.estimated if row.name == name)
    assert row.origin is Origin.DERIVED
    assert row.value == pytest.approx(getattr(WHOLE, missing), rel=0.01)


@pytest.mark.parametrize(
    ("missing", "name"),
    [
        ("speed", "motor.rated_speed"),
        ("locked_rotor_current_ratio", "motor.locked_rotor_current_ratio"),
        ("locked_rotor_torque_ratio", "motor.locked_rotor_torque_ratio"),
        ("breakdown_torque_ratio", "motor.breakdown_torque_ratio"),
        ("inertia", "motor.inertia"),
    ],
)
def test_a_missing_value_is_typical_with_a_range(missing: str, name: str) -> None:
    """What is not given is estimated, inside a range that a source or common practice backs; the rest is still shown."""
    fit = fit_plate(without(missing))
    row = next(row for row in fit.estimated if row.name == name)
    assert row.origin is Origin.ESTIMATED
    assert row.low is not None
    assert row.high is not None
    assert row.value is not None
    assert row.low <= row.value <= row.high
    assert "common practice" in row.why
    assert all(shown.model == pytest.approx(shown.plate, rel=0.01) for shown in fit.rows)


def test_what_no_plate_tells_is_listed() -> None:
    """Stator resistance and leakage, stray and friction loss and the temperature come with their ranges."""
    names = {row.name for row in fit_plate(WHOLE).estimated}
    circuit = {"motor.circuit.R1", "motor.circuit.X1", "motor.circuit.temperature"}
    assert names == circuit | {"motor.stray_load_loss", "motor.friction_and_windage"}


@sampled(25)
@given(
    power=st.floats(0.18e3, 2e6),
    poles=st.sampled_from([2, 4, 6, 8, 10]),
    frequency=st.sampled_from([50.0, 60.0]),
    design=st.sampled_from([None, "A", "B", "C", "D", "N", "NE", "H"]),
)
def test_power_voltage_and_poles_alone_give_a_motor(
    power: float, poles: int, frequency: float, design: str | None
) -> None:
    """The thinnest plate of any size and design gives a motor of usual proportions, every gap listed."""
    plate = replace(THIN, power=power, poles=poles, frequency=frequency, design=design)
    fit = fit_plate(plate)
    shown = shown_by(fit.motor)
    assert fit.rows == ()
    assert len(fit.estimated) >= 12
    assert 1.9 < shown.locked_rotor_current_ratio < 10
    assert 1.5 < shown.breakdown_torque_ratio < 4.5
    assert 0 < shown.slip < 0.15


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"speed": 1510 * pi / 30}, "rated_speed", "1500 r/min"),
        ({"speed": 960 * pi / 30}, "rated_speed", "slip 0.36"),
        ({"efficiency": 0.9895, "current": 152.8}, "efficiency", "1 - slip = 0.9887"),
        ({"current": 92.4}, "rated_current", "which needs 159.8 A"),
        ({"current": 171.0}, "rated_current", "which needs 159.8 A"),
        ({"efficiency": 1.2}, "efficiency", "above 0.05 and below 0.999"),
        ({"breakdown_torque_ratio": 0.9}, "breakdown_torque_ratio", "between 1.05 and 8"),
        ({"pull_up_torque_ratio": 2.4}, "pull_up_torque_ratio", "cannot exceed locked-rotor torque, 2.2"),
        ({"locked_rotor_current_ratio": 1.7}, "locked_rotor_torque_ratio", "cannot make more than 2.0"),
        ({"breakdown_torque_ratio": 5.5}, "breakdown_torque_ratio", "the nearest has"),
        ({"code_letter": "B"}, "locked_rotor_current_ratio", "code letter B stands for"),
        ({"code_letter": "I"}, "code_letter", "without I, O and Q"),
        ({"mechanical_loss": 5e3}, "friction_and_windage", "rated losses outside the rotor"),
    ],
)
def test_a_contradictory_plate_is_refused_by_name_and_number(change: dict[str, Any], field: str, words: str) -> None:
    """The message names the value that cannot stand and the number it contradicts."""
    with pytest.raises(InputError) as caught:
        fit_plate(replace(WHOLE, **change))
    assert f"motor.{field}" in str(caught.value)
    assert words in str(caught.value)


def test_several_impossible_values_are_named_at_once() -> None:
    """All single values that cannot be are reported together."""
    with pytest.raises(InputError) as caught:
        fit_plate(replace(WHOLE, speed=1600 * pi / 30, efficiency=1.3, breakdown_torque_ratio=12.0))
    assert len(caught.value.faults) == 3


def test_code_letter_gives_the_locked_rotor_current() -> None:
    """Without a ratio the code letter's band is the range, and its source is named."""
    fit = fit_plate(replace(without("locked_rotor_current_ratio"), code_letter="G"))
    row = next(row for row in fit.estimated if row.name == "motor.locked_rotor_current_ratio")
    assert row.low == pytest.approx(5.6 * 90e3 / 745.7 * 1e3 / (3**0.5 * 400 * 160), rel=2e-3)
    assert row.high == pytest.approx(6.3 * 90e3 / 745.7 * 1e3 / (3**0.5 * 400 * 160), rel=2e-3)
    assert "NEMA MG 1" in row.why


@pytest.mark.parametrize(
    ("value", "widest", "half"),
    [(0.86, 0.005, 0.005), (0.9, 0.005, 0.005), (0.945, 0.0005, 0.0005), (160.0, 0.5, 0.5), (24.3, 0.05, 0.05)],
)
def test_rounding_read_from_the_digits(value: float, widest: float, half: float) -> None:
    """Half the last digit that shows, never more than the trade's usual rounding."""
    assert half_digit(value, widest) == pytest.approx(half)


def test_ensemble_members_all_show_what_was_given() -> None:
    """Every member shows the given values; what was missing spreads over its range; the same seed gives the same."""
    plate = without("locked_rotor_torque_ratio", "breakdown_torque_ratio", "inertia")
    found = draw(plate, 12, seed=5)
    assert len(found.members) == 12
    assert set(found.missing) == {"motor.locked_rotor_torque_ratio", "motor.breakdown_torque_ratio", "motor.inertia"}
    for member in found.members:
        shown = shown_by(member.motor)
        assert shown.current == pytest.approx(160, rel=0.005)
        assert shown.locked_rotor_current_ratio == pytest.approx(6.9, rel=0.01)
        assert shown.locked_rotor_torque_ratio == pytest.approx(
            member.drawn["motor.locked_rotor_torque_ratio"], rel=0.1
        )
    torques = [member.drawn["motor.locked_rotor_torque_ratio"] for member in found.members]
    assert max(torques) / min(torques) > 1.2
    assert ensemble(plate, 12, seed=5) == tuple(member.motor for member in found.members)
    assert ensemble(plate, 12, seed=6) != ensemble(plate, 12, seed=5)


def test_one_missing_datum_varied_alone() -> None:
    """For a ranking only the named datum moves, everything else stays as in the fit."""
    plate = without("locked_rotor_torque_ratio", "inertia")
    members = draw(plate, 4, vary=("motor.inertia",)).members
    assert len({member.motor.inertia for member in members}) == 4
    assert len({member.motor.circuit for member in members}) == 1


def test_a_fit_keeps_finite_positive_circuit_values() -> None:
    """Every element of a fitted circuit is positive and finite."""
    circuit = fit_plate(WHOLE).motor.circuit
    assert circuit is not None
    values = [circuit.R1, circuit.X1, circuit.Xm, circuit.Rfe, *(v for b in circuit.rotor for v in (b.R, b.X))]
    assert all(0 < value < inf for value in values)


@pytest.mark.parametrize(("power", "slip"), [(1e3, 0.05), (10e3, 0.025), (100e3, 0.01), (1e6, 0.005)])
def test_typical_motors_are_plausible(power: float, slip: float) -> None:
    """Rules of thumb (common practice, no source): slip by size, 5 to 8 times current, no-load current, locked power factor."""
    motor = fit_plate(replace(THIN, power=power)).motor
    shown, r = shown_by(motor), motor.rating
    assert motor.circuit is not None
    idle, locked = (
        operating_point(motor.circuit, s, r.phase_voltage, r.frequency, r.synchronous_speed) for s in (1e-4, 1.0)
    )
    assert slip / 1.5 < shown.slip < 1.5 * slip
    assert 5 <= shown.locked_rotor_current_ratio <= 8
    assert 0.25 < abs(idle.stator_current) / shown.current < 0.65
    assert 0.15 < locked.input_power.real / abs(locked.input_power) < 0.7
