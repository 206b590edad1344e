"""Differences between a recorded start and the model, weighted by the noise, with exact derivatives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.identify import start_fit_kernel as k
from slipwise.identify.start_fit_model import StartModel
from slipwise.results.series import Array

LEAST_NOISE = 5e-4  # of the greatest value: the steps between samples are not followed better
RMS_CURRENT, RMS_SPEED = 0.015, 0.01  # the same for rms values, whose window is not known well
SETTLING = 2.0  # cycles at the begin of an rms recording in which the window still mixes before and after


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """One measured quantity of the fit. measured: shape (n,); weight: 0 where it may not be used; noise: SI, one sigma."""

    name: str
    unit: str
    measured: Array
    weight: Array
    noise: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoastPrior:
    """What a coast-down said: torque over inertia at some speeds, rad/s2, with the inverse root of its covariance."""

    speed: Array
    ratio: Array
    whiten: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Whitening:
    """Filter (1 - pole B) / (1 - zero B) / scale on the current's residuals, B one sample back, in the frame at rest.

    Noise in the recorded voltage drifts through the stator's flux, which forgets slowly: there it is a first-order process
    beside white noise, and this filter makes both together white again.
    """

    pole: float
    zero: float
    scale: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Residuals:
    """Weighted residuals over z, the unknowns counted in spreads from their centre. rotor_inertia: for a torque channel."""

    model: StartModel
    parts: tuple[Part, ...]
    rotor_inertia: float
    coast: CoastPrior | None = None
    whitening: Whitening | None = None

    def x(self, z: Array) -> Array:
        return self.model.centre + self.model.spread * z

    def __call__(self, z: Array) -> Array:
        """Measured parts, coast-down, then z itself (what was thought beforehand)."""
        x = self.x(z)
        answer = self.model.answer(x).real
        return np.concatenate([self.whitened(self.differences(answer)), self._coasted(x), z])

    def jacobian(self, z: Array) -> Array:
        """Derivatives of the residuals by z, shape (residuals, len(z))."""
        _, data = self.shown_and_rows(z)
        coast = self._coast_jacobian(self.x(z)) * self.model.spread
        return np.concatenate([self.whitened(data), coast, np.eye(z.size)])

    def whitened(self, rows: Array) -> Array:
        """Rows of all measured parts, shape (n,) or (n, p), with the current's filtered."""
        if self.whitening is None:
            return rows
        from scipy.signal import lfilter

        w, count = self.whitening, self.model.data.time.size
        still = (rows[:count] + 1j * rows[count : 2 * count]) * self._turn(rows.ndim)
        level = np.asarray(lfilter([1.0, -w.pole], [1.0, -w.zero], still, axis=0)) / w.scale
        return np.concatenate([level.real, level.imag, rows[2 * count :]])

    def unfiltered(self, rows: Array) -> Array:
        """The transpose of `whitened`, shape (n, p): rows @ noise filtered is unfiltered(rows) @ noise."""
        if self.whitening is None:
            return rows
        from scipy.signal import lfilter

        w, count = self.whitening, self.model.data.time.size
        level = (rows[:count] + 1j * rows[count : 2 * count])[::-1]
        still = np.asarray(lfilter([1.0, -w.pole], [1.0, -w.zero], level, axis=0))[::-1] / w.scale
        back = still * np.conj(self._turn(rows.ndim))
        return np.concatenate([back.real, back.imag, rows[2 * count :]])

    def _turn(self, dimensions: int) -> Any:
        turn = np.exp(2j * np.pi * self.model.data.frequency * self.model.data.time)
        return turn if dimensions == 1 else turn[:, None]

    def shown_and_rows(self, z: Array, voltage: Any = None) -> tuple[Array, Array]:
        """Weighted answer for all measured parts, shape (n,), and its derivatives by z, shape (n, len(z)).

        voltage: in place of the recorded one.
        """
        answer, moved = self.model.sensitivities(self.x(z), voltage)
        scale = [part.weight / part.noise for part in self.parts]
        shown = np.concatenate([s * v for s, v in zip(scale, self.shown(answer), strict=True)])
        rows = np.empty((shown.size, z.size))
        for j in range(z.size):
            change = self.changes(answer, moved[j])
            rows[:, j] = np.concatenate([s * c for s, c in zip(scale, change, strict=True)]) * self.model.spread[j]
        return shown, rows

    def shown(self, answer: Array) -> list[Array]:
        """What the model gives for each part; answer: shape (n, 5)."""
        return [self._of(part.name, answer) for part in self.parts]

    def _of(self, name: str, answer: Any) -> Any:
        if name == "current d":
            return answer[:, k.CURRENT_D]
        if name == "current q":
            return answer[:, k.CURRENT_Q]
        if name == "current":
            return np.hypot(answer[:, k.CURRENT_D], answer[:, k.CURRENT_Q])
        if name == "speed":
            return answer[:, k.AT_SPEED]
        return answer[:, k.TORQUE] - self.rotor_inertia * answer[:, k.SLOPE]

    def changes(self, answer: Array, moved: Array) -> list[Array]:
        """Change of each part for a small change `moved` of the answer."""
        rows = []
        for part in self.parts:
            if part.name == "current":
                d, q = answer[:, k.CURRENT_D], answer[:, k.CURRENT_Q]
                size = np.maximum(np.hypot(d, q), 1e-9)
                rows.append((d * moved[:, k.CURRENT_D] + q * moved[:, k.CURRENT_Q]) / size)
            else:
                rows.append(self._of(part.name, moved))
        return rows

    def differences(self, answer: Array) -> Array:
        """Model less measurement over noise, for all measured parts; answer: shape (n, 5)."""
        shown = self.shown(answer)
        return np.concatenate([p.weight * (s - p.measured) / p.noise for p, s in zip(self.parts, shown, strict=True)])

    def _coasted(self, x: Array) -> Array:
        if self.coast is None:
            return np.zeros(0)
        inertia = np.exp(x[self.model.place("J")])
        found: Array = self.model.load_rows(self.coast.speed) @ x[self.model.load_places] / inertia
        return np.asarray(self.coast.whiten @ (found - self.coast.ratio))

    def _coast_jacobian(self, x: Array) -> Array:
        if self.coast is None:
            return np.zeros((0, x.size))
        inertia = np.exp(x[self.model.place("J")])
        rows = self.model.load_rows(self.coast.speed) / inertia
        table = np.zeros((self.coast.speed.size, x.size))
        table[:, self.model.load_places] = rows
        table[:, self.model.place("J")] = -rows @ x[self.model.load_places]
        return np.asarray(self.coast.whiten @ table)


def residuals_of(model: StartModel, rotor_inertia: float | None, coast: CoastPrior | None) -> Residuals:
    """The parts there are. A torque channel needs the rotor's own inertia; without it the channel is not used."""
    data = model.data
    if data.waveform:
        noise = max(data.noise["current"], LEAST_NOISE * float(np.abs(data.current).max()))
        parts = [
            Part(name=f"current {axis}", unit="A", measured=measured, weight=data.good, noise=noise)
            for axis, measured in (("d", data.current.real), ("q", data.current.imag))
        ]
    else:
        late = data.good * (data.time * data.frequency > SETTLING)
        top = float(np.abs(data.current).max())
        noise = max(data.noise["current"], RMS_CURRENT * top)
        parts = [Part(name="current", unit="A", measured=data.current.real, weight=late, noise=noise)]
    for name, unit, values in (("speed", "rad/s", data.speed), ("torque", "N m", data.torque)):
        if values is None or (name == "torque" and rotor_inertia is None):
            continue
        known = np.isfinite(values)
        top = float(np.abs(values[known]).max())
        noise = max(data.noise[name], (LEAST_NOISE if data.waveform else RMS_SPEED) * top)
        measured = np.where(known, values, 0.0)
        parts.append(Part(name=name, unit=unit, measured=measured, weight=known.astype(float), noise=noise))
    return Residuals(model=model, parts=tuple(parts), rotor_inertia=rotor_inertia or 0.0, coast=coast)
