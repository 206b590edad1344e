"""From `[motor.recording]` to a motor: the recorded start fitted, and the motor then built as if its circuit were given."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.units import Parsed
from slipwise.study.assemble.book import Book, StopError
from slipwise.study.assemble.plate import plate_of, value
from slipwise.study.schema.motor import CircuitSection, MotorSection

if TYPE_CHECKING:
    from slipwise.identify.records import Plate
    from slipwise.identify.start_fit import StartFit
    from slipwise.study.assemble.motor import BuiltMotor

Held = tuple[tuple[str, bytes], ...]  # contents by plain name
_CIRCUIT = ("R1", "X1", "Xm", "Rfe", "R2", "X2", "R3", "X3")


def by_recording(section: MotorSection, book: Book, build: Callable[[MotorSection, Book], BuiltMotor]) -> BuiltMotor:
    """The motor of a recorded start. build: `build_motor`, called again with the circuit found.

    Raises:
        InputError: the recording cannot be read or is no start of this motor; as `identify.start_fit.fit_start`.
    """
    given = section.recording
    assert given is not None
    for name in ("circuit", "curves", "bars", "saturation", "readings"):
        if getattr(section, name) is not None:
            reason = "the motor is given twice, by this and by a recorded start"
            book.fault(f"motor.{name}", "", reason, "keep one of the two tables")
    book.close()
    channels = {} if given.channels is None else given.channels.model_dump(exclude_none=True)
    names = tuple((name, ours) for ours, name in channels.items())
    fit = _fitted(_source(given.file, book), names, plate_of(section), given.cages or 2, value(given.temperature))
    _enter(fit, book)
    built = build(with_circuit(section, fit), book)
    return replace(built, recording=fit.result)


def _source(file: str, book: Book) -> Path | tuple[str, Held]:
    """Where the recording is: on disk, or its name and the contents held."""
    if book.files is None:
        return Path(book.folder) / file
    name = book.held("motor.recording.file", file)
    if name is None:
        raise StopError(book.faults[-1])
    stem = Path(name).stem
    return name, tuple((other, content) for other, content in book.files.items() if Path(other).stem == stem)


def _fitted(
    source: Path | tuple[str, Held],
    names: tuple[tuple[str, str], ...],
    plate: Plate,
    cages: int,
    temperature: float | None,
) -> StartFit:
    from slipwise.identify.recording_file import read_recording
    from slipwise.identify.start_fit import fit_start

    if not isinstance(source, Path):
        return _fitted_held(source, names, plate, cages, temperature)
    recording = read_recording(source, names=dict(names))
    return fit_start(recording, plate, cages=cages, temperature=temperature)


@lru_cache(maxsize=4)
def _fitted_held(
    source: tuple[str, Held], names: tuple[tuple[str, str], ...], plate: Plate, cages: int, temperature: float | None
) -> StartFit:
    """The fit to a recording held in memory, made once for studies that differ in load or supply only."""
    from slipwise.identify.recording_file import recording_of
    from slipwise.identify.start_fit import fit_start

    recording = recording_of(source[0], dict(source[1]), names=dict(names))
    return fit_start(recording, plate, cages=cages, temperature=temperature)


def _enter(fit: StartFit, book: Book) -> None:
    """What was found, with its ranges."""
    for row in fit.result.values:
        where = f"motor.circuit.{row.symbol}" if row.symbol in _CIRCUIT else f"motor.recording.{row.symbol}"
        told = f"{row.name}: fitted to the recorded start {fit.result.source}, 95 % range"
        book.estimated(
            Sourced(
                name=where,
                value=row.value,
                unit=row.unit,
                origin=Origin.ESTIMATED,
                low=row.low,
                high=row.high,
                why=told,
            )
        )
    for sentence in fit.result.indistinct:
        book.assumed_word("motor.recording", sentence, "what the recording cannot tell")


def with_circuit(section: MotorSection, fit: StartFit) -> MotorSection:
    """The section with the circuit found, and without the recording."""
    circuit, motor = fit.motor.circuit, fit.motor
    assert circuit is not None
    ohms = {"R1": circuit.R1, "X1": circuit.X1, "Xm": circuit.Xm, "Rfe": circuit.Rfe}
    for place, branch in enumerate(circuit.rotor, start=2):
        ohms |= {f"R{place}": branch.R, f"X{place}": branch.X}
    known: dict[str, Any] = {name: _parsed(number, "ohm") for name, number in ohms.items()}
    found = CircuitSection.model_construct(
        values="star equivalent",
        **known,
        temperature_R1=_parsed(motor.stator_temperature, "degC"),
        temperature_R2=_parsed(motor.rotor_temperature, "degC"),
        stator_conductor=motor.stator_conductor,
        rotor_conductor=motor.rotor_conductor,
    )
    update: dict[str, Any] = {"recording": None, "circuit": found}
    if section.stray_load_loss is None:
        update["stray_load_loss"] = _parsed(motor.stray, "W")
    if section.inertia is None:
        update["inertia"] = _parsed(motor.inertia, "kg m2")
    return section.model_copy(update=update)


def _parsed(number: float, unit: str) -> Parsed:
    return Parsed(value=number, unit=unit, text=f"{number:.5g} {unit}")
