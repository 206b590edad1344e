"""Unbalanced voltages: where the motor runs, what each winding carries, and what load it may keep."""

from __future__ import annotations

from math import sqrt

import numpy as np

from slipwise.limits.disturbance import GREATEST_UNBALANCE, temperature, unbalance_rows
from slipwise.model.machine.sequence import NEGATIVE_SLIP, Sequences, derating
from slipwise.model.thermal.ratings import rise_under_unbalance
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.disturbance import Finding, Panel
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.fed import Fed, fed
from slipwise.solve.disturbed.unbalance import (
    LineVoltages,
    Permitted,
    Running,
    from_share,
    permitted,
    rated_winding_current,
    running,
)
from slipwise.study.disturbance.model import Answered, Effort, Unbalance
from slipwise.study.disturbance.parts import FIND_CAUSE, driven, finding, of_rated, trace, warmth
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.points import drive_of

DEVIATION = Formula(
    key="unbalance.deviation",
    title="Voltage unbalance, greatest deviation",
    symbol="u",
    expression="D / U_m",
    units={"D": "V", "U_m": "V"},
    source="NEMA MG 1, 14.36",
    validity="line voltages; D is the greatest deviation from their mean U_m",
    result_unit="pu",
)
SHARE = Formula(
    key="unbalance.share",
    title="Voltage unbalance, negative over positive sequence",
    symbol="u_2",
    expression="U_2 / U_1",
    units={"U_2": "V", "U_1": "V"},
    source="IEC 61000-4-30 (from memory)",
    validity="symmetrical components of the line voltages",
    result_unit="pu",
)
_METHOD = "positive- and negative-sequence circuit on the same shaft, at s and 2 - s, torque balanced against the load"
_SOURCE = "Fitzgerald, Kingsley, Umans, Electric Machinery, unbalanced operation"
_LEVELS = np.linspace(0.0, GREATEST_UNBALANCE, 11)


def unbalance(study: Study, key: str, asked: Unbalance, _effort: Effort) -> Answered:
    """The motor at these terminal voltages on the study's load, beside balanced rated voltage."""
    source = fed(drive_of(study, stiff=True), study.motor.rating.slip)
    lines, rating = asked.lines, study.motor.rating
    at = running(source, lines.phase)
    balanced = running(source, Sequences(zero=0j, positive=rating.phase_voltage + 0j, negative=0j))
    allowed = permitted(source, lines.phase)
    winding = at.hottest / rated_winding_current(study.motor, source)
    load = _shaft_power(study, at) / rating.power
    warm = _temperatures(study, at, balanced)
    rows = [*unbalance_rows(lines.deviation, load, winding)]
    if warm[0] is not None and study.thermal is not None:
        rows.append(temperature(warm[0], study.thermal.permitted))
    return Answered(
        summary=_summary(lines, at, winding, load),
        findings=(*_voltages(lines), *_state(study, at, balanced, winding), *_loads(lines, load, allowed, warm)),
        rows=tuple(rows),
        actions=_actions(study, lines, load, allowed),
        panels=(_panel(source),),
        method=_METHOD,
        source=_SOURCE,
        notes=_notes(asked),
        explanations=_explained(study, key, lines, at),
    )


def _shaft_power(study: Study, at: Running) -> float:
    return 0.0 if at.speed is None else float(study.load.torque(at.speed)) * at.speed


def _temperatures(study: Study, at: Running, balanced: Running) -> tuple[float | None, float | None]:
    """Hottest winding with this supply, and all of them on a balanced one. [degC]"""
    mean = sum(abs(i) ** 2 for i in at.point.windings) / 3
    hottest = at.point.stator_loss * at.hottest**2 / mean
    plain = balanced.point
    return (
        warmth(study, hottest, at.point.rotor_loss, at.point.core_loss),
        warmth(study, plain.stator_loss, plain.rotor_loss, plain.core_loss),
    )


def _summary(lines: LineVoltages, at: Running, winding: float, load: float) -> str:
    if at.speed is None:
        return "The motor does not carry its load at these voltages: it stalls."
    return (
        f"Unbalance {show(lines.deviation, 'pu')} by greatest deviation, {show(lines.share, 'pu')} by sequences. On "
        f"{show(load, 'pu')} of rated power the hottest winding carries {show(winding, 'pu')} of its rated current."
    )


def _voltages(lines: LineVoltages) -> tuple[Finding, ...]:
    return (
        *(
            finding(f"voltage_{n}", f"Line voltage {n}", v, "V")
            for n, v in zip(("12", "23", "31"), lines.volts, strict=True)
        ),
        finding("deviation", "Unbalance, greatest deviation from the mean (NEMA)", lines.deviation, "pu"),
        finding("share", "Unbalance, negative over positive sequence (IEC)", lines.share, "pu"),
        finding("positive", "Positive-sequence voltage, line", abs(lines.phase.positive) * sqrt(3), "V"),
        finding("negative", "Negative-sequence voltage, line", abs(lines.phase.negative) * sqrt(3), "V"),
    )


def _state(study: Study, at: Running, balanced: Running, winding: float) -> tuple[Finding, ...]:
    point = at.point
    negative = abs(point.negative.stator_current)
    rated = [of_rated(study, abs(i)) for i in point.lines]
    before = balanced.point
    return (
        finding("speed", "Speed on this load", at.speed, "rad/s"),
        finding("speed_balanced", "Speed on a balanced supply at rated voltage", balanced.speed, "rad/s"),
        *(
            finding(f"line_{n}", f"Current of line {n}", abs(i), "A")
            for n, i in zip("123", point.lines, strict=True)
        ),
        finding("largest_line", "Largest line current, of rated", max(rated), "pu"),
        *(
            finding(f"winding_{n}", f"Current of winding {n}", abs(i), "A")
            for n, i in zip("123", point.windings, strict=True)
        ),
        finding("hottest_winding", "Hottest winding, of its rated current", winding, "pu"),
        finding("negative_current", "Negative-sequence current", negative, "A"),
        finding("current_unbalance", "Current unbalance, negative over positive sequence", point.current_unbalance, "pu"),
        finding("negative_torque", "Braking torque of the negative sequence", float(point.negative.torque), "N m"),
        finding("stator_loss", "Stator loss", point.stator_loss, "W"),
        finding("stator_loss_ratio", "Stator loss, of that on a balanced supply", point.stator_loss / before.stator_loss, "pu"),
        finding("rotor_loss", "Rotor loss", point.rotor_loss, "W"),
        finding("negative_rotor_loss", "Rotor loss of the negative sequence", float(point.negative.rotor_loss), "W"),
        finding("rotor_loss_ratio", "Rotor loss, of that on a balanced supply", point.rotor_loss / before.rotor_loss, "pu"),
    )  # fmt: skip


def _loads(
    lines: LineVoltages, load: float, allowed: Permitted, warm: tuple[float | None, float | None]
) -> tuple[Finding, ...]:
    published = derating(lines.deviation) if lines.deviation <= GREATEST_UNBALANCE else None
    rule = rise_under_unbalance(1.0, lines.deviation)
    found = [
        finding("load", "Load, of rated power", load, "pu"),
        finding("derating", "Permitted load by the published derating (NEMA)", published, "pu"),
        finding("permitted_loss", "Permitted load, losses together as rated", allowed.by_loss, "pu"),
        finding("permitted_winding", "Permitted load, hottest winding at its rated current", allowed.by_winding, "pu"),
        finding("rise_rule", "Temperature rise by the published rule, of that without", rule, "pu"),
    ]  # fmt: skip
    for key, words, value in zip(
        ("temperature", "temperature_balanced"), ("Hottest winding", "Winding on a balanced supply"), warm, strict=True
    ):
        found += [] if value is None else [finding(key, f"{words}, settled temperature", value, "degC")]
    return tuple(found)


def _actions(study: Study, lines: LineVoltages, load: float, allowed: Permitted) -> tuple[str, ...]:
    most = allowed.by_loss
    if lines.deviation <= GREATEST_UNBALANCE:
        most = min(most, derating(lines.deviation))
    words = [
        "Measure the three line voltages at the motor's terminals under load, and find what unbalances them: single-phase "
        "loads, a blown capacitor fuse, a poor joint, an open-delta transformer bank."
    ]
    if load > most:
        words.append(f"Until then keep the load at or below {show(most, 'pu')} of rated power.")
    if driven(study) in ("pump", "fan"):
        words.append("A throttled valve or damper lowers the load while the cause is being sought.")
    return (*words, FIND_CAUSE)


def _notes(asked: Unbalance) -> tuple[str, ...]:
    same = (
        "The two measures of unbalance differ and are kept apart: the derating goes by greatest deviation, the sequence "
        "circuits by negative over positive sequence."
    )
    given = (
        "Only the negative sequence was given: both sequences are taken to peak together in line voltage 12, which makes "
        "the greatest deviation that this share can have."
    )
    return (same, given) if asked.by_share else (same,)


def _panel(source: Fed) -> Panel:
    """Permitted load over unbalance, three ways."""
    volts = source.drive.motor.rating.voltage
    lines = [from_share(volts, float(u)) for u in _LEVELS]
    levels = np.array([found.deviation for found in lines])
    loads = [permitted(source, found.phase) for found in lines]
    published = np.array([derating(min(float(u), GREATEST_UNBALANCE)) for u in levels])
    return Panel(
        quantity="permitted load, of rated",
        x_quantity="unbalance, greatest deviation",
        traces=(
            trace("published derating", levels, "pu", published, "pu"),
            trace("losses together as rated", levels, "pu", np.array([p.by_loss for p in loads]), "pu"),
            trace("hottest winding at rated current", levels, "pu", np.array([p.by_winding for p in loads]), "pu"),
        ),
    )


def _explained(study: Study, key: str, lines: LineVoltages, at: Running) -> tuple[Explanation, ...]:
    say = Speaker(study.inputs)
    mean = sum(lines.volts) / 3
    farthest = max(abs(v - mean) for v in lines.volts)
    one, two = abs(lines.phase.positive) * sqrt(3), abs(lines.phase.negative) * sqrt(3)
    sequence = {"U_2": ("negative-sequence line voltage", two), "U_1": ("positive-sequence line voltage", one)}
    deviation = {"D": ("greatest deviation from the mean", farthest), "U_m": ("mean line voltage", mean)}
    return (
        say.by(DEVIATION, f"{key}.deviation", deviation),
        say.by(SHARE, f"{key}.share", sequence),
        say.by(NEGATIVE_SLIP, f"{key}.negative_slip", {"s": ("slip on this load", at.slip)}),
    )
