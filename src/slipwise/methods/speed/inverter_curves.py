"""Families of characteristics and the torque envelope of a motor behind an inverter; each family is one array call."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from slipwise.methods.speed.cooling import winding_heat
from slipwise.methods.speed.inverter_point import TOLERANCE, Arrangement
from slipwise.methods.speed.voltage_law import LEAST_FREQUENCY, VoltageLaw, steepest_slip
from slipwise.methods.speed.way import SpeedTask
from slipwise.model.converter.harmonics import motor_harmonics
from slipwise.results.series import Array
from slipwise.results.speed import Envelope, Family, FamilyCurve
from slipwise.solve.converter_feed import Feed

_SPEEDS, _SLIPS = 61, 161
_CURVE = 201


def top_speed(task: SpeedTask, feed: Feed, base_frequency: float) -> float:
    """How far curves and envelope are drawn: half as fast again as rated, past base frequency and the duty. [rad/s]"""
    reach = max(
        1.5 * feed.motor.rating.speed, 1.2 * base_frequency * feed.per_hertz, *(1.1 * d.speed for d in task.duty)
    )
    return min(reach, feed.motor.maximum_speed)


def frequency_curves(
    feed: Feed, law: VoltageLaw, frequencies: Sequence[float], top: float, points: int = _CURVE
) -> tuple[FamilyCurve, ...]:
    """Torque and current against speed, from standstill to synchronous, at each frequency (Hz)."""
    f = np.asarray(frequencies, dtype=float)[:, None]
    # closer near synchronous speed, where the motor works
    share = 1 - np.linspace(1.0, 1e-4, points) ** 2
    fed = law.fed(feed, f * np.ones(points), f * (1 - share), top)
    return tuple(
        FamilyCurve(
            label=f"{frequency:.3g} Hz",
            value=float(frequency),
            unit="Hz",
            speed=fed.speed[i],
            torque=fed.torque[i],
            current=fed.current[i],
        )
        for i, frequency in enumerate(frequencies)
    )


def family(
    task: SpeedTask, *, key: str, title: str, parameter: str, curves: tuple[FamilyCurve, ...], reach: float, note: str
) -> Family:
    """Curves with the load they meet, drawn to `reach` (rad/s). Rotor power is small, so 1 - s is no bound worth drawing."""
    speed = np.linspace(0.0, reach, _CURVE)
    return Family(
        key=key,
        title=title,
        parameter=parameter,
        curves=curves,
        load_speed=speed,
        load_torque=np.asarray(task.drive.load.torque(speed), dtype=float),
        bound="",
        note=note,
    )


def envelope(arranged: Arrangement, task: SpeedTask, reach: float) -> Envelope:
    """Greatest torque for good and for a short time at each speed, and what limits it.

    For good: heat of the windings, harmonics at rated frequency included, against the cooling at that speed and place;
    converter current; breakdown torque less tolerance over the reserve. Short time: the converter's overload current and
    breakdown torque less tolerance.
    """
    feed, converter = arranged.feed, arranged.converter
    speed = np.linspace(0.0, reach, _SPEEDS)
    slip = steepest_slip(feed) * np.linspace(1e-3, 1.0, _SLIPS) ** 2
    frequency = np.maximum(speed[:, None] / feed.per_hertz + slip[None, :], LEAST_FREQUENCY)
    slips = np.broadcast_to(slip, frequency.shape)
    fed = arranged.law.fed(feed, frequency, slips, arranged.linked_top)
    breakdown, slip_there = _breakdown(arranged, slip, float(frequency.max()))
    rising = slips <= np.interp(frequency, *slip_there)
    peak = TOLERANCE * np.interp(frequency, *breakdown)
    heat = winding_heat(feed.motor, task.site, speed[:, None], fed.copper_loss + _harmonic_copper(arranged))
    uses = {
        "cooling": heat,
        "current": fed.current / converter.current,
        "breakdown reserve": fed.torque * arranged.reserve / peak,
    }
    continuous, words = _greatest(fed.torque, rising, uses)
    overload = {"current": fed.current / (task.overload * converter.current), "breakdown reserve": fed.torque / peak}
    short_time, _ = _greatest(fed.torque, rising, overload)
    return Envelope(speed=speed, continuous=continuous, short_time=short_time, continuous_limit=words)


def _breakdown(arranged: Arrangement, slip: Array, last: float) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Breakdown torque (N m) and slip frequency there (Hz), each against stator frequency up to `last` (Hz)."""
    frequency = np.linspace(LEAST_FREQUENCY, last, 2 * _SPEEDS)
    grid = np.broadcast_to(slip, (frequency.size, slip.size))
    torque = arranged.law.fed(arranged.feed, frequency[:, None] * np.ones(slip.size), grid, arranged.linked_top).torque
    at = np.argmax(torque, axis=1)
    return (frequency, torque[np.arange(frequency.size), at]), (frequency, slip[np.minimum(at + 1, slip.size - 1)])


def _harmonic_copper(arranged: Arrangement) -> float:
    """Copper loss of the harmonics at rated voltage and frequency. [W]"""
    rating, converter = arranged.feed.motor.rating, arranged.converter
    link = converter.link_at(rating.power)
    return motor_harmonics(
        arranged.feed.circuit,
        frequency=rating.frequency,
        ratio=sqrt(3) * min(rating.phase_voltage, arranged.linked_top) / link,
        dc_voltage=link,
        switching_frequency=converter.switching_frequency,
        modulation=converter.modulation,
        power=rating.power,
    ).copper


def _greatest(torque: Array, rising: NDArray[np.bool_], uses: dict[str, Array]) -> tuple[Array, tuple[str, ...]]:
    """Per row the torque at which the first of `uses` (each 1 at its limit) is used up, and which it is."""
    names = tuple(uses)
    stack = np.stack([uses[name] for name in names])
    worst, which = stack.max(axis=0), stack.argmax(axis=0)
    found, words = [], []
    for row in range(torque.shape[0]):
        good = (worst[row] <= 1) & rising[row]
        last = int(np.flatnonzero(good)[-1]) if good.any() else -1
        beyond = min(last + 1, torque.shape[1] - 1)
        found.append(_between(torque[row], worst[row], last, beyond) if last >= 0 else 0.0)
        words.append(names[int(which[row, beyond])])
    return np.maximum(np.array(found), 0.0), tuple(words)


def _between(torque: Array, worst: Array, last: int, beyond: int) -> float:
    """Torque where the use is just 1, on the straight line between two grid points."""
    if beyond == last or worst[beyond] <= 1:
        return float(torque[last])
    share = (1 - worst[last]) / (worst[beyond] - worst[last])
    return float(torque[last] + share * (torque[beyond] - torque[last]))
