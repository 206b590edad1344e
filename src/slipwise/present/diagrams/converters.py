"""Symbols of converters, of a link of direct current, and of transformers; as those in `symbols`."""

from __future__ import annotations

import math

from slipwise.present.diagrams.pen import Pen, Stroke
from slipwise.present.diagrams.symbols import PITCH, Place, coil, in_one, star_joint, wave


def _converter(pen: Pen, place: Place, valve: str, *, to_direct: bool) -> None:
    """One static converter: a box with alternating current at one side, direct at the other, and its kind of valve."""
    left, width, half = place.xs[0] - 14, place.xs[2] - place.xs[0] + 28, 22.0
    top, bottom, thin = place.middle - half, place.middle + half, Stroke(width=1.0, ink=place.own.ink)
    alternating, outer = place.xs, (place.xs[0], place.xs[2])
    for x in alternating if to_direct else outer:
        pen.line((x, place.top), (x, top), stroke=place.above)
    for x in outer if to_direct else alternating:
        pen.line((x, bottom), (x, place.bottom), stroke=place.below)
    pen.box((left, top), width, 2 * half, stroke=place.own)
    pen.line((left, bottom), (left + width, top), stroke=thin)
    wave(pen, *((left + 16, top + 10) if to_direct else (left + width - 16, bottom - 9)), place.own.ink)
    x, y = (left + width - 16, bottom - 10) if to_direct else (left + 16, top + 10)
    pen.line((x - 7, y - 2), (x + 7, y - 2), stroke=Stroke(width=1.2, ink=place.own.ink))
    pen.line((x - 7, y + 2), (x + 7, y + 2), stroke=Stroke(width=1.2, ink=place.own.ink, dash="3 2.5"))
    _valve(pen, (place.xs[1], place.middle), valve, thin)


def _valve(pen: Pen, at: tuple[float, float], kind: str, stroke: Stroke) -> None:
    """A diode, a thyristor, or a switch with a diode beside it."""
    x, y = at
    pen.polygon((x - 4.5, y - 4), (x + 4.5, y - 4), (x, y + 4), stroke=stroke, fill="#ffffff")
    pen.line((x - 4.5, y + 4), (x + 4.5, y + 4), stroke=stroke)
    if kind == "thyristor":
        pen.line((x + 1, y + 4), (x + 4.5, y + 7.5), stroke=stroke)
    if kind == "transistor":
        pen.line((x - 8.5, y - 5), (x - 8.5, y + 5), stroke=stroke)
        pen.line((x - 11, y - 5), (x - 11, y + 5), stroke=stroke)


def rectifier(pen: Pen, place: Place) -> None:
    _converter(pen, place, "diode", to_direct=True)


def thyristor_bridge(pen: Pen, place: Place) -> None:
    _converter(pen, place, "thyristor", to_direct=False)


def rotor_converter(pen: Pen, place: Place) -> None:
    _converter(pen, place, "transistor", to_direct=True)


def line_converter(pen: Pen, place: Place) -> None:
    _converter(pen, place, "transistor", to_direct=False)


def choke(pen: Pen, place: Place) -> None:
    """A coil in one conductor of the link."""
    in_one(pen, place, 20)
    coil(pen, place.xs[0], place.middle - 20, 4, place.own)


def chopper(pen: Pen, place: Place) -> None:
    """A static switch across the link: in one conductor, and both joined behind it."""
    in_one(pen, place, 13)
    x, y = place.xs[0], place.middle
    pen.box((x - 10, y - 13), 20, 26, stroke=place.own)
    thin = Stroke(width=1.2, ink=place.own.ink)
    pen.line((x, y - 13), (x, y - 7), stroke=thin)
    pen.line((x, y + 13), (x, y + 7), (x - 6, y - 6), stroke=thin)


def transformer(pen: Pen, place: Place) -> None:
    """Two windings as overlapping circles, three conductors at each side."""
    radius, shift = 21.0, 13.0
    for y, end, stroke in (
        (place.middle - shift, place.top, place.above),
        (place.middle + shift, place.bottom, place.below),
    ):
        side = -1.0 if end < y else 1.0
        for x in place.xs:
            across = x - place.xs[1]
            edge = y + side * math.sqrt(max(radius**2 - across**2, 0.0))
            pen.line((x, end), (x, edge), stroke=stroke)
        pen.circle((place.xs[1], y), radius, stroke=place.own)


def variable_transformer(pen: Pen, place: Place) -> None:
    """Three windings joined below, a slider on each that feeds what follows."""
    first = place.top + 10
    bottom = first + 56
    for x in place.xs:
        pen.line((x, place.top), (x, first), stroke=place.above)
        coil(pen, x, first, 5, place.own)
        pen.line((x, first + 50), (x, bottom), stroke=place.own)
        slider = first + 22
        out = x + PITCH / 2
        pen.polygon((x + 6, slider), (x + 11, slider - 3), (x + 11, slider + 3), stroke=place.own, fill=place.own.ink)
        pen.line((x + 11, slider), (out, slider), (out, place.bottom - 8), (x, place.bottom - 8), stroke=place.below)
        pen.line((x, place.bottom - 8), (x, place.bottom), stroke=place.below)
    star_joint(pen, place.xs, bottom, place.own)
