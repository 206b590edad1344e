"""The kernel and its lanes, plain or compiled: one source each, loaded as often as there are copies."""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from threading import Lock
from types import ModuleType
from typing import Literal

from slipwise.quantity.errors import InputError
from slipwise.solve.transient import kernel as plain
from slipwise.solve.transient import lanes as one_cage

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
    if engine == "plain" or (engine == "auto" and starts == 1 and not _ready()):
        return plain
    return _copy(_COMPILED, plain, note)


def lanes(cages: int, *, compiled: bool, note: Note | None = None) -> ModuleType:
    """The lanes for plain starts of motors with one cage or two."""
    if not compiled and cages == 1:
        return one_cage
    return _copy(f"{one_cage.__name__}{'_two' * (cages - 1)}{'_compiled' * compiled}", one_cage, note)


def _ready() -> bool:
    """Whether the compiled kernel is loaded; not while another thread still compiles, which may take half a minute."""
    return _COMPILED in sys.modules and not _LOADING.locked()


def _copy(name: str, source: ModuleType, note: Note | None) -> ModuleType:
    with _LOADING:
        if name in sys.modules:
            return sys.modules[name]
        if note is not None:
            note("preparing the solver (once)")
        spec = spec_from_file_location(name, source.__file__)
        if spec is None or spec.loader is None:
            raise ImportError(f"no source for {name}")
        module = module_from_spec(spec)
        sys.modules[name] = module
        try:
            spec.loader.exec_module(module)
        except BaseException:
            del sys.modules[name]
            raise
        return module
