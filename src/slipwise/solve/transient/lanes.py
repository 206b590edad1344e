"""Plain starts side by side: eight lanes in one flow of instructions, each start with its own time and step.

A start is plain when it is one stage with three phases closed on a source that stays as it is, a linear circuit, and a load
that is a polynomial of speed and does not hold the shaft: most of a batch. Its equations are those of `kernel.slope` in mode
RUN without the choices. Lane l of row i stands at S[i * LANES + l], so that the compiler takes every operation of a step
for all lanes at once; a lane whose start has ended takes up the next. A start that turns out not to be plain (the shaft
turns back or runs away, the history is full) is left without an answer, for the kernel.

As `kernel.py`, this file is loaded as plain Python and again, compiled, by `engine.py`; and for one cage or, under a name
with `_two`, for two, because the length of the state must be known when it is compiled.

Steps are of order 8 with errors of order 5 and 3. Where a step may hold a new extreme, eight steps from its begin to points
spread over it show what is inside, as exactly as the step itself.

Source: Hairer, Norsett, Wanner, Solving Ordinary Differential Equations I, 2nd ed., II.5 and II.10 (Dormand and Prince's
pair of order 8(5,3), its coefficients and its error); the equations: see `kernel.py`.
"""

from __future__ import annotations

import math
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np

from slipwise.solve.transient import kernel as k
from slipwise.solve.transient import lane_state as of
from slipwise.solve.transient import order_eight as rk
from slipwise.solve.transient.lane_state import DECAY, INVERSE, LANES

COMPILED = __name__.endswith("_compiled")
CAGES = 2 if "_two" in __name__ else 1
if COMPILED:
    import numba

_OPTIONS: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract", "nsz", "arcp", "reassoc"},
    "_nrt": False,
}


_TREE = (k, of, rk)  # what is compiled into this module besides itself


def named(function: Any) -> Any:
    """The function under a name of its own, by which the compiler finds it on disk again: for each number of cages another,
    and another after any change in the files it is made of.
    """
    digest = sha256(b"".join(Path(str(module.__file__)).read_bytes() for module in _TREE)).hexdigest()[:12]
    function.__qualname__ = f"{function.__name__}_{CAGES}_{digest}"
    return function


def scalar(function: Any) -> Any:
    """Compiles the function in a compiled copy of this module, leaves it alone in a plain one."""
    return numba.njit(**_OPTIONS)(named(function)) if COMPILED else function


def inlined(function: Any) -> Any:
    """As `scalar`, and compiled into its callers."""
    return numba.njit(**_OPTIONS, forceinline=True)(named(function)) if COMPILED else function


def room(n: int) -> Any:
    """A zeroed vector of n numbers: a list in a plain copy, which Python reads faster than an array."""
    return np.zeros(n) if COMPILED else [0.0] * n


rise_time = scalar(k.rise_time)
unit = scalar(k.unit)

# Rows of the table. Constants of the start: source, loop resistance, 1/L of the loop, frequency of the source, the complex
# number (real part, negative imaginary part) that makes the air-gap flux from the sum of flux linkages over L, pairs of
# poles; over the inertia: torque of flux times current, polynomial of the load, stray load torque. Then of each cage 1/L and
# R/L, and the squares of the reciprocal tolerances of flux and speed.
(
    U_X, U_Y, R_LOOP, INV_LOOP, OMEGA, GAP, GAP_CORE, PAIRS, TORQUE, LOAD_0, LOAD_1, LOAD_2, LOAD_3, STRAY,
) = range(14)  # fmt: skip
FLUX, SPEED = 18, 19  # after INVERSE and DECAY of both cages
# What moves: state (loop flux, speed, flux of each cage) and its slope, both also as before the step; time, size of the
# next step and its limit, time at which to stop, begin and size of the step just tried, whether it was good enough; highest
# and lowest torque over the inertia and highest square of the current seen in it; torque over the inertia and current at its
# end, each with its slope.
STATE = 5 if CAGES == 1 else 7
AT = 2  # place of the speed in the state
Y = 20
DY = Y + STATE
WAS = DY + STATE
DWAS = WAS + STATE
(T, H, H_MOST, STOP, T_WAS, H_TRIED, GOOD, HIGH, LOW, SQUARE, M, DM, I_X, I_Y, DI_X, DI_Y) = range(
    DWAS + STATE, DWAS + STATE + 16
)
ROWS = DWAS + STATE + 16

# Of each lane, read one at a time: which start it is, where its deck stands, angle of the source at time zero, reason if
# the clock ends it, records kept, highest speed, since when nothing changes, square of the motor current that is in the
# peaks already, whether a clock ends it, slope of the torque before the step.
N_START, N_DECK, N_ANGLE, N_REASON, N_KEPT, N_TOP, N_QUIET, N_SEEN, N_CLOCKED, N_SLOPE = range(10)
NOTES = 10
ROOM = 4096  # records of a lane
GOES_ON, DONE, LEFT = 0, 1, 2

FINEST = 1e-9  # s: a start that asks for smaller steps is left
LENIENT = 8.0  # times the kernel's tolerance: at this the errors of both are alike
NEAR = 0.97  # of an extreme: a step whose stages come so near it is looked into
THIRD = 2.0943951023931953  # rad between phases
STRIDE = 6.0  # rad of the source in one step: much beyond, the mode that turns with it would grow
TINY = 1e-300  # keeps a root from zero
ARC = 2.5  # rad of the source at most between eight samples: cubics between them are 4e-5 of a swing off

blend = inlined(of.blend_1 if CAGES == 1 else of.blend_2)
moved = inlined(of.moved_1 if CAGES == 1 else of.moved_2)
picked = inlined(of.picked_1 if CAGES == 1 else of.picked_2)
linked = inlined(of.linked_1 if CAGES == 1 else of.linked_2)
together = inlined(of.together_1 if CAGES == 1 else of.together_2)
state = inlined(of.state_1 if CAGES == 1 else of.state_2)
put = inlined(of.put_1 if CAGES == 1 else of.put_2)


@inlined
def electric(y: Any, p: Any) -> Any:
    """Air-gap flux, stator current and the cages' flux linkages over their inductances: linear in the state y."""
    sum_x, sum_y = linked(y, p)
    along = y[0] * p[INV_LOOP] + sum_x
    aside = y[1] * p[INV_LOOP] + sum_y
    gap_x = along * p[GAP] + aside * p[GAP_CORE]
    gap_y = aside * p[GAP] - along * p[GAP_CORE]
    return gap_x, gap_y, (y[0] - gap_x) * p[INV_LOOP], (y[1] - gap_y) * p[INV_LOOP], sum_x, sum_y


@inlined
def rates(y: Any, p: Any) -> Any:
    """Slopes of a state, then torque over the inertia and square of the current."""
    gap_x, gap_y, i_x, i_y, sum_x, sum_y = electric(y, p)
    torque = p[TORQUE] * (gap_y * sum_x - gap_x * sum_y)
    square = i_x * i_x + i_y * i_y
    w = y[AT]
    load = p[LOAD_0] + w * (p[LOAD_1] + w * (p[LOAD_2] + w * p[LOAD_3]))
    head = (
        p[U_X] - p[R_LOOP] * i_x + p[OMEGA] * y[1],
        p[U_Y] - p[R_LOOP] * i_y - p[OMEGA] * y[0],
        torque - load - p[STRAY] * w * square,
    )
    return together(head, y, p[OMEGA] - p[PAIRS] * w, gap_x, gap_y, p), torque, square


@inlined
def above(a: float, b: float) -> float:
    """The greater one, in a form that is compiled for all lanes at once."""
    return a if a > b else b


@inlined
def eighth(y: Any, k1: Any, h: float, p: Any) -> Any:
    """One step of size h from y with slope k1: change, its errors of order 5 and 3, highest and lowest torque, square."""
    k2, _, _ = rates(moved(y, blend(h, rk.A2, (k1,))), p)
    k3, _, _ = rates(moved(y, blend(h, rk.A3, (k1, k2))), p)
    k4, m4, s4 = rates(moved(y, blend(h, rk.A4, (k1, k3))), p)
    k5, m5, s5 = rates(moved(y, blend(h, rk.A5, (k1, k3, k4))), p)
    k6, m6, s6 = rates(moved(y, blend(h, rk.A6, (k1, k4, k5))), p)
    k7, _, _ = rates(moved(y, blend(h, rk.A7, (k1, k4, k5, k6))), p)
    k8, _, _ = rates(moved(y, blend(h, rk.A8, (k1, k4, k5, k6, k7))), p)
    k9, m9, s9 = rates(moved(y, blend(h, rk.A9, (k1, k4, k5, k6, k7, k8))), p)
    k10, _, _ = rates(moved(y, blend(h, rk.A10, (k1, k4, k5, k6, k7, k8, k9))), p)
    k11, m11, s11 = rates(moved(y, blend(h, rk.A11, (k1, k4, k5, k6, k7, k8, k9, k10))), p)
    k12, m12, s12 = rates(moved(y, blend(h, rk.A12, (k1, k4, k5, k6, k7, k8, k9, k10, k11))), p)
    slopes = (k1, k6, k7, k8, k9, k10, k11, k12)
    # Stages 4, 5, 6, 9, 11 and 12 leave no gap above 0.32 of the step.
    high = above(above(above(m4, m5), above(m6, m9)), above(m11, m12))
    low = -above(above(above(-m4, -m5), above(-m6, -m9)), above(-m11, -m12))
    square = above(above(above(s4, s5), above(s6, s9)), above(s11, s12))
    return blend(h, rk.NEW, slopes), blend(h, rk.ERROR_5, slopes), blend(h, rk.ERROR_3, slopes), high, low, square


@inlined
def squared(e: Any, p: Any) -> Any:
    """Square of an error of the state over the tolerance."""
    total = e[0] * e[0] + e[1] * e[1] + e[3] * e[3] + e[4] * e[4]
    for i in range(5, STATE):
        total += e[i] * e[i]
    return total * p[FLUX] + e[AT] * e[AT] * p[SPEED]


@inlined
def constants(S: Any, lane: int) -> Any:
    """The constants of a lane."""
    return (
        S[lane], S[LANES + lane], S[2 * LANES + lane], S[3 * LANES + lane], S[4 * LANES + lane], S[5 * LANES + lane],
        S[6 * LANES + lane], S[7 * LANES + lane], S[8 * LANES + lane], S[9 * LANES + lane], S[10 * LANES + lane],
        S[11 * LANES + lane], S[12 * LANES + lane], S[13 * LANES + lane], S[14 * LANES + lane], S[15 * LANES + lane],
        S[16 * LANES + lane], S[17 * LANES + lane], S[18 * LANES + lane], S[19 * LANES + lane],
    )  # fmt: skip


@scalar
def advance(S: Any, active: int) -> None:
    """Try one step in each of the first `active` lanes: taken where its error allows; the size of the next one follows."""
    for lane in range(active):
        p = constants(S, lane)
        y = state(S, Y, lane)
        dy = state(S, DY, lane)
        t = S[T * LANES + lane]
        left = S[STOP * LANES + lane] - t
        h = S[H * LANES + lane]
        h = h if h < left else left
        change, e5, e3, high, low, square = eighth(y, dy, h, p)
        e5_square = squared(e5, p)
        error = e5_square / math.sqrt(e5_square + 0.01 * squared(e3, p) + TINY)
        good = error <= 1.0
        new = moved(y, change)
        slope, torque, now = rates(new, p)
        factor = 0.9 / math.sqrt(math.sqrt(math.sqrt(error + TINY)))
        factor = factor if factor < 5.0 else 5.0
        factor = factor if factor > 0.2 else 0.2  # also where the error is no number
        following = h * factor
        put(S, WAS, lane, y)
        put(S, DWAS, lane, dy)
        put(S, Y, lane, picked(good, new, y))
        put(S, DY, lane, picked(good, slope, dy))
        S[T * LANES + lane] = t + h if good else t
        most = S[H_MOST * LANES + lane]
        S[H * LANES + lane] = following if following < most else most
        S[T_WAS * LANES + lane] = t
        S[H_TRIED * LANES + lane] = h
        S[GOOD * LANES + lane] = 1.0 if good else 0.0
        S[HIGH * LANES + lane] = above(high, torque)
        S[LOW * LANES + lane] = -above(-low, -torque)
        S[SQUARE * LANES + lane] = above(square, now)
        gap_x, gap_y, i_x, i_y, sum_x, sum_y = electric(new, p)
        dgap_x, dgap_y, di_x, di_y, dsum_x, dsum_y = electric(slope, p)
        grows = gap_y * dsum_x + dgap_y * sum_x - gap_x * dsum_y - dgap_x * sum_y
        S[M * LANES + lane] = torque
        S[DM * LANES + lane] = p[TORQUE] * grows
        S[I_X * LANES + lane] = i_x
        S[I_Y * LANES + lane] = i_y
        S[DI_X * LANES + lane] = di_x
        S[DI_Y * LANES + lane] = di_y


@scalar
def plain(d: Any, at: int) -> bool:
    """Whether the deck that begins at `at` holds a plain start for this number of cages, without books or record."""
    s = at + int(d[at + k.O_TABLE])
    alone = (
        d[at + k.O_STAGES] == 1.0 and d[at + k.O_BRANCHES] == CAGES and d[at + k.O_BOOKS] + d[at + k.O_RECORD] <= 0.0
    )
    return bool(alone and steady(d, s) and smooth(d, at, s))


@scalar
def steady(d: Any, s: int) -> bool:
    """Whether the stage at `s` closes three phases on a source that stays as it is, and is ended by a clock or by rest."""
    fed = d[s + k.CONNECTED] != 0.0 and d[s + k.INVERTER] + d[s + k.LAWS] + d[s + k.SATURATES] <= 0.0
    whole = d[s + k.OMEGA] > 0.0 and d[s + k.AXIS_RE] == 0.0 and d[s + k.AXIS_IM] == 0.0
    return bool(fed and whole and (d[s + k.ENDS] == k.ELAPSED or d[s + k.ENDS] == k.SETTLED))


@scalar
def smooth(d: Any, at: int, s: int) -> bool:
    """Whether load and friction are a polynomial of the speed, and nothing holds the shaft."""
    head = at + int(d[at + k.O_LOAD])
    speed = d[at + k.O_SPEED]
    free = speed > 0.0 or (speed == 0.0 and d[head + k.H_HOLD] == 0.0 and d[head + k.H_PULL] == 0.0)
    good = free and d[head + k.H_CURVE] <= 0.0 and d[head + k.H_EXCESS] <= 0.0
    good = good and (d[s + k.MECHANICAL] <= 0.0 or power(d[s + k.EXPONENT]))
    for i in range(int(d[head + k.H_TERMS])):
        good = good and power(d[head + k.LOAD_HEAD + 3 * i + 1])
    return bool(good)


@scalar
def power(exponent: float) -> bool:
    """Whether a polynomial of the third degree holds this power of the speed."""
    return bool(0.0 <= exponent <= 3.0 and exponent == math.floor(exponent))


@scalar
def lay(d: Any, at: int, S: Any, lane: int, notes: Any, marks: Any, start: int) -> None:
    """The deck at `at`, of this number among the starts, into a lane: a dead machine, switched on."""
    head = at + int(d[at + k.O_LOAD])
    s = at + int(d[at + k.O_TABLE])
    inertia = d[at + k.O_INERTIA]
    for row in range(ROWS):
        S[row * LANES + lane] = 0.0
    loop_l = d[s + k.L_LOOP] + d[s + k.L_PATH]
    S[U_X * LANES + lane] = S[DY * LANES + lane] = d[s + k.U_RE]
    S[U_Y * LANES + lane] = S[(DY + 1) * LANES + lane] = d[s + k.U_IM]
    S[R_LOOP * LANES + lane] = d[s + k.R_LOOP] + d[s + k.R_PATH]
    S[INV_LOOP * LANES + lane] = 1.0 / loop_l
    S[OMEGA * LANES + lane] = d[s + k.OMEGA]
    S[GAP * LANES + lane] = (d[s + k.G_GAP] + 1.0 / loop_l) * d[s + k.INV_RUN]
    S[GAP_CORE * LANES + lane] = d[s + k.OMEGA] * d[s + k.G_CORE] * d[s + k.INV_RUN]
    S[PAIRS * LANES + lane] = d[s + k.POLES]
    S[TORQUE * LANES + lane] = 1.5 * d[s + k.POLES] / inertia
    S[STRAY * LANES + lane] = d[s + k.STRAY] / inertia
    for i in range(CAGES):
        row = s + k.BRANCHES + k.PER_BRANCH * i
        S[(INVERSE + 2 * i) * LANES + lane] = d[row + k.INVERSE]
        S[(DECAY + 2 * i) * LANES + lane] = (d[row] + d[row + k.EXTERNAL]) * d[row + k.INVERSE]
    if d[s + k.MECHANICAL] > 0.0:
        row = LOAD_0 + int(d[s + k.EXPONENT])
        S[row * LANES + lane] = d[s + k.MECHANICAL] / d[s + k.SYNC] ** d[s + k.EXPONENT] / inertia
    for i in range(int(d[head + k.H_TERMS])):
        term = head + k.LOAD_HEAD + 3 * i
        row = LOAD_0 + int(d[term + 1])
        S[row * LANES + lane] += d[term] / d[head + k.H_BASE] ** d[term + 1] / inertia
    tolerance = LENIENT * d[at + k.O_TOLERANCE]
    S[FLUX * LANES + lane] = 1.0 / (tolerance * d[at + k.O_FLUX]) ** 2
    S[SPEED * LANES + lane] = 1.0 / (tolerance * d[at + k.O_SYNC]) ** 2
    w = d[at + k.O_SPEED]
    S[(Y + AT) * LANES + lane] = w
    load = S[LOAD_2 * LANES + lane] + w * S[LOAD_3 * LANES + lane]
    S[(DY + AT) * LANES + lane] = -(S[LOAD_0 * LANES + lane] + w * (S[LOAD_1 * LANES + lane] + w * load))
    S[H * LANES + lane] = k.FIRST
    S[H_MOST * LANES + lane] = min(k.LONGEST, STRIDE / d[s + k.OMEGA])
    clock = d[s + k.VALUE] if d[s + k.ENDS] == k.ELAPSED else d[s + k.TIMEOUT]
    S[STOP * LANES + lane] = min(clock, d[at + k.O_MAX_TIME])
    notes[NOTES * lane + N_START] = start
    notes[NOTES * lane + N_DECK] = at
    notes[NOTES * lane + N_ANGLE] = d[at + k.O_ANGLE]
    notes[NOTES * lane + N_REASON] = k.TIMED if clock <= d[at + k.O_MAX_TIME] else k.OVER
    notes[NOTES * lane + N_CLOCKED] = 1.0 if clock < math.inf else 0.0
    notes[NOTES * lane + N_KEPT] = 0.0
    notes[NOTES * lane + N_TOP] = w
    notes[NOTES * lane + N_QUIET] = -1.0
    notes[NOTES * lane + N_SEEN] = 0.0
    notes[NOTES * lane + N_SLOPE] = 0.0
    for i in range(k.MARKS):
        marks[k.MARKS * lane + i] = 0.0


@scalar
def close(reason: float, inertia: float, S: Any, lane: int, notes: Any, marks: Any, records: Any, out: Any) -> None:
    """The answer of a lane into out."""
    to = k.QUICK * int(notes[NOTES * lane + N_START])
    mo = k.MARKS * lane
    speed = S[(Y + AT) * LANES + lane]
    kept = int(notes[NOTES * lane + N_KEPT])
    out[to + k.Q_END] = S[T * LANES + lane]
    out[to + k.Q_SPEED] = speed
    out[to + k.Q_REASON] = reason
    out[to + k.Q_STAGES] = 1.0
    torque = S[M * LANES + lane] * inertia  # what it has at the end may be the extreme
    out[to + k.Q_TMAX] = max(marks[mo + k.M_TMAX], torque)
    out[to + k.Q_TMIN] = min(marks[mo + k.M_TMIN], torque)
    out[to + k.Q_LINE] = marks[mo + k.M_LINE]
    out[to + k.Q_WINDING] = marks[mo + k.M_WINDING]
    out[to + k.Q_TOP] = notes[NOTES * lane + N_TOP]
    out[to + k.Q_RISE] = rise_time(records, 4 * ROOM * lane, kept, speed, 0.99 * speed)
    out[to + k.Q_STEPS] = kept


@scalar
def carry(S: Any, notes: Any, marks: Any, records: Any, source: int, target: int) -> None:
    """Lane `source` goes on as lane `target`."""
    for row in range(ROWS):
        S[row * LANES + target] = S[row * LANES + source]
    for i in range(4 * int(notes[NOTES * source + N_KEPT])):
        records[4 * ROOM * target + i] = records[4 * ROOM * source + i]
    for i in range(NOTES):
        notes[NOTES * target + i] = notes[NOTES * source + i]
    for i in range(k.MARKS):
        marks[k.MARKS * target + i] = marks[k.MARKS * source + i]


@inlined
def turns(S: Any, lane: int, notes: Any) -> bool:
    """Whether the torque turns round in the step just taken: its slopes say so, or the step is too long for them to say."""
    if S[H_TRIED * LANES + lane] * S[OMEGA * LANES + lane] > ARC:
        return True
    return bool(notes[NOTES * lane + N_SLOPE] * S[DM * LANES + lane] <= 0.0)


@inlined
def swings_high(S: Any, lane: int, inertia: float, marks: Any) -> bool:
    """Whether the torque of the stages of the step just taken comes near its extremes."""
    if S[HIGH * LANES + lane] * inertia > NEAR * marks[k.MARKS * lane + k.M_TMAX]:
        return True
    return bool(S[LOW * LANES + lane] * inertia < NEAR * marks[k.MARKS * lane + k.M_TMIN])


@scalar
def look(d: Any, S: Any, lane: int, spread: Any, notes: Any, marks: Any, swings: bool, surges: bool) -> None:
    """Take new extremes of torque (swings) and currents (surges) in the step just taken.

    spread: a second table, in which the step is taken to eight points.
    """
    mo = k.MARKS * lane
    at = int(notes[NOTES * lane + N_DECK])
    s = at + int(d[at + k.O_TABLE])
    inertia = d[at + k.O_INERTIA]
    whole = S[H_TRIED * LANES + lane]
    arcs = int(whole * d[s + k.OMEGA] / ARC) + 1
    spacing = whole / (arcs * (LANES - 1))
    for arc in range(arcs):
        begin = arc * (LANES - 1) * spacing
        spread_out(S, lane, begin, spacing, spread)
        advance(spread, LANES)
        if swings:
            torques(spread, S[T_WAS * LANES + lane] + begin, spacing, inertia, marks, mo)
        if surges:
            currents(d, s, spread, S[T_WAS * LANES + lane] + begin, spacing, notes[NOTES * lane + N_ANGLE], marks, mo)
    if surges:
        line = marks[mo + k.M_LINE] ** 2 / (d[s + k.A_RE] ** 2 + d[s + k.A_IM] ** 2)
        winding = marks[mo + k.M_WINDING] ** 2 / (d[s + k.WINDING_RE] ** 2 + d[s + k.WINDING_IM] ** 2)
        notes[NOTES * lane + N_SEEN] = min(line, winding)


@scalar
def spread_out(S: Any, lane: int, begin: float, spacing: float, spread: Any) -> None:
    """The step just taken in a lane into all lanes of `spread`, to points `spacing` apart from `begin` of it on."""
    for row in range(FLUX):
        value = S[row * LANES + lane]
        for j in range(LANES):
            spread[row * LANES + j] = value
    for row in range(2 * STATE):
        value = S[(WAS + row) * LANES + lane]
        for j in range(LANES):
            spread[(Y + row) * LANES + j] = value
    for j in range(LANES):
        spread[FLUX * LANES + j] = 0.0  # any error is allowed
        spread[SPEED * LANES + j] = 0.0
        spread[T * LANES + j] = 0.0
        spread[STOP * LANES + j] = math.inf
        spread[H * LANES + j] = begin + j * spacing


@scalar
def torques(spread: Any, begin: float, spacing: float, inertia: float, marks: Any, mo: int) -> None:
    """Extremes of the torque between the lanes of `spread`."""
    rise = spacing * inertia
    for j in range(LANES - 1):
        at = M * LANES + j
        slope = DM * LANES + j
        if spread[slope] * spread[slope + 1] > 0.0:
            continue
        part, best = crest(
            spread[at] * inertia, spread[slope] * rise, spread[at + 1] * inertia, spread[slope + 1] * rise
        )
        if best > marks[mo + k.M_TMAX]:
            marks[mo + k.M_TMAX] = best
            marks[mo + k.M_TMAX_AT] = begin + (j + part) * spacing
        if best < marks[mo + k.M_TMIN]:
            marks[mo + k.M_TMIN] = best
            marks[mo + k.M_TMIN_AT] = begin + (j + part) * spacing


@scalar
def currents(
    d: Any, s: int, spread: Any, begin: float, spacing: float, angle: float, marks: Any, mo: int
) -> None:  # fmt: skip
    """Extremes of the line and winding currents of all phases between the lanes of `spread`; s: place of the stage."""
    omega = d[s + k.OMEGA]
    turn = unit(angle + omega * begin)
    onward = unit(omega * spacing)
    for j in range(LANES):
        current = complex(spread[I_X * LANES + j], spread[I_Y * LANES + j])
        slope = complex(spread[DI_X * LANES + j], spread[DI_Y * LANES + j]) + complex(0.0, omega) * current
        current = current * turn
        slope = slope * turn * spacing
        spread[I_X * LANES + j] = current.real
        spread[I_Y * LANES + j] = current.imag
        spread[DI_X * LANES + j] = slope.real
        spread[DI_Y * LANES + j] = slope.imag
        turn = turn * onward
    for phase in range(3):
        back = unit(-THIRD * phase)
        line = complex(d[s + k.A_RE], -d[s + k.A_IM]) * back
        winding = complex(d[s + k.WINDING_RE], d[s + k.WINDING_IM]) * back
        for j in range(LANES - 1):
            part, best = highest(line, spread, j)
            if best > marks[mo + k.M_LINE]:
                marks[mo + k.M_LINE] = best
                marks[mo + k.M_LINE_AT] = begin + (j + part) * spacing
                marks[mo + k.M_PHASE] = phase
            part, best = highest(winding, spread, j)
            marks[mo + k.M_WINDING] = max(best, marks[mo + k.M_WINDING])


@inlined
def highest(axis: Any, spread: Any, j: int) -> Any:
    """Where and how high the magnitude of one phase (real part of axis times current) stands after sample j; or 0, 0."""
    d0 = axis.real * spread[DI_X * LANES + j] - axis.imag * spread[DI_Y * LANES + j]
    d1 = axis.real * spread[DI_X * LANES + j + 1] - axis.imag * spread[DI_Y * LANES + j + 1]
    if d0 * d1 > 0.0:
        return 0.0, 0.0
    v0 = axis.real * spread[I_X * LANES + j] - axis.imag * spread[I_Y * LANES + j]
    v1 = axis.real * spread[I_X * LANES + j + 1] - axis.imag * spread[I_Y * LANES + j + 1]
    part, best = crest(v0, d0, v1, d1)
    return part, abs(best)


@scalar
def crest(v0: float, d0: float, v1: float, d1: float) -> Any:
    """Part of the way and value where the cubic with values v and slopes d at the ends, of opposite signs, turns."""
    change = v1 - v0
    bend = 3.0 * change - 2.0 * d0 - d1
    twist = d0 + d1 - 2.0 * change
    root = math.sqrt(max(bend * bend - 3.0 * twist * d0, 0.0))
    below = -bend - root if d0 < 0.0 else -bend + root
    part = d0 / below if below != 0.0 else 0.0
    part = min(max(part, 0.0), 1.0)
    return part, v0 + part * (d0 + part * (bend + part * twist))


@scalar
def quiet(d: Any, S: Any, lane: int, notes: Any) -> bool:
    """Whether a start without a clock has settled: see `kernel.settled`."""
    at = int(notes[NOTES * lane + N_DECK])
    s = at + int(d[at + k.O_TABLE])
    restless = abs(S[(DY + AT) * LANES + lane]) * d[at + k.O_INERTIA] / d[s + k.SETTLE_TORQUE]
    for i in range(STATE):
        if i != AT:
            restless = max(restless, abs(S[(DY + i) * LANES + lane]) / d[at + k.O_VOLTAGE])
    t = S[T * LANES + lane]
    since = notes[NOTES * lane + N_QUIET]
    if restless > 1.0:
        notes[NOTES * lane + N_QUIET] = -1.0
    elif since < 0.0:
        notes[NOTES * lane + N_QUIET] = t
    return bool(restless <= 1.0 and since >= 0.0 and t - since > k.QUIET)


@inlined
def after(
    d: Any, S: Any, lane: int, spread: Any, notes: Any, marks: Any, records: Any, out: Any
) -> int:  # fmt: skip
    """What follows from the step just tried in a lane: the start goes on, is done, or is left to the kernel."""
    if S[GOOD * LANES + lane] == 0.0:
        return LEFT if S[H * LANES + lane] < FINEST else GOES_ON
    kept = int(notes[NOTES * lane + N_KEPT])
    w = S[(Y + AT) * LANES + lane]
    at = int(notes[NOTES * lane + N_DECK])
    if w < 0.0 or w >= 2.0 * d[at + k.O_SYNC] or kept == ROOM:
        return LEFT
    to = 4 * (ROOM * lane + kept)
    records[to] = S[T_WAS * LANES + lane]
    records[to + 1] = S[H_TRIED * LANES + lane]
    records[to + 2] = S[(WAS + AT) * LANES + lane]
    records[to + 3] = S[(DWAS + AT) * LANES + lane]
    notes[NOTES * lane + N_KEPT] = kept + 1.0
    notes[NOTES * lane + N_TOP] = max(w, notes[NOTES * lane + N_TOP])
    swings = turns(S, lane, notes) and swings_high(S, lane, d[at + k.O_INERTIA], marks)
    notes[NOTES * lane + N_SLOPE] = S[DM * LANES + lane]
    surges = S[SQUARE * LANES + lane] > NEAR * NEAR * notes[NOTES * lane + N_SEEN]
    if swings or surges:
        look(d, S, lane, spread, notes, marks, swings, surges)
    if S[STOP * LANES + lane] - S[T * LANES + lane] <= k.LAST_BIT:
        S[T * LANES + lane] = S[STOP * LANES + lane]
        close(notes[NOTES * lane + N_REASON], d[at + k.O_INERTIA], S, lane, notes, marks, records, out)
        return DONE
    if notes[NOTES * lane + N_CLOCKED] == 0.0 and quiet(d, S, lane, notes):
        close(k.SETTLED_DOWN, d[at + k.O_INERTIA], S, lane, notes, marks, records, out)
        return DONE
    return GOES_ON


@scalar
def flow(
    decks: Any, begins: Any, first: int, last: int, S: Any, spread: Any, notes: Any, marks: Any,
    records: Any, out: Any,
) -> None:  # fmt: skip
    """March the plain ones of the decks `first` to `last` - 1."""
    following = first
    active = 0
    while True:
        while active < LANES and following < last:
            at = int(begins[following])
            if plain(decks, at):
                lay(decks, at, S, active, notes, marks, following)
                active += 1
            following += 1
        if active == 0:
            return
        advance(S, active)
        for lane in range(active - 1, -1, -1):
            if after(decks, S, lane, spread, notes, marks, records, out) != GOES_ON:
                active -= 1
                if lane < active:
                    carry(S, notes, marks, records, active, lane)


def many(decks: Any, begins: Any, first: int, last: int, out: Any) -> None:
    """As `kernel.many`, for plain starts; the others keep reason 0 in out."""
    size = 4 * ROOM * min(LANES, last - first)
    records = np.empty(size) if COMPILED else room(size)
    flow(
        decks, begins, first, last, room(ROWS * LANES), room(ROWS * LANES), room(NOTES * LANES),
        room(k.MARKS * LANES), records, out,
    )  # fmt: skip
