"""What a design looks at: margins, currents and dips of a stage along the whole curve, on the steady characteristics."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import exp

import numpy as np

from slipwise.limits.heat import locked_rotor
from slipwise.limits.thresholds import Limits
from slipwise.methods.way import Task
from slipwise.model.machine.motor import Motor
from slipwise.results.series import Array
from slipwise.results.start import Curves
from slipwise.solve import network
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import characteristic

# Accelerating reserve asked of a design when the study sets none: 10 % of rated torque (common practice, no source).
USUAL_RESERVE = 0.10
# Share of a dip or voltage limit a design uses up, so that it is not kept on paper only (common practice, no source).
VOLTAGE_SHARE = 0.94
RUNNING = Stage(name="running", until=settled())


def reserve(limits: Limits) -> float:
    """Accelerating torque the design keeps, per unit of rated torque."""
    return USUAL_RESERVE if limits.torque_margin.value is None else limits.torque_margin.value


def grid(drive: Drive, points: int = 401) -> Array:
    """Speeds from standstill to just under synchronous, shape (points,). [rad/s]"""
    return np.linspace(0.0, drive.motor.rating.synchronous_speed * (1 - 1e-6), points)


def curves(stage: Stage, drive: Drive, speeds: Array | None = None) -> Curves:
    """Characteristics of a stage on the design grid."""
    return characteristic(stage, drive, grid(drive) if speeds is None else speeds)


def needed(drive: Drive, speeds: Array) -> Array:
    """Torque that must be overcome at each speed, at standstill the breakaway included; shape of `speeds`. [N m]"""
    torque = np.array(drive.load.torque(speeds), dtype=float)
    at_rest = speeds == 0
    torque[at_rest] = np.maximum(torque[at_rest], drive.load.holding + drive.load.pull)
    return torque


def margins(found: Curves, drive: Drive) -> Array:
    """Accelerating torque per unit of rated torque, shape (n,)."""
    spare: Array = (found.torque - needed(drive, found.speed)) / drive.motor.rating.torque
    return spare


def margin_ends(found: Curves, drive: Drive, least: float) -> float | None:
    """First speed at which the accelerating torque is below `least` (pu of rated torque); None when it never is. [rad/s]"""
    spare = margins(found, drive) - least
    low = np.flatnonzero(spare < 0)
    if not low.size:
        return None
    i = int(low[0])
    if i == 0:
        return 0.0
    before, after = float(spare[i - 1]), float(spare[i])
    return float(found.speed[i - 1] + (found.speed[i] - found.speed[i - 1]) * before / (before - after))


def running_speed(drive: Drive, stage: Stage = RUNNING) -> float:
    """Where the motor settles in a stage if nothing holds it up on the way: the last crossing with the load. [rad/s]

    The rated speed when the curves do not cross (the load is then beyond the motor, and the start says so).
    """
    found = curves(stage, drive)
    spare = margins(found, drive)
    crossings = np.flatnonzero((spare[:-1] >= 0) & (spare[1:] < 0))
    if not crossings.size:
        return drive.motor.rating.speed
    i = int(crossings[-1])
    fine = np.linspace(found.speed[i], found.speed[i + 1], 101)
    return float(fine[np.flatnonzero(margins(curves(stage, drive, fine), drive) >= 0)[-1]])


def current_falls_below(found: Curves, target: float) -> float | None:
    """Speed from which the line current stays at or below `target` (A); None when it never does. [rad/s]"""
    above = np.flatnonzero(found.line_current > target)
    if not above.size:
        return 0.0
    i = int(above[-1])
    if i + 1 >= found.speed.size:
        return None
    high, low = float(found.line_current[i]), float(found.line_current[i + 1])
    return float(found.speed[i] + (found.speed[i + 1] - found.speed[i]) * (high - target) / (high - low))


def seconds_to(found: Curves, drive: Drive, speed: float) -> Array:
    """Time spent in each span of the grid up to `speed` (rad/s), shape (n - 1,); infinite where the torque falls short. [s]

    Trapezoids of J / (T - T_load): enough for a design; the start itself is then integrated properly.
    """
    spare = margins(found, drive) * drive.motor.rating.torque
    middle = (spare[:-1] + spare[1:]) / 2
    reach = np.clip(speed - found.speed[:-1], 0.0, np.diff(found.speed))
    short = (reach > 0) & ((spare[:-1] <= 0) | (middle <= 0))
    seconds: Array = np.where(short, np.inf, drive.inertia * reach / np.maximum(middle, 1e-9))
    return np.where(reach > 0, seconds, 0.0)


def heat_share(found: Curves, seconds: Array, motor: Motor) -> float | None:
    """Winding heat of the spans per unit of what the motor bears at standstill from hot; None when that is unknown. [pu]

    seconds: shape (n - 1,), as `seconds_to` gives them.
    """
    stall = motor.stall.cold if motor.stall.hot is None else motor.stall.hot
    if stall is None:
        return None
    squared = (found.winding_current / locked_rotor(motor).winding_current) ** 2
    return float(np.sum((squared[:-1] + squared[1:]) / 2 * seconds)) / stall


@dataclass(frozen=True, slots=True, kw_only=True)
class Strain:
    """What a stage asks of the supply, as a share of what is allowed. share: above 1 is too much; 0 without any limit.

    words: the limit that binds, with its value. most: the share a design uses up.
    """

    share: float
    words: str
    most: float = 1.0

    @property
    def kept(self) -> bool:
        """Whether a design may stand here."""
        return self.share <= self.most


def strain(stage: Stage, task: Task, from_speed: float = 0.0, to_speed: float | None = None) -> Strain:
    """The supply limit a stage comes nearest to, nominal and worst case, between two speeds (rad/s).

    Looks at every busbar's dip limit, the voltage asked for at the terminals, and the agreed line current.
    """
    top = task.nominal.motor.rating.synchronous_speed * (1 - 1e-6) if to_speed is None else to_speed
    speeds = np.linspace(from_speed, top, 101)
    worst = Strain(share=0.0, words="no dip or current limit is set")
    for case, drive in (("nominal", task.nominal), ("worst case", task.worst)):
        found = curves(stage, drive, speeds)
        limits = (*_current_rows(found, task.limits, case), *_voltage_rows(found, drive, task.limits, case))
        for row in (*_dip_rows(found, drive, case), *limits):
            if row.share / row.most > worst.share / worst.most:
                worst = row
    return worst


def prestart_voltage(drive: Drive) -> tuple[float, ...]:
    """Voltage at each busbar before the start, per unit of its nominal."""
    return tuple(float(v) for v in network.per_unit(drive.supply, network.prestart(drive.supply)))


def _dip_rows(found: Curves, drive: Drive, case: str) -> list[Strain]:
    before = prestart_voltage(drive)
    rows = []
    for busbar, prior, during in zip(drive.supply.busbars, before, found.busbar_voltage, strict=True):
        if busbar.dip_limit:
            dip = 1 - float(np.min(during)) / float(prior)
            words = f"dip at {busbar.name} {percent(dip)} of {percent(busbar.dip_limit)} allowed, {case}"
            rows.append(Strain(share=dip / busbar.dip_limit, words=words, most=VOLTAGE_SHARE))
    return rows


def _current_rows(found: Curves, limits: Limits, case: str) -> list[Strain]:
    allowed = limits.line_current.value
    if allowed is None:
        return []
    greatest = float(np.max(found.line_current))
    words = f"line current {amount(greatest)} A of {amount(allowed)} A allowed, {case}"
    return [Strain(share=greatest / allowed, words=words)]


def _voltage_rows(found: Curves, drive: Drive, limits: Limits, case: str) -> list[Strain]:
    """The drop at the terminals as a share of the drop allowed, both from rated voltage."""
    least = limits.terminal_voltage.value
    if least is None or least >= 1:
        return []
    busbar = drive.supply.busbars[-1]
    level = float(np.min(found.busbar_voltage[-1])) * busbar.nominal * busbar.referral / drive.motor.rating.voltage
    words = f"voltage at the terminals {percent(level)} of at least {percent(least)}, {case}"
    return [Strain(share=(1 - level) / (1 - least), words=words, most=VOLTAGE_SHARE)]


def bisect(good: Callable[[float], bool], bad_end: float, good_end: float, steps: int = 40) -> float:
    """The edge of `good` between a bad and a good end, on its good side."""
    for _ in range(steps):
        middle = (bad_end + good_end) / 2
        if good(middle):
            good_end = middle
        else:
            bad_end = middle
    return good_end


def ohms_for_torque(drive: Drive, kind: complex, speed: float, like: Stage) -> float:
    """Ohms in each line (kind 1 resistive, 1j reactive) that give full voltage the torque of stage `like` at `speed`. [ohm]

    0 when the stage already has the torque of full voltage or more.
    """
    at = np.array([speed])
    wanted = float(curves(like, drive, at).torque[0])

    def enough(ohms: float) -> bool:
        return float(curves(replace(RUNNING, line_series=kind * ohms), drive, at).torque[0]) >= wanted

    rating = drive.motor.rating
    return bisect(enough, 100 * rating.phase_voltage / rating.current, 0.0)


def open_circuit_time_constant(motor: Motor) -> float | None:
    """Time constant of the rotor flux with the stator open; None for a motor without a circuit. [s]

    The slowest mode of the rotor branches coupled by the magnetising reactance: largest eigenvalue of R^-1 X / (2 pi f);
    with one branch it is (Xm + X2) / (2 pi f R2).
    Source: Fitzgerald, Kingsley, Umans, Electric Machinery, ch. 6, for one branch; the same circuit with several.
    """
    circuit = motor.circuit
    if circuit is None:
        return None
    reactance = np.full((len(circuit.rotor),) * 2, circuit.Xm) + np.diag([b.X for b in circuit.rotor])
    resistance = np.array([b.R for b in circuit.rotor])
    modes = np.linalg.eigvals(reactance / resistance[:, None])
    return float(np.max(modes.real)) / (2 * np.pi * circuit.frequency)


def residual_words(drive: Drive, speed: float, pause: float) -> str:
    """What the residual voltage has become after a pause at `speed` (rad/s), in words; empty without a circuit."""
    constant = open_circuit_time_constant(drive.motor)
    if constant is None:
        return ""
    slip = 1 - speed / drive.motor.rating.synchronous_speed
    behind = 360 * drive.motor.rating.frequency * slip * pause
    left = exp(-pause / constant)
    return (
        f"; with a rotor time constant of {amount(constant)} s the residual voltage is then still {percent(left)} of what it "
        f"was, and {amount(behind)}° behind before the speed falls"
    )


def percent(value: float) -> str:
    """Per unit as per cent, three figures."""
    return f"{100 * value:.3g} %"


def amount(value: float) -> str:
    """A number in three to four figures."""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"


def rpm(speed: float) -> str:
    """rad/s as r/min, in words."""
    return f"{speed * 30 / np.pi:.0f} r/min"
