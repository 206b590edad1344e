"""The bank of problems that come with slipwise, one file a topic. All machines and plants in it are invented."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from slipwise.study.reader import read
from slipwise.teach.formulas import formula
from slipwise.teach.problems.build import problem
from slipwise.teach.problems.model import Problem
from slipwise.teach.problems.schema import TOPICS, BankFile


@cache
def bank() -> Mapping[str, Problem]:
    """Every problem by its name, in the order of the topics, easy ones first."""
    found = [made for topic in TOPICS for made in sorted(_topic(topic), key=lambda made: made.difficulty)]
    return MappingProxyType({made.key: made for made in found})


def _topic(topic: str) -> list[Problem]:
    text = (files("slipwise.teach.problems") / "bank" / f"{topic}.toml").read_text(encoding="utf-8")

    def made(file: BankFile) -> list[Problem]:
        return [problem(entry, f"problem[{n}]", file.topic, formula) for n, entry in enumerate(file.problem, 1)]

    return read(text, None, BankFile, made, BankFile)
