"""A plan and a drive laid out as the flat rows of numbers the kernel marches on."""

from __future__ import annotations

from cmath import phase, rect
from dataclasses import dataclass, field
from math import inf, pi, sqrt
from typing import Any

import numpy as np

from slipwise.model.load.load import Load
from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.motor import Motor
from slipwise.model.machine.saturated import is_saturable
from slipwise.quantity.errors import InputError
from slipwise.results.series import Array
from slipwise.solve import network
from slipwise.solve.plan import DirectCurrent, Drive, Ends, Law, Plan, Stage
from slipwise.solve.transient import kernel as k

SETTLED_TORQUE = 2e-4  # of rated torque: below this accelerating torque, and
SETTLED_VOLTAGE = 1e-4  # of rated voltage: below this rate of every flux linkage, a stage has settled
LEAST_LEAKAGE = (
    0.02  # of the stator's: a rotor branch without leakage gets this, its own would make the equations stiff
)
_SATURATED = 0.1  # of the tolerance, with saturation: where a law bends, a step is less exact than it thinks
_NODES = 601  # of a saturation curve
_TOP_FLUX = 2.5  # of rated flux: straight beyond
_TOP_KNEES, _TOP_CURRENTS = 8.0, 20.0  # of the knee, of rated current: straight beyond
_ENDS = {
    Ends.SPEED: k.SPEED,
    Ends.SPEED_FALLS: k.FALLS,
    Ends.ELAPSED: k.ELAPSED,
    Ends.CURRENT: k.CURRENT,
    Ends.SETTLED: k.SETTLED,
}
_ALL_BUT_REST = (
    1e-6  # of synchronous speed: where a stage ends that is to end at rest, so that nothing turns back in it
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Packed:
    """What one march takes, as one vector: options, stages, laws, load."""

    deck: Array
    branches: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Equivalent source at the motor's terminals: phase emf (rms, its angle is the reference) and impedance at `omega`."""

    emf: float
    impedance: complex
    omega: float

    @classmethod
    def of(cls, drive: Drive) -> Source:
        emf, impedance = network.thevenin(drive.supply)
        return cls(emf=abs(emf), impedance=complex(impedance), omega=2 * pi * drive.supply.frequency)


def pack(plan: Plan, drive: Drive, *, max_time: float, tolerance: float, speed: float = 0.0) -> Packed:
    """Lay out a start; the switching angle and what to keep are set on a copy of the options.

    Raises:
        InputError: no stages; a motor known by curves only; an inductance or an inertia that is not above zero.
    """
    deck = np.array(numbers_of(plan, drive, max_time=max_time, tolerance=tolerance, speed=speed))
    return Packed(deck=deck, branches=int(deck[k.O_BRANCHES]))


def numbers_of(plan: Plan, drive: Drive, *, max_time: float, tolerance: float, speed: float = 0.0) -> list[float]:
    """The deck of `pack` as a list, for many starts, which Python reads and joins faster than arrays."""
    if not plan:
        raise InputError.of("plan", "()", "a start needs at least one stage", "give the stages of the start")
    source = Source.of(drive)
    machines = [stage.motor or drive.motor for stage in plan]
    circuits = [_circuit(motor) for motor in machines]
    branches = max(len(circuit.rotor) for circuit in circuits)
    options = _options(plan, drive, branches, source)
    if any(is_saturable(circuit) for circuit in circuits):
        tolerance *= _SATURATED
    options[k.O_MAX_TIME], options[k.O_TOLERANCE], options[k.O_SPEED] = max_time, tolerance, speed
    options[k.O_TABLE] = k.OPTIONS
    stages_end = k.OPTIONS + len(plan) * (k.BRANCHES + k.PER_BRANCH * branches)
    laws = _Laws(begin=stages_end)
    turn = _winding_turn(plan)
    rows: list[float] = []
    for stage, motor, circuit in zip(plan, machines, circuits, strict=True):
        rows += _row(stage, motor, circuit, source=source, laws=laws, turn=turn)
        rows += _rotor(stage, circuit, branches)
    options[k.O_LOAD] = stages_end + len(laws.numbers)
    return [*options, *rows, *laws.numbers, *_load(drive.load, drive.motor)]


@dataclass(slots=True, kw_only=True)
class _Laws:
    """The pool of laws of one start: begins at `begin` of the deck."""

    begin: int
    numbers: list[float] = field(default_factory=list)

    def add(self, law: Law) -> tuple[float, float]:
        """Append a law; gives where it begins and how many points it has."""
        at = self.begin + len(self.numbers)
        self.numbers.extend(law.x)
        self.numbers.extend(law.y)
        return float(at), float(len(law.x))

    def add_curve(self, value: Any, last: float) -> float:
        """Append a smooth curve through zero as nodes from 0 to `last`; gives where it begins. See `kernel.curve`.

        value: function of an array of abscissae.
        """
        from scipy.interpolate import CubicSpline

        x, spacing = np.linspace(0.0, last, _NODES, retstep=True)
        y = value(x)
        slope = CubicSpline(x, y)(x, 1)
        panels = spacing / 2 * (y[:-1] + y[1:]) + spacing**2 / 12 * (slope[:-1] - slope[1:])
        area = np.concatenate([[0.0], np.cumsum(panels)])
        at = self.begin + len(self.numbers)
        self.numbers += [float(_NODES), float(spacing), *np.column_stack([y, slope, area]).ravel().tolist()]
        return float(at)


def _circuit(motor: Motor) -> Circuit:
    if motor.circuit is None:
        raise InputError.of(
            "motor.curves", "typed curves", "the electrical transient needs an equivalent circuit", "give motor.circuit"
        )
    if motor.circuit.X1 <= 0 or motor.circuit.Xm <= 0:
        name = "X1" if motor.circuit.X1 <= 0 else "Xm"
        value = getattr(motor.circuit, name)
        raise InputError.of(
            f"motor.circuit.{name}", value, "the electrical transient needs a reactance above zero", "give its value"
        )
    return motor.circuit


def _winding_turn(plan: Plan) -> complex:
    """Direction of a delta winding's current against the star equivalent, from the wiring of the star stage if there is one."""
    for stage in plan:
        if abs(phase(stage.ratio)) > 0.3:
            return stage.ratio.conjugate() / abs(stage.ratio)
    return rect(1.0, pi / 6)


def _row(stage: Stage, motor: Motor, circuit: Circuit, *, source: Source, laws: _Laws, turn: complex) -> list[float]:
    """The numbers of one stage but its rotor. Impedances of the supply are seen from the motor: |ratio|^2 Z."""
    row = [0.0] * k.BRANCHES
    inverter = stage.frequency is not None
    own = 2 * pi * circuit.frequency
    ratio = 1.0 + 0j if inverter else complex(stage.ratio)
    squared = abs(ratio) ** 2
    emf, grid, line = _feed(stage, motor, source)
    row[k.CONNECTED], row[k.INVERTER] = float(stage.connected), float(inverter)
    row[k.A_RE], row[k.A_IM] = ratio.real, ratio.imag
    row[k.R1], row[k.L1] = circuit.R1, circuit.X1 / own
    row[k.L_SERIES] = stage.series.imag / source.omega
    row[k.L_LINE], row[k.L_GRID] = line.imag / source.omega, grid.imag / source.omega
    row[k.R_LOOP] = circuit.R1 + stage.series.real + squared * line.real
    row[k.L_LOOP] = row[k.L1] + row[k.L_SERIES] + squared * row[k.L_LINE]
    row[k.R_PATH], row[k.L_PATH] = squared * grid.real, squared * row[k.L_GRID]
    voltage = sqrt(2) * ratio * emf
    row[k.U_RE], row[k.U_IM] = voltage.real, voltage.imag
    row[k.INV_LM], row[k.G_CORE] = own / circuit.Xm, 1 / circuit.Rfe
    row[k.G_ROTOR] = sum(own / x for x in _leakages(circuit))
    row[k.G_GAP] = row[k.INV_LM] + row[k.G_ROTOR]
    row[k.POLES] = motor.rating.poles / 2
    rating = motor.rating
    row[k.MECHANICAL], row[k.EXPONENT] = motor.mechanical_loss.torque, motor.mechanical_loss.exponent
    row[k.STRAY] = motor.stray / rating.speed**2 / (2 * rating.current**2)
    row[k.SYNC], row[k.SETTLE_TORQUE] = rating.synchronous_speed, SETTLED_TORQUE * rating.torque
    row[k.ENDS], row[k.VALUE] = _ENDS[stage.until.ends], stage.until.value
    if stage.until.ends is Ends.SPEED_FALLS and abs(stage.until.value) < _ALL_BUT_REST * rating.synchronous_speed:
        row[k.VALUE] = _ALL_BUT_REST * rating.synchronous_speed
    row[k.TIMEOUT] = inf if stage.until.timeout is None else stage.until.timeout
    row[k.OMEGA] = (2 * pi * rating.frequency if inverter else source.omega) * (-1.0 if stage.reversed else 1.0)
    for head, law in ((k.LAW_V, stage.voltage), (k.LAW_CAP, stage.voltage_cap), (k.LAW_F, stage.frequency)):
        if law is not None:
            row[head], row[head + 1] = laws.add(law)
    row[k.LAWS] = row[k.N_V] + row[k.N_CAP] + row[k.N_F]
    if stage.dc is not None:
        _direct(row, stage.dc, circuit)
    if is_saturable(circuit):
        _saturate(row, circuit, motor, laws)
    row[k.INV_LOOP] = 1 / (row[k.L_LOOP] + row[k.L_PATH])  # these two serve a stage without laws
    both = row[k.G_GAP] + row[k.INV_LOOP]
    row[k.INV_RUN] = 1 / (both**2 + (row[k.OMEGA] * row[k.G_CORE]) ** 2)
    row[k.EMF], row[k.R_GRID], row[k.X_GRID] = sqrt(2) * source.emf, source.impedance.real, source.impedance.imag
    winding = turn / sqrt(3) if rating.connection == "delta" else 1.0 + 0j
    row[k.WINDING_RE], row[k.WINDING_IM] = winding.real, winding.imag
    return row


def _direct(row: list[float], dc: DirectCurrent, circuit: Circuit) -> None:
    """A constant voltage between two terminals, or between one and the other two, behind what resistance there is.

    The winding opposes it along one axis with R1, with the third terminal free; or in the whole plane, with two terminals
    joined. A free terminal leaves one axis: that of phase a less phase b.
    """
    single = abs(dc.share - sqrt(2 / 3)) < abs(dc.share - sqrt(1 / 2))
    axis = rect(1.0, -pi / 6) if single else 1.0 + 0j
    resistance = dc.resistance / (2.0 if single else 1.5)  # of the star equivalent, whatever is in series included
    voltage = resistance * sqrt(2) * dc.share * dc.current * axis
    row[k.OMEGA] = 0.0
    row[k.A_RE], row[k.A_IM] = 1.0, 0.0
    row[k.L_SERIES] = row[k.L_LINE] = row[k.L_GRID] = row[k.R_PATH] = row[k.L_PATH] = 0.0
    row[k.R_LOOP], row[k.L_LOOP] = resistance, circuit.X1 / (2 * pi * circuit.frequency)
    row[k.U_RE], row[k.U_IM] = voltage.real, voltage.imag
    if single:
        row[k.AXIS_RE], row[k.AXIS_IM] = axis.real, axis.imag


def _saturate(row: list[float], circuit: Circuit, motor: Motor, laws: _Laws) -> None:
    """The curves of a saturable circuit: what links or magnetises against the length of its space vector."""
    own = 2 * pi * circuit.frequency
    main, leakage = circuit.main_saturation, circuit.leakage_saturation
    row[k.SATURATES] = 1.0
    row[k.LAWS] += 1.0  # nothing of the row is constant then
    row[k.FREE_LM], row[k.FREE_L1] = row[k.INV_LM], row[k.L1]
    row[k.L_REST] = row[k.L_LOOP] - row[k.L1]
    if main is not None:
        top = _TOP_FLUX * sqrt(2) * main.rated_gap_voltage / own
        row[k.CURVE_MAIN] = laws.add_curve(lambda u: u * main.susceptance_factor(u * own / sqrt(2)), top)
    if leakage is not None:
        top = max(_TOP_KNEES * leakage.knee, _TOP_CURRENTS * sqrt(2) * motor.rating.current)
        row[k.CURVE_STATOR] = laws.add_curve(lambda i: i * leakage.stator(i), top)
        row[k.CURVE_ROTOR] = laws.add_curve(lambda i: i * leakage.rotor(i), top)


def _feed(stage: Stage, motor: Motor, source: Source) -> tuple[complex, complex, complex]:
    """Emf, supply impedance and line impedance before the ratio. An inverter is a source of its own; a shunt is merged."""
    if stage.frequency is not None:
        return motor.rating.phase_voltage, 0.0, 0.0
    if stage.shunt is None:
        return source.emf, source.impedance, complex(stage.line_series)
    before = source.impedance + stage.line_series
    share = stage.shunt / (stage.shunt + before)
    return source.emf * share, before * share, 0.0


def _leakages(circuit: Circuit) -> list[float]:
    return [max(branch.X, LEAST_LEAKAGE * circuit.X1) for branch in circuit.rotor]


def _rotor(stage: Stage, circuit: Circuit, branches: int) -> list[float]:
    """R, L and external R of each branch; a stage with fewer branches gets idle ones that carry no current."""
    own = 2 * pi * circuit.frequency
    numbers = []
    for branch, x in zip(circuit.rotor, _leakages(circuit), strict=True):
        numbers += [branch.R, own / x, stage.rotor_external, own / x, own / x]
    idle = [0.0, 1e-12, 0.0, 1e-12, 1e-12]
    return numbers + idle * (branches - len(circuit.rotor))


def _load(load: Load, motor: Motor) -> list[float]:
    head = [0.0] * k.LOAD_HEAD
    fades = load.breakaway_speed > 0
    friction = motor.mechanical_loss
    at_rest = friction.torque if friction.exponent == 0 else 0.0
    head[k.H_TERMS], head[k.H_BASE] = len(load.terms), load.base_speed
    head[k.H_EXCESS] = load.excess if fades else 0.0
    head[k.H_FADE] = load.breakaway_speed if fades else 1.0
    head[k.H_HOLD], head[k.H_PULL] = load.holding + at_rest, load.pull
    head[k.H_CURVE] = len(load.curve_speed)
    terms = [number for t in load.terms for number in (t.coefficient, t.exponent, float(t.overhauling))]
    return [*head, *terms, *load.curve_speed, *load.curve_torque]


def _options(plan: Plan, drive: Drive, branches: int, source: Source) -> list[float]:
    if not drive.inertia > 0:
        raise InputError.of("motor.inertia", drive.inertia, "nothing that turns is without inertia", "give the inertia")
    rating = drive.motor.rating
    peak = sqrt(2) * rating.phase_voltage
    options = [0.0] * k.OPTIONS
    options[k.O_STAGES], options[k.O_BRANCHES] = len(plan), branches
    options[k.O_INERTIA], options[k.O_SYNC] = drive.inertia, rating.synchronous_speed
    options[k.O_FLUX], options[k.O_VOLTAGE] = peak / (2 * pi * rating.frequency), SETTLED_VOLTAGE * peak
    options[k.O_BOOKS], options[k.O_RECORD] = 1.0, 1.0
    options[k.O_OMEGA] = source.omega
    return options
