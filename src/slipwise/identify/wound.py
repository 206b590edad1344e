"""A slip-ring motor from its plate: one rotor branch that shows the rated point, the slip and the breakdown torque."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi, sqrt

from slipwise.identify.plate_checks import fault
from slipwise.identify.reading import Reading, read
from slipwise.identify.records import Plate, PlateFit
from slipwise.identify.rows import plate_rows, shown_by
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss, Motor, Rating
from slipwise.model.machine.point import operating_point
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.results.study import PlateRow

WINDING_TEMPERATURE = 95.0  # degC, as for cage plates
# Of the loss outside the rotor: friction and windage, stray; of the rest, stator winding against core.
MECHANICAL, STRAY, STATOR = 0.12, 0.18, 0.6
_PRACTICE = "common practice, no source"
_CAGE_ONLY = ("motor.locked_rotor_current_ratio", "motor.locked_rotor_torque_ratio")
_NEAR = 0.15  # a rotor current further off than this is another one


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings:
    """What the plate says of the slip rings. voltage: line to line, open, standing still [V]; current: at full load [A]."""

    voltage: float
    current: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Split:
    """Losses at full load [W] and what crosses the air gap [W]."""

    stator: float
    core: float
    mechanical: float
    stray: float
    gap: float


def fit_wound(plate: Plate, rings: Rings) -> PlateFit:
    """A motor with one rotor winding that shows power, speed, current, power factor, efficiency and breakdown torque.

    Args:
        plate: as for a cage; locked-rotor ratios say nothing of a motor started with resistors and are not used.
        rings: from the same plate.

    Returns:
        The motor with `wound_ratio` = stator line voltage / open ring line voltage, plate against model (the rotor current
        among the rows), every value that was not given, and notes.

    Raises:
        InputError: values that contradict each other, or a rotor current that is not that of this voltage.

    Source: per-phase equivalent circuit (Chapman, 4th ed., ch. 7); stator and rotor leakage alike for a wound rotor, as
    IEEE 112 assumes; the other shares of the loss are common practice, no source.
    """
    reading = read(plate)
    split = _split(reading)
    low, high = 0.02, 0.6  # leakage of both sides, per unit of rated impedance
    wanted = reading.breakdown.value
    for _ in range(60):
        middle = 0.5 * (low + high)
        motor = _motor(reading, split, rings, middle)
        if motor is None or shown_by(motor).breakdown_torque_ratio < wanted:
            high = middle
        else:
            low = middle
    motor = _motor(reading, split, rings, low)
    if motor is None or abs(shown_by(motor).breakdown_torque_ratio / wanted - 1) > 0.02:
        reason = "no single rotor winding shows it together with slip, power factor and efficiency"
        raise InputError(fault("breakdown_torque_ratio", f"{wanted:.3g}", reason, "check the catalogue line"))
    bare = replace(plate, locked_rotor_current_ratio=None, locked_rotor_torque_ratio=None, pull_up_torque_ratio=None)
    shown = shown_by(motor)
    current = rotor_current(motor)
    _check_current(rings, current)
    return PlateFit(
        motor=motor,
        rows=(*plate_rows(bare, motor, shown), *ring_rows(motor, rings.current)),
        estimated=(*(row for row in reading.estimated if row.name not in _CAGE_ONLY), *_fitted(motor, rings, current)),
        notes=(
            *reading.notes,
            "The circuit is not unique: many sets of values show the same plate. Stator and rotor leakage are taken alike.",
        ),
    )


def rotor_current(motor: Motor) -> float:
    """Current in each slip ring at the rated speed and voltage, rings shorted. [A]

    The referred current times the ratio of line voltages: a current in a line is the same for star and delta.
    """
    assert motor.circuit is not None
    assert motor.wound_ratio is not None
    rating = motor.rating
    p = operating_point(motor.circuit, rating.slip, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    branch = motor.circuit.rotor[0]
    referred = abs(p.gap_voltage) / abs(branch.R / rating.slip + 1j * branch.X)
    return float(referred * motor.wound_ratio)


def ring_rows(motor: Motor, current: float | None) -> tuple[PlateRow, ...]:
    """The rotor current of the plate against that of the model."""
    if current is None:
        return ()
    return (
        PlateRow(
            name="rotor current",
            plate=current,
            model=rotor_current(motor),
            unit="A",
            tolerance_low=None,
            tolerance_high=None,
            source="",
        ),
    )


def _split(r: Reading) -> _Split:
    """Losses shared out; rotor loss follows from the slip and what crosses the gap."""
    given = r.plate.mechanical_loss
    power = r.plate.power
    taken = power / r.efficiency
    mechanical = stray = 0.0
    for _ in range(50):
        gap = (power + mechanical + stray) / (1 - r.slip)
        outside = taken - power - r.slip * gap
        mechanical = MECHANICAL * outside if given is None else given
        stray = STRAY * outside
    rest = outside - mechanical - stray
    if rest <= 0:
        reason = f"slip {r.slip:.4g} alone loses more than efficiency {r.efficiency:.4g} allows"
        raise InputError(fault("efficiency", f"{r.efficiency:.4g}", reason, "check efficiency, speed and poles"))
    return _Split(stator=STATOR * rest, core=(1 - STATOR) * rest, mechanical=mechanical, stray=stray, gap=gap)


def _motor(r: Reading, split: _Split, rings: Rings, leakage: float) -> Motor | None:
    """The motor whose leakage of both sides is `leakage` (pu of rated impedance); None when there is none.

    Stator loss gives R1; the voltage behind stator resistance and leakage and the core loss give Rfe; the power across
    the gap gives R2; the reactive power that is left gives Xm.
    """
    plate = r.plate
    volts = plate.voltage / sqrt(3)
    current = r.current * complex(r.power_factor, -sqrt(1 - r.power_factor**2))
    R1, X = split.stator / (3 * r.current**2), 0.5 * leakage * volts / r.current
    emf = volts - current * complex(R1, X)
    square = abs(emf) ** 2
    conductance = split.gap / 3 / square
    root = 1 - (2 * conductance * X) ** 2
    if root <= 0:
        return None
    across = (1 + sqrt(root)) / (2 * conductance)  # R2 / slip, the running one of two
    rotor = emf / complex(across, X)
    reactive = (emf * (current - rotor).conjugate()).imag
    if reactive <= 0:
        return None
    circuit = Circuit(
        frequency=plate.frequency,
        R1=R1,
        X1=X,
        Xm=square / reactive,
        Rfe=3 * square / split.core,
        rotor=(RotorBranch(R=r.slip * across, X=X),),
    )
    sync = 4 * pi * plate.frequency / plate.poles
    speed = (1 - r.slip) * sync
    rating = Rating(
        power=plate.power,
        voltage=plate.voltage,
        frequency=plate.frequency,
        poles=plate.poles,
        speed=plate.speed or r.speed,
        current=plate.current or r.current,
        connection=plate.connection,
        power_factor=plate.power_factor or r.power_factor,
        efficiency=plate.efficiency or r.efficiency,
    )
    return Motor(
        rating=rating,
        inertia=r.inertia,
        circuit=circuit,
        mechanical_loss=MechanicalLoss(torque=split.mechanical / speed * sync / speed),
        stray=split.stray,
        stall=plate.stall,
        wound_ratio=plate.voltage / rings.voltage,
        stator_temperature=WINDING_TEMPERATURE,
        rotor_temperature=WINDING_TEMPERATURE,
        rotor_conductor="copper",
    )


def _check_current(rings: Rings, model: float) -> None:
    """A rotor current far from that of the ring voltage; sqrt(3) off is a line value taken for a phase value."""
    if rings.current is None or abs(rings.current / model - 1) <= _NEAR:
        return
    hint = ""
    for factor in (sqrt(3), 1 / sqrt(3)):
        if abs(rings.current / model / factor - 1) < 0.1:
            hint = ", sqrt(3) away, as between line and phase"
    reason = f"with {rings.voltage:.4g} V at the open rings, line to line, rated power makes {model:.4g} A{hint}"
    raise InputError(fault("rotor_current", f"{rings.current:.4g} A", reason, "check ring voltage and current"))


def _fitted(motor: Motor, rings: Rings, current: float) -> tuple[Sourced, ...]:
    """What the plate cannot tell, as it was chosen."""
    assert motor.circuit is not None
    c = motor.circuit

    def row(name: str, value: float, unit: str, spread: tuple[float, float], why: str) -> Sourced:
        low, high = value * spread[0], value * spread[1]
        return Sourced(
            name=f"motor.{name}", value=value, unit=unit, origin=Origin.ESTIMATED, low=low, high=high, why=why
        )

    found = [
        row("circuit.R1", c.R1, "ohm", (0.6, 1.4), f"share of the loss outside the rotor; {_PRACTICE}"),
        row(
            "circuit.X1",
            c.X1,
            "ohm",
            (0.7, 1.4),
            "half the leakage, as IEEE 112 assumes for wound rotors (from memory)",
        ),
        row("circuit.R2", c.rotor[0].R, "ohm", (0.9, 1.1), "from slip and power across the air gap"),
        row(
            "circuit.X2", c.rotor[0].X, "ohm", (0.7, 1.4), "half the leakage; the sum follows from the breakdown torque"
        ),
        row("stray_load_loss", motor.stray, "W", (0.4, 1.4), f"share of the loss outside the rotor; {_PRACTICE}"),
    ]
    if rings.current is None:
        found.append(row("rotor_current", current, "A", (0.9, 1.1), "of the fitted circuit at full load"))
    return tuple(found)
