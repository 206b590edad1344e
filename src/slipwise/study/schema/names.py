"""Names of ways as people write them: what the trade also calls a way leads to the name that the file knows."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

Also = tuple[tuple[str, str], ...]  # what the trade says, and the name it means
_ALIKE = 0.75


def also_called(ways: Sequence[Any]) -> Also:
    """Every other word for each of the ways, and its title, with the way's key."""
    return tuple((word, way.key) for way in ways for word in (way.title, *way.also))


def meant(word: object, known: Sequence[str], also: Also) -> tuple[str, ...]:
    """The names that `word` may mean: written otherwise, called otherwise, or nearly so; empty when none is like it.

    Two names when the trade uses one word for both.
    """
    plain = _plain(str(word)[:40])
    names: dict[str, list[str]] = {}
    for said, key in (*((name, name) for name in known), *also):
        found = names.setdefault(_plain(said), [])
        if key not in found:
            found.append(key)
    if not plain:
        return ()
    if plain in names:
        return tuple(names[plain])
    near = get_close_matches(plain, names, n=1, cutoff=_ALIKE)
    return tuple(names[near[0]]) if near else ()


def _plain(word: str) -> str:
    return "".join(c for c in word.casefold() if c.isalnum())


# What plates and catalogues call a key of the file, in plain letters: common practice, no source.
_KEYS = {
    "rated_power": "pn p2 kw hp output",
    "rated_voltage": "un u v volts",
    "rated_frequency": "fn f hz",
    "rated_speed": "nn n rpm",
    "rated_current": "in i fla flc amps",
    "power_factor": "cosphi cosfi cos pf phi",
    "efficiency": "eta eff",
    "locked_rotor_current_ratio": "ikin iain istin isin lrc startingcurrent startcurrent",
    "locked_rotor_torque_ratio": "mkmn mamn tatn tstn lrt startingtorque starttorque",
    "breakdown_torque_ratio": "mmaxmn mkippmn tmaxtn tbtn bdt pullouttorque maximumtorque",
    "stall_time_hot": "te stalltime lockedrotortime",
    "code_letter": "code kvacode nemacode",
    "design": "nemadesign designletter",
    "inertia": "j gd2 wk2 wr2 momentofinertia",
    "torque_law": "type law loadtype kind",
    "shaft_power": "power kw",
    "fault_level": "sk ssc isc ik sccpower shortcircuitpower shortcircuitcurrent faultcurrent",
    "rating": "sn sr kva power",
    "short_circuit_voltage": "uk ukr vk impedance z",
    "load_losses": "pk copperlosses losses",
    "section": "crosssection area size awg",
    "parallel_runs": "runs parallel cores",
    "primary_voltage": "u1 hv",
    "secondary_voltage": "u2 lv",
    "busbar": "name bus",
}


def key_meant(word: str, known: Sequence[str]) -> str:
    """The key that a plate or catalogue calls `word`, or the rated one of that name; empty when none of `known` is meant."""
    plain = _plain(word)
    for key in known:
        if plain == _plain(key).removeprefix("rated") or plain in _KEYS.get(key, "").split():
            return key
    return ""
