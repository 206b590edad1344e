"""A moving start as one page of HTML, as GIF, or as MP4."""

from __future__ import annotations

import json
import tempfile
from base64 import b64encode
from collections.abc import Iterator
from html import escape
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

from slipwise.present.figures.canvas import alternative_text, render, title_of
from slipwise.present.figures.lecture_motion import WORDS, Moving, moving
from slipwise.present.figures.look import Look
from slipwise.present.report.build import font_folder
from slipwise.quantity.errors import InputError
from slipwise.results.lecture import Motion

Kind = Literal["html", "gif", "mp4"]
KINDS: tuple[Kind, ...] = ("html", "gif", "mp4")
SIZES: dict[str, tuple[int, int]] = {"gif": (960, 540), "mp4": (1280, 720)}
FRAMES, RATE = {"html": 240, "gif": 100, "mp4": 200}, {"html": 30, "gif": 12, "mp4": 25}
DOT = 0.0125  # radius of a point, of the height
FINE = 4  # times finer than shown, the point is drawn


def movie(found: Motion, look: Look, kind: Kind, frames: int | None = None) -> bytes:
    """The moving start in one file. frames: how many; the usual number of its kind when None.

    Raises:
        InputError: MP4 without the package that writes it.
    """
    require_writer(kind)
    made = moving(found, look, frames or FRAMES[kind])
    if kind == "html":
        return _page(made, look).encode()
    return _gif(made, look) if kind == "gif" else _mp4(made, look)


def require_writer(kind: Kind) -> None:
    """Refuses MP4 where imageio-ffmpeg is missing."""
    if kind == "mp4" and find_spec("imageio_ffmpeg") is None:
        raise InputError.of(
            "animation",
            "mp4",
            "imageio-ffmpeg, which writes it, is not installed",
            "install slipwise[video], or take html",
        )


def _frames(made: Moving, look: Look, size: tuple[int, int]) -> Iterator[Any]:
    """Each frame as an RGB image: the still picture, the points and the line of numbers over it."""
    from PIL import Image, ImageDraw, ImageFont

    width, height = size
    still = Image.open(BytesIO(render(made.figure, "png", round(width / look.width)))).convert("RGB").resize(size)
    font = ImageFont.truetype(str(font_folder() / "DejaVuSans.ttf"), round(height / 36))
    stamps = [_stamp(colour, look.palette.paper, height) for colour in made.colours]
    for spots, words in zip(made.spots, made.words, strict=True):
        frame = still.copy()
        for (x, y), stamp in zip(spots, stamps, strict=True):
            frame.paste(
                stamp, (round(x * width) - stamp.width // 2, round((1 - y) * height) - stamp.height // 2), stamp
            )
        place = (WORDS[0] * width, (1 - WORDS[1]) * height)
        ImageDraw.Draw(frame).text(place, words.replace("\u202f", " "), fill=look.palette.ink, font=font, anchor="ls")
        yield frame


def _stamp(colour: str, rim: str, height: int) -> Any:
    """A point with a rim of paper, smooth at its edge."""
    from PIL import Image, ImageDraw

    radius = DOT * height * FINE
    side = round(2 * radius / FINE + 4) * FINE
    stamp = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    middle, pen = side / 2, ImageDraw.Draw(stamp)
    for share, fill in ((1.0, rim), (0.78, colour)):
        r = radius * share
        pen.ellipse((middle - r, middle - r, middle + r, middle + r), fill=fill)
    return stamp.resize((side // FINE, side // FINE), Image.Resampling.LANCZOS)


def _gif(made: Moving, look: Look) -> bytes:
    from PIL import Image

    frames = [f.quantize(64, dither=Image.Dither.NONE) for f in _frames(made, look, SIZES["gif"])]
    out = BytesIO()
    step = round(1000 / RATE["gif"])
    frames[0].save(out, "GIF", save_all=True, append_images=frames[1:], duration=step, loop=0, optimize=False)
    return out.getvalue()


def _mp4(made: Moving, look: Look) -> bytes:
    import imageio_ffmpeg  # type: ignore[import-untyped]

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "run.mp4"
        writer = imageio_ffmpeg.write_frames(
            str(path), SIZES["mp4"], fps=RATE["mp4"], quality=8, macro_block_size=8, ffmpeg_log_level="error"
        )
        writer.send(None)
        for frame in _frames(made, look, SIZES["mp4"]):
            writer.send(frame.tobytes())
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
