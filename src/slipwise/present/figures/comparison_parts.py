"""What both layouts of the comparison share: order of the criteria, words of a cell, the small torque figure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from slipwise.present import tables
from slipwise.present.figures import canvas
from slipwise.present.figures.look import SOLID, Look, dash_of
from slipwise.present.figures.marks import drawable, r_min
from slipwise.present.figures.scale import span
from slipwise.quantity.show import show
from slipwise.results.criteria import Criterion, Status
from slipwise.results.study import StudyResult, WayResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_ROWS = 9  # criteria a page holds
FULL = 1.0  # margins beyond this are drawn at the full length of a bar


def key_words(ways: Sequence[WayResult]) -> str:
    """What frame and colours mean."""
    rows = [row for way in ways for row in way.verdict.criteria]
    half = any(row.status is Status.CONDITION and row.margin is not None and row.margin < 0 for row in rows)
    return "Framed: the limit that binds." + (" Left and unhatched: passes with a condition." if half else "")


def ordered_rows(ways: Sequence[WayResult]) -> list[tuple[str, str]]:
    """Key and title of the judged criteria, the least margin over all ways first, as many as the page holds."""
    least: dict[str, tuple[int, float]] = {}
    titles: dict[str, str] = {}
    cases: dict[str, str] = {}
    for way in ways:
        for row in way.verdict.criteria:
            if row.margin is not None or row.status is Status.FAILS:
                least[row.key] = min(tables.tightness(row), least.get(row.key, (9, 0.0)))
                titles.setdefault(row.key, row.title)
                cases.setdefault(row.key, row.case)
    twice = {title for title in titles.values() if list(titles.values()).count(title) > 1}
    named = {key: f"{title}, {cases[key]}" if title in twice else title for key, title in titles.items()}
    return [(key, named[key]) for key in sorted(least, key=lambda k: least[k])][:MOST_ROWS]


def tallest(ways: Sequence[WayResult]) -> float:
    return span([curve.torque for way in ways for curve in way.curves])[1] * 1.06 or 1.0


def small(figure: Figure, look: Look, way: WayResult, place: tuple[float, float, float, float], highest: float) -> None:
    """Torque of each stage and the load on one scale for all ways, without ticks; nothing for a way without curves."""
    if not way.curves:
        return
    way = drawable(way)
    axes = canvas.panel(figure, look, place)
    axes.set_xticks([])
    axes.set_yticks([])
    for n, curve in enumerate(way.curves):
        (line,) = axes.plot(r_min(curve.speed), curve.torque, color=look.colour(n), linestyle=dash_of(n))
        line.set_linewidth(look.line * 0.7)
    first = way.curves[0]
    axes.plot(r_min(first.speed), first.load, color=look.palette.ink, linestyle=SOLID, linewidth=look.line * 0.5)
    axes.set_ylim(0, highest)
    axes.set_xlim(float(r_min(first.speed[0])), float(r_min(first.speed[-1])))


def cell_words(row: Criterion | None, look: Look, width: float) -> tuple[str, str]:
    """Figures or words of a cell, and their colour."""
    if row is not None and row.status is Status.FAILS:
        return (tables.signed(row.margin, short=True) if row.margin is not None else "fails"), look.palette.bad
    if row is None or row.margin is None:
        return ("not judged" if width > 0.12 else "–"), look.palette.quiet
    return tables.signed(row.margin, short=True), look.palette.ink


def comparison_words(result: StudyResult) -> str:
    """What the comparison shows, from the numbers."""
    parts = [tables.verdict_sentence(result)]
    for way in tables.ranked(result):
        row = way.verdict.binding
        bound = ""
        if row is not None:
            value, limit = show(row.value, row.unit), tables.limit_text(row)
            bound = f", bound by {row.title}: {value}, {limit}, margin {tables.signed(row.margin)}"
        parts.append(f"{way.title} {tables.STATUS_WORDS[way.verdict.status]}{bound}.")
    return " ".join(parts)
