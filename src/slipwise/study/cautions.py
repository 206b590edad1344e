"""Which cautions go with a study. The words stand in data/cautions.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slipwise.quantity.provenance import Origin
from slipwise.study.model import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution: `when` names what makes it apply, any of them; `basis` the standards to look into first."""

    key: str
    when: tuple[str, ...]
    text: str
    basis: str


@cache
def all_cautions() -> tuple[Caution, ...]:
    """Every caution of the table, in its order."""
    rows = tomllib.loads((files("slipwise.data") / "cautions.toml").read_text(encoding="utf-8"))["caution"]
    return tuple(Caution(key=r["key"], when=tuple(r["when"]), text=r["text"], basis=r["basis"]) for r in rows)


def cautions_for(study: Study) -> tuple[str, ...]:
    """The texts that apply to a study, with their basis in brackets, general ones first."""
    facts, words = _facts(study), _words(study)
    return tuple(
        f"{caution.text} [{caution.basis}]"
        for caution in all_cautions()
        if any(_applies(when, facts, words) for when in caution.when)
    )


def _applies(when: str, facts: frozenset[str], words: str) -> bool:
    kind, _, word = when.partition(":")
    return word in words if kind == "word" else when in facts


def _facts(study: Study) -> frozenset[str]:
    """What the study's data say, in the terms of the table."""
    facts = {"always"}
    facts.update(f"way:{request.key}" for request in study.ways)
    if study.speed is not None:
        facts.update(f"speed:{request.key}" for request in study.speed.ways)
        facts.update({"tariff"} if study.speed.tariff is not None else ())
    if study.stopping is not None:
        facts.update({"stopping", *(f"stop:{request.key}" for request in study.stopping.ways)})
    facts.update(f"disturbance:{request.kind}" for request in study.disturbances)
    facts.update(f"link:{link.kind}" for link in study.supply.nominal.links)
    if any(row.origin in (Origin.ASSUMED, Origin.ESTIMATED) for row in study.inputs):
        facts.add("estimated")
    if any(term.overhauling for term in study.load.terms):
        facts.add("overhauling")
    if study.motor.circuit is None:
        facts.add("curves")
    return frozenset(facts)


def _words(study: Study) -> str:
    """What the study calls itself and its load: title and every choice in words, lower case."""
    said = [study.title, *(row.text for row in study.inputs if row.value is None)]
    return " ".join(said).lower()
