"""The formulas of the trade by topic: each defined once, next to its physics or in this folder, and found here by key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import Formula
from slipwise.teach.formulas.circuit import CIRCUIT, POWER
from slipwise.teach.formulas.rotor import RECOVERY, ROTOR_CHOPPER, ROTOR_STEPS
from slipwise.teach.formulas.run_up import HEAT, RUN_UP
from slipwise.teach.formulas.speed import BRAKING, FREQUENCY, POLES, STATOR_VOLTAGE
from slipwise.teach.formulas.starting import STARTING
from slipwise.teach.formulas.supply import DIP
from slipwise.teach.formulas.tests_and_ratings import BENCH, DUTY
from slipwise.teach.formulas.torque import TORQUE


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """A chapter of formulas. key: one word, as in commands; title: as printed."""

    key: str
    title: str
    formulas: tuple[Formula, ...]


TOPICS = (
    Topic(key="circuit", title="Equivalent circuit", formulas=CIRCUIT),
    Topic(key="power", title="The way of the power", formulas=POWER),
    Topic(key="torque", title="Torque and breakdown", formulas=TORQUE),
    Topic(key="starting", title="Starting with less voltage", formulas=STARTING),
    Topic(key="rotor_steps", title="Resistance in the rotor", formulas=ROTOR_STEPS),
    Topic(key="dip", title="What the supply sees", formulas=DIP),
    Topic(key="run_up", title="Run-up", formulas=RUN_UP),
    Topic(key="heat", title="Heat", formulas=HEAT),
    Topic(key="frequency", title="Frequency and voltage", formulas=FREQUENCY),
    Topic(key="stator_voltage", title="Stator voltage and fans", formulas=STATOR_VOLTAGE),
    Topic(key="rotor_chopper", title="Rotor chopper", formulas=ROTOR_CHOPPER),
    Topic(key="recovery", title="Slip power sent back", formulas=RECOVERY),
    Topic(key="poles", title="Changing poles", formulas=POLES),
    Topic(key="braking", title="Braking and unbalance", formulas=BRAKING),
    Topic(key="bench", title="Bench tests", formulas=BENCH),
    Topic(key="duty", title="Ratings and duty", formulas=DUTY),
)
_BY_KEY: Mapping[str, Formula] = {one.key: one for topic in TOPICS for one in topic.formulas}


def keys() -> tuple[str, ...]:
    """The keys of all formulas, topic by topic."""
    return tuple(_BY_KEY)


def formula(key: str) -> Formula:
    """The formula with a key such as `torque.breakdown`.

    Raises:
        InputError: there is none; names the nearest.
    """
    if key not in _BY_KEY:
        near = get_close_matches(key, _BY_KEY, n=1, cutoff=0.5)
        remedy = f"did you mean {near[0]}?" if near else "list them with slipwise teach formulas"
        raise InputError.of("formula", key, "there is no such formula", remedy)
    return _BY_KEY[key]


def topic(key: str) -> Topic:
    """The topic with a key such as `torque`.

    Raises:
        InputError: there is none; names all.
    """
    for one in TOPICS:
        if one.key == key:
            return one
    raise InputError.of("topic", key, "there is no such topic", "choose one of " + ", ".join(t.key for t in TOPICS))
