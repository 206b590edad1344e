"""Labels on the curves in place of a legend: each goes to the nearest free spot beside its curve.

The sheet is a raster on which curves, points and earlier labels are marked; a running sum over it tells at once
whether a box is free. Among the free spots the one wins that lies close to its own curve, farther from any other, and near
the part of the curve that was asked for. A label that finds no room close by gets a thin leader.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from slipwise.present.figures.look import Look
from slipwise.results.series import Array

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CELL = 3.0  # size of a raster cell, in layout pixels
MANY = 6000  # spots looked at roughly
BEST = 240  # spots looked at closely
FAR = 26.0  # beyond this distance from its curve a label gets a leader, at projector size


@dataclass(frozen=True, slots=True, kw_only=True)
class _Curve:
    """A curve in pixels: densely for marking, coarsely for distances."""

    dense: Array
    coarse: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class _Target:
    """What a label belongs to: its own points, those of other curves, where along them it would best stand, and how much
    nearer to its own than to any other it has to be to be told apart, in pixels of the projector size."""

    own: Array
    others: Array | None = None
    prefer: float | None = None
    clear: float = 8.0


class Labels:
    """Places the labels of one figure; curves first, then points, then labels."""

    def __init__(self, figure: Figure, look: Look) -> None:
        self.figure = figure
        self.look = look
        self.renderer: Any = cast(Any, figure.canvas).get_renderer()
        self.size = (figure.bbox.width, figure.bbox.height)
        self.taken = np.zeros((int(self.size[1] / CELL) + 1, int(self.size[0] / CELL) + 1), dtype=bool)
        self.curves: dict[tuple[int, str], _Curve] = {}
        self.unit = look.scale  # of pixel distances
        self.inlaid: list[tuple[float, float, float, float]] = []  # middle and half size of names and of points, pixels

    def width(self, words: str, size: float) -> float:
        """Width of words at a type size in pt, as a share of the sheet."""
        text = self.figure.text(0, 0, words, size=size)
        extent = text.get_window_extent(self.renderer)
        text.remove()
        return float(extent.width / self.size[0])

    def wrapped(self, words: str, size: float, width: float, most: int = 3) -> str:
        """Words over up to `most` lines no wider than `width` (a share of the sheet), cut short with dots beyond that."""
        lines: list[str] = []
        for word in words.split(" "):
            if lines and self.width(f"{lines[-1]} {word}", size) <= width:
                lines[-1] = f"{lines[-1]} {word}"
            else:
                lines.append(word)
        return "\n".join(lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]} …"])

    def cut(self, words: str, size: float, width: float) -> str:
        """Words on one line no wider than `width` (a share of the sheet): without letters from the middle, so that what
        sets two long names apart stays."""
        kept = len(words)
        text = words
        while self.width(text, size) > width and kept > 4:
            kept -= 1
            text = f"{words[: (kept + 1) // 2].rstrip()}…{words[-(kept // 2) :].lstrip()}"
        return text

    def curve(self, axes: Axes, name: str, x: Array, y: Array) -> None:
        """Marks a curve as an obstacle, and keeps it for the label of this name."""
        dense = _densified(self._visible(axes, x, y))
        if len(dense):
            coarse = dense[np.linspace(0, len(dense) - 1, min(len(dense), 70)).astype(int)]
            self.curves[id(axes), name] = _Curve(dense=dense, coarse=coarse)
            self._mark(dense, 1)

    def point(self, axes: Axes, x: float, y: float, radius: float = 8.0) -> None:
        """Marks a point symbol as an obstacle. radius: in pixels of the projector size."""
        spot = axes.transData.transform((x, y))
        self._mark(np.asarray([spot], dtype=float), round(radius * self.unit / CELL))
        self.inlaid.append((float(spot[0]), float(spot[1]), radius * self.unit, radius * self.unit))

    def upright(self, axes: Axes, x: float) -> None:
        """Marks a vertical line across a panel as an obstacle."""
        across = float(axes.transData.transform((x, axes.get_ylim()[0]))[0])
        self._mark(_densified(np.array([[across, axes.bbox.y0], [across, axes.bbox.y1]])), 1)

    def on_curve(
        self, axes: Axes, name: str, words: str, colour: str, prefer: float | None = None, clear: float = 8.0
    ) -> None:  # fmt: skip
        """Labels a curve. prefer: where along the curve (0 left end, 1 right end) the label would best stand; clear: how
        much nearer to it than to any other, in pixels, where curves of one colour lie close together."""
        found = self.curves.get((id(axes), name))
        if found is None:
            return
        others = [c.coarse for key, c in self.curves.items() if key != (id(axes), name)]
        rivals = np.concatenate(others) if others else None
        self._place(axes, words, colour, _Target(own=found.coarse, others=rivals, prefer=prefer, clear=clear))

    def in_curve(self, axes: Axes, name: str, words: str, colour: str, prefer: float) -> bool:
        """Sets a name into its curve on a patch of paper, as near as possible to `prefer` (0 left end, 1 right end), where
        it touches no other curve and no other name so set. False, and nothing drawn, when there is no such place."""
        found = self.curves.get((id(axes), name))
        if found is None:
            return False
        text = self.figure.text(0, 0, words, size=self.look.text, color=colour, ha="center", va="center")
        extent = text.get_window_extent(self.renderer)
        half = np.array([extent.width / 2 + 4 * self.unit, extent.height / 2 + 1.5 * self.unit])
        others = [c.dense for key, c in self.curves.items() if key[0] == id(axes) and key[1] != name]
        spots = self._inlays(axes, found.dense, half, np.concatenate(others) if others else np.empty((0, 2)))
        if not len(spots):
            text.remove()
            return False
        left, right = float(found.dense[:, 0].min()), float(found.dense[:, 0].max())
        x, y = spots[int(np.argmin(np.abs(spots[:, 0] - left - prefer * (right - left))))]
        text.set_position((x / self.size[0], y / self.size[1]))
        text.set_bbox({"facecolor": self.look.palette.paper, "edgecolor": "none", "pad": 1.2 * self.unit})
        self.inlaid.append((x, y, float(half[0]), float(half[1])))
        self._mark_box(x - half[0], y - half[1], 2 * half[0], 2 * half[1])
        return True

    def _inlays(self, axes: Axes, own: Array, half: Array, others: Array) -> Array:
        """Points of a curve about which a box of this half size is inside the panel and free of others; shape (n, 2)."""
        some = own[np.linspace(0, len(own) - 1, min(len(own), 160)).astype(int)]
        box = axes.bbox
        peak = own[int(np.argmax(own[:, 1]))]  # a name does not hide the top of its curve
        inside = ~(np.abs(some - peak) < 1.3 * half).all(axis=1) | (np.ptp(own[:, 1]) < 4 * half[1])
        inside &= (some[:, 0] - half[0] > box.x0 + 2) & (some[:, 0] + half[0] < box.x1 - 2)
        inside &= (some[:, 1] - half[1] > box.y0 + 2) & (some[:, 1] + half[1] < box.y1 - 2)
        for x, y, wide, high in self.inlaid:
            inside &= (np.abs(some[:, 0] - x) > half[0] + wide) | (np.abs(some[:, 1] - y) > half[1] + high)
        some = some[inside]
        if not len(others) or not len(some):
            return np.asarray(some)
        near = (np.abs(some[:, None, :] - others[None, ::2, :]) < half + 2 * self.unit).all(axis=2)
        return np.asarray(some[~near.any(axis=1)])

    def at_point(self, axes: Axes, x: float, y: float, words: str, colour: str) -> None:
        """Labels a point; one outside the panel at the edge nearest to it."""
        box = axes.bbox
        spot = np.asarray([axes.transData.transform((x, y))], dtype=float).clip((box.x0, box.y0), (box.x1, box.y1))
        self._place(axes, words, colour, _Target(own=spot))

    def _visible(self, axes: Axes, x: Array, y: Array) -> Array:
        pixels = np.asarray(axes.transData.transform(np.column_stack([x, y])), dtype=float)
        box = axes.bbox
        inside = np.isfinite(pixels).all(axis=1)
        inside &= (pixels[:, 0] >= box.x0 - 2) & (pixels[:, 0] <= box.x1 + 2)
        inside &= (pixels[:, 1] >= box.y0 - 60) & (pixels[:, 1] <= box.y1 + 60)
        kept = pixels[inside]
        return np.column_stack([kept[:, 0], kept[:, 1].clip(box.y0, box.y1)])

    def _mark(self, pixels: Array, reach: int) -> None:
        rows, columns = self.taken.shape
        r, c = (pixels[:, 1] / CELL).astype(int), (pixels[:, 0] / CELL).astype(int)
        for dr in range(-reach, reach + 1):
            for dc in range(-reach, reach + 1):
                self.taken[(r + dr).clip(0, rows - 1), (c + dc).clip(0, columns - 1)] = True

    def _mark_box(self, x: float, y: float, width: float, height: float) -> None:
        rows, columns = (
            slice(int(y / CELL), int((y + height) / CELL) + 1),
            slice(int(x / CELL), int((x + width) / CELL) + 1),
        )
        self.taken[rows, columns] = True

    def _place(self, axes: Axes, words: str, colour: str, target: _Target) -> None:
        text = self.figure.text(
            0, 0, words, size=self.look.text, color=colour, ha="left", va="bottom", linespacing=1.05
        )
        pad = 3.5 * self.unit
        for variant in (words, *_in_two_lines(words)):
            text.set_text(variant)
            extent = text.get_window_extent(self.renderer)
            width, height = extent.width, extent.height
            spots = self._free(axes, width + 2 * pad, height + 2 * pad)
            if len(spots):
                break
        else:
            text.set_text("")  # no room in the panel at all; the alternative text still tells
            return
        spots = spots + pad
        x, y = spots[self._best(spots, (width, height), target)]
        text.set_position((x / self.size[0], y / self.size[1]))
        self._mark_box(x - pad, y - pad, width + 2 * pad, height + 2 * pad)
        self.inlaid.append((x + width / 2, y + height / 2, width / 2 + pad, height / 2 + pad))
        self._leader((x, y, width, height), target.own, colour)

    def _free(self, axes: Axes, width: float, height: float) -> Array:
        """Lower left corners (pixels) of the free boxes of this size inside the panel."""
        w, h = int(np.ceil(width / CELL)) + 1, int(np.ceil(height / CELL)) + 1
        box = axes.bbox
        left, right, low, high = (int(v / CELL) for v in (box.x0, box.x1, box.y0, box.y1))
        area = self.taken[low : high + 1, left : right + 1]
        if area.shape[0] <= h or area.shape[1] <= w:
            return np.empty((0, 2))
        total = np.zeros((area.shape[0] + 1, area.shape[1] + 1), dtype=np.int32)
        total[1:, 1:] = area.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, dtype=np.int32)
        inside = total[h:, w:] - total[:-h, w:] - total[h:, :-w] + total[:-h, :-w]
        rows, columns = np.nonzero(inside == 0)
        return np.column_stack([(columns + left) * CELL, (rows + low) * CELL]).astype(float)

    def _best(self, spots: Array, size: tuple[float, float], target: _Target) -> int:
        own, others, prefer = target.own, target.others, target.prefer
        some = np.linspace(0, len(spots) - 1, min(len(spots), MANY)).astype(int)
        rough = _distance(spots[some], size, own[:: max(1, len(own) // 20)])
        shift = np.zeros(len(some))
        if prefer is not None:
            left, right = float(own[:, 0].min()), float(own[:, 0].max())
            wanted = left + prefer * (right - left)
            shift = 0.12 * np.abs(spots[some, 0] + size[0] / 2 - wanted)
        short = np.argsort(rough + shift, kind="stable")[:BEST]
        near = _distance(spots[some[short]], size, own)
        cost = near + shift[short]
        if others is not None:
            rival = _distance(spots[some[short]], size, others)
            cost = cost + 3.0 * np.maximum(0.0, near + target.clear * self.unit - rival)
        led = near > FAR * self.unit  # these would need a leader
        if led.any():
            cost[led] += 4.0 * self._crossings(spots[some[short[led]]], size, own)
        return int(some[short[int(np.argmin(cost))]])

    def _crossings(self, spots: Array, size: tuple[float, float], own: Array) -> Array:
        """How much of what is drawn a leader from each spot would cross, in cells."""
        ends = own[_nearest(spots, size, own)]
        starts = np.clip(ends, spots, spots + np.asarray(size))
        along = np.linspace(0.15, 0.85, 40)[None, :, None]
        path = starts[:, None, :] * (1 - along) + ends[:, None, :] * along
        rows, columns = (path[..., 1] / CELL).astype(int), (path[..., 0] / CELL).astype(int)
        return np.asarray(self.taken[rows, columns].sum(axis=1), dtype=float)

    def _leader(self, box: tuple[float, float, float, float], own: Array, colour: str) -> None:
        from matplotlib.lines import Line2D

        spot, size = np.array([box[:2]]), (box[2], box[3])
        if float(_distance(spot, size, own)[0]) <= FAR * self.unit:
            return
        end = own[_nearest(spot, size, own)[0]]
        start = np.clip(end, spot[0], spot[0] + np.asarray(size))
        whole = np.asarray(self.size)
        (x0, y0), (x1, y1) = start / whole, end / whole
        line = Line2D([x0, x1], [y0, y1], color=colour, linewidth=self.look.hair, transform=self.figure.transFigure)
        self.figure.add_artist(line)
        self._mark(_densified(np.array([start, end])), 1)


def _in_two_lines(words: str) -> list[str]:
    """The same words over two lines, broken at the blank nearest the middle; none without a blank."""
    blanks = [n for n, letter in enumerate(words) if letter == " "]
    if not blanks or "\n" in words:
        return []
    middle = min(blanks, key=lambda n: abs(n - len(words) / 2))
    return [f"{words[:middle]}\n{words[middle + 1 :]}"]


def _densified(pixels: Array) -> Array:
    """Points along a polyline no farther apart than half a cell."""
    if len(pixels) < 2:
        return pixels
    length = np.hypot(*np.diff(pixels, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(length)])
    wanted = np.linspace(0, along[-1], max(2, int(along[-1] / (CELL * 0.5)) + 1))
    return np.column_stack([np.interp(wanted, along, pixels[:, 0]), np.interp(wanted, along, pixels[:, 1])])


def _gaps(spots: Array, size: tuple[float, float], points: Array) -> Array:
    """Square of the way from each box to each point; shape (boxes, points). [pixels2]"""
    half = np.asarray(size) / 2
    middle = spots + half
    across = np.maximum(np.abs(middle[:, None, 0] - points[None, :, 0]) - half[0], 0.0)
    up = np.maximum(np.abs(middle[:, None, 1] - points[None, :, 1]) - half[1], 0.0)
    across *= across
    up *= up
    across += up
    return np.asarray(across, dtype=float)


def _distance(spots: Array, size: tuple[float, float], points: Array) -> Array:
    """From each box to the nearest of the points. [pixels]"""
    return np.asarray(np.sqrt(_gaps(spots, size, points).min(axis=1)), dtype=float)


def _nearest(spots: Array, size: tuple[float, float], points: Array) -> Any:
    return _gaps(spots, size, points).argmin(axis=1)
