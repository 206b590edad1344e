"""How far each way carries: the edge of what still passes, for inertia, load, supply and voltage, against what is stated."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look
from slipwise.present.figures.scale import divide
from slipwise.present.tables_reach import edge_text
from slipwise.quantity.show import show
from slipwise.results.boundary import Boundary, Edge
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST = 4  # quantities side by side


def boundary(result: StudyResult, look: Look) -> Figure:
    """One panel a quantity: a line from the stated value to the edge for each way, all in per cent of what is stated."""
    title = "How far each way carries"
    quantities = _quantities(result.boundaries)
    with canvas.drawing():
        note = f"{result.title}. One quantity moved at a time until the way no longer passes; 100 % is as stated."
        figure = canvas.sheet(look, title, note)
        labels = Labels(figure, look)
        left = 0.03 + max(labels.width(b.title, look.text) for b in result.boundaries) + 0.015
        width = (0.97 - left - 0.03 * (len(quantities) - 1)) / len(quantities)
        for n, (key, words) in enumerate(quantities):
            axes = canvas.panel(figure, look, (left + n * (width + 0.03), 0.12, width, 0.64))
            _panel(axes, look, labels, [_edge(b, key) for b in result.boundaries], words)
            if n == 0:
                _names(canvas.writer(figure, look), axes, look, result.boundaries)
        canvas.describe(figure, title, boundary_words(result.boundaries))
        return figure


def _quantities(boundaries: tuple[Boundary, ...]) -> list[tuple[str, str]]:
    found = {edge.key: edge.title for b in boundaries for edge in b.edges}
    return list(found.items())[:MOST]


def _edge(row: Boundary, key: str) -> Edge | None:
    return next((edge for edge in row.edges if edge.key == key), None)


def _panel(axes: Axes, look: Look, labels: Labels, edges: list[Edge | None], words: str) -> None:
    """From 100 % to each edge; an arrow head where it still passed at the end of the range."""
    palette = look.palette
    factors = [edge.factor for edge in edges if edge is not None and edge.factor is not None]
    share = axes.get_position().width
    room = max(labels.width(edge_text(edge), look.small) for edge in edges) / share
    reach = divide(0.0, max([*factors, 1.0]), 2, 3)
    axes.set_xlim(0, max(reach.high, max([*factors, 1.0]) * 1.08, 0.05 + room * reach.high))
    axes.set_ylim(len(edges), 0)
    axes.set_yticks([])
    axes.grid(visible=False, axis="y")
    ticks = [t for t in reach.ticks if t <= axes.get_xlim()[1]]
    axes.set_xticks(ticks, [canvas.tick_text(round(float(t) * 100, 6)) for t in ticks])
    axes.set_xlabel("% of stated", size=look.text, color=palette.ink)
    axes.annotate(
        labels.wrapped(words, look.small, share), (0, 1), xycoords="axes fraction", xytext=(0, 8 * look.scale),
        textcoords="offset points", size=look.small, color=palette.ink, ha="left", va="bottom", linespacing=1.0,
    )  # fmt: skip
    axes.axvline(1.0, color=palette.ink, linewidth=look.hair * 1.6, zorder=2)
    right = axes.get_xlim()[1]
    start = 0.02 * right if 1.0 > (room + 0.04) * right else 1.0 + 0.02 * right  # on one side of the rule at 100 %
    for n, edge in enumerate(edges):
        y = n + 0.5
        factor = edge.factor if edge is not None else None
        if edge is not None and factor is not None:
            (bar,) = axes.plot([1.0, factor], [y, y], color=look.colour(n), linewidth=look.line * 2.2, zorder=3)
            bar.set_solid_capstyle("butt")
            symbol = (">" if factor > 1 else "<") if edge.open else "|"
            (end,) = axes.plot([factor], [y], symbol, color=look.colour(n), markersize=11 * look.scale, zorder=4)
            end.set_markeredgewidth(look.line)
        broken = edge is not None and edge.edge is None
        ink = palette.bad if broken else palette.ink
        axes.text(start, y + 0.16, edge_text(edge), size=look.small, color=ink, va="top", ha="left")


def _names(write: canvas.Writer, axes: Axes, look: Look, rows: tuple[Boundary, ...]) -> None:
    box = axes.get_position()
    for n, row in enumerate(rows):
        y = box.y1 - box.height * (n + 0.5) / len(rows)
        write(box.x0 - 0.012, y, row.title, size=look.text, ha="right")


def boundary_words(boundaries: tuple[Boundary, ...]) -> str:
    """What the figure shows, from the numbers."""
    parts = []
    for row in boundaries:
        told = []
        for edge in row.edges:
            stop = f" ({edge.binding})" if edge.binding else ""
            told.append(f"{edge.title} stated {show(edge.stated, edge.unit)}, edge {edge_text(edge)}{stop}")
        parts.append(f"{row.title}: {'; '.join(told)}.")
    return " ".join(parts)
