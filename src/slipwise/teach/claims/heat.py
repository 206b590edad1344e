"""The shorthand about heat: what the rotor takes in a start equals the energy stored in the masses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import MechanicalLoss
from slipwise.quantity.show import show
from slipwise.results.claims import Answer, Claim, ClaimLine, ClaimRow
from slipwise.results.start import Outcome, RunUp
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.run_up import run_up
from slipwise.solve.transient import transient
from slipwise.study.model import Study
from slipwise.study.points import drive_of
from slipwise.teach.claims.motor import Machine, judged

DIRECT = (Stage(name="direct", until=settled()),)
_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
_SCALES = (1.0, 0.25, 0.0625, 0.015625)  # of the shares, tried one after the other
_ENOUGH = 3  # starts that make a curve
_LONGEST = 36000.0  # s, for the heaviest masses
_RELATIVE = 1e-7  # of the run-up: moves its heat by less than a part in ten thousand


def kinetic_energy(study: Study, machine: Machine) -> Claim:
    """Rotor heat of a direct start at rated voltage, without load, with a growing share of the load, and as a transient."""
    drive = drive_of(study, stiff=True)
    stored = 0.5 * drive.inertia * machine.synchronous**2
    arrived = _arriving(drive)
    rows = [_row(share, start, stored) for share, start in (arrived[0], *arrived[2::2])]
    swings = transient(DIRECT, _loaded(drive, 0.0), points=2)
    if swings.outcome is Outcome.ARRIVED:
        heat = sum(row.energy for row in swings.energy.rows if row.name.startswith("rotor branch"))
        rows.insert(1, ClaimRow(case="no load, as an electrical transient", rule=stored, computed=heat, unit="J"))
    shares = np.array([100 * share for share, _ in arrived])
    heat_of = np.array([start.rotor_heat for _, start in arrived]) / 1e3
    hangs = "" if arrived[-1][0] == 1.0 else " With more of the load the start at rated voltage does not arrive."
    found = tuple(rows)
    return Claim(
        key="kinetic_energy",
        title="Rotor heat and stored energy",
        said="The heat in the rotor during a start equals the energy stored in the masses at full speed.",
        answer=judged(found, partly=bool(found) and abs(found[0].error or 0.0) < 0.05) if found else Answer.FALSE,
        holds=f"Without load, for torque averaged over its swings; here {show(stored, 'J')} are stored.{hangs}",
        why="While load torque takes part of the motor's torque the rotor pays slip power for both; and the torque swings after "
        "switching on heat it beyond the steady account. Voltage and rotor resistance have no part in it.",
        rows=found,
        across="load of the study during the start, %",
        up="heat in the rotor, kJ",
        lines=(
            ClaimLine(words="computed", x=shares, y=heat_of, prefer=0.4),
            ClaimLine(words="stored energy", x=shares, y=np.full(shares.size, stored / 1e3), rule=True, prefer=0.8),
        ),
    )


def _arriving(drive: Drive) -> list[tuple[float, RunUp]]:
    """Starts with growing shares of the load that arrive; smaller shares where hardly any does."""
    for scale in _SCALES:
        starts = [
            (scale * share, run_up(DIRECT, _loaded(drive, scale * share), relative=_RELATIVE, max_time=_LONGEST))
            for share in _SHARES
        ]
        arrived = [(share, start) for share, start in starts if start.outcome is Outcome.ARRIVED]
        if len(arrived) >= _ENOUGH:
            break
    return arrived


def _row(share: float, start: RunUp, stored: float) -> ClaimRow:
    words = "no load, no friction" if share == 0 else f"{100 * share:.3g} % of the study's load"
    return ClaimRow(case=words, rule=stored, computed=start.rotor_heat, unit="J")


def _loaded(drive: Drive, share: float) -> Drive:
    """The drive with a share of its load torque and all of its inertia; without load, also without friction and stray loss."""
    load: Load = drive.load
    terms = tuple(replace(term, coefficient=share * term.coefficient) for term in load.terms)
    curve = tuple(share * torque for torque in load.curve_torque)
    part = replace(load, terms=terms, curve_torque=curve, breakaway=share * load.breakaway)
    motor = drive.motor if share else replace(drive.motor, mechanical_loss=MechanicalLoss(), stray=0.0)
    return replace(drive, load=part, motor=motor)
