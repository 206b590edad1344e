"""Reads a study file: text to values, values to sections, sections to a Study; every fault with file and line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from slipwise.quantity.errors import Fault, InputError
from slipwise.study.assemble.motor import BuiltMotor
from slipwise.study.assemble.study import build, motor_alone
from slipwise.study.model import Study
from slipwise.study.reader_faults import faults_of
from slipwise.study.schema.study import MotorFile, study_file
from slipwise.study.text import scanner
from slipwise.study.text.values import values

T = TypeVar("T")
LARGEST = 1_000_000  # bytes; a study file is a page of text
_AT = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")
_UNQUOTED = re.compile(r"\s*(?P<key>[\w.\"'-]+)\s*=\s*(?P<value>[+-]?[0-9][^#\"'\[\]{}]*?)\s*(#.*)?$")


def load(path: Path) -> Study:
    """Reads a study file.

    Raises:
        InputError: it cannot be read, or anything in it is wrong; every fault with file, line, field, reason and remedy.
    """
    return loads(text_of(path), path)


def loads(
    text: str, file: Path | None = None, *, name: str = "study", files: Mapping[str, bytes] | None = None
) -> Study:
    """Reads a study from its text; `file` stands in messages and in the Study, `name` is the title when there is none.

    files: contents by plain name of what the study names; then nothing is read from disk.

    Raises:
        InputError: as `load`.
    """

    def made(sections: Any) -> Study:
        other = _alone if files is None else lambda path: _held(path, files)
        return build(sections, file, file.stem if file is not None else name, other, files)

    return read(text, file, study_file(), made)


def _held(path: Path, files: Mapping[str, bytes]) -> Study:
    """As `_alone`, of a file held in memory."""

    def made(sections: Any) -> Study:
        return build(sections, None, path.stem, files=files)

    try:
        return read(files[path.name].decode("utf-8"), None, study_file(), made)
    except UnicodeDecodeError:
        raise InputError(_file_fault(path, "it is not text in UTF-8", "save it as UTF-8 text")) from None


def _alone(path: Path) -> Study:
    """The study of a file, whatever group stands in it."""
    return read(text_of(path), path, study_file(), lambda sections: build(sections, path, path.stem))


def load_motor(path: Path) -> BuiltMotor:
    """Reads the motor alone: its plate, circuit or measurements; the file need have no other section, and none is looked at.

    Raises:
        InputError: as `load`.
    """
    return read(text_of(path), path, MotorFile, lambda sections: motor_alone(sections.motor, str(path.parent)))


def motor_of(text: str, files: Mapping[str, bytes]) -> BuiltMotor:
    """As `load_motor`, from a text and the files that it names. files: contents by plain name.

    Raises:
        InputError: as `load`.
    """
    return read(text, None, MotorFile, lambda sections: motor_alone(sections.motor, files=files))


def read(
    text: str,
    file: Path | None,
    model: type[BaseModel],
    make: Callable[[Any], T],
    root: type[BaseModel] | None = None,
) -> T:
    """Text to values, values to the sections of `model`, sections to what `make` makes of them.

    root: describes the whole file in messages; the study file when None.

    Raises:
        InputError: as `load`.
    """
    text = text.removeprefix("\ufeff")
    data = _values(text, file)
    try:
        sections = model.model_validate(data)
    except ValidationError as error:
        faults = faults_of(error.errors(include_url=False), data, root)
        raise _located(dict.fromkeys(faults), scanner.scan(text), file) from None
    try:
        return make(sections)
    except InputError as error:
        raise _located(error.faults, scanner.scan(text), file) from None


def text_of(path: Path) -> str:
    """The text of a file, or an InputError that says why not."""
    try:
        if path.is_dir():
            raise InputError(_file_fault(path, "it is a folder", "name a study file, as in pump.toml"))
        if path.stat().st_size > LARGEST:
            raise InputError(_file_fault(path, "it is larger than a megabyte", "name a study file, as in pump.toml"))
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        raise InputError(_file_fault(path, "there is no such file", "check the name and the folder")) from None
    except UnicodeDecodeError:
        raise InputError(_file_fault(path, "it is not text in UTF-8", "save it as UTF-8 text")) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(
            _file_fault(path, f"it cannot be read ({reason})", "check the file and its permissions")
        ) from None


def _file_fault(path: Path, reason: str, remedy: str) -> Fault:
    return Fault(field="study file", value="", reason=reason, remedy=remedy, file=path)


def _values(text: str, file: Path | None) -> dict[str, Any]:
    """The values as `tomllib` has them; what it refuses is told in the words of a study file."""
    try:
        return values(text)
    except RecursionError:
        fault = Fault(field="study file", value="", reason="it is nested too deeply", remedy="write plain tables")
        raise InputError(fault.located(file, None)) from None
    except ValueError as error:
        found = scanner.scan(text)
        if found.duplicates:
            doubles = _outermost(found.duplicates)
            raise InputError(*(_duplicate(d).located(file, d.second) for d in doubles)) from None
        raise InputError(_syntax(text, str(error), found).located(file, _error_line(text, str(error), found))) from None


def _outermost(doubles: list[scanner.Duplicate]) -> list[scanner.Duplicate]:
    """Without the keys of a table that is itself written twice."""
    paths = {double.path for double in doubles}
    return [d for d in doubles if not any(d.path[:size] in paths for size in range(1, len(d.path)))]


def _duplicate(double: scanner.Duplicate) -> Fault:
    if double.path == ("supply", "path"):
        return _single_brackets(f"it is written twice, first in line {double.first}")
    return Fault(
        field=scanner.dotted(double.path),
        value="",
        reason=f"it is written twice, first in line {double.first}",
        remedy="keep one",
    )


def _error_line(text: str, message: str, found: scanner.Scan) -> int | None:
    """Where TOML gave up."""
    at = _AT.search(message)
    if at is not None and at.group(1):
        return int(at.group(1))
    if at is not None:
        return text.count("\n") + (0 if text.endswith("\n") else 1)
    return None if found.stopped is None else text.count("\n", 0, found.stopped) + 1


def _single_brackets(reason: str) -> Fault:
    remedy = "write every element under [[supply.path]], with double brackets"
    return Fault(field="supply.path", value="", reason=reason, remedy=remedy)


def _syntax(text: str, message: str, found: scanner.Scan) -> Fault:
    """The usual slips against TOML, and its own words for the others."""
    number = _error_line(text, message, found)
    lines = text.splitlines()
    line = lines[number - 1] if number is not None and 0 < number <= len(lines) else ""
    slip = _UNQUOTED.match(line)
    if slip is not None and not _is_value(slip["value"]):
        key, value = slip["key"], slip["value"]
        if re.fullmatch(r"[+-]?[0-9]+,[0-9]+", value):
            return Fault(
                field=key,
                value=value,
                reason="it has a decimal comma",
                remedy=f"write {key} = {value.replace(',', '.')}",
            )
        return Fault(
            field=key, value=value[:80], reason="a quantity stands in quotes", remedy=f'write {key} = "{value[:80]}"'
        )
    if "=" in line and line.count('"') % 2:
        key = line.partition("=")[0].strip()
        return Fault(field=key, value="", reason="a quotation mark is missing", remedy='write the value as in "90 kW"')
    if "[supply.path]" in line:
        return _single_brackets("an earlier element stands in single brackets")
    words = _AT.sub("", message).strip().rstrip(".")
    shown = line.strip()[:80]
    return Fault(
        field="study file",
        value=shown,
        reason=f"it is not TOML: {words[:1].lower()}{words[1:]}",
        remedy='write one `key = "value"` a line, under a [section]',
    )


def _is_value(text: str) -> bool:
    try:
        tomllib.loads(f"x = {text}")
    except ValueError:
        return False
    return True


def _located(faults: Any, found: scanner.Scan, file: Path | None) -> InputError:
    """The faults with file and line, in the order of the lines."""
    by_name = {scanner.dotted(path): path for path in (*found.headers, *found.spans)}
    placed = [fault.located(file, fault.line or _line(fault.field, by_name, found)) for fault in faults]
    return InputError(*sorted(placed, key=lambda fault: fault.line or 0))


def _line(field: str, by_name: dict[str, scanner.Path], found: scanner.Scan) -> int | None:
    """The line of a field, or of the table it belongs to."""
    while field:
        if field in by_name:
            return found.line(by_name[field])
        within = re.match(r"(.*)(?:\.[^.\[\]]+|\[\d+\])$", field)
        field = within.group(1) if within is not None else ""
    return None
