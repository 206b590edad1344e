"""A moving start as one page of HTML, as GIF, or as MP4."""

from __future__ import annotations

import json
import tempfile
from base64 import b64encode
from collections.abc import Iterator
from html import escape
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal, cast

import numpy as np

from slipwise.present.figures.canvas import alternative_text, drawing, render, title_of
from slipwise.present.figures.lecture_motion import WORDS, Moving, moving
from slipwise.present.figures.look import Look
from slipwise.quantity.errors import InputError
from slipwise.results.lecture import Motion

Kind = Literal["html", "gif", "mp4"]
KINDS: tuple[Kind, ...] = ("html", "gif", "mp4")
SIZES: dict[str, tuple[int, int]] = {"gif": (960, 540), "mp4": (1280, 720)}
FRAMES, RATE = {"html": 240, "gif": 100, "mp4": 200}, {"html": 30, "gif": 12, "mp4": 25}
DOT = 0.024  # width of a point, of the height


def movie(found: Motion, look: Look, kind: Kind, frames: int | None = None) -> bytes:
    """The moving start in one file. frames: how many; the usual number of its kind when None.

    Raises:
        InputError: GIF or MP4 without the package that writes them.
    """
    require_writer(kind)
    made = moving(found, look, frames or FRAMES[kind])
    if kind == "html":
        return _page(made, look).encode()
    return _film(made, look, kind)


def require_writer(kind: Kind) -> None:
    """Refuses films and GIF where imageio-ffmpeg is missing."""
    if kind != "html" and find_spec("imageio_ffmpeg") is None:
        raise InputError.of(
            "animation",
            kind,
            "imageio-ffmpeg, which writes it, is not installed",
            "install slipwise[video], or take html",
        )


def _frames(made: Moving, look: Look, size: tuple[int, int]) -> Iterator[bytes]:
    """Each frame as RGB bytes, rows from above: the still picture, and the points and the line of numbers drawn over it."""
    from matplotlib.lines import Line2D

    figure, canvas = made.figure, cast(Any, made.figure.canvas)
    with drawing():
        figure.set_dpi(size[0] / look.width)
        canvas.draw()
        still = canvas.copy_from_bbox(figure.bbox)
        points = [
            Line2D(
                [0], [0], marker="o", markersize=DOT * 72 * look.height, color=colour, markeredgecolor=look.palette.paper,
                transform=figure.transFigure, markeredgewidth=look.line * 0.6,
            )
            for colour in made.colours
        ]  # fmt: skip
        line = figure.text(*WORDS, "", size=look.small, color=look.palette.ink)
        for point in points:
            figure.add_artist(point)
        for spots, words in zip(made.spots, made.words, strict=True):
            canvas.restore_region(still)
            for (x, y), point in zip(spots, points, strict=True):
                point.set_data([x], [y])
                figure.draw_artist(point)
            line.set_text(words)
            figure.draw_artist(line)
            yield np.asarray(canvas.buffer_rgba())[:, :, :3].tobytes()


def _film(made: Moving, look: Look, kind: Kind) -> bytes:
    """The frames as MP4 (H.264), or as GIF with a palette of its own that begins again at its end."""
    import imageio_ffmpeg

    how: dict[str, Any] = {"quality": 8, "macro_block_size": 8}
    if kind == "gif":
        palette = "split[a][b];[a]palettegen=max_colors=64[p];[b][p]paletteuse=dither=none"
        how = {"codec": "gif", "quality": None, "bitrate": None, "macro_block_size": 1, "pix_fmt_out": "pal8"}
        how["output_params"] = ["-filter_complex", palette, "-loop", "0"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"run.{kind}"
        writer = imageio_ffmpeg.write_frames(str(path), SIZES[kind], fps=RATE[kind], ffmpeg_log_level="error", **how)
        writer.send(None)
        for frame in _frames(made, look, SIZES[kind]):
            writer.send(frame)
        writer.close()
        return path.read_bytes()


SCRIPT = """
const data = JSON.parse(document.getElementById("data").textContent);
const dots = [...document.querySelectorAll("circle")], line = document.getElementById("line");
const slide = document.getElementById("slide"), button = document.getElementById("run");
let at = 0, going = !matchMedia("(prefers-reduced-motion: reduce)").matches, before = 0;
function show(n) {
  at = n; slide.value = n; line.textContent = data.words[n];
  data.spots[n].forEach(([x, y], k) => { dots[k].setAttribute("cx", x); dots[k].setAttribute("cy", y); });
  button.textContent = going ? "Pause" : "Run";
}
function tick(now) {
  if (going && now - before > 1000 / data.rate) { before = now; show((at + 1) % data.words.length); }
  requestAnimationFrame(tick);
}
button.onclick = () => { going = !going; show(at); };
slide.oninput = () => { going = false; show(+slide.value); };
show(0); requestAnimationFrame(tick);
"""


def _page(made: Moving, look: Look) -> str:
    """Self-contained: the still figure as SVG, points over it moved by a few lines of script, a slider, a button."""
    palette, title = look.palette, title_of(made.figure)
    svg = b64encode(render(made.figure, "svg")).decode()
    spots = [[[round(960 * x, 1), round(540 * (1 - y), 1)] for x, y in row] for row in made.spots.tolist()]
    data = json.dumps({"spots": spots, "words": made.words, "rate": RATE["html"]}, ensure_ascii=False).replace(
        "<", "\\u003c"
    )
    dots = "".join(f'<circle r="6.5" fill="{c}" stroke="{palette.paper}" stroke-width="1.6"/>' for c in made.colours)
    style = (
        f":root {{ color-scheme: {look.mode}; }} body {{ margin: 0; background: {palette.paper}; color: {palette.ink};"
        f' font-family: "DejaVu Sans", Verdana, sans-serif; }} svg {{ display: block; width: 100vw; max-height: 92vh; }}'
        f" p {{ display: flex; gap: 1em; margin: 0.4em 2em; }} input {{ flex: 1; }} button {{ font: inherit; width: 6em; }}"
    )
    line = f'<text id="line" x="{960 * WORDS[0]:.1f}" y="{540 * (1 - WORDS[1]):.1f}" font-size="15" fill="{palette.ink}"></text>'
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title><style>{style}</style>'
        f'</head>\n<body><svg viewBox="0 0 960 540" role="img" aria-label="{escape(alternative_text(made.figure), quote=True)}">'
        f'<image href="data:image/svg+xml;base64,{svg}" width="960" height="540"/>{line}{dots}</svg>\n'
        f'<p><button id="run">Pause</button><input id="slide" type="range" min="0" max="{len(made.words) - 1}" value="0"'
        f' aria-label="time"></p><script type="application/json" id="data">{data}</script>\n'
        f"<script>{SCRIPT}</script></body></html>\n"
    )
