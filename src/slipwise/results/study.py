"""The whole answer to a study file."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.quantity.provenance import Sourced
from slipwise.results.boundary import Boundary
from slipwise.results.criteria import Criterion, Recommendation, Status, Verdict
from slipwise.results.disturbance import DisturbanceResult
from slipwise.results.duty import DutyCycle
from slipwise.results.group import GroupResult
from slipwise.results.protection import Protection, StarterDuty
from slipwise.results.ranking import Ranking
from slipwise.results.setting import Setting
from slipwise.results.speed import SpeedResult
from slipwise.results.start import Curves, Outcome, RunUp, TransientBand
from slipwise.results.stopping import StoppingResult
from slipwise.results.thermal import MotorHeat, WayHeat
from slipwise.results.wiring import Wiring

__all__ = ["SCHEMA_VERSION", "Explanation", "Input", "PlateRow", "Setting", "StudyResult", "WayResult"]

SCHEMA_VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateRow:
    """One plate or catalogue value against the model: in `unit`; tolerance as a pair of relative bounds with its source."""

    name: str
    plate: float
    model: float
    unit: str
    tolerance_low: float | None
    tolerance_high: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """An input of an explained number: symbol, value in unit, and where it came from."""

    symbol: str
    name: str
    value: float
    unit: str
    origin: str
    text: str = ""  # as entered by the user, when given


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Why a number is what it is. formula: key of a `quantity.formula.Formula`, or "" with `method` in words."""

    name: str  # e.g. `direct.run_up_time`
    title: str
    value: float
    unit: str
    formula: str
    expression: str
    inputs: tuple[Input, ...]
    source: str
    method: str = ""
    symbol: str = ""  # left-hand side of the formula, as in `quantity.formula.Formula.symbol`


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadCase:
    """How one way stands with the load in one of its states. run_up_time: nominal case, s; None when it does not arrive."""

    name: str
    status: Status
    binding: Criterion | None
    outcome: Outcome
    run_up_time: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WayResult:
    """One way of starting, designed or given, computed and judged.

    curves: steady characteristics per stage, nominal case. run_ups: one per case, nominal first.
    band: the electrical transient over the switching angle; None when the motor has curves only (`transient_note` says why).
    designed: what the design optimised and what bound it, in words; empty when all settings were given.
    """

    key: str
    title: str
    settings: tuple[Setting, ...]
    designed: str
    curves: tuple[Curves, ...]
    run_ups: tuple[RunUp, ...]
    band: TransientBand | None
    transient_note: str
    verdict: Verdict
    wiring: Wiring
    protection: Protection | None = None  # overload relay against this start, nominal case
    duty: StarterDuty | None = None  # what the starter's parts bear, strong case
    load_cases: tuple[LoadCase, ...] = ()  # one a state of the load, where there are several
    load_case: str = ""  # the state that binds: curves, run-ups and transient are those with it
    comparisons: tuple[str, ...] = ()  # sentences such as the two wirings of a changeover set side by side
    heat: WayHeat | None = None  # temperatures of its starts and duties, when asked for and when it arrives


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StudyResult:
    """Everything a report, a terminal table, a data file or a page shows about one study."""

    title: str
    slipwise_version: str
    schema_version: int
    inputs: tuple[Sourced, ...]
    rated: tuple[Sourced, ...]  # the motor's rated values and derived figures, for the heading of the report
    plate: tuple[PlateRow, ...]
    ways: tuple[WayResult, ...]
    recommendation: Recommendation
    cautions: tuple[str, ...]
    explanations: tuple[Explanation, ...]
    synchronous_speed: float  # rad/s
    rated_torque: float  # N m
    rated_current: float  # A
    file: str = ""  # name of the study file
    boundaries: tuple[Boundary, ...] = ()  # of the recommended way and the runner-up, when asked for
    duty: DutyCycle | None = None  # the steady cycle of a load that repeats itself
    duty_note: str = ""  # why there is no such cycle, when one was asked for
    ranking: Ranking | None = None  # verdicts over motors that agree with the plate, when asked for
    speed: SpeedResult | None = None  # ways of speed control over a year's duty, when asked for
    heat: MotorHeat | None = None  # thermal limits of the motor, when asked for
    stopping: StoppingResult | None = None  # ways of stopping, when asked for
    disturbances: tuple[DisturbanceResult, ...] = ()  # what a bad supply does, one answer for each that was asked for
    group: GroupResult | None = None  # several motors on the same path, when there are
