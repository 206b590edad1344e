"""Shorthands about starting: star against delta, the square of the voltage, added rotor resistance, ten times rated current."""

from __future__ import annotations

from cmath import exp
from math import pi, sqrt

import numpy as np

from slipwise.quantity.show import show
from slipwise.results.claims import Answer, Claim, ClaimLine, ClaimRow
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import solve
from slipwise.solve.transient import transient
from slipwise.study.model import Study
from slipwise.study.points import drive_of
from slipwise.teach.claims.motor import Machine, judged, reach

DELTA = Stage(name="delta", until=settled())
STAR = Stage(name="star", until=settled(), ratio=exp(1j * pi / 6) / sqrt(3))
_CURVE = 121  # points of a curve
_ANGLES = 12  # switching angles tried for the highest crest
_CYCLES = 2.5  # of the supply over which it is sought


def star_third(study: Study, machine: Machine) -> Claim:
    """Line current and torque at standstill in star, a third of those in delta."""
    stiff, supplied = drive_of(study, stiff=True), drive_of(study)
    rows = (
        *_thirds(stiff, "rated voltage held at the terminals"),
        *_thirds(supplied, "on the supply of the study"),
    )
    speeds = np.linspace(0.0, machine.synchronous, _CURVE)
    delta, star = (np.asarray(solve(supplied, stage, speeds).torque) for stage in (DELTA, STAR))
    turns = speeds * 30 / pi
    lines = (
        ClaimLine(words="star, computed", x=turns, y=star, prefer=0.35),
        ClaimLine(words="a third of delta", x=turns, y=delta / 3, rule=True, prefer=0.7),
    )
    reason = "In star the start pulls the supply down less than in delta, so that more than a third is left"
    also = "; leakage that saturates less at the smaller current takes some of it away" if machine.saturable else ""
    exact = "Between terminals held at one voltage" + (
        " only as far as the leakage does not saturate."
        if machine.saturable
        else " exactly: the reactances are constant."
    )
    return Claim(
        key="star_third",
        title="Star: a third of current and torque",
        said="In star the starting current in the line and the starting torque are a third of those in delta.",
        answer=judged(rows, partly=True),
        holds=f"{exact} Against the supply of the study see the last two rows.",
        why=f"{reason}{also}.",
        rows=rows,
        across="speed, r/min",
        up="torque on the supply of the study, N m",
        lines=lines,
    )


def _thirds(drive: Drive, words: str) -> tuple[ClaimRow, ...]:
    star, delta = solve(drive, STAR, 0.0), solve(drive, DELTA, 0.0)
    return (
        ClaimRow(case=f"line current, {words}", rule=float(delta.line) / 3, computed=float(star.line), unit="A"),
        ClaimRow(case=f"torque, {words}", rule=float(delta.torque) / 3, computed=float(star.torque), unit="N m"),
    )


def voltage_squared(_study: Study, machine: Machine) -> Claim:
    """Torque at standstill with the square of the terminal voltage."""
    share = np.linspace(0.3, 1.1, _CURVE)
    torque = np.asarray(machine.point(np.ones_like(share), share).torque)
    full = float(machine.point(1.0).torque)
    rule = full * share**2
    rows = tuple(
        ClaimRow(case=f"torque at rest, {100 * u:.0f} % voltage", rule=full * u**2,
                 computed=float(machine.point(1.0, u).torque), unit="N m")
        for u in (0.8, 0.65, 0.5)
    )  # fmt: skip
    low, high = reach(share, rule / torque - 1, int(np.argmin(np.abs(share - 1.0))))
    return Claim(
        key="voltage_squared",
        title="Torque with the square of the voltage",
        said="At a given speed the torque goes with the square of the voltage.",
        answer=judged(rows, partly=True),
        holds=f"Within 5 % from {100 * low:.0f} to {100 * high:.0f} % of rated voltage (looked at from 30 to 110 %), "
        "voltage measured at the terminals.",
        why="Leakage paths saturate at the full starting current and recover at less: the reactance grows as the voltage falls."
        if machine.saturable
        else "The circuit of this study has constant reactances, and then the rule is exact; a motor whose leakage "
        "saturates gives less torque at reduced voltage than the rule says.",
        rows=rows,
        across="voltage at the terminals, % of rated",
        up="torque at standstill, N m",
        lines=(
            ClaimLine(words="computed", x=100 * share, y=torque, prefer=0.4),
            ClaimLine(words="square of the voltage", x=100 * share, y=rule, rule=True, prefer=0.75),
        ),
    )


def rotor_resistance(_study: Study, machine: Machine) -> Claim:
    """Starting torque over rotor resistance, up to the highest and past it."""
    factors = np.geomspace(0.25, 400.0, 240)
    torque = np.array([float(machine.point(1.0, resistance=float(k)).torque) for k in factors])
    top = int(torque.argmax())
    best, own = float(factors[top]), float(machine.point(1.0).torque)
    shown = factors <= max(3 * best, 4.0)
    cases = [(1.0, "as it is"), (best, "the highest"), (2 * best, "twice that resistance")]
    rows = tuple(
        ClaimRow(case=f"torque at rest, rotor resistance {k:.2g} times: {words}", rule=None,
                 computed=float(machine.point(1.0, resistance=k).torque), unit="N m")
        for k, words in cases
    )  # fmt: skip
    wound = machine.motor.wound_ratio is not None
    kind = "" if wound else " A cage cannot be lengthened by resistors: the curve shows a cage of another resistance."
    if len(machine.circuit.rotor) > 1:
        kind += " Every cage or part of a bar is multiplied alike."
    return Claim(
        key="rotor_resistance",
        title="More rotor resistance, more starting torque",
        said="Added rotor resistance always raises the starting torque.",
        answer=Answer.PARTLY if best > 1 else Answer.FALSE,
        holds=f"Up to {best:.3g} times the rotor resistance, where breakdown torque comes at rest "
        f"({show(float(torque[top]), 'N m')} against {show(own, 'N m')}); beyond, the torque falls again.{kind}",
        why="Past that resistance the rotor current falls faster than its power factor still gains.",
        rows=rows,
        across="rotor resistance, times its own",
        up="torque at standstill, N m",
        lines=(
            ClaimLine(words="computed", x=factors[shown], y=torque[shown], prefer=0.5),
            ClaimLine(words="as it is", x=factors[shown], y=np.full(int(shown.sum()), own), rule=True, prefer=0.8),
        ),
    )


def ten_times(study: Study, machine: Machine) -> Claim:
    """Current at switching on against ten times rated: as an rms value and as the first crest."""
    rating = machine.motor.rating
    drive = drive_of(study, stiff=True)
    rms = float(solve(drive, DELTA, 0.0).line)
    lasts = _CYCLES / rating.frequency
    starts = [
        transient((DELTA,), drive, switching_angle=2 * pi * k / _ANGLES, max_time=lasts, points=300)
        for k in range(_ANGLES)
    ]
    worst = max(starts, key=lambda one: one.peaks.line_current)
    place = "abc".index(worst.peaks.line_current_phase)
    crest, rated = worst.peaks.line_current, rating.current
    rows = (
        ClaimRow(case="rms line current at rest, rated voltage", rule=10 * rated, computed=rms, unit="A"),
        ClaimRow(case="first crest at the worst moment of switching on", rule=10 * rated, computed=crest, unit="A"),
    )
    flip = float(np.sign(worst.line_currents[place][int(np.argmax(np.abs(worst.line_currents[place])))]))
    milli = 1e3 * worst.time
    return Claim(
        key="ten_times",
        title="Ten times rated current",
        said="At switching on a motor takes ten times its rated current.",
        answer=judged(rows),
        holds=f"This motor takes {rms / rated:.2g} times its rated current as an rms value, and its first crest reaches "
        f"{crest / rated:.2g} times the rated rms value ({crest / rated / sqrt(2):.2g} times the rated crest).",
        why="The flux cannot jump: a direct current is added that dies away within a few cycles. Overload relays see the rms "
        "value, many instantaneous trips the crest.",
        rows=rows,
        across="time, ms",
        up="line current, A",
        lines=(
            ClaimLine(words="line current, worst phase", x=milli, y=flip * worst.line_currents[place], prefer=0.36),
            ClaimLine(words="ten times rated", x=milli, y=np.full(milli.size, 10 * rated), rule=True, prefer=0.76),
        ),
    )
