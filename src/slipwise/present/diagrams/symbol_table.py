"""Which symbol each kind of device has, and how high it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from slipwise.present.diagrams import converters, symbols
from slipwise.present.diagrams.pen import Pen
from slipwise.present.diagrams.symbols import Place

SYMBOLS: Mapping[str, tuple[Callable[[Pen, Place], None], float]] = {
    "isolator": (symbols.isolator, 46),
    "fuse": (symbols.fuse, 40),
    "breaker": (symbols.breaker, 46),
    "contactor": (symbols.contactor, 46),
    "overload": (symbols.overload, 38),
    "autotransformer": (symbols.autotransformer, 96),
    "reactor": (symbols.reactor, 54),
    "resistor": (symbols.resistor, 46),
    "thyristors": (symbols.thyristors, 48),
    "inverter": (symbols.inverter, 80),
    "motor": (symbols.motor, 112),
    "rectifier": (converters.rectifier, 58),
    "thyristor bridge": (converters.thyristor_bridge, 58),
    "rotor converter": (converters.rotor_converter, 58),
    "line converter": (converters.line_converter, 58),
    "choke": (converters.choke, 54),
    "chopper": (converters.chopper, 46),
    "transformer": (converters.transformer, 84),
    "variable transformer": (converters.variable_transformer, 92),
}


def symbol_for(kind: str) -> tuple[Callable[[Pen, Place], None], float]:
    """The drawing of a kind and its height."""
    return SYMBOLS.get(kind, (symbols.frame, 44.0))
