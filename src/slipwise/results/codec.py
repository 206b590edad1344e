"""A study's results to `study.json` and CSV files, and back, under a versioned schema.

`study.json` holds every word and number; arrays stand in CSV files beside it, one for each characteristic, run-up,
transient and band, named in the record's key `series`. Keys end in their SI unit by the rule in `results.units`.
Numbers in `study.json` come back exactly; those in CSV files carry nine significant digits.
"""

from __future__ import annotations

import csv
import io
import json
import re
import types
from collections.abc import Callable, Iterator, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from enum import Enum
from functools import cache
from math import isfinite, isnan
from pathlib import Path, PurePosixPath
from typing import Any, Union, cast, get_args, get_origin, get_type_hints

import numpy as np

from slipwise.quantity.errors import InputError
from slipwise.results.disturbance import DisturbanceResult, Trace
from slipwise.results.duty import DutyCycle
from slipwise.results.group import GroupRun
from slipwise.results.series import Array
from slipwise.results.speed import Envelope, Family, FamilyCurve, HeadCurve, SpeedWayResult
from slipwise.results.start import Curves, RunUp, Transient, TransientBand
from slipwise.results.stopping import StopWayResult
from slipwise.results.study import SCHEMA_VERSION, StudyResult, WayResult
from slipwise.results.thermal import FanCurve, HeatTrace, LimitCurve, StallCurve
from slipwise.results.units import key_of

FORMAT = "slipwise study result"
DIGITS = "%.9g"
INLINE = frozenset(  # as long as the busbars, not as the time axis
    {("RunUp", "prestart_voltage"), ("GroupRun", "dips"), ("GroupRun", "before"), ("GroupRun", "lowest")}
)
STEMS: dict[type, str] = {
    Curves: "curves",
    RunUp: "run_up",
    Transient: "transient",
    TransientBand: "band",
    DutyCycle: "duty",
    Family: "family",
    FamilyCurve: "curve",
    Envelope: "envelope",
    HeadCurve: "head",
    HeatTrace: "heat",
    GroupRun: "group",
    LimitCurve: "thermal_limit",
    StallCurve: "stall",
    FanCurve: "own_fan",
    Trace: "curve",
}
LABELS = ("stage", "case", "label", "key")  # fields that name a record in the name of its CSV file
REMEDY = "keep study.json and its CSV files as slipwise wrote them, or run the study again"
NOT_FINITE = {"NaN": float("nan"), "Infinity": float("inf"), "-Infinity": float("-inf")}


def to_json(result: StudyResult, series_folder: Path) -> str:
    """Text of `study.json`; writes the CSV files into `series_folder`, which is created if absent.

    References are relative to the parent of `series_folder`, where `study.json` is to be placed.
    """
    series_folder.mkdir(parents=True, exist_ok=True)
    writer = _Writer(series_folder)
    content = {"format": FORMAT, **writer.record(result)}
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def from_json(text: str, folder: Path) -> StudyResult:
    """The results written by `to_json`. folder: where `study.json` stands.

    Raises:
        InputError: not a result of slipwise, another schema version, a missing or unknown key, a value of the wrong
            kind, or a CSV file that is absent or does not fit; names the key.
    """
    content = _parsed(text)
    return cast(StudyResult, _Reader(folder).record(StudyResult, content, "study.json"))


def load_result(file: Path) -> StudyResult:
    """The results in a `study.json` with its CSV files beside it. Raises InputError as `from_json` does."""
    if file.name == "study.json" and file.parent.is_dir() and not file.exists():
        reason = "is a folder without a study.json: neither a study file nor results"
        raise InputError.of(
            "study", file.parent, reason, "name the study file, or the folder that `slipwise study` wrote"
        )
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError.of("study.json", file, f"cannot be read ({error})", REMEDY) from error
    return from_json(text, file.parent)


def _parsed(text: str) -> dict[str, Any]:
    try:
        content = json.loads(text)
    except json.JSONDecodeError as error:
        raise InputError.of("study.json", "", f"is not JSON ({error})", REMEDY) from error
    if not isinstance(content, dict) or content.pop("format", None) != FORMAT:
        raise InputError.of("format", "", f'is not "{FORMAT}"', REMEDY)
    version = content.get("schema_version")
    if version != SCHEMA_VERSION:
        reason = f"this slipwise reads schema version {SCHEMA_VERSION}"
        raise InputError.of("schema_version", version, reason, "use the slipwise that wrote it, or run the study again")
    return content


def hints(record: type) -> dict[str, Any]:
    """Resolved types of a record's fields."""
    return _hints(record)


@cache
def _hints(record: type) -> dict[str, Any]:
    return get_type_hints(record)


def is_array(hint: Any) -> bool:
    """Whether a field of this type holds an array."""
    return get_origin(hint) is np.ndarray


def in_csv(record: type, field: str) -> bool:
    """Whether a field stands in the record's CSV file."""
    return is_array(hints(record)[field]) and (record.__name__, field) not in INLINE


def _slug(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", words.lower()).strip("_")[:40]


class _Writer:
    """Walks the records, writing arrays to CSV files named after the way, the kind, a number and the case."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.way = ""
        self.busbars: tuple[str, ...] = ()
        self.used: set[str] = set()

    def record(self, item: Any) -> dict[str, Any]:
        if isinstance(item, SpeedWayResult):
            self.way, self.busbars = f"speed_{_slug(item.key)}", ()
        elif isinstance(item, WayResult):
            self.way = _slug(item.key) or "way"
            self.busbars = item.run_ups[0].busbars if item.run_ups else ()
        elif isinstance(item, StopWayResult):
            self.way, self.busbars = f"stop_{_slug(item.key)}", item.stops[0].run.busbars if item.stops else ()
        elif isinstance(item, DisturbanceResult):
            self.way, self.busbars = _slug(item.key), ()
        content = self._fields(item)
        if isinstance(item, StopWayResult | WayResult | SpeedWayResult | DisturbanceResult):
            self.way, self.busbars = "", ()
        return content

    def _fields(self, item: Any) -> dict[str, Any]:
        kind = type(item)
        stored = [f.name for f in fields(item) if in_csv(kind, f.name)]
        content: dict[str, Any] = {"series": self._series(item, stored)} if stored else {}
        for field in fields(item):
            if field.name not in stored:
                item_hint, item_value = hints(kind)[field.name], getattr(item, field.name)
                whole = isinstance(item_value, int) and float in (item_hint, *get_args(item_hint))
                content[key_of(kind.__name__, field.name)] = self.value(float(item_value) if whole else item_value)
        return content

    def value(self, item: Any) -> Any:
        if is_dataclass(item):
            return self.record(item)
        if isinstance(item, Enum):
            return item.value
        if isinstance(item, np.ndarray | tuple | list):
            return [self.value(v) for v in item]
        if isinstance(item, Mapping):
            return {str(k): self.value(v) for k, v in item.items()}
        if isinstance(item, np.generic):
            item = item.item()
        return _number(item) if isinstance(item, float) else item

    def _series(self, item: Any, stored: list[str]) -> str:
        kind = type(item)
        label = next((word for name in LABELS if (word := getattr(item, name, ""))), "")
        stem = "_".join(part for part in (STEMS.get(kind, _slug(kind.__name__)), _slug(label)) if part)
        name = next(n for n in _numbered(f"{self.way}/{stem}" if self.way else stem) if n not in self.used)
        self.used.add(name)
        headings, columns = [], []
        for field in stored:
            values = np.asarray(getattr(item, field), dtype=float)
            rows = tuple(track.name for track in getattr(item, "tracks", ()))
            headings += self._headings(kind.__name__, field, values, rows)
            columns += [values] if values.ndim == 1 else list(values)
        path = self.folder / f"{name}.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(_csv(headings, np.column_stack(columns)).encode("utf-8"))
        return f"{self.folder.name}/{name}.csv"

    def _headings(self, record: str, field: str, values: Array, rows: tuple[str, ...]) -> list[str]:
        key = key_of(record, field)
        if values.ndim == 1:
            return [key]
        named = self.busbars if len(self.busbars) == len(values) and field.startswith("busbar") else ()
        phases = rows or (tuple("abc") if len(values) == 3 and not field.startswith("busbar") else ())
        return [f"{key} [{row}]" for row in named or phases or range(1, len(values) + 1)]


def _numbered(stem: str) -> Iterator[str]:
    yield stem
    number = 2
    while True:
        yield f"{stem}_{number}"
        number += 1


def _number(value: float) -> float | str:
    """JSON knows no infinity: such a number is written in words."""
    value = float(value)
    if isfinite(value):
        return value
    return "NaN" if isnan(value) else "Infinity" if value > 0 else "-Infinity"


def _csv(headings: list[str], table: Array) -> str:
    head = io.StringIO()
    csv.writer(head, lineterminator="\n").writerow(headings)
    row = ",".join([DIGITS] * table.shape[1]) + "\n"
    return head.getvalue() + (row * len(table)) % tuple(table.ravel().tolist())


class _Reader:
    """Builds the records again, checking every key and kind on the way."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def record(self, kind: type, content: Any, path: str) -> Any:
        if not isinstance(content, dict):
            raise InputError.of(path, content, "must be an object", REMEDY)
        known = {key_of(kind.__name__, f.name): f for f in fields(kind) if not in_csv(kind, f.name)}
        stored = [f for f in fields(kind) if in_csv(kind, f.name)]
        for key in content:
            if key not in known and not (stored and key == "series"):
                raise InputError.of(f"{path}.{key}", "", "is not a key of this record", REMEDY)
        values = self._arrays(kind, stored, content, path) if stored else {}
        for key, field in known.items():
            if key in content:
                values[field.name] = self.value(hints(kind)[field.name], content[key], f"{path}.{key}")
            elif not _has_default(field):
                raise InputError.of(f"{path}.{key}", "", "is missing", REMEDY)
        return kind(**values)

    def value(self, hint: Any, content: Any, path: str) -> Any:
        origin, inner = get_origin(hint), get_args(hint)
        if origin in (Union, types.UnionType):
            return self._choice(inner, content, path)
        if is_array(hint) or origin is tuple:
            return self._sequence(hint, content, path)
        if origin in (dict, Mapping):
            if not isinstance(content, dict):
                raise InputError.of(path, content, "must be an object", REMEDY)
            return {k: self.value(inner[1], v, f"{path}.{k}") for k, v in content.items()}
        if is_dataclass(hint):
            return self.record(cast(type, hint), content, path)
        return _scalar(hint, content, path)

    def _choice(self, choices: tuple[Any, ...], content: Any, path: str) -> Any:
        if content is None and type(None) in choices:
            return None
        error: InputError | None = None
        for choice in (c for c in choices if c is not type(None)):
            try:
                return self.value(choice, content, path)
            except InputError as found:
                error = error or found
        raise error or InputError.of(path, content, "must be null", REMEDY)

    def _sequence(self, hint: Any, content: Any, path: str) -> Any:
        if not isinstance(content, list):
            raise InputError.of(path, content, "must be a list", REMEDY)
        if is_array(hint):
            return np.array([_scalar(float, v, f"{path}[{i}]") for i, v in enumerate(content)])
        inner = get_args(hint)
        each = [inner[0]] * len(content) if len(inner) == 2 and inner[1] is Ellipsis else list(inner)
        if len(each) != len(content):
            raise InputError.of(path, content, f"must have {len(each)} entries", REMEDY)
        return tuple(self.value(h, v, f"{path}[{i}]") for i, (h, v) in enumerate(zip(each, content, strict=True)))

    def _arrays(self, kind: type, stored: list[Field[Any]], content: dict[str, Any], path: str) -> dict[str, Any]:
        name = content.get("series")
        place = f"{path}.series"
        if not isinstance(name, str) or PurePosixPath(name).is_absolute() or ".." in PurePosixPath(name).parts:
            raise InputError.of(place, name, "must name a CSV file below study.json", REMEDY)
        headings, table = _table(self.folder / name, place)
        values: dict[str, Any] = {}
        for field in stored:
            key = key_of(kind.__name__, field.name)
            single = [i for i, h in enumerate(headings) if h == key]
            several = [i for i, h in enumerate(headings) if h.startswith(f"{key} [")]
            if not single and not several:
                raise InputError.of(place, name, f"has no column {key}", REMEDY)
            values[field.name] = np.ascontiguousarray(table[:, single[0]] if single else table[:, several].T)
        return values


def _table(file: Path, path: str) -> tuple[list[str], Array]:
    try:
        head, _, body = file.read_text(encoding="utf-8").partition("\n")
        headings = next(csv.reader([head]))
        values = np.array(body.replace("\n", ",").rstrip(",").split(",") if body.strip() else [], dtype=np.float64)
        return headings, values.reshape(-1, len(headings))
    except (OSError, ValueError, StopIteration) as error:
        raise InputError.of(path, file.name, f"cannot be read ({error})", REMEDY) from error


def _has_default(field: Field[Any]) -> bool:
    return field.default is not MISSING or field.default_factory is not MISSING


def _scalar(hint: Any, content: Any, path: str) -> Any:
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _member(hint, content, path)
    if hint is float and isinstance(content, str) and content in NOT_FINITE:
        return NOT_FINITE[content]
    allowed: dict[Any, tuple[Callable[[Any], bool], str]] = {
        float: (lambda v: isinstance(v, int | float) and not isinstance(v, bool), "a number"),
        int: (lambda v: isinstance(v, int) and not isinstance(v, bool), "a whole number"),
        str: (lambda v: isinstance(v, str), "text"),
        bool: (lambda v: isinstance(v, bool), "true or false"),
    }
    fits, words = allowed[hint]
    if not fits(content):
        raise InputError.of(path, content, f"must be {words}", REMEDY)
    return hint(content)


def _member(kind: type[Enum], content: Any, path: str) -> Enum:
    try:
        return kind(content)
    except ValueError as error:
        known = ", ".join(f'"{m.value}"' for m in kind)
        raise InputError.of(path, content, f"must be one of {known}", REMEDY) from error
