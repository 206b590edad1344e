"""`[stopping]`. The keys of each way of stopping come from the dials of the way itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Annotated, Any

from pydantic import Field, create_model

from slipwise.methods.stopping import STOPPING
from slipwise.methods.stopping.way import StoppingWay
from slipwise.methods.way import dials
from slipwise.quantity.units import Parsed
from slipwise.study.schema.fields import Keys, Line, Quantity, Section, Word
from slipwise.study.schema.names import also_called
from slipwise.study.schema.starting import dial_leaf
from slipwise.study.stopping.model import FORWARD, REVERSE


@cache
def stopping_section(ways: Sequence[type[StoppingWay]] = STOPPING) -> type[Section]:
    """The model of `[stopping]` for these ways: their names, limits, and a table of settings for each."""
    names = tuple(way.key for way in ways)
    listed = "[" + ", ".join(f'"{name}"' for name in names[:3]) + "]"
    keys = tuple[str, ...] | None
    fields: dict[str, Any] = {
        "ways": (
            Annotated[
                keys, Keys("Ways to be compared; all when not given.", listed, known=names, also=also_called(ways))
            ],
            None,
        ),
        "order": (
            Annotated[
                keys,
                Keys(
                    "Order of preference, simplest first, when several ways pass.",
                    listed,
                    known=names,
                    also=also_called(ways),
                ),
            ],
            None,
        ),
        "direction": (
            Annotated[
                str | None,
                Word(
                    "In which the drive runs before the stop; reverse is a hoist that lowers.",
                    f'"{REVERSE}"',
                    words=(FORWARD, REVERSE),
                ),
            ],
            None,
        ),
        "load_case": (
            Annotated[
                str | None,
                Line(
                    "State of the load that is stopped, by its name; the slowest to stop when not given.", '"full load"'
                ),
            ],
            None,
        ),
        "stop_time": (Annotated[Parsed | None, Quantity("Longest stop.", '"5 s"', unit="s", above=0.0)], None),
        "turns": (
            Annotated[
                Parsed | None, Quantity("Most revolutions of the motor shaft during a stop.", "40", unit="", above=0.0)
            ],
            None,
        ),
        "stops_per_hour": (
            Annotated[Parsed | None, Quantity("Stops in an hour, evenly spread.", "6", unit="", above=0.0, high=600.0)],
            None,
        ),
    }
    for way in ways:
        fields[way.key] = (_way_section(way) | None, Field(default=None, description=way.summary))
    return create_model("StoppingSection", __base__=Section, __doc__="How the motor may be stopped.", **fields)


def _way_section(way: type[StoppingWay]) -> type[Section]:
    """The table of settings of one way, from its dials; every setting may be left out and is then designed."""
    fields: dict[str, Any] = {name: (Annotated[Any, dial_leaf(dial)], None) for name, dial in dials(way).items()}
    doc = f"Settings of stopping: {way.title}."
    return create_model(f"Stop{way.__name__}Section", __base__=Section, __doc__=doc, **fields)
