"""The search for a double-cage circuit as scalar code that runs plain and compiled; the method stands in `cage_fit`.

Imported under its own name it is plain Python on lists; `cage_search` loads it a second time under a name ending in
`_compiled`, where every function is compiled and cached on disk. Nothing here knows a plate: a goal is a flat row of
numbers (places G_...), a circuit another (places C_...), all per unit of rated current and phase voltage.

Unknowns of a trial point: x0, x1 say how far the X/R of the two cages lie above and below that of the whole rotor at
slip 1; x2, x3 move the split of leakage and the share of stator copper from their usual values; then the logarithmic
moves of locked-rotor current, locked-rotor torque, breakdown torque and slip from the values of the plate.

Source of the descent: Levenberg, Quarterly of Applied Mathematics 2 (1944) 164; Marquardt, J. SIAM 11 (1963) 431.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np

COMPILED = __name__.endswith("_compiled")
if COMPILED:
    import numba

(
    G_SLIP, G_POWER_FACTOR, G_EFFICIENCY, G_CURRENT, G_TORQUE, G_AIM, G_PULL_UP, G_MECHANICAL, G_MECHANICAL_SHARE,
    G_STRAY_SHARE, G_STATOR_SHARE, G_LEAKAGE, G_FIRST, G_MONOTONE, G_SLACK, G_GIVEN, G_PULL_UP_SLACK,
) = (*range(15), 18, 22)  # fmt: skip
(
    C_SLIP, C_R1, C_X1, C_CORE, C_MAGNETISING, C_R2, C_X2, C_R3, C_X3, C_MECHANICAL, C_STRAY, C_OUTPUT, C_RATIO,
) = range(13)  # fmt: skip
CIRCUIT = 13
(
    S_CONDUCTANCE, S_SUSCEPTANCE, S_LOCKED_CONDUCTANCE, S_LOCKED_SUSCEPTANCE,
) = range(4)  # fmt: skip
A_CODE, A_ERROR, A_VALLEY, A_STEPS, A_POINT = range(5)  # of an answer; the point follows, 8 numbers
ANSWER = 12

# Why there is no circuit: the value of the plate that forbids it.
FINE, EFFICIENCY, MECHANICAL, LOCKED_TORQUE, POWER_FACTOR = range(5)

POINTS = 60
SLIPS = tuple(float(s) for s in np.geomspace(1e-3, 1.0, POINTS))
_STRIDE = math.log(SLIPS[1] / SLIPS[0])
_HARD = 1e4  # weight of an equation that must hold, against 1 for a soft wish
_ROWS, _RAW = 11, 11  # of a residual; behind them the plain miss of the pull-up torque


_F = TypeVar("_F", bound=Callable[..., Any])


def scalar(function: _F) -> _F:
    """Compiles the function in the compiled copy of this module, leaves it alone in the plain one."""
    if not COMPILED:
        return function
    return cast("_F", numba.njit(cache=True, nogil=True, error_model="numpy")(function))


if COMPILED:

    @scalar
    def room(count: int) -> Any:
        """`count` zeros."""
        return np.zeros(count)

else:

    def room(count: int) -> Any:
        """`count` zeros."""
        return [0.0] * count


@scalar
def _share(usual: float, x: float) -> float:
    """A share moved by x in its logit."""
    odds = usual / (1 - usual) * math.exp(min(max(x, -60.0), 60.0))
    return odds / (1 + odds)


@scalar
def stator_of(g: Any, x2: float, x3: float, moved: Any, side: Any, c: Any) -> int:
    """Stator side at a trial point into `side` and `c`; a code when it has none. `moved`: 4 logarithmic moves."""
    slip = g[G_SLIP] * math.exp(moved[3])
    power = g[G_POWER_FACTOR]
    output = power * g[G_EFFICIENCY]
    left = power - output / (1 - slip)
    if left <= 0:
        return EFFICIENCY
    mechanical = g[G_MECHANICAL] if g[G_MECHANICAL] >= 0 else g[G_MECHANICAL_SHARE] * left * (1 - slip)
    stray = g[G_STRAY_SHARE] * left * (1 - slip)
    rest = left - (mechanical + stray) / (1 - slip)
    if rest <= 0:
        return MECHANICAL
    r1 = rest * _share(g[G_STATOR_SHARE], x3)
    locked = g[G_CURRENT] * math.exp(moved[0])
    gap_locked = g[G_TORQUE] * math.exp(moved[1]) * output / (1 - slip)
    active = (gap_locked + r1 * locked * locked) / locked
    if active >= 0.999:
        return LOCKED_TORQUE
    x1 = math.sqrt(1 - active * active) / locked * _share(g[G_LEAKAGE], x2)
    current = complex(power, -math.sqrt(1 - power * power))
    gap = 1 - current * complex(r1, x1)
    square = gap.real * gap.real + gap.imag * gap.imag
    c[C_SLIP], c[C_R1], c[C_X1], c[C_CORE] = slip, r1, x1, (rest - r1) / square
    c[C_MECHANICAL], c[C_STRAY], c[C_OUTPUT] = mechanical, stray, output
    side[S_CONDUCTANCE] = (output + mechanical + stray) / (1 - slip) / square
    side[S_SUSCEPTANCE] = -(current / gap).imag
    return locked_of(c, locked, gap_locked, side)


@scalar
def locked_of(c: Any, locked: float, gap_power: float, side: Any) -> int:
    """Rotor conductance, and susceptance behind the gap, at slip 1; the core loss there is found by iteration."""
    core_loss, square, susceptance = 0.0, 1.0, 0.0
    for _ in range(30):
        active = (gap_power + c[C_R1] * locked * locked + core_loss) / locked
        if active >= 1:
            return LOCKED_TORQUE
        current = locked * complex(active, -math.sqrt(1 - active * active))
        gap = 1 - current * complex(c[C_R1], c[C_X1])
        square = gap.real * gap.real + gap.imag * gap.imag
        susceptance = -(current / gap).imag
        last = core_loss
        core_loss = c[C_CORE] * square
        if abs(core_loss - last) < 1e-13:
            break
    side[S_LOCKED_CONDUCTANCE], side[S_LOCKED_SUSCEPTANCE] = gap_power / square, susceptance
    return FINE


@scalar
def cages_of(side: Any, x0: float, x1: float, c: Any) -> int:
    """Both cages from T2 = phi (1 + exp x0) and T3 = phi / (1 + exp -x1); the magnetising branch by iteration."""
    above, below = 1 + math.exp(min(x0, 50.0)), 1 / (1 + math.exp(min(-x1, 500.0)))
    s2 = c[C_SLIP] * c[C_SLIP]
    g1, b = side[S_LOCKED_CONDUCTANCE], side[S_SUSCEPTANCE]
    magnetising = 0.8 * b
    t2 = t3 = k2 = k3 = d2 = d3 = 0.0
    for _ in range(60):
        b1 = side[S_LOCKED_SUSCEPTANCE] - magnetising
        if b1 <= 0 or g1 <= 0:
            return POWER_FACTOR
        t2, t3 = b1 / g1 * above, b1 / g1 * below
        k2 = (b1 - t3 * g1) / (t2 - t3) * (1 + t2 * t2)
        k3 = (t2 * g1 - b1) / (t2 - t3) * (1 + t3 * t3)
        d2, d3 = k2 / (1 + s2 * t2 * t2), k3 / (1 + s2 * t3 * t3)
        last = magnetising
        magnetising = b - s2 * (d2 * t2 + d3 * t3)
        if abs(magnetising - last) < 1e-13:
            break
    if not (magnetising > 0 and k2 > 0 and k3 > 0) or c[C_SLIP] * t2 > 1:  # no cage past its own peak at rated load
        return POWER_FACTOR
    c[C_MAGNETISING] = magnetising
    c[C_R2], c[C_X2], c[C_R3], c[C_X3] = 1 / k2, t2 / k2, 1 / k3, t3 / k3
    c[C_RATIO] = c[C_SLIP] * (d2 + d3) / side[S_CONDUCTANCE]
    return FINE


@scalar
def torque(c: Any, slip: Any) -> Any:
    """Shaft torque over rated torque; shape of `slip`."""
    rotor = slip / (c[C_R2] + 1j * slip * c[C_X2]) + slip / (c[C_R3] + 1j * slip * c[C_X3])
    beyond = c[C_CORE] - 1j * c[C_MAGNETISING] + rotor
    gap = 1 / (1 + (c[C_R1] + 1j * c[C_X1]) * beyond)
    current = gap * beyond
    drag = c[C_MECHANICAL] + c[C_STRAY] * (current.real * current.real + current.imag * current.imag)
    running = 1 - c[C_SLIP]
    gap_power = (gap.real * gap.real + gap.imag * gap.imag) * rotor.real
    return (gap_power - drag * (1 - slip) / (running * running)) * running / c[C_OUTPUT]


if COMPILED:

    @scalar
    def _curve(c: Any) -> Any:
        """Torque at every slip of the scan."""
        found = np.empty(POINTS)
        for k in range(POINTS):
            found[k] = torque(c, SLIPS[k])
        return found

else:
    _ARRAY = np.array(SLIPS)

    def _curve(c: Any) -> Any:
        """Torque at every slip of the scan."""
        return torque(c, _ARRAY).tolist()


@scalar
def peak(c: Any, first: bool) -> float:
    """Slip of the highest shaft torque in the starting range, or of the first peak from synchronous speed."""
    curve = _curve(c)
    at = 0
    for k in range(1, POINTS):
        if curve[k] > curve[at]:
            at = k
        elif first:
            break
    if at == 0 or at == POINTS - 1:
        return SLIPS[at]
    return _refined(c, 1.0, math.log(SLIPS[at]))


@scalar
def valley(c: Any, top: float) -> float:
    """Slip of the lowest shaft torque between standstill and the peak at slip `top`."""
    curve = _curve(c)
    start = 0
    while start < POINTS and SLIPS[start] <= top:
        start += 1
    if POINTS - start < 3:
        return 1.0
    at = start
    for k in range(start, POINTS):
        if curve[k] < curve[at]:
            at = k
    if at == start or at == POINTS - 1:
        return SLIPS[at]
    return _refined(c, -1.0, math.log(SLIPS[at]))


@scalar
def _refined(c: Any, sign: float, middle: float) -> float:
    """Top of sign x torque near exp(middle), in log slip, by parabolas of shrinking width."""
    low, high, step = middle - _STRIDE, middle + _STRIDE, _STRIDE / 2
    for _ in range(6):
        left = sign * torque(c, math.exp(middle - step))
        here = sign * torque(c, math.exp(middle))
        right = sign * torque(c, math.exp(middle + step))
        bend = left - 2 * here + right
        if bend >= 0:
            break
        move = 0.5 * step * (left - right) / bend
        middle = min(max(middle + move, low), high)
        if abs(move) < 1e-6:
            break
        step = min(step, max(4 * abs(move), 1e-4))
    return min(1.0, math.exp(middle))


@scalar
def _high(g: Any, c: Any, top: float) -> float:
    """Miss of the breakdown torque (log); with the peak at standstill only an excess counts."""
    miss = math.log(max(torque(c, top), 1e-9) / g[G_AIM])
    return max(miss, 0.0) if g[G_MONOTONE] > 0 else miss


@scalar
def _ratio(side: Any, x0: float, x1: float, c: Any) -> float:
    """Logarithm of the rotor conductance at rated slip over the wanted one; NaN where there is no circuit."""
    if cages_of(side, x0, x1, c) != FINE:
        return math.nan
    return math.log(c[C_RATIO])


@scalar
def _at_rated_slip(side: Any, x1: float, c: Any) -> float:
    """x0 that meets the rated slip for a given x1: scan, then regula falsi with halving; NaN when there is no crossing."""
    low, below = -6.0, _ratio(side, -6.0, x1, c)
    if math.isnan(below) or below > 0:
        return math.nan
    high, above, stride = low, below, 1.0
    while above < 0:
        ahead, here = high + stride, math.nan
        if ahead < 6:
            here = _ratio(side, ahead, x1, c)
        if math.isnan(here):  # beyond the last circuit: creep up to it
            stride *= 0.5
            if stride < 0.01:
                return math.nan
            continue
        low, below, high, above = high, above, ahead, here
    for turn in range(60):
        middle = 0.5 * (low + high) if turn % 3 == 0 else low - below * (high - low) / (above - below)
        here = _ratio(side, middle, x1, c)
        if math.isnan(here) or abs(here) < 1e-9:
            return middle if abs(here) < 1e-9 else math.nan
        if here < 0:
            low, below = middle, here
        else:
            high, above = middle, here
    return 0.5 * (low + high)


@scalar
def newton(g: Any, answer: Any) -> bool:
    """Secant in x1 on the breakdown torque, x0 meeting the rated slip throughout, stator at usual proportions.

    False when there is no solution inside moderate proportions; the search over more unknowns then takes over.
    """
    side, c, still = room(4), room(CIRCUIT), room(4)
    if stator_of(g, 0.0, 0.0, still, side, c) != FINE:
        return False
    x1, last_x1, last_high = -1.0, 0.0, 0.0
    for turn in range(13):
        answer[A_STEPS] += 1
        x0 = _at_rated_slip(side, x1, c)
        if math.isnan(x0) or cages_of(side, x0, x1, c) != FINE:
            return False
        high = _high(g, c, peak(c, g[G_FIRST] > 0))
        if abs(high) < 1e-8:
            for k in range(8):
                answer[A_POINT + k] = 0.0
            answer[A_ERROR], answer[A_POINT], answer[A_POINT + 1] = abs(high), x0, x1
            return True
        if turn == 0:
            move = 0.5 if high > 0 else -0.5
        else:
            move = -high * (x1 - last_x1) / (high - last_high) if high != last_high else 1.0
        last_x1, last_high = x1, high
        x1 += max(-2.0, min(2.0, move))
        if not -4.5 < x1 < 4.5 or not x0 > -4:
            return False
    return False


@scalar
def _wish(share: float) -> float:
    """Weight of a given value's move: steep towards the edge of its rounding, so that all values share the moves."""
    return 3 * share + 30 * share * abs(share)


@scalar
def residual(g: Any, p: Any, count: int, top: float, rows: Any, c: Any) -> float:
    """Weighted equations, then wishes on the proportions, then on the moves of the plate values, into `rows`.

    top: slip of the peak; NaN looks for it. Gives it back, or NaN where there is no circuit.
    """
    side, moved = room(4), room(4)
    if max(abs(p[0]), abs(p[1])) > 30:
        return math.nan
    if count > 4:
        for k in range(4):
            moved[k] = p[4 + k]
            if abs(moved[k]) > 2:
                return math.nan
    if stator_of(g, p[2], p[3], moved, side, c) != FINE or cages_of(side, p[0], p[1], c) != FINE:
        return math.nan
    if math.isnan(top):
        top = peak(c, g[G_FIRST] > 0)
    high = _high(g, c, top)
    rows[0] = _HARD * math.log(c[C_RATIO])
    rows[1] = _HARD * (high if g[G_MONOTONE] > 0 else high - moved[2])
    rows[2], rows[3], rows[4], rows[5] = p[0] / 4 - 0.1, p[1] / 4 + 0.25, p[2], p[3] / 0.7
    rows[6] = rows[_RAW] = 0.0
    if g[G_PULL_UP] > 0:
        rows[_RAW] = math.log(max(torque(c, valley(c, top)), 1e-9) / g[G_PULL_UP])
        rows[6] = _wish(rows[_RAW] / g[G_PULL_UP_SLACK])
    for k in range(4):
        share = moved[k] / g[G_SLACK + k]
        rows[7 + k] = _wish(share) if g[G_GIVEN + k] > 0 else share
    return top


@scalar
def _sum_of_squares(rows: Any) -> float:
    total = 0.0
    for k in range(_ROWS):
        total += float(rows[k] * rows[k])
    return total


@scalar
def _eliminated(m: Any, count: int) -> bool:
    """A linear system, rows of count + 1 numbers, made triangular by Gauss elimination with pivots; False when singular."""
    width = count + 1
    for i in range(count):
        best = i
        for k in range(i + 1, count):
            if abs(m[k * width + i]) > abs(m[best * width + i]):
                best = k
        if not abs(m[best * width + i]) > 0:
            return False
        for j in range(i, width):
            m[i * width + j], m[best * width + j] = m[best * width + j], m[i * width + j]
        for k in range(i + 1, count):
            factor = m[k * width + i] / m[i * width + i]
            for j in range(i, width):
                m[k * width + j] -= factor * m[i * width + j]
    return True


@scalar
def _stepped(normal: Any, damping: float, count: int, p: Any, ahead: Any) -> bool:
    """p - (normal + damping x diagonal)^-1 gradient into `ahead`, at most 1.5 away in any unknown; False when singular.

    The gradient stands behind the 8 x 8 matrix.
    """
    m, move, longest, width = room(72), room(8), 1e-12, count + 1
    for i in range(count):
        for j in range(count):
            m[i * width + j] = normal[i * 8 + j]
        m[i * width + i] += damping * max(normal[i * 8 + i], 1e-6)
        m[i * width + count] = -normal[64 + i]
    if not _eliminated(m, count):
        return False
    for i in range(count - 1, -1, -1):
        total = m[i * width + count]
        for j in range(i + 1, count):
            total -= m[i * width + j] * move[j]
        move[i] = total / m[i * width + i]
        longest = max(longest, abs(move[i]))
    for i in range(count):
        ahead[i] = p[i] + move[i] * min(1.0, 1.5 / longest)
    return True


@scalar
def _normal(g: Any, p: Any, count: int, top: float, rows: Any, normal: Any) -> bool:
    """Normal equations and the gradient behind them, from differences with the slip of the peak held.

    False where no neighbour has a circuit.
    """
    slope, shifted, near, c = room(88), room(8), room(_ROWS + 1), room(CIRCUIT)
    for k in range(count):
        shifted[k] = p[k]
    for k in range(count):
        h = 1e-6
        shifted[k] = p[k] + h
        if math.isnan(residual(g, shifted, count, top, near, c)):
            h = -1e-6
            shifted[k] = p[k] + h
            if math.isnan(residual(g, shifted, count, top, near, c)):
                return False
        shifted[k] = p[k]
        for i in range(_ROWS):
            slope[k * _ROWS + i] = (near[i] - rows[i]) / h
    for k in range(count):
        normal[64 + k] = 0.0
        for i in range(_ROWS):
            normal[64 + k] += slope[k * _ROWS + i] * rows[i]
        for j in range(count):
            total = 0.0
            for i in range(_ROWS):
                total += slope[k * _ROWS + i] * slope[j * _ROWS + i]
            normal[k * 8 + j] = total
    return True


@scalar
def descend(g: Any, start: Any, count: int, most: int, answer: Any) -> bool:
    """Levenberg-Marquardt descent from `start` (8 numbers, `count` of them unknown); False where that has no circuit."""
    p, ahead, rows, next_rows, c, normal = room(8), room(8), room(_ROWS + 1), room(_ROWS + 1), room(CIRCUIT), room(72)
    for k in range(8):
        p[k] = start[k]
    top = residual(g, p, count, math.nan, rows, c)
    if math.isnan(top):
        return False
    cost, damping, steps = _sum_of_squares(rows), 1e-3, 0
    while steps < most:
        steps += 1
        if not _normal(g, p, count, top, rows, normal):
            break
        lower, next_top = math.inf, top
        for _ in range(14):
            if _stepped(normal, damping, count, p, ahead):
                next_top = residual(g, ahead, count, math.nan, next_rows, c)
                lower = math.inf if math.isnan(next_top) else _sum_of_squares(next_rows)
                if lower < cost:
                    break
            damping = max(damping * 8, 1e-6)
        if not lower < cost:
            break
        damping *= 0.15
        gain, cost, top = cost - lower, lower, next_top
        for k in range(count):
            p[k] = ahead[k]
        for k in range(_ROWS):
            rows[k] = next_rows[k]
        settled = max(abs(rows[0]), abs(rows[1])) < 1e-6 * _HARD
        if gain < (1e-3 if settled else 1e-8) * (1 + cost):
            break
    answer[A_STEPS] += steps
    answer[A_ERROR], answer[A_VALLEY] = max(abs(rows[0]), abs(rows[1])) / _HARD, rows[_RAW]
    for k in range(8):
        answer[A_POINT + k] = p[k]
    return True


@scalar
def _score(g: Any, answer: Any) -> float:
    """How far an answer is from good: 1 at the edge of what is allowed."""
    score: float = max(answer[A_ERROR] / 1e-3, abs(answer[A_VALLEY]) / g[G_PULL_UP_SLACK])
    for k in range(4):
        if g[G_GIVEN + k] > 0:
            score = max(score, abs(answer[A_POINT + 4 + k]) / g[G_SLACK + k])
    return score


@scalar
def search(g: Any, starts: Any, many: int, count: int, best: Any, least: float) -> float:
    """Descents from `many` starts (8 numbers each), the best into `best`; stops at the first that is good enough.

    Gives the score of the best, `least` where none is better.
    """
    trial, start = room(ANSWER), room(8)
    enough = 0.5 if count > 4 or g[G_PULL_UP] > 0 else 1e-3
    for n in range(many):
        for k in range(8):
            start[k] = starts[n * 8 + k]
        trial[A_STEPS] = 0.0
        if not descend(g, start, count, 60 if count > 4 else 40, trial):
            continue
        best[A_STEPS] += trial[A_STEPS]
        score = _score(g, trial)
        if score < least:
            least = score
            for k in range(ANSWER):
                if k != A_STEPS:
                    best[k] = trial[k]
        if score < enough:
            break
    return least


@scalar
def solve(g: Any, starts: Any, many: int, answer: Any, c: Any) -> int:
    """The circuit nearest to usual proportions that meets the goal, into `answer` and `c`; a code when there is none.

    starts: x0 and x1 of `many` starts, 2 numbers each, in the order they are tried where a pull-up torque is stated.
    """
    side, moved, points = room(4), room(4), room(8 * (many + 1))
    pull_up = g[G_PULL_UP] > 0
    direct = newton(g, answer)
    if not (direct and not pull_up):
        tried = many if pull_up else 2
        first = 1 if direct else 0
        for k in range(2 * first):
            points[k] = answer[A_POINT + k]
        for n in range(tried):
            source = n if pull_up else tried - 1 - n
            points[8 * (n + first)], points[8 * (n + first) + 1] = starts[2 * source], starts[2 * source + 1]
        least = search(g, points, tried + first, 4, answer, math.inf)
        if not (least < math.inf and answer[A_ERROR] < 1e-6 and not (pull_up and least > 1)):
            first = 1 if least < math.inf else 0
            for k in range(8 * first):
                points[k] = answer[A_POINT + k]
            for n in range(3):
                for k in range(8):
                    points[8 * (n + first) + k] = starts[2 * n + k] if k < 2 else 0.0
            again = search(g, points, 3 + first, 8, answer, math.inf)
            least = again if again < math.inf else least
        if not least < math.inf:
            code = stator_of(g, 0.0, 0.0, moved, side, c)
            if code == FINE:
                code = cages_of(side, starts[0], starts[1], c)
            return code if code != FINE else LOCKED_TORQUE
    return shape(g, answer, c)


@scalar
def shape(g: Any, answer: Any, c: Any) -> int:
    """The circuit at the point of an answer, into `c`; a code when there is none."""
    side, moved = room(4), room(4)
    for k in range(4):
        moved[k] = answer[A_POINT + 4 + k]
    code = stator_of(g, answer[A_POINT + 2], answer[A_POINT + 3], moved, side, c)
    return code if code != FINE else cages_of(side, answer[A_POINT], answer[A_POINT + 1], c)


@scalar
def from_point(g: Any, point: Any, answer: Any, c: Any) -> int:
    """As `solve`, by one descent in all unknowns from a point (8 numbers)."""
    if not search(g, point, 1, 8, answer, math.inf) < math.inf:
        return LOCKED_TORQUE
    return shape(g, answer, c)
