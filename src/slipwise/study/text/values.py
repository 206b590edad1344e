"""The values of a study's text, read once; of a text in which one value was written anew, from those of the text before."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import Any

from slipwise.study.text.scanner import Path

KEPT = 64  # texts whose values are kept
_derived: dict[str, dict[str, Any]] = {}


def values(text: str) -> dict[str, Any]:
    """As `tomllib.loads` has them; shared, so not to be changed.

    Raises:
        ValueError: the text is no TOML. RecursionError: it is nested too deeply.
    """
    found = _derived.get(text)
    return _read(text) if found is None else found


@lru_cache(maxsize=KEPT)
def _read(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def note_written(before: str, after: str, path: Path, literal: str) -> None:
    """Tells that `after` is `before` with the value at `path` written as `literal`: a hand that drags a slider need not
    wait for the whole text to be read again."""
    try:
        ((_, value),) = tomllib.loads(f"x = {literal}").items()
        _derived[after] = _with(values(before), path, value)
    except (ValueError, RecursionError):
        return  # no TOML before or no TOML now: reading it tells
    while len(_derived) > KEPT:
        del _derived[next(iter(_derived))]


def _with(here: Any, path: Path, value: Any) -> Any:
    """The same values with another one at `path`; what lies beside it is shared."""
    if not path:
        return value
    part, *rest = path
    changed = here.copy()
    changed[part] = _with(here[part], tuple(rest), value)
    return changed
