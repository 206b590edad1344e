"""Curves, run-ups and transients of one invented motor, written here on their own, without any solver of slipwise.

Scenario Tarnhill (invented): the raw-water pump P3, 90 kW, 400 V, 50 Hz, 4-pole, delta. The curves come from a
double-cage circuit behind a supply impedance, the run-ups from the equation of motion, the transients from the same
circuit in flux linkages.
"""

from __future__ import annotations

from cmath import exp
from dataclasses import dataclass, field
from functools import cache
from math import pi, sqrt

import numpy as np

from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.series import Array
from slipwise.results.start import Curves, Outcome, Peaks, RunUp, StageMark, Transient, TransientBand

SYNC = 50 * pi  # rad/s
RATED_TORQUE = 580.0
RATED_CURRENT = 160.0
INERTIA = 4.2
STEP = 2.5e-4  # of the transient, s
PHASE_PEAK = 400 * sqrt(2 / 3)
OMEGA = 100 * pi
BUSBARS = ("11 kV line", "main board", "pump terminals")
SUPPLY = (0.0006 + 0.004j, 0.0025 + 0.0175j, 0.012 + 0.006j)  # ohm at 400 V, one after the other
R1, X1, XM = 0.022, 0.105, 4.2
CAGES = ((0.016, 0.21), (0.16, 0.085))  # resistance and leakage of the running and of the starting cage, ohm


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One stage: star-equivalent voltage ratio (0: open), what ends it, and contacts."""

    name: str
    ratio: float
    until_speed: float | None = None
    until_time: float | None = None
    contacts: tuple[str, ...] = ()

    def over(self, speed: float, elapsed: float) -> bool:
        """Whether the stage ends at this speed, or after so many seconds in it."""
        by_speed = self.until_speed is not None and speed >= self.until_speed
        return by_speed or (self.until_time is not None and elapsed >= self.until_time)


def load_torque(speed: Array | float, full: float = 0.82, breakaway: float = 0.18) -> Array:
    """A pump: breakaway torque falling off, then quadratic. [N m]"""
    share = np.asarray(speed) / SYNC
    return np.asarray(RATED_TORQUE * (full * share**2 + breakaway * np.exp(-share * 25)))


def curves_of(piece: Piece, voltage: float = 1.0) -> Curves:
    """Steady characteristics of one stage."""
    speed = np.linspace(0, SYNC, 241)
    slip = 1 - speed / SYNC
    rotor = sum(slip / (r + 1j * slip * x) for r, x in CAGES)
    z_in = 1 / (1 / (1j * XM) + rotor)
    k, path = piece.ratio, sum(SUPPLY)
    v = voltage * 400 / sqrt(3) * k
    current = v / (R1 + 1j * X1 + z_in + k**2 * path)
    gap = current * z_in
    torque = 3 * np.abs(gap) ** 2 * rotor.real / SYNC - 4.0 * speed / SYNC
    line = k * current
    busbars = [np.abs(voltage * 400 / sqrt(3) - line * sum(SUPPLY[: n + 1])) / (400 / sqrt(3)) for n in range(3)]
    motor_voltage = current * (R1 + 1j * X1 + z_in)
    return Curves(
        stage=piece.name,
        speed=speed,
        torque=torque,
        load=load_torque(speed),
        line_current=np.abs(line),
        motor_current=np.abs(current),
        winding_current=np.abs(current) / sqrt(3),
        power_factor=np.cos(np.angle(motor_voltage / current)),
        busbar_voltage=np.array(busbars),
        stator_loss=3 * R1 * np.abs(current) ** 2,
        rotor_loss=3 * np.abs(gap) ** 2 * rotor.real * slip,
        power=3 * (motor_voltage * np.conj(current)).real,
    )


def run_up_of(case: str, pieces: tuple[Piece, ...], voltage: float = 1.0, allowed: float = 30.0) -> RunUp:
    """Explicit steps of 5 ms on the curves."""
    dt, time, speed, n = 0.005, 0.0, 0.0, 0
    tables = [curves_of(p, voltage) if p.ratio else None for p in pieces]
    rows: list[tuple[float, ...]] = []
    marks, begin = [], 0.0
    outcome = Outcome.ARRIVED
    while True:
        piece, curve = pieces[n], tables[n]
        load = float(load_torque(speed))
        if curve is None:
            values = [0.0] * 6 + [voltage] * 3
        else:
            values = [
                float(np.interp(speed, curve.speed, y))
                for y in (
                    curve.torque,
                    curve.line_current,
                    curve.motor_current,
                    curve.winding_current,
                    curve.power_factor,
                )
            ]
            values += [float(np.interp(speed, curve.speed, curve.rotor_loss))]
            values += [float(np.interp(speed, curve.speed, row)) for row in curve.busbar_voltage]
        rows.append((time, speed, load, *values))
        net = values[0] - load
        settled = curve is not None and abs(net) < 1.0
        over = piece.over(speed, time - begin)
        if settled or over or time > allowed:
            last = n == len(pieces) - 1
            reason = "speed reached" if piece.until_speed else "time elapsed" if piece.until_time else "settled"
            marks.append(
                StageMark(
                    name=piece.name, begin=begin, end=time, end_speed=speed, reason=reason, contacts=piece.contacts
                )
            )
            if (settled and not last and not over) or time > allowed:
                outcome = Outcome.HANGS
                break
            if last:
                break
            n, begin = n + 1, time
            continue
        speed = max(0.0, speed + dt * net / INERTIA)
        time += dt
    data = np.array(rows).T
    t, w = data[0], data[1]
    arrived = outcome is Outcome.ARRIVED
    rotor = float(np.trapezoid(data[8], t))
    stator = float(np.trapezoid(3 * R1 * data[5] ** 2, t))
    shaft = float(np.trapezoid(data[2] * w, t))
    stored = INERTIA * w[-1] ** 2 / 2
    rows_of_energy = (
        LedgerRow(name="taken from the terminals", energy=rotor + stator + shaft + stored, side=Side.SUPPLIED),
        LedgerRow(name="stator winding heat", energy=stator, side=Side.LOST),
        LedgerRow(name="rotor cage heat", energy=rotor, side=Side.LOST),
        LedgerRow(name="kinetic energy of rotor and load", energy=stored, side=Side.STORED),
        LedgerRow(name="work on the load", energy=shaft, side=Side.SHAFT),
    )
    return RunUp(
        case=case,
        outcome=outcome,
        run_up_time=float(t[np.argmax(w >= 0.99 * w[-1])]) if arrived else None,
        hang_speed=None if arrived else float(w[-1]),
        final_speed=float(w[-1]),
        time=t,
        speed=w,
        torque=data[3],
        load=data[2],
        line_current=data[4],
        motor_current=data[5],
        winding_current=data[6],
        power_factor=data[7],
        busbars=BUSBARS,
        busbar_voltage=data[9:12],
        prestart_voltage=np.array([voltage * 0.998, voltage * 0.99, voltage * 0.99]),
        stages=tuple(marks),
        energy=Ledger(rows=rows_of_energy),
        stator_heat=stator,
        rotor_heat=rotor,
        current_heat=float(np.trapezoid((data[5] / RATED_CURRENT) ** 2, t)),
    )


@cache
def _inductances(ratio: float) -> np.ndarray:
    """Inverse inductance matrix of stator (with the path behind it) and two cages. [1/H]"""
    path = sum(SUPPLY) * ratio**2
    full = np.full((3, 3), XM, dtype=float)
    full += np.diag([X1 + path.imag, CAGES[0][1], CAGES[1][1]])
    return np.linalg.inv(full / OMEGA)


@cache
def _inverse(ratio: float) -> tuple[tuple[float, float, float], ...]:
    """The same as plain numbers, which are quicker one at a time."""
    return tuple((float(a), float(b), float(c)) for a, b, c in _inductances(ratio))


@dataclass(slots=True)
class _Machine:
    """State of the transient: stator and two rotor flux linkages (V s, stationary frame) and speed (rad/s)."""

    angle: float
    psi: list[complex] = field(default_factory=lambda: [0j, 0j, 0j])
    speed: float = 0.0

    def slope(self, at: float, psi: list[complex], ratio: float) -> tuple[list[complex], float, complex]:
        """Derivatives of the linkages, air-gap torque, stator current; ratio 0 is the open stator."""
        path = sum(SUPPLY) * ratio**2
        if ratio:
            x, y, z = psi
            current = [a * x + b * y + c * z for a, b, c in _inverse(ratio)]
        else:
            rotor = np.linalg.solve(np.linalg.inv(_inductances(1.0))[1:, 1:], np.array(psi[1:]))
            current = [0j, complex(rotor[0]), complex(rotor[1])]
        voltage = ratio * PHASE_PEAK * exp(1j * (OMEGA * at + self.angle))
        stator = voltage - (R1 + path.real) * current[0] if ratio else 0j
        cages = [-CAGES[n][0] * current[n + 1] + 2j * self.speed * psi[n + 1] for n in range(2)]
        return [stator, *cages], 3.0 * (psi[0].conjugate() * current[0]).imag, current[0]

    def step(self, at: float, ratio: float, first: list[complex]) -> None:
        """One step of `STEP` (fourth order when fed), from the slope at its beginning."""

        def moved(by: float, slope: list[complex]) -> list[complex]:
            return [p + by * k for p, k in zip(self.psi, slope, strict=True)]

        if not ratio:
            self.psi = moved(STEP, first)
            return
        second = self.slope(at + STEP / 2, moved(STEP / 2, first), ratio)[0]
        third = self.slope(at + STEP / 2, moved(STEP / 2, second), ratio)[0]
        fourth = self.slope(at + STEP, moved(STEP, third), ratio)[0]
        mean = [(a + 2 * b + 2 * c + d) / 6 for a, b, c, d in zip(first, second, third, fourth, strict=True)]
        self.psi = moved(STEP, mean)

    def switched(self, before: float, after: float) -> None:
        """Stator cut or joined: its current is zero at that moment, the rotor linkages are kept."""
        if bool(before) == bool(after):
            return
        rotor = np.linalg.solve(np.linalg.inv(_inductances(after or 1.0))[1:, 1:], np.array(self.psi[1:]))
        self.psi[0] = complex(XM / OMEGA * (rotor[0] + rotor[1]))


def _march(pieces: tuple[Piece, ...], angle: float, end: float) -> tuple[np.ndarray, list[StageMark]]:
    """Rows of time, speed, torque, line and motor current (complex), and the stages."""
    machine, t, begin = _Machine(angle=angle), 0.0, 0.0
    rows: list[tuple[complex, ...]] = []
    marks: list[StageMark] = []
    for n, piece in enumerate(pieces):
        while True:
            slope, torque, current = machine.slope(t, machine.psi, piece.ratio)
            rows.append((t, machine.speed, torque, piece.ratio * current, current))
            if piece.over(machine.speed, t - begin) or t >= end:
                break
            machine.step(t, piece.ratio, slope)
            machine.speed = max(0.0, machine.speed + STEP * (torque - float(load_torque(machine.speed))) / INERTIA)
            t += STEP
        marks.append(
            StageMark(
                name=piece.name, begin=begin, end=t, end_speed=machine.speed, reason="as in the run-up",
                contacts=piece.contacts,
            )
        )  # fmt: skip
        if t >= end:
            break
        begin = t
        if n + 1 < len(pieces):
            machine.switched(piece.ratio, pieces[n + 1].ratio)
    return np.array(rows).T, marks


def transient_of(case: str, pieces: tuple[Piece, ...], angle: float, run_up: RunUp) -> Transient:
    """Fixed steps of 0.25 ms in the stationary frame, to a little after the end of the run-up."""
    rows, marks = _march(pieces, angle, float(run_up.time[-1]) + 0.15)
    time, speed, torque = rows[0].real, rows[1].real, rows[2].real
    turn = np.exp(-2j * pi / 3 * np.arange(3))[:, None]
    line, winding = (rows[3] * turn).real, (rows[4] * turn).real / sqrt(3)

    def peaks(begin: float, end: float) -> Peaks:
        at = np.flatnonzero((time >= begin) & (time <= end))
        high, low = at[np.argmax(torque[at])], at[np.argmin(torque[at])]
        phase = int(np.argmax(np.abs(line[:, at]).max(axis=1)))
        when = at[np.argmax(np.abs(line[phase, at]))]
        return Peaks(
            torque_max=float(torque[high]), torque_max_time=float(time[high]),
            torque_min=float(torque[low]), torque_min_time=float(time[low]),
            line_current=float(abs(line[phase, when])), line_current_time=float(time[when]),
            line_current_phase="abc"[phase], winding_current=float(np.abs(winding[:, at]).max()),
        )  # fmt: skip

    return Transient(
        case=case, switching_angle=angle, outcome=run_up.outcome,
        run_up_time=float(time[np.argmax(speed >= 0.99 * speed[-1])]), final_speed=float(speed[-1]),
        time=time, speed=speed, torque=torque, load=load_torque(speed), line_currents=line, winding_currents=winding,
        terminal_voltages=(PHASE_PEAK * 0.95 * np.exp(1j * (OMEGA * time + angle)) * turn).real,
        stages=tuple(marks), peaks=peaks(0.0, float(time[-1])),
        stage_peaks=tuple(peaks(m.begin, m.end) for m in marks), energy=run_up.energy, steps=len(time),
    )  # fmt: skip


def band_of(transient: Transient) -> TransientBand:
    """A plausible spread over the switching angle about one computed start."""
    angles = np.linspace(0, pi, 13)
    swing = 0.5 * (1 + np.cos(2 * (angles - transient.switching_angle)))
    return TransientBand(
        angles=angles,
        torque_max=transient.peaks.torque_max * (0.82 + 0.18 * swing),
        torque_min=transient.peaks.torque_min * (0.7 + 0.3 * swing),
        line_current=transient.peaks.line_current * (0.93 + 0.07 * (1 - swing)),
        worst=transient,
    )
