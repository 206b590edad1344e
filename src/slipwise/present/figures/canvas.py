"""The sheet a figure is drawn on: title, panels, axes with units; and how it is saved, byte for byte the same."""

from __future__ import annotations

import os
import tempfile
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Protocol, cast
from xml.sax.saxutils import escape

import numpy as np

from slipwise.present.figures.look import Look, type_settings
from slipwise.present.figures.scale import Divisions, speed_ticks
from slipwise.quantity.show import show_number

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

Format = Literal["svg", "pdf", "png"]
FORMATS: tuple[Format, ...] = ("svg", "pdf", "png")
_LOCK = threading.RLock()  # the drawing library keeps its settings in one place for all threads
_LAYOUT_DPI = 100.0


@contextmanager
def drawing() -> Iterator[None]:
    """Our own type settings while a figure is built or saved, whatever the user's settings are."""
    import matplotlib as mpl

    with _LOCK, mpl.rc_context():
        mpl.rcdefaults()
        cast(Any, mpl.rcParams).update(type_settings())
        yield


def sheet(look: Look, title: str, note: str = "") -> Figure:
    """An empty figure with its title upper left and a note under it."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(look.width, look.height), dpi=_LAYOUT_DPI, facecolor=look.palette.paper)
    FigureCanvasAgg(figure)
    heading = {"color": look.palette.ink, "weight": "bold", "va": "top", "ha": "left", "size": look.heading}
    under = {"color": look.palette.quiet, "va": "top", "ha": "left", "size": look.small}
    for y, words, how in ((0.972, title, heading), (0.916, note, under)):
        if words:
            _cut(figure, figure.text(0.03, y, words, **cast(Any, how)))
    return figure


def _cut(figure: Figure, text: Text) -> None:
    """Shortens a line that would run off the sheet."""
    renderer = cast(Any, figure.canvas).get_renderer()
    words = text.get_text()
    while len(words) > 1 and text.get_window_extent(renderer).x1 > 0.985 * figure.bbox.width:
        words = words[: -max(1, len(words) // 20)]
        text.set_text(f"{words.rstrip()} …")


def describe(figure: Figure, title: str, words: str) -> None:
    """Keeps title and alternative text with the figure; `save` writes them into the file."""
    figure.set_label(f"{title}\n{words}")


def title_of(figure: Figure) -> str:
    """The title given to `describe`."""
    return str(figure.get_label()).partition("\n")[0]


def alternative_text(figure: Figure) -> str:
    """What the figure shows, in words, for those who cannot see it."""
    return str(figure.get_label()).partition("\n")[2]


class Writer(Protocol):
    """Writes words on a sheet at shares of its width and height."""

    def __call__(self, x: float, y: float, words: str, *, colour: str = "", size: float = 0.0, **how: Any) -> None: ...


def writer(figure: Figure, look: Look) -> Writer:
    """Small type in ink, from the left, about its middle height, unless told otherwise."""

    def write(x: float, y: float, words: str, *, colour: str = "", size: float = 0.0, **how: Any) -> None:
        usual: dict[str, Any] = {
            "ha": "left",
            "va": "center",
            "color": colour or look.palette.ink,
            "size": size or look.small,
        }
        figure.text(x, y, words, **(usual | how))

    return write


def panel(figure: Figure, look: Look, place: tuple[float, float, float, float]) -> Axes:
    """Axes at left, bottom, width, height (shares of the figure): two thin spines, a faint grid, ticks outside."""
    axes = figure.add_axes(place)
    palette = look.palette
    axes.set_facecolor("none")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(palette.quiet)
        axes.spines[side].set_linewidth(look.hair)
    axes.grid(visible=True, color=palette.faint, linewidth=look.hair * 0.8)
    axes.set_axisbelow(True)
    axes.tick_params(
        colors=palette.quiet, labelcolor=palette.ink, labelsize=look.small, length=5 * look.scale, width=look.hair,
        pad=4 * look.scale,
    )  # fmt: skip
    return axes


def twin(axes: Axes, look: Look) -> Axes:
    """A second vertical axis on the right of the same panel, without a grid of its own."""
    other = axes.twinx()
    for side in ("top", "left", "bottom"):
        other.spines[side].set_visible(False)
    other.spines["right"].set_color(look.palette.quiet)
    other.spines["right"].set_linewidth(look.hair)
    other.tick_params(
        colors=look.palette.quiet, labelcolor=look.palette.ink, labelsize=look.small, length=5 * look.scale,
        width=look.hair, pad=4 * look.scale,
    )  # fmt: skip
    return other


def name_above(axes: Axes, look: Look, words: str, side: Literal["left", "right"] = "left", rows: int = 0) -> None:
    """What the vertical axis measures, with its unit, lying flat above it; `rows` of small type stay free between."""
    x = 0.0 if side == "left" else 1.0
    up = (7 + 20 * rows) * look.scale
    axes.annotate(
        words, (x, 1), xycoords="axes fraction", xytext=(0, up), textcoords="offset points", ha=side, va="bottom",
        size=look.text, color=look.palette.ink, annotation_clip=False,
    )  # fmt: skip


def value_axis(axes: Axes, divisions: Divisions, size: float = 1.0, hide_negative: bool = False) -> None:
    """Sets a vertical axis to its divisions. size: what one unit shown is worth in the unit plotted."""
    ticks = divisions.ticks
    axes.set_ylim(divisions.low, divisions.high)
    labels = ["" if hide_negative and t < 0 else tick_text(t / size) for t in ticks]
    axes.set_yticks(ticks, labels)


def tick_text(value: float) -> str:
    """A tick as text: up to five figures, no needless zeros."""
    return show_number(float(value), "", "", digits=5)


def speed_axis(axes: Axes, look: Look, synchronous: float, low: float = 0.0) -> None:
    """The speed axis in r/min, ending at synchronous speed with its tick there."""
    ticks = speed_ticks(synchronous, low)
    axes.set_xlim(min(float(ticks[0]), low), synchronous)
    axes.set_xticks(ticks, [tick_text(round(t, 1)) for t in ticks])
    axes.set_xlabel("speed, r/min; the axis ends at synchronous speed", size=look.text, color=look.palette.ink)


def time_axis(axes: Axes, look: Look, times: Sequence[float], label: bool = True, milli: bool = False) -> None:
    """A time axis over exactly the times given, ticks at round values."""
    from matplotlib.ticker import MaxNLocator

    low, high = times
    size = 1e-3 if milli else 1.0
    axes.set_xlim(low, high)
    ticks = np.asarray(MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]).tick_values(low / size, high / size)) * size
    ticks = ticks[(ticks >= low - 1e-12) & (ticks <= high + 1e-12)]
    axes.set_xticks(ticks, [tick_text(round(float(t) / size, 9)) for t in ticks] if label else [""] * len(ticks))
    if label:
        axes.set_xlabel("time, ms" if milli else "time, s", size=look.text, color=look.palette.ink)


def save(figure: Figure, path: Path, format: Format, dots: int = 144) -> None:
    """Writes a figure whole or not at all.

    Args:
        figure: from one of the functions of the catalogue.
        path: of the file; its folder must exist.
        format: "svg", "pdf" or "png".
        dots: per inch, of a PNG.

    Raises:
        ValueError: another format.
    """
    content = render(figure, format, dots)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def render(figure: Figure, format: Format, dots: int = 144) -> bytes:
    """The bytes of a figure: the same for the same figure, without date or version."""
    if format not in FORMATS:
        raise ValueError(f"{format!r} is not one of {', '.join(FORMATS)}")
    title, words = title_of(figure), alternative_text(figure)
    metadata: dict[str, dict[str, Any]] = {
        "svg": {"Date": None, "Title": title, "Description": words, "Creator": "slipwise"},
        "pdf": {"CreationDate": None, "Title": title, "Subject": words, "Creator": "slipwise", "Producer": None},
        "png": {"Title": title, "Description": words, "Software": "slipwise"},
    }
    out = BytesIO()
    with drawing():
        figure.savefig(out, format=format, dpi=dots if format == "png" else _LAYOUT_DPI, metadata=metadata[format])
    content = out.getvalue()
    return _accessible(content, title, words) if format == "svg" else content


def _accessible(content: bytes, title: str, words: str) -> bytes:
    """An SVG that readers aloud can name and describe."""
    head, mark, rest = content.partition(b"<svg ")
    attributes, end, body = rest.partition(b">")
    spoken = f"\n <title>{escape(title)}</title>\n <desc>{escape(words)}</desc>".encode()
    return head + mark + b'role="img" ' + attributes + end + spoken + body
