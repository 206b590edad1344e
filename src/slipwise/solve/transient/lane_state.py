"""States of five numbers (one cage) and of seven (two): what `lanes.py` does to them, written out.

A state is a tuple of loop flux (x, y), speed, flux of each cage (x, y); so it stays in registers, and its length is known to
the compiler. Constants of a start are a tuple too, its last ones those of the cages: 1/L and R/L of the first, of the second.
Rows of a table: number i of a state that begins at row r stands, for lane l, at S[(r + i) * LANES + l].
"""

from __future__ import annotations

from typing import Any

LANES = 8
INVERSE, DECAY, INVERSE_2, DECAY_2 = 14, 15, 16, 17  # places of the cages' constants


def blend_1(h: float, weights: Any, slopes: Any) -> Any:
    """Change of a state over a step of size h by weighted slopes."""
    a = b = c = d = e = 0.0
    for j in range(len(weights)):
        weight = weights[j]
        slope = slopes[j]
        a += weight * slope[0]
        b += weight * slope[1]
        c += weight * slope[2]
        d += weight * slope[3]
        e += weight * slope[4]
    return h * a, h * b, h * c, h * d, h * e


def blend_2(h: float, weights: Any, slopes: Any) -> Any:
    """Change of a state over a step of size h by weighted slopes."""
    a = b = c = d = e = f = g = 0.0
    for j in range(len(weights)):
        weight = weights[j]
        slope = slopes[j]
        a += weight * slope[0]
        b += weight * slope[1]
        c += weight * slope[2]
        d += weight * slope[3]
        e += weight * slope[4]
        f += weight * slope[5]
        g += weight * slope[6]
    return h * a, h * b, h * c, h * d, h * e, h * f, h * g


def moved_1(y: Any, s: Any) -> Any:
    """The state after a change."""
    return y[0] + s[0], y[1] + s[1], y[2] + s[2], y[3] + s[3], y[4] + s[4]


def moved_2(y: Any, s: Any) -> Any:
    """The state after a change."""
    return y[0] + s[0], y[1] + s[1], y[2] + s[2], y[3] + s[3], y[4] + s[4], y[5] + s[5], y[6] + s[6]


def picked_1(good: bool, a: Any, b: Any) -> Any:
    """State a where `good`, b otherwise; one selection a number, which the compiler does for all lanes at once."""
    return (
        a[0] if good else b[0], a[1] if good else b[1], a[2] if good else b[2], a[3] if good else b[3],
        a[4] if good else b[4],
    )  # fmt: skip


def picked_2(good: bool, a: Any, b: Any) -> Any:
    """State a where `good`, b otherwise; one selection a number, which the compiler does for all lanes at once."""
    return (
        a[0] if good else b[0], a[1] if good else b[1], a[2] if good else b[2], a[3] if good else b[3],
        a[4] if good else b[4], a[5] if good else b[5], a[6] if good else b[6],
    )  # fmt: skip


def linked_1(y: Any, p: Any) -> Any:
    """Sum over the cages of flux linkage over inductance, x and y. [A]"""
    return y[3] * p[INVERSE], y[4] * p[INVERSE]


def linked_2(y: Any, p: Any) -> Any:
    """Sum over the cages of flux linkage over inductance, x and y. [A]"""
    return y[3] * p[INVERSE] + y[5] * p[INVERSE_2], y[4] * p[INVERSE] + y[6] * p[INVERSE_2]


def together_1(head: Any, y: Any, turn: float, gap_x: float, gap_y: float, p: Any) -> Any:
    """Slopes of a state: those of loop and speed, and of the cages, whose frame turns at `turn` against the rotor."""
    return (
        head[0], head[1], head[2], turn * y[4] - p[DECAY] * (y[3] - gap_x), -turn * y[3] - p[DECAY] * (y[4] - gap_y),
    )  # fmt: skip


def together_2(head: Any, y: Any, turn: float, gap_x: float, gap_y: float, p: Any) -> Any:
    """Slopes of a state: those of loop and speed, and of the cages, whose frame turns at `turn` against the rotor."""
    return (
        head[0], head[1], head[2], turn * y[4] - p[DECAY] * (y[3] - gap_x), -turn * y[3] - p[DECAY] * (y[4] - gap_y),
        turn * y[6] - p[DECAY_2] * (y[5] - gap_x), -turn * y[5] - p[DECAY_2] * (y[6] - gap_y),
    )  # fmt: skip


def state_1(S: Any, row: int, lane: int) -> Any:
    """The state of a lane that begins at `row`."""
    at = row * LANES + lane
    return S[at], S[at + LANES], S[at + 2 * LANES], S[at + 3 * LANES], S[at + 4 * LANES]


def state_2(S: Any, row: int, lane: int) -> Any:
    """The state of a lane that begins at `row`."""
    at = row * LANES + lane
    return (
        S[at], S[at + LANES], S[at + 2 * LANES], S[at + 3 * LANES], S[at + 4 * LANES], S[at + 5 * LANES],
        S[at + 6 * LANES],
    )  # fmt: skip


def put_1(S: Any, row: int, lane: int, y: Any) -> None:
    """State y into a lane, from `row` on."""
    at = row * LANES + lane
    S[at] = y[0]
    S[at + LANES] = y[1]
    S[at + 2 * LANES] = y[2]
    S[at + 3 * LANES] = y[3]
    S[at + 4 * LANES] = y[4]


def put_2(S: Any, row: int, lane: int, y: Any) -> None:
    """State y into a lane, from `row` on."""
    at = row * LANES + lane
    S[at] = y[0]
    S[at + LANES] = y[1]
    S[at + 2 * LANES] = y[2]
    S[at + 3 * LANES] = y[3]
    S[at + 4 * LANES] = y[4]
    S[at + 5 * LANES] = y[5]
    S[at + 6 * LANES] = y[6]
