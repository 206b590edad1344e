"""Six-pulse diode bridge fed from slip rings through resistance and leakage into a smooth direct current.

With a smooth link current Id the bridge is one simple thing: the phase currents, which sum to zero, may not exceed Id in
any phase, so the current vector is held inside a hexagon, and it slides along an edge while two phases commutate. Three
diodes at once, four at once, and the short-circuited bridge are places of the same hexagon; no mode needs its own law.
Only the ratio of resistance to reactance and the current per unit of short-circuit current matter, so that the bridge is
computed once on a grid of both and read from it: rotor resistance, which rules commutation at small slip, is in it.

All values are at the slip rings: per-phase, star, rms volts and amperes, ohms at slip frequency.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi, sqrt
from typing import Any

import numpy as np

DC_PER_PHASE = 3 * sqrt(6) / pi  # mean of the rectified voltage over rms phase voltage: 2.339
DC_PER_LINE = 3 * sqrt(2) / pi  # over rms line voltage: 1.350
FUNDAMENTAL_PER_DC = sqrt(6) / pi  # rms fundamental of a 120 degree block over its height: 0.780
RMS_PER_DC = sqrt(2 / 3)
ORDERS = (5, 7, 11, 13)
_ROOTS = np.linspace(0.0, 1.0, 81)  # of current over short-circuit current: the overlap grows with this root
_ANGLES = np.linspace(0.0, pi / 2, 31)  # atan(resistance / reactance)
_STEPS, _SIXTHS = 48, 9  # steps a sixth of a period; sixths marched, of which the last counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BridgePoint:
    """The bridge at one link current or many; fields have the shape asked for.

    current: in the link [A]. fundamental: of the ring current, rms phasor against the open-circuit voltage [A].
    square: mean square of the ring current [A2]. voltage: mean link voltage before the devices' own drop [V].
    harmonics: rms of ORDERS of slip frequency, first axis along the orders [A].
    """

    current: Any
    fundamental: Any
    square: Any
    voltage: Any
    harmonics: Any


def bridge(current: Any, open_voltage: Any, resistance: Any, reactance: Any) -> BridgePoint:
    """What the bridge draws at a smooth link current. All arguments broadcast together.

    Args:
        current: in the link, from 0 to `short_circuit_current`; beyond that the bridge is a short circuit. [A]
        open_voltage: phase voltage behind the impedance, rms; zero or more. [V]
        resistance, reactance: per phase behind the rings at slip frequency. [ohm]

    The power is exact for the currents used: 3 E Re(I) = 3 R Irms^2 + Vd Id.
    Source: hexagon of the phase currents as above; the ends are those of Mohan, Undeland, Robbins, Power Electronics,
    ch. 5 (no reactance; commutation under constant current).
    """
    limit = short_circuit_current(open_voltage, resistance, reactance)
    root = np.sqrt(np.clip(current / np.maximum(limit, 1e-300), 0.0, 1.0))
    table = _between(_turned(resistance, reactance), root)
    return _scaled(table, current, open_voltage, resistance)


def short_circuit_current(open_voltage: Any, resistance: Any, reactance: Any) -> Any:
    """Link current at which the bridge holds no voltage: peak of the rings' short-circuit current. [A]"""
    return sqrt(2) * open_voltage / np.maximum(np.hypot(resistance, reactance), 1e-300)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sweep:
    """The bridge over its whole range of current at each of n sources; fields of shape (n, k), current from 0 upwards."""

    point: BridgePoint

    def crossing(self, back: Any, resistance: Any) -> Any:
        """Place on the current axis where the link holds voltage `back` (V) plus `resistance` (ohm) times its current.

        back, resistance: shape (m,) or (m, n). Returns shape (m, n), in steps of the axis; 0 where no current flows.
        """
        rows, places = self.point.current.shape
        line, slope, source = np.broadcast_arrays(_rows(back), _rows(resistance), np.arange(rows))

        def gap(place: Any) -> Any:
            start = source * places + place
            return np.take(self.point.voltage, start) - line - slope * np.take(self.point.current, start)

        low, high = np.zeros(source.shape, dtype=int), np.full(source.shape, places - 1)
        for _ in range(int(np.ceil(np.log2(places - 1)))):
            middle = (low + high) // 2
            above = gap(middle) > 0
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        low = np.minimum(low, places - 2)
        before, after = gap(low), gap(low + 1)
        part = before / np.where(before > after, before - after, 1.0)
        return low + np.clip(part, 0.0, 1.0)

    @staticmethod
    def read(values: Any, place: Any) -> Any:
        """Values of shape (n, k) at places of shape (m, n), straight lines between; shape (m, n)."""
        low = np.minimum(place.astype(int), values.shape[1] - 2)
        source = np.arange(values.shape[0])
        first = values[source, low]
        return first + (values[source, low + 1] - first) * (place - low)


def sweep(open_voltage: Any, resistance: Any, reactance: Any) -> Sweep:
    """The bridge from no current to short circuit at each source, without harmonics. Arguments (n,) as for `bridge`."""
    limit = short_circuit_current(open_voltage, resistance, reactance)
    turned = np.broadcast_to(_turned(resistance, reactance), limit.shape)
    low, part = _placed(turned, _ANGLES)
    table = _table()[:3]
    rows = table[:, low] + (table[:, low + 1] - table[:, low]) * part[..., None]
    current = limit[:, None] * _ROOTS**2
    return Sweep(point=_scaled(rows, current, open_voltage[:, None], np.asarray(resistance)[..., None]))


def added_resistance(resistance: Any, duty: Any) -> Any:
    """Ohms per rotor phase that a resistor behind a bridge stands for, shorted by a chopper for `duty` of the time.

    Equal heat under a smooth link current: 3 R_phase (2/3) Id^2 = R (1 - duty) Id^2. [ohm]
    Source: Dubey, Fundamentals of Electrical Drives, 2nd ed., sect. 6.17.
    """
    return 0.5 * resistance * (1 - duty)


def ideal_link_voltage(slip: Any, standstill_voltage: Any) -> Any:
    """Link voltage without any drop: 3 sqrt(6)/pi of slip times the phase voltage at standstill. [V]

    Source: Bimbhra, Power Electronics, ch. 12; Rashid, Power Electronics, 3rd ed., ch. 15.
    """
    return DC_PER_PHASE * slip * standstill_voltage


def ideal_link_current(torque: Any, standstill_voltage: Any, synchronous_speed: Any) -> Any:
    """Link current that carries a torque without any drop: Id = T omega_s / Vd0, whatever the slip. [A]

    Source: as `ideal_link_voltage`: the slip power s T omega_s is s Vd0 Id.
    """
    return torque * synchronous_speed / (DC_PER_PHASE * standstill_voltage)


def six_pulse_inductance(line_voltage: float, frequency: float, ripple: float) -> float:
    """Inductance that keeps the bridge's own ripple to `ripple` (A, peak to peak), the same at every slip. [H]

    line_voltage: of the open rings at standstill, rms; frequency: of the supply. Voltage and period of the ripple both go
    with slip, so that the slip cancels. Source: area of a six-pulse ripple above its mean, from the wave itself.
    """
    edge = float(np.arccos(3 / pi))
    area = 2 * (np.sin(edge) - 3 / pi * edge) * sqrt(2) * line_voltage / (2 * pi * frequency)
    return float(area) / ripple


def chopper_ripple(resistance: Any, duty: Any, current: Any, inductance: float, frequency: float) -> Any:
    """Peak-to-peak ripple of the link current from the chopper: R Id duty (1 - duty) / (L f). [A]

    Source: mean voltage of the choke is zero over a period of the chopper.
    """
    return resistance * current * duty * (1 - duty) / (inductance * frequency)


def _rows(value: Any) -> Any:
    """A (m,) argument as a column, a (m, n) one as it is."""
    array = np.atleast_1d(np.asarray(value, dtype=float))
    return array[:, None] if array.ndim == 1 else array


def _turned(resistance: Any, reactance: Any) -> Any:
    return np.arctan2(resistance, reactance)


def _placed(value: Any, grid: Any) -> tuple[Any, Any]:
    place = np.clip(value, grid[0], grid[-1]) / (grid[1] - grid[0])
    low = np.minimum(np.asarray(place).astype(int), grid.size - 2)
    return low, place - low


def _between(turned: Any, root: Any) -> Any:
    """The table at an angle and a root of current; first axis along its columns."""
    turned, root = np.broadcast_arrays(turned, root)
    (i, a), (j, b) = _placed(turned, _ANGLES), _placed(root, _ROOTS)
    table = _table()
    near = table[:, i, j] + (table[:, i, j + 1] - table[:, i, j]) * b
    far = table[:, i + 1, j] + (table[:, i + 1, j + 1] - table[:, i + 1, j]) * b
    return near + (far - near) * a


def _scaled(table: Any, current: Any, open_voltage: Any, resistance: Any) -> BridgePoint:
    active, reactive, square = table[0], table[1], table[2] * current**2
    voltage = 3 * (open_voltage * active - resistance * table[2] * current)
    return BridgePoint(
        current=current,
        fundamental=(active + 1j * reactive) * current,
        square=square,
        voltage=voltage,
        harmonics=table[3:] * current,
    )


@lru_cache(maxsize=1)
def _table() -> Any:
    """Per ampere of link current: active and reactive fundamental, mean square, then ORDERS; shape (7, angles, roots)."""
    angle, root = np.meshgrid(_ANGLES, np.maximum(_ROOTS, 1e-9), indexing="ij")
    limit = sqrt(2) * root**2
    wave = _wave(np.cos(angle), np.sin(angle), limit)
    theta = pi / 3 / _STEPS * np.arange(_STEPS)
    first = np.tensordot(np.exp(-1j * theta), wave, axes=1) / _STEPS / (sqrt(2) * limit)
    square = np.mean(np.abs(wave) ** 2, axis=0) / 2 / limit**2
    turning = np.array([-1 if order % 6 == 5 else 1 for order in ORDERS]) * np.array(ORDERS)
    others = np.abs(np.tensordot(np.exp(-1j * turning[:, None] * theta), wave, axes=1)) / _STEPS / (sqrt(2) * limit)
    table = np.stack([first.real, first.imag, square, *others])
    ideal = [FUNDAMENTAL_PER_DC, 0.0, RMS_PER_DC**2, *(FUNDAMENTAL_PER_DC / order for order in ORDERS)]
    table[:, :, 0] = np.array(ideal)[:, None]
    return table


def _wave(reactance: Any, resistance: Any, limit: Any) -> Any:
    """Current vector over a sixth of a period in the steady state, at unit impedance and unit rms phase voltage.

    Each step is the exact answer of resistance and reactance, then brought back to the hexagon; along an edge that is
    exact too, so that only the moments of switching cost accuracy.
    """
    step = pi / 3 / _STEPS
    fade = np.exp(-step * resistance / np.maximum(reactance, 1e-12))
    free = sqrt(2) / (resistance + 1j * reactance)
    current = _held(free, limit)
    kept = []
    for k in range(_SIXTHS * _STEPS):
        turn = np.exp(1j * step * k)
        if k >= (_SIXTHS - 1) * _STEPS:
            kept.append(current * np.exp(-1j * pi / 3 * (_SIXTHS - 1)))
        current = _held(free * turn * np.exp(1j * step) + (current - free * turn) * fade, limit)
    return np.array(kept)


def _held(vector: Any, limit: Any) -> Any:
    """The nearest vector whose three phase values stay within `limit`: a regular hexagon of that inner radius."""
    face = np.exp(1j * pi / 3 * np.round(np.angle(vector) * 3 / pi))
    local = vector * face.conj()
    edge = limit / sqrt(3)
    inside = local.real <= limit
    held = limit + 1j * np.clip(local.imag, -edge, edge)
    return np.where(inside, local, held) * face
