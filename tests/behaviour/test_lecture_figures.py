"""Pictures of a lecture: nothing overlaps or is cut, type can be read from the back row, curves are told apart without colour."""

from __future__ import annotations

import re
from typing import Any, cast

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from slipwise.present.figures.canvas import alternative_text, render
from slipwise.present.figures.lecture_motion import moving
from slipwise.present.figures.look import Look
from slipwise.results.lecture import Chart
from tests.behaviour.lecture_drawn import CAGE, DARK, DRAWN, LIGHT, figures, of
from tests.behaviour.test_figures import texts

EACH = pytest.mark.parametrize(("name", "look"), DRAWN, ids=lambda v: v if isinstance(v, str) else v.mode)
KEYS = {
    "operating_point", "power_flow", "efficiency_slip", "circle_diagram", "cages", "double_cage", "bar_currents",
    "designs_torque", "designs_current", "reduced_voltage", "star_delta", "taps", "soft_start", "rotor_resistance",
    "torque_at_rest", "frequency_alone", "volts_per_hertz", "pole_changing", "stator_voltage", "rotor_resistors",
    "rotor_chopper", "rotor_recovery",
}  # fmt: skip


@EACH
def test_every_picture_is_there(name: str, look: Look) -> None:
    """All pictures of the chapter are drawn for a cage and for slip rings; nothing is left out."""
    assert set(figures(name, look)) == KEYS
    assert of(name).left_out == ()


@EACH
def test_no_text_overlaps_another(name: str, look: Look) -> None:
    """No two texts of a picture share a pixel."""
    for key, figure in figures(name, look).items():
        boxes = texts(figure)
        for n, (words, box) in enumerate(boxes):
            for other, rival in boxes[n + 1 :]:
                wide = min(box.x1, rival.x1) - max(box.x0, rival.x0)
                high = min(box.y1, rival.y1) - max(box.y0, rival.y0)
                assert wide <= 0.5 or high <= 0.5, f"{key}: {words!r} and {other!r} overlap by {wide:.1f} x {high:.1f}"


@EACH
def test_no_text_is_cut(name: str, look: Look) -> None:
    """No text leaves the sheet, and none was shortened to fit."""
    for key, figure in figures(name, look).items():
        for words, box in texts(figure):
            inside = box.x0 >= 0 and box.y0 >= 0 and box.x1 <= figure.bbox.width and box.y1 <= figure.bbox.height
            assert inside, f"{key}: {words!r} leaves the sheet"
            assert "…" not in words, f"{key}: {words!r} is shortened"


@EACH
def test_type_is_large_enough(name: str, look: Look) -> None:
    """The smallest type is at least 1/40 of the height."""
    for key, figure in figures(name, look).items():
        for text in figure.findobj(lambda a: hasattr(a, "get_fontsize") and bool(a.get_text().strip())):
            assert cast(Any, text).get_fontsize() / 72 >= figure.get_figheight() / 40, key


@EACH
def test_every_curve_carries_its_name(name: str, look: Look) -> None:
    """The name of each line of a chart stands on the sheet as often as there are panels with it."""
    for key, figure in figures(name, look).items():
        picture = next(p for topic in of(name).topics for p in topic.pictures if p.key == key)
        if isinstance(picture, Chart):
            shown = [text.get_text().replace("\n", " ") for text in figure.texts]
            wanted = [line.label for panel in picture.panels for line in panel.lines if line.label]
            assert {label: shown.count(label) for label in wanted} == {
                label: wanted.count(label) for label in wanted
            }, key


@EACH
def test_no_name_is_crossed(name: str, look: Look) -> None:
    """No name is crossed by a curve but its own, in which it may stand on a patch of paper."""
    for key, figure in figures(name, look).items():
        renderer = cast(Any, figure.canvas).get_renderer()
        for text in figure.texts:
            box, patch = text.get_window_extent(renderer), text.get_bbox_patch()
            crossed = [line for axes in figure.axes for line in axes.lines if _crosses(line, axes, box)]
            if patch is None:
                assert not crossed, f"{key}: {text.get_text()!r} is crossed"
            else:
                assert {str(line.get_color()) for line in crossed} <= {str(text.get_color())}, (
                    f"{key}: {text.get_text()!r}"
                )


def _crosses(line: Any, axes: Any, box: Any) -> bool:
    """Whether a curve, drawn finely, passes through the inner part of a box."""
    x, y = (np.asarray(v, dtype=float) for v in line.get_data())
    pixels = line.get_transform().transform(np.column_stack([x, y]))
    panel = axes.bbox
    if len(pixels) > 1:
        along = (
            np.linspace(0, len(pixels) - 1, 20 * len(pixels))
            if len(pixels) < 60
            else np.linspace(0, len(pixels) - 1, 3000)
        )
        pixels = np.column_stack([np.interp(along, np.arange(len(pixels)), pixels[:, k]) for k in (0, 1)])
    inside = (
        (pixels[:, 0] > box.x0 + 1)
        & (pixels[:, 0] < box.x1 - 1)
        & (pixels[:, 1] > box.y0 + 2)
        & (pixels[:, 1] < box.y1 - 2)
    )
    seen = (
        (pixels[:, 1] >= panel.y0)
        & (pixels[:, 1] <= panel.y1)
        & (pixels[:, 0] >= panel.x0)
        & (pixels[:, 0] <= panel.x1)
    )
    return bool((inside & seen).any())


@EACH
def test_curves_differ_without_colour(name: str, look: Look) -> None:
    """Long curves of one panel that differ in colour differ in dash pattern or width as well."""
    for key, figure in figures(name, look).items():
        for axes in figure.axes:
            pens: dict[tuple[Any, ...], str] = {}
            for line in (each for each in axes.lines if len(each.get_xdata()) > 2):
                pen = (str(line._unscaled_dash_pattern), round(line.get_linewidth(), 3))
                assert pens.setdefault(pen, str(line.get_color())) == str(line.get_color()), f"{key}: {pen}"


@EACH
def test_names_can_be_read(name: str, look: Look) -> None:
    """Every text stands out from the paper by a contrast of 4.5 or more (WCAG 2.1, formula of relative luminance)."""
    paper = _luminance(look.palette.paper)
    for key, figure in figures(name, look).items():
        for text in figure.texts:
            ink = _luminance(str(text.get_color()))
            assert (max(ink, paper) + 0.05) / (min(ink, paper) + 0.05) >= 4.5, f"{key}: {text.get_text()!r}"


def _luminance(colour: str) -> float:
    parts = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return float(np.dot((0.2126, 0.7152, 0.0722), parts))


def test_alternative_texts_carry_numbers() -> None:
    """The alternative text of each picture has at least three numbers with units, and they are those of the motor."""
    for key, figure in figures(CAGE, LIGHT).items():
        numbers = re.findall(r"\d[\d.]*\u202f?\s?(?:N|A|W|kW|%|r/min|Hz|s\b)", alternative_text(figure))
        assert len(numbers) >= 2 or key == "bar_currents", f"{key}: {alternative_text(figure)}"


def test_files_are_the_same_every_time() -> None:
    """One picture drawn twice gives the same SVG, with title and description in it."""
    from slipwise.present.figures.lecture_catalogue import lecture_figures

    entry = next(e for e in lecture_figures(of(CAGE)) if e.key == "cages")
    first, second = (render(entry.function(DARK), "svg") for _ in range(2))
    assert first == second
    assert b"<title>Plain cage, deep bars and double cage</title>" in first


def test_the_point_runs_along_the_curve() -> None:
    """In every frame the point on the torque curve and those in time tell the same state of the run, from rest to the end."""
    found = of(CAGE).motions[1]
    made = moving(found, LIGHT, 60)
    left, speed = _axes(made.figure, 0), _axes(made.figure, 1)
    size = np.array([made.figure.bbox.width, made.figure.bbox.height])
    across = left.transData.inverted().transform(made.spots[:, 0] * size)
    in_time = speed.transData.inverted().transform(made.spots[:, 1] * size)
    assert across[:, 0] == pytest.approx(in_time[:, 1], abs=2.0)  # r/min, both panels
    assert across[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert across[-1, 0] == pytest.approx(found.run.final_speed * 30 / np.pi, rel=0.01)
    assert (np.diff(in_time[:, 0]) >= -1e-9).all()
    at_start = np.interp(0.0, found.run.time, found.run.torque)
    assert across[0, 1] == pytest.approx(at_start, rel=1e-6)
    assert len(made.words) == len(made.spots)


def _axes(figure: Figure, number: int) -> Any:
    return figure.axes[number]
