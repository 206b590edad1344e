"""What a thin plate leaves open: frames, distributions, ensembles and their ranges against invented motors."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log, pi
from pathlib import Path

import numpy as np
import pytest

from benchmarks.evidence_plates import FIXED, NEVER, OPEN, over_ensembles, stated, with_pull_up, without
from benchmarks.evidence_plates import measure as measured
from benchmarks.synthetic_motors import invent
from slipwise.identify import cage_kernel as plain
from slipwise.identify.cage_search import kernel, solve
from slipwise.identify.ensemble import draw
from slipwise.identify.plate import fit_plate
from slipwise.identify.plate_ensemble import identify_plate
from slipwise.identify.plate_partial import PartialPlate, identify_partial, whole_plate
from slipwise.identify.reading import goal_of, read
from slipwise.identify.records import Plate
from slipwise.identify.rows import shown_by
from slipwise.model.machine.typical import Typical
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.study.reader import load_motor

THIN = Plate(power=90e3, voltage=400.0, frequency=50.0, poles=4, connection="delta")
RPM = pi / 30


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    """The search is compiled once: thousands of fits follow."""
    kernel(1000)


def test_truth_lies_inside_the_stated_range_about_nine_times_in_ten() -> None:
    """Each value of 100 invented motors left out in turn; the bounds leave room for the small sample (3 deviations)."""
    rng = np.random.default_rng(606)
    cover = stated(invent(rng, usual=True) for _ in range(100))
    assert cover.refused.total() == 0
    for name in FIXED:
        assert cover.share(name) >= 0.85
    for name in (*OPEN, *NEVER):
        assert 0.80 <= cover.share(name) <= 0.99, name


def test_ensembles_hold_the_truth() -> None:
    """Ranges over 40 drawn motors hold the truth in at least 3 of 4 cases, all values together."""
    rng = np.random.default_rng(607)
    cover = over_ensembles((invent(rng, usual=True) for _ in range(4)), 40)
    assert cover.count.total() == 4 * len((*FIXED, *OPEN))
    assert cover.inside.total() >= 0.75 * cover.count.total()


def test_a_printed_pull_up_torque_is_met_too() -> None:
    """Of 40 invented motors whose plate gives the pull-up torque as well, at least 38 are met in every value."""
    rng = np.random.default_rng(8)
    tally = measured(with_pull_up(invent(rng) for _ in range(40)))
    assert tally.whole.total() >= 38


def test_compiled_and_plain_search_agree() -> None:
    """The same source compiled gives the same circuit: to 1e-9 where one unknown did, to 5e-3 after a descent.

    A descent stops in a flat valley, where the last digits of the processor's own exp and log decide; that both meet
    the plate alike is asked as well.
    """
    rng = np.random.default_rng(5)
    compiled = kernel(1000)
    assert compiled is not plain
    for _ in range(12):
        goal = goal_of(read(invent(rng).plate))
        one, other = solve(goal, plain), solve(goal, compiled)
        rel = 5e-3 if any(one.x[2:]) or any(one.moved) else 1e-9
        for name in ("R1", "X1", "core", "magnetising", "R2", "X2", "R3", "X3"):
            assert getattr(other.cages, name) == pytest.approx(getattr(one.cages, name), rel=rel)
        assert other.error == pytest.approx(one.error, abs=1e-4)
        assert other.moved == pytest.approx(one.moved, abs=1e-4)


def test_a_typical_value_never_refutes_what_is_given() -> None:
    """Motors of unusual locked-rotor current, that value left out: no refusal, and the rest is still shown."""
    rng = np.random.default_rng(31)
    motors = [invent(rng) for _ in range(60)]
    odd = sorted(motors, key=lambda m: m.truth["locked_rotor_current_ratio"])[:6]
    for motor in odd:
        fit = fit_plate(without(motor.plate, "locked_rotor_current_ratio"))
        row = next(row for row in fit.rows if row.name == "breakdown torque / rated")
        assert abs(row.model - row.plate) <= max(0.051, 0.01 * row.plate)


def test_a_distribution_has_its_range_at_the_twentieth_parts() -> None:
    """Of many draws a twentieth lies below the low end, a twentieth above the high end, half below the middle."""
    found = Typical(value=2.0, low=1.2, high=3.5, source="test")
    normals = np.random.default_rng(1).standard_normal(20000)
    drawn = np.array([found.at(float(z)) for z in normals])
    assert np.mean(drawn < 1.2) == pytest.approx(0.05, abs=0.006)
    assert np.mean(drawn > 3.5) == pytest.approx(0.05, abs=0.006)
    assert np.median(drawn) == pytest.approx(2.0, rel=0.02)
    assert found.held(1.5, 3.0, "rule").at(2.4) <= 3.0


def test_a_derived_current_carries_the_ranges_it_came_from() -> None:
    """From typical power factor and efficiency: logarithmic widths as root of the squares, by hand."""
    rows = {row.name: row for row in fit_plate(THIN).estimated}
    current, factor, efficiency = (rows[f"motor.{n}"] for n in ("rated_current", "power_factor", "efficiency"))
    assert current.origin is Origin.DERIVED
    widths = [log(r.value / r.low) for r in (factor, efficiency) if r.value and r.low]
    assert current.high == pytest.approx((current.value or 0) * exp(sum(w * w for w in widths) ** 0.5), rel=1e-9)


def test_more_data_narrow_the_ranges() -> None:
    """With the speed given, speed is exact to its rounding; with the locked-rotor current given, so is that."""
    wide = {row.name: row for row in identify_plate(THIN, 30).ranges.rows}
    known = replace(THIN, speed=1483 * RPM, locked_rotor_current_ratio=6.9)
    narrow = {row.name: row for row in identify_plate(known, 30).ranges.rows}
    for name in ("rated_speed", "locked_rotor_current_ratio"):
        assert narrow[name].given
        assert not wide[name].given
        assert narrow[name].high - narrow[name].low < 0.2 * (wide[name].high - wide[name].low)
    assert all(row.low <= row.middle <= row.high for row in (*wide.values(), *narrow.values()))


def test_members_keep_given_values_inside_their_rounding() -> None:
    """Ratios printed to a tenth move inside half a tenth (or 1 %) over the ensemble, and do move."""
    plate = replace(THIN, speed=1483 * RPM, current=160.0, locked_rotor_torque_ratio=2.2, breakdown_torque_ratio=2.7)
    shown = [shown_by(member.motor) for member in draw(plate, 12, seed=3).members]
    torques = [s.locked_rotor_torque_ratio for s in shown]
    assert all(abs(t - 2.2) <= 0.0515 for t in torques)
    assert max(torques) - min(torques) > 0.02


@pytest.mark.parametrize(
    ("speed", "voltage", "frequency", "poles"),
    [
        (1455, 220.0, 50.0, 4),
        (1770, 460.0, 60.0, 4),
        (2940, 400.0, 50.0, 2),
        (985, 690.0, 50.0, 6),
        (885, 480.0, 60.0, 8),
    ],
)
def test_speed_and_voltage_tell_poles_and_frequency(speed: float, voltage: float, frequency: float, poles: int) -> None:
    """The nearest synchronous speed above, at the frequency the voltage is common at."""
    whole = whole_plate(PartialPlate(power=15e3, voltage=voltage, speed=speed * RPM))
    assert (whole.plate.frequency, whole.plate.poles) == (frequency, poles)
    row = next(row for row in whole.filled if row.name == "motor.poles")
    assert row.origin is Origin.DERIVED


def test_power_and_voltage_alone() -> None:
    """Poles come from what is in use, the ensemble runs over them, and every gap says where its value came from."""
    found = identify_partial(PartialPlate(power=15e3, voltage=400.0), members=40, seed=2)
    poles = {member.drawn["motor.poles"] for member in found.ensemble.members}
    assert len(poles) >= 3
    assert found.ensemble.missing[0] == "motor.poles"
    assert {"motor.poles", "motor.rated_frequency", "motor.connection"} <= {row.name for row in found.fit.estimated}
    assert all(row.why for row in found.fit.estimated)
    speed = next(row for row in found.ranges.rows if row.name == "rated_speed")
    assert speed.high > 1.8 * speed.low


def test_a_speed_no_motor_turns_at_is_refused() -> None:
    """Above the synchronous speed of two poles there is nothing."""
    with pytest.raises(InputError, match=r"motor.rated_speed: 3700 r/min: no even number of poles"):
        whole_plate(PartialPlate(power=15e3, voltage=400.0, speed=3700 * RPM))


def test_a_file_with_power_and_voltage_alone_gives_a_motor(tmp_path: Path) -> None:
    """`[motor]` of two lines is read."""
    file = tmp_path / "thin.toml"
    file.write_text('[motor]\nrated_power = "15 kW"\nrated_voltage = "400 V"\n')
    rating = load_motor(file).motor.rating
    assert (rating.frequency, rating.poles, rating.connection) == (50.0, 4, "delta")


def test_ohms_without_their_frame_are_refused(tmp_path: Path) -> None:
    """Circuit values mean nothing without the frequency they hold at: nothing is guessed there."""
    file = tmp_path / "ohms.toml"
    file.write_text(
        '[motor]\nrated_power = "15 kW"\nrated_voltage = "400 V"\npoles = 4\ninertia = "0.1 kg m2"\n'
        '[motor.circuit]\nvalues = "star equivalent"\n'
        + "".join(
            f'{name} = "{ohm} ohm"\n' for name, ohm in (("R1", 0.3), ("X1", 0.6), ("Xm", 20), ("R2", 0.3), ("X2", 0.6))
        )
    )
    with pytest.raises(InputError) as caught:
        load_motor(file)
    words = str(caught.value)
    assert 'add rated_frequency = "50 Hz"' in words
    assert 'add connection = "delta"' in words
