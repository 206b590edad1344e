"""A second cage from locked tests at two frequencies, and the laws of saturation from tests at several currents or voltages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from slipwise.model.machine.saturation import LeakageSaturation, MainSaturation, two_slope_factor

FLOOR = 0.1  # slope left far above the knee, as in the law's own default
LEAST_FALL = 0.05  # of the reactance from the lowest to the highest current, to speak of saturation


def two_cages(low: tuple[Any, Any, Any], high: tuple[Any, Any, Any]) -> tuple[Any, Any, Any, Any]:
    """Outer and inner cage whose parallel impedance is as measured at two frequencies.

    Args:
        low, high: frequency over rated, resistance, and reactance at that frequency (all numbers, or arrays over trials),
            of the rotor alone behind the magnetising branch. [1], [ohm], [ohm]

    Returns:
        R2, X2 of the outer and R3, X3 of the inner cage, reactances at rated frequency [ohm]; not a number where no two
        positive cages do it: resistance must rise and inductance fall with frequency, as in a bar.

    Source: two impedances in parallel are (c0 + c1 p + c2 p^2) / (1 + d p), p = j f/fn: two measured impedances give
    the four coefficients by linear equations, and these the cages in closed form (own derivation).
    """
    (a1, r1, x1), (a2, r2, x2) = low, high
    with np.errstate(all="ignore"):
        d = (x1 / a1 - x2 / a2) / (r2 - r1)
        left1, left2 = r1 - d * a1 * x1, r2 - d * a2 * x2
        c2 = (left1 - left2) / (a2**2 - a1**2)
        c0, c1 = left1 + c2 * a1**2, d * r1 + x1 / a1
        root = np.sqrt(c1**2 - 4 * c2 * c0)
        outer, inner = (c1 + root) / (2 * c2), (c1 - root) / (2 * c2)  # R/X of each cage
        ratio = (d * inner - 1) / (1 - d * outer)
        X3 = c2 * (outer * ratio + inner) / ratio
        X2 = ratio * X3
        good = (d > 0) & (c2 > 0) & (c0 > 0) & (ratio > 0) & (inner > 0) & (X2 > 0) & (X3 > 0)
        R2, X2, R3, X3 = (np.where(good, v, np.nan)[()] for v in (outer * X2, X2, inner * X3, X3))
        return R2, X2, R3, X3


@dataclass(frozen=True, slots=True, kw_only=True)
class Saturated:
    """The saturation law fitted, and by what the leakage at the reference current grows towards small current."""

    law: LeakageSaturation
    factor: float
    worst: float  # largest relative miss of a reading


def saturation(currents: Sequence[float], reactances: Sequence[float], at: int, rated: float = 0.0) -> Saturated | None:
    """Knee and share of leakage saturation from the locked reactance at three or more currents of one frequency.

    Args:
        currents: rms line currents [A]; reactances: of the locked machine at rated frequency [ohm]; at: place of the
            reading that gave the circuit; rated: rms current below which nothing may saturate [A].

    Returns:
        The law of `model.machine.saturation` with one share for stator and rotor (the terminals cannot tell them apart),
        or None when there are fewer than three currents, or the reactance falls by less than one part in twenty.

    Source: two-slope law; knee by scan, share and unsaturated value by linear least squares on each.
    """
    amps, X = np.asarray(currents, dtype=float), np.asarray(reactances, dtype=float)
    if len(amps) < 3 or amps.max() < 1.5 * amps.min():
        return None
    if X[amps.argmin()] * (1 - LEAST_FALL) < X[amps.argmax()]:
        return None
    lowest = max(0.15 * amps.max(), 1.02 * rated)
    if lowest >= 0.9 * amps.max():
        return None
    best: tuple[float, float, float, float, float] | None = None
    for knee in np.geomspace(lowest, 0.98 * amps.max(), 80) * np.sqrt(2):
        fall = (1 - FLOOR) * (1 - two_slope_factor(np.sqrt(2) * amps, knee))
        if np.ptp(fall) < 1e-6:
            continue
        matrix = np.column_stack([np.ones_like(amps), -fall])
        (whole, part), *_ = np.linalg.lstsq(matrix, X, rcond=None)
        share, miss = part / whole, matrix @ np.array([whole, part]) - X
        if 0 < share <= 1 and (best is None or float(miss @ miss) < best[0]):
            best = (float(miss @ miss), float(knee), float(share), float(whole), float(np.abs(miss / X).max()))
    if best is None:
        return None
    _, knee_peak, share, whole, worst = best
    law = LeakageSaturation(knee=knee_peak, stator_share=share, rotor_share=share, floor=FLOOR)
    at_reference = float(law.stator(np.sqrt(2) * amps[at]))
    return Saturated(law=law, factor=1 / at_reference, worst=worst)


@dataclass(frozen=True, slots=True, kw_only=True)
class MainCurve:
    """The law of the main path, and what Xm at the no-load reading nearest rated voltage becomes at full load."""

    law: MainSaturation
    factor: float
    worst: float  # largest relative miss of a reading


def main_curve(gaps: Sequence[float], reactances: Sequence[float], at: int, full_load: float) -> MainCurve | None:
    """Saturation of the main path from the magnetising reactance at four or more no-load voltages.

    Args:
        gaps: voltage behind the stator impedance [V]; reactances: magnetising [ohm]; at: place of the reading that gave
            the circuit; full_load: gap voltage at the rated point, to which the law is brought [V].

    Returns:
        The law of `model.machine.saturation`, through the reading `at`; None when there are fewer readings, or the
        reactance at little flux is not a twentieth larger.

    Source: exponent by scan, reactance at little flux by linear least squares of the susceptance on each.
    """
    E, X = np.asarray(gaps, dtype=float), np.asarray(reactances, dtype=float)
    if len(E) < 4 or E.max() < 1.3 * E.min() or X.max() < (1 + LEAST_FALL) * X[at]:
        return None
    best: tuple[float, float, float, float] | None = None
    for exponent in np.linspace(2, 15, 131):
        bend = (E / E[at]) ** exponent - 1  # susceptance = B[at] + k x bend, and that at little flux is B[at] - k
        part = float(bend @ (1 / X - 1 / X[at]) / (bend @ bend))
        model = 1 / (1 / X[at] + part * bend)
        miss = float(np.sum((model / X - 1) ** 2))
        if 0 < part < 1 / X[at] and (best is None or miss < best[0]):
            best = (miss, float(exponent), part, float(np.abs(model / X - 1).max()))
    if best is None:
        return None
    _, exponent_found, part, worst = best
    little = 1 / X[at] - part
    there = little + part * (full_load / E[at]) ** exponent_found
    law = MainSaturation(rated_gap_voltage=full_load, unsaturated=float(there / little), exponent=exponent_found)
    return MainCurve(law=law, factor=float(1 / X[at] / there), worst=worst)
