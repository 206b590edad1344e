"""The search for the double-cage circuit of a plate: one unknown where that is enough, least squares where it is not.

The arithmetic stands in `cage_kernel`; here goals are laid out for it, plain or compiled, and its answers named.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import astuple, dataclass, replace
from importlib.util import module_from_spec, spec_from_file_location
from math import log
from threading import Lock
from types import ModuleType
from typing import Any

from slipwise.identify import cage_kernel as plain
from slipwise.identify.cage_fit import Cages, Goal, NoCircuitError

_COMPILED = f"{plain.__name__}_compiled"
_LOADING = Lock()
_STARTS = ((0.8, -1.0), (-1.5, -0.5), (2.5, -2.5), (0.5, 1.5), (4.0, -0.5))
_REASONS = {
    plain.EFFICIENCY: "efficiency",
    plain.MECHANICAL: "mechanical_loss",
    plain.LOCKED_TORQUE: "locked_rotor_torque_ratio",
    plain.POWER_FACTOR: "power_factor",
}


@dataclass(frozen=True, slots=True)
class Solution:
    """A circuit and how well it meets the goal.

    error: largest relative miss of rated slip conductance and breakdown torque; `moved`: logarithmic moves of
    locked-rotor current, locked-rotor torque, breakdown torque and slip. steps: of the iteration, all stages.
    valley_miss: of a stated pull-up torque (logarithmic); 0 when none is stated.
    """

    cages: Cages
    error: float
    moved: tuple[float, float, float, float]
    x: tuple[float, float, float, float]
    steps: int
    valley_miss: float = 0.0

    def excess(self, goal: Goal) -> float:
        """Largest move of a given value over what its rounding allows; 0 when none was moved."""
        wishes = (goal.current, goal.torque, goal.breakdown, goal.slip)
        return max(abs(m) / w.slack if w.given else 0.0 for m, w in zip(self.moved, wishes, strict=True))


def kernel(many: int = 1) -> ModuleType:
    """The kernel for so many fits: compiled for several, or where it is compiled already, else plain.

    A single fit takes some milliseconds plain, less than loading the compiler.
    """
    if _COMPILED not in sys.modules and many < _WORTHWHILE:
        return plain
    with _LOADING:
        if _COMPILED not in sys.modules:
            spec = spec_from_file_location(_COMPILED, plain.__file__)
            if spec is None or spec.loader is None:
                raise ImportError(f"no source for {_COMPILED}")
            module = module_from_spec(spec)
            spec.loader.exec_module(module)
            sys.modules[_COMPILED] = module
    return sys.modules[_COMPILED]


_MET = 1e-3  # relative miss of the two equations that still counts as met
_DEEP = (0.3, 0.0, 0.0, 0.01, 0.0, 0.0)  # x2, x3 and moves of further starts, with a little more valley than usual
_WORTHWHILE = 100  # fits; below, plain code is done before the compiler is loaded


def solve(goal: Goal, engine: ModuleType | None = None) -> Solution:
    """The circuit nearest to usual proportions that meets the goal.

    engine: a kernel, plain or compiled; None takes what is at hand.

    Raises:
        NoCircuitError: no trial point carries a circuit at all; the words name the plate value that forbids it.
    """
    module = engine or kernel()
    starts = [x for start in _STARTS for x in start]
    found = _answered(module, goal, module.solve, (_row(module, starts), len(_STARTS)))
    if goal.pull_up is None or (_good(goal, found) and abs(found.valley_miss) < goal.pull_up_slack):
        return found
    without = _answered(module, replace(goal, pull_up=None), module.solve, (_row(module, starts), len(_STARTS)))
    without = replace(without, valley_miss=_valley_miss(module, goal, without))
    whole = [s for s in (found, without) if _good(goal, s)]
    for point in ([*without.x, *without.moved], *([*start, *_DEEP] for start in _STARTS)):
        try:
            again = _answered(module, goal, module.from_point, (_row(module, point),))
        except NoCircuitError:
            continue
        if _good(goal, again):
            whole.append(again)
            if abs(again.valley_miss) < goal.pull_up_slack:
                break
    return min(whole, key=lambda s: abs(s.valley_miss)) if whole else found


def _valley_miss(module: ModuleType, goal: Goal, solution: Solution) -> float:
    """Logarithmic miss of a stated pull-up torque by a circuit found without it."""
    circuit = _row(module, list(astuple(solution.cages)))
    low = float(module.torque(circuit, module.valley(circuit, module.peak(circuit, goal.first_peak))))
    return log(max(low, 1e-9) / (goal.pull_up or 1.0))


def _good(goal: Goal, solution: Solution) -> bool:
    """Whether the two equations hold and nothing left its rounding."""
    return solution.error < _MET and solution.excess(goal) <= 1.0


def _answered(module: ModuleType, goal: Goal, search: Callable[..., int], more: tuple[Any, ...]) -> Solution:
    """What one way of searching answers to a goal."""
    answer, circuit = module.room(plain.ANSWER), module.room(plain.CIRCUIT)
    code = search(_row(module, packed(goal)), *more, answer, circuit)
    if code != plain.FINE:
        raise NoCircuitError(_REASONS[code])
    x0, x1, x2, x3, current, torque, breakdown, slip = (float(v) for v in answer[plain.A_POINT :])
    return Solution(
        Cages(*(float(v) for v in circuit)),
        float(answer[plain.A_ERROR]),
        (current, torque, breakdown, slip),
        (x0, x1, x2, x3),
        int(answer[plain.A_STEPS]),
        float(answer[plain.A_VALLEY]),
    )


def packed(goal: Goal) -> list[float]:
    """A goal as the row of numbers the kernel reads."""
    wishes = (goal.current, goal.torque, goal.breakdown, goal.slip)
    return [
        goal.slip.value,
        goal.power_factor,
        goal.efficiency,
        goal.current.value,
        goal.torque.value,
        max(goal.breakdown.value, goal.torque.value) if goal.monotone else goal.breakdown.value,
        -1.0 if goal.pull_up is None else goal.pull_up,
        -1.0 if goal.mechanical is None else goal.mechanical,
        goal.mechanical_share,
        goal.stray_share,
        goal.stator_share,
        goal.stator_leakage,
        float(goal.first_peak),
        float(goal.monotone),
        *(wish.slack for wish in wishes),
        *(float(wish.given) for wish in wishes),
        goal.pull_up_slack,
    ]


def _row(module: ModuleType, numbers: list[float]) -> Any:
    """Numbers in the kind of row the kernel at hand works on."""
    row = module.room(len(numbers))
    row[:] = numbers
    return row
