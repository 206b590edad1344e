"""Differences between a recorded start and the model, weighted by the noise, with exact derivatives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.identify import start_fit_kernel as k
from slipwise.identify.start_fit_model import StartModel
from slipwise.results.series import Array

SETTLING = 5.0  # cycles at the begin of an rms recording in which the window still mixes before and after


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
class Residuals:
    """Weighted residuals over z, the unknowns counted in spreads from their centre. rotor_inertia: for a torque channel."""

    model: StartModel
    parts: tuple[Part, ...]
    rotor_inertia: float
    coast: CoastPrior | None = None

    def x(self, z: Array) -> Array:
        return self.model.centre + self.model.spread * z

    def __call__(self, z: Array) -> Array:
        """Measured parts, coast-down, then z itself (what was thought beforehand)."""
        x = self.x(z)
        answer = self.model.answer(x).real
        return np.concatenate([*self._differences(self.shown(answer)), self._coasted(x), z])

    def jacobian(self, z: Array) -> Array:
        """Derivatives of the residuals by z, shape (residuals, len(z))."""
        x = self.x(z)
        answer, moved = self.model.sensitivities(x)
        columns = []
        for j in range(z.size):
            change = self.changes(answer, moved[j])
            rows = [p.weight * c / p.noise for p, c in zip(self.parts, change, strict=True)]
            columns.append(np.concatenate(rows) * self.model.spread[j])
        data = np.array(columns).T
        coast = self._coast_jacobian(x) * self.model.spread
        return np.concatenate([data, coast, np.eye(z.size)])

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

    def _differences(self, shown: list[Array]) -> list[Array]:
        return [p.weight * (s - p.measured) / p.noise for p, s in zip(self.parts, shown, strict=True)]

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
        parts = [
            Part(name="current d", unit="A", measured=data.current.real, weight=data.good, noise=data.noise["current"]),
            Part(name="current q", unit="A", measured=data.current.imag, weight=data.good, noise=data.noise["current"]),
        ]
    else:
        late = data.good * (data.time * data.frequency > SETTLING)
        top = float(np.abs(data.current).max())
        noise = max(data.noise["current"], 0.003 * top)
        parts = [Part(name="current", unit="A", measured=data.current.real, weight=late, noise=noise)]
    for name, unit, values in (("speed", "rad/s", data.speed), ("torque", "N m", data.torque)):
        if values is None or (name == "torque" and rotor_inertia is None):
            continue
        known = np.isfinite(values)
        top = float(np.abs(values[known]).max())
        noise = max(data.noise[name], 1e-4 * top)
        measured = np.where(known, values, 0.0)
        parts.append(Part(name=name, unit=unit, measured=measured, weight=known.astype(float), noise=noise))
    return Residuals(model=model, parts=tuple(parts), rotor_inertia=rotor_inertia or 0.0, coast=coast)
