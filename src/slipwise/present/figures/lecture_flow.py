"""Power on its way from the line to the shaft, one ribbon a state, as wide as the power, losses falling out of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.lecture_sheet import lecture_sheet
from slipwise.present.figures.look import Look
from slipwise.present.figures.ribbons import ACROSS, Ribbons
from slipwise.quantity.show import display_unit, show, show_number
from slipwise.results.lecture import Flow, FlowPicture

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LEFT, RIGHT = 190.0, 800.0  # of the ribbons, of 960 across
TOP, BOTTOM = 446.0, 84.0  # of the rows, of 540 up
FALL, FIGURES = 26.0, 20.0  # how far a loss falls, and room for its figure


def power_flow(found: FlowPicture, look: Look) -> Figure:
    """All states to one scale, the places of loss under them."""
    with canvas.drawing():
        figure = lecture_sheet(look, found.title, found.note)
        sheet = Ribbons(figure, look)
        names = [n for n in _names(found) if any(dict(f.lost).get(n, 0.0) > 0 for f in found.flows)]
        height = (TOP - BOTTOM) / len(found.flows)
        scale = (height - FALL - FIGURES - 14.0) / max(f.supplied for f in found.flows)
        unit = display_unit([power for f in found.flows for _, power in f.lost], "W")
        labels = Labels(figure, look)
        for number, flow in enumerate(found.flows):
            _row(sheet, labels, flow, (names, TOP - number * height, scale), unit)
        _places(sheet, labels, names, unit)
        canvas.describe(figure, found.title, flow_words(found))
        return figure


def _names(found: FlowPicture) -> list[str]:
    return [name for name, _ in found.flows[0].lost]


def _x(names: list[str], name: str) -> float:
    step = (RIGHT - LEFT - 20.0) / len(names)
    return LEFT + 14.0 + (names.index(name) + 0.5) * step


def _row(
    sheet: Ribbons, labels: Labels, flow: Flow, place: tuple[list[str], float, float], unit: str
) -> None:  # fmt: skip
    names, top, scale = place
    start = top - 8.0
    low = start - flow.supplied * scale
    floor = low - FALL
    steps = [(_x(names, name), dict(flow.lost)[name] * scale) for name in names]
    end = sheet.band((LEFT, RIGHT), [(LEFT, start)], low, steps, floor)
    sheet.head(RIGHT, end, start)
    for name in names:
        power = dict(flow.lost)[name]
        if power > 0:
            sheet.words(
                (_x(names, name), floor - 3.0), show_number(power, "W", unit), colour=sheet.look.palette.bad,
                ha="center", va="top",
            )  # fmt: skip
    middle = (start + low) / 2
    words = labels.wrapped(flow.words, sheet.look.small, (LEFT - 62.0) / ACROSS, 3)
    rows = words.count("\n") + 1
    sheet.words((24.0, middle + 10.0 * rows), words, weight="bold", linespacing=1.05)
    sheet.words((24.0, middle - 10.0 * rows - 2.0), f"line {show(flow.supplied, 'W')}")
    sheet.words((RIGHT + 20.0, middle + 10.0), f"shaft {show(flow.shaft, 'W')}")
    sheet.words((RIGHT + 20.0, middle - 10.0), f"{show(flow.shaft / flow.supplied, 'pu')} of line")


def _places(sheet: Ribbons, labels: Labels, names: list[str], unit: str) -> None:
    step = (RIGHT - LEFT - 20.0) / len(names)
    for name in names:
        words = labels.wrapped(name, sheet.look.small, 0.96 * step / ACROSS, 2)
        sheet.words((_x(names, name), BOTTOM - 14.0), words, ha="center", va="top", linespacing=1.05)
    sheet.words((24.0, BOTTOM - 14.0), f"lost, {unit}", colour=sheet.look.palette.bad, va="top")


def flow_words(found: FlowPicture) -> str:
    """What the ribbons show, from the numbers."""
    parts = [found.caption]
    for flow in found.flows:
        lost = ", ".join(f"{name} {show(power, 'W')}" for name, power in flow.lost if power > 0)
        parts.append(f"{flow.words[0].upper()}{flow.words[1:]}: lost in {lost}.")
    return " ".join(parts)
