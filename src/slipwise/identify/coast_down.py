"""A coast-down: speed falling freely gives torque over inertia; one of the two known gives the other.

inertia x d(speed)/dt = -torque(speed), torque / inertia = a0 + a1 x + a2 x^2 with x = speed over the first speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np

from slipwise.identify.recording_checks import noise_of
from slipwise.quantity.errors import InputError
from slipwise.results.recording import CoastDownResult, FittedValue
from slipwise.results.series import Array

LEAST_FALL = 0.1  # of the first speed
LIKELY = 1.959963984540054  # standard errors to either side of 95 %
MOST_POINTS = 2000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoastFit:
    """torque / inertia = sum of terms[i] (speed / first)^i, rad/s2, with the covariance of the terms."""

    source: str
    time: Array
    speed: Array
    fitted: Array
    first: float
    terms: Array
    covariance: Array

    @property
    def speed_low(self) -> float:
        """Lowest speed of the coast-down. [rad/s]"""
        return float(max(self.fitted.min(), 0.02 * self.first))

    @property
    def speed_high(self) -> float:
        return float(self.fitted.max())

    def ratio_at(self, speed: Any) -> tuple[Array, Array]:
        """Torque over inertia at speeds, rad/s2, and its covariance; shape (m,) and (m, m)."""
        rows = np.vander(np.asarray(speed, dtype=float) / self.first, self.terms.size, increasing=True)
        return rows @ self.terms, rows @ self.covariance @ rows.T


def fit_coast_down(time: Array, speed: Array, *, source: str = "coast-down") -> CoastFit:
    """Fits the law of the resisting torque over inertia to falling speed.

    Args:
        time: s, ascending.   speed: rad/s, falling; NaN where not recorded. The part at rest is left out.

    Raises:
        InputError: fewer than 20 samples, speed that does not fall by a tenth, or that rises.

    Source: equation of motion; least squares with derivatives carried along the same integration (forward mode).
    """
    time, speed = np.asarray(time, dtype=float), np.asarray(speed, dtype=float)
    known = np.isfinite(speed) & np.isfinite(time)
    time, speed = time[known], speed[known]
    if time.size < 20:
        raise InputError.of("coast_down", f"{time.size} samples", "twenty are needed", "record speed while it falls")
    if np.any(np.diff(time) <= 0):
        raise InputError.of("coast_down.time", source, "time does not ascend", "check sorting and joins")
    speed = speed if np.median(speed[:10]) >= 0 else -speed
    noise = max(noise_of(speed), 1e-4 * float(np.abs(speed).max()))
    begin = float(np.median(speed[:10]))
    running = speed > max(0.03 * begin, 4 * noise)
    stop = int(np.flatnonzero(~running)[0]) if (~running).any() else speed.size
    time, speed = time[:stop], speed[:stop]
    if time.size < 20 or begin <= 0 or (begin - float(np.median(speed[-10:]))) < max(LEAST_FALL * begin, 5 * noise):
        why = "the speed does not fall by a tenth"
        raise InputError.of("coast_down.speed", source, why, "record until it has fallen well, with the supply off")
    many = max(1, speed.size // MOST_POINTS)
    count = speed.size // many * many
    time, speed = (v[:count].reshape(-1, many).mean(axis=1) for v in (time, speed))
    return _fitted(time - time[0], speed, noise / sqrt(many), begin, source)


def _fitted(time: Array, speed: Array, noise: float, begin: float, source: str) -> CoastFit:
    """Two terms, and a third where it is told from nothing."""
    from scipy.optimize import least_squares

    fall = (speed[0] - speed[-1]) / (time[-1] - time[0])
    last: CoastFit | None = None
    for places in ((0, 2), (0, 1, 2)):
        start = np.array([begin, *([fall / len(places)] * len(places))])

        def difference(v: Array, places: tuple[int, ...] = places) -> Array:
            return np.asarray((_falling(v, places, begin, time)[0] - speed) / noise)

        def slope(v: Array, places: tuple[int, ...] = places) -> Array:
            return np.asarray(_falling(v, places, begin, time)[1] / noise)

        found = least_squares(difference, start, jac=slope, x_scale=np.abs(start), method="lm")
        misfit = max(1.0, 2 * float(found.cost) / (time.size - start.size))
        steep = slope(found.x)
        inside = np.linalg.inv(steep.T @ steep) * misfit
        terms, covariance = np.zeros(3), np.zeros((3, 3))
        terms[list(places)] = found.x[1:]
        covariance[np.ix_(places, places)] = inside[1:, 1:]
        made = CoastFit(
            source=source,
            time=time,
            speed=speed,
            fitted=_falling(found.x, places, begin, time)[0],
            first=begin,
            terms=terms,
            covariance=covariance,
        )
        if last is not None and abs(terms[1]) < 3 * sqrt(covariance[1, 1]):
            return last
        last = made
    assert last is not None
    if last.ratio_at(np.array([last.speed_high]))[0][0] <= 0:
        raise InputError.of("coast_down.speed", source, "the speed rises", "is the supply off, and nothing drives it?")
    return last


def _falling(v: Array, places: tuple[int, ...], first: float, time: Array) -> tuple[Array, Array]:
    """Speed at `time` from v = (speed at the begin, terms at `places`), shape (n,), and its derivatives, (n, len(v))."""
    size = v.size
    state = np.zeros(size + 1)
    state[0], state[1] = v[0], 1.0
    out = np.empty((time.size, size + 1))
    out[0] = state

    def rate(s: Array) -> Array:
        x = max(s[0], 0.0) / first
        powers = np.array([x**i for i in places])
        steep = -sum(v[1 + n] * i * x ** (i - 1) for n, i in enumerate(places) if i) / first
        change = np.empty(size + 1)
        change[0] = -(v[1:] @ powers)
        change[1:] = steep * s[1:]
        change[2:] -= powers
        return change

    for i, h in enumerate(np.diff(time)):
        k1 = rate(state)
        k2 = rate(state + 0.5 * h * k1)
        k3 = rate(state + 0.5 * h * k2)
        k4 = rate(state + h * k3)
        state = state + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
        out[i + 1] = state
    return out[:, 0], out[:, 1:]


def coast_down(
    time: Array,
    speed: Array,
    *,
    inertia: float | None = None,
    loss: float | None = None,
    loss_speed: float | None = None,
    inertia_error: float = 0.0,
    loss_error: float = 0.0,
    source: str = "coast-down",
) -> CoastDownResult:
    """Load and loss curve, or inertia, from a coast-down.

    Args:
        time, speed: as `fit_coast_down`.
        inertia: of all that turns, when known [kg m2]; gives the curve of resisting torque.
        loss: resisting power at `loss_speed`, when known [W] [rad/s]; gives the inertia, and with it the curve.
        inertia_error, loss_error: relative standard errors of what is known. [1]

    Raises:
        InputError: as `fit_coast_down`; inertia and loss both given; a value not above zero; a loss without its speed or
            at a speed outside the coast-down.
    """
    fit = fit_coast_down(time, speed, source=source)
    if inertia is not None and loss is not None:
        raise InputError.of("coast_down", "inertia and loss", "one of the two follows from the other", "give one")
    for name, value in (("inertia", inertia), ("loss", loss), ("loss_speed", loss_speed)):
        if value is not None and not (np.isfinite(value) and value > 0):
            raise InputError.of(f"coast_down.{name}", value, "must be above zero", "give a positive number")
    values: list[FittedValue] = []
    error = inertia_error
    if loss is not None:
        inertia, error = _inertia(fit, loss, loss_speed, loss_error)
        spread = LIKELY * error * inertia
        values.append(
            FittedValue(
                name="inertia",
                symbol="J",
                value=inertia,
                unit="kg m2",
                low=inertia - spread,
                high=inertia + spread,
                narrowed=0.0,
            )
        )
    return _result(fit, inertia, error, values, free=loss is not None)


def _inertia(fit: CoastFit, loss: float, at: float | None, loss_error: float) -> tuple[float, float]:
    """Inertia [kg m2] and its relative standard error: power = inertia x ratio x speed."""
    if at is None or not 0.98 * fit.speed_low <= at <= 1.05 * fit.speed_high:
        low, high = fit.speed_low * 30 / np.pi, fit.speed_high * 30 / np.pi
        raise InputError.of(
            "coast_down.loss_speed", at, f"the coast-down covers {low:.4g} to {high:.4g} r/min", "give a speed in it"
        )
    ratio, covariance = fit.ratio_at(np.array([at]))
    own = sqrt(float(covariance[0, 0])) / float(ratio[0])
    return loss / (float(ratio[0]) * at), sqrt(own**2 + loss_error**2)


def _result(
    fit: CoastFit, inertia: float | None, error: float, values: list[FittedValue], *, free: bool
) -> CoastDownResult:
    speed = np.linspace(fit.speed_low, fit.speed_high, 101)
    ratio, covariance = fit.ratio_at(speed)
    spread = LIKELY * np.sqrt(np.diag(covariance))
    torque = low = high = None
    notes = ["The law is fitted between the speeds shown; below them it is not known."]
    if inertia is not None:
        own = np.sqrt(np.diag(covariance)) / np.maximum(np.abs(ratio), 1e-12)
        band = LIKELY * np.sqrt(own**2 + error**2)
        torque = inertia * ratio
        low, high = torque * (1 - band), torque * (1 + band)
        if not free and not error:
            notes.append("The inertia is taken as exact: no error was given for it.")
    else:
        notes.append("Neither inertia nor a loss is known: only their ratio follows.")
    top, top_cov = fit.ratio_at(np.array([fit.speed_high]))
    reach = LIKELY * sqrt(float(top_cov[0, 0]))
    values.append(
        FittedValue(
            name="retardation at the first speed",
            symbol="T/J",
            value=float(top[0]),
            unit="rad/s2",
            low=float(top[0]) - reach,
            high=float(top[0]) + reach,
            narrowed=0.0,
        )
    )
    return CoastDownResult(
        source=fit.source,
        time=fit.time,
        speed=fit.speed,
        fitted=fit.fitted,
        curve_speed=speed,
        ratio=ratio,
        ratio_low=ratio - spread,
        ratio_high=ratio + spread,
        torque=torque,
        torque_low=low,
        torque_high=high,
        values=tuple(values),
        notes=tuple(notes),
    )
