"""Bench readings as plain data in SI, and what a reduction of them answers."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.model.machine.motor import Motor
from slipwise.results.identification import Identification


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """Accuracy class of a meter: the largest error is `accuracy` x `span`, or `accuracy` x reading when span is None.

    accuracy: 0.005 for class 0.5. [1]   span: upper end of the range the class refers to, in the unit of the reading.
    """

    accuracy: float
    span: float | None = None

    def limit(self, reading: float) -> float:
        """Largest error of a reading, in its unit."""
        return self.accuracy * (abs(reading) if self.span is None else self.span)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meters:
    """One meter a quantity; None: no class given, so taken as exact, and the answer says so."""

    voltage: Meter | None = None
    current: Meter | None = None
    power: Meter | None = None
    resistance: Meter | None = None
    dc_voltage: Meter | None = None
    dc_current: Meter | None = None
    frequency: Meter | None = None
    speed: Meter | None = None
    torque: Meter | None = None
    temperature: Meter | None = None  # with its span: a share of a reading in degC means nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class DcReading:
    """Winding resistance, by an ohmmeter or by direct voltage and current.

    between: "two terminals" of the connected machine, or "one winding" with its links taken off.
    resistance ohm; voltage V; current A; temperature of the winding degC.
    """

    between: str
    temperature: float
    resistance: float | None = None
    voltage: float | None = None
    current: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLoadReading:
    """Running free at rated frequency. voltage line rms V; current line rms A; power W; temperature of the winding degC."""

    voltage: float
    current: float
    power: float
    temperature: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LockedReading:
    """Rotor held still. As NoLoadReading, with the frequency of the test in Hz."""

    voltage: float
    current: float
    power: float
    frequency: float
    temperature: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadReading:
    """On a brake at rated voltage and frequency. speed rad/s; torque at the shaft N m; the rest as NoLoadReading."""

    voltage: float
    current: float
    power: float
    speed: float
    torque: float
    temperature: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Stator leakage over rotor leakage, with its range when it was not given, and where it comes from."""

    ratio: float
    low: float
    high: float
    why: str

    @property
    def given(self) -> bool:
        return self.low == self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """All readings of one motor, and what has to be known to reduce them.

    connection: in which the motor runs; tested: in which no-load, locked and load readings were taken, and in which dc
    readings between two terminals were. split: None takes the one of `design`, or of no design, with its range.
    core_in_circuit: with one no-load voltage only, whether a part of the no-load loss is core loss; False counts all of it
    as mechanical, as the short textbook reductions do. friction: known friction and windage at rated speed, W.
    texts: the readings as entered, by their key such as `no_load[0].voltage`.
    """

    power: float
    voltage: float
    frequency: float
    poles: int
    connection: str
    tested: str
    dc: DcReading
    no_load: tuple[NoLoadReading, ...]
    locked: tuple[LockedReading, ...]
    loads: tuple[LoadReading, ...] = ()
    meters: Meters = Meters()
    split: Split | None = None
    design: str | None = None
    core_in_circuit: bool = True
    friction: float | None = None
    speed: float | None = None
    current: float | None = None
    inertia: float = 0.0
    stator_conductor: str = "copper"
    rotor_conductor: str = "aluminium"
    wound_ratio: float | None = None
    texts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchFit:
    """The motor of the readings and all that stands behind it."""

    motor: Motor
    answer: Identification
