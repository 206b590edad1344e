"""One line open: what flows, whether the motor runs on, what the overload relay sees, and when it trips."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from slipwise.limits.disturbance import open_line_heat, open_line_running, open_line_standing, stall_bearing
from slipwise.limits.heat import locked_rotor
from slipwise.limits.overload_relay import ULTIMATE, class_named, time_constant, tripping_time
from slipwise.limits.phase_loss import MUST_TRIP, pole_limits
from slipwise.limits.protection import IN_WINDING, winding_share
from slipwise.model.machine.sequence import UnbalancedPoint
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion
from slipwise.results.disturbance import Finding, Level, Panel
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.fed import fed
from slipwise.solve.disturbed.open_line import OneLineOpen, one_line_open, open_curves
from slipwise.study.disturbance.model import Answered, Effort, OpenLine
from slipwise.study.disturbance.open_heat import Warming, hottest_of, warmed, warming
from slipwise.study.disturbance.parts import FIND_CAUSE, finding, of_rated, trace
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.points import drive_of

STANDING = Formula(
    key="open_line.standing_current",
    title="Line current at rest with a line open",
    symbol="I_2",
    expression="sqrt(3) / 2 * I_3",
    units={"I_3": "A"},
    source="circuits of both sequences, equal at rest, in series between two lines",
    validity="standstill, the same reactances as on three lines",
    result_unit="A",
)
_METHOD = "sequence circuits at s and 2 - s in series between the two live lines, behind the impedance of the supply"
_SOURCE = "Fitzgerald, Kingsley, Umans, Electric Machinery, unbalanced operation"
_SECONDS = 0.4  # of the electrical transient looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class _Relay:
    """What the relay sees: multiples of its setting, running and at rest; longest tripping times of its class [s].

    effective: current on three poles that would trip it as the running one on two does, of its setting.
    """

    running: float
    standing: float
    effective: float
    trips_running: float
    trips_standing: float
    trips_quick: float


def open_line(study: Study, key: str, asked: OpenLine, effort: Effort) -> Answered:
    """The study's motor on its load when one line opens, and when it is switched on without it."""
    drive = drive_of(study)
    found = one_line_open(drive)
    relay = _relay(asked, found)
    winding = _winding_rated(study)
    hottest = hottest_of(found.running) / winding
    peak = _swings(study, found) if effort.transients else ()
    warm = warming(study, found)
    return Answered(
        summary=_summary(study, found, relay),
        findings=(*_state(found, winding), *peak, *_seen(relay), *_elsewhere(study, asked, found), *warmed(warm)),
        rows=_rows(study, found, relay, hottest, warm),
        actions=_actions(study, asked, relay),
        panels=_panels(study, winding),
        method=_METHOD,
        source=_SOURCE,
        notes=_notes(study, asked, found),
        explanations=_explained(study, key, found),
    )


def _winding_rated(study: Study) -> float:
    return study.motor.rating.current * winding_share(study.motor)


def _relay(asked: OpenLine, found: OneLineOpen) -> _Relay:
    kind = class_named(asked.trip_class)
    plain, quicker = (MUST_TRIP / pole for pole in pole_limits())
    scale = quicker if asked.sensitive else plain
    quick, slow = time_constant(kind.low), time_constant(kind.high)
    share = IN_WINDING if asked.place == "winding" else 1.0
    warm = min((found.line_before * share / asked.setting) ** 2, 1.0)
    of_place = _line if asked.place == "line" else hottest_of
    run, stand = of_place(found.running) / asked.setting, of_place(found.standstill) / asked.setting
    return _Relay(
        running=run,
        standing=stand,
        effective=run * scale,
        trips_running=tripping_time(run * scale, slow, warm),
        trips_standing=tripping_time(stand * scale, slow, warm),
        trips_quick=tripping_time(stand * scale, quick, warm),
    )


def _line(point: UnbalancedPoint) -> float:
    return abs(point.lines[1])


def _rows(
    study: Study, found: OneLineOpen, relay: _Relay, hottest: float, warm: Warming | None
) -> tuple[Criterion, ...]:
    standing = hottest_of(found.standstill)
    bears = stall_bearing(study.motor.stall.hot, locked_rotor(study.motor).winding_current, standing)
    rest = open_line_standing(relay.trips_standing, bears)
    if found.speed is None:
        return (rest,)
    heat = () if warm is None else (open_line_heat(relay.trips_running, warm.bears),)
    return (open_line_running(hottest, relay.trips_running, 1.0), *heat, rest)


def _summary(study: Study, found: OneLineOpen, relay: _Relay) -> str:
    if found.speed is None:
        end = "stands" if found.ends == 0 else f"crawls at {show(found.ends, 'rad/s')}"
        first = f"With a line open the motor does not carry this load and {end} after {show(found.seconds, 's')}."
    else:
        ratio = found.line / found.line_before
        first = (
            f"With a line open the motor runs on at {show(found.speed, 'rad/s')}, with {show(ratio, '')} times the line "
            f"current of before and {show(of_rated(study, found.line), 'pu')} of the rated one."
        )
    trip = (
        f"trips after {show(relay.trips_running, 's')} at the latest" if relay.trips_running < 1e6 else "does not trip"
    )
    stand = (
        f"At rest it has no torque and does not start; the relay trips there after {show(relay.trips_standing, 's')}."
    )
    return (
        f"{first} The overload relay {trip} while it runs. {stand}" if found.speed is not None else f"{first} {stand}"
    )


def _state(found: OneLineOpen, winding: float) -> tuple[Finding, ...]:
    run, rest = found.running, found.standstill
    return (
        finding("speed_before", "Speed on three lines", found.before, "rad/s"),
        finding("speed", "Speed with a line open", found.ends, "rad/s"),
        finding("seconds", "Time to get there", found.seconds, "s"),
        finding("torque_ratio", "Largest torque on two lines, of the load's there", found.torque_ratio, "pu"),
        finding("line_before", "Line current on three lines", found.line_before, "A"),
        finding("line", "Current of the two live lines", found.line, "A"),
        *(
            finding(f"winding_{n}", f"Current of winding {n}", abs(i), "A")
            for n, i in zip("123", run.windings, strict=True)
        ),
        finding("hottest_winding", "Hottest winding, of its rated current", hottest_of(run) / winding, "pu"),
        finding("rotor_loss", "Rotor loss", run.rotor_loss, "W"),
        finding("negative_torque", "Braking torque of the negative sequence", float(run.negative.torque), "N m"),
        finding("standing_line", "Current of the two live lines at rest", found.standstill_line, "A"),
        finding("standing_ratio", "The same, of that on three lines", found.standstill_line / found.standstill_three, "pu"),
        finding("standing_winding", "Hottest winding at rest, of its rated current", hottest_of(rest) / winding, "pu"),
        finding("standing_torque", "Torque at rest", rest.torque, "N m"),
    )  # fmt: skip


def _swings(study: Study, found: OneLineOpen) -> tuple[Finding, ...]:
    """Extremes of the electrical transient after the line has opened."""
    from slipwise.solve.transient.line_loss import line_loss

    drive = drive_of(study)
    swing = line_loss(fed(drive, study.motor.rating.slip), found.before, _SECONDS)
    rated = study.motor.rating.torque
    return (
        finding("peak_torque", "Greatest torque in the swings after the loss, of rated", float(swing.torque.max()) / rated, "pu"),
        finding("least_torque", "Least torque in the same swings, of rated", float(swing.torque.min()) / rated, "pu"),
        finding("peak_current", "Greatest instantaneous line current in them", float(abs(swing.current).max()), "A"),
    )  # fmt: skip


def _seen(relay: _Relay) -> tuple[Finding, ...]:
    return (
        finding("relay_running", "What the relay sees while running, of its setting", relay.running, "pu"),
        finding(
            "trips_running",
            "Tripping time while running, slowest relay of its class",
            _finite(relay.trips_running),
            "s",
        ),
        finding("relay_standing", "What the relay sees at rest, of its setting", relay.standing, "pu"),
        finding("trips_standing", "Tripping time at rest, slowest relay", _finite(relay.trips_standing), "s"),
        finding("trips_quick", "Tripping time at rest, quickest relay", _finite(relay.trips_quick), "s"),
    )


def _elsewhere(study: Study, asked: OpenLine, found: OneLineOpen) -> tuple[Finding, ...]:
    """What a relay at the other place of a delta would see, set to the same share of rated current there."""
    share = winding_share(study.motor)
    if share == 1.0:
        return ()
    in_line = asked.place == "line"
    other = "winding" if in_line else "line"
    setting = asked.setting * share if in_line else asked.setting / share
    relay = _relay(replace(asked, place=other, setting=setting), found)
    who = f"A relay in the {other}, set to {show(setting, 'A')}"
    return (
        finding("other_running", f"{who}, would see while running", relay.running, "pu"),
        finding("other_trips_running", f"{who}, would trip while running after", _finite(relay.trips_running), "s"),
        finding("other_trips_standing", f"{who}, would trip at rest after", _finite(relay.trips_standing), "s"),
    )


def _finite(seconds: float) -> float | None:
    return seconds if isfinite(seconds) else None


def _actions(study: Study, asked: OpenLine, relay: _Relay) -> tuple[str, ...]:
    words = ["Switch off and find the open line: fuse, contact, terminal, broken conductor. Replace all three fuses."]
    if study.motor.rating.connection == "delta" and asked.place == "line":
        words.append(
            "In a delta the hottest winding carries two thirds of the line current, 1.15 times its share of a balanced "
            "one: a relay in the line sees less than that winding bears."
        )
    if relay.effective <= ULTIMATE:
        words.append("Fit an overload relay sensitive to the loss of a phase, or thermistors in the winding.")
    return (*words, FIND_CAUSE)


def _notes(study: Study, asked: OpenLine, found: OneLineOpen) -> tuple[str, ...]:
    words = [
        f"Relay of class {asked.trip_class} in the {asked.place}, set to {show(asked.setting, 'A')}, "
        f"{'' if asked.sensitive else 'not '}sensitive to the loss of a phase, warm from the load before.",
        "The line is open at the motor. A line open before a transformer leaves other currents.",
    ]
    if found.speed is not None:
        words.append("Torque swings at twice the supply frequency: it hums, and gear and coupling feel it.")
    if study.motor.circuit is not None and study.motor.circuit.leakage_saturation is not None:
        words.append("Reactances that saturate are those of rated slip while running and of standstill at rest.")
    return tuple(words)


def _panels(study: Study, winding: float) -> tuple[Panel, Panel]:
    curves = open_curves(drive_of(study))
    rated = study.motor.rating.torque
    speed = curves.speed
    above = Panel(
        quantity="torque, of rated",
        x_quantity="speed",
        traces=(
            trace("three lines", speed, "rad/s", curves.three / rated, "pu"),
            trace("one line open", speed, "rad/s", curves.two / rated, "pu"),
            trace("load", speed, "rad/s", curves.load / rated, "pu"),
        ),
    )
    order = np.argsort(-curves.windings[:, 0], kind="stable")
    currents = [curves.windings[i] / winding for i in order]
    line = curves.line / study.motor.rating.current
    named = [("live lines", line), ("hottest winding", currents[0])]
    if not np.allclose(currents[0], currents[1], rtol=1e-6):
        named.append(("other windings", currents[1]))
    below = Panel(
        quantity="current with a line open, each of its rated value",
        x_quantity="speed",
        traces=tuple(trace(name, speed, "rad/s", values, "pu") for name, values in named),
        levels=(Level(label="rated", value=1.0, unit="pu"),),
    )
    return above, below


def _explained(study: Study, key: str, found: OneLineOpen) -> tuple[Explanation, ...]:
    inputs = {"I_3": ("line current at rest on three lines", found.standstill_three)}
    return (Speaker(study.inputs).by(STANDING, f"{key}.standing_line", inputs),)
