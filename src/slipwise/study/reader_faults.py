"""Says what pydantic found in the words of a study file: field, value, reason, remedy."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from slipwise.quantity.errors import Fault
from slipwise.study.schema.fields import FAULT, Keys, Leaf
from slipwise.study.schema.names import key_meant, meant
from slipwise.study.schema.study import study_file
from slipwise.study.schema.supply import KINDS, KINDS_ALSO
from slipwise.study.text import scanner

Root = type[BaseModel]


def faults_of(details: Sequence[ErrorDetails], data: dict[str, Any], root: Root | None = None) -> list[Fault]:
    """All that pydantic found; a list is not short for entries that are there and have faults of their own."""
    return [fault_of(one, data, root) for one in details if one["type"] != "too_short" or not one["input"]]


def fault_of(detail: ErrorDetails, data: dict[str, Any], root: Root | None = None) -> Fault:
    """One pydantic error in the words of a study file, or of another file whose sections `root` describes."""
    root = root or study_file()
    path = _path(detail["loc"], data)
    field, kind = scanner.dotted(path), detail["type"]
    context = detail.get("ctx", {})
    if kind == FAULT:
        return Fault(field=field, value=context["value"], reason=context["reason"], remedy=context["remedy"])
    if kind == "missing":
        return _missing(path, data, root)
    if kind == "extra_forbidden":
        return _unknown(path, data, root)
    if kind in {"union_tag_invalid", "union_tag_not_found"}:
        return _kind_fault(field, detail["input"])
    if kind in {"too_short", "too_long"}:
        return _count(path, context, data, root)
    return _shape(path, detail["input"], data, root)


def _count(path: scanner.Path, context: dict[str, Any], data: dict[str, Any], root: Root) -> Fault:
    """A list without an entry, or with more than are computed."""
    field = scanner.dotted(path)
    if "max_length" not in context:
        return Fault(field=field, value="", reason="it is empty", remedy=f"add {_how_to_add(path, data, root)}")
    reason = f"at most {context['max_length']} are computed in one study"
    given = f"{context['actual_length']} entries"
    return Fault(field=field, value=given, reason=reason, remedy="leave some out, or make several studies of it")


def _kind_fault(field: str, given: Any) -> Fault:
    """An element of the path whose kind is missing or not known."""
    kind = given.get("kind") if isinstance(given, dict) else None
    listed = ", ".join(f'"{word}"' for word in KINDS)
    if kind is None:
        return Fault(field=f"{field}.kind", value="", reason="it is missing", remedy=f"add kind = one of {listed}")
    near = meant(kind, KINDS, KINDS_ALSO)
    remedy = f'did you mean "{near[0]}"?' if near else 'write kind = "network", "generator", "transformer" or "cable"'
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


def _model_at(path: scanner.Path, data: Any, root: Root) -> type[BaseModel] | None:
    """The section that describes the table at `path`."""
    model: Any = root
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
        models = [m for m in _models(_element_annotation(path, root)) if _fits(m, here)]
        return models[0] if models else None
    return model if isinstance(model, type) and issubclass(model, BaseModel) else None


def _is_list_of_tables(path: scanner.Path, root: Root) -> bool:
    """Whether the schema has an array of tables there."""
    model: Any = root
    annotation: Any = None
    for part in path:
        if isinstance(part, int) or model is None or part not in model.model_fields:
            return False
        annotation = model.model_fields[part].annotation
        found = _models(annotation)
        model = found[0] if len(found) == 1 else None
    return get_origin(annotation) is tuple and bool(_models(annotation))


def _element_annotation(path: scanner.Path, root: Root) -> Any:
    """The annotation of the array of tables that `path` points into."""
    model: Any = root
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


def _how_to_add(path: scanner.Path, data: Any, root: Root) -> str:
    """A line that would mend a missing key."""
    name = path[-1]
    model = _model_at(path[:-1], data, root)
    field = None if model is None else model.model_fields.get(str(name))
    if field is not None:
        for leaf in field.metadata:
            if isinstance(leaf, Leaf):
                return f"{name} = {leaf.example}"
    return "a [[supply.path]] table" if path[-1] == "path" else f"a table [{scanner.dotted(path)}]"


def _missing(path: scanner.Path, data: Any, root: Root) -> Fault:
    return Fault(
        field=scanner.dotted(path), value="", reason="it is missing", remedy=f"add {_how_to_add(path, data, root)}"
    )


def _unknown(path: scanner.Path, data: Any, root: Root) -> Fault:
    """An unknown key, with the nearest right one, or the section where it belongs."""
    name = str(path[-1])
    model = _model_at(path[:-1], data, root)
    known = list(model.model_fields) if model is not None else []
    near = get_close_matches(name[:40], known, n=1, cutoff=0.6) or [k for k in known if k.lower() == name.lower()]
    place = scanner.dotted(path[:-1]) or "the top of the file"
    if other := _other_kind(path, name, root):
        remedy = f'it belongs to an element of kind "{other}"'
    elif ways := _way_meant(name, model):
        remedy = f"did you mean {ways}?"
    elif key := key_meant(name, known) or next(iter(near), ""):
        remedy = f"did you mean `{key}`?"
    elif home := _home(name, root):
        remedy = f"it belongs in [{home}]"
    else:
        remedy = f"known here: {', '.join(known)}" if known else "remove it"
    return Fault(field=scanner.dotted(path), value="", reason=f"{place} has no such key", remedy=remedy)


def _way_meant(name: str, model: type[BaseModel] | None) -> str:
    """In a section of ways: those that the trade also calls so; empty when there are none."""
    field = None if model is None else model.model_fields.get("ways")
    leaf = next((leaf for leaf in field.metadata if isinstance(leaf, Keys)), None) if field is not None else None
    return "" if leaf is None else " or ".join(f"`{way}`" for way in meant(name, leaf.known, leaf.also))


def _other_kind(path: scanner.Path, name: str, root: Root) -> str | None:
    """Inside an element of the supply path: the kinds of element that do have the key."""
    if path[:2] != ("supply", "path") or len(path) != 4:
        return None
    models = [model for model in _models(_element_annotation(path[:3], root)) if name in model.model_fields]
    kinds = [str(get_args(model.model_fields["kind"].annotation)[0]) for model in models]
    if len(kinds) < 2:
        return kinds[0] if kinds else None
    return '", "'.join(kinds[:-1]) + f'" or "{kinds[-1]}'


def _home(name: str, root: Root) -> str | None:
    """The section that does know a key."""
    for section, field in root.model_fields.items():
        for model in _models(field.annotation):
            if name in model.model_fields:
                return section
            for inner, deeper in model.model_fields.items():
                if any(name in found.model_fields for found in _models(deeper.annotation)):
                    return f"{section}.{inner}"
    return None


def _table_example(path: scanner.Path) -> str:
    """How the table at `path` is written; inside an array of tables in one line."""
    if any(isinstance(part, int) for part in path):
        return f"{path[-1]} = {{ key = value, ... }}"
    return f"[{scanner.dotted(path)}]"


def _shape(path: scanner.Path, given: Any, data: Any, root: Root) -> Fault:
    """A value where a table must stand, or a table written as a single one."""
    field = scanner.dotted(path)
    shown = "a table" if isinstance(given, dict) else f'"{given[:80]}"' if isinstance(given, str) else str(given)[:80]
    if _is_list_of_tables(path, root):
        what, each = ("the path is", "element") if path[-1] == "path" else ("here stands", "of them")
        return Fault(
            field=field,
            value=shown,
            reason=f"{what} a list of tables",
            remedy=f"write each {each} under [[{field}]]",
        )
    model = _model_at(path, data, root)
    if model is not None:
        return Fault(
            field=field,
            value=shown,
            reason="a table is needed here",
            remedy=f"write it as a table: {_table_example(path)}",
        )
    return Fault(field=field, value=shown, reason="it has the wrong form", remedy="see the schema: `slipwise schema`")
