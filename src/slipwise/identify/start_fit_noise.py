"""What noise in a recorded start does to its fit: bias taken out, covariance, and whether noise explains what is left.

Noise in the recorded voltage acts twice. It shakes the model's answer, which widens the ranges; and the shaking is smaller
for a machine with more resistance, so that least squares leans that way: the answer is biased. Both follow from trials in
which the noise is added once more, the bias from pairs of opposite noise, in which everything linear cancels.

Source: errors in the input of an output-error model; simulation of the score as in indirect inference (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slipwise.identify.start_fit_kernel import CURRENT_D, CURRENT_Q
from slipwise.identify.start_fit_residuals import Residuals, Whitening
from slipwise.results.series import Array

PAIRS = 10  # of trials with opposite noise
TELLING = 1.5  # slow misfit from which the regions are widened
QUICK = 6  # trials that set the filter
LITTLE = 1e-3  # power of the drift over that of the white noise: below, no filter is needed
NO_NOISE = 1e-5  # of the voltage's peak: below, no trials are made


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shaken:
    """Trials with the voltage's noise added once more. changes: weighted change of the answer, shape (trials, residuals).

    bias: mean push on z that least squares gets from it, shape (p,).   excess: scores beyond the linear share of white noise
    in the measured answer, shape (trials, p).
    """

    changes: Array
    bias: Array
    excess: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Uncertain:
    """z without its bias, joint covariance of x, the factor by which it was widened, slow misfit of each part."""

    z: Array
    covariance: Array
    widened: float
    slow: list[float]


def uncertain(residuals: Residuals, z: Array, seed: int) -> Uncertain:
    """Bias and covariance of a fit.

    Args:
        residuals: at their least about `z`.   seed: of the trials.
    """
    model = residuals.model
    rows = residuals.jacobian(z)
    posterior = np.linalg.inv(rows.T @ rows)
    weight = np.concatenate([part.weight for part in residuals.parts])
    own = residuals.unfiltered(rows[: weight.size]) * weight[:, None]
    other = rows[weight.size :]  # of the coast-down and of what was thought beforehand
    trials = shaken(residuals, z, seed)
    slow = slow_misfit(residuals, z, trials.changes)
    widened = max(slow) if max(slow) > TELLING else 1.0
    excess = trials.excess.T @ trials.excess / len(trials.excess)
    score = widened**2 * (own.T @ own + excess) + other.T @ other
    covariance = posterior @ score @ posterior
    scale = np.outer(model.spread, model.spread)
    return Uncertain(z=z + posterior @ trials.bias, covariance=covariance * scale, widened=widened, slow=slow)


def shaken(residuals: Residuals, z: Array, seed: int) -> Shaken:
    """Runs the trials."""
    model, rng = residuals.model, np.random.default_rng(seed)
    voltage, sigma = model.data.voltage, model.data.noise["voltage"]
    base, rows = residuals.shown_and_rows(z)
    weight = np.concatenate([part.weight for part in residuals.parts])
    if sigma < NO_NOISE * float(np.abs(voltage).max()):
        return Shaken(changes=np.zeros((1, base.size)), bias=np.zeros(z.size), excess=np.zeros((1, z.size)))
    level = residuals.whitened(rows)
    changes, pushes, scores = [], [], []
    for _ in range(PAIRS):
        across = rng.standard_normal(voltage.size) if model.data.waveform else np.zeros(voltage.size)
        noise = sigma * (rng.standard_normal(voltage.size) + 1j * across)
        for sign in (1.0, -1.0):
            shown, steep = residuals.shown_and_rows(z, voltage + sign * noise)
            own = residuals.whitened(weight * rng.standard_normal(base.size))
            changes.append(shown - base)
            steep = residuals.whitened(steep)
            pushes.append(steep.T @ residuals.whitened(changes[-1]))
            scores.append(pushes[-1] + (steep - level).T @ own)
    bias = np.mean(pushes, axis=0)
    return Shaken(changes=np.array(changes), bias=bias, excess=np.array(scores) - bias)


def whitening_of(residuals: Residuals, z: Array, seed: int) -> Whitening | None:
    """The filter that makes measured noise and what the voltage's noise adds to it white; None where there is little to do.

    Source: spectral factor of a first-order process in white noise (Box and Jenkins, Time Series Analysis, from memory).
    """
    model, rng = residuals.model, np.random.default_rng(seed)
    data, sigma = model.data, model.data.noise["voltage"]
    if not data.waveform or sigma < NO_NOISE * float(np.abs(data.voltage).max()):
        return None
    x = residuals.x(z)
    base = model.answer(x).real
    far = max(1, round(0.25 / data.frequency / data.step))
    turn = np.exp(2j * np.pi * data.frequency * data.time)
    power = lagged = 0.0
    for _ in range(QUICK):
        noise = sigma * (rng.standard_normal(data.time.size) + 1j * rng.standard_normal(data.time.size))
        change = model.answer(x, data.voltage + noise).real - base
        drift = (change[:, CURRENT_D] + 1j * change[:, CURRENT_Q]) * turn / residuals.parts[0].noise
        power += float(np.mean(np.abs(drift) ** 2)) / 2 / QUICK
        lagged += float(np.mean((drift[far:] * np.conj(drift[:-far])).real)) / 2 / QUICK
    if power < LITTLE or not 0 < lagged < power:
        return None
    pole = float((lagged / power) ** (1 / far))
    fresh = power * (1 - pole**2)
    share = pole / (fresh + 1 + pole**2)
    zero = float((1 - np.sqrt(1 - 4 * share**2)) / (2 * share))
    return Whitening(pole=pole, zero=zero, scale=float(np.sqrt(pole / zero)))


def slow_misfit(residuals: Residuals, z: Array, changes: Array) -> list[float]:
    """For each part: rms of the residual's means over a cycle, over what noise alone would leave."""
    data = residuals.model.data
    many = max(1, round(1 / data.frequency / data.step))
    all_of = residuals.differences(residuals.model.answer(residuals.x(z)).real)
    found, at = [], 0
    for part in residuals.parts:
        size = part.measured.size
        blocks = size // many
        mean = all_of[at : at + blocks * many].reshape(blocks, many).mean(axis=1)
        moved = changes[:, at : at + blocks * many].reshape(len(changes), blocks, many).mean(axis=2)
        share = part.weight[: blocks * many].reshape(blocks, many).mean(axis=1)
        expected = share / many + (moved**2).mean(axis=0)
        used = share > 0.5
        found.append(float(np.sqrt(np.mean(mean[used] ** 2 / expected[used]))) if used.any() else 1.0)
        at += size
    return found
