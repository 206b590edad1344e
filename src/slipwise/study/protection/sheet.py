"""The sheet for the panel: every dial of a way with its value, and what to measure when it is first started."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, isclose, isfinite

import numpy as np

from slipwise.limits.overload_relay import class_named
from slipwise.limits.records import by_stage
from slipwise.methods.way import StartingWay
from slipwise.quantity.provenance import Origin
from slipwise.quantity.show import show
from slipwise.results.protection import Protection, RelayCheck
from slipwise.results.setting import Setting
from slipwise.results.settings_sheet import DialRow, Expected, SettingsSheet
from slipwise.results.start import Outcome, RunUp
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Ends
from slipwise.study.cases import NOMINAL, STRONG, WORST, cases_of
from slipwise.study.judging import Evidence
from slipwise.study.model import Study

LONGER = 1.25  # a start may take this much longer than the slowest computed before it is broken off (common practice)
TEST_MULTIPLE = 7.2  # at which the trip classes are defined
TWO_POLES = 1.15
GIVEN, COMPUTED, ASSUMED = "given", "computed", "assumed"


def settings_sheet(
    evidence: Evidence, found: Protection, way: StartingWay, settings: Sequence[Setting]
) -> SettingsSheet:
    """All dials of the starter and its protection, and the measurements expected."""
    wiring = way.wiring()
    dials = (
        *_starter(evidence, way, settings),
        *_relay(found, wiring, evidence),
        *_trip(found, wiring),
        *_switch(found),
        *_first_step(evidence, found),
        *_longest(evidence),
    )
    return SettingsSheet(dials=dials, expected=tuple(_expected(evidence, found, _as_catalogued(evidence.study, way))))


def _as_catalogued(study: Study, way: StartingWay) -> dict[str, RunUp]:
    """The start by weak and by strong supply with the currents as catalogued: a tolerance upward is none downward."""
    cases = cases_of(replace(study, tolerances=replace(study.tolerances, current=0.0)))
    runs = {name: cases[name].run_up(way.stages(cases[name].drive), quick=True) for name in (WORST, STRONG)}
    return {name: run for name, run in runs.items() if run.outcome is Outcome.ARRIVED}


def _starter(evidence: Evidence, way: StartingWay, settings: Sequence[Setting]) -> Iterator[DialRow]:
    """The settings of the way, each proved by when and at what current it acts; then changes that no setting names."""
    changes = _changes(evidence)
    for row in settings:
        found = next(
            (c for c in changes if row.value is not None and c.unit == row.unit and isclose(c.at, row.value)), None
        )
        check = "" if found is None else found.words
        yield DialRow(
            device=way.title,
            dial=row.title,
            value=row.value,
            unit=row.unit,
            text=row.text,
            check=check,
            origin=row.origin,
        )
        changes = [c for c in changes if c is not found]
    for change in changes:
        if change.unit == "rad/s":
            yield DialRow(
                device=change.device, dial="closes at", value=change.at, unit="rad/s", text="", check=change.words,
                origin=COMPUTED,
            )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Change:
    """The end of a stage: at which speed (rad/s) or after how long (s), which contact closes, and how it is seen."""

    at: float
    unit: str
    device: str
    words: str


def _changes(evidence: Evidence) -> list[_Change]:
    """The ends of all stages but the last, with the band of their times and the line current before and after."""
    found = []
    plan, nominal = evidence.plans[NOMINAL], evidence.run_ups[NOMINAL]
    windows = by_stage(nominal)
    for number, (stage, following) in enumerate(pairwise(plan)):
        unit = {Ends.SPEED: "rad/s", Ends.ELAPSED: "s"}.get(stage.until.ends)
        ends = [run.stages[number].end for run in _arrived(evidence).values()]
        if unit is None:
            continue
        before = float(nominal.line_current[windows[number][1].stop - 1])
        after = float(nominal.line_current[windows[number + 1][1].start])
        fresh = [name for name in following.contacts if name not in stage.contacts]
        words = f"{show(ends[0], 's')} after switching on ({show(min(ends), 's')} to {show(max(ends), 's')})"
        found.append(
            _Change(
                at=stage.until.value,
                unit=unit,
                device=fresh[0] if fresh else stage.name,
                words=f"{words}; line current {show(before, 'A')} before, {show(after, 'A')} after",
            )
        )
    return found


def _arrived(evidence: Evidence) -> dict[str, RunUp]:
    """The cases in which the start arrives, nominal first."""
    return {name: run for name, run in evidence.run_ups.items() if run.outcome is Outcome.ARRIVED}


def _relay(found: Protection, wiring: Wiring, evidence: Evidence) -> Iterator[DialRow]:
    """One relay, or one for each part of a winding with its share of the current."""
    relay = found.relay
    if relay is None:
        return
    for device in wiring.devices:
        if device.kind == "overload":
            origin = GIVEN if found.judged is not None else COMPUTED
            yield from _one_relay(device.label, replace(relay, setting=relay.setting * device.share), origin)
            yield _detection(device.label, relay.setting * device.share, evidence)
            yield DialRow(
                device=device.label, dial="reset", value=None, unit="", text="by hand", origin=ASSUMED,
                check="stays tripped until it is reset at the panel",
            )  # fmt: skip


def _one_relay(label: str, relay: RelayCheck, origin: str) -> Iterator[DialRow]:
    kind, setting = class_named(relay.trip_class), relay.setting
    test = show(TEST_MULTIPLE * setting, "A")
    yield DialRow(
        device=label, dial="trip class", value=None, unit="", text=kind.name, origin=origin,
        check=f"from cold, {test} in three poles: trips after more than {show(kind.low, 's')}, within {show(kind.high, 's')}",
    )  # fmt: skip
    yield DialRow(
        device=label, dial=f"current, in the {relay.place}", value=setting, unit="A", text="", origin=origin,
        check=f"at {show(1.05 * setting, 'A')} it stays closed, at {show(1.2 * setting, 'A')} it trips within 2 h",
    )  # fmt: skip


def _detection(label: str, setting: float, evidence: Evidence) -> DialRow:
    """Phase-loss detection, as stated or assumed."""
    asked = evidence.study.protection
    stated = any(
        r.name == "protection.phase_loss_sensitive" and r.origin is Origin.GIVEN for r in evidence.study.inputs
    )
    check = f"two poles at {show(TWO_POLES * setting, 'A')}, one without current: trips within 2 h"
    return DialRow(
        device=label,
        dial="phase-loss detection",
        value=None,
        unit="",
        text="on" if asked.sensitive else "none",
        check=check if asked.sensitive else "",
        origin=GIVEN if stated else ASSUMED,
    )


def _trip(found: Protection, wiring: Wiring) -> Iterator[DialRow]:
    trip = found.instantaneous
    label = next((device.label for device in wiring.devices if device.kind in ("breaker", "fuse")), None)
    if trip is None or label is None:
        return
    yield DialRow(
        device=label,
        dial="instantaneous trip, rms",
        value=trip.setting,
        unit="A",
        text="",
        check=f"the highest peak, up to {show(trip.peak, 'A')}, must pass; trips between "
        f"{show((1 - trip.tolerance) * trip.setting, 'A')} and {show((1 + trip.tolerance) * trip.setting, 'A')}; "
        f"least fault at the motor {show(trip.fault, 'A')}",
        origin=GIVEN if trip.given else COMPUTED,
    )


def _switch(found: Protection) -> Iterator[DialRow]:
    switch = found.speed_switch
    if switch is None or not (switch.given or (switch.saves and switch.lets_start)):
        return
    origin = GIVEN if switch.given else COMPUTED
    yield DialRow(
        device="speed switch", dial="speed", value=switch.speed, unit="rad/s", text="", origin=origin,
        check=f"passed after {show(switch.reached, 's')} at the latest",
    )  # fmt: skip
    yield DialRow(
        device="speed switch", dial="delay after switching on", value=switch.delay, unit="s", text="", origin=origin,
        check="with the signal of its sensor taken off, the start is broken off after the delay",
    )  # fmt: skip


def _first_step(evidence: Evidence, found: Protection) -> Iterator[DialRow]:
    """The time in which the first step of a bank must be left, where a stall burns the bank before the start is broken off."""
    bank = found.bank
    if bank is None or not isfinite(bank.stalled):
        return
    slowest = max(run.stages[0].end for run in _arrived(evidence).values())
    yield DialRow(
        device="control",
        dial="first step left within",
        value=min(LONGER * slowest, max(bank.stalled, slowest)),
        unit="s",
        text="",
        check=f"slowest start leaves it after {show(slowest, 's')}; stalled, the bank is at its limit after "
        f"{show(bank.stalled, 's')}",
        origin=COMPUTED,
    )


def _longest(evidence: Evidence) -> Iterator[DialRow]:
    times = [run.run_up_time for run in _arrived(evidence).values() if run.run_up_time is not None]
    slowest = max(times)
    yield DialRow(
        device="control",
        dial="longest start",
        value=ceil(2 * LONGER * slowest) / 2,
        unit="s",
        text="",
        check=f"{show(LONGER - 1, 'pu')} beyond the slowest start computed, {show(slowest, 's')}, up to half a second",
        origin=COMPUTED,
    )


def _expected(evidence: Evidence, found: Protection, catalogued: dict[str, RunUp]) -> Iterator[Expected]:
    runs = _arrived(evidence)
    nominal = runs[NOMINAL]
    steady = {NOMINAL: nominal, **catalogued}
    runs |= {f"{name} as catalogued": run for name, run in catalogued.items()}
    yield _band("line current at switching on, rms", [float(r.line_current[0]) for r in runs.values()], "A")
    yield _band("greatest line current, rms", [float(r.line_current.max()) for r in runs.values()], "A")
    trip = found.instantaneous
    if trip is not None:
        middle = 0.5 * (trip.low + trip.high)
        peak = float(evidence.bands[STRONG].line_current.mean()) if evidence.bands else middle
        yield Expected(quantity="highest current peak", value=peak, low=trip.low, high=trip.high, unit="A")
    yield from _stages(runs)
    yield _band("run-up time", [float(r.run_up_time or 0.0) for r in runs.values()], "s")
    yield _band("running current, rms", [float(r.line_current[-1]) for r in steady.values()], "A")
    yield _band("running speed", [r.final_speed for r in runs.values()], "rad/s")
    for place, name in enumerate(nominal.busbars):
        yield _band(f"dip at {name}", [_dip(run, place) for run in runs.values()], "pu")


def _stages(runs: dict[str, RunUp]) -> Iterator[Expected]:
    """When each stage but the last ends."""
    for number, mark in enumerate(runs[NOMINAL].stages[:-1]):
        ends = [run.stages[number].end for run in runs.values() if number < len(run.stages)]
        yield _band(f"end of stage: {mark.name}", ends, "s")


def _dip(run: RunUp, place: int) -> float:
    before = float(run.prestart_voltage[place])
    return (before - float(np.min(run.busbar_voltage[place]))) / before


def _band(quantity: str, values: Sequence[float], unit: str) -> Expected:
    """The first value is the nominal one."""
    finite = [value for value in values if isfinite(value)]
    return Expected(quantity=quantity, value=values[0], low=min(finite), high=max(finite), unit=unit)
