"""The implicit method that takes over where a run turns out to be stiff: a light rotor on a slow ramp follows the balance of
torques, and an explicit step could be no longer than its time constant."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.results.series import Array
from slipwise.solve.step import Rate, Step, endless

_TO_COURSE = np.linalg.inv(np.array([[x, x**2, x**3] for x in (1 / 3, 2 / 3, 1.0)]))
_NUDGE = 1e-7  # of the scale, by which a component is moved for the derivative
_BETWEEN = 100.0  # times the error of a step: what the cubic between its ends may be off
_WIDEST = 0.018 / 4  # of the third differences per length: what a cubic through the nodes of the method is off at most


def implicit(
    rate: Rate,
    start: float,
    end: float,
    state: Array,
    *,
    relative: float,
    scale: Array,
    largest: float,
    size: float,
    fed_back: slice,
) -> Iterator[Step]:
    """Accepted steps from `start` to `end`; arguments and errors as `march`. size: of the first step. [s]

    Source: Radau IIA of fifth order (Hairer and Wanner, Solving Ordinary Differential Equations II, sect. IV.8), by scipy.
    """
    from scipy.integrate import Radau

    allowed: Any = relative * scale
    solver: Any = Radau(
        rate,
        start,
        state,
        end,
        max_step=largest,
        first_step=min(size, end - start),
        rtol=relative,
        atol=allowed,
        jac=lambda time, y: _slopes(rate, time, y, scale, fed_back),
    )
    last: tuple[Array, float] | None = None  # a sixth of the third derivative in the last step, and its length
    while solver.status == "running":
        time, y = solver.t, solver.y
        try:
            solver.step()
        except InputError:
            raise
        except (ValueError, OverflowError, np.linalg.LinAlgError):  # rates that are not finite
            raise endless(f"at {time:.4g} s its torques are not finite") from None
        if solver.status == "failed":
            raise endless(f"at {time:.4g} s no step is short enough")
        between = solver.dense_output()
        length = solver.t - time
        nodes = np.array([between(time + x * length) for x in (1 / 3, 2 / 3)] + [solver.y])
        course = np.vstack([_TO_COURSE @ (nodes - y), np.zeros((1, y.size))])
        yield Step(time=time, size=length, state=y, course=course)
        now, room = course[2] / length**3, inf
        if last is not None:
            change = abs(now - last[0]) / (0.5 * (length + last[1]))
            off = float(np.max(_WIDEST * change / np.maximum(scale, abs(y))))
            room = (_BETWEEN * relative / max(off, 1e-300)) ** 0.25
        solver.max_step = min(largest, room, 2 * length)
        last = now, length


def _slopes(rate: Rate, time: float, state: Array, scale: Array, fed_back: slice) -> Array:
    """How each rate changes with each component, shape (n, n); those that are not fed back change nothing."""
    slopes, here = np.zeros((state.size, state.size)), rate(time, state)
    for place in range(state.size)[fed_back]:
        moved = state.copy()
        moved[place] += _NUDGE * scale[place]
        slopes[:, place] = (rate(time, moved) - here) / (moved[place] - state[place])
    return slopes
