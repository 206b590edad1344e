"""One start as the electrical transient, and the same start over the switching angle."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from math import isfinite, pi
from os import cpu_count
from types import ModuleType

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.results.series import Array
from slipwise.results.start import Transient, TransientBand
from slipwise.solve.plan import Drive, Ends, Plan
from slipwise.solve.step import endless
from slipwise.solve.transient import kernel as k
from slipwise.solve.transient.answer import March, marched, overall, peaks_of, transient_of
from slipwise.solve.transient.engine import Engine, Note, kernel
from slipwise.solve.transient.pack import Packed, pack

TOLERANCE = 1e-7  # of one step, per unit of rated flux linkage and synchronous speed
MOST_TOGETHER = 2_000_000  # steps of all marches of a band


def transient(
    plan: Plan,
    drive: Drive,
    *,
    case: str = "nominal",
    switching_angle: float = 0.0,
    points: int = 2000,
    max_time: float = 120.0,
    speed: float = 0.0,
    tolerance: float = TOLERANCE,
    engine: Engine = "auto",
    note: Note | None = None,
) -> Transient:
    """Run the plan as the full electrical transient, from a dead machine turning at `speed`.

    Args:
        plan, drive: the stages, and what they act on. The motor needs an equivalent circuit.
        case: name given to the answer.
        switching_angle: of phase a's terminal voltage at time zero; 0 is its positive peak. [rad]
        points: samples at least over the whole start; more are taken so that no cycle has fewer than twelve.
        max_time: the march ends here, as UNFINISHED, if nothing has ended it before. [s]
        speed: of the shaft at the begin. [rad/s]
        tolerance: error allowed in one step, per unit of rated flux linkage and of synchronous speed.
        engine: see `engine.kernel`. note: told before a wait, for a progress line.

    Returns:
        A Transient in every case: a start that does not arrive is an Outcome. torque is that of the air gap; the ledger
        closes to the tolerance of the integration, each row integrated or a function of the state.

    Raises:
        InputError: the motor has typed curves only, a reactance or the inertia is not above zero, `max_time` is not.

    The supply path is the equivalent source at the terminals at rated frequency, base loads at their pre-start
    admittance (also those of constant power). A stage's shunt is merged into it. Under phase control the voltage factor
    acts on the fundamental behind that source; with a frequency law an inverter feeds the motor from rated voltage and
    the lines bring its active power. When a stage brings another motor, the flux linkages go over branch by branch; a
    rotor branch without leakage is given 2 % of the stator's. A saturating circuit saturates here too, on the lengths of
    the space vectors.

    Source: see `kernel.py`.
    """
    module = kernel(engine, note=note)
    packed = laid_out(plan, drive, max_time, tolerance, speed)
    return transient_of(module, at_angle(packed, switching_angle), plan, drive, case=case, points=points)


def band(
    plan: Plan,
    drive: Drive,
    *,
    case: str = "nominal",
    angles: int = 24,
    pause_scatter: float = 0.0,
    points: int = 2000,
    max_time: float = 120.0,
    tolerance: float = TOLERANCE,
    engine: Engine = "auto",
    note: Note | None = None,
) -> TransientBand:
    """The same start at `angles` switching angles evenly over a turn, and the one with the greatest torque in full.

    pause_scatter: pauses of a set length differ by up to this from start to start, evenly spread, as real contactors make
        them. The switching angle alone moves the reconnection against the residual voltage very little: what decides
        there is slip times pause. [s]

    Other arguments, errors and source as `transient`. The starts are shared among the processor's cores.
    """
    if angles < 1:
        raise InputError.of("angles", angles, "there is nothing to compare", "give a whole number above zero")
    if not (isfinite(pause_scatter) and pause_scatter >= 0):
        raise InputError.of("pause_scatter", pause_scatter, "is no length of time", "give zero or more seconds")
    module = kernel(engine, starts=angles, note=note)
    packed = laid_out(plan, drive, max_time, tolerance, 0.0)
    turn = np.linspace(0.0, 2 * pi, angles, endpoint=False)
    decks = [scattered(at_angle(packed, float(a)), plan, pause_scatter, i) for i, a in enumerate(turn)]
    marches = all_of(module, [bare(deck) for deck in decks], note)
    peaks = [overall([peaks_of(mark) for mark in march.marks]) for march in marches]
    worst = max(range(angles), key=lambda i: max(peaks[i].torque_max, -peaks[i].torque_min))
    return TransientBand(
        angles=turn,
        torque_max=np.array([p.torque_max for p in peaks]),
        torque_min=np.array([p.torque_min for p in peaks]),
        line_current=np.array([p.line_current for p in peaks]),
        worst=transient_of(module, decks[worst], plan, drive, case=case, points=points),
    )


def all_of(module: ModuleType, decks: list[Array], note: Note | None = None) -> list[March]:
    """Every deck marched, shared among the processor's cores; `note` is told how many are done.

    Raises:
        InputError: together they take more steps than can be computed.
    """
    first = marched(module, decks[0])
    if float(first.answer[k.T_STEPS]) * len(decks) > MOST_TOGETHER:
        raise endless("its electrical transients together take more steps than can be computed")
    tell = note or (lambda _words: None)
    found = [first]
    with ThreadPoolExecutor(cpu_count() or 1 if module.COMPILED else 1) as pool:
        for march in pool.map(lambda deck: marched(module, deck), decks[1:]):
            found.append(march)
            tell(f"electrical transient: {len(found)} of {len(decks)}")
    return found


def at_angle(packed: Packed, angle: float) -> Array:
    """The deck with a switching angle."""
    if not isfinite(angle):
        raise InputError.of("switching_angle", angle, "is not a finite number", "give an angle in rad")
    deck = packed.deck.copy()
    deck[k.O_ANGLE] = angle
    return deck


def bare(deck: Array) -> Array:
    """The deck of a march that keeps peaks only: no record, no books."""
    copy = deck.copy()
    copy[k.O_RECORD] = copy[k.O_BOOKS] = 0.0
    return copy


def scattered(deck: Array, plan: Plan, scatter: float, i: int) -> Array:
    """The deck with its pauses changed by up to `scatter`, evenly over the starts i = 0, 1, 2, ... (golden section)."""
    part = 2 * ((0.5 + i * 0.6180339887498949) % 1.0) - 1
    width = k.BRANCHES + k.PER_BRANCH * int(deck[k.O_BRANCHES])
    for j, stage in enumerate(plan):
        if not stage.connected and stage.until.ends is Ends.ELAPSED:
            at = int(deck[k.O_TABLE]) + j * width + k.VALUE
            deck[at] = max(0.0, deck[at] + part * scatter)
    return deck


def laid_out(plan: Plan, drive: Drive, max_time: float, tolerance: float, speed: float) -> Packed:
    """The deck of a march; raises InputError for a time or a tolerance that is not above zero."""
    for name, value in (("max_time", max_time), ("tolerance", tolerance)):
        if not (isfinite(value) and value > 0):
            raise InputError.of(name, value, "must be above zero", "give a positive number")
    return pack(plan, drive, max_time=max_time, tolerance=tolerance, speed=speed)
