"""The full machine equations in another form: stationary frame, currents as states through the inductance matrix.

Real two-axis quantities, power invariant nowhere assumed (amplitude-invariant scaling, power 3/2 v.i); the motor with its
supply inductance is one matrix L(i) and opened poles are a projection of it. scipy integrates at rtol 1e-9. It shares no
line with the kernel: not the frame, not the states, not the way of switching, not the stepper.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import cos, pi, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

Array = NDArray[np.float64]
J = np.array([[0.0, -1.0], [1.0, 0.0]])


@dataclass(kw_only=True)
class Machine:
    """Per-phase ohm at `frequency`; rotor as (R, X) pairs; load torque as a function of speed."""

    frequency: float
    R1: float
    X1: float
    Xm: float
    rotor: list[tuple[float, float]]
    pairs: int
    inertia: float
    load: Callable[[float], float]
    stray: Callable[[float, float], float] = lambda _speed, _square: 0.0  # speed, peak current squared

    @property
    def omega(self) -> float:
        return 2 * pi * self.frequency


@dataclass(kw_only=True)
class Feed:
    """Phase voltages v(t) (two axes, peak V) behind R + L per line, through a complex ratio; extra rotor resistance."""

    voltage: Callable[[float], Array]
    R: float = 0.0
    X: float = 0.0
    ratio: complex = 1.0
    external: float = 0.0


@dataclass(kw_only=True)
class Run:
    """Pieces of dense solution: (begin, end, function of time giving [stator currents, rotor currents.., speed])."""

    machine: Machine
    pieces: list[tuple[float, float, Any]] = field(default_factory=list)
    marks: list[float] = field(default_factory=list)  # when each stage began
    time: float = 0.0
    state: Array = field(default_factory=lambda: np.zeros(0))

    def mark(self) -> None:
        """A stage begins now."""
        self.marks.append(self.time)

    def at(self, times: Array) -> Array:
        """States at `times`, shape (n, states); nan outside what was run."""
        out = np.full((times.size, self.state.size), np.nan)
        for begin, end, function in self.pieces:
            inside = (times >= begin) & (times <= end)
            if inside.any():
                out[inside] = function(times[inside]).T
        return out

    def torque(self, states: Array) -> Array:
        """Air-gap torque of states (n, states): 3/2 p Lm (i_s x sum i_r). [N m]"""
        m = self.machine
        rotor = sum(states[:, 2 + 2 * k : 4 + 2 * k] for k in range(len(m.rotor)))
        cross = states[:, 1] * rotor[:, 0] - states[:, 0] * rotor[:, 1]
        return 1.5 * m.pairs * m.Xm / m.omega * cross


def started(machine: Machine) -> Run:
    """A dead machine at rest."""
    return Run(machine=machine, state=np.zeros(2 + 2 * len(machine.rotor) + 1))


def rotation(angle: float) -> Array:
    return np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])


@dataclass(kw_only=True)
class _Ending:
    """An event of solve_ivp that ends the piece."""

    stop: Callable[[float, Array], float]
    full: Callable[[Array], Array]
    terminal: bool = True

    def __call__(self, t: float, y: Array) -> float:
        return self.stop(t, self.full(y))


def _matrices(machine: Machine, feed: Feed) -> tuple[Array, Array, Array, Array]:
    """Inductances with and without the supply, resistances, and the motor-side matrix of the ratio."""
    n = len(machine.rotor)
    lm = machine.Xm / machine.omega
    motor = np.kron(np.full((n + 1, n + 1), lm), np.eye(2))
    leaks = [machine.X1, *(x for _, x in machine.rotor)]
    motor += np.kron(np.diag(leaks) / machine.omega, np.eye(2))
    whole = motor.copy()
    squared = abs(feed.ratio) ** 2
    whole[:2, :2] += squared * feed.X / machine.omega * np.eye(2)
    resistances = [machine.R1 + squared * feed.R, *(r + feed.external for r, _ in machine.rotor)]
    turn = abs(feed.ratio) * rotation(float(np.angle(feed.ratio)))
    return whole, motor, np.kron(np.diag(resistances), np.eye(2)), turn


def _close(run: Run, feed: Feed, line: Array) -> None:
    """Currents just after closing: flux of the closed loop and of each rotor branch kept; `line` was in the supply's L."""
    whole, motor, _, turn = _matrices(run.machine, feed)
    flux = motor @ run.state[:-1]
    flux[:2] += turn @ line * feed.X / run.machine.omega
    run.state[:-1] = np.linalg.solve(whole, flux)


def go(
    run: Run, feed: Feed | None, until: float, *, poles: Array | None = None, carried: Array | None = None,
    stop: list[Callable[[float, Array], float]] | None = None, frozen: Feed | None = None,
) -> int:  # fmt: skip
    """Run on until time `until` or until a `stop` function of (time, state) crosses zero; gives which, or -1.

    feed: what closes onto the machine now (`carried`: line current just before, zero when None), or None for no supply.
    poles: projection of the stator current that the open poles allow, shape (2, 1); None when all three conduct.
    frozen: the feed to go on with, without closing anew.
    """
    if feed is not None:
        _close(run, feed, np.zeros(2) if carried is None else carried)
    used = feed or frozen or Feed(voltage=lambda _t: np.zeros(2))
    whole, _, resistance, turn = _matrices(run.machine, used)
    n = whole.shape[0]
    idle = feed is None and frozen is None
    stator = np.zeros((2, 0)) if idle else (np.eye(2) if poles is None else poles)
    keep = np.zeros((n, stator.shape[1] + n - 2))
    keep[:2, : stator.shape[1]] = stator
    keep[2:, stator.shape[1] :] = np.eye(n - 2)
    inverse = np.linalg.inv(keep.T @ whole @ keep)
    m = run.machine

    def rate(t: float, y: Array) -> Array:
        current, speed = keep @ y[:-1], y[-1]
        flux = whole @ current
        push = -(resistance @ current)
        push[:2] += turn @ used.voltage(t)
        for k in range(2, n, 2):
            push[k : k + 2] += m.pairs * speed * (J @ flux[k : k + 2])
        rotor = current[2:].reshape(-1, 2).sum(axis=0)
        torque = 1.5 * m.pairs * m.Xm / m.omega * (current[1] * rotor[0] - current[0] * rotor[1])
        square = float(current[0] ** 2 + current[1] ** 2)
        net = torque - m.load(speed) - m.stray(speed, square)
        return np.append(inverse @ (keep.T @ push), net / m.inertia)

    def full(y: Array) -> Array:
        return np.vstack([keep @ y[:-1], y[-1:]]) if y.ndim == 2 else np.append(keep @ y[:-1], y[-1])

    events = [_Ending(stop=function, full=full) for function in stop or []]
    begin = np.append(np.linalg.lstsq(keep, run.state[:-1], rcond=None)[0], run.state[-1])
    scale = sqrt(2) * 1e-10
    answer = solve_ivp(
        rate, (run.time, until), begin, method="DOP853", rtol=1e-9, atol=scale, dense_output=True, events=events or None
    )
    assert answer.success, answer.message
    dense = answer.sol
    run.pieces.append((run.time, float(answer.t[-1]), lambda t: full(dense(t))))
    run.time, run.state = float(answer.t[-1]), full(answer.y[:, -1])
    hit = [i for i, found in enumerate(answer.t_events or []) if len(found)]
    return hit[0] if hit else -1


def phase_axis(phase: int) -> Array:
    """Unit vector of phase a, b or c."""
    angle = (0.0, 2 * pi / 3, -2 * pi / 3)[phase]
    return np.array([cos(angle), sin(angle)])


def open_at_zeros(run: Run, feed: Feed, until: float) -> None:
    """Poles open one after the other at the zeros of their line currents; whatever still flows at `until` is left to it."""
    turn_back = abs(feed.ratio) * rotation(-float(np.angle(feed.ratio)))  # motor current to line current

    def line(phase: int) -> Callable[[float, Array], float]:
        return lambda _t, y: float(phase_axis(phase) @ turn_back @ y[:2])

    first = go(run, None, until, frozen=feed, stop=[line(0), line(1), line(2)])
    if first < 0:
        return
    across = np.linalg.solve(turn_back, J @ phase_axis(first))
    across = (across / np.linalg.norm(across)).reshape(2, 1)
    second = go(run, None, until, frozen=feed, poles=across, stop=[lambda _t, y: float(across[:, 0] @ y[:2])])
    if second >= 0:
        run.state[:2] = 0.0
        go(run, None, until)
