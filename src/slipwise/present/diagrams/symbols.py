"""Three-pole symbols in the manner of IEC 60617: each draws itself between a top and a bottom on three conductors.

A symbol is asked for with its place and state and leaves the conductors to the wiring; `symbol_table` maps the
kinds of `results.wiring.Device` to their drawing and height. A kind that is not in it is drawn as a box with its name.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from slipwise.present.diagrams.pen import LINK, PLAIN, Pen, Stroke

PITCH = 24.0
"""Between neighbouring conductors."""

TURN = 5.0
"""Radius of a turn of a coil."""

Phases = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where and how a device is drawn: x of its three conductors, top and bottom, closed or open, line weights, words.

    above, below: stroke of the conductors on either side. own: stroke of the device itself.
    terminals: words at the leads of a motor: upper three, then lower three. rotor: drawn with slip rings.
    """

    xs: Phases
    top: float
    bottom: float
    closed: bool
    above: Stroke
    below: Stroke
    own: Stroke
    kind: str = ""
    terminals: tuple[str, ...] = ()
    rotor: bool = False
    direct: bool = False

    @property
    def middle(self) -> float:
        return (self.top + self.bottom) / 2


def _contact(pen: Pen, place: Place, mark: Callable[[Pen, float, float, Stroke], None]) -> None:
    """A make contact in each conductor, with the mark of its function at the fixed side, and the link between the poles."""
    fixed, pivot = place.middle - 9, place.middle + 11
    for x in (place.xs[0], place.xs[2]) if place.direct else place.xs:
        pen.line((x, place.top), (x, fixed), stroke=place.above)
        pen.line((x, pivot), (x, place.bottom), stroke=place.below)
        tip = (x, fixed) if place.closed else (x - 9, fixed - 1)
        pen.line((x, pivot), tip, stroke=place.own)
        mark(pen, x, fixed, place.own)
    reach = 0.0 if place.closed else -5.0
    pen.line((place.xs[0] + reach, place.middle), (place.xs[2] + reach, place.middle), stroke=LINK)


def _contactor_mark(pen: Pen, x: float, y: float, stroke: Stroke) -> None:
    pen.arc((x, y - 7), (x, y), 3.5, clockwise=True, stroke=Stroke(width=max(1.0, stroke.width - 0.6), ink=stroke.ink))


def _breaker_mark(pen: Pen, x: float, y: float, stroke: Stroke) -> None:
    pen.line((x - 3.5, y - 3.5), (x + 3.5, y + 3.5), stroke=Stroke(width=1.3, ink=stroke.ink))
    pen.line((x - 3.5, y + 3.5), (x + 3.5, y - 3.5), stroke=Stroke(width=1.3, ink=stroke.ink))


def _isolator_mark(pen: Pen, x: float, y: float, stroke: Stroke) -> None:
    pen.line((x - 4, y), (x + 4, y), stroke=Stroke(width=1.3, ink=stroke.ink))


def contactor(pen: Pen, place: Place) -> None:
    _contact(pen, place, _contactor_mark)


def breaker(pen: Pen, place: Place) -> None:
    _contact(pen, place, _breaker_mark)


def isolator(pen: Pen, place: Place) -> None:
    _contact(pen, place, _isolator_mark)


def _through(pen: Pen, place: Place, half: float) -> None:
    """Conductors down to a body of height 2 x half, and on below it."""
    for x in place.xs:
        pen.line((x, place.top), (x, place.middle - half), stroke=place.above)
        pen.line((x, place.middle + half), (x, place.bottom), stroke=place.below)


def fuse(pen: Pen, place: Place) -> None:
    _through(pen, place, 13)
    for x in place.xs:
        pen.box((x - 4, place.middle - 13), 8, 26, stroke=place.own)
        pen.line((x, place.middle - 13), (x, place.middle + 13), stroke=place.own)


def resistor(pen: Pen, place: Place) -> None:
    if place.direct:
        in_one(pen, place, 16)
    else:
        _through(pen, place, 16)
    for x in place.xs[:1] if place.direct else place.xs:
        pen.box((x - 5, place.middle - 16), 10, 32, stroke=place.own)


def in_one(pen: Pen, place: Place, half: float) -> None:
    """Two conductors of direct current, with room for a body of height 2 x half in the first."""
    first, last = place.xs[0], place.xs[2]
    pen.line((first, place.top), (first, place.middle - half), stroke=place.above)
    pen.line((first, place.middle + half), (first, place.bottom), stroke=place.below)
    pen.line((last, place.top), (last, place.middle), stroke=place.above)
    pen.line((last, place.middle), (last, place.bottom), stroke=place.below)


def coil(pen: Pen, x: float, top: float, turns: int, stroke: Stroke) -> None:
    for turn in range(turns):
        y = top + 2 * TURN * turn
        pen.arc((x, y), (x, y + 2 * TURN), TURN, clockwise=True, stroke=stroke)


def reactor(pen: Pen, place: Place) -> None:
    _through(pen, place, 20)
    for x in place.xs:
        coil(pen, x, place.middle - 20, 4, place.own)


def overload(pen: Pen, place: Place) -> None:
    """A frame over the three conductors with a heating element in each."""
    y = place.middle
    pen.box((place.xs[0] - 9, y - 13), place.xs[2] - place.xs[0] + 20, 26, stroke=Stroke(width=1.1, ink=place.own.ink))
    for x in place.xs:
        pen.line((x, place.top), (x, y - 6), (x + 7, y - 6), (x + 7, y + 6), (x, y + 6), stroke=place.above)
        pen.line((x, y + 6), (x, place.bottom), stroke=place.below)


def _thyristor(pen: Pen, x: float, y: float, up: float, stroke: Stroke) -> None:
    """One valve; up is 1 when it conducts upwards, -1 downwards."""
    pen.polygon((x - 4.5, y + 4 * up), (x + 4.5, y + 4 * up), (x, y - 4 * up), stroke=stroke, fill="#ffffff")
    pen.line((x - 4.5, y - 4 * up), (x + 4.5, y - 4 * up), stroke=stroke)
    pen.line((x + 1, y - 4 * up), (x + 4.5, y - 7.5 * up), stroke=stroke)


def thyristors(pen: Pen, place: Place) -> None:
    """An antiparallel pair in each conductor."""
    y, half = place.middle, 15
    _through(pen, place, half)
    thin = Stroke(width=min(1.5, place.own.width), ink=place.own.ink)
    for x in place.xs:
        for side, up in ((-5.5, 1.0), (5.5, -1.0)):
            pen.line((x, y - half), (x + side, y - half), (x + side, y + half), (x, y + half), stroke=thin)
            _thyristor(pen, x + side, y, up, thin)


def inverter(pen: Pen, place: Place) -> None:
    """Two static converters in one frame: alternating to direct, direct to alternating of variable frequency."""
    left, width, half = place.xs[0] - 14, place.xs[2] - place.xs[0] + 28, 32
    _through(pen, place, half)
    for y in (place.middle - half, place.middle):
        pen.box((left, y), width, half, stroke=place.own)
        pen.line((left, y + half), (left + width, y), stroke=Stroke(width=1.0, ink=place.own.ink))
    low, right = place.middle, left + width
    for x, y in ((left + 16, low - half + 11), (right - 17, low + half - 10)):
        wave(pen, x, y, place.own.ink)
    for x, y in ((right - 17, low - 9), (left + 16, low + 11)):
        pen.line((x - 7, y - 2), (x + 7, y - 2), stroke=Stroke(width=1.2, ink=place.own.ink))
        pen.line((x - 7, y + 2), (x + 7, y + 2), stroke=Stroke(width=1.2, ink=place.own.ink, dash="3 2.5"))


def wave(pen: Pen, x: float, y: float, ink: str) -> None:
    thin = Stroke(width=1.2, ink=ink)
    pen.arc((x - 8, y), (x, y), 5, clockwise=True, stroke=thin)
    pen.arc((x, y), (x + 8, y), 5, clockwise=False, stroke=thin)


def autotransformer(pen: Pen, place: Place) -> None:
    """Three windings in star: line at the top, tap half way to the left, winding end straight on."""
    first = place.top + 10
    for x in place.xs:
        pen.line((x, place.top), (x, first), stroke=place.above)
        coil(pen, x, first, 7, place.own)
        tap = first + 40
        pen.line((x, tap), (x - PITCH / 2, tap), (x - PITCH / 2, place.bottom), stroke=place.below)
        pen.dot((x, tap), stroke=place.below)
        pen.line((x, first + 70), (x, place.bottom), stroke=place.below)


MOTOR_RADIUS = 38.0


def motor(pen: Pen, place: Place) -> None:
    """A circle with its leads; a second circle inside when the rotor is wound and brought out to slip rings."""
    centre = (place.xs[1], place.middle)
    inner = MOTOR_RADIUS - 11 if place.rotor else MOTOR_RADIUS
    for x, word in zip(place.xs, place.terminals[:3], strict=True):
        edge = place.middle - math.sqrt(MOTOR_RADIUS**2 - (x - centre[0]) ** 2)
        pen.line((x, place.top), (x, edge), stroke=place.above)
        pen.text((x + 3, place.top + 9), word, 8)
    for x, word in zip(place.xs, place.terminals[3:], strict=False):
        edge = place.middle + math.sqrt(inner**2 - (x - centre[0]) ** 2)
        pen.line((x, edge), (x, place.bottom), stroke=place.below)
        pen.text((x + 3, place.bottom - 3), word, 8)
    pen.circle(centre, MOTOR_RADIUS, stroke=place.own)
    if place.rotor:
        pen.circle(centre, inner, stroke=place.own)
    apart = 4 * (pen.lettering - 1)  # larger letters keep off each other
    pen.text((centre[0], centre[1] + 1 - apart), "M", 15, anchor="middle", bold=True)
    pen.text((centre[0], centre[1] + 14 + apart), "3 ~", 10, anchor="middle")


def frame(pen: Pen, place: Place) -> None:
    """Any other device: a box with the name of its kind."""
    _through(pen, place, 16)
    left, width = place.xs[0] - 14, place.xs[2] - place.xs[0] + 28
    pen.box((left, place.middle - 16), width, 32, stroke=place.own)
    pen.text((place.xs[1], place.middle + 3), place.kind, 9, anchor="middle")


def star_joint(pen: Pen, xs: Phases, y: float, stroke: Stroke = PLAIN) -> None:
    """The three conductors joined: a star point."""
    pen.line((xs[0], y), (xs[2], y), stroke=stroke)
    for x in xs:
        pen.dot((x, y), stroke=stroke)
