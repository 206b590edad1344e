"""From one element of `[[supply.path]]` to its impedance at its own voltage level, in every state of the network."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import assert_never

from slipwise.model.supply.impedance import (
    RESISTIVITY,
    at_temperature,
    cable_impedance,
    network_impedance,
    split_by_ratio,
    transformer_impedance,
)
from slipwise.quantity.show import show
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.schema.supply import CableSection, GeneratorSection, NetworkSection, TransformerSection

_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One element at its own voltage level: impedance at its far end's level in each state, and its voltage ratio."""

    kind: str
    impedance: tuple[complex, complex, complex]  # nominal, weak, strong
    ratio: float  # far-end volts per volt at its near end
    nominal: float  # of its busbar, V
    engine_power: float | None = None  # W, behind a generator
    engine_source: str = ""


def network_piece(network: NetworkSection, book: Book) -> Piece:
    """The source impedance in its three states."""
    path = "supply.path[1]"
    voltage = network.voltage.value
    level = _fault_level(network.fault_level, voltage, f"{path}.fault_level", book)
    lowest, highest = _fault_range(network, level, voltage, book)
    if network.x_to_r is not None:
        x_to_r = network.x_to_r.value
    elif voltage >= 1000:
        x_to_r = book.assumed(f"{path}.x_to_r", 8.0, "", (3.0, 20.0), f"above 1 kV; {_PRACTICE}")
    else:
        x_to_r = book.assumed(f"{path}.x_to_r", 2.5, "", (0.7, 6.0), f"below 1 kV; {_PRACTICE}")
    states = tuple(network_impedance(voltage, s, x_to_r) for s in (level, lowest, highest))
    nominal = network.nominal_voltage.value if network.nominal_voltage is not None else voltage
    return Piece(kind="network", impedance=(states[0], states[1], states[2]), ratio=1.0, nominal=nominal)


def _fault_level(given: Parsed, voltage: float, name: str, book: Book) -> float:
    """Short-circuit power; from a current by sqrt(3) U I. [VA]"""
    if given.unit == "VA":
        return given.value
    return book.derived(name, sqrt(3) * voltage * given.value, "VA", f"{given.text}: Sk = sqrt(3) x U x Ik")


def _fault_range(network: NetworkSection, level: float, voltage: float, book: Book) -> tuple[float, float]:
    """Lowest and highest fault level: as given, else the ordinary one, openly."""
    found = []
    for key, low, high in (("lowest_fault_level", 0.6, 1.0), ("highest_fault_level", 1.0, 1.5)):
        given: Parsed | None = getattr(network, key)
        name = f"supply.path[1].{key}"
        if given is None:
            why = f"not given: taken as the ordinary one; {_PRACTICE} for the range"
            found.append(book.assumed(name, level, "VA", (low * level, high * level), why))
        else:
            found.append(_fault_level(given, voltage, name, book))
    lowest, highest = found
    if lowest > level:
        book.fault(
            "supply.path[1].lowest_fault_level",
            network.lowest_fault_level,
            "it is above the ordinary fault level",
            "give the weakest state here, or exchange the two",
        )
    if highest < level:
        book.fault(
            "supply.path[1].highest_fault_level",
            network.highest_fault_level,
            "it is below the ordinary fault level",
            "give the strongest state here, or exchange the two",
        )
    return lowest, highest


def element_piece(
    element: NetworkSection | GeneratorSection | TransformerSection | CableSection, near: float, path: str, book: Book
) -> Piece:
    match element:
        case TransformerSection():
            return _transformer(element, near, path, book)
        case CableSection():
            return _cable(element, near, path, book)
        case NetworkSection() | GeneratorSection():
            raise book.give_up(
                f"{path}.kind", f'"{element.kind}"', "a path has one source, at its beginning", "remove this element"
            )
        case _:
            assert_never(element)


def _transformer(element: TransformerSection, near: float, path: str, book: Book) -> Piece:
    """Impedance at the secondary side; the ratio with the tap in use."""
    primary, secondary = element.primary_voltage.value, element.secondary_voltage.value
    if not 0.8 <= primary / near <= 1.25:
        book.fault(
            f"{path}.primary_voltage",
            element.primary_voltage,
            f"the busbar before it is at {show(near, 'V')}",
            "make the voltages of the path follow each other from the source",
        )
    tap = (
        element.tap.value
        if element.tap is not None
        else book.assumed(f"{path}.tap", 0.0, "pu", (-0.05, 0.05), f"middle tap; {_PRACTICE}")
    )
    impedance = transformer_impedance(
        secondary,
        element.rating.value,
        element.short_circuit_voltage.value,
        _transformer_resistance(element, path, book),
    )
    nominal = (
        element.nominal_voltage.value
        if element.nominal_voltage is not None
        else book.derived(
            f"{path}.nominal_voltage", secondary, "V", "taken as the secondary voltage of the transformer"
        )
    )
    if not 0.8 <= secondary / nominal <= 1.25:
        book.fault(
            f"{path}.nominal_voltage",
            element.nominal_voltage,
            f"the transformer gives {show(secondary, 'V')} there",
            "correct it or secondary_voltage",
        )
    return Piece(
        kind="transformer", impedance=(impedance,) * 3, ratio=secondary / (primary * (1 + tap)), nominal=nominal
    )


def _transformer_resistance(element: TransformerSection, path: str, book: Book) -> float:
    """Resistive part of the short-circuit voltage. [pu]"""
    uk, rating = element.short_circuit_voltage.value, element.rating.value
    if element.load_losses is not None and element.x_to_r is not None:
        book.fault(f"{path}.x_to_r", element.x_to_r, "load_losses say the same", "give one of the two")
    if element.load_losses is not None:
        share = element.load_losses.value / rating
        if share >= uk:
            raise book.give_up(
                f"{path}.load_losses",
                element.load_losses,
                f"they are {show(share, 'pu')} of the rating, and the short-circuit voltage is only {show(uk, 'pu')}",
                "check losses, rating and short_circuit_voltage",
            )
        return book.derived(f"{path}.resistance", share, "pu", "load losses / rating")
    if element.x_to_r is not None:
        return split_by_ratio(uk, element.x_to_r.value).real
    resistance = min(0.011, 0.7 * uk)
    return book.assumed(
        f"{path}.resistance",
        resistance,
        "pu",
        (0.6 * resistance, min(1.7 * resistance, 0.95 * uk)),
        f"load losses of about 1.1 % of the rating; {_PRACTICE}",
    )


def _cable(element: CableSection, near: float, path: str, book: Book) -> Piece:
    """Resistance at its temperature; one value for all states."""
    conductor = element.conductor or book.assumed_word(f"{path}.conductor", "copper", _PRACTICE)
    resistance, given_at = _cable_resistance(element, conductor, path, book)
    if element.temperature is not None:
        warm = element.temperature.value
    else:
        warm = book.assumed(f"{path}.temperature", 50.0, "degC", (20.0, 80.0), f"cores warm from running; {_PRACTICE}")
    resistance = book.derived(
        f"{path}.resistance at its temperature",
        at_temperature(resistance, conductor, given_at, warm),
        "ohm/m",
        "R' x (T0 + temperature) / (T0 + temperature of R'), T0 of IEC 60287-1-1 (from memory)",
    )
    if element.reactance is not None:
        reactance = element.reactance.value
    else:
        reactance = book.assumed(
            f"{path}.reactance", 0.08e-3, "ohm/m", (0.07e-3, 0.12e-3), f"cores close together; {_PRACTICE}"
        )
    runs = element.parallel_runs or int(book.assumed_word(f"{path}.parallel_runs", "1", "a single cable unless said"))
    nominal = element.nominal_voltage.value if element.nominal_voltage is not None else near
    impedance = cable_impedance(resistance, reactance, element.length.value, runs)
    return Piece(kind="cable", impedance=(impedance,) * 3, ratio=1.0, nominal=nominal)


def _cable_resistance(element: CableSection, conductor: str, path: str, book: Book) -> tuple[float, float]:
    """Resistance per length [ohm/m] and the temperature at which it holds [degC]."""
    if element.resistance is not None:
        if element.section is not None:
            book.fault(f"{path}.section", element.section, "the resistance is given already", "give one of the two")
        if element.resistance_temperature is not None:
            return element.resistance.value, element.resistance_temperature.value
        name = f"{path}.resistance_temperature"
        why = f"as in most cable tables; {_PRACTICE}"
        return element.resistance.value, book.assumed(name, 20.0, "degC", (20.0, 90.0), why)
    if element.section is None:
        raise book.give_up(
            f"{path}.resistance",
            "",
            "neither resistance nor section of the cable is given",
            'add resistance = "0.193 ohm/km" or section = "95 mm2"',
        )
    value = RESISTIVITY[conductor] / element.section.value
    why = "resistivity at 20 degC / section; the range holds the largest resistances of IEC 60228 (from memory)"
    return book.assumed(f"{path}.resistance", value, "ohm/m", (0.94 * value, 1.07 * value), why), 20.0
