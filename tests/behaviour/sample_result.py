"""An invented, physically sane `StudyResult` to develop and test presentation against, without any solver of slipwise.

Scenario Tarnhill (invented): the raw-water pump P3, 90 kW, 400 V, 50 Hz, 4-pole, delta, started three ways.
The curves come from a double-cage circuit behind a supply impedance, the run-ups from the equation of motion and the
transients from the same circuit in flux linkages, all written here on their own in a few lines.
"""

from __future__ import annotations

from cmath import exp
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import pi, sqrt

import numpy as np

from slipwise.quantity.provenance import Origin, Sourced
from slipwise.results.criteria import Criterion, Recommendation, Sense, Status, Verdict
from slipwise.results.ledger import Ledger, LedgerRow, Side
from slipwise.results.series import Array
from slipwise.results.start import Curves, Outcome, Peaks, RunUp, StageMark, Transient, TransientBand
from slipwise.results.study import Explanation, Input, PlateRow, Setting, StudyResult, WayResult
from slipwise.results.wiring import Device, Wiring

SYNC = 50 * pi  # rad/s
RATED_TORQUE = 580.0
RATED_CURRENT = 160.0
INERTIA = 4.2
PHASE_PEAK = 400 * sqrt(2 / 3)
OMEGA = 100 * pi
BUSBARS = ("11 kV line", "main board", "pump terminals")
SUPPLY = (0.0006 + 0.004j, 0.0025 + 0.0175j, 0.012 + 0.006j)  # ohm at 400 V, one after the other
R1, X1, XM = 0.022, 0.105, 4.2
CAGES = ((0.016, 0.21), (0.16, 0.085))  # resistance and leakage of the running and of the starting cage, ohm


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One stage: star-equivalent voltage ratio (0: open), what ends it, and contacts."""

    name: str
    ratio: float
    until_speed: float | None = None
    until_time: float | None = None
    contacts: tuple[str, ...] = ()


def load_torque(speed: Array | float, full: float = 0.82, breakaway: float = 0.18) -> Array:
    """A pump: breakaway torque falling off, then quadratic. [N m]"""
    share = np.asarray(speed) / SYNC
    return np.asarray(RATED_TORQUE * (full * share**2 + breakaway * np.exp(-share * 25)))


def curves_of(piece: Piece, voltage: float = 1.0) -> Curves:
    """Steady characteristics of one stage."""
    speed = np.linspace(0, SYNC, 241)
    slip = 1 - speed / SYNC
    rotor = sum(slip / (r + 1j * slip * x) for r, x in CAGES)
    z_in = 1 / (1 / (1j * XM) + rotor)
    k, path = piece.ratio, sum(SUPPLY)
    v = voltage * 400 / sqrt(3) * k
    current = v / (R1 + 1j * X1 + z_in + k**2 * path)
    gap = current * z_in
    torque = 3 * np.abs(gap) ** 2 * rotor.real / SYNC - 4.0 * speed / SYNC
    line = k * current
    busbars = [np.abs(voltage * 400 / sqrt(3) - line * sum(SUPPLY[: n + 1])) / (400 / sqrt(3)) for n in range(3)]
    motor_voltage = current * (R1 + 1j * X1 + z_in)
    return Curves(
        stage=piece.name,
        speed=speed,
        torque=torque,
        load=load_torque(speed),
        line_current=np.abs(line),
        motor_current=np.abs(current),
        winding_current=np.abs(current) / sqrt(3),
        power_factor=np.cos(np.angle(motor_voltage / current)),
        busbar_voltage=np.array(busbars),
        stator_loss=3 * R1 * np.abs(current) ** 2,
        rotor_loss=3 * np.abs(gap) ** 2 * rotor.real * slip,
        power=3 * (motor_voltage * np.conj(current)).real,
    )


def run_up_of(case: str, pieces: tuple[Piece, ...], voltage: float = 1.0, allowed: float = 30.0) -> RunUp:
    """Explicit steps of 5 ms on the curves."""
    dt, time, speed, n = 0.005, 0.0, 0.0, 0
    tables = [curves_of(p, voltage) if p.ratio else None for p in pieces]
    rows: list[tuple[float, ...]] = []
    marks, begin = [], 0.0
    outcome = Outcome.ARRIVED
    while True:
        piece, curve = pieces[n], tables[n]
        load = float(load_torque(speed))
        if curve is None:
            values = [0.0] * 6 + [voltage] * 3
        else:
            values = [
                float(np.interp(speed, curve.speed, y))
                for y in (
                    curve.torque,
                    curve.line_current,
                    curve.motor_current,
                    curve.winding_current,
                    curve.power_factor,
                )
            ]
            values += [float(np.interp(speed, curve.speed, curve.rotor_loss))]
            values += [float(np.interp(speed, curve.speed, row)) for row in curve.busbar_voltage]
        rows.append((time, speed, load, *values))
        net = values[0] - load
        settled = curve is not None and abs(net) < 1.0
        over = (piece.until_speed is not None and speed >= piece.until_speed) or (
            piece.until_time is not None and time - begin >= piece.until_time
        )
        if settled or over or time > allowed:
            last = n == len(pieces) - 1
            reason = "speed reached" if piece.until_speed else "time elapsed" if piece.until_time else "settled"
            marks.append(
                StageMark(
                    name=piece.name, begin=begin, end=time, end_speed=speed, reason=reason, contacts=piece.contacts
                )
            )
            if (settled and not last and not over) or time > allowed:
                outcome = Outcome.HANGS
                break
            if last:
                break
            n, begin = n + 1, time
            continue
        speed = max(0.0, speed + dt * net / INERTIA)
        time += dt
    data = np.array(rows).T
    t, w = data[0], data[1]
    arrived = outcome is Outcome.ARRIVED
    rotor = float(np.trapezoid(data[8], t))
    stator = float(np.trapezoid(3 * R1 * data[5] ** 2, t))
    shaft = float(np.trapezoid(data[2] * w, t))
    stored = INERTIA * w[-1] ** 2 / 2
    rows_of_energy = (
        LedgerRow(name="taken from the terminals", energy=rotor + stator + shaft + stored, side=Side.SUPPLIED),
        LedgerRow(name="stator winding heat", energy=stator, side=Side.LOST),
        LedgerRow(name="rotor cage heat", energy=rotor, side=Side.LOST),
        LedgerRow(name="kinetic energy of rotor and load", energy=stored, side=Side.STORED),
        LedgerRow(name="work on the load", energy=shaft, side=Side.SHAFT),
    )
    return RunUp(
        case=case,
        outcome=outcome,
        run_up_time=float(t[np.argmax(w >= 0.99 * w[-1])]) if arrived else None,
        hang_speed=None if arrived else float(w[-1]),
        final_speed=float(w[-1]),
        time=t,
        speed=w,
        torque=data[3],
        load=data[2],
        line_current=data[4],
        motor_current=data[5],
        winding_current=data[6],
        power_factor=data[7],
        busbars=BUSBARS,
        busbar_voltage=data[9:12],
        prestart_voltage=np.array([voltage * 0.998, voltage * 0.99, voltage * 0.99]),
        stages=tuple(marks),
        energy=Ledger(rows=rows_of_energy),
        stator_heat=stator,
        rotor_heat=rotor,
        current_heat=float(np.trapezoid((data[5] / RATED_CURRENT) ** 2, t)),
    )


def _inductances(ratio: float) -> np.ndarray:
    """Inverse inductance matrix of stator (with the path behind it) and two cages. [1/H]"""
    path = sum(SUPPLY) * ratio**2
    full = np.full((3, 3), XM, dtype=float)
    full += np.diag([X1 + path.imag, CAGES[0][1], CAGES[1][1]])
    return np.linalg.inv(full / OMEGA)


def transient_of(case: str, pieces: tuple[Piece, ...], angle: float, run_up: RunUp) -> Transient:
    """Fixed steps of 0.25 ms (fourth order) in the stationary frame, flux linkages of stator and two cages."""
    step, t, w, n = 2.5e-4, 0.0, 0.0, 0
    psi = [0j, 0j, 0j]
    rows: list[tuple[float, float, float, complex, complex]] = []
    marks, begin = [], 0.0
    end = run_up.time[-1] + 0.15
    while t < end and n < len(pieces):
        piece = pieces[n]
        g = _inductances(piece.ratio or 1.0)
        path = sum(SUPPLY) * piece.ratio**2

        def slope(
            at: float,
            s: list[complex],
            speed: float,
            piece: Piece = piece,
            g: np.ndarray = g,
            rs: float = R1 + path.real,
        ) -> tuple[list[complex], float, complex]:
            if not piece.ratio:
                lr = np.linalg.inv(g)[1:, 1:]
                ir = np.linalg.solve(lr, np.array(s[1:]))
                i = [0j, complex(ir[0]), complex(ir[1])]
            else:
                i = [g[a, 0] * s[0] + g[a, 1] * s[1] + g[a, 2] * s[2] for a in range(3)]
            v = piece.ratio * PHASE_PEAK * exp(1j * (OMEGA * at + angle))
            d0 = v - rs * i[0] if piece.ratio else 0j
            d1 = -CAGES[0][0] * i[1] + 2j * speed * s[1]
            d2 = -CAGES[1][0] * i[2] + 2j * speed * s[2]
            return [d0, d1, d2], 3.0 * (s[0].conjugate() * i[0]).imag, i[0]

        while True:
            k1, torque, current = slope(t, psi, w)
            rows.append((t, w, torque, piece.ratio * current, current))
            over = (piece.until_speed is not None and w >= piece.until_speed) or (
                piece.until_time is not None and t - begin >= piece.until_time
            )
            if over or t >= end:
                break
            if piece.ratio:
                k2, _, _ = slope(t + step / 2, [p + step / 2 * k for p, k in zip(psi, k1, strict=True)], w)
                k3, _, _ = slope(t + step / 2, [p + step / 2 * k for p, k in zip(psi, k2, strict=True)], w)
                k4, _, _ = slope(t + step, [p + step * k for p, k in zip(psi, k3, strict=True)], w)
                psi = [
                    p + step / 6 * (a + 2 * b + 2 * c + d) for p, a, b, c, d in zip(psi, k1, k2, k3, k4, strict=True)
                ]
            else:
                psi = [p + step * k for p, k in zip(psi, k1, strict=True)]
            w = max(0.0, w + step * (torque - float(load_torque(w))) / INERTIA)
            t += step
        marks.append(
            StageMark(
                name=piece.name, begin=begin, end=t, end_speed=w, reason="as in the run-up", contacts=piece.contacts
            )
        )
        begin, n = t, n + 1
        if n < len(pieces):
            nxt = pieces[n]
            i = np.linalg.solve(np.linalg.inv(g), np.array(psi)) if piece.ratio else None
            if i is not None and not nxt.ratio:  # stator cut: rotor linkages kept
                lr = np.linalg.inv(_inductances(1.0))
                ir = np.linalg.solve(lr[1:, 1:], np.array(psi[1:]))
                psi[0] = complex(XM / OMEGA * (ir[0] + ir[1]))
            elif nxt.ratio and not piece.ratio:
                lr = np.linalg.inv(_inductances(nxt.ratio))
                ir = np.linalg.solve(lr[1:, 1:], np.array(psi[1:]))
                psi[0] = complex(XM / OMEGA * (ir[0] + ir[1]))
    time = np.array([r[0] for r in rows])
    turn = np.exp(-2j * pi / 3 * np.arange(3))[:, None]
    line = (np.array([r[3] for r in rows])[None, :] * turn).real
    motor = (np.array([r[4] for r in rows])[None, :] * turn).real
    torque_all = np.array([r[2] for r in rows])
    volts = (PHASE_PEAK * 0.95 * np.exp(1j * (OMEGA * time + angle))[None, :] * turn).real
    worst = np.unravel_index(np.argmax(np.abs(line)), line.shape)

    def peaks(mask: Array) -> Peaks:
        at = np.flatnonzero(mask)
        hi, lo = at[np.argmax(torque_all[at])], at[np.argmin(torque_all[at])]
        ph = int(np.argmax(np.abs(line[:, at]).max(axis=1)))
        when = at[np.argmax(np.abs(line[ph, at]))]
        return Peaks(
            torque_max=float(torque_all[hi]), torque_max_time=float(time[hi]),
            torque_min=float(torque_all[lo]), torque_min_time=float(time[lo]),
            line_current=float(abs(line[ph, when])), line_current_time=float(time[when]), line_current_phase="abc"[ph],
            winding_current=float(np.abs(motor[:, at]).max() / sqrt(3)),
        )  # fmt: skip

    assert worst is not None
    speeds = np.array([r[1] for r in rows])
    return Transient(
        case=case, switching_angle=angle, outcome=run_up.outcome,
        run_up_time=float(time[np.argmax(speeds >= 0.99 * speeds[-1])]), final_speed=float(speeds[-1]),
        time=time, speed=speeds, torque=torque_all, load=load_torque(speeds),
        line_currents=line, winding_currents=motor / sqrt(3), terminal_voltages=volts,
        stages=tuple(marks), peaks=peaks(time >= 0),
        stage_peaks=tuple(peaks((time >= m.begin) & (time <= m.end)) for m in marks),
        energy=run_up.energy, steps=len(rows),
    )  # fmt: skip


def band_of(transient: Transient) -> TransientBand:
    """A plausible spread over the switching angle about one computed start."""
    angles = np.linspace(0, pi, 13)
    swing = 0.5 * (1 + np.cos(2 * (angles - transient.switching_angle)))
    return TransientBand(
        angles=angles,
        torque_max=transient.peaks.torque_max * (0.82 + 0.18 * swing),
        torque_min=transient.peaks.torque_min * (0.7 + 0.3 * swing),
        line_current=transient.peaks.line_current * (0.93 + 0.07 * (1 - swing)),
        worst=transient,
    )


def criterion(
    key: str,
    title: str,
    value: float | None,
    limit: float | None,
    unit: str,
    sense: Sense,
    source: str,
    case: str = "nominal",
    condition: str = "",
) -> Criterion:
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
        criterion(f"dip:{name}", f"dip at {name}", float(d), lim, "pu", Sense.AT_MOST, src, worst.case)
        for name, d, lim, src in zip(
            BUSBARS, dips, limits, ("given by user", "common practice, no source", "given by user"), strict=True
        )
    ]
    rows += [
        criterion("terminal_voltage", "voltage at the motor", float(worst.busbar_voltage[2].min()), 0.80, "pu", Sense.AT_LEAST, "common practice, no source", worst.case),
        criterion("torque_margin", "torque margin along the curve", least * 0.85, 0.10, "pu", Sense.AT_LEAST, "common practice, no source", worst.case),
        criterion("run_up_time", "run-up time", worst.run_up_time, 15.0, "s", Sense.AT_MOST, "given by user", worst.case),
        criterion("heat", "heat, share of the hot stall limit", nominal.current_heat / (5.7**2 * 12), 0.9, "pu", Sense.AT_MOST, "common practice, no source", "nominal, hot",
                  condition="one start from hot, then 30 minutes at rest" if nominal.current_heat > 100 else ""),
        criterion("line_current", "line current, rms", float(worst.line_current.max()), 700.0, "A", Sense.AT_MOST, "given by user", "strong network"),
        criterion("peak_current", "peak line current", band.worst.peaks.line_current, None, "A", Sense.AT_MOST, "not set", condition="no limit was given; the protection setting is not known"),
        criterion("shaft_torque", "peak shaft torque", max(abs(band.worst.peaks.torque_max), abs(band.worst.peaks.torque_min)) / RATED_TORQUE, 8.0, "pu", Sense.AT_MOST, "common practice, no source", "worst switching angle"),
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


def sourced(
    name: str,
    value: float | None,
    unit: str,
    origin: Origin,
    text: str = "",
    low: float | None = None,
    high: float | None = None,
    why: str = "",
) -> Sourced:
    return Sourced(name=name, value=value, unit=unit, origin=origin, text=text, low=low, high=high, why=why)


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
    return (
        PlateRow(name="rated current", plate=160, model=160.4, unit="A", tolerance_low=None, tolerance_high=None, source=""),
        PlateRow(name="power factor", plate=0.86, model=0.8588, unit="", tolerance_low=None, tolerance_high=None, source=""),
        PlateRow(name="locked-rotor current", plate=1104, model=1097, unit="A", tolerance_low=None, tolerance_high=0.20, source="IEC 60034-1"),
        PlateRow(name="locked-rotor torque", plate=1276, model=1290, unit="N m", tolerance_low=-0.15, tolerance_high=0.25, source="IEC 60034-1"),
        PlateRow(name="breakdown torque", plate=1566, model=1560, unit="N m", tolerance_low=-0.10, tolerance_high=None, source="IEC 60034-1"),
    )  # fmt: skip


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
        rated=(sourced("rated torque", RATED_TORQUE, "N m", Origin.DERIVED), sourced("synchronous speed", SYNC, "rad/s", Origin.DERIVED)),
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
