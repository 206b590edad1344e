"""A recorded start laid over its prediction: the band over the supply cases, deviations by name, settings as found."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import isfinite

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.recording import Commissioning, Deviation, RecordingResult, SettingFound
from slipwise.results.series import Array
from slipwise.results.setting import Setting
from slipwise.results.start import Outcome, RunUp

POINTS = 400
INERTIA_TOLERANCE = 0.1  # IEC 60034-1 (from memory): moment of inertia within a tenth
TORQUE_TOLERANCE = 0.1  # common practice, no source: load torque of a study within a tenth
READING, SPEED_READING = 0.02, 0.002  # of a reading: no deviation by less is named (common practice, no source)
EDGE = 0.03  # s at the end of a recording in which means over a cycle are not whole
FIRST, LAST = 0.06, 0.12  # s after switching on between which the standstill current is read
_MEANINGS = {
    ("run-up time", "above"): "load torque or inertia above the study's, or voltage below its weakest case",
    ("run-up time", "below"): "load torque or inertia below the study's, or voltage above its strongest case",
    ("current near standstill", "above"): "rotor leakage below the study's (saturation), or a stiffer supply",
    ("current near standstill", "below"): "rotor leakage above the study's, a weaker supply, or another setting",
    ("lowest terminal voltage", "above"): "supply stiffer than its strongest case, or less current",
    ("lowest terminal voltage", "below"): "supply weaker than its weakest case, or other load on the busbar",
    (
        "current at full speed",
        "above",
    ): "the driven machine takes more than the study's load at full speed, or voltage is off",
    ("current at full speed", "below"): "the driven machine takes less than the study's load at full speed",
    ("speed at the end", "above"): "the driven machine takes less, or the frequency is higher",
    ("speed at the end", "below"): "the driven machine takes more, or the voltage is lower",
    ("inertia of rotor and load", "above"): "check the driven machine's inertia and the gear or belt ratio",
    ("inertia of rotor and load", "below"): "check the driven machine's inertia and the gear or belt ratio",
    ("resisting torque at full speed", "above"): "check load state, valve or damper, friction, and process",
    ("resisting torque at full speed", "below"): "check load state, valve or damper, and process",
}
_NUMBER = re.compile(r"^\s*([+-]?\d+(?:\.\d+)?)\s*(.*?)\s*$")


def lay_over(
    recording: RecordingResult,
    run_ups: Sequence[RunUp],
    *,
    title: str,
    way: str,
    rated_voltage: float,
    inertia: float | None = None,
    load_torque: float | None = None,
    settings: Sequence[Setting] = (),
    found: Mapping[str, str] | None = None,
) -> Commissioning:
    """The commissioning record of one start.

    Args:
        recording: the start as fitted.   run_ups: the same way of starting as predicted, one a supply case.
        title, way: names for the sheet.   rated_voltage: of the motor, line. [V]
        inertia, load_torque: as the study has them, of rotor and load together and at full speed; None: not compared.
            [kg m2] [N m]
        settings: as proposed by the study.   found: as found on site, in words, by the setting's key.

    Returns:
        The band (least and greatest over the cases at each time, the last values held once a case has settled), deviations
        with what each usually means (common practice, no source), settings side by side.

    Raises:
        InputError: no run-up to compare with, or a setting found that was not proposed.
    """
    if not run_ups:
        raise InputError.of("run_ups", "none", "there is no prediction to lay it over", "run the study first")
    known = {setting.key for setting in settings}
    for key in found or {}:
        if key not in known:
            listed = ", ".join(sorted(known))
            remedy = f"one of: {listed}" if known else "this way has no settings of its own: leave it out"
            raise InputError.of("settings", key, "the study proposes no such setting", remedy)
    end = max(float(recording.speed_time[-1]), *(min(float(run.time[-1]), 1e4) for run in run_ups))
    time = np.linspace(0.0, end, POINTS)
    current = _band(time, [(run.time, run.line_current) for run in run_ups])
    speed = _band(time, [(run.time, run.speed) for run in run_ups])
    voltage = _band(time, [(run.time, run.busbar_voltage[-1]) for run in run_ups])
    rows = [*_deviations(recording, run_ups, rated_voltage), *_values(recording, inertia, load_torque)]
    return Commissioning(
        title=title,
        way=way,
        recording=recording,
        rated_voltage=rated_voltage,
        time=time,
        current_low=current[0],
        current_high=current[1],
        speed_low=speed[0],
        speed_high=speed[1],
        voltage_low=voltage[0],
        voltage_high=voltage[1],
        deviations=tuple(rows),
        settings=tuple(_setting(setting, (found or {}).get(setting.key, "")) for setting in settings),
        cautions=(
            "The band covers the supply cases of the study, not every state of load, temperature or voltage.",
            *recording.cautions,
        ),
    )


def _band(time: Array, curves: Sequence[tuple[Array, Array]]) -> tuple[Array, Array]:
    table = np.array([np.interp(time, t, y) for t, y in curves])
    return table.min(axis=0), table.max(axis=0)


def _deviations(recording: RecordingResult, run_ups: Sequence[RunUp], rated_voltage: float) -> list[Deviation]:
    time, speed = recording.speed_time, recording.speed
    rows = []
    arrived = [run.run_up_time for run in run_ups if run.outcome is Outcome.ARRIVED and run.run_up_time is not None]
    if arrived and speed[-1] > 0:
        at = int(np.flatnonzero(speed >= 0.99 * speed[-1])[0])
        rows.append(_row("run-up time", float(time[at]), arrived, "s"))
    early = (time >= FIRST) & (time <= LAST)
    if early.any():
        predicted = [float(np.interp(0.5 * (FIRST + LAST), run.time, run.line_current)) for run in run_ups]
        rows.append(_row("current near standstill", float(np.mean(recording.current[early])), predicted, "A"))
    settled = time > FIRST
    if settled.any():
        lowest = float(recording.voltage[settled].min()) / rated_voltage
        rows.append(_row("lowest terminal voltage", lowest, [float(r.busbar_voltage[-1].min()) for r in run_ups], "pu"))
    tail = (time > time[-1] - EDGE - 0.06) & (time < time[-1] - EDGE)
    if arrived and tail.any():
        last = float(np.mean(recording.current[tail]))
        rows.append(_row("current at full speed", last, [float(run.line_current[-1]) for run in run_ups], "A"))
        rows.append(
            _row("speed at the end", float(np.mean(speed[tail])), [run.final_speed for run in run_ups], "rad/s")
        )
    return rows


def _values(recording: RecordingResult, inertia: float | None, torque: float | None) -> list[Deviation]:
    rows = []
    for i, (value, room) in enumerate(((inertia, INERTIA_TOLERANCE), (torque, TORQUE_TOLERANCE))):
        if value is not None and isfinite(value):
            ends = [value * (1 - room), value * (1 + room)]
            rows.append(
                _row(recording.region.names[i], float(recording.region.centre[i]), ends, recording.region.units[i])
            )
    return rows


def _row(name: str, recorded: float, predicted: Sequence[float], unit: str) -> Deviation:
    low, high = min(predicted), max(predicted)
    room = (SPEED_READING if unit == "rad/s" else READING) * abs(recorded)
    status = "above" if recorded > high + room else "below" if recorded < low - room else "at the edge"
    status = "inside" if low <= recorded <= high else status
    return Deviation(
        name=name,
        recorded=recorded,
        low=low,
        high=high,
        unit=unit,
        status=status,
        meaning=_MEANINGS.get((name, status), ""),
    )


def _setting(setting: Setting, found: str) -> SettingFound:
    proposed = setting.text or show(setting.value, setting.unit)
    return SettingFound(name=setting.title, proposed=proposed, found=found, same=_same(proposed, found))


def _same(proposed: str, found: str) -> bool | None:
    """Whether two settings in words agree: numbers of one unit within 2 %, else letter by letter; None when not reported."""
    if not found.strip():
        return None
    pair = [_NUMBER.match(text.replace("\u202f", " ").replace("\u00a0", " ")) for text in (proposed, found)]
    if pair[0] and pair[1] and pair[0][2] == pair[1][2]:
        one, other = float(pair[0][1]), float(pair[1][1])
        return bool(abs(one - other) <= 0.02 * max(abs(one), abs(other)))
    return proposed.strip().casefold() == found.strip().casefold()
