"""From `[[supply.path]]` to the path in its ordinary, weakest and strongest state, referred to the motor's level."""

from __future__ import annotations

from math import sqrt
from typing import Any

from slipwise.model.supply.path import BaseLoad, Busbar, ChangeLimits, Link, LoadModel, SupplyCases, SupplyPath
from slipwise.quantity.show import show
from slipwise.solve.network import held_at
from slipwise.study.assemble.book import Book
from slipwise.study.assemble.elements import Piece, element_piece, network_piece
from slipwise.study.assemble.generator import generator_piece, regulated_level
from slipwise.study.assemble.voltage_change import limits_by_starts
from slipwise.study.schema.supply import (
    BaseLoadSection,
    ElementSection,
    GeneratorSection,
    NetworkSection,
    SupplySection,
)

_PRACTICE = "common practice, no source"


def supply_cases(
    section: SupplySection, starting: Any, motor_voltage: float, frequency: float, book: Book
) -> SupplyCases:
    """Builds the three states of the path; a generator's internal voltage is that which its regulator holds before the start.

    Args:
        section: validated `[supply]`. starting: validated `[starting]`, for limits that hang on the number of starts.
        motor_voltage: rated line voltage of the motor, to catch a path that ends at another level. [V]
        frequency: rated frequency, at which all reactances are understood. [Hz]

    Raises:
        InputError: the path cannot be built; the fault is in the book.
    """
    first = section.path[0]
    if not isinstance(first, NetworkSection | GeneratorSection):
        raise book.give_up(
            "supply.path[1].kind",
            f'"{first.kind}"',
            "a path begins at the source",
            'put a path element of kind "network" or "generator" first',
        )
    generator = isinstance(first, GeneratorSection)
    pieces = [generator_piece(first, book) if isinstance(first, GeneratorSection) else network_piece(first, book)]
    for place, element in enumerate(section.path[1:], start=2):
        pieces.append(element_piece(element, pieces[-1].nominal, f"supply.path[{place}]", book))
    _check_names(section, book)
    _check_level(section, pieces, motor_voltage, book)
    busbars = _busbars(section, pieces, starting, book)
    source = _source_voltage(first, book) * _downstream(pieces, 0)
    nominal, weak, strong = (
        SupplyPath(voltage=source, frequency=frequency, links=_links(pieces, busbars, state)) for state in range(3)
    )
    found = SupplyCases(nominal=nominal, weak=weak, strong=strong)
    return _regulated(found, source / (pieces[0].nominal * _downstream(pieces, 0))) if generator else found


def _regulated(cases: SupplyCases, level: float) -> SupplyCases:
    """The generator's internal voltage as its regulator has set it for the load it carries before the start.

    level: of the first busbar, pu of its nominal voltage. Raises InputError when the base load is too heavy for it.
    """
    return SupplyCases(
        nominal=held_at(cases.nominal, level), weak=held_at(cases.weak, level), strong=held_at(cases.strong, level)
    )


def _downstream(pieces: list[Piece], place: int) -> float:
    """Volts at the motor's level per volt at the far end of piece `place`."""
    ratio = 1.0
    for piece in pieces[place + 1 :]:
        ratio *= piece.ratio
    return ratio


def _links(pieces: list[Piece], busbars: tuple[Busbar, ...], state: int) -> tuple[Link, ...]:
    return tuple(
        Link(
            name=bus.name,
            kind=piece.kind,
            impedance=piece.impedance[state] * _downstream(pieces, i) ** 2,
            busbar=bus,
            engine_power=piece.engine_power,
            engine_source=piece.engine_source,
        )
        for i, (piece, bus) in enumerate(zip(pieces, busbars, strict=True))
    )


def _source_voltage(network: NetworkSection | GeneratorSection, book: Book) -> float:
    """Voltage behind the source impedance, at its own level; of a generator that at its terminals before the start. [V]"""
    if isinstance(network, GeneratorSection):
        return regulated_level(network, book)
    name = "supply.path[1].source_voltage"
    if network.source_voltage is not None:
        return network.source_voltage.value * network.voltage.value
    return (
        book.assumed(name, 1.0, "pu", (0.95, 1.05), f"nominal voltage behind the source; {_PRACTICE}")
        * network.voltage.value
    )


def _check_names(section: SupplySection, book: Book) -> None:
    """Every busbar has a name of its own."""
    seen: dict[str, int] = {}
    for place, element in enumerate(section.path, start=1):
        if element.busbar in seen:
            book.fault(
                f"supply.path[{place}].busbar",
                f'"{element.busbar}"',
                f"path element {seen[element.busbar]} has that name",
                "give every busbar its own name",
            )
        seen.setdefault(element.busbar, place)


def _check_level(section: SupplySection, pieces: list[Piece], motor_voltage: float, book: Book) -> None:
    """The path ends near the motor's voltage."""
    if not 0.8 <= pieces[-1].nominal / motor_voltage <= 1.25:
        book.fault(
            f"supply.path[{len(pieces)}].busbar",
            f'"{section.path[-1].busbar}"',
            f"the path ends at {show(pieces[-1].nominal, 'V')}, and the motor is for {show(motor_voltage, 'V')}",
            "add the transformer that is missing, or check the voltages",
        )


def _busbars(section: SupplySection, pieces: list[Piece], starting: Any, book: Book) -> tuple[Busbar, ...]:
    last = len(pieces) - 1
    found = []
    for i, (element, piece) in enumerate(zip(section.path, pieces, strict=True)):
        path = f"supply.path[{i + 1}]"
        limit, source, changes = _limits(element, path, i == last, (starting, piece.nominal), book)
        load = None if element.base_load is None else _base_load(element.base_load, f"{path}.base_load", book)
        found.append(
            Busbar(
                name=element.busbar,
                nominal=piece.nominal,
                referral=_downstream(pieces, i),
                load=load,
                dip_limit=limit,
                dip_source=source,
                changes=changes,
            )
        )
    return tuple(found)


def _limits(
    element: ElementSection, path: str, last: bool, by: tuple[Any, float], book: Book
) -> tuple[float | None, str, ChangeLimits | None]:
    """The greatest dip, where that limit is from, and limits of its course. by: `[starting]`, nominal voltage [V]."""
    if element.change_limits is None:
        return (*_dip_limit(element, path, last, book), None)
    if element.dip_limit is not None:
        reason = f"{element.change_limits} sets that limit already"
        book.fault(f"{path}.dip_limit", element.dip_limit, reason, "leave out `dip_limit` or `change_limits`")
    limit, changes = limits_by_starts(*by, path, book)
    return limit, changes.source, changes


def _dip_limit(element: ElementSection, path: str, last: bool, book: Book) -> tuple[float | None, str]:
    """The busbar's own limit: as given, else that of the trade; the last busbar is judged by its voltage alone."""
    name = f"{path}.dip_limit"
    if element.dip_limit is not None:
        return element.dip_limit.value, "given by user"
    if isinstance(element, NetworkSection):
        why = "connection point: 3 % where starts are frequent, up to 7 % where rare; IEC 61000-3-3 family, from memory"
        return book.assumed(name, 0.03, "pu", (0.03, 0.07), why), why
    if isinstance(element, GeneratorSection):
        why = "generator, 20 % (class G2), 15 to 25 % by performance class; ISO 8528-5, from memory"
        return book.assumed(name, 0.20, "pu", (0.15, 0.25), why), why
    if last:
        book.assumed_word(name, "none", "the last busbar is judged by limits.terminal_voltage")
        return None, ""
    why = f"own busbar, 10 %, up to 15 % where contactors and other motors ride through; {_PRACTICE}"
    return book.assumed(name, 0.10, "pu", (0.10, 0.15), why), why


def _base_load(section: BaseLoadSection, path: str, book: Book) -> BaseLoad:
    """Complex power at nominal voltage; lagging is positive. [VA]"""
    if section.power_factor is not None:
        cosine = section.power_factor.value
    else:
        cosine = book.assumed(f"{path}.power_factor", 0.85, "pu", (0.7, 0.97), f"mixed works load; {_PRACTICE}")
    apparent = section.power.value if section.power.unit == "VA" else section.power.value / cosine
    power = apparent * complex(cosine, sqrt(1 - cosine**2))
    word = section.model or book.assumed_word(
        f"{path}.model", LoadModel.CONSTANT_POWER.value, f"the less favourable of the two; {_PRACTICE}"
    )
    return BaseLoad(power=power, model=LoadModel(word))
