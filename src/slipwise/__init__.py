"""slipwise: starting and speed control of three-phase induction motors.

>>> import slipwise
>>> result = slipwise.run("pump.toml")     # or slipwise.run(slipwise.load("pump.toml"))
>>> result.recommendation.way
>>> slipwise.read_results("pump-results")  # what `slipwise study` wrote

Everything is loaded on first use.
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"
__all__ = ["Fault", "InputError", "Study", "StudyResult", "__version__", "load", "load_motor", "read_results", "run"]

_PLACES = {
    "load": "slipwise.doors.python",
    "load_motor": "slipwise.doors.python",
    "run": "slipwise.doors.python",
    "read_results": "slipwise.doors.python",
    "Study": "slipwise.study.model",
    "StudyResult": "slipwise.results.study",
    "InputError": "slipwise.quantity.errors",
    "Fault": "slipwise.quantity.errors",
}


def __getattr__(name: str) -> Any:
    """Loads a public name when it is first asked for (PEP 562)."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_PLACES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return __all__
