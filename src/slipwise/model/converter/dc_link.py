"""From the line to the dc link: choke, diode losses, dc voltage under load, current drawn from the supply."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import cos, pi, sin, sqrt

from slipwise.model.converter.rectifier import Bridge, LineCurrent, at_power

# Forward voltage of one rectifier diode, resistance of a choke over its reactance at line frequency, and what control, fans
# and gate drives take (common practice, no source; 0.8 to 1.3 V, 1/60 to 1/15, half to twice).
DIODE_VOLTAGE, CHOKE_RESISTANCE = 1.0, 1 / 30
CONTROL_FIXED, CONTROL_SHARE = 20.0, 0.002
LINK_RANGE = (0.6, 1.6)  # of the losses so computed
# Supply reactance of a path that states none, per unit of the drive's own impedance (common practice, no source).
LEAST_REACTANCE = 0.005


class Choke(StrEnum):
    """Where the choke stands."""

    NONE = "none"
    LINE = "line"
    LINK = "link"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSide:
    """The line side of a converter.

    emf: line voltage of the supply without this load, rms V. supply: its impedance per phase, ohm. frequency: Hz.
    choke, choke_size: where it stands, and its reactance at line frequency per unit of U^2/S. rating: S, VA.
    """

    emf: float
    supply: complex
    frequency: float
    choke: Choke
    choke_size: float
    rating: float

    @property
    def base(self) -> float:
        """Impedance of the converter's rating. [ohm]"""
        return self.emf**2 / self.rating

    @property
    def choke_reactance(self) -> float:
        """At line frequency, per phase of a line choke or of the single link choke. [ohm]"""
        return 0.0 if self.choke is Choke.NONE else self.choke_size * self.base

    @property
    def choke_inductance(self) -> float:
        """[H]"""
        return self.choke_reactance / (2 * pi * self.frequency)

    @property
    def bridge(self) -> Bridge:
        """The diode bridge behind supply and choke; a supply of no reactance is given the least usual one."""
        own = max(self.supply.imag, LEAST_REACTANCE * self.base)
        line = self.choke_reactance if self.choke is Choke.LINE else 0.0
        link = self.choke_reactance if self.choke is Choke.LINK else 0.0
        return Bridge(voltage=self.emf, line_reactance=own + line, dc_reactance=link)

    @property
    def control_power(self) -> float:
        """Taken from the link at any load. [W]"""
        return CONTROL_FIXED + CONTROL_SHARE * self.rating


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkState:
    """The line side at one load. voltage: of the dc link under load, V. rectifier_loss: diodes; choke_loss: W.

    line_power: at the supply terminals, W. line_current: rms with harmonics, A. fundamental: rms, A.
    displacement_factor, power_factor: at the supply terminals. harmonics: rms A by order. distortion: THD. overlap: rad.
    terminal_voltage: fundamental line voltage there, V.
    """

    voltage: float
    rectifier_loss: float
    choke_loss: float
    line_power: float
    line_current: float
    fundamental: float
    displacement_factor: float
    power_factor: float
    harmonics: tuple[tuple[int, float], ...]
    distortion: float
    overlap: float
    terminal_voltage: float
    bridge: LineCurrent


def draw(line: LineSide, power: float) -> LinkState:
    """The line side when the link delivers `power` (W, zero or more) to inverter and control.

    The bridge's own dc power is found so that diodes, choke and the supply's resistance have their loss.

    Raises:
        DomainError: the supply is too weak for the power.

    Source: `rectifier.at_power`; diodes with a constant forward voltage, two in series.
    """
    bridge = line.bridge
    extra = 0.01 * power  # a first guess; what is left of the change moves the link voltage by less than 1e-4
    for _ in range(30):
        current = at_power(bridge, power + extra)
        before, extra = extra, sum(_losses(line, current))
        if abs(extra - before) < 2e-4 * power + 1e-6:
            break
    return _state(line, power, current)


def _losses(line: LineSide, current: LineCurrent) -> tuple[float, float, float]:
    """Diodes, choke, supply resistance. [W]"""
    ohms = line.choke_reactance * CHOKE_RESISTANCE
    choke = ohms * (3 * current.rms**2 if line.choke is Choke.LINE else current.dc_current**2)
    return 2 * DIODE_VOLTAGE * current.dc_current, choke, 3 * line.supply.real * current.rms**2


def _state(line: LineSide, power: float, current: LineCurrent) -> LinkState:
    diodes, choke, _ = _losses(line, current)
    volts = power / current.dc_current if current.dc_current else current.dc_voltage
    line_power = power + diodes + choke
    phasor = current.fundamental * complex(cos(current.angle), -sin(current.angle))
    at_terminals = line.emf / sqrt(3) - line.supply * phasor
    through = 3 * (at_terminals * phasor.conjugate()).real
    scale = line_power / through if through > 0 else 0.0  # Fourier against exact integral: within 1e-3
    apparent = 3 * abs(at_terminals) * scale
    fundamental, rms = current.fundamental * scale, current.rms * scale
    return LinkState(
        voltage=volts,
        rectifier_loss=diodes,
        choke_loss=choke,
        line_power=line_power,
        line_current=rms,
        fundamental=fundamental,
        displacement_factor=through / (3 * abs(at_terminals) * current.fundamental) if current.fundamental else 1.0,
        power_factor=line_power / (apparent * current.rms) if current.rms else 1.0,
        harmonics=tuple((h, i * scale) for h, i in current.harmonics),
        distortion=current.distortion,
        overlap=current.overlap,
        terminal_voltage=abs(at_terminals) * sqrt(3),
        bridge=current,
    )
