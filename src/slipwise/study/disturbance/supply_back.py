"""The supply gone and back again: residual voltage, what a return would see, and the three ways to change over to another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite, pi

import numpy as np

from slipwise.limits.disturbance import returns, swing
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion
from slipwise.results.disturbance import Finding, Level, Panel
from slipwise.results.series import Array
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.fed import running_speed
from slipwise.solve.disturbed.interruption import (
    OPEN_CIRCUIT,
    RESULTANT,
    SAFE_RESIDUAL,
    SAFE_RESULTANT,
    Residual,
    residual,
)
from slipwise.solve.transient.reclosing import Reclosings, reclosings
from slipwise.study.disturbance.model import Answered, Effort, SupplyReturn
from slipwise.study.disturbance.parts import finding, trace
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.points import drive_of

_METHOD = (
    "rotor flux linkages decaying with the stator open while the load slows the shaft down, integrated by scipy; peaks by the "
    "electrical transient of each return"
)
_SOURCE = "Krause, Wasynczuk, Sudhoff, Analysis of Electric Machinery and Drive Systems, 2nd ed., ch. 4"
_SCATTERED = 9  # returns over the scatter of the dead time
_PER_TURN = 18  # returns in each turn of the motor's voltage against the source
_TURNS = 5  # followed: later ones meet a voltage that is almost gone
_FIRST = 0.005  # s: no switch is quicker


@dataclass(frozen=True, slots=True, kw_only=True)
class _Peaks:
    """at: the returns over the scatter; over: those over all dead times; None without transients. torque pu, current A."""

    at: Reclosings
    over: Reclosings


def supply_return(study: Study, key: str, asked: SupplyReturn, effort: Effort) -> Answered:
    """The motor's voltage after the supply has gone, and what its return does at every dead time."""
    drive = drive_of(study)
    found = residual(drive, asked.dead_time + asked.scatter, angle=asked.lead)
    peaks = _peaks(study, asked, found, effort) if effort.transients else None
    span = _span(asked)
    rows: list[Criterion] = [*returns([found.resultant_at(t) for t in span], [found.at("voltage", t) for t in span])]
    if peaks is not None:
        torque = float(peaks.at.torque.max()) / study.motor.rating.torque
        rows += swing(torque, float(peaks.at.current.max()), study.limits.shaft_torque, study.limits.peak_current)
    return Answered(
        summary=_summary(asked, found, rows[0], rows[1]),
        findings=(*_state(asked, found), *_times(found), *_ways(study, asked, found, effort), *_swings(study, peaks)),
        rows=tuple(rows),
        actions=tuple(_actions(asked, found)),
        panels=tuple(_panels(study, asked, found, peaks)),
        method=_METHOD,
        source=_SOURCE,
        notes=(
            "The motor alone: others on the same busbar hold its voltage up or pull it down, and capacitors can raise it.",
            f"Safe: resultant at most {show(SAFE_RESULTANT, '', 3)} per unit of rated volts per hertz, or residual voltage "
            f"at most {show(SAFE_RESIDUAL, 'pu')}.",
        ),
        explanations=_explained(study, key, asked, found),
    )


def _span(asked: SupplyReturn) -> Array:
    return np.linspace(max(asked.dead_time - asked.scatter, 0.0), asked.dead_time + asked.scatter, 5)


def _peaks(study: Study, asked: SupplyReturn, found: Residual, effort: Effort) -> _Peaks:
    drive = drive_of(study)
    speed = running_speed(drive)
    low, high = max(asked.dead_time - asked.scatter, 1e-4), asked.dead_time + asked.scatter
    near = reclosings(drive, np.linspace(low, high, _SCATTERED), speed=speed, lead=asked.lead, note=effort.note)
    return _Peaks(at=near, over=reclosings(drive, _grid(asked, found), speed=speed, lead=asked.lead, note=effort.note))


def _grid(asked: SupplyReturn, found: Residual) -> Array:
    """Dead times at even steps of the angle between motor and source, from the first moment on."""
    last = found.residual_time if isfinite(found.residual_time) else float(found.time[-1])
    end = min(max(last, asked.dead_time + asked.scatter), float(found.time[-1]))
    first = found.at("angle", _FIRST)
    top = min(found.at("angle", end), first + _TURNS * 2 * pi)
    angles = np.arange(first, top, 2 * pi / _PER_TURN)
    times = np.append(np.interp(angles, found.angle, found.time), _FIRST)
    return np.unique(np.append(times, asked.dead_time) if asked.dead_time < times.max() else times)


def _summary(asked: SupplyReturn, found: Residual, first: Criterion, second: Criterion) -> str:
    at = asked.dead_time
    judged = first if first.limit is not None else second
    ever = (
        f"It is safe for good from {_time(found.safe_time)} on."
        if found.safe_time > 0
        else "It is at any other time too."
    )
    good = judged.margin is not None and judged.margin >= 0
    scatter = f", give or take {show(asked.scatter, 's')}," if asked.scatter > 0 else ""
    early = ""
    if asked.scatter > 0:
        most = max(found.at("voltage", t) for t in _span(asked))
        early = f" ({show(most, 'pu')} where it comes that much sooner)"
    return (
        f"After {show(at, 's')}{scatter} the motor still shows {show(found.at('voltage', at), 'pu')} of rated voltage{early}, "
        f"{show(_lag(found.at('angle', at)), 'rad')} behind the source: the return is {'' if good else 'not '}safe. {ever}"
    )


def _lag(angle: float) -> float:
    """An angle within one turn. [rad]"""
    return float(angle % (2 * pi))


def _time(seconds: float) -> str:
    return show(seconds, "s") if isfinite(seconds) else "no time looked at"


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None


def _state(asked: SupplyReturn, found: Residual) -> tuple[Finding, ...]:
    at = asked.dead_time
    return (
        finding("voltage", "Residual voltage at the return, of rated", found.at("voltage", at), "pu"),
        finding("frequency", "Its frequency, of rated", found.at("frequency", at), "pu"),
        finding("angle", "Its angle behind the source", _lag(found.at("angle", at)), "rad"),
        finding("resultant", "Volts-per-hertz resultant at the return", found.resultant_at(at), "pu"),
        finding("speed", "Speed at the return", found.at("speed", at), "rad/s"),
    )


def _times(found: Residual) -> tuple[Finding, ...]:
    return (
        finding("open_circuit_time", "Open-circuit time constant of the rotor", found.open_circuit_time, "s"),
        finding("fast_time", "Quick return, safe up to", _finite(found.fast_time), "s"),
        finding("in_phase_time", "In phase with the source again after", _finite(found.in_phase_time), "s"),
        finding("residual_time", "Residual voltage low enough after", _finite(found.residual_time), "s"),
        finding("safe_time", "Safe for good after", _finite(found.safe_time), "s"),
    )


def _ways(study: Study, asked: SupplyReturn, found: Residual, effort: Effort) -> tuple[Finding, ...]:
    """Bus transfer two other ways: in phase again, and after the voltage has gone."""
    ways = (
        ("in_phase", "In-phase transfer", found.in_phase_time),
        ("after_decay", "Transfer after decay", found.residual_time),
    )
    rows = []
    for key, words, at in ways if asked.transfer else ():
        if not isfinite(at):
            continue
        rows.append(finding(f"{key}_resultant", f"{words}: resultant", found.resultant_at(at), "pu"))
        rows.append(finding(f"{key}_speed", f"{words}: speed", found.at("speed", at), "rad/s"))
        if effort.transients:
            drive = drive_of(study)
            peak = reclosings(drive, np.array([at]), speed=running_speed(drive), lead=asked.lead, note=effort.note)
            torque = float(peak.torque[0]) / study.motor.rating.torque
            rows.append(finding(f"{key}_torque", f"{words}: torque peak, of rated", torque, "pu"))
            rows.append(finding(f"{key}_current", f"{words}: current peak", float(peak.current[0]), "A"))
    return tuple(rows)


def _swings(study: Study, peaks: _Peaks | None) -> tuple[Finding, ...]:
    if peaks is None:
        return ()
    rated, at, over = study.motor.rating.torque, peaks.at, peaks.over
    worst = int(over.torque.argmax())
    return (
        finding("torque_low", "Torque peak at this return, least over the scatter, of rated", at.torque.min() / rated, "pu"),
        finding("torque", "Torque peak at this return, greatest over the scatter, of rated", at.torque.max() / rated, "pu"),
        finding("current_low", "Current peak at this return, least over the scatter", at.current.min(), "A"),
        finding("current", "Current peak at this return, greatest over the scatter", at.current.max(), "A"),
        finding("worst_torque", "Greatest torque peak at any return, of rated", over.torque[worst] / rated, "pu"),
        finding("worst_time", "Dead time at which that is", over.dead_time[worst], "s"),
        finding("worst_current", "Greatest current peak at any return", over.current.max(), "A"),
    )  # fmt: skip


def _actions(asked: SupplyReturn, found: Residual) -> Iterator[str]:
    safe, quick = _time(found.safe_time), _time(found.fast_time)
    if 0 < found.fast_time < found.safe_time:
        yield (
            f"Block every return between {quick} and {safe} after the loss, by a timer or a residual-voltage relay; to return "
            "sooner, detection, breaker and scatter together must be quicker than the first of these."
        )
        if asked.lead:
            yield _by_lead(asked, found)
    elif found.safe_time > 0:
        yield f"Block every return sooner than {safe} after the loss, by a timer or a residual-voltage relay."
    if asked.transfer:
        yield (
            "For a transfer in phase the order to close leads the moment of coincidence by the breaker's own closing time; "
            "a synchronism check that follows the slip gives it."
        )
    else:
        yield "Automatic reclosing of the line that feeds this motor is agreed with the network operator."


def _by_lead(asked: SupplyReturn, found: Residual) -> str:
    """Which ends of the blocked time move with the angle of the source that returns."""
    words = f"a source {show(abs(asked.lead), 'rad')} {'ahead of' if asked.lead > 0 else 'behind'} the lost one"
    if found.safe_time == found.residual_time:
        return (
            f"The first of these times is that of {words} and moves with the angle; the second rests on the voltage alone and "
            "stays."
        )
    return f"These times are those of {words} and move with the angle."


def _panels(study: Study, asked: SupplyReturn, found: Residual, peaks: _Peaks | None) -> Iterator[Panel]:
    last = found.safe_time if isfinite(found.safe_time) else float(found.time[-1])
    kept = found.time <= min(max(1.3 * last, 1.1 * (asked.dead_time + asked.scatter)), float(found.time[-1]))
    time = found.time[kept]
    yield Panel(
        quantity="residual voltage, of rated",
        x_quantity="time since the loss",
        traces=(trace("residual voltage", time, "s", found.voltage[kept], "pu"),),
        levels=(Level(label="low enough", value=SAFE_RESIDUAL, unit="pu"),),
        marks=(Level(label="this return", value=asked.dead_time, unit="s"),),
    )
    yield Panel(
        quantity="volts-per-hertz resultant",
        x_quantity="time since the loss",
        traces=(trace("resultant", time, "s", found.resultant[kept], "pu"),),
        levels=(Level(label="safe up to", value=SAFE_RESULTANT, unit="pu"),),
        marks=(Level(label="", value=asked.dead_time, unit="s"),),
    )
    if peaks is not None:
        over = peaks.over
        values = over.torque / study.motor.rating.torque
        yield Panel(
            quantity="torque peak of a return then, of rated",
            x_quantity="time since the loss",
            traces=(trace("torque peak", over.dead_time, "s", values, "pu"),),
            marks=(Level(label="", value=asked.dead_time, unit="s"),),
        )


def _explained(study: Study, key: str, asked: SupplyReturn, found: Residual) -> tuple[Explanation, ...]:
    say, at = Speaker(study.inputs), asked.dead_time
    inputs = {
        "u_s": ("volts per hertz of the source", found.source),
        "u_m": ("volts per hertz of the motor", found.at("voltage", at) / found.at("frequency", at)),
        "delta": ("angle of the motor behind the source", _lag(found.at("angle", at))),
    }
    rows = [say.by(RESULTANT, f"{key}.resultant", inputs, f"{_METHOD}; {show(at, 's')} after the loss")]
    circuit = study.motor.circuit
    if circuit is not None and len(circuit.rotor) == 1:
        values = {
            "X_m": ("motor.circuit.Xm", circuit.Xm),
            "X_2": ("motor.circuit.X2", circuit.rotor[0].X),
            "f": ("motor.rated_frequency", circuit.frequency),
            "R_2": ("motor.circuit.R2", circuit.rotor[0].R),
        }
        rows.append(say.by(OPEN_CIRCUIT, f"{key}.open_circuit_time", values))
    return tuple(rows)
