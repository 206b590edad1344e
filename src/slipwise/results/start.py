"""What one start did: run-up on the steady characteristics, and the electrical transient."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from slipwise.results.ledger import Ledger
from slipwise.results.series import Array


class Outcome(StrEnum):
    """How a start ended: an answer, not an exception."""

    ARRIVED = "arrived"  # settled at the running point
    HANGS = "hangs"  # moved, then settled (crawls) below the running point
    STALLED = "stalled"  # moved, then came back to rest
    NEVER_MOVED = "never moved"  # did not break away
    RUNS_AWAY = "runs away"  # driven past twice synchronous speed by its load, either way round
    UNFINISHED = "unfinished"  # speed still changing when the time allowed was over
    STOPPED = "stopped"  # of a stop: all but at rest


@dataclass(frozen=True, slots=True, kw_only=True)
class StageMark:
    """When a stage began and ended. Times from the start, s; speed at its end, rad/s; reason in words."""

    name: str
    begin: float
    end: float
    end_speed: float
    reason: str
    contacts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """Steady characteristics of one stage over speed, the supply path solved at each speed. All shape (n,) but busbars.

    speed rad/s ascending; torque at the shaft (after friction, windage and stray), N m; load N m; currents rms A:
    line (at the terminals' busbar), motor (after any autotransformer), winding (in one phase);
    busbar_voltage: shape (busbars, n), per unit of each busbar's nominal; power_factor: at the terminals.
    """

    stage: str
    speed: Array
    torque: Array
    load: Array
    line_current: Array
    motor_current: Array
    winding_current: Array
    power_factor: Array
    busbar_voltage: Array
    stator_loss: Array  # W
    rotor_loss: Array  # W
    power: Array  # W, taken from the busbar at the terminals


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RunUp:
    """One start by the equation of motion on the steady characteristics.

    time s, speed rad/s, torque and load N m, currents rms A, all shape (n,); busbar_voltage (busbars, n) in per unit of
    nominal; prestart_voltage (busbars,) likewise, before switching on.
    run_up_time: to 99 % of the final speed, s; None unless ARRIVED.
    hang_speed: rad/s where it hangs; None otherwise.
    stator_heat, rotor_heat: J over the whole start.  current_heat: integral of (motor current / rated)^2, s.
    """

    case: str
    outcome: Outcome
    run_up_time: float | None
    hang_speed: float | None
    final_speed: float
    time: Array
    speed: Array
    torque: Array
    load: Array
    line_current: Array
    motor_current: Array
    winding_current: Array
    power_factor: Array
    busbars: tuple[str, ...]
    busbar_voltage: Array
    prestart_voltage: Array
    stages: tuple[StageMark, ...]
    energy: Ledger
    stator_heat: float
    rotor_heat: float
    current_heat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Peaks:
    """Extremes of one transient, found on the dense output, not at step ends. torque N m (shaft side sign), currents A."""

    torque_max: float
    torque_max_time: float
    torque_min: float
    torque_min_time: float
    line_current: float
    line_current_time: float
    line_current_phase: str
    winding_current: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Transient:
    """One start as the full electrical transient at one switching angle.

    switching_angle: of phase a's voltage at switch-on, rad (0: at its positive peak).
    line_currents: shape (3, n), instantaneous A; winding_currents likewise; terminal_voltages (3, n) V phase to neutral.
    interruption: energy lost in forced interruptions and in commutating the supply inductance, a row of the ledger too. [J]
    """

    case: str
    switching_angle: float
    outcome: Outcome
    run_up_time: float | None
    final_speed: float
    time: Array
    speed: Array
    torque: Array
    load: Array
    line_currents: Array
    winding_currents: Array
    terminal_voltages: Array
    stages: tuple[StageMark, ...]
    peaks: Peaks
    stage_peaks: tuple[Peaks, ...]
    energy: Ledger
    steps: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TransientBand:
    """The same start over the switching angle: the spread of what the shaft and the supply may see.

    angles: shape (m,) rad; torque_max, torque_min, line_current: shape (m,).
    worst: the transient kept in full, at the angle with the greatest torque magnitude.
    """

    angles: Array
    torque_max: Array
    torque_min: Array
    line_current: Array
    worst: Transient
