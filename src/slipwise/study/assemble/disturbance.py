"""From `[[disturbance]]` to what is asked about bad supplies."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from math import sqrt

from slipwise.limits.protection import winding_share
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import DomainError
from slipwise.quantity.units import Parsed
from slipwise.solve.disturbed.unbalance import from_share, line_voltages
from slipwise.study.assemble.book import Book, StopError
from slipwise.study.disturbance.model import (
    DisturbanceRequest,
    OffNominal,
    OpenLine,
    Request,
    ReversedPhases,
    SupplyReturn,
    Unbalance,
    VoltageDip,
)
from slipwise.study.protection.model import ProtectionStudy
from slipwise.study.schema.disturbance import (
    DIP,
    INTERRUPTION,
    OFF_NOMINAL,
    OPEN_LINE,
    REVERSED,
    TRANSFER,
    UNBALANCE,
    DisturbanceSection,
)

_PRACTICE = "common practice, no source"
USUAL_CLASS = "10A"
DROP_OUT = 0.65  # pu: contactors drop out near 65 to 70 % of their voltage, common practice, no source
_VOLTS = ("voltage_12", "voltage_23", "voltage_31")
_TAKES: Mapping[str, tuple[str, ...]] = {
    UNBALANCE: (*_VOLTS, "negative_sequence"),
    OPEN_LINE: (),
    DIP: ("remaining_voltage", "duration", "drop_out_voltage"),
    INTERRUPTION: ("duration", "scatter"),
    TRANSFER: ("dead_time", "source_angle", "scatter"),
    REVERSED: (),
    OFF_NOMINAL: ("voltage", "frequency"),
}
_NEEDS: Mapping[str, tuple[tuple[str, str], ...]] = {
    DIP: (("remaining_voltage", "60 %"), ("duration", "0.3 s")),
    INTERRUPTION: (("duration", "0.5 s"),),
    TRANSFER: (("dead_time", "80 ms"),),
}
_Part = Callable[[str, DisturbanceSection, Motor, ProtectionStudy, Book], Request]


def build_disturbances(
    sections: Sequence[DisturbanceSection], motor: Motor, guarded: ProtectionStudy, book: Book
) -> tuple[DisturbanceRequest, ...]:
    """What is asked, in the order of the file; empty when the file has none.

    Raises:
        InputError: the motor is known by its curves only, or a key is missing, out of place or out of reason.
    """
    if not sections:
        return ()
    if motor.circuit is None:
        raise book.give_up(
            "disturbance", sections[0].kind, "curves do not tell what a bad supply does", "give a circuit or a plate"
        )
    seen: Counter[str] = Counter()
    found = []
    for place, section in enumerate(sections, start=1):
        where = f"disturbance[{place}]"
        _check_keys(where, section, book)
        seen[section.kind] += 1
        key = section.kind.replace(" ", "_") + (f"_{seen[section.kind]}" if seen[section.kind] > 1 else "")
        title = f"{section.kind.capitalize()}: {section.name}" if section.name else section.kind.capitalize()
        try:
            asked = _PARTS[section.kind](where, section, motor, guarded, book)
        except StopError:
            continue
        found.append(DisturbanceRequest(key=key, title=title, kind=section.kind, asked=asked))
    if book.faults:
        raise StopError(*book.faults)
    return tuple(found)


def _check_keys(where: str, section: DisturbanceSection, book: Book) -> None:
    """Nothing that belongs to another kind, everything this one needs."""
    takes = _TAKES[section.kind]
    for key in type(section).model_fields:
        value = getattr(section, key)
        if key not in ("kind", "name", *takes) and value is not None:
            remedy = f"leave it out; this kind takes {', '.join(takes)}" if takes else "leave it out"
            book.fault(f"{where}.{key}", value, f'does not belong to kind "{section.kind}"', remedy)
    for key, example in _NEEDS.get(section.kind, ()):
        if getattr(section, key) is None:
            book.fault(f"{where}.{key}", "", f'kind "{section.kind}" needs it', f'add {key} = "{example}"')


def _value(given: Parsed | None) -> float:
    return 0.0 if given is None else given.value


def _unbalance(
    where: str, section: DisturbanceSection, motor: Motor, _guarded: ProtectionStudy, book: Book
) -> Unbalance:
    volts = [getattr(section, key) for key in _VOLTS]
    share = section.negative_sequence
    if (share is None) == all(v is None for v in volts):
        reason = "give either three line voltages or the negative sequence" + (", not both" if share else "")
        raise book.give_up(
            where, section.kind, reason, 'write voltage_12 = "410 V" and so on, or negative_sequence = "2 %"'
        )
    if share is not None:
        return Unbalance(lines=from_share(motor.rating.voltage, share.value), by_share=True)
    for key, value in zip(_VOLTS, volts, strict=True):
        _check_voltage(f"{where}.{key}", value, motor, book)
    first, second, third = (_value(v) for v in volts)
    try:
        if min(first, second, third) > 0:
            return Unbalance(lines=line_voltages((first, second, third)), by_share=False)
    except DomainError as error:
        fault = error.faults[0]
        book.fault(where, f"{first:g} V, {second:g} V, {third:g} V", fault.reason, "check the three line voltages")
    raise StopError(*book.faults)


def _check_voltage(name: str, value: Parsed | None, motor: Motor, book: Book) -> None:
    rated = motor.rating.voltage
    if value is None:
        book.fault(name, "", "all three line voltages are needed", f'add {name.rpartition(".")[2]} = "{rated:g} V"')
    elif abs(value.value * sqrt(3) / rated - 1) < 0.1:
        book.fault(name, value, "a phase voltage, it seems, sqrt(3) below the rated one", "give it from line to line")
    elif not 0.7 <= value.value / rated <= 1.3:
        book.fault(
            name, value, f"more than 30 % off the rated {rated:g} V", 'check it, or look at kind = "dip" or "open line"'
        )


def _open_line(
    _where: str, _section: DisturbanceSection, motor: Motor, guarded: ProtectionStudy, book: Book
) -> OpenLine:
    """The relay is that of `[protection]`; what stands not there is the usual one."""
    relay = guarded.relay
    place = relay.place or "line"
    known = {row.name for row in book.rows}
    if relay.trip_class is None and "protection.trip_class" not in known:
        book.assumed_word("protection.trip_class", USUAL_CLASS, f"usual class of a direct start, {_PRACTICE}")
    if relay.setting is None and "protection.setting" not in known:
        rated = motor.rating.current * (winding_share(motor) if place == "winding" else 1.0)
        book.derived("protection.setting", rated, "A", f"rated current in the {place}")
    return OpenLine(
        trip_class=relay.trip_class or USUAL_CLASS,
        place=place,
        setting=relay.setting or motor.rating.current * (winding_share(motor) if place == "winding" else 1.0),
        sensitive=guarded.sensitive,
    )


def _dip(where: str, section: DisturbanceSection, _motor: Motor, _guarded: ProtectionStudy, book: Book) -> VoltageDip:
    given = section.drop_out_voltage
    level = (
        given.value
        if given
        else book.assumed(f"{where}.drop_out_voltage", DROP_OUT, "pu", (0.5, 0.75), f"contactors, {_PRACTICE}")
    )
    return VoltageDip(
        remaining=_value(section.remaining_voltage),
        duration=_value(section.duration),
        drop_out=level,
        drop_out_source="given by user" if given else _PRACTICE,
    )


def _scatter(where: str, section: DisturbanceSection, dead: float, book: Book) -> float:
    if section.scatter is None:
        return book.assumed(f"{where}.scatter", min(0.01, 0.5 * dead), "s", (0.0, 0.03), f"breakers, {_PRACTICE}")
    if section.scatter.value >= dead > 0:
        book.fault(f"{where}.scatter", section.scatter, "as long as the interruption itself", "give a smaller one")
    return section.scatter.value


def _interruption(
    where: str, section: DisturbanceSection, _motor: Motor, _guarded: ProtectionStudy, book: Book
) -> SupplyReturn:
    dead = _value(section.duration)
    return SupplyReturn(dead_time=dead, scatter=_scatter(where, section, dead, book))


def _transfer(
    where: str, section: DisturbanceSection, _motor: Motor, _guarded: ProtectionStudy, book: Book
) -> SupplyReturn:
    dead = _value(section.dead_time)
    lead = (
        section.source_angle.value
        if section.source_angle
        else book.assumed(f"{where}.source_angle", 0.0, "rad", (-0.35, 0.35), f"sources in step, {_PRACTICE}")
    )
    return SupplyReturn(dead_time=dead, scatter=_scatter(where, section, dead, book), lead=lead, transfer=True)


def _reversed(
    _where: str, _section: DisturbanceSection, _motor: Motor, _guarded: ProtectionStudy, _book: Book
) -> ReversedPhases:
    return ReversedPhases()


def _off_nominal(
    where: str, section: DisturbanceSection, _motor: Motor, _guarded: ProtectionStudy, book: Book
) -> OffNominal:
    if section.voltage is None and section.frequency is None:
        raise book.give_up(where, section.kind, "neither voltage nor frequency is off", 'add voltage = "92 %"')
    voltage, frequency = (
        1.0 if v is None else v.value for v in (section.voltage, section.frequency)
    )  # what is not named is as rated
    for key, value in (("voltage", section.voltage), ("frequency", section.frequency)):
        if value is None:
            book.assumed(f"{where}.{key}", 1.0, "pu", (1.0, 1.0), "not named, so as rated")
    return OffNominal(voltage=voltage, frequency=frequency)


_PARTS: Mapping[str, _Part] = {
    UNBALANCE: _unbalance,
    OPEN_LINE: _open_line,
    DIP: _dip,
    INTERRUPTION: _interruption,
    TRANSFER: _transfer,
    REVERSED: _reversed,
    OFF_NOMINAL: _off_nominal,
}
