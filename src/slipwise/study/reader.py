"""Reads a study file: text to values, values to sections, sections to a Study; every fault with file and line."""

from __future__ import annotations

import re
import tomllib
from difflib import get_close_matches
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from slipwise.quantity.errors import Fault, InputError
from slipwise.study import scanner
from slipwise.study.build import build
from slipwise.study.model import Study
from slipwise.study.schema import study_file
from slipwise.study.schema_fields import FAULT, Leaf
from slipwise.study.schema_supply import KINDS

LARGEST = 1_000_000  # bytes; a study file is a page of text
_AT = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")
_UNQUOTED = re.compile(r"\s*(?P<key>[\w.\"'-]+)\s*=\s*(?P<value>[+-]?[0-9][^#\"'\[\]{}]*?)\s*(#.*)?$")


def load(path: Path) -> Study:
    """Reads a study file.

    Raises:
        InputError: it cannot be read, or anything in it is wrong; every fault with file, line, field, reason and remedy.
    """
    return loads(_text(path), path)


def loads(text: str, file: Path | None = None, *, name: str = "study") -> Study:
    """Reads a study from its text; `file` stands in messages and in the Study, `name` is the title when there is none.

    Raises:
        InputError: as `load`.
    """
    text = text.removeprefix("\ufeff")
    found = scanner.scan(text)
    data = _values(text, found, file)
    try:
        sections = study_file().model_validate(data)
    except ValidationError as error:
        faults = [_fault(detail, data) for detail in error.errors(include_url=False)]
        raise _located(_once(faults), found, file) from None
    try:
        return build(sections, file, file.stem if file is not None else name)
    except InputError as error:
        raise _located(error.faults, found, file) from None


def _text(path: Path) -> str:
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


def _values(text: str, found: scanner.Scan, file: Path | None) -> dict[str, Any]:
    """The values as `tomllib` has them; what it refuses is told in the words of a study file."""
    if found.duplicates:
        raise InputError(*(_duplicate(double).located(file, double.second) for double in found.duplicates))
    try:
        return tomllib.loads(text)
    except RecursionError:
        fault = Fault(field="study file", value="", reason="it is nested too deeply", remedy="write plain tables")
        raise InputError(fault.located(file, None)) from None
    except ValueError as error:
        raise InputError(_syntax(text, str(error), found).located(file, _error_line(text, str(error), found))) from None


def _duplicate(double: scanner.Duplicate) -> Fault:
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


def _once(faults: list[Fault]) -> list[Fault]:
    return list(dict.fromkeys(faults))


def _fault(detail: ErrorDetails, data: dict[str, Any]) -> Fault:
    """One pydantic error in the words of a study file."""
    path = _path(detail["loc"], data)
    field, kind = scanner.dotted(path), detail["type"]
    context = detail.get("ctx", {})
    if kind == FAULT:
        return Fault(field=field, value=context["value"], reason=context["reason"], remedy=context["remedy"])
    if kind == "missing":
        return _missing(path, data)
    if kind == "extra_forbidden":
        return _unknown(path, data)
    if kind in {"union_tag_invalid", "union_tag_not_found"}:
        return _kind_fault(field, detail["input"])
    if kind == "too_short":
        return Fault(field=field, value="", reason="it is empty", remedy=f"add {_how_to_add(path, data)}")
    return _shape(path, detail["input"], data)


def _kind_fault(field: str, given: Any) -> Fault:
    """An element of the path whose kind is missing or not known."""
    kind = given.get("kind") if isinstance(given, dict) else None
    listed = ", ".join(f'"{word}"' for word in KINDS)
    if kind is None:
        return Fault(field=f"{field}.kind", value="", reason="it is missing", remedy=f"add kind = one of {listed}")
    near = get_close_matches(str(kind)[:40], KINDS, n=1, cutoff=0.75)
    remedy = f'did you mean "{near[0]}"?' if near else 'write kind = "network", "transformer" or "cable"'
    shown = f'"{kind}"' if isinstance(kind, str) else str(kind)
    return Fault(field=f"{field}.kind", value=shown[:80], reason=f"it must be one of {listed}", remedy=remedy)


def _path(location: tuple[int | str, ...], data: Any) -> scanner.Path:
    """The path in the file: the tags that pydantic adds for a union are dropped."""
    path: list[int | str] = []
    here = data
    for place, part in enumerate(location):
        last = place == len(location) - 1
        if isinstance(here, dict) and (part in here or last or part not in KINDS):
            path.append(part)
            here = here.get(part) if isinstance(part, str) else None
        elif isinstance(here, list) and isinstance(part, int):
            path.append(part)
            here = here[part] if part < len(here) else None
        elif not isinstance(here, dict):
            path.append(part)
    return tuple(path)


def _model_at(path: scanner.Path, data: Any) -> type[BaseModel] | None:
    """The section that describes the table at `path`."""
    model: Any = study_file()
    here: Any = data
    for part in path:
        here = _step(here, part)
        if isinstance(part, int):
            continue
        if model is None or part not in model.model_fields:
            return None
        models = [m for m in _models(model.model_fields[part].annotation) if _fits(m, here)]
        model = models[0] if models else None
    if isinstance(here, dict) and path and isinstance(path[-1], int):
        models = [m for m in _models(study_file_element(path)) if _fits(m, here)]
        return models[0] if models else None
    return model if isinstance(model, type) and issubclass(model, BaseModel) else None


def study_file_element(path: scanner.Path) -> Any:
    """The annotation of the array of tables that `path` points into."""
    model: Any = study_file()
    for part in path[:-1]:
        if isinstance(part, str):
            annotation = model.model_fields[part].annotation
            found = _models(annotation)
            model = found[0] if len(found) == 1 else model
    return annotation


def _fits(model: type[BaseModel], table: Any) -> bool:
    """Elements of the path are told apart by their kind."""
    kind = model.model_fields.get("kind")
    if kind is None or not isinstance(table, dict):
        return True
    return table.get("kind") in get_args(kind.annotation)


def _models(annotation: Any) -> list[type[BaseModel]]:
    """All sections inside an annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for inner in get_args(annotation) for model in _models(inner)]


def _step(here: Any, part: str | int) -> Any:
    try:
        return here[part]
    except (LookupError, TypeError):
        return None


def _how_to_add(path: scanner.Path, data: Any) -> str:
    """A line that would mend a missing key."""
    name = path[-1]
    model = _model_at(path[:-1], data)
    field = None if model is None else model.model_fields.get(str(name))
    if field is not None:
        for leaf in field.metadata:
            if isinstance(leaf, Leaf):
                return f"{name} = {leaf.example}"
    return "a [[supply.path]] table" if path[-1] == "path" else f"a table [{scanner.dotted(path)}]"


def _missing(path: scanner.Path, data: Any) -> Fault:
    return Fault(field=scanner.dotted(path), value="", reason="it is missing", remedy=f"add {_how_to_add(path, data)}")


def _unknown(path: scanner.Path, data: Any) -> Fault:
    """An unknown key, with the nearest right one, or the section where it belongs."""
    name = str(path[-1])
    model = _model_at(path[:-1], data)
    known = list(model.model_fields) if model is not None else []
    near = get_close_matches(name[:40], known, n=1, cutoff=0.6) or [k for k in known if k.lower() == name.lower()]
    place = scanner.dotted(path[:-1]) or "the top of the file"
    if other := _other_kind(path, name):
        remedy = f'it belongs to an element of kind "{other}"'
    elif near:
        remedy = f"did you mean `{near[0]}`?"
    elif home := _home(name):
        remedy = f"it belongs into [{home}]"
    else:
        remedy = f"known here: {', '.join(known)}" if known else "remove it"
    return Fault(field=scanner.dotted(path), value="", reason=f"{place} has no such key", remedy=remedy)


def _other_kind(path: scanner.Path, name: str) -> str | None:
    """Inside an element of the supply path: the kind of element that does have the key."""
    if path[:2] != ("supply", "path") or len(path) != 4:
        return None
    for model in _models(study_file_element(path[:3])):
        if name in model.model_fields:
            return str(get_args(model.model_fields["kind"].annotation)[0])
    return None


def _home(name: str) -> str | None:
    """The section that does know a key."""
    for section, field in study_file().model_fields.items():
        for model in _models(field.annotation):
            if name in model.model_fields:
                return section
            for inner, deeper in model.model_fields.items():
                if any(name in found.model_fields for found in _models(deeper.annotation)):
                    return f"{section}.{inner}"
    return None


def _shape(path: scanner.Path, given: Any, data: Any) -> Fault:
    """A value where a table must stand, or a table written as a single one."""
    field = scanner.dotted(path)
    shown = "a table" if isinstance(given, dict) else str(given)[:80]
    if path and path[-1] == "path":
        return Fault(
            field=field,
            value=shown,
            reason="the path is a list of tables",
            remedy="write each element under [[supply.path]]",
        )
    model = _model_at(path, data)
    if model is not None:
        return Fault(field=field, value=shown, reason="a table is needed here", remedy=f"write it under [{field}]")
    return Fault(field=field, value=shown, reason="it has the wrong form", remedy="see the schema: `slipwise schema`")
