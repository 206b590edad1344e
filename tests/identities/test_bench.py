"""A known machine on an ideal bench comes back: every connection, one and two cages, saturation, losses."""

from __future__ import annotations

from dataclasses import fields, replace
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchmarks.evidence_bench_tests import coverage, truth
from benchmarks.synthetic_bench import CLASS_HALF, b7, bench_of, big, double, machine
from slipwise.identify.bench.cages import main_curve, saturation, two_cages
from slipwise.identify.bench.fit import fit_bench
from slipwise.identify.bench.load_test import Losses, stray_line
from slipwise.identify.bench.records import Bench, DcReading, Meter, Meters
from slipwise.identify.bench.wattmeters import two_wattmeters
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation
from slipwise.quantity.errors import Fault, InputError
from slipwise.results.identification import IdentifiedValue
from tests.reference import sampled


def values(bench: Bench) -> dict[str, float]:
    return {row.symbol: row.value for row in fit_bench(bench, trials=10).answer.values}


@sampled(40)
@given(
    stator=st.tuples(st.floats(0.01, 0.06), st.floats(0.05, 0.15)), main=st.tuples(st.floats(1.5, 4), st.floats(20, 80)),
    cage=st.tuples(st.floats(0.01, 0.04), st.floats(0.05, 0.2)), base=st.floats(0.05, 50.0),
    low=st.sampled_from([0.25, 0.5, 1.0]),
)  # fmt: skip
def test_a_single_cage_comes_back(stator, main, cage, base, low):
    """Ideal readings of any machine of usual proportions give its circuit, whatever the frequency of the locked test."""
    (r1, x1), (xm, rfe), (r2, x2) = stator, main, cage
    rotor = (RotorBranch(R=r2 * base, X=x2 * base),)
    circuit = Circuit(frequency=50.0, R1=r1 * base, X1=x1 * base, Xm=xm * base, Rfe=rfe * base, rotor=rotor)
    power = 0.8 * 400.0**2 / base
    motor = machine(circuit, power, 400.0, 4, 0.008 * power)
    got = values(bench_of(motor, locked=((1.0, low),)))
    for symbol, value in truth(motor).items():
        assert got[symbol] == pytest.approx(value, rel=2e-3), symbol


def test_two_cages_come_back():
    """Locked tests at a quarter of rated and at rated frequency give both cages of a double-cage machine."""
    motor = double()
    got = values(bench_of(motor, locked=((1.0, 0.25), (1.0, 1.0))))
    for symbol, value in truth(motor).items():
        assert got[symbol] == pytest.approx(value, rel=2e-3), symbol


@sampled(60)
@given(
    outer=st.tuples(st.floats(0.05, 0.5), st.floats(0.02, 0.2)), inner=st.tuples(st.floats(0.005, 0.04), st.floats(0.1, 0.5)),
    low=st.floats(0.1, 0.4), high=st.floats(0.6, 1.1),
)  # fmt: skip
def test_two_impedances_give_two_cages(outer, inner, low, high):
    """The closed form inverts two branches in parallel."""
    seen = []
    for a in (low, high):
        parallel = 1 / (1 / complex(outer[0], a * outer[1]) + 1 / complex(inner[0], a * inner[1]))
        seen.append((a, parallel.real, parallel.imag))
    assert two_cages(*seen) == pytest.approx((*outer, *inner), rel=1e-6)


def test_no_two_cages_where_resistance_falls():
    """A rotor whose resistance falls with frequency is no pair of cages."""
    assert np.all(np.isnan(two_cages((0.25, 0.2, 0.1), (1.0, 0.15, 0.3))))


def as_connected(bench: Bench, running: str, tested: str, between: str) -> Bench:
    """The same winding in other connections: readings as they would be taken, for one star equivalent when running."""
    assert bench.dc.resistance is not None
    star = bench.dc.resistance / 2
    winding = star * (3 if running == "delta" else 1)
    read = winding if between == "one winding" else 2 * winding if tested == "star" else winding * 2 / 3
    volts, amps = {
        ("star", "delta"): (1 / sqrt(3), sqrt(3)),
        ("delta", "star"): (sqrt(3), 1 / sqrt(3)),
    }.get((running, tested), (1.0, 1.0))

    def seen(row):
        return replace(row, voltage=row.voltage * volts, current=row.current * amps)

    return replace(
        bench,
        connection=running,
        tested=tested,
        dc=DcReading(between=between, temperature=25.0, resistance=read),
        no_load=tuple(map(seen, bench.no_load)),
        locked=tuple(map(seen, bench.locked)),
    )


@pytest.mark.parametrize("between", ["two terminals", "one winding"])
@pytest.mark.parametrize("tested", ["star", "delta"])
@pytest.mark.parametrize("running", ["star", "delta"])
def test_the_connection_does_not_matter(running, tested, between):
    """A winding read in star or delta, between terminals or alone, gives the same star equivalent."""
    motor = b7()
    got = values(as_connected(bench_of(motor), running, tested, between))
    for symbol, value in truth(motor).items():
        assert got[symbol] == pytest.approx(value, rel=1e-3), symbol


def test_warm_windings_are_told_from_cold_ones():
    """R1 read cold and used warm: readings of a machine whose stator was 50 K warmer in the tests give R1 cold, R2 warm."""
    motor = b7()
    assert motor.circuit is not None
    hot = bench_of(replace(motor, circuit=motor.circuit.warmed((235 + 75) / (235 + 25), 1.0)))
    warm = replace(
        hot,
        dc=replace(hot.dc, resistance=2 * motor.circuit.R1),
        no_load=tuple(replace(row, temperature=75.0) for row in hot.no_load),
        locked=tuple(replace(row, temperature=75.0) for row in hot.locked),
    )
    got = values(warm)
    assert got["R1"] == pytest.approx(motor.circuit.R1)
    assert got["R2"] == pytest.approx(motor.circuit.rotor[0].R, rel=1e-3)
    assert fit_bench(warm, trials=10).motor.rotor_temperature == 75.0


def test_leakage_saturation_comes_back():
    """Locked reactance made by the law gives its knee and share, and the leakage at small current."""
    law = LeakageSaturation(knee=12.0, stator_share=0.4, rotor_share=0.4)
    amps = [2.0, 4.0, 8.0, 12.0, 18.0, 25.0]
    whole = 6.5
    found = saturation(amps, [whole * float(law.stator(i * sqrt(2))) for i in amps], 2, 3.0)
    assert found is not None
    assert found.law.knee == pytest.approx(law.knee, rel=0.03)
    assert found.law.stator_share == pytest.approx(law.stator_share, rel=0.03)
    assert found.factor == pytest.approx(1 / float(law.stator(8 * sqrt(2))), rel=0.01)


def test_no_saturation_is_found_where_there_is_none():
    """A reactance that does not fall by a twentieth is constant."""
    assert saturation([2.0, 5.0, 10.0], [6.5, 6.5, 6.3], 1) is None
    assert main_curve([60, 120, 180, 230], [75, 74, 74, 73], 3, 225.0) is None


def test_the_magnetising_curve_comes_back():
    """Reactances made by the law give its exponent and its reactance at little flux, brought to full load."""
    law = MainSaturation(rated_gap_voltage=225.0, unsaturated=1.3, exponent=6.0)
    gaps = [60.0, 100.0, 140.0, 180.0, 205.0, 225.0, 245.0]
    found = main_curve(gaps, [70 / float(law.susceptance_factor(e)) for e in gaps], 5, 210.0)
    assert found is not None
    assert found.law.exponent == pytest.approx(6.0, abs=0.11)
    at_full_load = 70 / float(law.susceptance_factor(210.0))
    assert 70 * found.factor == pytest.approx(at_full_load, rel=1e-3)
    assert found.law.unsaturated * 70 * found.factor == pytest.approx(1.3 * 70, rel=5e-3)


@sampled(100)
@given(power_factor=st.floats(-0.99, 0.99), current=st.floats(0.5, 500.0))
def test_two_wattmeters_by_their_signs(power_factor, current):
    """Signed readings add up; without the sign of the smaller one the apparent power finds it again."""
    apparent = sqrt(3) * 400.0 * current
    power, reactive = abs(power_factor) * apparent, sqrt(1 - power_factor**2) * apparent
    first, second = (power + reactive / sqrt(3)) / 2, (power - reactive / sqrt(3)) / 2
    assert two_wattmeters(first, second, 400.0, current).power == pytest.approx(power, abs=1e-9 * apparent)
    found = two_wattmeters(first, abs(second), 400.0, current)
    if abs(second) > 0.15 * first:  # a small reading does not show its sign in the apparent power
        assert found.power == pytest.approx(power, abs=1e-9 * apparent)
        assert found.reversed_sign == (second < 0)


def test_wattmeters_that_contradict_volts_and_amperes_are_refused():
    """Neither sign agrees: the message has both apparent powers; a wrong sign entered is named."""
    with pytest.raises(InputError, match="voltage and current"):
        two_wattmeters(900.0, 300.0, 400.0, 9.0)
    with pytest.raises(InputError, match="seems to be"):
        two_wattmeters(900.0, -700.0, 400.0, 2.363)


def test_losses_set_apart_close_on_the_input():
    """On a machine without stray loss nothing is left over; with one, the line gives it back."""
    motor = b7()
    plain = fit_bench(bench_of(replace(motor, stray=0.0), loads=(1.25, 1.0, 0.75, 0.5, 0.25)), trials=10).answer
    for row in plain.loads:
        assert row.residual == pytest.approx(0.0, abs=0.03)
    stray = fit_bench(bench_of(motor, loads=(1.25, 1.0, 0.75, 0.5, 0.25)), trials=10).answer
    assert stray.stray is not None
    assert stray.stray.correlation > 0.99
    for row in stray.loads:
        lost = row.stator_loss + row.core_loss + row.rotor_loss + row.mechanical_loss + row.residual
        assert row.input_power == pytest.approx(row.output_power + lost)
        expected = motor.stray_torque(row.speed, row.current) * row.speed
        assert row.residual == pytest.approx(expected, abs=0.05)


def losses(torque: float, residual: float) -> Losses:
    return Losses(
        slip=0.03, output=1.0, stator=1.0, core=1.0, rotor=1.0, mechanical=1.0, residual=residual, square=torque**2
    )


def test_the_residual_line_and_its_worst_reading():
    """The line gives slope and offset; one bad reading is left out and said; too few readings give none."""
    points = [losses(t, 3.0 + 0.05 * t**2) for t in (4.0, 8.0, 12.0, 16.0, 20.0)]
    line, used = stray_line(points, 15.0)
    assert line is not None
    assert (line.slope, line.offset, line.at_rated) == pytest.approx((0.05, 3.0, 0.05 * 225))
    points[2] = losses(12.0, 60.0)
    line, used = stray_line(points, 15.0)
    assert line is not None
    assert used == (0, 1, 3, 4)
    assert "reading 3 left out" in line.words
    assert line.slope == pytest.approx(0.05)
    assert stray_line(points[:2], 15.0)[0] is None


@pytest.mark.parametrize("motor", [b7(), big()], ids=["2.2 kW", "110 kW"])
def test_linear_and_random_intervals_agree_for_small_errors(motor):
    """With meters twenty times better both intervals have the same width, but for the shape of the distribution."""
    fine = Meters(**{f.name: Meter(accuracy=0.00025) for f in fields(Meters) if f.name != "temperature"})
    for row in fit_bench(bench_of(motor, meters=fine)).answer.values:
        assert row.low is not None
        assert row.high is not None
        assert row.linear_low is not None
        assert row.linear_high is not None
        ratio = (row.high - row.low) / (row.linear_high - row.linear_low)
        assert 0.82 < ratio < 1.03, row.symbol  # one even error alone: 1.9 against 2 x 1.96 / sqrt(3), so 0.84
        assert row.low <= row.value <= row.high


def test_one_even_error_gives_its_own_quantiles():
    """R1 by one ohmmeter: 95 % of an even error within 0.5 % is 0.475 % either way."""
    row = next(v for v in fit_bench(bench_of(b7(), meters=CLASS_HALF)).answer.values if v.symbol == "R1")
    assert row.low is not None
    assert row.high is not None
    assert row.value - row.low == pytest.approx(0.00475 * row.value, rel=0.05)
    assert row.high - row.value == pytest.approx(0.00475 * row.value, rel=0.05)


def test_stated_intervals_hold_the_truth():
    """A small sample of the evidence table: of 60 trials with meters of class 0.5 the intervals hold 52 to 60."""
    motor = b7()
    held, _, told = coverage(motor, bench_of(motor, meters=CLASS_HALF), 60, draws=600)
    for symbol in truth(motor):
        assert told[symbol] == 60
        assert held[symbol] >= 52, symbol  # 0.95 of 60 is 57; three standard deviations below


def test_the_assigned_split_widens_the_interval():
    """Without a split the leakage comes with the range of the split; with one, with that of the meters only."""
    bench = bench_of(b7(), meters=CLASS_HALF)
    known = {v.symbol: v for v in fit_bench(bench).answer.values}["X1"]
    loose = {v.symbol: v for v in fit_bench(replace(bench, split=None)).answer.values}["X1"]
    assert known.low is not None
    assert known.high is not None
    assert loose.low is not None
    assert loose.high is not None
    assert loose.high - loose.low > 1.5 * (known.high - known.low)
    assert "split" in loose.cause


def test_synchronous_speed_of_a_locked_test_follows_its_frequency():
    """Torque of a locked reading is its air-gap power over the synchronous speed of the test."""
    found = fit_bench(bench_of(b7(), locked=((1.0, 0.25),)), trials=10).answer.locked[0]
    circuit = b7().circuit
    assert circuit is not None
    gap = found.power - 3 * found.current**2 * circuit.R1
    assert found.torque == pytest.approx(gap / (4 * pi * 12.5 / 4))


@sampled(60)
@given(seed=st.integers(0, 10**6), spread=st.sampled_from([0.05, 0.5, 3.0]))
def test_wild_readings_give_a_circuit_or_a_refusal(seed, spread):
    """Readings multiplied by anything: never a traceback, never a negative value."""
    random = np.random.default_rng(seed)

    def wild(row):
        names = [f.name for f in fields(row) if isinstance(getattr(row, f.name), float) and f.name != "temperature"]
        return replace(row, **{n: getattr(row, n) * float(np.exp(spread * random.normal())) for n in names})

    bench = bench_of(b7(), locked=((1.0, 0.25), (0.5, 0.25), (1.0, 1.0)), loads=(1.0, 0.6, 0.3), meters=CLASS_HALF)
    bench = replace(bench, no_load=tuple(map(wild, bench.no_load)), locked=(wild(bench.locked[0]), *bench.locked[1:]))
    faults, rows = outcome(bench)
    assert faults or rows
    assert all(fault.field.startswith("motor.readings.") and fault.reason and fault.remedy for fault in faults)
    assert all(row.value >= 0 for row in rows)


def outcome(bench: Bench) -> tuple[tuple[Fault, ...], tuple[IdentifiedValue, ...]]:
    """Faults or values."""
    try:
        return (), fit_bench(bench, trials=100).answer.values
    except InputError as error:
        return error.faults, ()
