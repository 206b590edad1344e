"""The JSON Schema of a study file, for completion and checking in an editor; made from the models that read it."""

from __future__ import annotations

from typing import Any

from slipwise.study.schema.study import study_file

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """The schema of a study file after TOML has been read, draft 2020-12, every key with its description."""
    schema = _clean(study_file().model_json_schema())
    return {"$schema": DIALECT, **schema, "title": "slipwise study file"}


def _clean(node: Any) -> Any:
    """Without pydantic's generated titles and defaults, which say nothing to the writer of a file."""
    if isinstance(node, list):
        return [_clean(item) for item in node]
    if not isinstance(node, dict):
        return node
    cleaned: dict[str, Any] = {}
    for key, value in node.items():
        if key == "properties":
            cleaned[key] = {name: _clean(inner) for name, inner in value.items()}
        elif key == "anyOf" and {"type": "null"} in value:
            rest = [_clean(inner) for inner in value if inner != {"type": "null"}]
            cleaned.update(rest[0] if len(rest) == 1 else {"anyOf": rest})
        elif key not in {"title", "default"}:
            cleaned[key] = _clean(value)
    return cleaned
