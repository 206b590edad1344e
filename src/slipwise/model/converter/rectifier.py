"""Six-pulse diode bridge behind line inductance, with or without a choke, on a dc voltage held by a capacitor.

Between two switchings the current is an exact piece of sine and straight line; only the moments of switching are sought.
Angles are in rad of the line period, measured from the peak of the conducting pair's voltage; one sixth of a period is
computed, the rest follows from symmetry. Ripple of the dc voltage is left out (a large capacitor).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import acos, asin, atan2, cos, hypot, inf, pi, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slipwise.model.machine.checks import require_positive
from slipwise.quantity.errors import DomainError

DC_PER_LINE = 3 * sqrt(2) / pi  # mean of the rectified line voltage over its rms: 1.35
ORDERS = tuple(h for k in range(1, 9) for h in (6 * k - 1, 6 * k + 1))  # 5 to 49
_SIXTH = pi / 3
_SAMPLES = 192  # of a sixth of the period


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """A diode bridge as its line sees it.

    voltage: line voltage behind the line reactance, rms [V]. line_reactance: supply and ac choke, per phase [ohm].
    dc_reactance: of a choke in the link at line frequency [ohm].
    """

    voltage: float
    line_reactance: float
    dc_reactance: float = 0.0

    def __post_init__(self) -> None:
        """Refuses a bridge on a source of no inductance at all, whose current would know no limit."""
        require_positive("bridge.voltage", self.voltage)
        require_positive("bridge.line_reactance", self.line_reactance)
        if not 0 <= self.dc_reactance < inf:
            raise DomainError.of(
                "bridge.dc_reactance", self.dc_reactance, "cannot be negative", "give zero or more ohm"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCurrent:
    """What the bridge draws at one load.

    dc_voltage V; dc_current, mean A. fundamental, rms: of the line current A. angle: by which the fundamental lags the
    voltage behind the line reactance, rad. harmonics: rms A by order. overlap: of two diodes commutating, rad; 0 when the
    current is interrupted. steady: whether the dc current never falls to zero. wave: one period of line current from the
    positive zero of its phase voltage, shape (1152,), A.
    """

    dc_voltage: float
    dc_current: float
    fundamental: float
    rms: float
    angle: float
    harmonics: tuple[tuple[int, float], ...]
    overlap: float
    steady: bool
    wave: tuple[float, ...]

    @property
    def distortion(self) -> float:
        """Total harmonic distortion, of the fundamental. [1]"""
        return sqrt(max(self.rms**2 - self.fundamental**2, 0.0)) / self.fundamental if self.fundamental else 0.0


@dataclass(frozen=True, slots=True)
class _Cell:
    """One sixth of the period: two diodes from `start` with `current` to `turn_on`, then three until `end`.

    When the current dies between the commutation and its own next rise, `left` is what the commutation left and `dead` the
    angle at which it is gone, counted like `start`; else 0 and `start`.
    """

    start: float
    current: float
    turn_on: float
    end: float
    steady: bool
    left: float = 0.0
    dead: float = 0.0


def ideal_harmonic(order: int) -> float:
    """Harmonic over fundamental of 120-degree blocks of line current: 1/h for orders 6k +- 1, else 0. [1]

    Source: Fourier series of the block (Mohan, Undeland, Robbins, Power Electronics, 3rd ed., ch. 5).
    """
    return 1.0 / order if order % 6 in {1, 5} else 0.0


@lru_cache(maxsize=256)
def at_power(bridge: Bridge, power: float) -> LineCurrent:
    """The bridge when the dc side takes `power`. [W]

    Raises:
        DomainError: the power is negative, not finite, or beyond what two commutating diodes at a time can carry.

    Source: Mohan, Undeland, Robbins, Power Electronics, 3rd ed., ch. 5 (three-phase bridge, constant dc voltage); each
    piece is the exact solution of its loop equation.
    """
    if not 0 <= power < inf:
        raise DomainError.of("power", power, "a diode bridge takes power in one direction", "give zero or more watt")
    peak = sqrt(2) * bridge.voltage
    if power <= 1e-9 * bridge.voltage**2 / bridge.line_reactance:
        return _nothing(peak)
    volts, powers = _loading(bridge)

    def surplus(voltage: float) -> float:
        return voltage * _mean(bridge, voltage, _cell(bridge, voltage)) - power

    if power > powers[-1]:
        most = powers[-1]
        raise DomainError.of(
            "power", power, f"the supply is too weak: the bridge carries {most:.4g} W", "lessen the load"
        )
    i = int(np.searchsorted(powers, power))
    ends = (volts[i], powers[i] - power), (volts[i - 1], powers[i - 1] - power)
    voltage = _root(surplus, *ends, 1e-9 * power)
    return _line(bridge, voltage, _cell(bridge, voltage))


@lru_cache(maxsize=256)
def least_voltage(bridge: Bridge) -> float:
    """DC voltage down to which one commutation is over before the next begins (overlap of 60 degrees). [V]

    Found as the lowest voltage with a periodic current of that kind; 3/4 of the ideal mean with a smooth dc current.
    """
    peak = sqrt(2) * bridge.voltage
    low, high = 0.70 * peak, 0.80 * peak
    for _ in range(24):
        middle = (low + high) / 2
        cell = _cell(bridge, middle)
        good = cell.end - cell.turn_on < 0.98 * _SIXTH
        low, high = (low, middle) if good else (middle, high)
    return high


@lru_cache(maxsize=256)
def _loading(bridge: Bridge) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """DC voltages downwards from the peak, and the power at each: where to look for a load. [V], [W]"""
    peak = sqrt(2) * bridge.voltage
    down = peak - (peak - least_voltage(bridge)) * np.linspace(0.0, 1.0, 25)
    volts = tuple(float(v) for v in down)
    return volts, (0.0, *(v * _mean(bridge, v, _cell(bridge, v)) for v in volts[1:]))


def _root(
    f: Callable[[float], float], lower: tuple[float, float], upper: tuple[float, float], tolerance: float
) -> float:
    """Zero of a falling function between two points of it, to a tolerance in its value, by regula falsi with halving."""
    (low, at_low), (high, at_high), side = lower, upper, 0
    for _ in range(80):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = f(middle)
        if abs(value) < tolerance or high - low < 1e-14 * high:
            return middle
        if value > 0:
            low, at_low = middle, value
            at_high, side = (at_high / 2 if side > 0 else at_high), 1
        else:
            high, at_high = middle, value
            at_low, side = (at_low / 2 if side < 0 else at_low), -1
    return middle


def _turn_on(bridge: Bridge, voltage: float) -> float:
    """Angle at which the next pair's diode is forward biased while the present pair carries all the current."""
    k = (bridge.line_reactance + bridge.dc_reactance) / (2 * bridge.line_reactance + bridge.dc_reactance)
    lean = atan2(k - 0.5, sqrt(0.75))
    size = hypot(k - 0.5, sqrt(0.75)) * sqrt(2) * bridge.voltage
    return lean + asin(min(voltage * (1 - k) / size, 1.0))


def _two(bridge: Bridge, voltage: float, start: float, current: float, angle: Any, sine: Any) -> Any:
    """DC current at `angle`, whose sine is given, while two diodes carry it; shape of the angle. [A]"""
    rise = sqrt(2) * bridge.voltage * (sine - sin(start)) - voltage * (angle - start)
    return current + rise / (2 * bridge.line_reactance + bridge.dc_reactance)


def _three(bridge: Bridge, voltage: float, turn_on: float, current: float, angle: Any) -> tuple[Any, Any]:
    """DC current and the share of it still in the outgoing diode while three diodes conduct; shape of `angle`. [A]"""
    peak, middle, first = sqrt(2) * bridge.voltage, angle - pi / 6, turn_on - pi / 6
    sine, cosine = (sin(middle), cos(middle)) if isinstance(angle, float) else (np.sin(middle), np.cos(middle))
    drive = peak * sqrt(0.75) * (sine - sin(first)) - voltage * (angle - turn_on)
    common = drive / (1.5 * bridge.line_reactance + bridge.dc_reactance)
    shift = peak * (cosine - cos(first)) / bridge.line_reactance
    return current + common, current + (common + shift) / 2


def _cell(bridge: Bridge, voltage: float) -> _Cell:
    """The periodic sixth at a dc voltage below the peak of the line voltage."""
    begin = -acos(min(voltage / (sqrt(2) * bridge.voltage), 1.0))
    turn_on = _turn_on(bridge, voltage)
    first = _two(bridge, voltage, begin, 0.0, turn_on, sin(turn_on))
    if first <= 0:
        return _Cell(begin, 0.0, turn_on, _zero(bridge, voltage, begin, 0.0, turn_on, -begin), steady=False)

    def onward(carried: float) -> tuple[float, float, float]:
        """The current at the next turn-on from that at this one; with the end of commutation and the current there."""
        end = _commutated(bridge, voltage, turn_on, carried)
        left = _three(bridge, voltage, turn_on, carried, end)[0]
        start = end - _SIXTH
        if start < begin and _two(bridge, voltage, start, left, begin, sin(begin)) <= 0:
            return first, end, left
        return _two(bridge, voltage, start, left, turn_on, sin(turn_on)), end, left

    carried = _fixed_point(lambda x: onward(x)[0], first)
    _, end, left = onward(carried)
    start = end - _SIXTH
    if start < begin and _two(bridge, voltage, start, left, begin, sin(begin)) <= 0:
        dead = _zero(bridge, voltage, start, left, begin)
        return _Cell(begin, 0.0, turn_on, end, steady=False, left=left, dead=dead)
    return _Cell(end - _SIXTH, left, turn_on, end, steady=True)


def _fixed_point(f: Callable[[float], float], guess: float) -> float:
    """x = f(x) for a rising f of slope below one, by secants on f(x) - x."""
    a, at_a = guess, f(guess) - guess
    b = guess + at_a
    for _ in range(60):
        at_b = f(b) - b
        if abs(at_b) <= 1e-12 * abs(b) or at_b == at_a:
            return b
        a, at_a, b = b, at_b, max(b - at_b * (b - a) / (at_b - at_a), 0.0)
    return b


def _zero(
    bridge: Bridge, voltage: float, start: float, current: float, last: float, first: float | None = None
) -> float:
    """Where a current that two diodes carry falls to zero, between `first` (by default `start`) and `last`."""
    low, high = start if first is None else first, last
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _two(bridge, voltage, start, current, middle, sin(middle)) > 0 else (low, middle)
    return high


def _commutated(bridge: Bridge, voltage: float, turn_on: float, carried: float) -> float:
    """Where the outgoing diode's current has fallen to zero; one sixth after turn-on when it has not by then."""
    last = turn_on + _SIXTH
    if _three(bridge, voltage, turn_on, carried, last)[1] > 0:
        return last
    # Newton from the far side: the outgoing current bends downwards all the way, so each step stays beyond the zero
    angle, peak = last, sqrt(2) * bridge.voltage
    for _ in range(60):
        value = _three(bridge, voltage, turn_on, carried, angle)[1]
        drive = peak * sqrt(0.75) * cos(angle - pi / 6) - voltage
        slope = (drive / (1.5 * bridge.line_reactance + bridge.dc_reactance)) / 2
        slope -= peak * sin(angle - pi / 6) / bridge.line_reactance / 2
        step = value / slope
        angle -= step
        if step < 1e-9:
            break
    return angle


def _mean(bridge: Bridge, voltage: float, cell: _Cell) -> float:
    """Mean dc current, integrated exactly. [A]"""
    peak = sqrt(2) * bridge.voltage
    total = _charge(bridge, voltage, cell.start, cell.current, min(cell.turn_on, cell.end))
    if cell.left:
        total += _charge(bridge, voltage, cell.end - _SIXTH, cell.left, cell.dead)
    if cell.end > cell.turn_on:
        carried = _two(bridge, voltage, cell.start, cell.current, cell.turn_on, sin(cell.turn_on))
        first, end, over = cell.turn_on - pi / 6, cell.end - pi / 6, cell.end - cell.turn_on
        area = peak * sqrt(0.75) * (cos(first) - cos(end) - sin(first) * over) - voltage * over**2 / 2
        total += carried * over + area / (1.5 * bridge.line_reactance + bridge.dc_reactance)
    return float(total) / _SIXTH


def _charge(bridge: Bridge, voltage: float, start: float, current: float, last: float) -> float:
    """Integral of the dc current over the angle while two diodes carry it. [A rad]"""
    span = last - start
    area = sqrt(2) * bridge.voltage * (cos(start) - cos(last) - sin(start) * span) - voltage * span**2 / 2
    return current * span + area / (2 * bridge.line_reactance + bridge.dc_reactance)


def _line(bridge: Bridge, voltage: float, cell: _Cell) -> LineCurrent:
    """One phase's current assembled from the sixth, and its Fourier series."""
    wave = _wave(bridge, voltage, cell)
    spectrum = np.fft.rfft(wave) / wave.size * sqrt(2)
    fundamental = complex(spectrum[1]) * 1j  # a sine of the phase voltage has angle zero
    return LineCurrent(
        dc_voltage=voltage,
        dc_current=_mean(bridge, voltage, cell),
        fundamental=abs(fundamental),
        rms=float(np.sqrt(np.mean(wave**2))),
        angle=-atan2(fundamental.imag, fundamental.real),
        harmonics=tuple((h, float(abs(spectrum[h]))) for h in ORDERS),
        overlap=max(cell.end - cell.turn_on, 0.0),
        steady=cell.steady,
        wave=tuple(wave.tolist()),
    )


def _wave(bridge: Bridge, voltage: float, cell: _Cell) -> NDArray[np.float64]:
    """Line current of phase a over one period, from the positive zero of its voltage.

    A sixth is taken from one turn-on to the next; the incoming phase's own voltage (a sine, in the sense of its current)
    stands at the turn-on angle then, 30 degrees with a smooth dc current.
    """
    step = _SIXTH / _SAMPLES
    angle = cell.turn_on + (np.arange(_SAMPLES) + 0.5) * step
    before = angle - _SIXTH  # of the next pair, once it carries alone
    alone = _two(bridge, voltage, cell.start, cell.current, before, np.sin(before))
    total = np.where((before >= cell.start) & (before <= min(cell.turn_on, cell.end)), alone, 0.0)
    if cell.left:
        dying = _two(bridge, voltage, cell.end - _SIXTH, cell.left, before, np.sin(before))
        total = np.where((before >= cell.end - _SIXTH) & (before <= cell.dead), dying, total)
    incoming = total
    if cell.end > cell.turn_on:
        carried = _two(bridge, voltage, cell.start, cell.current, cell.turn_on, sin(cell.turn_on))
        whole, outgoing = _three(bridge, voltage, cell.turn_on, carried, angle)
        together = angle < cell.end
        total, incoming = np.where(together, whole, total), np.where(together, whole - outgoing, total)
    fading = total - incoming
    # a phase takes over, carries all, hands over; then the same with the other sign
    half = np.concatenate((incoming, total, fading))
    period = np.concatenate((half, -half))
    return _shifted(period, cell.turn_on + 0.5 * step)


def _shifted(period: NDArray[np.float64], first: float) -> NDArray[np.float64]:
    """The same wave sampled from angle zero, when its first sample stands at angle `first`; by its Fourier series."""
    spectrum = np.fft.rfft(period)
    orders = np.arange(spectrum.size)
    back: NDArray[np.float64] = np.fft.irfft(spectrum * np.exp(-1j * orders * first), period.size)
    return back


def _nothing(peak: float) -> LineCurrent:
    return LineCurrent(
        dc_voltage=peak,
        dc_current=0.0,
        fundamental=0.0,
        rms=0.0,
        angle=0.0,
        harmonics=tuple((h, 0.0) for h in ORDERS),
        overlap=0.0,
        steady=False,
        wave=(0.0,) * (6 * _SAMPLES),
    )
