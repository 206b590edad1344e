"""The fit of a recorded start as a result: values with ranges, the joint region, traces, and what cannot be told apart."""

from __future__ import annotations

from math import exp, pi, sqrt

import numpy as np

from slipwise.identify import start_fit_kernel as k
from slipwise.identify.coast_down import LIKELY, CoastFit
from slipwise.identify.recording_phases import Vector
from slipwise.identify.start_fit_model import StartModel
from slipwise.identify.start_fit_noise import Uncertain
from slipwise.identify.start_fit_residuals import Residuals
from slipwise.quantity.show import show
from slipwise.results.recording import CHI_SQUARE_95_2, FittedValue, JointRegion, RecordingResult, Trace
from slipwise.results.series import Array

BLIND = 0.6  # standard error left over the one before: from here on a direction counts as not seen
CAUTIONS = (
    "A fit shows what agrees with one recording; another load, voltage or temperature may start otherwise.",
    "Resistances hold at the temperature of the windings in the recorded start.",
    "Recording at live conductors is work for those licensed to do it: isolate and prove dead before fitting probes.",
    "Maker's data, the network operator, local codes and a licensed engineer decide.",
)
NUISANCE = ("flux d", "flux q", "delay")


def recording_result(
    residuals: Residuals,
    x: Array,
    found: Uncertain,
    *,
    coast: CoastFit | None,
    temperature: float | None,
) -> RecordingResult:
    """Dresses a fit. Arguments as in `start_fit`."""
    model, covariance, slow = residuals.model, found.covariance, found.slow
    answer, moved = model.sensitivities(x)
    speed = answer[:, k.AT_SPEED]
    error = np.sqrt(
        np.maximum(np.einsum("in,ij,jn->n", moved[:, :, k.AT_SPEED], covariance, moved[:, :, k.AT_SPEED]), 0.0)
    )
    curve = np.linspace(0.0, float(speed.max()), 101)
    rows = model.load_rows(curve)
    inside = covariance[np.ix_(model.load_places, model.load_places)]
    torque = rows @ x[model.load_places]
    band = LIKELY * np.sqrt(np.einsum("mi,ij,mj->m", rows, inside, rows))
    region = _region(model, x, covariance, float(speed[-1]))
    return RecordingResult(
        source=model.data.source,
        steps=model.data.steps,
        values=_values(model, x, covariance, region, float(speed[-1])),
        region=region,
        traces=_traces(residuals, answer, slow),
        speed_time=model.data.time,
        speed=speed,
        speed_error=error,
        voltage=_fundamental(model, model.data.voltage) * sqrt(1.5),
        current=_fundamental(model, model.data.current) / sqrt(2),
        load_speed=curve,
        load_torque=torque,
        load_low=torque - band,
        load_high=torque + band,
        indistinct=_indistinct(model, covariance, region),
        notes=_notes(residuals, speed, error, found=found, coast=coast, temperature=temperature),
        cautions=CAUTIONS,
    )


def _fundamental(model: StartModel, vector: Vector) -> Array:
    """Length of the mean over a cycle, in which noise and direct current vanish; rms values as they are. Shape (n,)."""
    many = round(1 / model.data.frequency / model.data.step)
    if not model.data.waveform or many < 2 or vector.size < 2 * many:
        return np.abs(vector)
    total = np.convolve(vector, np.ones(many), mode="same")
    number = np.convolve(np.ones(vector.size), np.ones(many), mode="same")
    return np.abs(total / number)


def _region(model: StartModel, x: Array, covariance: Array, full: float) -> JointRegion:
    """Inertia and resisting torque at full speed, together."""
    place = model.place("J")
    inertia = exp(float(x[place]))
    rows = np.zeros((2, x.size))
    rows[0, place] = inertia
    rows[1, model.load_places] = model.load_rows(np.array([full]))[0]
    centre = np.array([inertia, float(rows[1] @ x)])
    both = rows @ covariance @ rows.T
    angle = np.linspace(0, 2 * pi, 121)
    circle = sqrt(CHI_SQUARE_95_2) * np.array([np.cos(angle), np.sin(angle)])
    return JointRegion(
        names=("inertia of rotor and load", "resisting torque at full speed"),
        units=("kg m2", "N m"),
        centre=centre,
        covariance=both,
        outline=centre[:, None] + np.linalg.cholesky(both) @ circle,
        correlation=float(both[0, 1] / sqrt(both[0, 0] * both[1, 1])),
    )


def _values(
    model: StartModel, x: Array, covariance: Array, region: JointRegion, full: float
) -> tuple[FittedValue, ...]:
    rows = []
    errors = np.sqrt(np.diag(covariance))
    for unknown, value, error in zip(model.unknowns, x, errors, strict=True):
        if unknown.symbol in NUISANCE:
            continue
        ends = [float(value) - LIKELY * float(error), float(value), float(value) + LIKELY * float(error)]
        low, middle, high = (unknown.scale * (exp(min(v, 700.0)) if unknown.log else v) for v in ends)
        rows.append(
            FittedValue(
                name=unknown.name,
                symbol=unknown.symbol,
                value=middle,
                unit=unknown.unit,
                low=low,
                high=high,
                narrowed=float(error / unknown.spread),
            )
        )
    torque, error = float(region.centre[1]), sqrt(float(region.covariance[1, 1]))
    beforehand = sqrt(sum((model.spread[i] * model.rating.torque) ** 2 for i in model.load_places))
    rows.append(
        FittedValue(
            name=f"resisting torque at full speed, {show(full, 'rad/s')}",
            symbol="TL",
            value=torque,
            unit="N m",
            low=torque - LIKELY * error,
            high=torque + LIKELY * error,
            narrowed=error / beforehand,
        )
    )
    return tuple(rows)


def _traces(residuals: Residuals, answer: Array, slow: list[float]) -> tuple[Trace, ...]:
    names = {"current d": "current, in phase with the frame", "current q": "current, across the frame"}
    rows = []
    for part, shown, ratio in zip(residuals.parts, residuals.shown(answer), slow, strict=True):
        measured = np.where(part.weight > 0, part.measured, np.nan)
        away = (shown - part.measured)[part.weight > 0] / part.noise
        rows.append(
            Trace(
                name=names.get(part.name, part.name),
                unit=part.unit,
                time=residuals.model.data.time,
                measured=measured,
                fitted=shown,
                noise=part.noise,
                misfit=float(np.sqrt(np.mean(away**2))),
                slow_misfit=ratio,
            )
        )
    return tuple(rows)


def _indistinct(model: StartModel, covariance: Array, region: JointRegion) -> tuple[str, ...]:
    """Directions in which the recording left the values where they had been before, and pairs that trade."""
    scaled = covariance / np.outer(model.spread, model.spread)
    size, turns = np.linalg.eigh(scaled)
    sentences = []
    for value, vector in zip(size[::-1], turns.T[::-1], strict=True):
        if sqrt(float(value)) < BLIND:
            break
        members = [
            u.symbol for u, v in zip(model.unknowns, vector, strict=True) if abs(v) > 0.3 and u.symbol not in NUISANCE
        ]
        left = f"{100 * min(sqrt(float(value)), 1.0):.0f} % of the range before the recording is left"
        if len(members) == 1:
            sentences.append(f"{members[0]} is hardly seen in this recording: {left}.")
        elif members:
            listed = f"{', '.join(members[:-1])} and {members[-1]}"
            sentences.append(f"{listed} cannot be told apart: along the line on which they trade, {left}.")
    if abs(region.correlation) > 0.9:
        sentences.append(
            f"Inertia and resisting torque trade against each other (correlation {region.correlation:.2f}): a coast-down "
            "from the same speed would part them."
        )
    return tuple(sentences)


def _notes(
    residuals: Residuals,
    speed: Array,
    error: Array,
    *,
    found: Uncertain,
    coast: CoastFit | None,
    temperature: float | None,
) -> tuple[str, ...]:
    model, slow, widened = residuals.model, found.slow, found.widened
    cages = "two rotor cages" if model.cages == 2 else "one rotor cage"
    notes = [
        f"Fitted with {cages}; the voltage is used as recorded. Saturation of the leakage paths is not in the model.",
        "The resisting torque counts friction and windage with the driven machine; stray load loss is an unknown of its own.",
        "Ranges are those of 95 %, from noise in current, speed and voltage and from what was likely before the recording.",
    ]
    if not model.data.waveform:
        notes.append(
            "Rms values carry neither phase nor the first cycles: the ranges rest more on what was likely beforehand, and the "
            "recorder is taken to show the mean over the last cycle. Waveforms tell several times more."
        )
    if model.data.speed is None:
        worst = int(error.argmax())
        notes.append(
            f"Speed was not recorded: it follows from current and voltage, with a standard error of at most "
            f"{show(float(error[worst]), 'rad/s')} (at {show(float(model.data.time[worst]), 's')}) and "
            f"{show(float(error[-1]), 'rad/s')} at the end, if the model holds."
        )
    if model.data.torque is not None and not any(part.name == "torque" for part in residuals.parts):
        notes.append("The recorded torque was not used: that needs the rotor's own inertia on the plate.")
    if coast is not None:
        notes.append("The coast-down in the recording was fitted too; it fixes the ratio of torque to inertia.")
    if widened > 1:
        worst_part = residuals.parts[int(np.argmax(slow))].name
        notes.append(
            f"The {worst_part} departs from the model by {max(slow):.2g} times what noise explains: the model misses "
            "something, and all ranges were widened by that factor. They are then a guide and no more."
        )
    if temperature is None:
        notes.append("The temperature of the windings was not given; 40 °C is assumed, 15 °C to 110 °C is possible.")
    if speed[-1] < 0.9 * model.rating.synchronous_speed:
        notes.append(
            "The recording ends below nine tenths of synchronous speed: torque beyond its end is extrapolated."
        )
    return tuple(notes)
