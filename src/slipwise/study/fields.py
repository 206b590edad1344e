"""Every field of a study file as a form shows it: what it means, what stands in it, where the value came from, its range."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.quantity.show import display_unit, in_display
from slipwise.quantity.units import parse
from slipwise.study.schema.fields import Keys, Leaf, Line, Numbers, Quantity, Whole, Word, Yes
from slipwise.study.schema.study import study_file
from slipwise.study.text.scanner import Path, dotted, scan
from slipwise.study.text.values import values

ABSENT = "absent"
KINDS: tuple[tuple[type[Leaf], str], ...] = (
    (Quantity, "quantity"),
    (Word, "word"),
    (Whole, "whole"),
    (Yes, "yes"),
    (Numbers, "numbers"),
    (Keys, "names"),
    (Line, "line"),
)
_SPLIT = re.compile(r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(.*?)\s*\Z", re.DOTALL)
ALWAYS = frozenset(
    {"motor", "load", "supply", "limits", "tolerances", "starting"}
)  # listed though nothing is written there


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyField:
    """One field of a study file.

    path: keys and indices; section: that of its table, in words. kind: of `KINDS`. written: stands in the file.
    text: as written, or the value the study assumes; "" when there is neither. origin: as `Origin`, or "absent".
    value, low, high: in the SI `unit`, None when unknown. why: the rule behind a value that was not given.
    number, display: of `text`, so that f"{number:g} {display}" can be written again; None for anything but a quantity.
    least, most: what the file permits, SI. choices: words it may be. line: in the file, from 1; None when not written.
    """

    path: Path
    section: str
    label: str
    doc: str
    kind: str
    written: bool
    example: str
    text: str = ""
    origin: str = ABSENT
    value: float | None = None
    unit: str = ""
    low: float | None = None
    high: float | None = None
    why: str = ""
    number: float | None = None
    display: str = ""
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    line: int | None = None


def fields_of(text: str, inputs: tuple[Sourced, ...] = ()) -> tuple[StudyField, ...]:
    """The fields of a study's text in the order of the schema; none when the text is no TOML.

    Args:
        text: of the study file; it need not be right.
        inputs: `Study.inputs` of the same text when it could be read: what was assumed and derived.
    """
    try:
        data = values(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return ()
    found = scan(text)
    rows: dict[str, list[Sourced]] = {}
    for row in inputs:
        rows.setdefault(row.name, []).append(row)
    return tuple(
        _completed(field, rows.get(dotted(field.path), []), found.line(field.path) if field.written else None)
        for field in _walk(study_file(), data, ())
    )


def leaf_at(data: Mapping[str, Any], path: Path) -> Leaf | None:
    """What kind of value the schema wants at `path` of a file with the values `data`; None for a table or an unknown key."""
    model: type[BaseModel] | None = study_file()
    here: Any = data
    info: FieldInfo | None = None
    for part in path:
        here = _inside(here, part)
        if isinstance(part, int):
            if info is not None:
                model = _model_of(info, here)
            continue
        info = None if model is None else model.model_fields.get(part)
        if info is None:
            return None
        model = _model_of(info, here)
    return None if info is None or isinstance(path[-1], int) else _leaf(info)


def split(text: str) -> tuple[float | None, str]:
    """Number and unit of a quantity as written; None when it does not begin with a number."""
    found = _SPLIT.match(text)
    return (float(found[1]), found[2]) if found else (None, "")


def _inside(here: Any, part: str | int) -> Any:
    try:
        return here[part]
    except (LookupError, TypeError):
        return None


def _walk(model: type[BaseModel], table: Mapping[str, Any], path: Path) -> Iterator[StudyField]:
    for name, info in model.model_fields.items():
        here = (*path, name)
        value = table.get(name)
        leaf = _leaf(info)
        if leaf is not None:
            yield _plain(leaf, here, value)
        elif isinstance(value, list):
            for place, item in enumerate(value):
                inner = _model_of(info, item)
                if inner is not None and isinstance(item, dict):
                    yield from _walk(inner, item, (*here, place))
        elif isinstance(value, dict) or (value is None and here == (name,) and name in ALWAYS):
            inner = _model_of(info, value or {})
            if inner is not None:
                yield from _walk(inner, value or {}, here)


def _leaf(info: FieldInfo) -> Leaf | None:
    return next((part for part in info.metadata if isinstance(part, Leaf)), None)


def _model_of(info: FieldInfo, table: Any) -> type[BaseModel] | None:
    """The section inside an annotation; those of a path are told apart by their kind."""
    models = _models(info.annotation) if info.annotation is not None else ()
    if len(models) > 1 and isinstance(table, dict):
        models = tuple(m for m in models if table.get("kind") in get_args(m.model_fields["kind"].annotation))
    return models[0] if models else None


def _models(annotation: Any) -> tuple[type[BaseModel], ...]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return (annotation,)
    if get_origin(annotation) is Literal:
        return ()
    return tuple(model for inner in get_args(annotation) if inner is not ... for model in _models(inner))


def _plain(leaf: Leaf, path: Path, value: Any) -> StudyField:
    kind = next(word for sort, word in KINDS if isinstance(leaf, sort))
    written = value is not None
    text = "" if value is None else _shown(value)
    field = StudyField(
        path=path,
        section=dotted(path[:-1]),
        label=str(path[-1]).replace("_", " "),
        doc=leaf.doc,
        kind=kind,
        written=written,
        example=leaf.example.strip('"'),
        text=text,
        origin=Origin.GIVEN.value if written else ABSENT,
    )
    if isinstance(leaf, Word):
        return replace(field, choices=leaf.words)
    if isinstance(leaf, Keys):
        return replace(field, choices=leaf.known)
    if isinstance(leaf, Whole):
        return _counted(field, leaf, value)
    if isinstance(leaf, Quantity):
        return _measured(field, leaf, value)
    return field


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return ", ".join(_shown(item) for item in value)
    return str(value)[:4000]


def _counted(field: StudyField, leaf: Whole, value: Any) -> StudyField:
    good = isinstance(value, int) and not isinstance(value, bool) and abs(value) < 1_000_000_000
    number = float(value) if good else None
    return replace(field, number=number, value=number, least=float(leaf.low), most=float(leaf.high))


def _measured(field: StudyField, leaf: Quantity, value: Any) -> StudyField:
    unit = leaf.unit if isinstance(leaf.unit, str) else leaf.unit[0]
    least = leaf.low if leaf.low is not None else leaf.above
    field = replace(field, unit=unit, least=least, most=leaf.high)
    if value is None or isinstance(value, bool):
        return field
    try:
        read = parse(value, leaf.unit)
    except InputError:
        return field
    number, display = split(str(value))
    return replace(field, value=read.value, unit=read.unit, number=number, display=display)


def _completed(field: StudyField, rows: list[Sourced], line: int | None) -> StudyField:
    """With what the study made of it: the value assumed, or the rule by which a given one was converted."""
    field = replace(field, line=line)
    if not rows:
        return field
    last = rows[-1]
    if field.written:
        return replace(field, why=last.why)
    field = replace(field, origin=last.origin.value, why=last.why, low=last.low, high=last.high)
    if last.value is None:
        return replace(field, text=last.text)
    if field.kind != "quantity":
        return replace(field, value=last.value, number=last.value, text=f"{last.value:g}")
    number, display = writable(last.value, last.unit or field.unit)
    return replace(
        field,
        value=last.value,
        unit=last.unit or field.unit,
        number=number,
        display=display,
        text=f"{number:g} {display}".strip(),
    )


def writable(value: float, unit: str) -> tuple[float, str]:
    """A value in SI as number and unit that may be written into a study file: six figures, in the unit that suits."""
    display = display_unit([value], unit)
    symbol = display or unit
    try:
        parse(f"1 {symbol}".strip(), unit)
    except (InputError, KeyError):
        return float(f"{value:.6g}"), unit
    return float(f"{in_display(value, unit, display):.6g}"), symbol
