"""The states a load may be found in, `[[load.case]]`, and the cycle it repeats while running, `[[load.duty]]`."""

from __future__ import annotations

import re
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, replace

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.quantity.errors import Fault
from slipwise.quantity.provenance import Sourced
from slipwise.solve.duty import Pulse
from slipwise.study.assemble.book import Book, StopError
from slipwise.study.assemble.load import build_load
from slipwise.study.assemble.shaft import gear_of
from slipwise.study.schema.load import LoadCaseSection, LoadSection

_EITHER = (("torque", "shaft_power"), ("belt_pull", "belt_friction"), ("gear_ratio", "motor_pulley", "driven_pulley"))


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltLoad:
    """The load; the same in each of its named states, empty when the file names none; and the cycle it repeats."""

    load: Load
    loads: tuple[tuple[str, Load], ...] = ()
    pulses: tuple[Pulse, ...] = ()


def build_loads(section: LoadSection, motor: Motor, book: Book) -> BuiltLoad:
    """The load in every state, at the motor shaft; the first state stands for the load where one is enough.

    Raises:
        InputError: it cannot be built; the faults are in the book.
    """
    if not section.case:
        return BuiltLoad(load=build_load(section, motor, book), pulses=_pulses(section, motor, book))
    _check_names(section, book)
    found, rows = [], []
    for place, case in enumerate(section.case, start=1):
        apart = Book()
        with suppress(StopError):  # its fault is in the book
            found.append((case.name, build_load(_merged(section, case), motor, apart)))
        book.faults += [f for f in (_placed(fault, case, place) for fault in apart.faults) if f not in book.faults]
        rows.append(apart.rows)
    _enter(rows, book)
    if len(found) < len(section.case):
        raise StopError(*book.faults)
    return BuiltLoad(load=found[0][1], loads=tuple(found), pulses=_pulses(section, motor, book))


def _check_names(section: LoadSection, book: Book) -> None:
    count = Counter(case.name for case in section.case)
    for place, case in enumerate(section.case, start=1):
        if count[case.name] > 1:
            book.fault(
                f"load.case[{place}].name", f'"{case.name}"', "two cases have that name", "name each its own way"
            )


def _merged(section: LoadSection, case: LoadCaseSection) -> LoadSection:
    """The load with what the case replaces; a key that says the same in another way gives place to it."""
    own = {name: getattr(case, name) for name in case.model_fields_set if name != "name"}
    cleared = {other: None for group in _EITHER for name in group if name in own for other in group if other not in own}
    return section.model_copy(update={**cleared, **own, "case": (), "duty": ()})


def _placed(fault: Fault, case: LoadCaseSection, place: int) -> Fault:
    """A fault named where the key stands: in the case, or in what the cases share."""
    key = fault.field.removeprefix("load.").partition(".")[0]
    if key not in case.model_fields_set:
        return fault
    return replace(fault, field=fault.field.replace("load.", f"load.case[{place}].", 1))


def _enter(rows: list[list[Sourced]], book: Book) -> None:
    """What was assumed or derived: once where all cases agree, else under the name of its case."""
    for place, found in enumerate(rows, start=1):
        for row in found:
            if all(row in other for other in rows):
                if place == 1:
                    book.rows.append(row)
            else:
                book.rows.append(replace(row, name=re.sub(r"^load\.", f"load.case[{place}].", row.name)))


def _pulses(section: LoadSection, motor: Motor, book: Book) -> tuple[Pulse, ...]:
    """The pieces of the cycle at the motor shaft."""
    if not section.duty:
        return ()
    apart = Book()  # gear and speed are in the book already
    gear = gear_of(section, apart)
    speed = motor.rating.speed / gear.ratio if section.speed is None else section.speed.value
    found = []
    for place, piece in enumerate(section.duty, start=1):
        name = f"load.duty[{place}]"
        if piece.torque is not None and piece.power is not None:
            book.fault(f"{name}.power", piece.power, "the torque is given already", "give one of the two")
        if piece.torque is None and piece.power is None:
            book.fault(f"{name}.torque", "", "neither torque nor power is given", 'add torque = "4 kN m", or "0 N m"')
        torque = 0.0 if piece.torque is None else piece.torque.value
        if piece.power is not None:
            torque = book.derived(f"{name}.torque", piece.power.value / speed, "N m", "power / speed")
        found.append(Pulse(seconds=piece.time.value, torque=gear.torque(torque)))
    return tuple(found)
