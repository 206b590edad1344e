"""A recovery set at work: link, inverter and transformer at one slip, on a line whose voltage they move themselves."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sqrt

import numpy as np

from slipwise.methods.speed import rotor_bridged as rb
from slipwise.methods.speed.rotor_bridged import Bridged, LinkLine
from slipwise.methods.speed.rotor_side import Outside, Rings, moved_source, rest_of_line, shaft_torque
from slipwise.model.converter.recovery import ORDERS, firing_angle, inverter
from slipwise.model.converter.rotor_bridge import DC_PER_LINE, FUNDAMENTAL_PER_DC, RMS_PER_DC
from slipwise.results.speed import Harmonic, Loss, Part

NO_LOAD_LOSS = 0.003  # of a transformer, per unit of its rating: common practice, no source (0.002 to 0.006)
_ROUNDS = 6  # of line voltage and fed-back current upon each other; each is some twenty times as near


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoverySet:
    """voltage: of the transformer on the inverter side at the motor's rated voltage, line rms [V]. power: rating [VA].

    reactance, resistance: of the transformer per phase on that side [ohm]. choke: resistance of the link's choke [ohm].
    diode_drop, valve_drop: of each of two in series [V].
    """

    voltage: float
    power: float
    reactance: float
    resistance: float
    choke: float
    diode_drop: float
    valve_drop: float

    @property
    def drop(self) -> float:
        """Of all four valves in series. [V]"""
        return 2 * (self.diode_drop + self.valve_drop)

    @property
    def ohmic(self) -> float:
        """Resistance of choke and of two transformer windings in the link. [ohm]"""
        return self.choke + 2 * self.resistance

    def line(self, firing: float, seen: Rings, voltage: float | None = None) -> LinkLine:
        """The link at a firing angle; the commutation of the inverter acts as a resistance without loss.

        voltage: on the inverter side, V; None takes the line as it stands without the motor.
        """
        volts = self.voltage * seen.emf * sqrt(3) / seen.motor.rating.voltage if voltage is None else voltage
        return LinkLine(
            back=self.drop - DC_PER_LINE * volts * cos(firing), resistance=self.ohmic + 3 / pi * self.reactance
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """One state of the whole: `seen` with the line as the fed-back current leaves it; firing angle, 0 or pi when none does.

    inverter_voltage: line voltage on the inverter side [V]. drawn: current the set takes from the terminals [A].
    """

    seen: Rings
    slip: float
    state: Bridged
    firing: float
    inverter_voltage: float
    drawn: complex


def run_at(seen: Rings, equipment: RecoverySet, slip: float, torque: float) -> Run | None:
    """The set at a slip carrying a shaft torque; None when the motor cannot. Line voltage found by rounds."""
    drawn: complex = 0.0
    run: Run | None = None
    for _ in range(_ROUNDS):
        moved = _fed(seen, run, drawn)
        current = rb.link_current_for(moved, slip, torque)
        if current is None:
            return None
        run = _held(moved, equipment, slip, rb.bridged(moved, slip, current))
        if abs(run.drawn - drawn) < 1e-9 * abs(run.state.inside.stator):
            break
        drawn = run.drawn
    return run


def carried(seen: Rings, equipment: RecoverySet, slip: float, state: Bridged) -> Run:
    """The set around a state already known, the line's voltage not moved by the fed-back current."""
    return _held(seen, equipment, slip, state)


def _fed(seen: Rings, run: Run | None, drawn: complex) -> Rings:
    """The motor's source when the set draws `drawn`: the same magnitude behind the supply, less the drop of that current."""
    if run is None:
        return seen
    return moved_source(seen, run.state.inside, drawn)


def _held(seen: Rings, equipment: RecoverySet, slip: float, state: Bridged) -> Run:
    terminal = complex(state.inside.terminal)
    volts = equipment.voltage * abs(terminal) * sqrt(3) / seen.motor.rating.voltage
    current = float(state.link.current)
    held = float(state.link.voltage) - equipment.drop - equipment.ohmic * current
    firing = float(firing_angle(held, current, volts, equipment.reactance))
    at = inverter(current, volts, firing, equipment.reactance)
    power = held * current - NO_LOAD_LOSS * equipment.power
    drawn = ((-power + 1j * float(at.reactive)) / (3 * terminal)).conjugate()
    return Run(seen=seen, slip=slip, state=state, firing=firing, inverter_voltage=volts, drawn=drawn)


def outside(equipment: RecoverySet, run: Run) -> Outside:
    """Losses of bridge, link, inverter and transformer, what goes back, and the harmonics of both ways to the line."""
    current, seen = float(run.state.link.current), run.seen
    harmonic, excess, listed = rb.motor_part(seen, run.slip, run.state)
    core = NO_LOAD_LOSS * equipment.power
    losses = (
        harmonic,
        Loss(part=Part.RECTIFIER, power=2 * equipment.diode_drop * current),
        Loss(part=Part.LINK, power=equipment.choke * current**2),
        Loss(part=Part.INVERTER, power=2 * equipment.valve_drop * current),
        Loss(part=Part.TRANSFORMER, power=2 * equipment.resistance * current**2 + core),
    )
    held = float(run.state.link.voltage) - equipment.drop - equipment.ohmic * current
    at_line = current * run.inverter_voltage / (sqrt(3) * abs(complex(run.state.inside.terminal)))
    blocks = tuple(Harmonic(order=float(h), current=FUNDAMENTAL_PER_DC * at_line / h) for h in ORDERS)
    whole = (RMS_PER_DC**2 - FUNDAMENTAL_PER_DC**2) * at_line**2
    rest = rest_of_line(seen, excess, listed) + max(whole - sum(h.current**2 for h in blocks), 0.0)
    return Outside(
        losses=losses,
        drawn=run.drawn,
        returned=max(held * current - core, 0.0),
        excess=excess,
        harmonics=tuple(sorted((*listed, *blocks), key=lambda h: h.order)),
        remaining=rest,
    )


def pull_out(seen: Rings, slip: float = 0.25) -> float:
    """Greatest shaft torque behind the bridge at a slip. [N m]"""
    _, state = rb.swept(seen, np.array([slip]))
    return float(shaft_torque(seen, state.inside).max())
