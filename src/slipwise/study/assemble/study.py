"""From the validated study file to a Study: motor, load, supply, limits and ways, with the origin of every value."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from slipwise.methods.starting import STARTING
from slipwise.quantity.errors import InputError
from slipwise.study.assemble.book import Book, StopError, enter_given
from slipwise.study.assemble.disturbance import build_disturbances
from slipwise.study.assemble.group import build_group
from slipwise.study.assemble.load_cases import build_loads
from slipwise.study.assemble.motor import BuiltMotor, build_motor
from slipwise.study.assemble.partial import completed
from slipwise.study.assemble.protection import build_protection
from slipwise.study.assemble.speed import build_speed
from slipwise.study.assemble.starting import (
    build_limits,
    build_tolerances,
    pause_scatter,
    switching_angles,
)
from slipwise.study.assemble.stopping import build_stopping
from slipwise.study.assemble.supply import supply_cases
from slipwise.study.assemble.thermal import build_thermal
from slipwise.study.assemble.ways import order, requests
from slipwise.study.model import Study
from slipwise.study.schema.motor import MotorSection

T = TypeVar("T")


def build(
    sections: Any,
    file: Path | None,
    name: str,
    other: Callable[[Path], Study] | None = None,
    files: Mapping[str, bytes] | None = None,
) -> Study:
    """Builds the study.

    Args:
        sections: validated by `schema.study_file()`.
        file: where it was read from. name: title when none is given.
        other: reads another file's study for the group; None leaves the group out.
        files: contents by plain name of what the study names, in place of the folder of `file`.

    Raises:
        InputError: every fault found; without file and line, which the reader adds.
    """
    book = Book(folder=str(file.parent) if file is not None else "", files=files)
    enter_given(book, sections)
    title = sections.title or book.assumed_word("title", name, "name of the file")
    motor_section = _attempt(book, lambda: completed(sections.motor, book))
    if motor_section is None:
        book.close()
        raise AssertionError("a motor that cannot be completed leaves a fault")
    sections = sections.model_copy(update={"motor": motor_section})
    built = _attempt(book, lambda: build_motor(motor_section, book))
    volts, hertz = sections.motor.rated_voltage.value, sections.motor.rated_frequency.value
    supply = _attempt(book, lambda: supply_cases(sections.supply, sections.starting, volts, hertz, book))
    tolerances = build_tolerances(sections.tolerances, book, regulated=sections.supply.path[0].kind == "generator")
    if built is None:
        book.close()
        raise AssertionError("a motor that was not built leaves a fault")
    load = _attempt(book, lambda: build_loads(sections.load, built.motor, book))
    rating = built.motor.rating
    others = (sections.speed, sections.stopping)  # a study may have any of them
    starting = "starting" in sections.model_fields_set or all(part is None for part in others)
    ways = requests("starting", sections.starting, STARTING, rating, book) if starting else ()
    limits = build_limits(sections.limits, rating, book)
    preferred = order("starting", sections.starting, STARTING, book) if starting else ()
    angles = switching_angles(sections.starting, book) if starting else 1
    scatter = pause_scatter(sections.starting, book) if starting else 0.0
    book.close()
    assert supply is not None
    assert load is not None
    motor, driven, path = built.motor, load.load, supply.nominal
    speed = _attempt(book, lambda: build_speed(sections, motor, driven, path, book))
    thermal = _attempt(book, lambda: build_thermal(sections.thermal, motor, book))
    states = load.loads
    stopping = build_stopping(sections.stopping, sections.starting, rating, states, speed, book)
    guarded = _attempt(book, lambda: build_protection(sections.protection, motor, path, thermal, book))
    book.close()
    assert guarded is not None
    disturbances = _attempt(book, lambda: build_disturbances(sections.disturbance, motor, guarded, book))
    book.close()
    per_hour = sections.starting.starts_per_hour
    study = Study(
        title=title,
        motor=built.motor,
        load=load.load,
        loads=load.loads,
        pulses=load.pulses,
        supply=supply,
        limits=limits,
        tolerances=tolerances,
        ways=ways,
        order=preferred,
        starts_per_hour=None if per_hour is None else per_hour.value,
        switching_angles=angles,
        pause_scatter=scatter,
        inputs=tuple(book.rows),
        plate=built.plate,
        nameplate=built.nameplate,
        identification=built.identification,
        speed=speed,
        thermal=thermal,
        stopping=stopping,
        disturbances=disturbances or (),
        protection=guarded,
        file=file,
    )
    if other is None or sections.group is None:
        return study
    group = build_group(sections.group, study, book, other)
    return replace(study, group=group, inputs=tuple(book.rows))


def motor_alone(section: MotorSection, folder: str = "", files: Mapping[str, bytes] | None = None) -> BuiltMotor:
    """The motor of a file without load and supply. files: as of `build`.

    Raises:
        InputError: every fault found; without file and line, which the reader adds.
    """
    book = Book(folder=folder, files=files)
    built = _attempt(book, lambda: _with_section(completed(section, book), book))
    book.close()
    assert built is not None
    return built


def _with_section(section: MotorSection, book: Book) -> BuiltMotor:
    return replace(build_motor(section, book), section=section)


def _attempt(book: Book, part: Callable[[], T]) -> T | None:
    """A part, or None with its faults in the book, so that the search for faults goes on."""
    try:
        return part()
    except StopError:
        return None
    except InputError as error:
        book.faults.extend(fault for fault in error.faults if fault not in book.faults)
        return None
