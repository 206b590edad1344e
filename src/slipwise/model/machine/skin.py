"""Current displacement in rotor bars: from bar geometry, or from two known points, and as a ladder of branches.

Solvers know parallel rotor branches only; `ladder` turns any of these rotors into branches and states the error.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any, Protocol

import numpy as np

from slipwise.model.machine.checks import require_finite, require_positive
from slipwise.model.machine.circuit import RotorBranch
from slipwise.model.machine.temperature import resistance_factor
from slipwise.quantity.errors import DomainError

_MU0 = 4e-7 * pi
_RESISTIVITY = {"copper": 1.7241e-8, "aluminium": 2.8264e-8}  # ohm m at 20 degC, IEC 60028 and IEC 60889 (from memory)


def reduced_height(bar_height: float, frequency: Any, resistivity: float, fill: float = 1.0) -> Any:
    """Bar height over skin depth, xi = h sqrt(pi f mu0 fill / rho); shape of `frequency`. [1]

    Args:
        bar_height: radial height of a rectangular bar. [m]
        frequency: of the rotor current, slip x supply frequency. [Hz]
        resistivity: of the bar at its temperature. [ohm m]
        fill: bar width over slot width, at most 1. [1]

    Raises:
        DomainError: height or resistivity not above zero, fill outside 0 to 1.

    Source: any text on electrical machine design, e.g. Vogt; Richter (from memory).
    """
    require_positive("bar_height", bar_height)
    require_positive("resistivity", resistivity)
    if not 0 < fill <= 1:
        raise DomainError.of("fill", fill, "bar width over slot width lies above 0 and at most 1", "swap the widths")
    return bar_height * np.sqrt(pi * np.abs(frequency) * _MU0 * fill / resistivity)


def resistance_ratio(xi: Any) -> Any:
    """Resistance of a rectangular bar over its direct-current resistance: xi (sinh 2xi + sin 2xi) / (cosh 2xi - cos 2xi).

    Shape of `xi`; 1 at 0. Raises DomainError when xi is not finite.
    Source: Field's formula, in every text on machine design (from memory).
    """
    return _impedance_ratio(xi).real


def reactance_ratio(xi: Any) -> Any:
    """Slot reactance of a rectangular bar over its value without displacement:
    3/(2 xi) (sinh 2xi - sin 2xi) / (cosh 2xi - cos 2xi); shape of `xi`; 1 at 0.

    Raises DomainError when xi is not finite. Source: as `resistance_ratio`.
    """
    square = np.asarray(xi, dtype=float) ** 2
    near = square < 1e-6
    safe = np.where(near, 1.0, square)
    return np.where(near, 1.0, 1.5 * _impedance_ratio(xi).imag / safe)


def _impedance_ratio(xi: Any) -> Any:
    """z coth z with z = (1 + j) xi: both factors at once, without overflow."""
    require_finite("xi", xi)
    z = (1 + 1j) * np.abs(np.asarray(xi, dtype=float))
    near = np.abs(z) < 1e-2
    safe = np.where(near, 1.0 + 0j, z)
    decay = np.exp(-2 * safe)
    z2 = z * z
    return np.where(near, 1 + z2 / 3 - z2 * z2 / 45, safe * (1 + decay) / (1 - decay))


def current_density(xi: float, depth: Any) -> Any:
    """Current density in a rectangular bar over its mean, as a phasor: z cosh(z (1 - depth)) / sinh z with z = (1 + j) xi.

    Args:
        xi: height over skin depth. [1]
        depth: from the slot opening, 0, to the bottom of the bar, 1; any shape.

    Returns:
        Shape of `depth`; the mean over the depth is 1, the mean of its squared magnitude the resistance ratio. [1]

    Raises:
        DomainError: xi is not above zero.

    Source: diffusion of a field into a plate from one side, as for `resistance_ratio` (from memory).
    """
    require_positive("xi", xi)
    z = (1 + 1j) * xi
    at = np.asarray(depth, dtype=float)
    return z * (np.exp(-z * at) + np.exp(-z * (2 - at))) / (1 - np.exp(-2 * z))


@dataclass(frozen=True, slots=True, kw_only=True)
class RectangularBar:
    """A rectangular rotor bar in its slot. Lengths in m, temperature in degC; metal "copper" or "aluminium"."""

    height: float
    width: float
    slot_width: float
    metal: str
    temperature: float = 75.0

    @property
    def resistivity(self) -> float:
        """At the bar's temperature. [ohm m]"""
        if self.metal not in _RESISTIVITY:
            raise DomainError.of("metal", self.metal, "its resistivity is not known", "say copper or aluminium")
        return _RESISTIVITY[self.metal] * resistance_factor(20.0, self.temperature, self.metal)

    def reduced_height(self, rotor_frequency: Any) -> Any:
        """Height over skin depth at a rotor frequency (Hz); shape of the frequency."""
        return reduced_height(self.height, rotor_frequency, self.resistivity, self.width / self.slot_width)


class SlipRotor(Protocol):
    """A rotor whose resistance and reactance depend on slip."""

    def impedance(self, slip: Any) -> Any:
        """R(s) + j s X(s) referred to the stator at rated frequency; shape of `slip`. [ohm]"""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class BarRotor:
    """A cage of rectangular bars, referred to the stator. [ohm]

    bar_resistance: of the bars without displacement. ring_resistance: of end rings and whatever carries no displacement.
    fixed_reactance: leakage outside the bars at rated frequency (slot mouth, zigzag, end rings); the part inside the
    bars follows from geometry: (2/3) xi^2 x bar_resistance.
    frequency: rated. [Hz]
    """

    bar: RectangularBar
    bar_resistance: float
    ring_resistance: float
    fixed_reactance: float
    frequency: float

    def impedance(self, slip: Any) -> Any:
        """R(s) + j s X(s) at rated frequency; shape of `slip`. [ohm]"""
        xi = self.bar.reduced_height(np.asarray(slip) * self.frequency)
        ratio = _impedance_ratio(xi)
        sign = np.sign(slip) + (np.asarray(slip) == 0)
        inside = ratio.real + 1j * sign * ratio.imag
        return self.ring_resistance + self.bar_resistance * inside + 1j * slip * self.fixed_reactance


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoPointRotor:
    """Rotor values known at running speed and at standstill; between them they follow the shape of a rectangular bar.

    R in ohm, X in ohm at rated frequency, both referred to the stator. The bar's height comes from the ratio of the
    drop in reactance to the rise in resistance, which geometry links; where that would need more bar than there is
    resistance, the height follows from the resistances alone and the ends are kept.
    """

    running_resistance: float
    running_reactance: float
    standstill_resistance: float
    standstill_reactance: float
    frequency: float

    def __post_init__(self) -> None:
        """Refuses a resistance that falls or a reactance that rises towards standstill."""
        require_positive("running_resistance", self.running_resistance)
        require_positive("standstill_reactance", self.standstill_reactance)
        if self.standstill_resistance < self.running_resistance:
            reason = f"displacement raises resistance, and running it is {self.running_resistance:g} ohm"
            raise DomainError.of("standstill_resistance", self.standstill_resistance, reason, "swap the two values")
        if self.standstill_reactance > self.running_reactance:
            reason = f"displacement lowers reactance, and running it is {self.running_reactance:g} ohm"
            raise DomainError.of("standstill_reactance", self.standstill_reactance, reason, "swap the two values")

    @property
    def reduced_height(self) -> float:
        """Height over skin depth of the equivalent bar at standstill. [1]"""
        rise = self.standstill_resistance - self.running_resistance
        drop = self.running_reactance - self.standstill_reactance
        most = height_for(self.standstill_resistance / self.running_resistance)
        if rise == 0 or drop == 0:
            return max(most, 0.1)
        low, high = 0.02, 60.0
        for _ in range(80):
            xi = 0.5 * (low + high)
            link = 2 / 3 * xi * xi * float((1 - reactance_ratio(xi)) / (resistance_ratio(xi) - 1))
            low, high = (xi, high) if link < drop / rise else (low, xi)
        return max(0.5 * (low + high), most, 0.1)

    def impedance(self, slip: Any) -> Any:
        """R(s) + j s X(s) at rated frequency; shape of `slip`. [ohm]"""
        xi = self.reduced_height
        at = xi * np.sqrt(np.abs(slip))
        up = (resistance_ratio(at) - 1) / float(resistance_ratio(xi) - 1)
        down = (1 - reactance_ratio(at)) / float(1 - reactance_ratio(xi))
        r = self.running_resistance + (self.standstill_resistance - self.running_resistance) * up
        x = self.running_reactance - (self.running_reactance - self.standstill_reactance) * down
        return r + 1j * slip * x


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """Parallel branches that stand for a slip-dependent rotor, with what they miss.

    impedance_error: largest |Z_ladder - Z| / |Z| over slips 0.001 to 1. resistance_error: largest relative difference of
    R(s). reactance_error: largest difference of s X(s) over |Z|. Beyond slip 1 (plugging) the fit was not made.
    """

    branches: tuple[RotorBranch, ...]
    impedance_error: float
    resistance_error: float
    reactance_error: float

    def words(self) -> str:
        """The error, to be printed beside results of the transient."""
        count = len(self.branches)
        return (
            f"{count} rotor {'branch stands' if count == 1 else 'branches stand'} for the displaced bars: impedance within "
            f"{100 * self.impedance_error:.2g} %, resistance within {100 * self.resistance_error:.2g} %, reactance within "
            f"{100 * self.reactance_error:.2g} % of impedance, from slip 0.001 to 1"
        )


_SLIPS = np.geomspace(1e-3, 1.0, 80)


def ladder(rotor: SlipRotor, branches: int = 3) -> Ladder:
    """Parallel branches fitted to R(s) and X(s) of a rotor over slips 0 to 1.

    Args:
        rotor: with its impedance against slip.
        branches: 1 to 6; the error falls by about ten with each.

    Returns:
        The branches, widest time constant first, and the errors left.

    Raises:
        DomainError: number of branches outside 1 to 6, or an impedance that is not finite or not passive.

    Source: a rectangular bar is exactly an endless row of parallel branches, since tanh(z)/z is the sum of
    2 / (z^2 + ((2k - 1) pi / 2)^2); a few fitted ones stand for the rest.
    """
    if not 1 <= branches <= 6:
        raise DomainError.of("branches", branches, "a ladder has 1 to 6 branches", "take 2 or 3")
    wanted = np.asarray(rotor.impedance(_SLIPS))
    require_finite("impedance", wanted)
    if np.any(wanted.real <= 0) or np.any(wanted.imag <= 0):
        raise DomainError.of(
            "rotor", "impedance", "resistance and reactance must stay above zero", "check the rotor values"
        )
    values = _fitted(wanted, branches)
    found = tuple(RotorBranch(R=float(r), X=float(x)) for r, x in sorted(values, key=lambda v: -v[1] / v[0]))
    model = 1 / sum(1 / (b.R + 1j * _SLIPS * b.X) for b in found)
    return Ladder(
        branches=found,
        impedance_error=float(np.abs(model / wanted - 1).max()),
        resistance_error=float(np.abs(model.real / wanted.real - 1).max()),
        reactance_error=float((np.abs(model.imag - wanted.imag) / np.abs(wanted)).max()),
    )


def _fitted(wanted: Any, branches: int) -> list[tuple[float, float]]:
    """Least squares on the relative error of the admittance, in logarithms of R and X/R, from several spreads of X/R.

    X/R of a branch stays within 1/50 and 50 times that at standstill: wider ones only stiffen the transient.
    """
    from scipy.optimize import least_squares

    middle, running = float(wanted[-1].imag / wanted[-1].real), float(wanted[0].real)

    def parts(p: Any) -> tuple[Any, Any]:
        lag = 1j * _SLIPS * np.exp(p[branches:])[:, None]
        return np.exp(-p[:branches])[:, None] / (1 + lag) * wanted, lag / (1 + lag)

    def miss(p: Any) -> Any:
        gap = parts(p)[0].sum(axis=0) - 1
        return np.concatenate([gap.real, gap.imag])

    def slope(p: Any) -> Any:
        share, lag = parts(p)
        rows = -np.concatenate([share, share * lag])
        return np.concatenate([rows.real, rows.imag], axis=1).T

    low = np.log(np.repeat([running / 3, middle / 50], branches))
    high = np.log(np.repeat([running * 3e3, middle * 50], branches))
    best: Any = None
    for spread in (1.5, 4.0, 10.0):
        ratios = middle * spread ** np.linspace(1.0, -1.0, branches) if branches > 1 else np.array([middle])
        start = np.log(np.concatenate([running * branches * np.linspace(1.0, 2.0, branches), ratios]))
        found = least_squares(miss, start, jac=slope, bounds=(low, high), xtol=1e-10, ftol=1e-10, max_nfev=300)
        if best is None or found.cost < best.cost:
            best = found
    r, ratio = np.exp(best.x[:branches]), np.exp(best.x[branches:])
    return list(zip(r, r * ratio, strict=True))


def bar_branches(resistance: float, xi_at_standstill: float, count: int) -> tuple[RotorBranch, ...]:
    """The first `count` of the endless row of branches that a bare rectangular bar is; the more, the nearer.

    resistance: of the bar without displacement [ohm]; xi_at_standstill: height over skin depth at slip 1.
    Source: partial fractions of tanh(z)/z.
    """
    require_positive("resistance", resistance)
    row = ((2 * k + 1) * pi / 2 for k in range(count))
    return tuple(RotorBranch(R=resistance * q * q / 2, X=resistance * xi_at_standstill**2) for q in row)


def height_for(ratio: float, of: Callable[[Any], Any] = resistance_ratio) -> float:
    """Height over skin depth at which a rectangular bar shows a resistance ratio (above 1). [1]

    Raises:
        DomainError: the ratio is below 1 or above 50.
    """
    if not 1 <= ratio <= 50:
        raise DomainError.of("ratio", ratio, "a bar shows ratios from 1 to 50", "give R at standstill over R running")
    low, high = 0.0, 60.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if float(of(middle)) < ratio:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def bar_of_ratio(ratio: float, frequency: float, metal: str = "aluminium", temperature: float = 75.0) -> RectangularBar:
    """A bar as wide as its slot whose resistance at standstill is `ratio` times that when running. Heights in m."""
    bar = RectangularBar(height=1e-3, width=1.0, slot_width=1.0, metal=metal, temperature=temperature)
    depth = sqrt(bar.resistivity / (pi * frequency * _MU0))
    return RectangularBar(
        height=height_for(ratio) * depth, width=5e-3, slot_width=5e-3, metal=metal, temperature=temperature
    )
