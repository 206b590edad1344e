"""A winding for two speeds as it stands at one of them: how its halves are joined, and which way every coil's current flows."""

from __future__ import annotations

import math

from slipwise.present.diagrams.pen import Pen, Point, Stroke, text_width
from slipwise.quantity.errors import InputError
from slipwise.results.winding import CoilGroup, WindingDiagram, WindingSpeed

DELTA, DOUBLE = "series delta", "double star"
PHASES = "UVW"
CELL = 12.5  # of a slot
RADIUS = 84.0  # of the circle through the outer terminals
COIL, THICK = 15.0, 4.5  # half length and half width of a coil in the upper part
FULL = Stroke(width=1.6)
THIN = Stroke(width=0.9, ink="#333333")
BRIDGE = Stroke(width=2.6)
SHADE = "#d9d9d9"


def winding_diagram(winding: WindingDiagram, speed: str) -> bytes:
    """The winding at one speed as SVG: above the connection with terminals and arrows, below every slot with the sense of
    its currents at the instant of greatest current in phase U. Halves whose current is reversed against the other
    speed are shaded.

    Raises:
        InputError: the winding has no speed of this name; names those it has.
    """
    found = speed_named(winding, speed)
    pen = Pen()
    _connection(pen, winding, found)
    _words(pen, winding, found)
    _slots(pen, winding, found)
    return pen.svg(f"{winding.name}, {found.name} speed", winding_described(winding, speed))


def speed_named(winding: WindingDiagram, name: str) -> WindingSpeed:
    """One speed of a winding. Raises InputError as `winding_diagram`."""
    for speed in winding.speeds:
        if speed.name == name:
            return speed
    known = ", ".join(speed.name for speed in winding.speeds)
    raise InputError.of("speed", name, "is not a speed of this winding", f"choose one of {known}")


def winding_described(winding: WindingDiagram, speed: str) -> str:
    """The same in words, for those who do not see it."""
    found = speed_named(winding, speed)
    reversed_names = [
        group.name for group, turned in zip(winding.groups, reversed_at(winding, found), strict=True) if turned
    ]
    joined = f" {', '.join(found.joined)} joined." if found.joined else ""
    turned = f" Current reversed in {', '.join(reversed_names)}." if reversed_names else ""
    swap = " Two phases are swapped against the other speed." if found.swapped else ""
    return (
        f"{winding.name}, {winding.slots} slots, coils over {winding.pitch}: {found.name} speed with {found.poles} poles, "
        f"{found.connection}, fed at {', '.join(found.fed)}.{joined}{turned}{swap}"
    )


def reversed_at(winding: WindingDiagram, speed: WindingSpeed) -> list[bool]:
    """For each group whether its current is reversed against the speed at which all flow alike."""
    plain = max(winding.speeds, key=lambda one: abs(sum(one.directions)))
    return [a != b for a, b in zip(speed.directions, plain.directions, strict=True)]


def _terminals(winding: WindingDiagram) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Outer ends and middles of the three phases; a winding for one speed brings no middles out."""
    double = next((speed for speed in winding.speeds if speed.connection == DOUBLE), None)
    series = next((speed for speed in winding.speeds if speed.connection != DOUBLE), None)
    outer = series.fed if series is not None else double.joined if double is not None else ()
    return outer, double.fed if double is not None else ()


def _connection(pen: Pen, winding: WindingDiagram, speed: WindingSpeed) -> None:
    """A triangle when the winding stands in delta at one of its speeds, else a star; the coils stay where they are."""
    outer, middle = _terminals(winding)
    corners = [_around(angle, RADIUS) for angle in (-90, 150, 30)]
    delta = any(one.connection == DELTA for one in winding.speeds)
    ends = [corners[1], corners[2], corners[0]] if delta else [(0.0, 0.0)] * 3
    if speed.joined:
        pen.circle((0.0, 0.0), RADIUS, stroke=BRIDGE)
        pen.text((0.0, RADIUS + 15.0), f"{', '.join(speed.joined)} joined", 9, anchor="middle", bold=True)
    doubled = speed.connection == DOUBLE
    turned = any(
        flag for group, flag in zip(winding.groups, reversed_at(winding, speed), strict=True) if group.half == 1
    )
    for phase, (start, end) in enumerate(zip(corners, ends, strict=True)):
        half = _between(start, end, 0.5)
        _coil(pen, (start, half), backwards=doubled, shaded=turned)
        _coil(pen, (half, end), backwards=False, shaded=False)
        _terminal(pen, start, outer[phase : phase + 1], fed=outer[phase : phase + 1] == speed.fed[phase : phase + 1])
        if middle:
            fed = middle[phase] == speed.fed[phase]
            pen.circle(half, 4.0, stroke=FULL, fill="#111111" if fed else "#ffffff")
            length = math.hypot(end[0] - start[0], end[1] - start[1])
            out = 18.0 if delta else -15.0  # away from the triangle; from an arm to the side without arrows
            nx, ny = -(end[1] - start[1]) / length, (end[0] - start[0]) / length
            _name(pen, (half[0] + out * nx, half[1] + out * ny), middle[phase], half, bold=fed)
    if not delta:
        pen.dot((0.0, 0.0), stroke=FULL)


def _around(degrees: float, radius: float) -> Point:
    return radius * math.cos(math.radians(degrees)), radius * math.sin(math.radians(degrees))


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _coil(pen: Pen, ends: tuple[Point, Point], *, backwards: bool, shaded: bool) -> None:
    """A conductor with a coil in its middle and an arrow beside it in the sense of the current."""
    (x, y), (u, v) = ends
    length = math.hypot(u - x, v - y)
    ax, ay = (u - x) / length, (v - y) / length
    nx, ny = -ay, ax
    mx, my = (x + u) / 2, (y + v) / 2
    half = min(COIL, 0.3 * length)
    pen.line((x, y), (u, v), stroke=FULL)
    corners = [
        (mx + a * half * ax + b * THICK * nx, my + a * half * ay + b * THICK * ny)
        for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    pen.polygon(*corners, stroke=FULL, fill=SHADE if shaded else "#ffffff")
    sense = -1.0 if backwards else 1.0
    side = 11.0
    tail = (mx + side * nx - sense * half * ax, my + side * ny - sense * half * ay)
    tip = (mx + side * nx + sense * half * ax, my + side * ny + sense * half * ay)
    _arrow(pen, tail, tip)


def _arrow(pen: Pen, tail: Point, tip: Point) -> None:
    length = math.hypot(tip[0] - tail[0], tip[1] - tail[1])
    ax, ay = (tip[0] - tail[0]) / length, (tip[1] - tail[1]) / length
    pen.line(tail, tip, stroke=THIN)
    left = (tip[0] - 6 * ax - 3 * ay, tip[1] - 6 * ay + 3 * ax)
    right = (tip[0] - 6 * ax + 3 * ay, tip[1] - 6 * ay - 3 * ax)
    pen.polygon(tip, left, right, stroke=THIN, fill=THIN.ink)


def _terminal(pen: Pen, at: Point, names: tuple[str, ...], *, fed: bool) -> None:
    """A terminal with its name outside; filled when the supply is there."""
    pen.circle(at, 4.0, stroke=FULL, fill="#111111" if fed else "#ffffff")
    distance = math.hypot(*at)
    for name in names:
        _name(pen, (at[0] * (1 + 15.0 / distance), at[1] * (1 + 15.0 / distance)), name, at, bold=fed)


def _name(pen: Pen, at: Point, name: str, beside: Point, *, bold: bool) -> None:
    """A name that grows away from the terminal it stands beside."""
    across = at[0] - beside[0]
    anchor = "middle" if abs(across) < 6 else "start" if across > 0 else "end"
    pen.text((at[0], at[1] + 3.5), name, 10, anchor=anchor, bold=bold)


def _words(pen: Pen, winding: WindingDiagram, speed: WindingSpeed) -> None:
    lines = [
        f"{speed.name} speed: {speed.poles} poles",
        speed.connection,
        f"supply at {', '.join(speed.fed)} (filled)",
    ]
    lines += ["two phases swapped against the other speed"] if speed.swapped else []
    lines += ["shaded: current reversed"] if any(reversed_at(winding, speed)) else []
    for number, words in enumerate(lines):
        pen.text((RADIUS + 62.0, -40.0 + 17.0 * number), words, 11 if number == 0 else 10, bold=number == 0)


def _slots(pen: Pen, winding: WindingDiagram, speed: WindingSpeed) -> None:
    """One column a slot: above the leading sides of coils, below the returning ones; a cross flows in, a dot out."""
    left, top = -RADIUS - 40.0, RADIUS + 52.0
    side_of: dict[int, tuple[CoilGroup, int, bool]] = {}
    for group, direction, turned in zip(winding.groups, speed.directions, reversed_at(winding, speed), strict=True):
        sense = direction * (1 if group.phase == 0 else -1)
        for slot in group.slots:
            side_of[slot] = (group, sense, turned)
        _group_name(pen, left, top, group, bold=turned)
    for slot, (_, sense, turned) in side_of.items():
        back = (slot + winding.pitch) % winding.slots
        _side(pen, (left + (slot + 0.5) * CELL, top + 8.0), inwards=sense > 0, shaded=turned)
        _side(pen, (left + (back + 0.5) * CELL, top + 22.0), inwards=sense < 0, shaded=turned)
    right = left + winding.slots * CELL
    for y in (top + 1.0, top + 15.0, top + 29.0):
        pen.line((left, y), (right, y), stroke=THIN)
    for slot in range(winding.slots + 1):
        pen.line((left + slot * CELL, top + 1.0), (left + slot * CELL, top + 29.0), stroke=THIN)
        if slot % 6 == 0 and slot < winding.slots:
            pen.text((left + (slot + 0.5) * CELL, top + 41.0), str(slot + 1), 8.5, anchor="middle")
    words = "slot; cross in, dot out, when the current of phase U is greatest and those of V and W flow the other way"
    pen.text((left, top + 55.0), words, 9)


def _group_name(pen: Pen, left: float, top: float, group: CoilGroup, *, bold: bool) -> None:
    """Over the leading sides of its coils."""
    first, last = group.slots[0], group.slots[-1]
    room = (last - first + 1) * CELL
    name = group.name if text_width(group.name, 9.5) <= room else PHASES[group.phase]
    pen.text((left + first * CELL + room / 2, top - 4.0), name, 9.5, anchor="middle", bold=bold)


def _side(pen: Pen, at: Point, *, inwards: bool, shaded: bool) -> None:
    """One side of a coil in its slot."""
    (x, y), r = at, 4.6
    pen.circle(at, r, stroke=THIN, fill=SHADE if shaded else "#ffffff")
    if inwards:
        d = r * 0.707
        pen.line((x - d, y - d), (x + d, y + d), stroke=THIN)
        pen.line((x - d, y + d), (x + d, y - d), stroke=THIN)
    else:
        pen.circle(at, 1.3, stroke=THIN, fill=THIN.ink)
