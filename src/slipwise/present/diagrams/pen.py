"""Lines, curves and words as SVG, with the box they fill; every number is rounded, so the same drawing is the same bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape

FONT = "DejaVu Sans, Verdana, sans-serif"
LETTER_WIDTH = 0.62
"""Width of a letter over the font size, on the wide side of DejaVu Sans: room for labels is reserved with it."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """width in drawing units; ink as an SVG colour; dash as an SVG dash pattern, "" for a full line."""

    width: float = 1.3
    ink: str = "#111111"
    dash: str = ""


PLAIN = Stroke()
LIVE = Stroke(width=2.3)
DEAD = Stroke(width=1.0, ink="#6b6b6b")
LINK = Stroke(width=0.9, ink="#333333", dash="4 3")


def text_width(text: str, size: float) -> float:
    """Room a line of text needs."""
    return LETTER_WIDTH * size * len(text)


@dataclass(slots=True)
class Pen:
    """Collects shapes; y grows downwards as in SVG. lettering: by which every type size is multiplied."""

    lettering: float = 1.0
    shapes: list[str] = field(default_factory=list)
    low: list[float] = field(default_factory=lambda: [0.0, 0.0])
    high: list[float] = field(default_factory=lambda: [0.0, 0.0])

    def _reach(self, *points: Point) -> None:
        for x, y in points:
            self.low = [min(self.low[0], x), min(self.low[1], y)]
            self.high = [max(self.high[0], x), max(self.high[1], y)]

    def _add(self, shape: str, stroke: Stroke, fill: str = "none") -> None:
        dash = f' stroke-dasharray="{stroke.dash}"' if stroke.dash else ""
        self.shapes.append(
            f'<{shape} fill="{fill}" stroke="{stroke.ink}" stroke-width="{stroke.width:g}"{dash}'
            ' stroke-linecap="round" stroke-linejoin="round"/>'
        )

    def line(self, *points: Point, stroke: Stroke = PLAIN) -> None:
        """Straight pieces through the points."""
        self._reach(*points)
        joined = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self._add(f'polyline points="{joined}"', stroke)

    def polygon(self, *points: Point, stroke: Stroke = PLAIN, fill: str = "none") -> None:
        """A closed shape through the points."""
        self._reach(*points)
        joined = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        self._add(f'polygon points="{joined}"', stroke, fill)

    def box(self, corner: Point, width: float, height: float, *, stroke: Stroke = PLAIN) -> None:
        """A rectangle from its upper left corner."""
        x, y = corner
        self.polygon((x, y), (x + width, y), (x + width, y + height), (x, y + height), stroke=stroke)

    def circle(self, centre: Point, radius: float, stroke: Stroke = PLAIN, fill: str = "none") -> None:
        x, y = centre
        self._reach((x - radius, y - radius), (x + radius, y + radius))
        self._add(f'circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"', stroke, fill)

    def dot(self, centre: Point, stroke: Stroke = PLAIN) -> None:
        """A joint between conductors."""
        self.circle(centre, 1.3 + 0.6 * stroke.width, stroke=Stroke(width=0.4, ink=stroke.ink), fill=stroke.ink)

    def arc(self, start: Point, end: Point, radius: float, *, clockwise: bool, stroke: Stroke = PLAIN) -> None:
        """Half a turn or less from start to end."""
        self._reach(start, end)
        (x, y), (u, v) = start, end
        self._add(
            f'path d="M {x:.1f},{y:.1f} A {radius:.1f},{radius:.1f} 0 0 {int(clockwise)} {u:.1f},{v:.1f}"', stroke
        )

    def text(
        self,
        at: Point,
        words: str,
        size: float = 10.0,
        *,
        anchor: str = "start",
        bold: bool = False,
        ink: str = "#111111",
    ) -> None:
        """Words with their baseline at `at`; anchor: start, middle or end."""
        x, y = at
        size *= self.lettering
        width = text_width(words, size)
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
        self._reach((left, y - size), (left + width, y + 0.3 * size))
        weight = ' font-weight="bold"' if bold else ""
        self.shapes.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-family="{FONT}" font-size="{size:g}" fill="{ink}"'
            f' text-anchor="{anchor}"{weight}>{escape(words)}</text>'
        )

    def svg(self, title: str, description: str, margin: float = 6.0) -> bytes:
        """The drawing, with a title and a description for those who do not see it."""
        x, y = self.low[0] - margin, self.low[1] - margin
        width, height = self.high[0] - x + margin, self.high[1] - y + margin
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="{x:.1f} {y:.1f} {width:.1f} {height:.1f}"'
            f' width="{width:.1f}" height="{height:.1f}">'
            f"<title>{escape(title)}</title><desc>{escape(description)}</desc>"
        )
        return "\n".join([head, *self.shapes, "</svg>\n"]).encode()
