"""From `[motor.circuit]` to a circuit: star equivalent, rotor referred to the stator, temperatures and metals."""

from __future__ import annotations

from math import inf, sqrt

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.temperature import resistance_factor
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.schema.motor import CircuitSection, MotorSection

_PRACTICE = "common practice, no source"


def circuit_of(section: MotorSection, given: CircuitSection, ratio: float | None, book: Book) -> Circuit:
    """Star equivalent seen from the stator."""
    if (given.R3 is None) != (given.X3 is None):
        missing = "R3" if given.R3 is None else "X3"
        book.fault(
            f"motor.circuit.{missing}", "", "a second cage needs both R3 and X3", f"add {missing}, or remove the other"
        )
    if given.R3 is not None and ratio is not None:
        book.fault("motor.circuit.R3", given.R3, "a wound rotor has one winding, not two cages", "remove R3 and X3")
    star = _to_star(section, given, book)
    rotor_factor = star
    if ratio is not None and _rotor_values(given, book) == "at the slip rings":
        rotor_factor = ratio**2  # the ratio is that of star equivalents already
        for name in ("R2", "X2"):
            parsed: Parsed = getattr(given, name)
            why = f"{parsed.text} at the slip rings x (stator to rotor ratio)^2"
            book.derived(f"motor.circuit.{name}", parsed.value * rotor_factor, "ohm", why)
    rotor = [RotorBranch(R=given.R2.value * rotor_factor, X=given.X2.value * rotor_factor)]
    if given.R3 is not None and given.X3 is not None:
        rotor.append(RotorBranch(R=_third_resistance(given, book) * star, X=given.X3.value * star))
    _no_core_loss(given, book)
    return Circuit(
        frequency=section.rated_frequency.value,
        R1=given.R1.value * star,
        X1=given.X1.value * star,
        Xm=given.Xm.value * star,
        rotor=tuple(rotor),
        Rfe=inf if given.Rfe is None else given.Rfe.value * star,
    )


def _to_star(section: MotorSection, given: CircuitSection, book: Book) -> float:
    """1/3 for values of a delta winding as wound, recorded; else 1."""
    if given.values != "as wound" or section.connection != "delta":
        return 1.0
    for name in ("R1", "X1", "Xm", "Rfe", "R2", "X2", "R3", "X3"):
        parsed: Parsed | None = getattr(given, name)
        if parsed is not None and not (given.rotor_values == "at the slip rings" and name in {"R2", "X2"}):
            why = f"{parsed.text} as wound in delta / 3: star equivalent"
            book.derived(f"motor.circuit.{name}", parsed.value / 3, "ohm", why)
    return 1 / 3


def _no_core_loss(given: CircuitSection, book: Book) -> None:
    if given.Rfe is None:
        book.assumed_word("motor.circuit.Rfe", "none", "core loss not given: not modelled in the circuit")


def _third_resistance(given: CircuitSection, book: Book) -> float:
    """R3 at the temperature of R2, the one temperature the rotor has. [ohm]"""
    assert given.R3 is not None
    if given.temperature_R3 is None:
        return given.R3.value
    base = given.temperature_R2 or given.temperature
    if base is None:
        book.fault(
            "motor.circuit.temperature_R3",
            given.temperature_R3,
            "the temperature of R2 is not given",
            'add temperature_R2 = "75 degC", or one `temperature` for all',
        )
        return given.R3.value
    factor = resistance_factor(given.temperature_R3.value, base.value, given.rotor_conductor or "aluminium")
    why = f"{given.R3.text} brought from {given.temperature_R3.text} to {base.text}, the temperature of R2"
    return book.derived("motor.circuit.R3", given.R3.value * factor, "ohm", why)


def temperatures(given: CircuitSection, book: Book) -> tuple[float, float]:
    """Temperatures at which stator and rotor resistances hold. [degC]"""
    common = given.temperature
    found = []
    for name in ("temperature_R1", "temperature_R2"):
        own: Parsed | None = getattr(given, name)
        if (
            own is not None
            and common is not None
            and given.temperature_R1 is not None
            and given.temperature_R2 is not None
        ):
            book.fault(
                "motor.circuit.temperature",
                common,
                "each resistance has a temperature of its own already",
                "remove `temperature`",
            )
        chosen = own or common
        found.append(
            chosen.value
            if chosen is not None
            else book.assumed(f"motor.circuit.{name}", 75.0, "degC", (20.0, 130.0), f"warm winding; {_PRACTICE}")
        )
    return found[0], found[1]


def conductors(given: CircuitSection, wound: bool, book: Book) -> tuple[str, str]:
    """Metals of stator and rotor, as given or assumed."""
    usual = "copper" if wound else "aluminium"
    return (
        given.stator_conductor or book.assumed_word("motor.circuit.stator_conductor", "copper", _PRACTICE),
        given.rotor_conductor or book.assumed_word("motor.circuit.rotor_conductor", usual, _PRACTICE),
    )


def _rotor_values(given: CircuitSection, book: Book) -> str:
    return given.rotor_values or book.assumed_word(
        "motor.circuit.rotor_values", "referred to the stator", f"R2 and X2 as in the stator's circuit; {_PRACTICE}"
    )


def wound_ratio_of(section: MotorSection, given: CircuitSection, book: Book) -> float | None:
    """Stator to rotor ratio of the star equivalents, from turns or from the slip-ring voltage; None for a cage."""
    turns, rings = section.wound_ratio, section.rotor_voltage
    if turns is not None and rings is not None:
        book.fault("motor.wound_ratio", turns, "rotor_voltage says the same", "give one of the two")
    if rings is not None:
        ratio = section.rated_voltage.value / rings.value
        return book.derived("motor.wound_ratio", ratio, "", "rated line voltage / open slip-ring line voltage")
    if turns is None:
        if given.rotor_values == "at the slip rings":
            book.fault(
                "motor.circuit.rotor_values",
                f'"{given.rotor_values}"',
                "the ratio to the stator is not given",
                'add rotor_voltage = "380 V line" to [motor], or wound_ratio',
            )
        return None
    return line_ratio(section, turns, book)


def line_ratio(section: MotorSection, turns: Parsed, book: Book) -> float:
    """Line voltage over line voltage at the open rings, from turns over turns: 1/sqrt(3) of them for a stator in delta.

    The rotor is taken in star, as slip-ring rotors are wound.
    """
    if section.connection != "delta":
        return turns.value
    why = f"turns ratio {turns.text} / sqrt(3): the stator's phase in delta has the line voltage, the rotor's in star has not"
    return book.derived("motor.wound_ratio", turns.value / sqrt(3), "", why)
