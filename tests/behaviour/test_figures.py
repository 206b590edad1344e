"""Figures: nothing overlaps, type can be read from the back row, axes are as promised, files are the same every time."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from slipwise.present.figures import Look, canvas, catalogue, draw, look
from slipwise.present.figures.labels import Labels
from slipwise.quantity.show import show
from slipwise.results.boundary import Boundary, Edge
from slipwise.results.study import StudyResult
from tests.behaviour.sample_result import sample

LOOKS = (Look(), Look(size="print", mode="dark"))


@cache
def study() -> StudyResult:
    """The sample with edges of two of its ways."""
    edges = (
        Edge(key="inertia", title="inertia", unit="kg m2", stated=4.2, edge=14.0, open=False, binding="run-up time"),
        Edge(key="voltage", title="voltage", unit="pu", stated=1.0, edge=0.93, open=False, binding="torque margin"),
        Edge(key="fault_level", title="fault level", unit="VA", stated=60e6, edge=12e6, open=True, binding=""),
    )
    failing = (replace(edges[0], edge=None, binding="line current"), *edges[1:])
    rows = (
        Boundary(way="autotransformer", title="Autotransformer", edges=edges),
        Boundary(way="direct", title="Direct", edges=failing),
    )
    return replace(sample(), boundaries=rows)


@cache
def crowded() -> StudyResult:
    """Nine ways, one of them without any curves, to fill the comparison."""
    ways = tuple(replace(sample().ways[n % 3], key=f"way{n}", title=f"Way number {n}") for n in range(8))
    empty = replace(sample().ways[0], key="none", title="Not possible", curves=(), run_ups=(), band=None)
    return replace(sample(), ways=(*ways, empty))


def keys() -> list[str]:
    return [entry.key for entry in catalogue(study())]


@cache
def drawn(key: str, number: int) -> Figure:
    """A figure, laid out."""
    result = crowded() if key.startswith("crowded.") else study()
    figure = draw(result, key.removeprefix("crowded."), LOOKS[number])
    figure.canvas.draw()
    return figure


def texts(figure: Figure) -> list[tuple[str, Any]]:
    """Every visible text with its box in pixels."""
    renderer = cast(Any, figure.canvas).get_renderer()
    found = figure.findobj(lambda a: isinstance(a, Text) and a.get_visible() and bool(a.get_text().strip()))
    hidden = {id(t) for axes in figure.axes for axis in (axes.xaxis, axes.yaxis) for t in unseen(axis)}
    return [(t.get_text(), t.get_window_extent(renderer)) for t in found if id(t) not in hidden]


def unseen(axis: Any) -> list[Text]:
    """Texts the drawing library keeps for an axis but does not draw."""
    seen = {id(text) for text in (axis.label, *axis.get_ticklabels())}
    kept = [t for tick in axis.get_major_ticks() for t in (tick.label1, tick.label2)]
    if not axis.get_visible():  # the second axis of a panel draws no abscissa of its own
        return [*kept, axis.label, axis.get_offset_text()]
    return [t for t in (*kept, axis.get_offset_text()) if id(t) not in seen or not t.get_visible()]


ALL = [(key, n) for key in (*keys(), "crowded.comparison", "crowded.dip", "crowded.heat") for n in range(len(LOOKS))]


def test_the_overlap_check_sees_texts() -> None:
    """The texts looked at include title, axis names, ticks and labels, and each only once."""
    words = [words for words, _ in texts(drawn("star_delta.torque_speed", 0))]
    assert {
        "Star-delta: torque and current against speed",
        "torque, N m (solid)",
        "300",
        "star: torque",
        "load",
    } <= set(words)
    assert words.count("300") == 1


@pytest.mark.parametrize(("key", "number"), ALL)
def test_no_text_overlaps_another(key: str, number: int) -> None:
    """No two texts of a figure share a pixel."""
    boxes = texts(drawn(key, number))
    for n, (words, box) in enumerate(boxes):
        for other, rival in boxes[n + 1 :]:
            wide = min(box.x1, rival.x1) - max(box.x0, rival.x0)
            high = min(box.y1, rival.y1) - max(box.y0, rival.y0)
            assert wide <= 0.5 or high <= 0.5, f"{words!r} and {other!r} overlap by {wide:.1f} x {high:.1f}"


@pytest.mark.parametrize(("key", "number"), ALL)
def test_every_text_lies_on_the_sheet(key: str, number: int) -> None:
    """No text is cut off at the edge."""
    figure = drawn(key, number)
    for words, box in texts(figure):
        inside = box.x0 >= 0 and box.y0 >= 0 and box.x1 <= figure.bbox.width and box.y1 <= figure.bbox.height
        assert inside, f"{words!r} leaves the sheet"


@pytest.mark.parametrize(("key", "number"), ALL)
def test_type_is_large_enough(key: str, number: int) -> None:
    """The smallest type is at least 1/40 of the height of the figure."""
    figure = drawn(key, number)
    for text in figure.findobj(Text):
        if text.get_text().strip():
            assert text.get_fontsize() / 72 >= figure.get_figheight() / 40, text.get_text()


CURVED = [
    k for k in keys() if k.split(".")[-1] in {"torque_speed", "current_speed", "run_up", "transient", "switching_angle"}
]


@pytest.mark.parametrize("key", CURVED)
def test_labels_do_not_cross_curves(key: str) -> None:
    """No label on the sheet is crossed by a curve; the broad pale band of the path alone may lie behind."""
    figure = drawn(key, 0)
    renderer = cast(Any, figure.canvas).get_renderer()
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in figure.texts if t.get_text().strip()]
    for axes in figure.axes:
        for line in axes.lines:
            if line.get_linewidth() > 3 * LOOKS[0].line:
                continue
            pixels = line.get_transform().transform(np.column_stack(line.get_data()).astype(float))
            steps = np.maximum(1, np.hypot(*np.diff(pixels, axis=0).T) // 1).astype(int)
            dense = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(pixels, pixels[1:], steps, strict=False)]
            points = np.concatenate([*dense, pixels[-1:]])
            points = points[(points[:, 1] >= axes.bbox.y0) & (points[:, 1] <= axes.bbox.y1)]
            for words, box in boxes:
                inside = (points > (box.x0, box.y0)).all(axis=1) & (points < (box.x1, box.y1)).all(axis=1)
                assert not inside.any(), f"{words!r} is crossed"


@pytest.mark.parametrize("way", [way.key for way in sample().ways])
def test_every_curve_has_its_label(way: str) -> None:
    """Load, torque and current of each fed stage are named on the torque figure."""
    words = " ".join(text.get_text() for text in drawn(f"{way}.torque_speed", 0).texts)
    found = next(w for w in sample().ways if w.key == way)
    for curve in found.curves:
        assert f"{curve.stage}: torque" in words
        assert f"{curve.stage}: current" in words
    assert "load" in words
    assert f"runs at {show(found.run_ups[0].final_speed, 'rad/s')}" in words


@pytest.mark.parametrize("key", [k for k in keys() if k.endswith("_speed")])
def test_speed_axis_ends_at_synchronous_speed(key: str) -> None:
    """The last tick of the speed axis is synchronous speed, and the axis ends there."""
    axes = drawn(key, 0).axes[0]
    assert axes.get_xlim()[1] == pytest.approx(1500)
    assert axes.get_xticklabels()[-1].get_text() == "1500"
    assert axes.get_xticks()[-1] == pytest.approx(1500)


@pytest.mark.parametrize("key", [k for k in keys() if k.split(".")[-1] in {"torque_speed", "switching_angle"}])
def test_both_axes_meet_the_same_grid(key: str) -> None:
    """Every tick of the right-hand axis lies on a grid line of the left-hand axis, zero on zero."""
    left, right = drawn(key, 0).axes[:2]

    def places(axes: Any) -> list[float]:
        low, high = axes.get_ylim()
        return [round((t - low) / (high - low), 9) for t in axes.get_yticks()]

    assert places(left) == places(right)
    assert left.transData.transform((0, 0))[1] == pytest.approx(right.transData.transform((0, 0))[1])


def test_torque_is_solid_and_current_dashed() -> None:
    """On the torque figure the left axis holds solid lines, the right axis dashed ones."""
    left, right = drawn("star_delta.torque_speed", 0).axes[:2]
    assert {line.get_linestyle() for line in left.lines if line.get_marker() == "None"} == {"-"}
    assert {line.get_linestyle() for line in right.lines} == {"--"}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.03928 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


@pytest.mark.parametrize("palette", look.PALETTES.values(), ids=list(look.PALETTES))
def test_colours_stand_out(palette: look.Palette) -> None:
    """Ink, notes and curves have a contrast of at least 4.5 to 1 (WCAG 2, 1.4.3) against the paper."""
    paper = luminance(palette.paper)
    for colour in (palette.ink, palette.quiet, *palette.lines):
        lighter, darker = sorted((luminance(colour), paper), reverse=True)
        assert (lighter + 0.05) / (darker + 0.05) >= 4.5, colour


@pytest.mark.parametrize("format", canvas.FORMATS)
def test_files_are_the_same_every_time(format: canvas.Format) -> None:
    """Two drawings of the same result give the same bytes, whatever the user's own settings are."""
    import matplotlib as mpl

    first = canvas.render(draw(study(), "star_delta.run_up"), format)
    with mpl.rc_context({"font.size": 30, "lines.linewidth": 9, "svg.fonttype": "none", "axes.grid": True}):
        second = canvas.render(draw(study(), "star_delta.run_up"), format)
    assert first == second
    assert b"CreationDate" not in first
    assert b"dc:date" not in first


def test_alternative_text_tells_the_numbers() -> None:
    """Each figure has words of its own, holding numbers of the results, and the SVG carries them."""
    told = {key: canvas.alternative_text(drawn(key, 0)) for key in keys()}
    assert all(told.values())
    assert len(set(told.values())) == len(told)
    way = next(w for w in sample().ways if w.key == "star_delta")
    assert show(way.run_ups[0].run_up_time, "s") in told["star_delta.run_up"]
    assert way.band is not None
    assert show(way.band.worst.peaks.line_current, "A") in told["star_delta.transient"]
    svg = canvas.render(drawn("star_delta.run_up", 0), "svg").decode("utf-8")
    assert f"<desc>{told['star_delta.run_up']}</desc>" in svg
    assert 'role="img"' in svg


def test_saving_is_atomic(tmp_path: Path) -> None:
    """A saved file is whole; a failed saving leaves nothing behind."""
    figure = drawn("dip", 0)
    canvas.save(figure, tmp_path / "dip.png", "png")
    assert (tmp_path / "dip.png").read_bytes().startswith(b"\x89PNG")
    (tmp_path / "taken").mkdir()
    with pytest.raises(OSError, match="taken"):
        canvas.save(figure, tmp_path / "taken", "png")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["dip.png", "taken"]
    with pytest.raises(ValueError, match="gif"):
        canvas.render(figure, cast(Any, "gif"))


def test_projector_png_is_full_hd() -> None:
    """A projector figure is 1920 x 1080 pixels."""
    content = canvas.render(drawn("dip", 0), "png", Look().dots)
    assert (int.from_bytes(content[16:20], "big"), int.from_bytes(content[20:24], "big")) == (1920, 1080)


def test_drawing_library_is_loaded_late_and_without_a_screen() -> None:
    """The catalogue is listed without matplotlib, and figures are drawn without pyplot."""
    code = (
        "import sys\n"
        "from tests.behaviour.sample_result import sample\n"
        "from slipwise.present.figures import catalogue\n"
        "entries = catalogue(sample())\n"
        "assert 'matplotlib' not in sys.modules\n"
        "from slipwise.present.figures import Look\n"
        "entries[0].function(Look())\n"
        "assert 'matplotlib.pyplot' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_unknown_figure_is_named() -> None:
    """Asking for a figure there is not names those there are."""
    with pytest.raises(KeyError, match=r"star_delta\.run_up"):
        draw(study(), "nonsense")


@pytest.mark.parametrize("spot", [(-9.0, 0.5), (9.0, 0.5), (0.5, -9.0), (0.5, 9.0)])
def test_a_point_outside_the_panel_is_named_at_its_edge(spot: tuple[float, float]) -> None:
    """A start that its load drives backwards ends left of standstill: the name stands inside, and nothing fails."""
    with canvas.drawing():
        figure = canvas.sheet(Look(), "Title", "note")
        axes = canvas.panel(figure, Look(), (0.1, 0.1, 0.8, 0.7))
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        Labels(figure, Look()).at_point(axes, *spot, "runs away", "black")
        (named,) = [text for text in figure.texts if text.get_text() == "runs away"]
        box = named.get_window_extent()
        assert axes.bbox.x0 <= box.x0 < box.x1 <= axes.bbox.x1
        assert axes.bbox.y0 <= box.y0 < box.y1 <= axes.bbox.y1
