"""Rotor bars drawn as deep as they are, shaded by the current in them; and how two cages divide it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.lecture_sheet import LEFT, RIGHT, lecture_sheet
from slipwise.present.figures.look import Look
from slipwise.present.figures.ribbons import mixed
from slipwise.present.figures.scale import divide
from slipwise.quantity.show import display_unit, in_display, show
from slipwise.results.lecture import BarCurrent, BarPicture, CageShare

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LOW, HIGH, FOOT = 0.42, 0.69, 0.06  # of the bars; lower edge of the cage shares
STRIP = 0.052  # width of a bar, of the sheet


def bars(found: BarPicture, look: Look) -> Figure:
    """One column a slip: the shaded bar, current over its depth, and the shares of two cages under it."""
    with canvas.drawing():
        figure = lecture_sheet(look, found.title, found.note)
        step = (RIGHT - LEFT + 0.03) / len(found.bars)
        top = divide(0.0, max(float(bar.density.max()) for bar in found.bars))
        labels = Labels(figure, look)
        for number, (bar, share) in enumerate(zip(found.bars, found.cages, strict=True)):
            left = LEFT + number * step
            _bar(figure, look, bar, (left, step), found.height, top.high)
            _cages(figure, look, share, (left, step), labels)
        figure.text(
            0.03, 0.195, "Two cages at the same slips: current over the sum of both", size=look.small,
            color=look.palette.quiet, va="bottom", ha="left",
        )  # fmt: skip
        canvas.describe(figure, found.title, bar_words(found))
        return figure


def _bar(
    figure: Figure, look: Look, bar: BarCurrent, place: tuple[float, float], height: float, highest: float
) -> None:
    left, step = place
    strip = figure.add_axes((left, LOW, STRIP, HIGH - LOW))
    palette = look.palette
    shades = np.interp(np.linspace(0, 1, 60), bar.depth, bar.density) / highest
    for n, shade in enumerate(shades):
        colour = mixed(look.colour(0), palette.paper, float(min(shade, 1.0)) * 0.95 + 0.03)
        strip.axhspan(0.0, 1 - n / 60, color=colour, linewidth=0)  # down to the bottom: no seams
    strip.set_xlim(0, 1)
    strip.set_ylim(0, 1)
    strip.set_xticks([])
    strip.set_yticks([])
    for side in strip.spines.values():
        side.set_color(palette.ink)
        side.set_linewidth(look.hair * 1.4)
    strip.spines["top"].set_visible(False)  # the slot opens towards the air gap
    axes = canvas.panel(figure, look, (left + STRIP + 0.052, LOW, step - STRIP - 0.105, HIGH - LOW))
    unit = display_unit([height], "m")
    size = in_display(height, "m", unit)
    axes.plot(bar.density, bar.depth * size, color=look.colour(0), linewidth=look.line)
    axes.axvline(1.0, color=palette.quiet, linewidth=look.hair, linestyle="dotted")
    axes.set_ylim(size, 0.0)
    ticks = divide(0.0, size, 3, 4).ticks
    ticks = ticks[ticks <= size]
    axes.set_yticks(ticks, [canvas.tick_text(float(t)) for t in ticks])
    axes.set_xlim(0.0, highest)
    marks = divide(0.0, highest, 3, 5).ticks
    axes.set_xticks(marks, [canvas.tick_text(float(t)) for t in marks])
    axes.set_xlabel("density over its mean", size=look.small, color=palette.ink)
    canvas.name_above(axes, look, f"depth, {unit}")
    figure.text(
        left,
        HIGH + 0.058,
        bar.words.replace(", ", "\n"),
        size=look.small,
        color=palette.ink,
        weight="bold",
        va="bottom",
        ha="left",
    )
    words = f"resistance × {show(bar.resistance, '')}\nslot reactance × {show(bar.reactance, '')}"
    figure.text(left, LOW - 0.082, words, size=look.small, color=palette.ink, va="top", ha="left")


def _cages(figure: Figure, look: Look, share: CageShare, place: tuple[float, float], labels: Labels) -> None:
    left, step = place
    name = labels.width("outer ", look.small)
    room = step - name - labels.width(" 100 %", look.small) - 0.04
    most = max(share.outer, share.inner, 1.0)
    for row, (words, value) in enumerate((("outer", share.outer), ("inner", share.inner))):
        y = FOOT + 0.075 * (1 - row)
        axes = figure.add_axes((left + name, y, room, 0.042))
        axes.set_axis_off()
        axes.set_xticks([])
        axes.set_yticks([])
        axes.barh(
            [0],
            [value],
            color=look.colour(row),
            height=0.8,
            hatch=None if row == 0 else "///",
            edgecolor=look.palette.paper,
        )
        axes.set_xlim(0, most)
        axes.set_ylim(-0.5, 0.5)
        figure.text(left, y + 0.021, words, size=look.small, color=look.palette.ink, va="center", ha="left")
        end = left + name + room * value / most + 0.006
        figure.text(end, y + 0.021, show(value, "pu"), size=look.small, color=look.palette.ink, va="center", ha="left")


def bar_words(found: BarPicture) -> str:
    """What the bars show, from the numbers."""
    parts = [found.caption]
    for bar, share in zip(found.bars, found.cages, strict=True):
        parts.append(
            f"{bar.words[0].upper()}{bar.words[1:]}: density {show(float(bar.density[0]), '')} times its mean at the opening "
            f"and {show(float(bar.density[-1]), '')} at the bottom; outer cage {show(share.outer, 'pu')}, inner cage "
            f"{show(share.inner, 'pu')} of the sum of both currents."
        )
    return " ".join(parts)
