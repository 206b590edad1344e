"""The kernel, plain or compiled: one source, loaded once or twice."""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from threading import Lock
from types import ModuleType
from typing import Literal

from slipwise.quantity.errors import InputError
from slipwise.solve.transient import kernel as plain

Engine = Literal["auto", "plain", "compiled"]
Note = Callable[[str], None]

_COMPILED = f"{plain.__name__}_compiled"
_LOADING = Lock()


def kernel(engine: Engine, *, starts: int = 1, note: Note | None = None) -> ModuleType:
    """The kernel to use for so many starts.

    "auto" compiles for several starts, and uses what is compiled already; a single start in a fresh process runs plain,
    which is quicker than loading the compiler. `note` is told before a wait.
    """
    if engine not in ("auto", "plain", "compiled"):
        raise InputError.of("engine", engine, "is no engine", 'say "auto", "plain" or "compiled"')
    if engine == "plain" or (engine == "auto" and starts == 1 and _COMPILED not in sys.modules):
        return plain
    return _compiled(note)


def _compiled(note: Note | None) -> ModuleType:
    with _LOADING:
        if _COMPILED in sys.modules:
            return sys.modules[_COMPILED]
        if note is not None:
            note("preparing the solver (once)")
        spec = spec_from_file_location(_COMPILED, plain.__file__)
        if spec is None or spec.loader is None:
            raise ImportError(f"no source for {_COMPILED}")
        module = module_from_spec(spec)
        sys.modules[_COMPILED] = module
        try:
            spec.loader.exec_module(module)
        except BaseException:
            del sys.modules[_COMPILED]
            raise
        return module
