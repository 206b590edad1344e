"""Power circuits: what is joined, what is closed, what is alive, and that nothing is written over anything else."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import combinations, pairwise

import pytest

from slipwise.present.diagrams import described, diagram
from slipwise.present.diagrams.banks import sectioned
from slipwise.present.diagrams.circuit import Far, alive, circuit_of, interlocks
from slipwise.present.diagrams.pen import LETTER_WIDTH, LINK
from slipwise.quantity.errors import InputError
from slipwise.results.wiring import Device, Wiring

SVG = "{http://www.w3.org/2000/svg}"


def dev(kind: str, label: str, after: str, branch: str = "main", note: str = "") -> Device:
    return Device(kind=kind, label=label, after=after, branch=branch, note=note)


LINE = (dev("breaker", "Q1", ""), dev("contactor", "K1 line", "Q1"))
DIRECT = Wiring(
    devices=(
        dev("isolator", "Q0", ""),
        dev("fuse", "F0", "Q0"),
        dev("contactor", "K1 line", "F0"),
        dev("overload", "F1", "K1 line"),
        dev("motor", "M1", "F1"),
    ),
    stages=("direct",),
    closed=(("K1 line",),),
)
STAR_DELTA = Wiring(
    devices=(
        *LINE,
        dev("overload", "F1", "K1 line"),
        dev("motor", "M1", "F1"),
        dev("contactor", "K2 delta", "Q1", "delta", "to the winding ends: U2-L2, V2-L3, W2-L1"),
        dev("contactor", "K3 star", "M1", "star"),
    ),
    stages=("star", "pause", "delta"),
    closed=(("K1 line", "K3 star"), ("K1 line",), ("K1 line", "K2 delta")),
    motor_leads=6,
)
CLOSED_TRANSITION = Wiring(
    devices=(
        *STAR_DELTA.devices,
        dev("contactor", "K4 transition", "Q1", "transition"),
        dev("resistor", "R1", "K4 transition", "transition"),
    ),
    stages=("star", "star with resistors", "delta through resistors", "delta"),
    closed=(
        ("K1 line", "K3 star"),
        ("K1 line", "K3 star", "K4 transition"),
        ("K1 line", "K4 transition"),
        ("K1 line", "K2 delta", "K4 transition"),
    ),
    motor_leads=6,
)
AUTOTRANSFORMER = Wiring(
    devices=(
        *LINE,
        dev("overload", "F1", "K1 line"),
        dev("motor", "M1", "F1"),
        dev("contactor", "K2 feed", "Q1", "tap"),
        dev("autotransformer", "T1", "K2 feed", "tap"),
        dev("contactor", "K3 star point", "T1", "star point"),
    ),
    stages=("tap", "pause", "running"),
    closed=(("K2 feed", "K3 star point"), (), ("K1 line",)),
)


def bridged(kind: str, label: str) -> Wiring:
    """A device in the trunk with a contactor beside it."""
    return Wiring(
        devices=(
            *LINE,
            dev(kind, label, "K1 line"),
            dev("contactor", "K2 bypass", "K1 line", "bypass"),
            dev("overload", "F1", label),
            dev("motor", "M1", "F1"),
        ),
        stages=("through", "bridged"),
        closed=(("K1 line",), ("K1 line", "K2 bypass")),
    )


PART_WINDING = Wiring(
    devices=(
        *LINE,
        dev("overload", "F1", "K1 line"),
        dev("motor", "M1", "F1"),
        dev("contactor", "K2 rest", "Q1", "rest"),
        dev("overload", "F2", "K2 rest", "rest"),
    ),
    stages=("part", "whole"),
    closed=(("K1 line",), ("K1 line", "K2 rest")),
    motor_leads=6,
)
ROTOR = Wiring(
    devices=(
        *LINE,
        dev("overload", "F1", "K1 line"),
        dev("motor", "M1", "F1"),
        dev("resistor", "R1", "M1", "rotor"),
        dev("resistor", "R2", "R1", "rotor"),
        dev("resistor", "R3", "R2", "rotor"),
        dev("contactor", "K11 slip rings", "M1", "short"),
        dev("contactor", "K12 second", "R1", "second"),
        dev("contactor", "K13 first", "R2", "first"),
    ),
    stages=("1", "2", "3", "short"),
    closed=(
        ("K1 line",),
        ("K1 line", "K13 first"),
        ("K1 line", "K13 first", "K12 second"),
        ("K1 line", "K11 slip rings"),
    ),
)
BANK = Wiring(
    devices=(
        *LINE,
        dev("overload", "F1", "K1 line"),
        dev("motor", "M1", "F1"),
        dev("resistor", "R1", "M1", "rotor"),
        dev("contactor", "K11 step 1", "R1", "rotor"),
        dev("contactor", "K12 step 2", "R1", "rotor"),
    ),
    stages=("step 1", "step 2", "short-circuited"),
    closed=(("K1 line",), ("K1 line", "K11 step 1"), ("K1 line", "K11 step 1", "K12 step 2")),
    motor_leads=6,
)
INVERTER = Wiring(
    devices=(*LINE, dev("inverter", "U1", "K1 line"), dev("motor", "M1", "U1")),
    stages=("ramp",),
    closed=(("K1 line",),),
)
UNKNOWN_KIND = Wiring(
    devices=(dev("breaker", "Q1", ""), dev("filter", "Z1", "Q1"), dev("motor", "M1", "Z1")),
    stages=("on",),
    closed=((),),
)
CIRCUITS = {
    "direct": DIRECT,
    "star-delta": STAR_DELTA,
    "closed transition": CLOSED_TRANSITION,
    "autotransformer": AUTOTRANSFORMER,
    "reactor": bridged("reactor", "L1"),
    "resistor": bridged("resistor", "R1"),
    "thyristors": bridged("thyristors", "V1"),
    "part winding": PART_WINDING,
    "rotor": ROTOR,
    "bank": BANK,
    "inverter": INVERTER,
    "unknown kind": UNKNOWN_KIND,
}
CASES = [
    pytest.param(wiring, stage, id=f"{name}, {stage or 'at rest'}")
    for name, wiring in CIRCUITS.items()
    for stage in (None, *wiring.stages)
]


def texts(svg: bytes) -> list[tuple[str, float, float, float, float]]:
    """Words with their box: left, top, right, bottom."""
    found = []
    for node in ET.fromstring(svg).iter(f"{SVG}text"):
        x, y, size = (float(node.attrib[key]) for key in ("x", "y", "font-size"))
        width = LETTER_WIDTH * size * len(node.text or "")
        left = x - {"start": 0, "middle": 0.5, "end": 1}[node.attrib["text-anchor"]] * width
        found.append((node.text or "", left, y - 0.75 * size, left + width, y + 0.2 * size))
    return found


@pytest.mark.parametrize(("wiring", "stage"), CASES)
def test_every_device_is_named_and_the_bytes_are_the_same(wiring, stage):
    """Each label, each contactor with its state, and a second drawing equals the first."""
    svg = diagram(wiring, stage)
    words = [text for text, *_ in texts(svg)]
    for device in wiring.devices:
        assert set(device.label.split(" ", 1)) <= set(words)
    contactors = [d.label for d in wiring.devices if d.kind == "contactor"]
    if stage is not None:
        closed = wiring.closed[wiring.stages.index(stage)]
        assert words.count("closed") == sum(label in closed for label in contactors)
        assert words.count("open") == sum(label not in closed for label in contactors)
    assert diagram(wiring, stage) == svg


@pytest.mark.parametrize(("wiring", "stage"), CASES)
def test_no_words_overlap_words_or_lines(wiring, stage):
    """Boxes of words are apart from one another and from every full line."""
    svg = diagram(wiring, stage)
    boxes = texts(svg)
    for (a, al, at, ar, ab), (b, bl, bt, br, bb) in combinations(boxes, 2):
        assert ar < bl or br < al or ab < bt or bb < at, f"{a} over {b}"
    for node in ET.fromstring(svg).iter(f"{SVG}polyline"):
        if node.get("stroke-dasharray"):
            continue
        points = [tuple(map(float, pair.split(","))) for pair in node.attrib["points"].split()]
        for (x, y), (u, v) in pairwise(points):
            for text, left, top, right, bottom in boxes:
                apart = max(x, u) < left or min(x, u) > right or max(y, v) < top or min(y, v) > bottom
                assert apart, f"a line through {text!r}"


@pytest.mark.parametrize(("wiring", "stage"), CASES)
def test_everything_lies_inside_the_view(wiring, stage):
    """No stroke or word is cut off."""
    svg = diagram(wiring, stage)
    root = ET.fromstring(svg)
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    for _, x, y, u, v in texts(svg):
        assert left <= x <= u <= left + width
        assert top <= y <= v <= top + height
    numbers = re.findall(rb'points="([^"]+)"', svg)
    for pair in b" ".join(numbers).decode().split():
        x, y = map(float, pair.split(","))
        assert left <= x <= left + width
        assert top <= y <= top + height


def test_closed_contacts_are_drawn_otherwise_than_open_ones():
    """The same circuit in two stages differs in strokes, not in colour alone: width and blade change."""
    star, delta = diagram(STAR_DELTA, "star"), diagram(STAR_DELTA, "delta")
    assert star != delta
    assert set(re.findall(rb'stroke-width="([\d.]+)"', star)) >= {b"1", b"2.3"}


def test_at_rest_nothing_is_alive():
    """Stage None marks no conductor."""
    assert alive(STAR_DELTA, circuit_of(STAR_DELTA), None) == frozenset()


@pytest.mark.parametrize(
    ("wiring", "stage", "motor_alive"),
    [
        (STAR_DELTA, "pause", True),
        (AUTOTRANSFORMER, "tap", True),
        (AUTOTRANSFORMER, "pause", False),
        (AUTOTRANSFORMER, "running", True),
        (PART_WINDING, "part", True),
        (ROTOR, "1", True),
    ],
)
def test_what_reaches_the_motor(wiring, stage, motor_alive):
    """The point before the motor is connected to the supply, or it is not."""
    circuit = circuit_of(wiring)
    assert (("trunk", circuit.motor - 1) in alive(wiring, circuit, stage)) is motor_alive


def test_shorted_rotor_leaves_the_bank_dead():
    """With the slip rings shorted the resistors behind them carry nothing."""
    circuit = circuit_of(ROTOR)
    live = alive(ROTOR, circuit, "short")
    assert ("trunk", circuit.motor) in live
    assert ("trunk", circuit.motor + 1) not in live
    assert circuit.wound_rotor
    assert all(branch.far is Far.STAR for branch in circuit.branches)


def test_a_bank_named_once_is_opened_into_its_sections():
    """The contactor that closes first shorts the section at the star point, the last one the slip rings."""
    opened = sectioned(BANK)
    circuit = circuit_of(opened)
    below = [device.label for device in circuit.trunk[circuit.motor + 1 :]]
    assert below == ["R1 section 2", "R1 section 1"]
    joined = {branch.devices[0].label: circuit.trunk[branch.start].label for branch in circuit.branches}
    assert joined == {"K12 step 2": "M1", "K11 step 1": "R1 section 2"}
    assert circuit.wound_rotor
    carrying = alive(opened, circuit, "step 2")
    assert ("trunk", circuit.motor + 1) in carrying
    assert ("trunk", circuit.motor + 2) not in carrying
    assert sectioned(STAR_DELTA) is STAR_DELTA


def test_a_bypass_comes_back_behind_what_it_bridges():
    """From behind the line contactor to behind the thyristors; the tap comes back before the overload relay."""
    circuit = circuit_of(bridged("thyristors", "V1"))
    (bypass,) = circuit.branches
    assert (circuit.trunk[bypass.start].label, circuit.trunk[bypass.end].label) == ("K1 line", "V1")
    tapped = circuit_of(AUTOTRANSFORMER)
    (tap,) = tapped.branches
    assert (tapped.trunk[tap.start].label, tapped.trunk[tap.end + 1].label) == ("Q1", "F1")
    assert [device.label for device in tap.star] == ["K3 star point"]


def test_delta_reaches_the_winding_ends_in_the_order_stated():
    """U2-L2, V2-L3, W2-L1: under L1 stands W2, under L2 U2, under L3 V2."""
    assert circuit_of(STAR_DELTA).ends == ("W2", "U2", "V2")
    placed = sorted(
        (left, text) for text, left, *_ in texts(diagram(STAR_DELTA, "delta")) if text in {"U2", "V2", "W2"}
    )
    assert [text for _, text in placed] == ["W2", "U2", "V2"]


@pytest.mark.parametrize(
    ("wiring", "pairs"),
    [
        (STAR_DELTA, {("K3 star", "K2 delta")}),
        (AUTOTRANSFORMER, {("K3 star point", "K1 line")}),
        (DIRECT, set()),
        (bridged("reactor", "L1"), set()),
        (ROTOR, set()),
    ],
)
def test_interlocks_where_both_closed_would_short_the_supply(wiring, pairs):
    """Only contactors never closed together, one of which joins a star point."""
    assert set(interlocks(wiring, circuit_of(wiring))) == pairs
    dashed = f'stroke-dasharray="{LINK.dash}"'.encode()
    contacts = sum(device.kind in {"contactor", "breaker", "isolator"} for device in wiring.devices)
    assert diagram(wiring).count(dashed) == contacts + len(pairs)


def test_described_in_words():
    """The alternative text says what is closed and what is open."""
    words = described(STAR_DELTA, "star")
    assert "Closed: K1 line, K3 star. Open: K2 delta." in words
    root = ET.fromstring(diagram(STAR_DELTA, "star"))
    assert root.findtext(f"{SVG}desc") == words
    assert root.findtext(f"{SVG}title") == "Power circuit, stage star"


@pytest.mark.parametrize(
    ("wiring", "stage", "words"),
    [
        (STAR_DELTA, "tap", "not a stage"),
        (Wiring(devices=(dev("motor", "M1", "Q9"),), stages=(), closed=()), None, "not a device"),
        (Wiring(devices=(dev("contactor", "K1", ""),), stages=(), closed=()), None, "no motor"),
        (Wiring(devices=(), stages=(), closed=()), None, "no main device"),
    ],
)
def test_wiring_that_does_not_hang_together_is_named(wiring, stage, words):
    """Field, value, reason, remedy."""
    with pytest.raises(InputError, match=words) as caught:
        diagram(wiring, stage)
    assert caught.value.faults[0].remedy


def test_labels_are_escaped():
    """A label with markup in it is printed, not parsed."""
    odd = Wiring(
        devices=(dev("contactor", "K<1> & co", ""), dev("motor", "M1", "K<1> & co")),
        stages=("on",),
        closed=(("K<1> & co",),),
    )
    assert {"K<1>", "& co"} <= {text for text, *_ in texts(diagram(odd, "on"))}
