"""Inertia, load torque and circuit values from a recorded start, by least squares with exact derivatives."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from slipwise.identify.coast_down import CoastFit, fit_coast_down
from slipwise.identify.plate import fit_plate
from slipwise.identify.recording import Recording
from slipwise.identify.recording_clean import Cleaned, clean
from slipwise.identify.records import Plate
from slipwise.identify.start_fit_model import StartModel, model_of
from slipwise.identify.start_fit_noise import uncertain, whitening_of
from slipwise.identify.start_fit_residuals import CoastPrior, Residuals, residuals_of
from slipwise.identify.start_fit_words import recording_result
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.motor import MechanicalLoss, Motor
from slipwise.quantity.errors import InputError
from slipwise.results.recording import RecordingResult
from slipwise.results.series import Array

USUAL = (0.0, 2.0)  # exponents of the load terms: what rubs and what blows
MOST_STEPS = 60
ENOUGH = 0.1  # of a joint standard error: the last step of the fit
LEAST_LOAD = -0.3  # per unit of rated torque: a term may correct another, a load does not drive
TEMPERATURE = 40.0  # degC of the windings in a recorded start when it is not said


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StartFit:
    """What a recorded start gave.

    motor: circuit and stray loss as fitted, friction counted with the load.   load: resisting torque and inertia beyond the
    rotor's.   result: everything to show.   x, covariance: the unknowns of `model` and their joint covariance.
    """

    motor: Motor
    load: Load
    result: RecordingResult
    model: StartModel
    x: Array
    covariance: Array

    @property
    def inertia(self) -> float:
        """Of rotor and load together. [kg m2]"""
        return float(np.exp(self.x[self.model.place("J")]))

    def load_torque(self, speed: Any) -> Any:
        """Resisting torque at the shaft, friction and windage counted in; shape of `speed`. [N m]"""
        torque: Array = self.model.load_rows(np.asarray(speed)) @ self.x[self.model.load_places]
        return torque


def fit_start(
    recording: Recording,
    plate: Plate,
    *,
    exponents: tuple[float, ...] = USUAL,
    cages: int = 2,
    temperature: float | None = None,
    seed: int = 1,
) -> StartFit:
    """Fits inertia, load torque and circuit values to a recorded start, driven by the voltage as it was recorded.

    Args:
        recording: waveforms or running rms values, with or without speed and torque.
        plate: as much of it as there is; it says what is likely beforehand, within wide ranges.
        exponents: of the terms of the load torque against speed.   cages: of the rotor; one for a wound rotor.
        temperature: of the windings in the start [degC]; None: taken as 40, and said so.   seed: of the noise trials.

    Returns:
        Motor, load, and the result with joint 95 % regions, misfit, and what the recording cannot tell apart.

    Raises:
        InputError: of the plate, of the recording (see `clean`), or no motor like this plate starts like that.

    Source: Gauss-Newton least squares with a prior (Bayesian linear-normal approximation); what noise in the recorded
    voltage does to it is found by trials (`start_fit_noise`), and the ranges are widened by the slow misfit where the model
    does not say all there is.
    """
    motor = fit_plate(plate).motor
    data = clean(recording, motor.rating)
    return fit_cleaned(data, motor, plate, exponents=exponents, cages=cages, temperature=temperature, seed=seed)


def fit_cleaned(
    data: Cleaned,
    motor: Motor,
    plate: Plate,
    *,
    exponents: tuple[float, ...] = USUAL,
    cages: int = 2,
    temperature: float | None = None,
    seed: int = 1,
) -> StartFit:
    """As `fit_start`, from a cleaned recording and the motor that the plate makes likely."""
    if not exponents or len(set(exponents)) != len(exponents) or not all(0 <= e <= 4 for e in exponents):
        raise InputError.of("exponents", exponents, "load terms need different exponents from 0 to 4", "give (0, 2)")
    if cages not in (1, 2):
        raise InputError.of("cages", cages, "one or two cages are fitted", "give 1 or 2")
    begin = _begin_speed(data)
    coast = _coast(data)
    model = model_of(data, motor, cages, exponents, begin)
    residuals = residuals_of(model, plate.inertia, _prior(coast, model))
    z = _solved(residuals, min(_sweep(model), key=lambda start: _cost(residuals, start)))
    residuals = replace(residuals, whitening=whitening_of(residuals, z, seed))
    found = uncertain(residuals, _solved(residuals, z), seed)
    x = residuals.x(found.z)
    result = recording_result(residuals, x, found, coast=coast, temperature=temperature)
    warm = TEMPERATURE if temperature is None else temperature
    return _dressed(model, x, found.covariance, motor, result, warm)


def _begin_speed(data: Cleaned) -> float:
    """Speed at switching on: as recorded, at rest otherwise."""
    if data.speed is None:
        return 0.0
    first = data.speed[: max(3, round(0.01 / data.step))]
    known = first[np.isfinite(first)]
    mean = float(known.mean()) if known.size else 0.0
    top = float(np.nanmax(np.abs(data.speed)))
    return mean if mean > 0.05 * top else 0.0


def _coast(data: Cleaned) -> CoastFit | None:
    """The coast-down behind the start, when there is one long enough to tell."""
    if data.coast_time is None or data.coast_speed is None:
        return None
    try:
        return fit_coast_down(data.coast_time, data.coast_speed, source=data.source)
    except InputError:
        return None


def _prior(coast: CoastFit | None, model: StartModel) -> CoastPrior | None:
    if coast is None:
        return None
    speed = np.linspace(coast.speed_low, coast.speed_high, len(model.exponents) + 1)
    ratio, covariance = coast.ratio_at(speed)
    floor = np.diag((0.01 * np.abs(ratio)) ** 2)  # the law of the load and that of the coast-down need not agree better
    whiten = np.linalg.inv(np.linalg.cholesky(covariance + floor))
    return CoastPrior(speed=speed, ratio=ratio, whiten=whiten)


def _solved(residuals: Residuals, start: Array) -> Array:
    """Best z, from `start`.

    Damped Gauss-Newton on the normal equations: z is scaled by what is known beforehand, so they are well conditioned.
    Ends when a step is a hundredth of the standard errors it has found.

    Raises:
        InputError: the model cannot follow the recording at all.
    """
    model = residuals.model
    low = np.full(len(model.unknowns), -8.0)
    for i in model.load_places:
        low[i] = (LEAST_LOAD - model.centre[i]) / model.spread[i]
    z = np.maximum(start, low)
    r, damping = residuals(z), 1e-3
    for _ in range(MOST_STEPS):
        rows = residuals.jacobian(z)
        normal, push = rows.T @ rows, -(rows.T @ r)
        while damping < 1e9:
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), push)
            ahead = np.clip(z + step, low, 8.0)
            there = _safe(residuals, ahead)
            if there is not None and there @ there < r @ r:
                break
            damping *= 8.0
        else:
            break
        moved = ahead - z
        z, r, damping = ahead, there, max(damping / 10.0, 1e-9)
        if moved @ normal @ moved < ENOUGH**2:
            break
    if not np.isfinite(r @ r):
        raise InputError.of(
            "recording", model.data.source, "no motor like this plate starts like that", "check plate, units and names"
        )
    best: Array = z
    return best


def _safe(residuals: Residuals, z: Array) -> Array | None:
    """Residuals, or None where the model runs away."""
    with np.errstate(all="ignore"):
        r = residuals(z)
    return r if np.isfinite(r @ r) else None


def _cost(residuals: Residuals, z: Array) -> float:
    with np.errstate(all="ignore"):
        r = residuals(z)
        cost = float(np.sum(np.minimum(r * r, 1e12)))
    return cost if np.isfinite(cost) else np.inf


def _sweep(model: StartModel) -> list[Array]:
    starts = []
    for inertia in np.linspace(-1.6, 1.6, 17):
        for load in (0.05, 0.35, 0.8):
            z = np.zeros(len(model.unknowns))
            z[model.place("J")] = inertia
            for i in model.load_places:
                z[i] = (load / len(model.exponents) - model.centre[i]) / model.spread[i]
            starts.append(z)
    return starts


def _dressed(
    model: StartModel, x: Array, covariance: Array, motor: Motor, result: RecordingResult, temperature: float
) -> StartFit:
    total = float(np.exp(x[model.place("J")]))
    rotor = min(motor.inertia, 0.95 * total)
    fitted = replace(
        motor,
        circuit=model.circuit(x),
        inertia=rotor,
        mechanical_loss=MechanicalLoss(),
        stray=float(np.exp(x[model.place("Ps")])),
        stator_temperature=temperature,
        rotor_temperature=temperature,
    )
    terms = tuple(
        PowerTerm(coefficient=float(x[i]) * model.rating.torque, exponent=e)
        for i, e in zip(model.load_places, model.exponents, strict=True)
    )
    load = Load(terms=terms, base_speed=model.rating.synchronous_speed, inertia=total - rotor)
    return StartFit(motor=fitted, load=load, result=result, model=model, x=x, covariance=covariance)
