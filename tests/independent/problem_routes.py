"""Every problem of the bank solved a second time, by another road: meshes of the whole circuit solved as linear equations,
waveforms and run-ups integrated, extremes and roots searched. Nothing here uses a formula of slipwise.

A route takes the quantities of a variant in SI, hidden ones too, and gives the answers by symbol; `full(symbol)` names the
full computation beside which the key prints the gap of its short formula.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace

import numpy as np
from scipy.optimize import brentq, minimize_scalar

Given = SimpleNamespace
Answers = dict[str, float]
ROUTES: dict[str, Callable[[Given], Answers]] = {}
OPEN = 3e7
"""A magnetising reactance that carries next to nothing, and still leaves the equations well-conditioned. [ohm]"""


def route(function: Callable[[Given], Answers]) -> Callable[[Given], Answers]:
    """Registers a route under its own name, which is that of the problem."""
    ROUTES[function.__name__] = function
    return function


def full(symbol: str) -> str:
    """The name of the full computation of an answer."""
    return f"{symbol} in full"


def solved(name: str, given: Mapping[str, float]) -> Answers:
    """The answers of one variant."""
    return ROUTES[name](SimpleNamespace(**given))


def rpm(omega: float) -> float:
    """Turns a minute."""
    return omega * 30 / np.pi


def meshes(  # noqa: PLR0917 - the circuit from left to right
    phase: float, R1: float, X1: float, Xm: float, R2: float, X2: float, slip: float
) -> tuple[complex, complex]:
    """Stator and rotor current by the two meshes of the circuit. [A]"""
    across = 1j * Xm
    matrix = np.array([[R1 + 1j * X1 + across, -across], [-across, across + R2 / slip + 1j * X2]])
    stator, rotor = np.linalg.solve(matrix, np.array([phase, 0]))
    return complex(stator), complex(rotor)


def torque(
    g: Given, slip: float, Xm: float | None = None, R2: float | None = None, speed: float | None = None
) -> float:
    """Torque at a slip: heat of the rotor branch over the synchronous speed. [N m]"""
    r2 = g.R2 if R2 is None else R2
    _, rotor = meshes(g.U / np.sqrt(3), g.R1, g.X1, g.Xm if Xm is None else Xm, r2, g.X2, slip)
    return 3 * abs(rotor) ** 2 * r2 / slip / (speed or turning(g))


def turning(g: Given) -> float:
    """Synchronous speed from frequency and poles. [rad/s]"""
    return 2 * np.pi * g.f / (g.poles / 2)


def greatest(function: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Where a function with one hump is greatest, and how great."""
    found = minimize_scalar(lambda x: -function(x), bounds=(low, high), method="bounded", options={"xatol": 1e-13})
    width = 3e-4 * found.x  # a parabola's top from five points keeps more figures than the search
    points = found.x + width * np.arange(-2, 3)
    rise = np.polyfit(np.arange(-2, 3), [function(x) for x in points], 4)
    top = brentq(lambda u: np.polyval(np.polyder(rise), u), -1.5, 1.5, xtol=1e-14)
    return float(found.x + width * top), float(np.polyval(rise, top))


def root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function changes its sign."""
    return float(brentq(function, low, high, xtol=1e-14, rtol=1e-14))


def by_breakdown(peak: float, at: float, slip: float) -> float:
    """Torque from the breakdown point, stator resistance neglected: a rotor branch R/s + jX, X = R/at."""
    branch = 1 / (at / slip + 1j)
    return 2 * peak * at / slip * abs(branch) ** 2


def breakdown_slip(rated: float, peak: float, slip: float) -> float:
    """The breakdown slip of a curve through the rated point, by search."""
    return root(lambda at: by_breakdown(peak, at, slip) - rated, slip, 1.0)
