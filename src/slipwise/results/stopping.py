"""What each way of stopping did: stops by case, their transient, heat and rate, parts to buy, the verdict."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.criteria import Recommendation, Verdict
from slipwise.results.setting import Setting
from slipwise.results.start import Curves, Outcome, RunUp, TransientBand
from slipwise.results.wiring import Wiring


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stop:
    """One stop in one case by the equation of motion on the steady characteristics.

    stop_time: until all but at rest, s; None when it never is. begin_speed: rad/s. turns: revolutions of the shaft up to
    then, or to the end. kinetic: energy of motion at the begin, J. rotor_heat, stator_heat: in the motor, J;
    resistor_heat: in resistors in the lines, on the rings, or behind the chopper of an inverter, J. returned: through the
    motor's terminals, to the line or into such a resistor, J; returned_power: its greatest, W. braking_torque: greatest
    magnitude against the motion at the shaft, N m. line_current: greatest rms A in the lines, or of the direct current.
    deceleration: greatest, rad/s2.
    """

    case: str
    outcome: Outcome
    stop_time: float | None
    begin_speed: float
    turns: float
    kinetic: float
    rotor_heat: float
    stator_heat: float
    resistor_heat: float
    returned: float
    returned_power: float
    braking_torque: float
    line_current: float
    deceleration: float
    run: RunUp


@dataclass(frozen=True, slots=True, kw_only=True)
class StopRate:
    """How often a way may stop the drive, nominal case.

    heat: in the motor by one stop, J; start_heat: by the start before it, J, of the way named in `start` ("" when none was
    computed). rated_loss: W. balance: stops an hour that the cooling at rated load carries away, without running heat;
    infinite when a stop heats nothing. network: the same by the thermal network with rated load between; None when the
    study does not ask for heat. rotor_rise: of the rotor by one stop, without cooling, K; None likewise.
    """

    heat: float
    start_heat: float
    start: str
    rated_loss: float
    balance: float
    network: float | None
    rotor_rise: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """What follows when the device that ends the stop fails. what: in words; speed: where it settles, rad/s; time: s."""

    what: str
    outcome: Outcome
    speed: float
    time: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StopWayResult:
    """One way of stopping, designed or given, computed and judged.

    curves: steady torque and currents of each stage that brakes, over speed, nominal case. stops: one a case, nominal first.
    band: the electrical transient over the moment of switching; None with `transient_note` saying why.
    excess: rotor heat of that transient per unit of the steady one; None without either.
    parts: what to buy or to set beside the settings, nominal case.
    """

    key: str
    title: str
    settings: tuple[Setting, ...]
    designed: str
    curves: tuple[Curves, ...]
    stops: tuple[Stop, ...]
    band: TransientBand | None
    transient_note: str
    excess: float | None
    rate: StopRate | None
    failure: Failure | None
    parts: tuple[Setting, ...]
    verdict: Verdict
    wiring: Wiring


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StoppingResult:
    """Every way of stopping asked for. direction: "forward" or "reverse"; running_speed: before the stop, rad/s."""

    direction: str
    running_speed: float
    ways: tuple[StopWayResult, ...]
    recommendation: Recommendation
    notes: tuple[str, ...]
