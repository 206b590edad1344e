"""Typical motors of the design letters: shapes for teaching and for thin data, never a promise of any motor."""

from __future__ import annotations

from dataclasses import replace

from slipwise.data import table
from slipwise.identify.plate import fit_plate
from slipwise.identify.records import Plate, PlateFit
from slipwise.quantity.errors import InputError

DESIGNS = tuple(str(row["design"]) for row in table("typical_designs").rows)
NOTE = "Typical set of its design letter, not the data of any motor; every value carries its range."


def with_typical_note(fit: PlateFit, plate: Plate) -> PlateFit:
    """The fit, marked as a typical set where its design letter stands for everything that shapes the torque curve."""
    ratios = (plate.locked_rotor_current_ratio, plate.locked_rotor_torque_ratio, plate.breakdown_torque_ratio)
    if plate.design is None or any(ratio is not None for ratio in ratios):
        return fit
    return replace(fit, notes=(NOTE, *fit.notes))


def typical_design(
    design: str,
    *,
    power: float,
    voltage: float = 400.0,
    frequency: float = 50.0,
    poles: int = 4,
    connection: str = "delta",
) -> PlateFit:
    """A double-cage circuit with the typical proportions of a design letter: A to D (NEMA MG 1), N, NE, H (IEC 60034-12).

    power in W, voltage line rms in V, frequency in Hz. Every value comes with its range in `estimated`.

    Raises:
        InputError: the design is not one of `DESIGNS`.
    """
    if design not in DESIGNS:
        raise InputError.of("motor.design", design, "no typical set", f"take one of {', '.join(DESIGNS)}")
    plate = Plate(power=power, voltage=voltage, frequency=frequency, poles=poles, connection=connection, design=design)
    fit = fit_plate(plate)
    return replace(fit, notes=(NOTE, *fit.notes))
