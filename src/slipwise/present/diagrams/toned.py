"""A drawing in the colours of a figure's palette: on dark paper as well as on white."""

from __future__ import annotations

import re

from slipwise.present.figures.look import Palette

QUIET = ("#333333", "#555555", "#6b6b6b")


def toned(svg: bytes, palette: Palette) -> bytes:
    """The drawing with ink, greys and paper exchanged for those of the palette."""
    found = {"#111111": palette.ink, "#ffffff": palette.paper, "#d9d9d9": palette.faint}
    found |= dict.fromkeys(QUIET, palette.quiet)
    return re.sub(rb"#[0-9a-f]{6}\b", lambda m: found.get(m[0].decode(), m[0].decode()).encode(), svg)
