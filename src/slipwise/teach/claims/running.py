"""Shorthands about running: slip and torque, efficiency and slip, constant volts per hertz, the approximate circuit."""

from __future__ import annotations

from typing import Any

import numpy as np

from slipwise.results.claims import Answer, Claim, ClaimLine, ClaimRow
from slipwise.solve.steady import solve
from slipwise.study.model import Study
from slipwise.study.points import RUNNING, drive_of
from slipwise.teach.claims.motor import NEAR, Machine, judged, reach

_MANY, _FEW = 96, 39  # frequencies looked at; fewer where each asks for a search of its own


def slip_torque(_study: Study, machine: Machine) -> Claim:
    """Slip in proportion to torque, from the rated point."""
    rated = machine.motor.rating.slip
    at_rated = float(machine.point(rated).torque)
    top, _ = machine.breakdown_torque()
    slips = np.linspace(0.0, top, 4001)
    share = np.asarray(machine.point(slips).torque) / at_rated
    rule = rated * share
    with np.errstate(divide="ignore", invalid="ignore"):
        error = np.where(slips > 0, rule / slips - 1, 0.0)
    low, high = reach(share, error, int(np.argmin(np.abs(slips - rated))))
    most = float(share[-1])
    rows = tuple(
        ClaimRow(case=f"slip at {100 * m:.0f} % of rated torque", rule=rated * m,
                 computed=float(np.interp(m, share, slips)), unit="pu")
        for m in (0.25, 0.5, 1.5, 2.0, 2.5) if m < 0.98 * most
    )  # fmt: skip
    return Claim(
        key="slip_torque",
        title="Slip in proportion to torque",
        said="Slip is proportional to torque.",
        answer=judged(rows, partly=True),
        holds=f"Within 5 % from {100 * low:.0f} to {100 * high:.0f} % of rated torque; breakdown comes at {100 * most:.0f} %.",
        why="Near synchronous speed the rotor is all resistance; farther away its reactance and the drop in the stator count.",
        rows=rows,
        across="torque, % of that at rated slip",
        up="slip, %",
        lines=(
            ClaimLine(words="computed", x=100 * share, y=100 * slips, prefer=0.9),
            ClaimLine(words="proportional", x=100 * share, y=100 * rule, rule=True, prefer=0.7),
        ),
    )


def efficiency_slip(study: Study, machine: Machine) -> Claim:
    """Efficiency about one less the slip."""
    drive, rating = drive_of(study, stiff=True), machine.motor.rating
    slips = np.linspace(0.0, min(2.0 * rating.slip, 0.8), 2001)
    speed = machine.synchronous * (1 - slips)
    p = solve(drive, RUNNING, speed)
    shaft = np.asarray(p.torque) * speed
    loaded = shaft > 0.02 * rating.power
    share, slip = shaft[loaded] / rating.power, slips[loaded]
    efficiency = shaft[loaded] / np.asarray(p.power)[loaded]
    rule = 1 - slip
    low, high = reach(share, rule / efficiency - 1, int(np.argmin(np.abs(share - 1.0))))
    most = float(share[-1])
    rows = tuple(
        ClaimRow(case=f"efficiency at {100 * m:.0f} % of rated power", rule=float(np.interp(m, share, rule)),
                 computed=float(np.interp(m, share, efficiency)), unit="pu")
        for m in (0.25, 0.5, 0.75, 1.0, 1.25) if m < most
    )  # fmt: skip
    there = (
        f"Within 5 % from {100 * low:.0f} to {100 * high:.0f} % of rated power" if high > low else "Nowhere within 5 %"
    )
    return Claim(
        key="efficiency_slip",
        title="Efficiency and slip",
        said="The efficiency is about one less the slip.",
        answer=judged(rows, partly=high > low),
        holds=f"{there} (looked at up to {100 * most:.0f} %). As an upper bound it holds at every load.",
        why="One less the slip leaves out every loss but the rotor's: stator winding, core, friction and stray loss. It is a "
        "bound, and a sharp one only where slip is large.",
        rows=rows,
        across="shaft power, % of rated",
        up="efficiency, %",
        lines=(
            ClaimLine(words="computed", x=100 * share, y=100 * efficiency, prefer=0.5),
            ClaimLine(words="one less the slip", x=100 * share, y=100 * rule, rule=True, prefer=0.5),
        ),
    )


def constant_volts_per_hertz(_study: Study, machine: Machine) -> Claim:
    """Breakdown torque over frequency at constant volts per hertz."""
    share = np.linspace(0.05, 1.0, _FEW if machine.saturable else _MANY)
    torque = np.array([machine.breakdown_torque(float(x), float(x))[1] for x in share])
    full = float(torque[-1])
    low, _ = reach(share, full / torque - 1, len(share) - 1)
    rows = tuple(
        ClaimRow(case=f"breakdown torque at {100 * x:.0f} % frequency", rule=full,
                 computed=machine.breakdown_torque(x, x)[1], unit="N m")
        for x in (0.8, 0.5, 0.2, 0.1)
    )  # fmt: skip
    hertz = machine.motor.rating.frequency
    return Claim(
        key="constant_volts_per_hertz",
        title="Breakdown torque at constant volts per hertz",
        said="At constant volts per hertz the breakdown torque stays the same.",
        answer=judged(rows, partly=low < 1.0),
        holds=f"Within 5 % from {low * hertz:.3g} Hz up to {hertz:.3g} Hz.",
        why="The drop over the stator resistance does not fall with the frequency as the voltage does; a boost gives it back.",
        rows=rows,
        across="frequency, Hz",
        up="breakdown torque, N m",
        lines=(
            ClaimLine(words="computed", x=hertz * share, y=torque, prefer=0.35),
            ClaimLine(words="constant", x=hertz * share, y=np.full(share.size, full), rule=True, prefer=0.2),
        ),
    )


def approximate_circuit(_study: Study, machine: Machine) -> Claim:
    """Magnetising branch moved to the terminals against the whole circuit, same reactances."""
    rating = machine.motor.rating
    slips = np.concatenate([np.linspace(1.0, 0.02, 200), np.linspace(0.0199, 0.0, 60)])
    exact, near = _both(machine, slips)
    turns = machine.synchronous * (1 - slips) * 30 / np.pi
    (there, near_there), (rest, near_rest) = _both(machine, rating.slip), _both(machine, 1.0)
    top, near_top = float(np.max(exact[1])), float(np.max(near[1]))
    rows = (
        ClaimRow(case="line current at rated slip", rule=float(near_there[0]), computed=float(there[0]), unit="A"),
        ClaimRow(case="power factor at rated slip", rule=float(near_there[2]), computed=float(there[2]), unit=""),
        ClaimRow(case="torque at rated slip", rule=float(near_there[1]), computed=float(there[1]), unit="N m"),
        ClaimRow(case="breakdown torque", rule=near_top, computed=top, unit="N m"),
        ClaimRow(case="line current at rest", rule=float(near_rest[0]), computed=float(rest[0]), unit="A"),
        ClaimRow(case="torque at rest", rule=float(near_rest[1]), computed=float(rest[1]), unit="N m"),
    )
    good = [row.case for row in rows if row.error is not None and abs(row.error) <= NEAR]
    answer = judged(rows, partly=bool(good))
    return Claim(
        key="approximate_circuit",
        title="Magnetising branch at the terminals",
        said="The magnetising branch may be moved to the terminals.",
        answer=Answer.FALSE if not good else answer,
        holds=f"Within 5 % for {', '.join(good)}." if good else "For none of the values looked at within 5 %.",
        why="The rotor then sees the full terminal voltage, without the drop of the magnetising current in the stator: torque "
        "comes out high. Small motors and many poles, with their large magnetising current, suffer most.",
        rows=rows,
        across="speed, r/min",
        up="torque, N m",
        lines=(
            ClaimLine(words="whole circuit", x=turns, y=np.asarray(exact[1]), prefer=0.3),
            ClaimLine(words="approximate circuit", x=turns, y=np.asarray(near[1]), rule=True, prefer=0.55),
        ),
    )


def _both(machine: Machine, slip: Any) -> tuple[tuple[Any, Any, Any], tuple[Any, Any, Any]]:
    """Line current, torque and power factor, whole circuit and approximate; the reactances that hold at the whole one."""
    rating = machine.motor.rating
    solved = machine.solved(slip)
    circuit, hertz, volts = solved.circuit, rating.frequency, rating.phase_voltage
    admittance = circuit.rotor_admittance(slip, hertz)
    beyond = admittance / (1 + circuit.stator_impedance(hertz) * admittance)
    current = volts * (beyond + circuit.magnetising_admittance(hertz))
    gap = 3 * np.abs(volts / (1 + circuit.stator_impedance(hertz) * admittance)) ** 2 * admittance.real
    exact = solved.point.stator_current
    return (
        (np.abs(exact), solved.point.torque, np.real(exact) / np.abs(exact)),
        (np.abs(current), gap / machine.synchronous, np.real(current) / np.abs(current)),
    )
