"""Poles, frequency and connection where `[motor]` does not say them: what follows from the speed, what is likely."""

from __future__ import annotations

from dataclasses import replace

from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book
from slipwise.study.schema.motor import NOT_STATED, MotorSection

_FRAME = ("rated_frequency", "poles", "connection")
_EXACT = ("circuit", "curves", "readings", "recording")
_EXAMPLES = {"rated_frequency": '"50 Hz"', "poles": "4", "connection": '"delta"'}


def completed(section: MotorSection, book: Book) -> MotorSection:
    """The section with its frame whole, every value filled in entered in the book with where it came from.

    Raises:
        InputError: ohms, curves or readings are given, whose meaning rests on the frame, and part of it is missing (the faults
            are in the book too); or no number of poles goes with the speed.
    """
    open_names = [name for name in _FRAME if getattr(section, name) in {NOT_STATED, 0, ""}]
    if not open_names:
        return section
    for table in _EXACT:
        if getattr(section, table, None) is not None:
            reason = f"it is missing, and [motor.{table}] means nothing certain without it"
            for name in open_names[1:]:
                book.fault(f"motor.{name}", "", reason, f"add {name} = {_EXAMPLES[name]}")
            name = open_names[0]
            raise book.give_up(f"motor.{name}", "", reason, f"add {name} = {_EXAMPLES[name]}")
    from slipwise.identify.plate_partial import PartialPlate, whole_plate

    whole = whole_plate(
        PartialPlate(
            power=section.rated_power.value,
            voltage=section.rated_voltage.value,
            frequency=section.rated_frequency.value or None,
            poles=section.poles or None,
            connection=section.connection or None,
            speed=None if section.rated_speed is None else section.rated_speed.value,
        )
    )
    for row in whole.filled:
        book.estimated(replace(row, text=row.text or f"{row.value:g} {row.unit}".strip()))
    plate = whole.plate
    frequency = section.rated_frequency
    if "rated_frequency" in open_names:
        frequency = Parsed(value=plate.frequency, unit="Hz", text=f"{plate.frequency:g} Hz")
    return section.model_copy(
        update={"rated_frequency": frequency, "poles": plate.poles, "connection": plate.connection}
    )
