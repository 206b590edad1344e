"""The electrical transient: one start, a long start and a batch, against scipy at equal accuracy in one run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import pi, sqrt
from os import cpu_count, getloadavg
from time import perf_counter, process_time
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from benchmarks.page import section
from slipwise.model.load.load import Load, PowerTerm
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.solve.plan import Drive, Plan, Stage, elapsed
from slipwise.solve.transient import batch, transient
from slipwise.solve.transient import kernel as names
from slipwise.solve.transient.batch import TOLERANCE
from slipwise.solve.transient.engine import kernel, lanes
from slipwise.solve.transient.pack import pack

Array = NDArray[np.float64]
SPEED_ERROR, TORQUE_ERROR = 1e-4, 2e-3  # of synchronous speed; of the peak torque
LADDER = (1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 7e-6, 5e-6, 3e-6, 1e-6, 3e-7, 1e-7, 3e-8, 1e-8, 1e-9, 1e-10)
METHODS = ("LSODA", "DOP853", "RK45", "Radau", "BDF")
POINTS = 4001
BATCH = 10_000

RATING = Rating(
    power=500 * 746.0, voltage=2300.0, frequency=60.0, poles=4, speed=1773 * pi / 30, current=105.2, connection="star"
)
# The 500 hp data set of Krause, Wasynczuk and Sudhoff, 2nd ed., Table 4.10-1.
CIRCUIT = Circuit(frequency=60.0, R1=0.262, X1=1.206, Xm=54.02, rotor=(RotorBranch(R=0.187, X=1.206),))
MOTOR = Motor(rating=RATING, inertia=11.06, circuit=CIRCUIT)


def direct(inertia: float, share: float = 0.8, motor: Motor = MOTOR, voltage: float = 1.0) -> Drive:
    """The motor on a stiff network with a fan that takes `share` of rated torque."""
    bus = Busbar(name="terminals", nominal=2300.0)
    link = Link(name="network", kind="network", impedance=0.0, busbar=bus)
    path = SupplyPath(voltage=2300.0 * voltage, frequency=60.0, links=(link,))
    term = PowerTerm(coefficient=share * RATING.torque, exponent=2.0)
    return Drive(motor=motor, load=Load(terms=(term,), base_speed=RATING.speed, inertia=inertia), supply=path)


def plan(seconds: float) -> Plan:
    """A direct start watched for so long."""
    return (Stage(name="direct", until=elapsed(seconds)),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Speed and torque at the common times."""

    speed: Array
    torque: Array

    def good(self, truth: Course) -> bool:
        """Whether it is as near to the truth as the comparison asks."""
        speed = np.max(np.abs(self.speed - truth.speed)) / RATING.synchronous_speed
        torque = np.max(np.abs(self.torque - truth.torque)) / np.max(np.abs(truth.torque))
        return bool(speed <= SPEED_ERROR and torque <= TORQUE_ERROR)


@dataclass(frozen=True, slots=True, kw_only=True)
class Equations:
    """The same machine for scipy: synchronous frame, flux linkages, plain numbers, which suit a state of five best."""

    drive: Drive
    compiled: bool = False

    def rate(self) -> Callable[[float, Array], Any]:
        """The right-hand side, compiled or plain."""
        omega, peak = 2 * pi * 60.0, 2300.0 * sqrt(2 / 3)
        l1, l2 = CIRCUIT.X1 / omega, CIRCUIT.rotor[0].X / omega
        whole = omega / CIRCUIT.Xm + 1 / l1 + 1 / l2
        r1, r2 = CIRCUIT.R1, CIRCUIT.rotor[0].R
        load = self.drive.load.terms[0].coefficient / self.drive.load.base_speed**2
        inertia = self.drive.inertia

        def rate(_t: float, y: Any) -> Any:
            ax, ay, bx, by, w = y
            gx, gy = (ax / l1 + bx / l2) / whole, (ay / l1 + by / l2) / whole
            ix, iy = (ax - gx) / l1, (ay - gy) / l1
            jx, jy = (bx - gx) / l2, (by - gy) / l2
            slip = omega - 2 * w
            return (
                peak - r1 * ix + omega * ay, -r1 * iy - omega * ax, -r2 * jx + slip * by, -r2 * jy - slip * bx,
                (3.0 * (gy * jx - gx * jy) - load * w * w) / inertia,
            )  # fmt: skip

        if not self.compiled:
            return rate
        import numba

        return numba.njit(rate)

    def solve(self, method: str, tolerance: float, seconds: float, times: Array | None, rate: Any) -> Any:
        """scipy's answer; tolerances per unit of rated flux linkage and synchronous speed."""
        scale = np.array([5.0] * 4 + [RATING.synchronous_speed]) * tolerance
        return solve_ivp(rate, (0.0, seconds), [0.0] * 5, method=method, rtol=tolerance, atol=scale, t_eval=times)

    def course(self, y: Array) -> Course:
        """Speed and torque of states, shape (5, n)."""
        omega = 2 * pi * 60.0
        l1, l2 = CIRCUIT.X1 / omega, CIRCUIT.rotor[0].X / omega
        whole = omega / CIRCUIT.Xm + 1 / l1 + 1 / l2
        gx, gy = (y[0] / l1 + y[2] / l2) / whole, (y[1] / l1 + y[3] / l2) / whole
        return Course(speed=y[4], torque=3.0 * (gy * (y[2] - gx) - gx * (y[3] - gy)) / l2)


def seconds_of(work: Callable[[], Any], runs: int) -> float:
    """Least processor time of several runs after one that warms up: what else the machine does is no part of it."""
    work()
    times = []
    for _ in range(runs):
        begin = process_time()
        work()
        times.append(process_time() - begin)
    return min(times)


def deck(drive: Drive, seconds: float, tolerance: float, *, whole: bool) -> Array:
    """What the kernel marches on."""
    numbers = pack(plan(seconds), drive, max_time=120.0, tolerance=tolerance).deck
    numbers[names.O_RECORD] = float(whole)
    numbers[names.O_BOOKS] = 0.0
    return numbers


def ours(module: Any, drive: Drive, seconds: float, tolerance: float, times: Array) -> Course:
    """Our course at the common times."""
    numbers = deck(drive, seconds, tolerance, whole=True)
    records, _, _, answer = module.march(numbers)
    out = np.asarray(module.sample(records, int(answer[names.T_RECORDS]), times, numbers)).reshape(-1, names.SAMPLE)
    return Course(speed=out[:, names.V_SPEED], torque=out[:, names.V_TORQUE])


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One start alone in the lanes, for its time, its steps and its course."""

    module: Any
    numbers: Array

    def quick(self) -> Any:
        """Peaks and outcome: what is timed."""
        out = np.zeros(names.QUICK)
        self.module.many(self.numbers, np.array([0.0, self.numbers.size]), 0, 1, out)
        return out

    def course(self, times: Array) -> Course:
        """Speed and torque at ascending times: each step is taken again to the times inside it."""
        m = self.module
        width = m.LANES
        table, spread, notes, marks = (m.room(n * width) for n in (m.ROWS, m.ROWS, m.NOTES, names.MARKS))
        m.lay(self.numbers, 0, table, 0, notes, marks, 0)
        rows, inertia = [(table[(m.Y + m.AT) * width], 0.0)], self.numbers[names.O_INERTIA]
        while len(rows) < times.size:
            m.advance(table, 1)
            begin, end = table[m.T_WAS * width], table[m.T * width]
            while table[m.GOOD * width] and len(rows) < times.size and times[len(rows)] <= end + 1e-12:
                inside = times[len(rows) : len(rows) + width]
                inside = inside[inside <= end + 1e-12]
                m.spread_out(table, 0, 0.0, 0.0, spread)
                spread[m.H * width : m.H * width + inside.size] = inside - begin
                m.advance(spread, width)
                speeds, torques = (spread[row * width : row * width + inside.size] for row in (m.Y + m.AT, m.M))
                rows += zip(speeds.tolist(), (inertia * torques).tolist(), strict=True)
        speed, torque = np.array(rows).T
        return Course(speed=speed, torque=torque)


def lane(drive: Drive, seconds: float, tolerance: float) -> Lane:
    """The start laid out for the lanes."""
    return Lane(module=lanes(1, compiled=True), numbers=deck(drive, seconds, tolerance, whole=False))


def duel(title: str, inertia: float, seconds: float) -> str:
    """One start by every solver, each at its loosest tolerance that is good enough."""
    drive, times = direct(inertia), np.linspace(0.0, seconds, POINTS)
    equations = Equations(drive=drive)
    truth = equations.course(equations.solve("DOP853", 1e-12, seconds, times, equations.rate()).y)
    module = kernel("compiled")
    loosest = next(t for t in LADDER if lane(drive, seconds, t).course(times).good(truth))
    alone = lane(drive, seconds, loosest)
    fast = seconds_of(alone.quick, 50)
    rows = [_row("slipwise, in a lane, peaks and outcome", loosest, int(alone.quick()[names.Q_STEPS]), fast, fast)]
    laid = seconds_of(lambda: deck(drive, seconds, loosest, whole=False), 50)
    rows.append(_row("before that: the start laid out in Python", loosest, "", laid, fast))
    mine = next(t for t in LADDER if ours(module, drive, seconds, t, times).good(truth))
    bare = deck(drive, seconds, mine, whole=False)
    steps = int(module.march(bare)[3][names.T_STEPS])
    took = seconds_of(lambda: module.march(bare), 50)
    rows.append(_row("slipwise, general kernel, peaks and outcome", mine, steps, took, fast))
    timed = [
        ("slipwise, general kernel, whole answer with books and samples", "compiled"),
        ("slipwise, the same in plain Python", "plain"),
    ]
    for name, engine in timed:
        took = seconds_of(lambda e=engine: transient(plan(seconds), drive, tolerance=mine, engine=e), 5)
        rows.append(_row(name, mine, steps, took, fast))
    for compiled in (False, True):
        for method in METHODS:
            rows.append(_scipy(method, replace(equations, compiled=compiled), seconds, times, truth, fast))
    note = (
        f"Equal accuracy: speed within {SPEED_ERROR:g} of synchronous and torque within {TORQUE_ERROR:g} of its peak at "
        f"{POINTS} times, against DOP853 at 1e-12; each solver at its loosest tolerance that holds both; ms: processor time, "
        "least of several runs. scipy in the "
        "synchronous frame with flux linkages as states, right-hand side in plain Python or compiled."
    )
    return section(title, ("solver", "tolerance", "steps", "ms", "ratio"), rows, note)


def _row(name: str, tolerance: float, steps: Any, took: float, fast: float) -> tuple[Any, ...]:
    return (name, f"{tolerance:.0e}", steps, f"{1e3 * took:.3g}", f"{took / fast:.3g}")


def _scipy(method: str, equations: Equations, seconds: float, times: Array, truth: Course, fast: float) -> Any:
    rate = equations.rate()
    name = f"scipy {method}, right-hand side {'compiled' if equations.compiled else 'plain'}"
    for tolerance in LADDER:
        answer = equations.solve(method, tolerance, seconds, times, rate)
        if answer.success and equations.course(answer.y).good(truth):
            took = seconds_of(lambda t=tolerance: equations.solve(method, t, seconds, None, rate), 10)
            steps = equations.solve(method, tolerance, seconds, None, rate).t.size - 1
            return _row(name, tolerance, steps, took, fast)
    return (name, "-", "-", "-", "not reached")


def different(count: int) -> list[tuple[Plan, Drive]]:
    """Direct starts of 2.5 s with everything varied by 15 % about the 500 hp machine; seed 7."""
    random = np.random.default_rng(7)
    starts: list[tuple[Plan, Drive]] = []
    for f in random.uniform(0.85, 1.15, (count, 8)):
        rotor = RotorBranch(R=0.187 * f[3], X=1.206 * f[4])
        circuit = replace(CIRCUIT, R1=0.262 * f[0], X1=1.206 * f[1], Xm=54.02 * f[2], rotor=(rotor,))
        motor = replace(MOTOR, circuit=circuit, inertia=11.06 * f[5])
        starts.append((plan(2.5), direct(0.0, 0.8 * f[6], motor, sqrt(f[7]))))
    return starts


def many() -> str:
    """The batch: rate, and the error that 99 of 100 starts keep below."""
    starts = different(BATCH)
    batch(starts[:8])
    took, cost = [], []
    for _ in range(5):
        begin, used = perf_counter(), process_time()
        answer = batch(starts)
        took.append(perf_counter() - begin)
        cost.append(process_time() - used)
    begin = process_time()
    decks = [deck(drive, 2.5, TOLERANCE, whole=False) for _, drive in starts]
    laying = process_time() - begin
    marching = _marching(decks)
    sample = slice(0, BATCH, BATCH // 500)
    module = kernel("compiled")
    errors = []
    times = np.linspace(0.0, 2.5, 501)
    for _, drive in starts[sample]:
        rough, fine = lane(drive, 2.5, TOLERANCE).course(times), ours(module, drive, 2.5, 1e-10, times)
        errors.append(np.max(np.abs(rough.speed - fine.speed)) / RATING.synchronous_speed)
    truth = [transient(*start, tolerance=1e-10, points=10, engine="compiled") for start in starts[sample]]
    torque = np.abs(answer.torque_max[sample] / np.array([one.peaks.torque_max for one in truth]) - 1)
    same = np.mean([a is b.outcome for a, b in zip(answer.outcome[sample], truth, strict=True)])
    rows = [
        ("starts a second, all cores", f"{BATCH / min(took):.0f}"),
        ("cores", cpu_count()),
        ("load average meanwhile", f"{getloadavg()[0]:.1f}"),
        ("processor time a start, us", f"{1e6 * min(cost) / BATCH:.1f}"),
        ("of it laying out, in Python and on one core, us", f"{1e6 * laying / BATCH:.1f}"),
        ("of it marching, us", f"{1e6 * marching / BATCH:.1f}"),
        ("steps a start, mean", f"{answer.steps.mean():.0f}"),
        ("speed error over the whole course, 99 of 100, pu", f"{np.quantile(errors, 0.99):.1e}"),
        ("peak torque error, 99 of 100, pu", f"{np.quantile(torque, 0.99):.1e}"),
        ("same outcome as the general kernel at 1e-10", f"{same:.3f}"),
    ]
    note = (
        f"{BATCH} different direct starts of 2.5 s (every value of the 500 hp machine and its load varied by 15 %), all in "
        "lanes; best of 5 runs. Errors against the general kernel at 1e-10."
    )
    return section("A batch of different starts", ("quantity", "value"), rows, note)


def _marching(decks: list[Array]) -> float:
    """Processor time of the lanes alone, best of 5 runs. [s]"""
    side_by_side, numbers = lanes(1, compiled=True), np.concatenate(decks)
    begins = np.concatenate([[0.0], np.cumsum([float(one.size) for one in decks])])
    cost = []
    for _ in range(5):
        begin = process_time()
        side_by_side.many(numbers, begins, 0, len(decks), np.zeros(names.QUICK * len(decks)))
        cost.append(process_time() - begin)
    return min(cost)


def sections() -> list[str]:
    """A short start, a long one, a batch."""
    return [
        duel("One direct start, 500 hp, quadratic load, 2.5 s, as electrical transient", 0.0, 2.5),
        duel("A start of 16 s: the same with ten times the inertia", 100.0, 16.0),
        many(),
    ]
