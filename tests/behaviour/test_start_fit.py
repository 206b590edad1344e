"""A recorded start fitted: the truth behind the simulation is found, and the regions say how well."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.evidence_recording import Found, trials
from slipwise.identify.coast_down import coast_down, fit_coast_down
from slipwise.identify.plate import fit_plate
from slipwise.identify.recording import Kind
from slipwise.identify.recording_clean import clean
from slipwise.identify.recording_simulated import running_rms
from slipwise.identify.start_fit import StartFit, fit_start
from slipwise.identify.start_fit_model import STEP, model_of
from slipwise.quantity.errors import InputError
from slipwise.results.recording import FittedValue
from tests.recordings import CIRCUIT, DRIVE, LOAD, MOTOR, PLATE, RATING, start, without


def value(fit: StartFit, symbol: str) -> FittedValue:
    return next(row for row in fit.result.values if row.symbol == symbol)


def near(fit: StartFit, inertia: float, torque: float) -> None:
    """Inertia and resisting torque at full speed, by relative error."""
    assert fit.inertia == pytest.approx(DRIVE.inertia, rel=inertia)
    full = float(fit.result.speed[-1])
    assert float(fit.load_torque(full)) == pytest.approx(float(LOAD.running(full)), rel=torque)


def test_waveforms_with_speed() -> None:
    """One start with 1 % noise and 12 bits: inertia within 2 %, torque within 5 %, both in their region."""
    fit = fit_start(start(), PLATE)
    near(fit, 0.02, 0.05)
    full = float(fit.result.speed[-1])
    assert fit.result.region.holds(DRIVE.inertia, float(LOAD.running(full)))
    assert max(trace.slow_misfit for trace in fit.result.traces) < 1.5
    assert fit.load.inertia + fit.motor.inertia == pytest.approx(fit.inertia)


def test_without_noise_the_truth_comes_out() -> None:
    """The fit's own equations and the transient solver are the same machine: what the terminals show is found."""
    fit = fit_start(start(0.0, 0), PLATE)
    near(fit, 2e-3, 3e-3)
    found = fit.model.circuit(fit.x)
    assert found.R1 == pytest.approx(CIRCUIT.R1, rel=0.02)
    slip = np.array([1.0, 0.3, 0.03])
    truth = CIRCUIT.rotor_admittance(slip, 50.0)
    whole = CIRCUIT.stator_impedance(50.0) + 1 / (CIRCUIT.magnetising_admittance(50.0) + truth)
    again = found.stator_impedance(50.0) + 1 / (found.magnetising_admittance(50.0) + found.rotor_admittance(slip, 50.0))
    assert np.abs(again / whole - 1).max() < 0.01


@pytest.mark.slow
def test_a_sample_of_the_evidence() -> None:
    """Four of the evidence's trials: median errors within 5 %, three at least in their joint region."""
    found = [row for row in trials(4, 404) if isinstance(row, Found)]
    assert len(found) == 4
    assert np.median([abs(row.inertia) for row in found]) < 0.05
    assert np.median([abs(row.torque) for row in found]) < 0.05
    assert sum(row.joint for row in found) >= 3


def test_speed_is_estimated_where_it_was_not_recorded() -> None:
    """Without a speed channel the estimate stays within four of its own standard errors of the truth, and says so."""
    fit = fit_start(without(start(), "speed"), PLATE)
    near(fit, 0.05, 0.15)
    truth = clean(start(0.0, 0), RATING)
    assert truth.speed is not None
    size = min(truth.speed.size, fit.result.speed.size) - 5
    error = np.abs(fit.result.speed[:size] - truth.speed[:size])
    assert np.all(error < 4 * fit.result.speed_error[:size] + 0.005 * RATING.synchronous_speed)
    assert any("Speed was not recorded" in note for note in fit.result.notes)


def test_rms_values() -> None:
    """Running rms values with speed are enough for inertia and torque within 10 and 20 %."""
    fit = fit_start(running_rms(start(), frequency=50, step=0.01), PLATE)
    near(fit, 0.1, 0.2)


def test_a_coast_down_narrows_the_torque() -> None:
    """With the coast-down in the recording the joint region is smaller, and still holds the truth."""
    alone, both = fit_start(start(), PLATE), fit_start(start(coast=True), PLATE)
    assert np.linalg.det(both.result.region.covariance) < np.linalg.det(alone.result.region.covariance)
    near(both, 0.02, 0.03)
    assert any("coast-down" in note for note in both.result.notes)


def test_a_torque_channel_is_used_with_the_rotors_own_inertia() -> None:
    """Recorded shaft torque parts load from inertia; without the rotor's inertia it is set aside, and that is said."""
    recording = start(torque=True)
    fit = fit_start(recording, replace(PLATE, inertia=MOTOR.inertia))
    near(fit, 0.02, 0.03)
    assert any(trace.name == "torque" for trace in fit.result.traces)
    assert any("torque was not used" in note for note in fit_start(recording, PLATE).result.notes)


def test_what_cannot_be_told_apart_is_said() -> None:
    """Stator and rotor leakage trade at the terminals: one of the sentences names X1."""
    fit = fit_start(start(), PLATE)
    assert any("X1" in sentence and "told apart" in sentence for sentence in fit.result.indistinct)
    assert value(fit, "X1").narrowed > 0.5
    assert value(fit, "J").narrowed < 0.1


def test_derivatives_are_exact() -> None:
    """The complex step agrees with central differences of the same model to their own error."""
    assert STEP < 1e-20
    model = model_of(clean(start(), RATING), fit_plate(PLATE).motor, 2, (0.0, 2.0), 0.0)
    x = model.centre
    _, exact = model.sensitivities(x)
    for j in range(x.size):
        step = np.zeros(x.size)
        step[j] = 1e-5
        differences = (model.answer(x + step).real - model.answer(x - step).real) / 2e-5
        size = np.abs(exact[j, :600]).max(axis=0) + 1e-9
        assert (np.abs(exact[j, :600] - differences[:600]) / size).max() < 2e-4


def test_a_model_that_misses_something_says_so() -> None:
    """A load that the law does not hold (a step half-way up) shows as slow misfit, and the ranges are widened."""
    recording = start()
    speed = recording.of(Kind.SPEED)[0]
    bent = np.where(np.arange(speed.values.size) > 1500, speed.values * 0.9, speed.values)
    channels = tuple(replace(c, values=bent) if c is speed else c for c in recording.channels)
    fit = fit_start(replace(recording, channels=channels), PLATE)
    assert any("departs from the model" in note for note in fit.result.notes)


def test_bad_questions_are_refused() -> None:
    """Exponents twice the same, and a number of cages that is not modelled."""
    with pytest.raises(InputError, match="exponents"):
        fit_start(start(), PLATE, exponents=(2.0, 2.0))
    with pytest.raises(InputError, match="cages"):
        fit_start(start(), PLATE, cages=3)


def falling(a: float, b: float, first: float, time: np.ndarray) -> np.ndarray:
    """Closed solution of d(w)/dt = -(a + b w^2)."""
    root = np.sqrt(a * b)
    speed: np.ndarray = np.sqrt(a / b) * np.tan(np.arctan(first * np.sqrt(b / a)) - root * time)
    return speed


def test_coast_down_against_the_closed_solution() -> None:
    """Constant and quadratic torque over inertia, found from a coast-down with 0.5 % noise."""
    a, b, first = 6.0, 8e-4, 155.0
    time = np.linspace(0, 6, 1500)
    speed = falling(a, b, first, time) + 0.005 * first * np.random.default_rng(2).standard_normal(1500)
    fit = fit_coast_down(time, speed)
    at = np.array([30.0, 90.0, 150.0])
    ratio, covariance = fit.ratio_at(at)
    assert np.all(np.abs(ratio - (a + b * at**2)) < 4 * np.sqrt(np.diag(covariance)) + 0.02 * ratio)


def test_coast_down_gives_torque_or_inertia() -> None:
    """A known inertia gives the loss curve; a known loss gives the inertia; neither gives their ratio only."""
    a, b, first, inertia = 6.0, 8e-4, 155.0, 0.66
    time = np.linspace(0, 6, 600)
    speed = falling(a, b, first, time)
    by_inertia = coast_down(time, speed, inertia=inertia)
    assert by_inertia.torque is not None
    assert by_inertia.torque[-1] == pytest.approx(inertia * (a + b * by_inertia.curve_speed[-1] ** 2), rel=2e-3)
    loss = inertia * (a + b * 150.0**2) * 150.0
    by_loss = coast_down(time, speed, loss=loss, loss_speed=150.0, loss_error=0.01)
    assert by_loss.values[0].value == pytest.approx(inertia, rel=2e-3)
    assert by_loss.values[0].low < inertia < by_loss.values[0].high
    assert coast_down(time, speed).torque is None


@pytest.mark.parametrize(
    ("speed", "extra", "words"),
    [
        (np.linspace(100, 99, 200), {}, "fall by a tenth"),
        (np.linspace(100, 140, 200), {}, "fall by a tenth"),
        (np.linspace(100, 20, 10), {}, "twenty are needed"),
        (np.linspace(100, 20, 200), {"inertia": 1.0, "loss": 5.0}, "follows from the other"),
        (np.linspace(100, 20, 200), {"inertia": -1.0}, "above zero"),
        (np.linspace(100, 20, 200), {"loss": 5.0, "loss_speed": 300.0}, "covers"),
    ],
)
def test_coast_downs_that_tell_nothing(speed: np.ndarray, extra: dict[str, float], words: str) -> None:
    """Each is refused with its reason."""
    with pytest.raises(InputError, match=words):
        coast_down(np.linspace(0, 3, speed.size), speed, **extra)
