"""What each way of setting the speed reaches, loses and costs."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from slipwise.results.changeover import Changeover
from slipwise.results.criteria import Recommendation, Status, Verdict
from slipwise.results.harmonic_limits import HarmonicLimits
from slipwise.results.series import Array
from slipwise.results.setting import Setting
from slipwise.results.slip_heat import SlipHeat
from slipwise.results.wiring import Wiring


class Part(StrEnum):
    """Where power is lost between the line and the driven machine, in the order of the chain."""

    TRANSFORMER = "transformer"
    RECTIFIER = "rectifier"
    LINK = "dc link"
    INVERTER = "inverter"
    CONVERTER = "thyristor controller"
    SERIES = "series impedance"
    STATOR = "stator copper"
    CORE = "core"
    ROTOR = "rotor copper"
    EXTERNAL = "external resistor"
    HARMONIC = "harmonics in the motor"
    STRAY = "stray load"
    FRICTION = "friction and windage"
    COUPLING = "slip coupling"
    THROTTLE = "valve or damper"  # on the process side: shaft power that the process did not need


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """One lost power. [W]"""

    part: Part
    power: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmonic:
    """One harmonic of the line current: order (of line frequency, may be fractional for interharmonics), rms A."""

    order: float
    current: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyPoint:
    """One demand: speed at the motor shaft rad/s, torque at that speed N m, hours a year, flow per unit when given by flow.

    useful: shaft power the process really needs at this point, W (equal to speed x torque unless a valve destroys head).
    """

    name: str
    speed: float
    torque: float
    hours: float
    flow: float | None = None
    useful: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """One way at one demand.

    feasible: whether the way holds this point; `reason` says why not, or under which condition.
    settings: the dials at this point.  speed rad/s, torque N m (shaft).  slip at the stator frequency [pu].
    stability: d(load torque - motor torque)/d speed, N m s; positive is stable.  frequency: of the stator, Hz.
    flux: air-gap flux per unit of rated.  losses: W, by part, chain order.  line_power, shaft_power: W.
    efficiency: shaft / line of the whole chain; motor_efficiency: shaft / motor input.
    line_current, motor_current: rms with harmonics, A.  displacement_factor, power_factor (true).
    harmonics, distortion: of the line current, distortion = THD per unit of fundamental.
    winding_heat: winding heating per unit of what the cooling at this speed carries away; 1 is the thermal limit.
    returned: power fed back to the line from the rotor, W (already taken off line_power).
    """

    duty: DutyPoint
    feasible: bool
    reason: str
    settings: tuple[Setting, ...]
    speed: float
    torque: float
    slip: float
    stability: float
    frequency: float
    flux: float
    losses: tuple[Loss, ...]
    line_power: float
    shaft_power: float
    motor_efficiency: float
    efficiency: float
    line_current: float
    motor_current: float
    displacement_factor: float
    power_factor: float
    harmonics: tuple[Harmonic, ...]
    distortion: float
    winding_heat: float
    returned: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def stable(self) -> bool:
        return self.stability > 0

    def loss(self, part: Part) -> float:
        """Power lost in one part. [W]"""
        return sum(row.power for row in self.losses if row.part is part)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyCurve:
    """One member of a family: label as drawn, the parameter's value in `unit`; speed rad/s, torque N m, current A: shape (n,)."""

    label: str
    value: float
    unit: str
    speed: Array
    torque: Array
    current: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Family:
    """Characteristics of one way for several settings, and the load they meet.

    key, title; parameter: what is varied; load_speed rad/s, load_torque N m: shape (m,); bound: "limit" when the line
    1 - s is an upper bound on efficiency (rotor power not returned), "reference" when it is not, "" when out of place.
    """

    key: str
    title: str
    parameter: str
    curves: tuple[FamilyCurve, ...]
    load_speed: Array
    load_torque: Array
    bound: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Envelope:
    """Torque a way can give over speed: continuous (thermal) and short-time, N m over rad/s, shape (n,); what limits it."""

    speed: Array
    continuous: Array
    short_time: Array
    continuous_limit: tuple[str, ...]  # one word each: "cooling", "breakdown reserve", "current", "speed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Year:
    """A year of the duty. energy J, cost in the tariff's currency, carbon kg; low and high from assumed ranges.

    payback: years against the cheapest-to-buy way that serves the duty, infinite when it never pays, None when no
    investment was given; hours_infeasible: h not served, whose energy is not counted.
    investment: to buy, in the currency; total: a year's cost with the purchase spread evenly over `years`, no interest.
    """

    energy: float
    energy_low: float
    energy_high: float
    cost: float | None
    currency: str
    carbon: float | None
    payback: float | None
    payback_low: float | None
    payback_high: float | None
    hours_infeasible: float
    cost_low: float | None = None
    cost_high: float | None = None
    investment: float | None = None
    investment_low: float | None = None
    investment_high: float | None = None
    total: float | None = None
    total_low: float | None = None
    total_high: float | None = None
    years: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeadCurve:
    """Head against flow, both per unit of rated, shape (n,): of the machine at one speed, or of the system.

    speed: of the machine, rad/s; None for the system.
    """

    label: str
    speed: float | None
    flow: Array
    head: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProcessChart:
    """Pump or fan and its system. machine: "pump" or "fan"; static_head per unit of rated.

    rated_flow m3/s, rated_head m: None when the study gives ratios. cube_law: shaft power that the cube of the flow
    would promise at each demand given by flow, W, beside what the system really asks (`DutyPoint.useful`); NaN else.
    """

    machine: str
    static_head: float
    rated_flow: float | None
    rated_head: float | None
    curves: tuple[HeadCurve, ...]
    cube_law: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpeedWayResult:
    """One way of speed control over the whole duty."""

    key: str
    title: str
    settings: tuple[Setting, ...]
    designed: str
    points: tuple[OperatingPoint, ...]
    families: tuple[Family, ...]
    envelope: Envelope | None
    year: Year
    verdict: Verdict
    started_by: tuple[str, ...]  # how its motor is started: keys of ways of starting
    ratings: tuple[Setting, ...]  # what must be bought: converter kVA, transformer kVA, resistor kW
    wiring: Wiring
    notes: tuple[str, ...] = ()
    heat: SlipHeat | None = None  # along the load, where the way slows the motor by its slip
    changeovers: tuple[Changeover, ...] = ()  # between fixed speeds, the change down first
    harmonic_limits: HarmonicLimits | None = None  # at the point of common coupling, where the way draws harmonics

    @property
    def status(self) -> Status:
        return self.verdict.status


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpeedResult:
    """All ways of speed control of one study."""

    duty: tuple[DutyPoint, ...]
    ways: tuple[SpeedWayResult, ...]
    recommendation: Recommendation
    notes: tuple[str, ...] = ()
    process: ProcessChart | None = None
