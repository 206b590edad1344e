"""Figures of speed control: nothing overlaps, type can be read from the back row, words carry the numbers."""

from __future__ import annotations

import pickle
from dataclasses import replace
from functools import cache
from typing import Any, cast

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from slipwise.present.figures import Look, canvas, catalogue, draw
from slipwise.present.figures.speed_duty import apart
from slipwise.present.figures.speed_family import drawable, held
from slipwise.present.figures.speed_harmonics import limit_of, worst
from slipwise.present.figures.speed_losses import chain_of, chosen
from slipwise.present.tables_speed_way import part_words
from slipwise.quantity.show import show
from slipwise.results.harmonic_limits import HarmonicBand, HarmonicLimits
from slipwise.results.speed import Part
from slipwise.results.study import StudyResult
from tests.behaviour.sample_speed import NAMES, crowded, speed_of, speed_sample, speed_way
from tests.behaviour.test_figures import texts

LOOKS = {"projector": Look(), "print": Look(size="print", mode="dark")}
CROWDED = ("speed_year", "speed_efficiency", "speed_power_factor", "speed_current", "way0.losses")


def study(name: str) -> StudyResult:
    return crowded() if name == "crowded" else speed_sample(name)


def figures() -> list[tuple[str, str, str]]:
    """Every figure of every example on the projector, those of one in print and dark, and the full pages."""
    every = [(name, entry.key, "projector") for name in NAMES for entry in catalogue(speed_sample(name))]
    dark = [("crusher_k1_year", entry.key, "print") for entry in catalogue(speed_sample("crusher_k1_year"))]
    return [*every, *dark, *(("crowded", key, "projector") for key in CROWDED)]


@cache
def drawn(name: str, key: str, size: str) -> Figure:
    """A figure, laid out."""
    figure = draw(study(name), key, LOOKS[size])
    figure.canvas.draw()
    return figure


ALL = figures()
IDS = [" ".join(row) for row in ALL]


@pytest.mark.parametrize(("name", "key", "size"), ALL, ids=IDS)
def test_texts_are_apart_on_the_sheet_and_large_enough(name: str, key: str, size: str) -> None:
    """No text shares a pixel with another or leaves the sheet; the smallest is at least 1/40 of the height."""
    figure = drawn(name, key, size)
    boxes = texts(figure)
    for n, (words, box) in enumerate(boxes):
        for other, rival in boxes[n + 1 :]:
            wide = min(box.x1, rival.x1) - max(box.x0, rival.x0)
            high = min(box.y1, rival.y1) - max(box.y0, rival.y0)
            assert wide <= 0.5 or high <= 0.5, f"{words!r} and {other!r} overlap by {wide:.1f} x {high:.1f}"
        inside = box.x0 >= 0 and box.y0 >= 0 and box.x1 <= figure.bbox.width and box.y1 <= figure.bbox.height
        assert inside, f"{words!r} leaves the sheet"
    for text in figure.findobj(Text):
        if text.get_text().strip():
            assert text.get_fontsize() / 72 >= figure.get_figheight() / 40, text.get_text()


CURVED = [
    row for row in ALL if row[2] == "projector" and (".family_" in row[1] or row[1].endswith(("envelope", "heat")))
]


@pytest.mark.parametrize(("name", "key", "size"), CURVED, ids=[" ".join(row) for row in CURVED])
def test_labels_do_not_cross_curves(name: str, key: str, size: str) -> None:
    """No label on the sheet is crossed by a curve."""
    figure = drawn(name, key, size)
    renderer = cast(Any, figure.canvas).get_renderer()
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in figure.texts if t.get_text().strip()]
    for axes in figure.axes:
        for line in axes.lines:
            pixels = line.get_transform().transform(np.column_stack(line.get_data()).astype(float))
            if len(pixels) < 2:
                continue
            steps = np.maximum(1, np.hypot(*np.diff(pixels, axis=0).T) // 1).astype(int)
            dense = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(pixels, pixels[1:], steps, strict=False)]
            points = np.concatenate([*dense, pixels[-1:]])
            points = points[(points[:, 1] >= axes.bbox.y0) & (points[:, 1] <= axes.bbox.y1)]
            for words, box in boxes:
                inside = (points > (box.x0, box.y0)).all(axis=1) & (points < (box.x1, box.y1)).all(axis=1)
                assert not inside.any(), f"{words!r} is crossed"


@pytest.mark.parametrize("name", NAMES)
def test_alternative_text_tells_the_numbers(name: str) -> None:
    """Each figure has words of its own; those of a way's ribbons hold every loss of every demand."""
    result = speed_sample(name)
    told = {entry.key: canvas.alternative_text(drawn(name, entry.key, "projector")) for entry in catalogue(result)}
    assert all(told.values())
    assert len(set(told.values())) == len(told)
    for way in speed_of(result).ways:
        for point in way.points:
            assert show(point.line_power, "W") in told[f"{way.key}.losses"]
            for loss in point.losses:
                assert (
                    loss.power == 0 or f"{part_words(loss.part)} {show(loss.power, 'W')}" in told[f"{way.key}.losses"]
                )


@pytest.mark.parametrize("name", NAMES)
def test_every_curve_of_a_family_is_named(name: str) -> None:
    """Each member of a family, the load, and each demand that is held stand on the sheet in words."""
    for way in speed_of(speed_sample(name)).ways:
        for family in way.families:
            words = " ".join(text for text, _ in texts(drawn(name, f"{way.key}.family_{family.key}", "projector")))
            words = words.replace("\n", " ").replace("−", "-")
            for curve in family.curves:
                assert curve.label.replace(" deg", "").replace(" ohm", "") in words
            assert "load" in words
            assert all(point.duty.name in words for point in held(way, family.key))


def test_the_line_stands_where_it_belongs() -> None:
    """A bound where slip power is lost, a reference where it is returned, no line where the frequency is varied."""
    said = {}
    for key in ("rotor_resistance", "rotor_chopper", "slip_recovery", "rotor_fed", "volts_per_hertz"):
        family = speed_way("crusher_k1_year", key).families[0]
        words = [text for text, _ in texts(drawn("crusher_k1_year", f"{key}.family_{family.key}", "projector"))]
        said[key] = [text for text in words if "1 − s" in text.replace("\n", " ")]
    assert "no efficiency lies above" in said["rotor_resistance"][0].replace("\n", " ")
    assert "no efficiency lies above" in said["rotor_chopper"][0].replace("\n", " ")
    assert "reference" in said["slip_recovery"][0]
    assert "reference" in said["rotor_fed"][0]
    assert said["volts_per_hertz"] == []


def test_no_efficiency_lies_above_a_bound() -> None:
    """The diamonds of a way whose slip power is lost lie under the line 1 - s."""
    for key in ("rotor_resistance", "rotor_chopper"):
        right = drawn("crusher_k1_year", f"{key}.family_{key}", "projector").axes[1]
        line, *marks = right.lines
        (_, end), _ = line.get_data()
        spots = [np.asarray(mark.get_data(), dtype=float)[:, 0] for mark in marks]
        assert len(spots) == 3
        assert all(y < x / float(end) for x, y in spots)


def test_ribbons_close() -> None:
    """Areas drawn by one scale: what enters a ribbon is what falls out of it and what arrives, to the last pixel."""
    way = speed_way("crusher_k1_year", "rotor_resistance")
    figure = drawn("crusher_k1_year", "rotor_resistance.losses", "projector")
    bands = [np.asarray(cast(Any, patch).get_path().vertices) for patch in figure.axes[0].patches]
    largest = sorted(bands, key=lambda path: -float(np.ptp(path[:, 0])))[: len(chosen(way))]
    watts = []
    for path, point in zip(sorted(largest, key=lambda p: -float(p[:, 1].max())), chosen(way), strict=True):
        begin = np.ptp(path[np.isclose(path[:, 0], path[:, 0].min()), 1])
        end = np.ptp(path[np.isclose(path[:, 0], path[:, 0].max()), 1])
        assert end / begin == pytest.approx(point.shaft_power / point.line_power, rel=1e-6)
        watts.append(point.line_power / begin)
    assert watts == pytest.approx([watts[0]] * len(watts), rel=1e-6)


def test_the_converter_stands_where_its_losses_arise() -> None:
    """Before the motor in an inverter's chain, behind the rotor with a chopper, above the ribbon where power returns."""
    inverter = chain_of(speed_way("crusher_k1_year", "volts_per_hertz").points).places
    assert inverter.index(Part.RECTIFIER) < inverter.index(Part.INVERTER) < inverter.index(Part.STATOR)
    chopper = chain_of(speed_way("crusher_k1_year", "rotor_chopper").points).places
    assert chopper.index(Part.ROTOR) < chopper.index(Part.RECTIFIER) < chopper.index(Part.EXTERNAL)
    recovery = chain_of(speed_way("crusher_k1_year", "slip_recovery").points)
    assert recovery.above == {Part.RECTIFIER, Part.LINK, Part.INVERTER, Part.TRANSFORMER}


def test_power_fed_into_the_rotor_is_drawn_too() -> None:
    """Above synchronous speed the rotor takes power from the line: the words say so and nothing overlaps."""
    result = speed_sample("crusher_k1_year")
    way = speed_way("crusher_k1_year", "rotor_fed")
    fast = replace(way.points[1], returned=-abs(way.points[1].returned))
    changed = replace(way, points=(way.points[0], fast))
    ways = tuple(changed if other.key == way.key else other for other in speed_of(result).ways)
    figure = draw(replace(result, speed=replace(speed_of(result), ways=ways)), "rotor_fed.losses")
    assert "enter the rotor" in canvas.alternative_text(figure)
    words = [text for text, _ in texts(figure)]
    assert "into the rotor" in words
    assert "back to line" in words


LIMITS = HarmonicLimits(
    busbar="board",
    ratio=60.0,
    demand=100.0,
    bands=(
        HarmonicBand(order_from=3, order_to=11, limit=0.10),
        HarmonicBand(order_from=11, order_to=17, limit=0.045),
        HarmonicBand(order_from=17, order_to=50, limit=0.04),
    ),
    total=0.12,
    source="for this test",
)


@pytest.mark.parametrize(
    ("order", "limit"), [(2.56, 0.10), (5, 0.10), (11, 0.045), (16.9, 0.045), (17, 0.04), (50, 0.04), (53, None)]
)
def test_each_order_has_the_limit_of_its_band(order: float, limit: float | None) -> None:
    """A band holds from its first order up to below its last; the last up to 50; below the first, the first."""
    assert limit_of(LIMITS, order) == limit


def test_the_spectrum_shows_the_demand_that_uses_most_of_its_limit() -> None:
    """The same demand, order and share as the criterion that the study judged."""
    for key in ("slip_recovery", "volts_per_hertz"):
        way = speed_way("crusher_k1_year", key)
        row = next(row for row in way.verdict.criteria if row.key == "harmonic_order")
        point = worst(way)
        assert point is not None
        assert point.duty.name == row.case
        words = canvas.alternative_text(drawn("crusher_k1_year", f"{key}.harmonics", "projector"))
        assert f"{show(row.value, 'pu')} against {show(row.limit, 'pu')}" in words


def test_a_spectrum_without_limits_is_in_ampere() -> None:
    """On an ideal supply no limit is known: no limit is drawn."""
    result = speed_sample("crusher_k1_year")
    ways = tuple(replace(way, harmonic_limits=None) for way in speed_of(result).ways)
    figure = draw(replace(result, speed=replace(speed_of(result), ways=ways)), "volts_per_hertz.harmonics")
    words = [text for text, _ in texts(figure)]
    assert "harmonic current, A" in words
    assert not any("limit" in text for text in words)


def test_idle_ends_of_curves_are_not_drawn() -> None:
    """Beyond the speed at which its bridge blocks, a curve of slip-energy recovery ends; braking curves stay whole."""
    recovery = speed_way("crusher_k1_year", "slip_recovery").families[0]
    ends = [curve.speed[-1] for curve in drawable(recovery).curves]
    assert ends == sorted(ends, reverse=True)
    assert ends[-1] < 0.75 * ends[0]
    poles = speed_way("fan_v4", "tapped_winding").families[0]
    braking = poles.curves[0]
    assert braking.torque[-1] < -0.5 * braking.torque.max()
    assert drawable(poles).curves[0].speed is braking.speed


def test_every_drawing_can_be_handed_to_another_process() -> None:
    """Entries of the catalogue survive pickling, as drawing by two processes needs."""
    for entry in catalogue(speed_sample("fan_v4")):
        again = pickle.loads(pickle.dumps(entry))
        assert again.key == entry.key


def test_names_at_the_right_move_apart_and_keep_their_order() -> None:
    """Boxes do not overlap, stay between the bounds, and those with room stay where they are wanted."""
    wanted, sizes = [0.5, 0.5, 0.51, 0.9], [0.04, 0.04, 0.04, 0.04]
    places = apart(wanted, sizes, 0.1, 0.95)
    assert places[3] == pytest.approx(0.9)
    assert np.all(np.diff(places) >= 0.04 - 1e-12)
    full = apart([0.9] * 5, [0.1] * 5, 0.0, 1.0)
    assert max(full) <= 0.95 + 1e-12
    assert np.all(np.diff(sorted(full)) >= 0.1 - 1e-9)
