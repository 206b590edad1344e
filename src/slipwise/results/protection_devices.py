"""What a start asks of the devices of its starter: instantaneous trip, contactors, thyristors, taps, resistors, coils."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class InstantaneousTrip:
    """The instantaneous trip between the highest peak of the start and the least fault at the motor.

    peak: greatest instantaneous line current of a start, A, `moment` s after switching on; low, high: its range over the
    switching angle, or of the estimate, A.
    basis: how it was found. setting: rms A. given: by the user; otherwise proposed. tolerance: of the trip, per unit.
    fault: least two-phase short-circuit current at the motor's terminals, rms A.
    least, most: settings between which the trip neither meets the start nor misses the fault, rms A.
    """

    peak: float
    moment: float
    low: float
    high: float
    basis: str
    setting: float
    given: bool
    tolerance: float
    fault: float
    least: float
    most: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseLoss:
    """The motor running on at a load with one line open.

    load: share of rated torque; runs: whether it keeps running. slip: share. line_current: in the two live lines, rms A.
    winding_current: in the hottest phase winding, rms A, and winding_share: per unit of what it carries at rated load.
    multiple: what the relay sees in its live poles, per unit of its setting.
    plain, sensitive: seconds until a relay without and with phase-loss detection trips, slowest of its class and warm
    from running at this load; infinite when it does not.
    """

    load: float
    runs: bool
    slip: float
    line_current: float
    winding_current: float
    winding_share: float
    multiple: float
    plain: float
    sensitive: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactorDuty:
    """One contactor: rms currents it carries for good, makes and breaks in a start, A; 0 for none.

    seconds: for which it carries current in a start, when it does not stay closed; None when it does.
    needed: least rated operational current in its category, A. category: of IEC 60947-4-1. bound: what asks for it.
    rated: as given by the user, A; None when not stated.
    """

    label: str
    category: str
    carries: float
    seconds: float | None
    makes: float
    breaks: float
    needed: float
    bound: str
    rated: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilVoltage:
    """Voltage at the busbar that feeds the contactors' coils, per unit of its nominal, lowest of the cases by name.

    holding: lowest during the start, one a case; closing: lowest at a moment when a contactor has to close.
    hold_in, pull_in: limits.
    """

    busbar: str
    cases: tuple[str, ...]
    holding: tuple[float, ...]
    closing: tuple[float, ...]
    hold_in: float
    pull_in: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SoftStarterDuty:
    """Order line of thyristors: rated current, A; current ratio to it during `seconds`; starts an hour, None if not stated.

    The rectangle of ratio and seconds holds the same integral of current squared as the start. bypassed: whether they
    rest once the motor runs. code: the rating as IEC 60947-4-2 writes it. used: integral of current squared of the
    start per unit of what the stated starter bears; None when none is stated.
    """

    current: float
    ratio: float
    seconds: float
    starts_per_hour: float | None
    bypassed: bool
    code: str
    used: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AutotransformerDuty:
    """Order line of an autotransformer.

    tap: per unit; power: throughput at switching on, VA; type_power: the part that crosses its core, VA.
    motor_current, line_current, star_current: greatest rms at the tap, in the line and in the star point, A.
    seconds: on the tap, slowest case; current_squared_time: of the current at the tap, A2 s.
    """

    tap: float
    power: float
    type_power: float
    motor_current: float
    line_current: float
    star_current: float
    seconds: float
    current_squared_time: float
    starts_per_hour: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BankSection:
    """One section of a resistor bank, as one of three phases. ohms a phase; energy of all three in one start, J.

    seconds: in circuit; rms: current over that time, greatest: its largest value, A.
    """

    label: str
    ohms: float
    energy: float
    seconds: float
    rms: float
    greatest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BankOrder:
    """Order sheet of a resistor bank, and the bank as a body that warms.

    where: "rotor" or "line". sections: in the order they are shorted. energy: of one start, J.
    starts: in a row, with `rest` (s) between; starts_per_hour: None when not stated; mean_power: at that rate, W.
    heat_capacity: J/K, given or as needed; time_constant: s; rise: permitted over the ambient, K; ambient degC.
    temperatures: at the end of each of the starts in a row, degC; limit degC. given: whether the heat capacity is.
    stalled: from the ambient to the limit with the rotor standing still and the whole bank in circuit, s; infinite when it
    never gets there.
    case: of the start.
    """

    where: str
    sections: tuple[BankSection, ...]
    energy: float
    starts: int
    rest: float
    starts_per_hour: float | None
    mean_power: float | None
    heat_capacity: float
    time_constant: float
    rise: float
    ambient: float
    temperatures: tuple[float, ...]
    limit: float
    given: bool
    stalled: float
    case: str
