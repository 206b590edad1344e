"""JSON Schemas as pages: every key of the study file, every record of the results."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

Schema = dict[str, Any]
NOT_FINITE = ["NaN", "Infinity", "-Infinity"]  # how JSON is told of them; said once at the head of the page


def study_file() -> str:
    """docs/study-file.md."""
    from slipwise.study.json_schema import json_schema

    head = [
        "# The study file",
        "",
        "Made by `make docs` from the schema that `slipwise schema` prints; point your editor at that for completion.",
        "A study file is TOML. A quantity is a text with its unit; a ratio is a plain number (per unit) or a text in per cent.",
        "Keys marked * must be there. What is left out is derived, assumed or estimated, and every output says so.",
    ]
    return "\n".join([*head, *_sections(json_schema())]) + "\n"


def results() -> str:
    """docs/results.md."""
    from slipwise.results.schema import results_json_schema

    head = [
        "# The results",
        "",
        "Made by `make docs` from the schema that `slipwise schema results` prints. `study.json` holds every word and number",
        "of a study; keys end in their SI unit (`run_up_time_s`). Arrays stand in CSV files beside it, named in the key",
        "`series`; each column has the name of its field with its unit. Keys marked * are always there. A number that is not",
        'finite is written as a text: "NaN", "Infinity", "-Infinity".',
    ]
    return "\n".join([*head, *_sections(results_json_schema())]) + "\n"


def _sections(schema: Schema) -> Iterator[str]:
    """One heading and one table for each object of the schema, the root first, each where it is first met."""
    definitions = schema.get("$defs", {})
    waiting: list[tuple[str, Schema]] = [("", schema)]
    seen: set[str] = set()
    while waiting:
        title, item = waiting.pop(0)
        if "properties" not in item:
            continue
        yield ""
        yield f"## {title or 'At the top'}"
        yield from _paragraph(item.get("description", "") if title else "")
        yield ""
        yield "| key | value | meaning |"
        yield "|---|---|---|"
        required = set(item.get("required", ()))
        for key, value in item["properties"].items():
            star = " *" if key in required else ""
            yield f"| `{key}`{star} | {_kind(value)} | {_meaning(value, definitions)} |"
            for name in _references(value):
                if name not in seen:
                    seen.add(name)
                    waiting.append((_title(name), definitions[name]))


def _paragraph(text: str) -> list[str]:
    return ["", " ".join(text.split())] if text else []


def _title(reference: str) -> str:
    return reference.lstrip("_")


def _references(value: Any) -> list[str]:
    """Names of the definitions a value may be, wherever in it."""
    if isinstance(value, dict):
        here = [value["$ref"].rsplit("/", 1)[1]] if "$ref" in value else []
        return here + [name for part in value.values() for name in _references(part)]
    if isinstance(value, list):
        return [name for part in value for name in _references(part)]
    return []


def _kind(value: Schema) -> str:
    """What may stand there, in words."""
    if "$ref" in value:
        name = _title(value["$ref"].rsplit("/", 1)[1])
        return f"[{name}](#{name.lower().replace(' ', '-').replace('.', '')})"
    if "const" in value or "enum" in value:
        choices = value["enum"] if "enum" in value else [value["const"]]
        return " or ".join(f"`{json.dumps(choice, ensure_ascii=False)}`" for choice in choices)
    for several in ("anyOf", "oneOf", "allOf"):
        if several in value:
            kinds = [_kind(part) for part in value[several] if part.get("enum") != NOT_FINITE]
            return " or ".join(dict.fromkeys(kinds))
    return _plain_kind(value)


def _plain_kind(value: Schema) -> str:
    kind = value.get("type", "any")
    if kind == "array":
        return f"list of {_kind(value['items'])}" if isinstance(value.get("items"), dict) else "list"
    if kind == "object" and isinstance(value.get("additionalProperties"), dict):
        return f"names with {_kind(value['additionalProperties'])}"
    names = {"string": "text", "boolean": "true or false", "integer": "whole number", "object": "table"}
    return " or ".join(names.get(k, k) for k in ([kind] if isinstance(kind, str) else kind))


def _meaning(value: Schema, definitions: Schema) -> str:
    """The description, what holds when the key is absent, and an example."""
    parts = [" ".join(str(value.get("description", "")).split())]
    if not parts[0] and "$ref" in value:
        parts[0] = " ".join(str(definitions[value["$ref"].rsplit("/", 1)[1]].get("description", "")).split())
    if value.get("default") not in (None, "", [], {}):
        parts.append(f"Without it: `{json.dumps(value['default'], ensure_ascii=False)}`.")
    if value.get("examples"):
        parts.append("Such as " + ", ".join(f"`{json.dumps(e, ensure_ascii=False)}`" for e in value["examples"]) + ".")
    return " ".join(part for part in parts if part).replace("|", "\\|")
