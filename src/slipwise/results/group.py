"""What several motors on one supply path did: started together or one after another, or dipped together."""

from __future__ import annotations

from dataclasses import dataclass

from slipwise.results.criteria import Verdict
from slipwise.results.ledger import Ledger
from slipwise.results.series import Array
from slipwise.results.start import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupTrack:
    """One motor in a run.

    switch_on: s; None when it runs from the beginning. dropped: s at which its contactor fell out; None when it held.
    run_up_time: from its switch-on to 99 % of its final speed, s; None unless it arrived after having been switched on.
    final_speed: rad/s. peak_current: in its line, rms A. lowest_voltage: at its starter while it is on, pu of rated.
    """

    name: str
    switch_on: float | None
    dropped: float | None
    outcome: Outcome
    run_up_time: float | None
    final_speed: float
    peak_current: float
    lowest_voltage: float
    energy: Ledger


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupRun:
    """Several motors on one path by the equation of motion on their steady characteristics, solved together.

    time s, shape (n,); speed rad/s, line_current rms A, voltage at each starter in pu of the motor's rated, all shape
    (motors, n); busbar_voltage (busbars, n) in pu of nominal; dips (busbars,): greatest of each busbar from its voltage
    before the switching that caused it, per unit of that; before (busbars,): that voltage, pu of nominal; lowest
    (busbars,): lowest voltage, pu of nominal.
    total_time: until the last motor is at speed, s; None when one does not arrive.
    """

    case: str
    time: Array
    speed: Array
    line_current: Array
    voltage: Array
    busbars: tuple[str, ...]
    busbar_voltage: Array
    dips: Array
    before: Array
    lowest: Array
    tracks: tuple[GroupTrack, ...]
    total_time: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SwitchingSequence:
    """One order of switching on, computed and judged. runs: one a case, nominal first.

    batches: names of the motors switched on together, in order; switch_on: s, one a batch.
    """

    key: str
    title: str
    batches: tuple[tuple[str, ...], ...]
    switch_on: tuple[float, ...]
    runs: tuple[GroupRun, ...]
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class RideThrough:
    """One motor through a dip. lowest_speed: rad/s; return_current: greatest in its line once the voltage is back, rms A;
    both None for a motor whose contactor fell out (`dropped`)."""

    name: str
    outcome: Outcome
    dropped: bool
    lowest_speed: float | None
    return_current: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupDip:
    """All motors running, and the source dips.

    remaining: source voltage during the dip, pu of what it is otherwise; duration: s.
    longest: the longest dip of that depth after which every motor whose contactor holds is back at speed, s; infinite
    when any is; 0 when none is. verdict: of the stated duration. words: what happens, in sentences.
    """

    remaining: float
    duration: float
    run: GroupRun
    rides: tuple[RideThrough, ...]
    longest: float
    verdict: Verdict
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupMotor:
    """One motor of the group as it was understood. rated_power W; locked_rotor_current: rms A at rated voltage."""

    name: str
    busbar: str
    way: str
    rated_power: float
    locked_rotor_current: float
    running: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupResult:
    """The group: its motors, the sequences computed, the one proposed, and the dip when one was asked for.

    proposed: key of the sequence to take; None when none passes. words: what was optimised and what bound it.
    """

    motors: tuple[GroupMotor, ...]
    sequences: tuple[SwitchingSequence, ...]
    proposed: str | None
    words: str
    dip: GroupDip | None = None
