"""The slides as one page of HTML that needs nothing else: arrow keys turn them, all of them print."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from slipwise.present.deck.slides import Slide
from slipwise.present.figures.look import Look
from slipwise.results.table import Table

STYLE = """
:root { color-scheme: %(mode)s; }
body { margin: 0; background: %(paper)s; color: %(ink)s; font-family: "DejaVu Sans", Verdana, sans-serif; }
section { box-sizing: border-box; width: 100vw; min-height: 100vh; padding: 4vh 4vw; display: none; }
section.now { display: flex; flex-direction: column; justify-content: center; }
section.picture { padding: 1vh 1vw; align-items: center; }
img { width: min(98vw, 84vh * 16 / 9); }
section.sheet img { width: min(98vw, 97vh * 16 / 9); }
h1 { font-size: 6vh; } h2 { font-size: 4.2vh; }
p, li, td, th { font-size: 2.7vh; line-height: 1.35; }
p.quiet { color: %(quiet)s; } p.caption { font-size: 2.5vh; margin: 0 2vw; }
table { border-collapse: collapse; } td, th { padding: 0.6vh 1.4vw; border-bottom: 1px solid %(faint)s; text-align: left; }
td.n, th.n { text-align: right; }
@media print { section { display: flex; flex-direction: column; break-after: page; } }
"""
TURN = """
const all = [...document.querySelectorAll("section")];
let at = Math.min(Math.max(0, (parseInt(location.hash.slice(1)) || 1) - 1), all.length - 1);
function turn(to) {
  at = Math.min(Math.max(0, to), all.length - 1);
  all.forEach((s, n) => s.classList.toggle("now", n === at));
  history.replaceState(null, "", "#" + (at + 1));
}
addEventListener("keydown", e => {
  if (["ArrowRight", "PageDown", " "].includes(e.key)) { turn(at + 1); e.preventDefault(); }
  if (["ArrowLeft", "PageUp"].includes(e.key)) { turn(at - 1); e.preventDefault(); }
  if (e.key === "Home") turn(0);
  if (e.key === "End") turn(all.length - 1);
});
addEventListener("click", e => turn(at + (e.clientX < innerWidth / 4 ? -1 : 1)));
turn(at);
"""


def deck_html(found: Sequence[Slide], look: Look) -> str:
    """One self-contained page; formulas as MathML-free text, figures as embedded SVG."""
    palette = look.palette
    colours = {"paper": palette.paper, "ink": palette.ink, "quiet": palette.quiet, "faint": palette.faint}
    style = STYLE % {**colours, "mode": look.mode}
    body = "\n".join(_section(slide) for slide in found)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(found[0].title)}</title>'
        f"<style>{style}</style></head>\n<body>\n{body}\n<script>{TURN}</script></body></html>\n"
    )


def _section(slide: Slide) -> str:
    if slide.svg:
        caption = "".join(f'<p class="caption">{escape(line)}</p>' for line in slide.lines)
        image = f'<img alt="{escape(slide.words, quote=True)}" src="data:image/svg+xml;base64,{b64encode(slide.svg).decode()}">'
        return f'<section class="picture {slide.kind}">{image}{caption}</section>'
    head = "h1" if slide.kind in {"title", "topic"} else "h2"
    quiet = ' class="quiet"' if slide.kind == "title" else ""
    lines = "".join(f"<p{quiet}>{escape(line)}</p>" for line in slide.lines)
    steps = "".join(_step(block) for block in slide.steps)
    table = _table(slide.table) if slide.table is not None else ""
    return f"<section><{head}>{escape(slide.title)}</{head}>{lines}{steps}{table}</section>"


def _step(block: Mapping[str, Any]) -> str:
    numbers = f"{block['numbers']['alt']} = {block['result']}"
    lines = (f"<b>{escape(block['title'])}</b>", escape(block["symbolic"]["alt"]), escape(numbers))
    return f"<p>{'<br>'.join(lines)}</p><p class='quiet'>{escape(block['note'])}</p>"


def _table(table: Table) -> str:
    sides = ['class="n"' if column.numeric else "" for column in table.columns]
    heads = (f"{escape(c.title)}{f' [{escape(c.unit)}]' if c.unit else ''}" for c in table.columns)
    rows = ["".join(f"<th {side}>{head}</th>" for side, head in zip(sides, heads, strict=True))]
    rows += [
        "".join(f"<td {side}>{escape(cell)}</td>" for side, cell in zip(sides, row, strict=True)) for row in table.rows
    ]
    note = f'<p class="quiet">{escape(table.note)}</p>' if table.note else ""
    return f"<table>{''.join(f'<tr>{row}</tr>' for row in rows)}</table>{note}"
