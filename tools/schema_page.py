"""JSON Schemas as pages: every key of the study file, every record of the results."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

Schema = dict[str, Any]
NOT_FINITE = ["NaN", "Infinity", "-Infinity"]  # how JSON is told of them; said once at the head of the page


def study_file() -> str:
    """docs/study-file.md."""
    from slipwise.study.schema.published import json_schema

    head = [
        "# The study file",
        "",
        "Made by `make docs` from the schema that `slipwise schema` prints; point your editor at that for completion.",
        "A study file is TOML. A quantity is a text with its unit; a ratio is a plain number (per unit) or a text in per cent.",
        "Keys marked * must be there. What is left out is derived, assumed or estimated, and every output says so.",
        "Whole files to start from are in `examples/`.",
    ]
    schema = json_schema()
    return "\n".join([*head, *_sections(schema, _places(schema))]) + "\n"


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
    schema = results_json_schema()
    return "\n".join([*head, *_sections(schema, {name: name for name in schema.get("$defs", {})})]) + "\n"


def _places(schema: Schema) -> dict[str, str]:
    """Where each definition stands in a TOML file: its name to `[motor.circuit]` or `[[supply.path]]` of a kind."""
    found: dict[str, str] = {}

    def walk(item: Schema, path: str) -> None:
        for key, value in item.get("properties", {}).items():
            place = f"{path}.{key}" if path else key
            listed = value.get("type") == "array"
            for name in _references(value):
                kind = schema["$defs"][name]["properties"].get("kind", {}).get("const", "")
                heading = (f"[[{place}]]" if listed else f"[{place}]") + (f', kind = "{kind}"' if kind else "")
                if name not in found:
                    found[name] = heading
                    walk(schema["$defs"][name], place)

    walk(schema, "")
    return found


def _sections(schema: Schema, headings: dict[str, str]) -> Iterator[str]:
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
            yield f"| `{key}`{star} | {_kind(value, headings)} | {_meaning(value, definitions)} |"
            for name in _references(value):
                if name not in seen:
                    seen.add(name)
                    waiting.append((headings[name], definitions[name]))


def _paragraph(text: str) -> list[str]:
    return ["", " ".join(text.split())] if text else []


def _references(value: Any) -> list[str]:
    """Names of the definitions a value may be, wherever in it."""
    if isinstance(value, dict):
        here = [value["$ref"].rsplit("/", 1)[1]] if "$ref" in value else []
        return here + [name for part in value.values() for name in _references(part)]
    if isinstance(value, list):
        return [name for part in value for name in _references(part)]
    return []


def _link(heading: str) -> str:
    """A link to the section of that heading, by the anchor that Markdown readers give it."""
    anchor = re.sub(r"[^a-z0-9 _-]", "", heading.lower()).replace(" ", "-")
    return f"[{heading.replace('[', '&#91;').replace(']', '&#93;')}](#{anchor})"


def _kind(value: Schema, headings: dict[str, str]) -> str:
    """What may stand there, in words."""
    if "$ref" in value:
        return _link(headings[value["$ref"].rsplit("/", 1)[1]])
    if "const" in value or "enum" in value:
        choices = value["enum"] if "enum" in value else [value["const"]]
        return " or ".join(f"`{json.dumps(choice, ensure_ascii=False)}`" for choice in choices)
    for several in ("anyOf", "oneOf", "allOf"):
        if several in value:
            kinds = [_kind(part, headings) for part in value[several] if part.get("enum") != NOT_FINITE]
            return " or ".join(dict.fromkeys(kinds))
    return _plain_kind(value, headings)


def _plain_kind(value: Schema, headings: dict[str, str]) -> str:
    kind = value.get("type", "any")
    if kind == "array":
        return f"list of {_kind(value['items'], headings)}" if isinstance(value.get("items"), dict) else "list"
    if kind == "object" and isinstance(value.get("additionalProperties"), dict):
        return f"names with {_kind(value['additionalProperties'], headings)}"
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
