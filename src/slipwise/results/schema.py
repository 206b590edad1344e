"""JSON Schema of `study.json`, read off the records themselves, so that it cannot fall behind them."""

from __future__ import annotations

import inspect
import types
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from typing import Any, Union, cast, get_args, get_origin

from slipwise.results.codec import FORMAT, NOT_FINITE, hints, in_csv, is_array
from slipwise.results.study import SCHEMA_VERSION, StudyResult
from slipwise.results.units import UNITS, key_of

NUMBER: dict[str, Any] = {"anyOf": [{"type": "number"}, {"enum": list(NOT_FINITE)}]}


def results_json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of `study.json`. Keys end in their SI unit; `series` names a CSV file beside it."""
    definitions: dict[str, Any] = {}
    _define(StudyResult, definitions)
    root = definitions.pop("StudyResult")
    properties = {"format": {"const": FORMAT}, **root["properties"], "schema_version": {"const": SCHEMA_VERSION}}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "slipwise study result",
        "description": f"{root['description']} Keys end in their SI unit: spaces dropped, '/' read as 'per'.",
        "type": "object",
        "properties": properties,
        "required": ["format", *root["required"]],
        "additionalProperties": False,
        "$defs": definitions,
    }


def _define(record: type, into: dict[str, Any]) -> dict[str, Any]:
    name = record.__name__
    if name in into:
        return {"$ref": f"#/$defs/{name}"}
    into[name] = {}  # holds the place while the fields are walked
    properties: dict[str, Any] = {}
    required: list[str] = []
    stored = [field.name for field in fields(record) if in_csv(record, field.name)]
    if stored:
        columns = ", ".join(key_of(name, field) for field in stored)
        properties["series"] = {"type": "string", "description": f"CSV file below study.json with columns {columns}."}
        required.append("series")
    for field in (f for f in fields(record) if f.name not in stored):
        key = key_of(name, field.name)
        unit = UNITS.get(name, {}).get(field.name)
        properties[key] = _schema(hints(record)[field.name], into) | ({"description": f"In {unit}."} if unit else {})
        if field.default is MISSING and field.default_factory is MISSING:
            required.append(key)
    into[name] = {
        "type": "object",
        "description": " ".join((inspect.getdoc(record) or "").split()),
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }
    return {"$ref": f"#/$defs/{name}"}


def _schema(hint: Any, into: dict[str, Any]) -> dict[str, Any]:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return {"anyOf": [_schema(choice, into) for choice in inner]}
    if is_array(hint):
        return {"type": "array", "items": NUMBER}
    if origin is tuple:
        return {"type": "array"} | _entries(inner, into)
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema(inner[1], into)}
    if is_dataclass(hint):
        return _define(cast(type, hint), into)
    return _plain(hint)


def _entries(inner: tuple[Any, ...], into: dict[str, Any]) -> dict[str, Any]:
    if len(inner) == 2 and inner[1] is Ellipsis:
        return {"items": _schema(inner[0], into)}
    return {"prefixItems": [_schema(hint, into) for hint in inner], "items": False}


def _plain(hint: Any) -> dict[str, Any]:
    if isinstance(hint, type) and issubclass(hint, Enum):
        return {"enum": [member.value for member in hint]}
    if hint is float:
        return dict(NUMBER)
    return {"type": {int: "integer", str: "string", bool: "boolean", type(None): "null"}[hint]}
