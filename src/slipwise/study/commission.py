"""A recorded start against the study that predicted it: the way run, the recording fitted, one laid over the other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import isfinite

from slipwise.identify.recording import Recording
from slipwise.identify.records import Plate
from slipwise.quantity.errors import InputError
from slipwise.results.recording import Commissioning
from slipwise.results.study import StudyResult, WayResult
from slipwise.study.model import Study


def commission(
    study: Study,
    recording: Recording,
    *,
    way: str | None = None,
    found: Mapping[str, str] | None = None,
    temperature: float | None = None,
) -> Commissioning:
    """Lays a recorded start over the band that the study predicts for a way of starting.

    Args:
        study: with motor by plate, circuit or readings, load and supply.   recording: of the start on site.
        way: key of the way as installed; None: the one the study recommends.
        found: settings as found on site, in words, by the setting's key.   temperature: of the windings then. [degC]

    Raises:
        InputError: the way was not asked for or does not run, no way is recommended, a setting that was not proposed; as
            `identify.start_fit.fit_start`.

    The fit begins from the study's own motor; the resisting torque compared is that of the first state of the load.
    """
    from slipwise.identify.commissioning import lay_over
    from slipwise.identify.recording_clean import clean
    from slipwise.identify.start_fit import fit_cleaned
    from slipwise.study.run import run

    motor = study.motor
    if motor.circuit is None:
        raise InputError.of("motor", "curves", "a fit needs a motor with a circuit", "give a plate or a circuit")
    chosen = _way(run(study, transients=False, boundaries=False, ensemble=0), way)
    plate = study.nameplate or _plate(study)
    data = clean(recording, motor.rating)
    fit = fit_cleaned(data, motor, replace(plate, inertia=motor.inertia), temperature=temperature)
    full = float(fit.result.speed[-1])
    torque = float(study.load.running(full)) + float(motor.mechanical_torque(full))
    return lay_over(
        fit.result,
        chosen.run_ups,
        title=study.title,
        way=chosen.title,
        rated_voltage=motor.rating.voltage,
        inertia=motor.inertia + study.load.inertia,
        load_torque=torque if isfinite(torque) and torque > 0 else None,
        settings=chosen.settings,
        found=found,
    )


def _way(result: StudyResult, key: str | None) -> WayResult:
    wanted = key or result.recommendation.way
    if wanted is None:
        listed = ", ".join(way.key for way in result.ways)
        raise InputError.of("way", "none", "the study recommends no way", f"name the one installed: {listed}")
    for way in result.ways:
        if way.key == wanted and way.run_ups:
            return way
    listed = ", ".join(way.key for way in result.ways if way.run_ups)
    raise InputError.of("way", wanted, "it was not computed in this study", f"one of: {listed}")


def _plate(study: Study) -> Plate:
    """What the rating says, as a plate."""
    rating = study.motor.rating
    return Plate(
        power=rating.power,
        voltage=rating.voltage,
        frequency=rating.frequency,
        poles=rating.poles,
        connection=rating.connection,
        speed=rating.speed,
        current=rating.current,
    )
