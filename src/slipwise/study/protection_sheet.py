"""The sheet for the panel: every dial of a way with its value, and what to measure when it is first started."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, isfinite

import numpy as np

from slipwise.limits.overload_relay import class_named
from slipwise.methods.way import StartingWay
from slipwise.quantity.show import show
from slipwise.results.protection import Protection
from slipwise.results.setting import Setting
from slipwise.results.settings_sheet import DialRow, Expected, SettingsSheet
from slipwise.results.start import Outcome, RunUp
from slipwise.results.wiring import Wiring
from slipwise.study.cases import NOMINAL, STRONG
from slipwise.study.judging import Evidence

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
        *_starter(way, settings),
        *_relay(found, wiring, evidence),
        *_trip(found, wiring),
        *_switch(found),
        *_longest(evidence),
    )
    return SettingsSheet(dials=dials, expected=tuple(_expected(evidence, found)))


def _starter(way: StartingWay, settings: Sequence[Setting]) -> Iterator[DialRow]:
    for row in settings:
        yield DialRow(
            device=way.title, dial=row.title, value=row.value, unit=row.unit, text=row.text, check="", origin=row.origin
        )


def _relay(found: Protection, wiring: Wiring, evidence: Evidence) -> Iterator[DialRow]:
    relay = found.relay
    label = next((device.label for device in wiring.devices if device.kind == "overload"), None)
    if relay is None or label is None:
        return
    kind = class_named(relay.trip_class)
    origin = GIVEN if found.judged is not None else COMPUTED
    test = show(TEST_MULTIPLE * relay.setting, "A")
    yield DialRow(
        device=label, dial="trip class", value=None, unit="", text=kind.name, origin=origin,
        check=f"from cold, {test} in three poles: trips after more than {show(kind.low, 's')}, within {show(kind.high, 's')}",
    )  # fmt: skip
    yield DialRow(
        device=label, dial=f"current, in the {relay.place}", value=relay.setting, unit="A", text="", origin=origin,
        check=f"at {show(1.05 * relay.setting, 'A')} it stays closed, at {show(1.2 * relay.setting, 'A')} it trips within 2 h",
    )  # fmt: skip
    sensitive = evidence.study.protection.sensitive
    yield DialRow(
        device=label, dial="phase-loss detection", value=None, unit="", text="on" if sensitive else "none", origin=ASSUMED,
        check=f"two poles at {show(TWO_POLES * relay.setting, 'A')}, one without current: trips within 2 h" if sensitive else "",
    )  # fmt: skip
    yield DialRow(
        device=label, dial="reset", value=None, unit="", text="by hand", origin=ASSUMED,
        check="stays tripped until it is reset at the panel",
    )  # fmt: skip


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


def _longest(evidence: Evidence) -> Iterator[DialRow]:
    times = [
        r.run_up_time for r in evidence.run_ups.values() if r.outcome is Outcome.ARRIVED and r.run_up_time is not None
    ]
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


def _expected(evidence: Evidence, found: Protection) -> Iterator[Expected]:
    runs = {name: run for name, run in evidence.run_ups.items() if run.outcome is Outcome.ARRIVED}
    nominal = runs[NOMINAL]
    yield _band("line current at switching on, rms", [float(r.line_current[0]) for r in runs.values()], "A")
    yield _band("greatest line current, rms", [float(r.line_current.max()) for r in runs.values()], "A")
    trip = found.instantaneous
    if trip is not None:
        middle = 0.5 * (trip.low + trip.high)
        peak = float(evidence.bands[STRONG].line_current.mean()) if evidence.bands else middle
        yield Expected(quantity="highest current peak", value=peak, low=trip.low, high=trip.high, unit="A")
    yield from _stages(runs)
    yield _band("run-up time", [float(r.run_up_time or 0.0) for r in runs.values()], "s")
    yield _band("running current, rms", [float(r.line_current[-1]) for r in runs.values()], "A")
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
