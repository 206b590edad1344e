"""Ribbons as wide as the power they carry, with losses that fall out of them; places of 960 across and 540 up."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from slipwise.present.figures.look import Look

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ACROSS, UP = 960.0, 540.0
BEND = 9.0  # inner radius of a falling loss
HAIR = 1.0  # least width drawn, so that a small loss is still seen

Spot = tuple[float, float]
Steps = Sequence[tuple[float, float]]  # place and width of what leaves a ribbon


def mixed(first: str, second: str, share: float) -> str:
    """A colour between two, as "#rrggbb". share: of the first."""
    pairs = [(int(first[i : i + 2], 16), int(second[i : i + 2], 16)) for i in (1, 3, 5)]
    return "#" + "".join(f"{round(a * share + b * (1 - share)):02x}" for a, b in pairs)


class Ribbons:
    """One sheet on which ribbons are drawn."""

    def __init__(self, figure: Figure, look: Look) -> None:
        self.look = look
        self.axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set_axis_off()
        self.axes.set_xticks([])
        self.axes.set_yticks([])
        self.axes.set_xlim(0, ACROSS)
        self.axes.set_ylim(0, UP)
        paper = look.palette.paper
        self.plain = mixed(look.colour(0), paper, 0.38)
        self.back = mixed(look.colour(2), paper, 0.38)
        self.lost = look.palette.bad

    def words(self, at: Spot, text: str, *, colour: str = "", **how: Any) -> None:
        """Small type in ink, from the left, about its middle height, unless told otherwise."""
        usual: dict[str, Any] = {"ha": "left", "va": "center", "size": self.look.small}
        self.axes.text(*at, text, color=colour or self.look.palette.ink, **(usual | how))

    def line(self, start: Spot, end: Spot) -> None:
        """A thin rule."""
        (x, y), (u, v) = start, end
        self.axes.plot([x, u], [y, v], color=self.look.palette.quiet, linewidth=self.look.hair, zorder=5)

    def shape(self, spots: Sequence[tuple[str, Spot]], colour: str, order: float = 2.0) -> None:
        """A filled outline: each spot by "L" a straight line or by "C" with its two predecessors a bent one."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        codes = [Path.MOVETO] + [Path.CURVE3 if kind == "C" else Path.LINETO for kind, _ in spots[1:]]
        path = Path([at for _, at in spots], codes)
        self.axes.add_patch(PathPatch(path, facecolor=colour, edgecolor="none", zorder=order))

    def box(self, left: float, right: float, low: float, high: float) -> None:
        """A plain piece of ribbon."""
        self.shape([("L", (left, low)), ("L", (right, low)), ("L", (right, high)), ("L", (left, high))], self.plain)

    def head(self, x: float, low: float, high: float) -> None:
        """The point at the end of a ribbon."""
        self.shape([("L", (x, low)), ("L", (x + 12.0, (low + high) / 2)), ("L", (x, high))], self.plain)

    def band(self, across: Spot, top: Steps, low: float, steps: Steps, floor: float) -> float:
        """A ribbon from left to right whose lower edge rises where losses fall out; gives its lower edge at the end.

        across: from, to. top: places from which on its upper edge has the given height. steps: losses from left to right,
        which fall to `floor`.
        """
        (left, right), lower = across, [(across[0], low)]
        for x, width in steps:
            begin = x - width / 2 - BEND
            lower += [(begin, low), (begin, low + width)]
            self.fall((x, low), width, floor)
            low += width
        upper = [(left, top[0][1])]
        for (_, before), (x, height) in pairwise(top):
            upper += [(x, before), (x, height)]
        outline = [*lower, (right, low), (right, top[-1][1]), *reversed(upper)]
        self.shape([("L", at) for at in outline], self.plain)
        return low

    def fall(self, at: Spot, width: float, floor: float) -> None:
        """A loss that leaves a ribbon going right at its lower edge, bends down and ends at `floor`."""
        if width <= 0:
            return
        (x, low), half = at, max(width, HAIR * self.look.scale) / 2
        begin, bent = x - width / 2 - BEND, low - BEND
        spots = [
            ("L", (begin, low)), ("C", (x - half, low)), ("C", (x - half, bent)), ("L", (x - half, floor)),
            ("L", (x + half, floor)), ("L", (x + half, bent)), ("C", (x + half, low + width)), ("C", (begin, low + width)),
        ]  # fmt: skip
        self.shape(spots, self.lost, 3.0)

    def rise(self, at: Spot, width: float, ceiling: float, rightwards: bool) -> None:
        """A loss that leaves the upper edge of a ribbon above another, bends up and ends at `ceiling`."""
        if width <= 0:
            return
        (x, high), half = at, max(width, HAIR * self.look.scale) / 2
        way = 1.0 if rightwards else -1.0
        begin, bent = x - way * (width / 2 + BEND), min(high + BEND, ceiling)
        near, far = x - way * half, x + way * half
        spots = [
            ("L", (begin, high)), ("C", (near, high)), ("C", (near, bent)), ("L", (near, ceiling)),
            ("L", (far, ceiling)), ("L", (far, bent)), ("C", (far, high - width)), ("C", (begin, high - width)),
        ]  # fmt: skip
        self.shape(spots, self.lost, 3.0)

    def given_back(self, across: Spot, gap: Spot, widths: Spot, steps: Steps, ceiling: float) -> None:
        """From the upper edge of a ribbon round and back over it to its beginning.

        across: where the ribbon begins, where the power leaves it. gap: lower and upper height of the gap between both.
        widths: as it leaves, as it arrives. steps: losses by their places from left to right, which rise to `ceiling`.
        """
        (left, turn), (top, bottom), (width, rest) = across, gap, widths
        self._turn(turn, (top, bottom), width, 1.0)
        upper, high = [(turn, bottom + width)], bottom + width
        for x, lost in reversed(steps):
            begin = x + lost / 2 + BEND
            upper += [(begin, high), (begin, high - lost)]
            self.rise((x, high), lost, ceiling, rightwards=False)
            high -= lost
        outline = [(turn, bottom), *upper, (left, high), (left, bottom)]
        self.shape([("L", at) for at in outline], self.back)
        self._turn(left, (top, bottom), rest, -1.0)

    def _turn(self, x: float, gap: Spot, width: float, way: float) -> None:
        """A half turn between the ribbon below the gap and the one above it; way: 1 bulging right, -1 left."""
        (top, bottom) = gap
        middle, inner = (top + bottom) / 2, (bottom - top) / 2
        outer = inner + width
        far, near = x + way * outer, x + way * inner
        spots = [
            ("L", (x, top - width)), ("C", (far, top - width)), ("C", (far, middle)),
            ("C", (far, bottom + width)), ("C", (x, bottom + width)), ("L", (x, bottom)),
            ("C", (near, bottom)), ("C", (near, middle)), ("C", (near, top)), ("C", (x, top)),
        ]  # fmt: skip
        self.shape(spots, self.back)

    def fed_in(self, across: Spot, gap: Spot, widths: Spot, steps: Steps, ceiling: float) -> None:
        """From before the beginning of a ribbon over it and down into it; arguments as `given_back`, the other way round."""
        (left, turn), (top, bottom), (width, rest) = across, gap, widths
        self._slope((left - 30.0, left), (top, bottom + width), width)
        upper, high = [(left, bottom + width)], bottom + width
        for x, lost in steps:
            begin = x - lost / 2 - BEND
            upper += [(begin, high), (begin, high - lost)]
            self.rise((x, high), lost, ceiling, rightwards=True)
            high -= lost
        outline = [(left, bottom), *upper, (turn - 30.0, high), (turn - 30.0, bottom)]
        self.shape([("L", at) for at in outline], self.back)
        self._slope((turn - 30.0, turn), (bottom + rest, top + rest), rest)

    def _slope(self, across: Spot, heights: Spot, width: float) -> None:
        """A piece that goes from one height of its upper edge to another."""
        (left, right), (begin, end) = across, heights
        middle, half = (left + right) / 2, (begin + end) / 2
        spots = [
            ("L", (left, begin)), ("C", (middle, begin)), ("C", (middle, half)), ("C", (middle, end)), ("C", (right, end)),
            ("L", (right, end - width)), ("C", (middle, end - width)), ("C", (middle, half - width)),
            ("C", (middle, begin - width)), ("C", (left, begin - width)),
        ]  # fmt: skip
        self.shape(spots, self.back)
