"""How figures look: sizes for the projector and for print, light and dark, colours that can be told apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Size = Literal["projector", "print"]
Mode = Literal["light", "dark"]
Dash = str | tuple[float, tuple[float, ...]]

SOLID: Dash = "solid"  # torque, and whatever is the subject of a panel
DASHED: Dash = (0, (5, 2))  # current
DASH_DOT: Dash = (0, (6, 2, 1, 2))
DOTTED: Dash = (0, (1, 1.3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Colours as "#rrggbb". All of `lines` and `ink` stand out from `paper` by a contrast of 4.5 or more."""

    paper: str
    ink: str
    quiet: str  # axes, notes
    faint: str  # grid
    wash: str  # shaded regions
    lines: tuple[str, str, str, str]  # blue, vermilion, green, black (white on dark)

    @property
    def bad(self) -> str:
        """Of a broken limit; the word stands beside it."""
        return self.lines[1]


PALETTES: dict[Mode, Palette] = {
    "light": Palette(
        paper="#ffffff",
        ink="#101214",
        quiet="#555c63",
        faint="#dde1e5",
        wash="#eef1f4",
        lines=("#005a9c", "#b64200", "#00704a", "#101214"),
    ),
    "dark": Palette(
        paper="#10151a",
        ink="#f2f3f4",
        quiet="#aab2ba",
        faint="#303942",
        wash="#1c242c",
        lines=("#6cb8f0", "#ff9461", "#4fd1a1", "#f2f3f4"),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Size and mode of a figure. Both sizes are 16:9 with the smallest text at least 1/36 of the height.

    projector: 13.33 x 7.5 in (1920 x 1080 pixels as PNG). print: 170 mm wide.
    """

    size: Size = "projector"
    mode: Mode = "light"

    @property
    def scale(self) -> float:
        """Of every length against the projector size."""
        return 1.0 if self.size == "projector" else 6.7 / (40 / 3)

    @property
    def width(self) -> float:
        """In inches."""
        return 40 / 3 * self.scale

    @property
    def height(self) -> float:
        """In inches."""
        return 7.5 * self.scale

    @property
    def small(self) -> float:
        """Smallest type: ticks and notes. [pt]"""
        return 15 * self.scale

    @property
    def text(self) -> float:
        """Labels on curves and axes. [pt]"""
        return 16 * self.scale

    @property
    def heading(self) -> float:
        """Title of the figure. [pt]"""
        return 21 * self.scale

    @property
    def line(self) -> float:
        """Width of a curve. [pt]"""
        return 2.6 * self.scale

    @property
    def hair(self) -> float:
        """Width of axes and rules. [pt]"""
        return 1.0 * self.scale

    @property
    def dots(self) -> int:
        """Dots per inch of a PNG."""
        return 144 if self.size == "projector" else 300

    @property
    def palette(self) -> Palette:
        return PALETTES[self.mode]

    def colour(self, number: int) -> str:
        """Of the n-th curve: blue, vermilion, green, black, and round again (then the dash pattern tells them apart)."""
        return self.palette.lines[number % 4]


def dash_of(number: int) -> Dash:
    """Dash pattern of the n-th curve of one kind: changes when the colours come round again."""
    return (SOLID, DASH_DOT, DOTTED)[number // 4 % 3]


PATTERNS: tuple[Dash, ...] = (
    SOLID,
    DASHED,
    DASH_DOT,
    DOTTED,
    (0, (9, 2.5)),
    (0, (3, 1, 1, 1, 1, 1)),
    (0, (2.2, 1.4)),
    (0, (8, 1.5, 1.5, 1.5)),
    (0, (1, 3)),
)


def pattern_of(number: int) -> Dash:
    """Dash pattern of the n-th of many curves, every one its own: told apart without colour."""
    return PATTERNS[number % len(PATTERNS)]


def type_settings() -> dict[str, Any]:
    """Settings of the drawing library that make type and files the same everywhere, whatever the user's own settings."""
    return {
        "font.family": ["DejaVu Sans"],  # comes with the library itself
        "axes.unicode_minus": True,
        "svg.hashsalt": "slipwise",
        "svg.fonttype": "path",
        "pdf.fonttype": 42,
        "path.simplify": True,
        "path.simplify_threshold": 0.2,
        "text.usetex": False,
        "text.parse_math": False,  # a "$" in a title is a dollar sign
    }
