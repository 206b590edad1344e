"""The supply gone: voltage that the motor keeps up by itself, its angle to the source, and what a return would see."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt

import numpy as np

from slipwise.model.machine.point import operating_point
from slipwise.quantity.formula import Formula
from slipwise.results.series import Array
from slipwise.solve.disturbed.fed import FallsTo, Fed, fed, running_speed
from slipwise.solve.plan import Drive
from slipwise.solve.step import endless, guarded

SAFE_RESULTANT = 1.33  # pu of rated volts per hertz: NEMA MG 1, 20.33 (clause from memory); IEEE C37.96
SAFE_RESIDUAL = 0.25  # pu of rated voltage: common practice of transfer schemes; IEEE C37.96 (from memory)
_SLOWEST = 0.05  # of synchronous speed: below it the residual voltage has no meaning left
_LONGEST = 60.0  # s

RESULTANT = Formula(
    key="interruption.resultant",
    title="Volts-per-hertz resultant between source and motor",
    symbol="u_r",
    expression="sqrt(u_s**2 + u_m**2 - 2 * u_s * u_m * cos(delta))",
    units={"u_s": "pu", "u_m": "pu", "delta": "rad"},
    source="NEMA MG 1, 20.33 (clause from memory); IEEE C37.96",
    validity="u_s and u_m are voltages over frequencies, each per unit of the rated values",
    result_unit="pu",
)
OPEN_CIRCUIT = Formula(
    key="interruption.open_circuit_time",
    title="Open-circuit time constant of the rotor",
    symbol="T_0",
    expression="(X_m + X_2) / (2 * pi * f * R_2)",
    units={"X_m": "ohm", "X_2": "ohm", "f": "Hz", "R_2": "ohm"},
    source="Krause, Wasynczuk, Sudhoff, Analysis of Electric Machinery and Drive Systems, 2nd ed., ch. 4",
    validity="single cage, stator open; of several branches the slowest mode is taken",
    result_unit="s",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Residual:
    """The motor on its own after the supply is gone. All shape (n,) but the two last.

    time: s. voltage: pu of rated. frequency: pu of rated. angle: by which it lags the source, rad, growing with slip.
    resultant: volts per hertz between source and motor, pu. speed: rad/s. open_circuit_time: slowest decay, s.
    source: voltage of the source over its rated volts per hertz, pu.
    """

    time: Array
    voltage: Array
    frequency: Array
    angle: Array
    resultant: Array
    speed: Array
    open_circuit_time: float
    source: float

    def at(self, name: str, time: float) -> float:
        """One of the arrays at a time (s); the voltage after the last one is taken as the last."""
        return float(np.interp(time, self.time, getattr(self, name)))

    def resultant_at(self, time: float) -> float:
        """Volts-per-hertz resultant at a time (s), by `RESULTANT` from the voltage, frequency and angle there. [pu]"""
        own = self.at("voltage", time) / self.at("frequency", time)
        return float(_resultant(self.source, own, self.at("angle", time)))

    @property
    def residual_time(self) -> float:
        """From when on the voltage stays at or below SAFE_RESIDUAL; infinite when not within the time looked at. [s]"""
        return _last_above(self.time, self.voltage, SAFE_RESIDUAL)

    @property
    def fast_time(self) -> float:
        """Until when the resultant has stayed at or below SAFE_RESULTANT; 0 when it begins above. [s]"""
        above = np.flatnonzero(self.resultant > SAFE_RESULTANT)
        return inf if not above.size else _crossing(self.time, self.resultant, int(above[0]), SAFE_RESULTANT)

    @property
    def safe_time(self) -> float:
        """From when on a return is safe for good: resultant or residual voltage low enough ever after. [s]"""
        return min(self.residual_time, _last_above(self.time, self.resultant, SAFE_RESULTANT))

    @property
    def in_phase_time(self) -> float:
        """When the motor's voltage has first fallen a whole turn behind the source; infinite when it does not. [s]"""
        after = np.flatnonzero(self.angle >= 2 * pi)
        return inf if not after.size else _crossing(self.time, self.angle, int(after[0]), 2 * pi)


def _resultant(source: float, own: Array | float, angle: Array | float) -> Array:
    """The law of cosines of `RESULTANT`, for numbers and arrays."""
    squared = source**2 + own**2 - 2 * source * own * np.cos(angle)
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


def _crossing(time: Array, values: Array, after: int, level: float) -> float:
    if after == 0:
        return float(time[0])
    rise = (level - values[after - 1]) / (values[after] - values[after - 1])
    return float(time[after - 1] + rise * (time[after] - time[after - 1]))


def _last_above(time: Array, values: Array, level: float) -> float:
    above = np.flatnonzero(values > level)
    if not above.size:
        return 0.0
    last = int(above[-1])
    return inf if last == len(time) - 1 else _crossing(time, values, last + 1, level)


def residual(drive: Drive, seconds: float, *, angle: float = 0.0, points: int = 1500) -> Residual:
    """Residual voltage of the motor after it is cut off while running, at least for `seconds`.

    Args:
        drive: motor, load and the supply that returns.
        seconds: looked at in any case; longer until the voltage is well below SAFE_RESIDUAL. [s]
        angle: by which the returning source leads the lost one. [rad]
        points: samples.

    Raises:
        DomainError: no circuit, or the load is too much for the motor to begin with.
        InputError: the shaft slows down too quickly to be followed.

    The rotor's flux linkages stay at the moment of opening, the stator's current is gone at once; they decay through the
    rotor's own resistances while load and friction slow the shaft down. Core loss is kept, quasi-steady.

    Source: machine equations with open stator (Krause, Wasynczuk, Sudhoff, Analysis of Electric Machinery and Drive
    Systems, 2nd ed., ch. 4); resultant: `RESULTANT`.
    """
    from scipy.integrate import solve_ivp

    source = fed(drive, drive.motor.rating.slip)
    machine = _Open.of(source)
    speed = running_speed(drive)
    state = np.concatenate([_parts(machine.before(speed)), [speed, 0.0]])
    horizon = min(max(1.2 * seconds, 4 * machine.slowest), _LONGEST)

    stops = FallsTo(place=-2, level=_SLOWEST * source.sync)
    rate = guarded(lambda _t, y: machine.rate(y))
    with np.errstate(over="ignore", invalid="ignore"):
        found = solve_ivp(rate, (0.0, horizon), state, rtol=1e-8, atol=1e-10, dense_output=True, events=stops)
    if not found.success:
        raise endless("its slowing down without supply cannot be followed")
    time = np.linspace(0.0, float(found.t[-1]), points)
    assert found.sol is not None  # it was asked for
    return machine.answer(time, found.sol(time), angle)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Open:
    """The rotor's branches around the gap with the stator open; flux linkages as complex numbers in the rotor's frame."""

    fed: Fed
    R: Array
    inverse: Array  # 1 / L of each branch
    mutual: float  # 1 / Lm

    @classmethod
    def of(cls, source: Fed) -> _Open:
        circuit = source.circuit
        own = 2 * pi * circuit.frequency
        return cls(
            fed=source,
            R=np.array([b.R for b in circuit.rotor]),
            inverse=np.array([own / max(b.X, 1e-3 * circuit.X1) for b in circuit.rotor]),
            mutual=own / circuit.Xm,
        )

    @property
    def pairs(self) -> float:
        return self.fed.drive.motor.rating.poles / 2

    @property
    def slowest(self) -> float:
        """Time constant of the slowest mode, core loss left out. [s]"""
        share = np.outer(np.ones(self.R.size), self.inverse) / (self.mutual + self.inverse.sum())
        matrix = -(self.R * self.inverse)[:, None] * (np.eye(self.R.size) - share)
        return float(-1 / np.linalg.eigvals(matrix).real.max())

    def gap(self, flux: Array, electrical: Array | float) -> Array:
        """Air-gap flux linkage; flux: shape (branches,) or (branches, n)."""
        below = self.mutual + 1j * np.asarray(electrical) / self.fed.circuit.Rfe + self.inverse.sum()
        return np.asarray(np.tensordot(self.inverse, flux, axes=1) / below)

    def before(self, speed: float) -> Array:
        """Flux linkages in the steady state on the supply, the source's emf as reference. [V s, peak]"""
        source, rating = self.fed, self.fed.drive.motor.rating
        slip = source.slip(speed)
        at = operating_point(source.whole, slip, source.emf, rating.frequency, source.sync)
        omega = 2 * pi * rating.frequency
        voltage = sqrt(2) * complex(at.gap_voltage)
        drawn = np.array([slip / (b.R + 1j * slip * b.X) for b in source.circuit.rotor]) * voltage
        return np.asarray(voltage / (1j * omega) - drawn / self.inverse)

    def rate(self, y: Array) -> Array:
        """Derivatives of flux linkages, speed, and electrical angle lost against the source."""
        flux, speed = _complex(y[:-2]), float(y[-2])
        gap = self.gap(flux, self.pairs * speed)
        change = -self.R * self.inverse * (flux - gap)
        voltage2 = (self.pairs * speed) ** 2 * abs(gap) ** 2
        core = 1.5 * voltage2 / self.fed.circuit.Rfe / max(abs(speed), 1e-6)
        slowing = self.fed.net(speed, -float(core), 0.0) / self.fed.drive.inertia
        lost = 2 * pi * self.fed.drive.motor.rating.frequency - self.pairs * speed
        return np.concatenate([_parts(change), [slowing, lost]])

    def answer(self, time: Array, states: Array, lead: float) -> Residual:
        rating = self.fed.drive.motor.rating
        count = self.R.size
        flux, speed, lost = states[:count] + 1j * states[count : 2 * count], states[-2], states[-1]
        electrical = self.pairs * speed
        gap = self.gap(flux, electrical)
        change = -(self.R * self.inverse)[:, None] * (flux - gap)
        voltage = self.gap(change, electrical) + 1j * electrical * gap
        shown = abs(voltage) / (sqrt(2) * rating.phase_voltage)
        frequency = electrical / (2 * pi * rating.frequency)
        angle = lost - np.unwrap(np.angle(voltage)) + lead
        source = self.fed.emf / rating.phase_voltage
        return Residual(
            time=time, voltage=shown, frequency=frequency, angle=angle, resultant=_resultant(source, shown / frequency, angle),
            speed=speed, open_circuit_time=self.slowest, source=source,
        )  # fmt: skip


def _parts(values: Array) -> Array:
    return np.concatenate([values.real, values.imag])


def _complex(values: Array) -> Array:
    half = values.size // 2
    return np.asarray(values[:half] + 1j * values[half:])
