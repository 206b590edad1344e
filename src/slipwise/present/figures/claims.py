"""Figures of shorthands: what is said, dashed, over what is computed."""

from __future__ import annotations

from functools import partial

from slipwise.present.figures.bench import Line, Plot, plot
from slipwise.present.figures.catalogue import Entry
from slipwise.results.claims import Claim, Claims


def catalogue(found: Claims) -> list[Entry]:
    """One figure a shorthand, by its key."""
    return [Entry(claim.key, claim.title, partial(plot, plot_of(claim))) for claim in found.claims]


def plot_of(claim: Claim) -> Plot:
    """The figure of one shorthand as data."""
    lines = tuple(
        Line(name=str(number), words=line.words, x=line.x, y=line.y, marked=False, prefer=line.prefer, dashed=line.rule)
        for number, line in enumerate(claim.lines)
    )
    note = f"{claim.said} For this motor: {claim.answer.value}."
    return Plot(title=claim.title, note=note, across=claim.across, up=claim.up, lines=lines)
