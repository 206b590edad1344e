"""Figures of shorthands: what is said, dashed, over what is computed."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from slipwise.present.figures.bench import Line, Plot, plot
from slipwise.present.figures.catalogue import Entry
from slipwise.present.figures.look import Look
from slipwise.results.claims import Claim, Claims

if TYPE_CHECKING:
    from matplotlib.figure import Figure


class LargeType(Look):
    """The look of print with type half as large again, for a figure that stands at part of the page's width."""

    @property
    def small(self) -> float:
        return 1.5 * 15 * self.scale

    @property
    def text(self) -> float:
        return 1.5 * 16 * self.scale


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


def beside_text(claim: Claim) -> Figure:
    """The figure of one shorthand for a page that says its title and its words: without them, in large type."""
    return plot(replace(plot_of(claim), title="", note=""), LargeType(size="print"))


def spoken(claim: Claim) -> str:
    """What that figure shows, in words."""
    return f"{claim.up} over {claim.across}, computed and by the shorthand"
