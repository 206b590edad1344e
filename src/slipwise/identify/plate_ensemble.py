"""A plate identified: the middle motor, the motors that agree with it, and the range of every value over them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi

import numpy as np

from slipwise.identify.ensemble import Ensemble, draw
from slipwise.identify.plate import fit_plate
from slipwise.identify.records import Plate, PlateFit
from slipwise.identify.rows import Shown, shown_by
from slipwise.model.machine.motor import Motor
from slipwise.results.plate_ranges import PlateRange, PlateRanges

MEMBERS = 200
_ENDS = (0.05, 0.5, 0.95)
_DOUBT, _SLIP_DOUBT = 0.01, 0.03  # relative

# Field of the motor, title, unit, field of Plate (empty: never on a plate), value of a member.
_Value = Callable[[Motor, Shown], float]
_ROWS: tuple[tuple[str, str, str, str, _Value], ...] = (
    ("rated_speed", "full-load speed", "rad/s", "speed", lambda _, s: s.speed),
    ("rated_current", "full-load current", "A", "current", lambda _, s: s.current),
    ("power_factor", "full-load power factor", "", "power_factor", lambda _, s: s.power_factor),
    ("efficiency", "full-load efficiency", "pu", "efficiency", lambda _, s: s.efficiency),
    (
        "locked_rotor_current_ratio",
        "locked-rotor current over rated",
        "",
        "locked_rotor_current_ratio",
        lambda _, s: s.locked_rotor_current_ratio,
    ),
    (
        "locked_rotor_torque_ratio",
        "locked-rotor torque over rated",
        "",
        "locked_rotor_torque_ratio",
        lambda _, s: s.locked_rotor_torque_ratio,
    ),
    (
        "pull_up_torque_ratio",
        "pull-up torque over rated",
        "",
        "pull_up_torque_ratio",
        lambda _, s: s.pull_up_torque_ratio,
    ),
    (
        "breakdown_torque_ratio",
        "breakdown torque over rated",
        "",
        "breakdown_torque_ratio",
        lambda _, s: s.breakdown_torque_ratio,
    ),
    ("inertia", "moment of inertia of the rotor", "kg m2", "inertia", lambda m, _: m.inertia),
    ("circuit.R1", "stator resistance, star equivalent", "ohm", "", lambda m, _: _circuit(m, "R1")),
    ("circuit.X1", "stator leakage reactance", "ohm", "", lambda m, _: _circuit(m, "X1")),
    ("circuit.Xm", "magnetising reactance", "ohm", "", lambda m, _: _circuit(m, "Xm")),
    ("circuit.Rfe", "core-loss resistance", "ohm", "", lambda m, _: _circuit(m, "Rfe")),
    (
        "friction_and_windage",
        "friction and windage at rated speed",
        "W",
        "mechanical_loss",
        lambda m, _: float(m.mechanical_torque(m.rating.speed) * m.rating.speed),
    ),
    ("stray_load_loss", "stray load loss at rated output", "W", "", lambda m, _: m.stray),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class IdentifiedPlate:
    """The middle motor with its rows and reasons, all motors that agree with the plate, and the ranges over them."""

    fit: PlateFit
    ensemble: Ensemble
    ranges: PlateRanges


def identify_plate(plate: Plate, members: int = MEMBERS, seed: int = 1) -> IdentifiedPlate:
    """Everything a plate says and leaves open.

    Args:
        plate: as for `fit_plate`; `whole_plate` completes one without poles, frequency or connection.
        members: motors in the ensemble; 200 give ends of the ranges to about a tenth of their width.
        seed: the same seed gives the same motors.

    Raises:
        InputError: as `fit_plate`.
    """
    fit = fit_plate(plate)
    found = draw(plate, members, seed)
    return IdentifiedPlate(fit=fit, ensemble=found, ranges=ranges_of(plate, found, seed))


def ranges_of(plate: Plate, ensemble: Ensemble, seed: int) -> PlateRanges:
    """Middle nine tenths of every value over an ensemble."""
    motors = [member.motor for member in ensemble.members]
    shown = [shown_by(motor) for motor in motors]
    rows = []
    for name, title, unit, field, value in _ROWS if motors else ():
        low, middle, high = np.quantile([value(m, s) for m, s in zip(motors, shown, strict=True)], _ENDS).tolist()
        given = bool(field) and getattr(plate, field) is not None
        if not given:
            low, high = _doubted(name, plate, low, high)
        rows.append(PlateRange(name=name, title=title, unit=unit, low=low, middle=middle, high=high, given=given))
    return PlateRanges(rows=tuple(rows), members=len(motors), tried=ensemble.tried, seed=seed)


def _doubted(name: str, plate: Plate, low: float, high: float) -> tuple[float, float]:
    """Ends moved out by what the circuit itself is not sure of: given values are met within 1 %, so that no other ratio is
    known better. A slip is less sure: real bars are warmer or cooler, and of other shapes, than two cages can be."""
    if name.endswith("_ratio"):
        return low * (1 - _DOUBT), high * (1 + _DOUBT)
    if name == "rated_speed":
        sync = 4 * pi * plate.frequency / plate.poles
        moved = sorted((sync - (sync - low) * (1 + _SLIP_DOUBT), sync - (sync - high) * (1 - _SLIP_DOUBT)))
        return moved[0], moved[1]
    return low, high


def _circuit(motor: Motor, name: str) -> float:
    return float(getattr(motor.circuit, name))
