"""An invented, physically sane `StudyResult` to develop and test presentation against, without any solver of slipwise.

Scenario Tarnhill (invented): the raw-water pump P3 started three ways; the numbers come from `sample_start`.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import sqrt
from typing import Any

from slipwise.quantity.provenance import Origin, Sourced
from slipwise.results.criteria import Criterion, Recommendation, Sense, Status, Verdict
from slipwise.results.start import Curves, RunUp, TransientBand
from slipwise.results.study import Explanation, Input, PlateRow, Setting, StudyResult, WayResult
from slipwise.results.wiring import Device, Wiring
from tests.behaviour.sample_start import (
    BUSBARS,
    INERTIA,
    RATED_CURRENT,
    RATED_TORQUE,
    SYNC,
    Piece,
    band_of,
    curves_of,
    run_up_of,
    transient_of,
)

GIVEN, COMMON = "given by user", "common practice, no source"
PU_MOST: dict[str, Any] = {"unit": "pu", "sense": Sense.AT_MOST}
PU_LEAST: dict[str, Any] = {"unit": "pu", "sense": Sense.AT_LEAST}


def criterion(
    key: str, title: str, *, value: float | None, limit: float | None, unit: str, sense: Sense, source: str,
    case: str = "nominal", condition: str = "",
) -> Criterion:  # fmt: skip
    """A judged row."""
    if value is None or limit is None:
        return Criterion(key=key, title=title, value=value, limit=limit, unit=unit, sense=sense, status=Status.UNKNOWN,
                         margin=None, case=case, source=source, condition=condition)  # fmt: skip
    gap = (limit - value) if sense is Sense.AT_MOST else (value - limit)
    margin = gap / abs(limit)
    status = Status.FAILS if margin < 0 else Status.CONDITION if condition else Status.PASSES
    return Criterion(key=key, title=title, value=value, limit=limit, unit=unit, sense=sense, status=status,
                     margin=margin, case=case, source=source, condition=condition)  # fmt: skip


def verdict_of(run_ups: tuple[RunUp, ...], band: TransientBand, curves: tuple[Curves, ...]) -> Verdict:
    """The usual rows, read off the run-ups and the transient."""
    nominal, worst = run_ups[0], run_ups[-1]
    dips = (worst.prestart_voltage[:, None] - worst.busbar_voltage).max(axis=1) / worst.prestart_voltage
    limits = (0.04, 0.10, 0.15)
    used = [i for i, p in enumerate(curves) if p.torque.max() > 0]
    least = (
        min(float((c.torque - c.load)[c.speed < 0.8 * SYNC].min()) for c in (curves[i] for i in used[:1]))
        / RATED_TORQUE
    )
    rows = [
        criterion(f"dip:{name}", f"dip at {name}", value=float(d), limit=most, source=src, case=worst.case, **PU_MOST)
        for name, d, most, src in zip(BUSBARS, dips, limits, (GIVEN, COMMON, GIVEN), strict=True)
    ]
    heat = nominal.current_heat / (5.7**2 * 12)
    rest_after = "one start from hot, then 30 minutes at rest" if nominal.current_heat > 100 else ""
    shaft = max(abs(band.worst.peaks.torque_max), abs(band.worst.peaks.torque_min)) / RATED_TORQUE
    unknown = "no limit was given; the protection setting is not known"
    volts, amps = float(worst.busbar_voltage[2].min()), float(worst.line_current.max())
    most_amps = {"unit": "A", "sense": Sense.AT_MOST}
    rows += [
        criterion(
            "terminal_voltage", "voltage at the motor", value=volts, limit=0.80, source=COMMON, case=worst.case, **PU_LEAST
        ),
        criterion(
            "torque_margin", "torque margin along the curve", value=least * 0.85, limit=0.10, source=COMMON,
            case=worst.case, **PU_LEAST,
        ),
        criterion(
            "run_up_time", "run-up time", value=worst.run_up_time, limit=15.0, unit="s", sense=Sense.AT_MOST, source=GIVEN,
            case=worst.case,
        ),
        criterion(
            "heat", "heat, share of the hot stall limit", value=heat, limit=0.9, source=COMMON, case="nominal, hot",
            condition=rest_after, **PU_MOST,
        ),
        criterion("line_current", "line current, rms", value=amps, limit=700.0, source=GIVEN, case="strong network", **most_amps),
        criterion(
            "peak_current", "peak line current", value=band.worst.peaks.line_current, limit=None, source="not set",
            condition=unknown, **most_amps,
        ),
        criterion(
            "shaft_torque", "peak shaft torque", value=shaft, limit=8.0, source=COMMON, case="worst switching angle", **PU_MOST
        ),
    ]  # fmt: skip
    judged = [r for r in rows if r.margin is not None]
    binding = min(judged, key=lambda r: r.margin if r.margin is not None else 9.0)
    rank = (Status.FAILS, Status.CONDITION, Status.PASSES)
    status = next(s for s in rank if any(r.status is s for r in judged))
    words = {
        Status.FAILS: "breaks its limit",
        Status.CONDITION: "stands with a condition",
        Status.PASSES: "is the tightest",
    }
    return Verdict(status=status, binding=binding, criteria=tuple(rows), reason=f"{binding.title} {words[status]}")


def way_of(
    key: str, title: str, pieces: tuple[Piece, ...], settings: tuple[Setting, ...], designed: str, wiring: Wiring
) -> WayResult:
    """One way, computed."""
    run_ups = (run_up_of("nominal", pieces), run_up_of("low voltage, weak network", pieces, voltage=0.93))
    curves = tuple(curves_of(p) for p in pieces if p.ratio)
    band = band_of(transient_of("nominal", pieces, 0.4, run_ups[0]))
    return WayResult(
        key=key, title=title, settings=settings, designed=designed, curves=curves, run_ups=run_ups, band=band,
        transient_note="", verdict=verdict_of(run_ups, band, curves), wiring=wiring,
        comparisons=("The other wiring of the changeover would reach 14 % more shaft torque.",) if key == "star_delta" else (),
    )  # fmt: skip


def setting(key: str, title: str, value: float, unit: str, origin: Origin, why: str = "") -> Setting:
    return Setting(key=key, title=title, value=value, unit=unit, origin=origin.value, why=why)


def wiring_of(*stages: tuple[str, tuple[str, ...]], leads: int = 3) -> Wiring:
    """Isolator, contactors in a row, motor."""
    names = sorted({c for _, closed in stages for c in closed})
    devices = [Device(kind="isolator", label="Q1", after="")]
    for name in names:
        devices.append(Device(kind="contactor", label=name, after=devices[-1].label))
    devices.append(Device(kind="motor", label="M1", after=devices[-1].label))
    return Wiring(
        devices=tuple(devices),
        stages=tuple(s for s, _ in stages),
        closed=tuple(c for _, c in stages),
        motor_leads=leads,
    )


def sourced(name: str, value: float | None, unit: str, origin: Origin, text: str = "", **more: Any) -> Sourced:
    """One value with its past; more: low, high, why."""
    return Sourced(name=name, value=value, unit=unit, origin=origin, text=text, **more)


def inputs() -> tuple[Sourced, ...]:
    """Given, derived, assumed and estimated values side by side."""
    return (
        sourced("motor.rated_power", 90e3, "W", Origin.GIVEN, "90 kW"),
        sourced("motor.rated_voltage", 400, "V", Origin.GIVEN, "400 V"),
        sourced("motor.rated_current", 160, "A", Origin.GIVEN, "160 A"),
        sourced("motor.connection", None, "", Origin.GIVEN, "delta"),
        sourced("motor.rated_torque", RATED_TORQUE, "N m", Origin.DERIVED, why="rated power / rated speed"),
        sourced("motor.inertia", 1.4, "kg m2", Origin.ESTIMATED, low=1.1, high=1.7, why="typical for the frame size"),
        sourced("load.inertia", 2.8, "kg m2", Origin.GIVEN, "11.2 kg m2 GD2"),
        sourced(
            "load.breakaway",
            104,
            "N m",
            Origin.ASSUMED,
            low=60,
            high=145,
            why="10 to 25 % of rated torque, common practice",
        ),
        sourced(
            "supply.main_board.base_load", 180e3, "W", Origin.ASSUMED, low=120e3, high=240e3, why="not given; typical"
        ),
        sourced("limits.run_up_time", 15, "s", Origin.GIVEN, "15 s"),
    )


def plate() -> tuple[PlateRow, ...]:
    """Plate against model, close but not equal."""
    iec = "IEC 60034-1"
    rows = (
        ("rated current", 160, 160.4, "A", None, None, ""),
        ("power factor", 0.86, 0.8588, "", None, None, ""),
        ("locked-rotor current", 1104, 1097, "A", None, 0.20, iec),
        ("locked-rotor torque", 1276, 1290, "N m", -0.15, 0.25, iec),
        ("breakdown torque", 1566, 1560, "N m", -0.10, None, iec),
    )
    return tuple(
        PlateRow(name=name, plate=given, model=model, unit=unit, tolerance_low=low, tolerance_high=high, source=source)
        for name, given, model, unit, low, high, source in rows
    )


def _direct() -> WayResult:
    wiring = wiring_of(("direct", ("K1",)))
    return way_of(
        "direct", "Direct", (Piece(name="direct", ratio=1.0, contacts=("K1",)),), (), "nothing to set", wiring
    )


def _star_delta() -> WayResult:
    pieces = (
        Piece(name="star", ratio=1 / sqrt(3), until_speed=0.9 * SYNC, contacts=("K1", "K2")),
        Piece(name="pause", ratio=0.0, until_time=0.06, contacts=("K1",)),
        Piece(name="delta", ratio=1.0, contacts=("K1", "K3")),
    )
    chosen = (
        setting(
            "changeover_speed",
            "changeover speed",
            0.9 * SYNC,
            "rad/s",
            Origin.DERIVED,
            "highest speed that star reaches with torque in hand",
        ),
        setting("pause", "pause", 0.06, "s", Origin.ASSUMED, "long enough for the arc to die, common practice"),
    )
    wiring = wiring_of(("star", ("K1", "K2")), ("pause", ("K1",)), ("delta", ("K1", "K3")), leads=6)
    return way_of(
        "star_delta", "Star-delta", pieces, chosen, "least current step at the changeover; bound by the pause", wiring
    )


def _autotransformer() -> WayResult:
    pieces = (
        Piece(name="tap", ratio=0.8, until_speed=0.93 * SYNC, contacts=("K1", "K2")),
        Piece(name="full voltage", ratio=1.0, contacts=("K3",)),
    )
    chosen = (
        setting("tap", "tap", 0.8, "pu", Origin.DERIVED, "least tap with the torque margin kept"),
        setting("changeover_speed", "changeover speed", 0.93 * SYNC, "rad/s", Origin.GIVEN),
    )
    wiring = wiring_of(("tap", ("K1", "K2")), ("full voltage", ("K3",)))
    return way_of("autotransformer", "Autotransformer", pieces, chosen, "least dip; bound by the torque margin", wiring)


MAKERS: tuple[Callable[[], WayResult], ...] = (_direct, _star_delta, _autotransformer)


@cache
def sample() -> StudyResult:
    """The whole sample, computed once a session."""
    ways = tuple(make() for make in MAKERS)
    passing = [w for w in ways if w.verdict.status is not Status.FAILS]
    best = passing[0].key if passing else None
    time = ways[0].run_ups[0].run_up_time
    assert time is not None
    return StudyResult(
        title="Tarnhill P3 raw-water pump (invented)",
        slipwise_version="0.1.0",
        schema_version=1,
        inputs=inputs(),
        rated=(
            sourced("rated torque", RATED_TORQUE, "N m", Origin.DERIVED),
            sourced("synchronous speed", SYNC, "rad/s", Origin.DERIVED),
        ),
        plate=plate(),
        ways=ways,
        recommendation=Recommendation(
            way=best, runner_up=passing[1].key if len(passing) > 1 else None,
            reason="the simplest way that keeps every limit", order=("direct", "star_delta", "autotransformer"),
        ),
        cautions=("Computed on stated data; maker's data, the network operator and a licensed engineer decide.",
                  "Isolate, lock and prove dead before work on the installation.",
                  "Pumps: do not run shut for long; water hammer on a fast start or stop."),
        explanations=(Explanation(
            name="direct.run_up_time", title="run-up time, direct", value=time, unit="s", formula="", expression="",
            inputs=(Input(symbol="J", name="total inertia", value=INERTIA, unit="kg m2", origin="given", text="4.2 kg m2"),),
            source="equation of motion", method="integrated along the steady characteristic"),),
        synchronous_speed=SYNC,
        rated_torque=RATED_TORQUE,
        rated_current=RATED_CURRENT,
        file="pump.toml",
    )  # fmt: skip
