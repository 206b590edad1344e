"""The electrical transient after one line of a running motor opens: two lines in series, torque at twice the frequency.

A module of its own beside the kernel: the motor is at its steady state when the line opens (at its own current zero), the
two live lines carry one current, and scipy integrates. Flux linkages are the states, in the frame at rest: that of the
loop of the two lines, and those of the rotor branches. Core loss is left out here; reactances that saturate are those of
the running point.
"""

from __future__ import annotations

from cmath import exp as cexp
from cmath import phase
from dataclasses import dataclass, replace
from math import inf, pi, sqrt

import numpy as np

from slipwise.model.machine.point import operating_point
from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.series import Array
from slipwise.solve.disturbed.fed import FallsTo, Fed
from slipwise.solve.step import endless, guarded
from slipwise.solve.transient.pack import LEAST_LEAKAGE

_SUPPLIED, _STATOR, _ROTOR, _DRAG, _LOAD = range(5)  # energies integrated beside the state
_BEGIN_TURN = 0.5 * pi
_MOST = 300_000  # evaluations of the rates; two seconds take some ten thousand


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineLoss:
    """What follows the loss of a line. All shape (n,) but the ledger.

    time: s after it. speed: rad/s. torque: in the air gap, N m. current: instantaneous in one live line, A (the other
    carries its negative). energy: supplied = lost + stored + shaft. [J]
    """

    time: Array
    speed: Array
    torque: Array
    current: Array
    energy: Ledger


def line_loss(source: Fed, speed: float, seconds: float, *, points: int = 2000, relative: float = 1e-8) -> LineLoss:
    """The transient from the steady state at `speed` (rad/s) on three lines, for `seconds` or until the shaft stands.

    relative: tolerance of the integration.

    Raises:
        InputError: it takes more steps than can be computed.

    Source: space-vector equations of the machine (Krause, Wasynczuk, Sudhoff, Analysis of Electric Machinery and Drive
    Systems, 2nd ed., ch. 4) with the current vector held to the axis across the two live lines.
    """
    from scipy.integrate import solve_ivp

    machine = _TwoLines.of(source, speed)
    rate, begin, allowed = guarded(machine.rate, _MOST), machine.begin(speed), machine.scale(relative)
    stops = FallsTo(place=machine.place)
    with np.errstate(over="ignore", invalid="ignore"):
        found = solve_ivp(
            rate, (0.0, seconds), begin, method="DOP853", rtol=relative, atol=allowed, dense_output=True, events=stops
        )
    if not found.success:
        raise endless("its swings on two lines cannot be followed")
    end = float(found.t[-1])
    time = np.linspace(0.0, end, points)
    assert found.sol is not None  # it was asked for
    states = found.sol(time)
    torque, current = machine.observed(states)
    return LineLoss(
        time=time,
        speed=states[machine.place],
        torque=torque,
        current=current,
        energy=machine.ledger(found.y[:, 0], found.y[:, -1]),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _TwoLines:
    """State: loop flux linkage, real and imaginary flux linkage of each rotor branch, speed, energies."""

    fed: Fed
    R: Array
    inverse: Array
    mutual: float  # 1 / Lm
    loop_R: float
    loop_L: float
    omega: float
    turn: complex  # of the source at time zero: the current of the first line passes through zero there

    @classmethod
    def of(cls, source: Fed, speed: float) -> _TwoLines:
        circuit, whole = source.circuit, source.whole
        own = 2 * pi * circuit.frequency
        at = _steady(source, speed)
        return cls(
            fed=source,
            R=np.array([b.R for b in circuit.rotor]),
            inverse=np.array([own / max(b.X, LEAST_LEAKAGE * circuit.X1) for b in circuit.rotor]),
            mutual=own / circuit.Xm,
            loop_R=whole.R1,
            loop_L=whole.X1 / own,
            omega=own,
            turn=cexp(1j * (_BEGIN_TURN - phase(at[0]))),
        )

    @property
    def place(self) -> int:
        """Of the speed in the state."""
        return 1 + 2 * self.R.size

    @property
    def pairs(self) -> float:
        return self.fed.drive.motor.rating.poles / 2

    def begin(self, speed: float) -> Array:
        current, voltage = _steady(self.fed, speed)
        gap = voltage * self.turn / (1j * self.omega)
        slip = self.fed.slip(speed)
        drawn = slip / (self.R + 1j * slip * self.omega / self.inverse) * voltage * self.turn
        flux = gap - drawn / self.inverse
        loop = self.loop_L * (current * self.turn).imag + gap.imag
        return np.concatenate([[loop], flux.real, flux.imag, [speed], np.zeros(5)])

    def scale(self, relative: float) -> Array:
        linkage = sqrt(2) * self.fed.emf / self.omega
        energy = 1e2 * self.fed.drive.motor.rating.power / self.omega
        count = 1 + 2 * self.R.size
        return relative * np.array([*([linkage] * count), self.fed.sync, *([energy] * 5)])

    def _flux(self, y: Array) -> Array:
        count = self.R.size
        return np.asarray(y[1 : 1 + count] + 1j * y[1 + count : 1 + 2 * count])

    def _inside(self, y: Array) -> tuple[Array, Array]:
        """Current along the axis of the two lines, and air-gap flux linkage; for one state or columns of states."""
        free = self.mutual + self.inverse.sum()
        total = np.tensordot(self.inverse, self._flux(y), axes=1)
        current = (y[0] - total.imag / free) / (self.loop_L + 1 / free)
        return current, np.asarray((total + 1j * current) / free)

    def rate(self, t: float, y: Array) -> Array:
        flux, speed = self._flux(y), float(y[self.place])
        current, gap = self._inside(y)
        branch = (flux - gap) * self.inverse
        change = -self.R * branch + 1j * self.pairs * speed * flux
        source = sqrt(2) * self.fed.emf * (self.turn * cexp(1j * self.omega * t)).imag
        torque = 1.5 * self.pairs * gap.real * current
        rms = abs(float(current)) / sqrt(2)
        net = self.fed.net(speed, float(torque), rms)
        load = float(self.fed.drive.load.torque(speed))
        drag = float(torque) - net - load
        energies = [
            1.5 * source * current,
            1.5 * self.loop_R * current**2,
            1.5 * float((self.R * abs(branch) ** 2).sum()),
            drag * speed,
            load * speed,
        ]
        push = source - self.loop_R * current
        return np.concatenate([[push], change.real, change.imag, [net / self.fed.drive.inertia], energies])

    def observed(self, states: Array) -> tuple[Array, Array]:
        """Torque, and current of a live line: the axis stands across the two lines, sqrt(3)/2 of it is in each."""
        current, gap = self._inside(states)
        return 1.5 * self.pairs * gap.real * current, sqrt(3) / 2 * current

    def _magnetic(self, y: Array) -> float:
        current, gap = self._inside(y)
        branch = (self._flux(y) - gap) * self.inverse
        rotor = float((abs(branch) ** 2 / self.inverse).sum())
        return float(0.75 * (self.loop_L * current**2 + rotor + self.mutual * abs(gap) ** 2))

    def ledger(self, first: Array, last: Array) -> Ledger:
        kinetic = 0.5 * self.fed.drive.inertia * (last[self.place] ** 2 - first[self.place] ** 2)
        booked = last[self.place + 1 :]
        rows = (
            ("supplied by the source", booked[_SUPPLIED], Side.SUPPLIED),
            ("stator winding and supply", booked[_STATOR], Side.LOST),
            ("rotor", booked[_ROTOR], Side.LOST),
            ("friction, windage and stray load loss", booked[_DRAG], Side.LOST),
            ("magnetic energy", self._magnetic(last) - self._magnetic(first), Side.STORED),
            ("kinetic energy", kinetic, Side.STORED),
            ("driven machine", booked[_LOAD], Side.SHAFT),
        )
        return Ledger(rows=tuple(LedgerRow(name=n, energy=float(e), side=s) for n, e, s in rows))


def _steady(source: Fed, speed: float) -> tuple[complex, complex]:
    """Peak phasors of motor current and gap voltage on three lines, core loss left out, the emf as reference. [A], [V]"""
    bare = replace(source.whole, Rfe=inf)
    at = operating_point(bare, source.slip(speed), source.emf, source.drive.motor.rating.frequency, source.sync)
    return sqrt(2) * complex(at.stator_current), sqrt(2) * complex(at.gap_voltage)
