"""Where the power goes from the line to the shaft: one ribbon a demand, every loss falling out of it at its own place.

All ribbons of a sheet are drawn to one scale. Power that the rotor gives back runs above the ribbon to the line again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from slipwise.present.figures import canvas
from slipwise.present.figures.labels import Labels
from slipwise.present.figures.look import Look
from slipwise.present.figures.ribbons import Ribbons
from slipwise.present.tables_speed_way import part_words
from slipwise.quantity.show import display_unit, show, show_number
from slipwise.results.speed import OperatingPoint, Part, SpeedWayResult
from slipwise.results.study import StudyResult

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST, MOST_LOOPED = 3, 2  # demands on one sheet; power given back needs room above each ribbon
LEFT, RIGHT = 160.0, 796.0  # where the ribbons begin and end, of 960 across
TOP, BOTTOM = 468.0, 92.0  # of the rows, of 540 up
GAP = 9.0  # between a ribbon and the power given back above it
FALL = 30.0  # how far a loss falls below its ribbon, and
WORDS = 21.0  # room for its figures
BRIDGE = (Part.TRANSFORMER, Part.INVERTER, Part.LINK, Part.RECTIFIER)  # from the line to the rings
STAGGERED = 6  # with more places than this their names stand on two levels


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The places of a sheet from left to right. above: those on the way back from the rotor to the line."""

    places: tuple[Part, ...]
    above: frozenset[Part]

    def x(self, part: Part) -> float:
        """Middle of a place, of 960 across."""
        step = (RIGHT - LEFT - 36.0) / len(self.places)
        return LEFT + 30.0 + (self.places.index(part) + 0.5) * step


def losses(result: StudyResult, way: SpeedWayResult, look: Look) -> Figure:
    """Up to three demands, the fastest first."""
    title = f"{way.title}: where the power goes"
    shown = chosen(way)
    with canvas.drawing():
        left_out = len(way.points) - len(shown)
        more = f" Not drawn: {left_out} of the demands." if left_out else ""
        figure = canvas.sheet(look, title, f"{result.title}. Line to shaft, all ribbons to one scale.{more}")
        sheet = Ribbons(figure, look)
        chain = chain_of(shown)
        scale, height = _scale(shown), (TOP - BOTTOM) / len(shown)
        unit = display_unit([loss.power for point in shown for loss in point.losses], "W")
        for number, point in enumerate(shown):
            _row(sheet, chain, point, (TOP - number * height, TOP - (number + 1) * height, scale), unit)
        _names(sheet, Labels(figure, look), chain, unit)
        canvas.describe(figure, title, losses_words(way))
        return figure


def chosen(way: SpeedWayResult) -> tuple[OperatingPoint, ...]:
    """The demands drawn: the fastest, the slowest, and where there is room for it the one in the middle."""
    order = sorted((p for p in way.points if p.line_power > 0), key=lambda point: -point.duty.speed)
    most = MOST_LOOPED if any(point.returned for point in order) else MOST
    if len(order) <= most:
        return tuple(order)
    middle = (order[len(order) // 2],) if most == MOST else ()
    return (order[0], *middle, order[-1])


def chain_of(points: tuple[OperatingPoint, ...]) -> Chain:
    """The places with losses, in the order in which the power passes them; the converter stands in the rotor circuit
    when power is given back or burnt in a resistor there."""
    found = [part for part in Part if any(point.loss(part) > 0 for point in points)]
    looped = any(point.returned for point in points)
    bridge = [part for part in BRIDGE if part in found]
    motor = [part for part in found if part not in bridge]
    if looped:
        return Chain(places=(*bridge, *motor), above=frozenset(bridge))
    if Part.EXTERNAL in found and bridge:
        behind = motor.index(Part.ROTOR) + 1
        return Chain(places=(*motor[:behind], *reversed(bridge), *motor[behind:]), above=frozenset())
    return Chain(places=tuple(found), above=frozenset())


def _scale(points: tuple[OperatingPoint, ...]) -> float:
    """Height for each watt, so that the largest ribbon with what runs above it fits its row."""
    height = (TOP - BOTTOM) / len(points)
    most = max(p.line_power + 2 * max(p.returned, 0.0) + _on_the_way(p) + max(-p.returned, 0.0) for p in points)
    fixed = FALL + WORDS + 14.0 + (GAP + 26.0 if any(p.returned for p in points) else 0.0)
    return min(height - fixed, 0.55 * height) / most


def _on_the_way(point: OperatingPoint) -> float:
    """Lost between the rotor and the line when power is exchanged there. [W]"""
    return sum(point.loss(part) for part in BRIDGE) if point.returned else 0.0


def _row(
    sheet: Ribbons, chain: Chain, point: OperatingPoint, room: tuple[float, float, float], unit: str
) -> None:  # fmt: skip
    """One demand: the ribbon with its losses, what is given back, words at both ends."""
    top, bottom, scale = room
    above = _above(point) * scale
    start = top - (above + GAP + 26.0 if point.returned else 14.0)
    fed = (point.line_power + point.returned) * scale  # into the stator
    low = start - fed
    floor = max(bottom + WORDS, low - FALL - 8.0)
    high = _exchange(sheet, chain, point, (start, scale), unit)
    steps = []
    for part in chain.places:
        if part in chain.above or part is Part.THROTTLE:
            continue
        steps.append((chain.x(part), point.loss(part) * scale))
        _figures(sheet, chain.x(part), floor - 3.0, point.loss(part), unit)
    end = chain.x(Part.THROTTLE) - 0.5 * (chain.x(Part.THROTTLE) - steps[-1][0]) if _throttled(chain) else RIGHT
    low = sheet.band((LEFT, end), high, low, steps, floor)
    if _throttled(chain):
        sheet.line((end, low - 6.0), (end, start + 4.0))
        steps = [(chain.x(Part.THROTTLE), point.loss(Part.THROTTLE) * scale)]
        _figures(sheet, steps[0][0], floor - 3.0, point.loss(Part.THROTTLE), unit)
        low = sheet.band((end, RIGHT), [(end, high[-1][1])], low, steps, floor)
    sheet.head(RIGHT, low, high[-1][1])
    _ends(sheet, chain, point, (start + start - fed) / 2)


def _above(point: OperatingPoint) -> float:
    """The widest that runs above the ribbon. [W]"""
    return point.returned + _on_the_way(point) if point.returned >= 0 else -point.returned


def _throttled(chain: Chain) -> bool:
    return Part.THROTTLE in chain.places


def _exchange(
    sheet: Ribbons, chain: Chain, point: OperatingPoint, at: tuple[float, float], unit: str
) -> list[tuple[float, float]]:
    """What the rotor gives back to the line, or takes from it, above the ribbon; the upper edge of the ribbon."""
    start, scale = at
    if not point.returned:
        return [(LEFT, start)]
    turn = chain.x(Part.ROTOR) + 0.5 * (RIGHT - LEFT) / len(chain.places)
    width, share = _above(point) * scale, abs(point.returned) * scale
    steps = [(chain.x(part), point.loss(part) * scale) for part in chain.places if part in chain.above]
    ceiling = start + GAP + width + 10.0
    for part in chain.above:
        _figures(sheet, chain.x(part), ceiling + 2.0, point.loss(part), unit, above=True)
    gap = (start, start + GAP)
    if point.returned > 0:
        sheet.given_back((LEFT, turn), gap, (width, share), steps, ceiling)
        return [(LEFT, start), (turn, start - width)]
    sheet.fed_in((LEFT, turn), gap, (share, share - sum(lost for _, lost in steps)), steps, ceiling)
    arrives = share - sum(lost for _, lost in steps)
    return [(LEFT, start), (turn, start + arrives)]


def _figures(sheet: Ribbons, x: float, y: float, power: float, unit: str, above: bool = False) -> None:
    text = show_number(power, "W", unit)
    sheet.words((x, y), text, colour=sheet.look.palette.bad, ha="center", va="bottom" if above else "top")


def _ends(sheet: Ribbons, chain: Chain, point: OperatingPoint, y: float) -> None:
    """Left the demand and what the line gives, right what arrives and the efficiency."""
    state = "" if point.feasible else " (not held)"
    sheet.words((28.0, y + 19.0), f"{point.duty.name}{state}", weight="bold")
    sheet.words((28.0, y), show(point.speed, "rad/s"))
    sheet.words((28.0, y - 19.0), f"line {show(point.line_power, 'W')}")
    lines = [f"shaft {show(point.shaft_power, 'W')}", f"{show(point.efficiency, 'pu')} of line"]
    if _throttled(chain):
        useful = point.shaft_power - point.loss(Part.THROTTLE)
        lines = [lines[0], f"used {show(useful, 'W')}", f"{show(useful / point.line_power, 'pu')} of line"]
    if point.returned:
        lines += [f"{show(abs(point.returned), 'W')}", "back to line" if point.returned > 0 else "into the rotor"]
    for number, words in enumerate(lines):
        colour = sheet.look.colour(2) if point.returned and number > 1 else ""
        sheet.words((RIGHT + 20.0, y + 9.5 * (len(lines) - 1) - 19.0 * number), words, colour=colour)


def _names(sheet: Ribbons, labels: Labels, chain: Chain, unit: str) -> None:
    """What is lost at each place, under the rows."""
    step = (RIGHT - LEFT - 36.0) / len(chain.places)
    two = len(chain.places) > STAGGERED
    for number, part in enumerate(chain.places):
        room = step * (1.9 if two else 0.95) / 960.0
        words = labels.wrapped(part_words(part), sheet.look.small, room, 2)
        y = BOTTOM - 8.0 - (38.0 if two and number % 2 else 0.0)
        sheet.words((chain.x(part), y), words, colour=sheet.look.palette.ink, ha="center", va="top", linespacing=1.0)
    sheet.words((28.0, BOTTOM - 8.0), f"lost, {unit}", colour=sheet.look.palette.bad, va="top")


def losses_words(way: SpeedWayResult) -> str:
    """What the ribbons show, for every demand, from the numbers."""
    parts = []
    for point in way.points:
        lost = ", ".join(f"{part_words(loss.part)} {show(loss.power, 'W')}" for loss in point.losses if loss.power > 0)
        back = f" after {show(point.returned, 'W')} given back by the rotor" if point.returned > 0 else ""
        back = f", of which {show(-point.returned, 'W')} enter the rotor" if point.returned < 0 else back
        parts.append(
            f"{point.duty.name}, {show(point.speed, 'rad/s')}: {show(point.line_power, 'W')} from the line{back}; lost in "
            f"{lost}; shaft {show(point.shaft_power, 'W')}, {show(point.efficiency, 'pu')}."
        )
    return " ".join(parts)
