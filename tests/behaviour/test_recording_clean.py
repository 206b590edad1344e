"""A recording made ready: each thing done to it is listed, and what comes out is what was there before the damage."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from slipwise.identify.recording import Kind, Recording, recording_of
from slipwise.identify.recording_checks import noise_of
from slipwise.identify.recording_clean import Cleaned, clean
from slipwise.identify.recording_simulated import running_rms
from tests.recordings import RATING, changed, renamed, start, without


def told(cleaned: Cleaned, words: str) -> bool:
    return any(words in f"{step.what}: {step.why}" for step in cleaned.steps)


def agree(one: Cleaned, other: Cleaned, relative: float = 1e-6) -> None:
    assert other.time.size == one.time.size
    good = (one.good > 0) & (other.good > 0)
    top = np.abs(one.current).max()
    assert np.abs(np.abs(one.current) - np.abs(other.current))[good].max() < relative * top
    assert np.abs(np.abs(one.voltage) - np.abs(other.voltage)).max() < relative * np.abs(one.voltage).max()


def test_the_trigger_is_where_the_motor_was_switched_on() -> None:
    """The simulated recorder waits 40 ms; frequency and noise are found from the samples."""
    cleaned = clean(start(), RATING)
    assert told(cleaned, "switching on found at 0.04")
    assert cleaned.frequency == pytest.approx(50.0, rel=2e-3)
    tops = np.array([np.abs(c.values).max() for c in start().of(Kind.CURRENT)]) / 1.03  # noise adds to the peak
    assert cleaned.noise["current"] == pytest.approx(0.01 * np.sqrt(np.mean(tops**2) * 2 / 3), rel=0.1)


@pytest.mark.parametrize(
    ("names", "words"),
    [
        ({"ib": "ic", "ic": "ib"}, "current leads swapped back"),
        ({"ia": "ib", "ib": "ic", "ic": "ia"}, "current leads swapped back"),
    ],
)
def test_swapped_leads_are_put_back(names: dict[str, str], words: str) -> None:
    """Currents named in another order give the same start."""
    cleaned = clean(renamed(start(), names), RATING)
    assert told(cleaned, words)
    agree(clean(start(), RATING), cleaned)


def test_a_turned_probe_is_turned_back() -> None:
    """One current against the direction of the others, and all three."""
    for names in (("ib",), ("ia", "ib", "ic")):
        recording = start()
        for name in names:
            recording = changed(recording, name, np.negative)
        cleaned = clean(recording, RATING)
        assert told(cleaned, "turned round")
        agree(clean(start(), RATING), cleaned)


def test_a_backward_sequence_is_mirrored() -> None:
    """Voltages and currents in the order a-c-b give the same start."""
    cleaned = clean(renamed(start(), {"ub": "uc", "uc": "ub", "ib": "ic", "ic": "ib"}), RATING)
    assert told(cleaned, "phase sequence a-c-b")
    agree(clean(start(), RATING), cleaned)


def test_a_missing_phase_follows_from_the_other_two() -> None:
    """Two currents are enough without a neutral; without noise the third is exact."""
    whole = clean(start(0.0, 0), RATING)
    cleaned = clean(without(start(0.0, 0), "ib"), RATING)
    assert told(cleaned, "third current from the other two")
    agree(whole, cleaned)


def test_line_voltages_are_as_good_as_phase_voltages() -> None:
    """Two line voltages give the same space vector."""
    one = start(0.0, 0)
    ua, ub, uc = (channel.values for channel in one.of(Kind.VOLTAGE))
    first, second, third = one.of(Kind.VOLTAGE)
    pairs = (
        replace(first, name="uab", phase="ab", values=ua - ub),
        replace(second, name="ubc", phase="bc", values=ub - uc),
    )
    rest = tuple(c for c in one.channels if c not in (first, second, third))
    agree(clean(one, RATING), clean(recording_of(one.time, (*pairs, *rest), "x"), RATING))


def test_drop_outs_are_taken_out() -> None:
    """A channel that hangs at one number is bridged (voltage) or not counted (current)."""

    def hang(values: np.ndarray) -> np.ndarray:
        values[1000:1012] = 0.0
        return values

    cleaned = clean(changed(changed(start(), "ia", hang), "ub", hang), RATING)
    assert told(cleaned, "drop-outs of ia taken out")
    assert told(cleaned, "drop-outs of ub taken out")
    agree(clean(start(), RATING), cleaned, 0.05)


def test_all_phases_gone_for_a_moment() -> None:
    """A gap in every phase: the voltage is bridged within two noises, the current left out."""

    def gap(values: np.ndarray) -> np.ndarray:
        values[1500:1520] = np.nan
        return values

    recording = start()
    for name in ("ua", "ub", "uc", "ia", "ib", "ic"):
        recording = changed(recording, name, gap)
    cleaned = clean(recording, RATING)
    assert told(cleaned, "gaps in the voltage bridged")
    assert int((cleaned.good == 0).sum()) == 20
    agree(clean(start(), RATING), cleaned, 0.05)


def test_uneven_samples_are_brought_to_even_steps() -> None:
    """Jitter of the sampling is evened, openly."""
    one = start()
    rng = np.random.default_rng(1)
    step = one.time[1] - one.time[0]
    time = one.time + 0.2 * step * rng.uniform(-1, 1, one.time.size)
    channels = tuple(replace(c, values=np.interp(time, one.time, c.values)) for c in one.channels)
    cleaned = clean(recording_of(time, channels, "x"), RATING)
    assert told(cleaned, "even steps of time")


def test_zero_of_the_current_channels_is_corrected() -> None:
    """An offset seen before switching on is taken away."""
    cleaned = clean(changed(start(), "ia", lambda v: v + 5.0), RATING)
    assert told(cleaned, "zero of the current channels corrected")
    agree(clean(start(), RATING), cleaned, 1e-3)


def test_a_coast_down_is_kept_apart() -> None:
    """Speed after switching off is not part of the start."""
    cleaned = clean(start(coast=True), RATING)
    assert cleaned.coast_time is not None
    assert told(cleaned, "coast-down kept apart")
    assert cleaned.coast_time[-1] == pytest.approx(0.9, abs=0.05)


def test_rms_values_are_recognised() -> None:
    """Running rms values of three phases give their mean, as the length of a space vector."""
    rms: Recording = running_rms(start(), frequency=50, step=0.01)
    cleaned = clean(rms, RATING)
    assert not cleaned.waveform
    whole = clean(start(), RATING)
    late = np.abs(whole.current[-200:]).mean()
    assert np.abs(cleaned.current[-3:]).mean() == pytest.approx(late, rel=0.03)
    assert np.abs(cleaned.voltage[-3:]).mean() == pytest.approx(np.abs(whole.voltage[-200:]).mean(), rel=0.01)


def test_noise_is_found_on_a_smooth_signal() -> None:
    """Third differences give back the standard deviation of white noise."""
    rng = np.random.default_rng(5)
    time = np.arange(4000) / 5000
    assert noise_of(100 * np.sin(30 * time) + 0.7 * rng.standard_normal(4000)) == pytest.approx(0.7, rel=0.06)
