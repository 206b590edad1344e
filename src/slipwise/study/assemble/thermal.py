"""From `[thermal]` to the network of the motor and the duties it is judged in."""

from __future__ import annotations

from slipwise.model.machine.motor import Motor
from slipwise.model.thermal.parameters import Given, class_rise, thermal_motor
from slipwise.study.assemble.book import Book, StopError
from slipwise.study.schema.thermal import ThermalDutySection, ThermalSection
from slipwise.study.thermal.model import DutyRequest, DutyStep, ThermalStudy

_PRACTICE = "common practice, no source"
_STANDING, _STARTING, _BRAKED, _STEPPED = ("S3", "S4", "S5"), ("S4", "S5"), ("S5", "S7"), ("S8", "S9")


def build_thermal(section: ThermalSection | None, motor: Motor, book: Book) -> ThermalStudy | None:
    """The network and the duties; None when the file has no `[thermal]`.

    Raises:
        InputError: the motor is known by its curves only, or a duty cannot be built.
    """
    if section is None:
        return None
    insulation = section.insulation or book.assumed_word("thermal.insulation", "F", f"usual class, {_PRACTICE}")
    why = "greatest ambient of IEC 60034-1 (from memory)"
    ambient = section.ambient.value if section.ambient else book.assumed("thermal.ambient", 40.0, "degC", (20, 40), why)
    permitted = ambient + class_rise(insulation, motor.rating.power)
    given = Given(
        insulation=insulation,
        rise=None if section.rise is None else section.rise.value,
        constant=None if section.time_constant is None else section.time_constant.value,
        ambient=ambient,
    )
    if given.rise is not None and ambient + given.rise > permitted:
        book.fault(
            "thermal.rise", section.rise, f"above what class {insulation} permits", "correct the rise or the class"
        )
    built = thermal_motor(motor, given)
    for row in built.estimates:
        if row.name != "motor.stall_time_hot":  # listed with the criteria already
            typical = row.typical
            book.assumed(row.name, typical.value, row.unit, (typical.low, typical.high), typical.source)
    duties = tuple(_duty(place, duty, book) for place, duty in enumerate(section.duty, start=1))
    if book.faults:
        raise StopError(*book.faults)
    return ThermalStudy(
        motor=built,
        ambient=ambient,
        permitted=permitted,
        starts=section.starts_in_a_row or int(book.assumed("thermal.starts_in_a_row", 3, "", (1, 3), _PRACTICE)),
        rest=0.0 if section.rest_time is None else section.rest_time.value,
        duties=duties,
    )


def _duty(place: int, section: ThermalDutySection, book: Book) -> DutyRequest:
    where = f"thermal.duty[{place}]"
    kind = section.type
    _check_braking(where, section, book)
    steps = _stepped(where, section, book) if kind in _STEPPED else _simple(where, section, book)
    return DutyRequest(
        name=section.name or f"{kind} ({place})",
        kind=kind,
        steps=steps,
        starts=kind in _STARTING or kind in _BRAKED,
        braking=section.braking or "",
    )


def _check_braking(where: str, section: ThermalDutySection, book: Book) -> None:
    if section.type in _BRAKED and section.braking is None:
        book.fault(f"{where}.braking", "", "this duty ends in braking", 'add braking = "direct current"')
    if section.type not in _BRAKED and section.braking is not None:
        book.fault(f"{where}.braking", section.braking, "this duty has no braking", 'leave it out or write type = "S5"')


def _simple(where: str, section: ThermalDutySection, book: Book) -> tuple[DutyStep, ...]:
    """Duties of one load: S1 to S7."""
    kind = section.type
    if section.step:
        book.fault(f"{where}.step", len(section.step), "steps belong to S8 and S9", "give load, on_time and off_time")
    needed = ["load"] + ["on_time"] * (kind != "S1") + ["off_time"] * (kind not in ("S1", "S2"))
    needed = [key for key in needed if not (kind == "S7" and key == "off_time")]
    missing = [key for key in needed if getattr(section, key) is None]
    for key in missing:
        book.fault(f"{where}.{key}", "", f"{kind} needs it", f'add {key} = "{"90 %" if key == "load" else "10 min"}"')
    if missing or section.load is None:
        return ()
    on = 0.0 if section.on_time is None else section.on_time.value
    loaded = DutyStep(seconds=on, load=section.load.value)
    if section.off_time is None or kind in ("S1", "S2"):
        return (loaded,)
    return loaded, DutyStep(seconds=section.off_time.value, load=0.0, speed=0.0 if kind in _STANDING else 1.0)


def _stepped(where: str, section: ThermalDutySection, book: Book) -> tuple[DutyStep, ...]:
    if not section.step:
        book.fault(f"{where}.step", "", f"{section.type} needs steps", 'add step = [{ time = "5 min", load = "90 %" }]')
    for key in ("load", "on_time", "off_time"):
        if getattr(section, key) is not None:
            book.fault(f"{where}.{key}", getattr(section, key), "the steps tell it", "leave it out")
    return tuple(
        DutyStep(seconds=s.time.value, load=s.load.value, speed=1.0 if s.speed is None else s.speed.value)
        for s in section.step
    )
