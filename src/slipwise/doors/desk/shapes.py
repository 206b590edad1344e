"""Shapes of JSON from which the schemas of the answers are put together."""

from __future__ import annotations

from typing import Any

Schema = dict[str, Any]

TEXT: Schema = {"type": "string"}
NUMBER: Schema = {"type": "number"}
MAYBE: Schema = {"type": ["number", "null"]}
NUMBERS: Schema = {"type": "array", "items": MAYBE}
TEXTS: Schema = {"type": "array", "items": TEXT}
YES: Schema = {"type": "boolean"}


def record(**properties: Schema) -> Schema:
    """An object with all these properties, and maybe others."""
    return {"type": "object", "properties": properties, "required": list(properties)}


def many(items: Schema) -> Schema:
    """A list."""
    return {"type": "array", "items": items}


def maybe(schema: Schema) -> Schema:
    """The same or null."""
    return {"anyOf": [schema, {"type": "null"}]}


def said(schema: Schema, words: str) -> Schema:
    """The same with a description."""
    return {**schema, "description": words}
