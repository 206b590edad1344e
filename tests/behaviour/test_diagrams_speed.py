"""Circuits of speed control: links of direct current, power that comes back to the supply; windings with their currents."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import combinations, pairwise
from math import isclose

import pytest

from slipwise.present.diagrams import described, diagram, winding_described, winding_diagram
from slipwise.present.diagrams.circuit import alive, circuit_of, interlocks
from slipwise.present.diagrams.winding import reversed_at, speed_named
from slipwise.quantity.errors import InputError
from slipwise.results.winding import WindingDiagram
from slipwise.results.wiring import Wiring
from slipwise.study.reader import loads
from slipwise.study.speed.run import run_speed
from tests.behaviour.sample_speed import EXAMPLES, NAMES, speed_of, speed_sample, speed_way
from tests.behaviour.test_diagrams import SVG, texts

FAN = (EXAMPLES / "fan_v4.toml").read_text(encoding="utf-8")
ARRANGEMENTS = ("variable torque", "constant torque", "constant power")
WIRINGS = {way.key: way.wiring for name in NAMES for way in speed_of(speed_sample(name)).ways}
CASES = [
    pytest.param(wiring, stage, id=f"{key}, {stage or 'at rest'}")
    for key, wiring in WIRINGS.items()
    for stage in (None, *wiring.stages)
]


def tapped(arrangement: str) -> WindingDiagram:
    """The fan's winding in one of the arrangements of its halves."""
    result = run_speed(loads(FAN.replace("variable torque", arrangement)))
    assert result is not None
    return next(way for way in result.ways if way.key == "tapped_winding").wiring.windings[0]


WINDINGS = {arrangement: tapped(arrangement) for arrangement in ARRANGEMENTS}
DRAWN = [(arrangement, speed.name) for arrangement, found in WINDINGS.items() for speed in found.speeds]


@pytest.mark.parametrize(("wiring", "stage"), CASES)
def test_devices_are_named_and_words_stand_free(wiring: Wiring, stage: str | None) -> None:
    """Every device with its name; no words over words, none crossed by a full line; the same bytes again."""
    svg = diagram(wiring, stage)
    boxes = texts(svg)
    said = {text for text, *_ in boxes}
    for device in wiring.devices:
        assert set(device.label.split(" ", 1)) <= said
    for (a, al, at, ar, ab), (b, bl, bt, br, bb) in combinations(boxes, 2):
        assert ar < bl or br < al or ab < bt or bb < at, f"{a} over {b}"
    for node in ET.fromstring(svg).iter(f"{SVG}polyline"):
        points = [tuple(map(float, pair.split(","))) for pair in node.attrib["points"].split()]
        for (x, y), (u, v) in pairwise(points):
            for text, left, top, right, bottom in boxes:
                apart = max(x, u) < left or min(x, u) > right or max(y, v) < top or min(y, v) > bottom
                assert apart or node.get("stroke-dasharray"), f"a line through {text!r}"
    assert diagram(wiring, stage) == svg
    assert described(wiring, stage) in svg.decode().replace("&#x27;", "'")


@pytest.mark.parametrize(
    ("key", "links"),
    [
        ("rotor_chopper", ["V1", "L1", "V2"]),
        ("slip_recovery", ["V1", "L1"]),
        ("rotor_fed", ["U1"]),
        ("rotor_resistance", []),
        ("volts_per_hertz", []),
    ],
)
def test_direct_current_between_converters(key: str, links: list[str]) -> None:
    """The nodes behind these devices, and no others, have two conductors."""
    circuit = circuit_of(WIRINGS[key])
    assert [circuit.trunk[node].label for node in sorted(circuit.direct)] == links


@pytest.mark.parametrize("key", ["rotor_chopper", "slip_recovery", "rotor_fed", "rotor_resistance"])
def test_a_converter_at_the_rings_makes_a_wound_rotor(key: str) -> None:
    """Slip rings K, L, M are drawn, and no contactor of the rotor circuit counts as a star contactor."""
    assert circuit_of(WIRINGS[key]).wound_rotor
    assert {"K", "L", "M"} <= {text for text, *_ in texts(diagram(WIRINGS[key]))}
    assert interlocks(WIRINGS[key], circuit_of(WIRINGS[key])) == ()


@pytest.mark.parametrize("key", ["slip_recovery", "rotor_fed"])
def test_power_comes_back_behind_the_breaker(key: str) -> None:
    """The transformer at the end stands at the supply; there is no star point below."""
    wiring = WIRINGS[key]
    circuit = circuit_of(wiring)
    assert circuit.returns == 0
    assert circuit.trunk[0].kind == "breaker"
    assert not circuit.joined_below
    last = len(circuit.trunk) - 1
    start = alive(wiring, circuit, "start")
    assert ("trunk", last) in start
    link = next(node for node in circuit.direct)
    assert ("trunk", link) not in start, "valves keep the supply out of the link while the rings are open"
    running = alive(wiring, circuit, wiring.stages[1])
    assert ("trunk", link) in running


def test_the_return_meets_the_trunk_conductor_by_conductor() -> None:
    """Each of the three conductors that come back ends on its own phase at both ends."""
    svg = diagram(WIRINGS["slip_recovery"])
    lines = [
        [tuple(map(float, pair.split(","))) for pair in node.attrib["points"].split()]
        for node in ET.fromstring(svg).iter(f"{SVG}polyline")
    ]
    back = [line for line in lines if len(line) == 4 and line[0][0] == line[3][0] and line[0][1] > line[3][1]]
    assert len(back) == 3
    far = sorted(back, key=lambda line: line[1][0])
    assert [line[0][1] for line in far] == sorted(line[0][1] for line in back), "outer conductors run outside"
    assert [line[3][1] for line in far] == sorted((line[3][1] for line in back), reverse=True)


def test_pole_changing_shows_the_terminals_of_both_speeds() -> None:
    """Lower speed 1U, 1V, 1W above; higher speed 2U, 2V, 2W below (IEC 60034-8, from memory)."""
    said = [text for text, *_ in texts(diagram(WIRINGS["tapped_winding"], "high speed"))]
    assert [text for text in said if text[0] in "12" and text[1:] in {"U", "V", "W"}] == [
        "1U",
        "1V",
        "1W",
        "2U",
        "2V",
        "2W",
    ]


@pytest.mark.parametrize(("arrangement", "speed"), DRAWN)
def test_a_winding_tells_its_currents(arrangement: str, speed: str) -> None:
    """A cross or dot for both sides of every coil, as many reversed as the data say; words apart; told in words."""
    winding = WINDINGS[arrangement]
    found = speed_named(winding, speed)
    svg = winding_diagram(winding, speed)
    root = ET.fromstring(svg)
    sides = [c for c in root.iter(f"{SVG}circle") if c.attrib["r"] == "4.6"]
    coils = sum(len(group.slots) for group in winding.groups)
    assert len(sides) == 2 * coils
    reversed_coils = sum(
        len(group.slots) for group, turned in zip(winding.groups, reversed_at(winding, found), strict=True) if turned
    )
    assert sum(c.attrib["fill"] != "#ffffff" for c in sides) == 2 * reversed_coils
    assert reversed_coils in (0, coils // 2)
    for (a, al, at, ar, ab), (b, bl, bt, br, bb) in combinations(texts(svg), 2):
        assert ar < bl or br < al or ab < bt or bb < at, f"{a} over {b}"
    assert f"{found.poles} poles" in winding_described(winding, speed)
    assert root.findtext(f"{SVG}desc") == winding_described(winding, speed)
    assert winding_diagram(winding, speed) == svg


def test_exactly_one_speed_has_half_the_coils_reversed() -> None:
    """Twice the poles with all currents alike, half as many with every other group reversed."""
    for winding in WINDINGS.values():
        turned = {speed.poles: sum(reversed_at(winding, speed)) for speed in winding.speeds}
        assert turned == {8: 0, 4: len(winding.groups) // 2}


@pytest.mark.parametrize(("arrangement", "speed"), DRAWN)
def test_the_drawn_currents_make_the_poles(arrangement: str, speed: str) -> None:
    """Read off the drawing: the field of the crosses and dots has more of the stated poles than of the other speed's."""
    winding = WINDINGS[arrangement]
    root = ET.fromstring(winding_diagram(winding, speed))
    crossed = {
        tuple(round(v, 1) for v in map(float, (node.attrib["points"].split()[0].split(","))))
        for node in root.iter(f"{SVG}polyline")
    }
    found: dict[int, float] = {}
    sides = [c for c in root.iter(f"{SVG}circle") if c.attrib["r"] == "4.6"]
    left = min(float(c.attrib["cx"]) for c in sides)
    for side in sides:
        x, y = float(side.attrib["cx"]), float(side.attrib["cy"])
        inwards = any(isclose(px, x - 4.6 * 0.707, abs_tol=0.16) and isclose(py, y - 4.6 * 0.707, abs_tol=0.16)
                      for px, py in crossed)  # fmt: skip
        slot = round((x - left) / 12.5)
        weight = 1.0 if _phase_u(winding, slot, y, sides) else 0.5
        found[slot] = found.get(slot, 0.0) + (weight if inwards else -weight)
    stated = speed_named(winding, speed).poles
    other = 12 - stated  # of 4 and 8 poles
    assert _harmonic(found, stated // 2, winding.slots) > 5 * _harmonic(found, other // 2, winding.slots)


def _phase_u(winding: WindingDiagram, slot: int, y: float, sides: list[ET.Element]) -> bool:
    """Whether the side belongs to a coil of phase U, whose current is twice those of V and W at this instant."""
    upper = min(float(c.attrib["cy"]) for c in sides)
    first = slot if y < upper + 1 else (slot - winding.pitch) % winding.slots
    return next(group.phase == 0 for group in winding.groups if first in group.slots)


def _harmonic(currents: dict[int, float], pairs: int, slots: int) -> float:
    from cmath import exp
    from math import pi

    return abs(sum(value * exp(2j * pi * pairs * slot / slots) for slot, value in currents.items()))


def test_an_unknown_speed_is_named() -> None:
    """Asking for a speed that the winding does not have says which it has."""
    with pytest.raises(InputError, match="low, high"):
        winding_diagram(WINDINGS["variable torque"], "middle")


def test_both_windings_of_two_are_drawn() -> None:
    """Two separate windings: one diagram each, no middle terminals, nothing reversed."""
    text = FAN.replace('"tapped_winding", ', '"separate_windings", ').replace(
        "tapped_winding = {", "separate_windings = {"
    )
    start, end = text.index("[speed.tapped_winding]"), text.index("[[speed.duty]]")
    result = run_speed(loads(text[:start] + text[end:]))
    assert result is not None
    way = next(way for way in result.ways if way.key == "separate_windings")
    assert len(way.wiring.windings) == 2
    for winding in way.wiring.windings:
        (speed,) = winding.speeds
        assert not any(reversed_at(winding, speed))
        said = [text for text, *_ in texts(winding_diagram(winding, speed.name))]
        assert set(speed.fed) <= set(said)


def test_the_way_of_the_sample_is_the_one_drawn() -> None:
    """The circuit of the example holds the winding that is drawn above."""
    assert speed_way("fan_v4", "tapped_winding").wiring.windings == (WINDINGS["variable torque"],)
