"""The blocks of a report as one HTML page that needs nothing else: formulas as MathML, pictures within, light and dark."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping
from html import escape
from typing import Any

from slipwise.present.figures.look import PALETTES
from slipwise.present.report.blocks import Block, Images

_LIGHT, _DARK = PALETTES["light"], PALETTES["dark"]
STYLE = f"""
:root {{ color-scheme: light dark; --paper: {_LIGHT.paper}; --ink: {_LIGHT.ink}; --quiet: {_LIGHT.quiet}; --rule: #9aa1a8;
  --accent: #00527a; }}
@media (prefers-color-scheme: dark) {{ :root {{ --paper: {_DARK.paper}; --ink: {_DARK.ink}; --quiet: {_DARK.quiet};
  --rule: #5b656e; --accent: {_DARK.lines[0]}; }} }}
body {{ margin: 2rem auto; max-width: 52rem; padding: 0 1rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.5 system-ui, "DejaVu Sans", sans-serif; }}
h1 {{ margin-bottom: 0; }} h2, h3 {{ color: var(--accent); margin: 2rem 0 0.5rem; }}
.quiet, figcaption, .note {{ color: var(--quiet); font-size: 0.85rem; }}
table {{ border-collapse: collapse; margin: 1rem 0; font-size: 0.9rem; }}
caption {{ text-align: left; font-weight: bold; padding: 0.3rem 0; }}
th, td {{ padding: 0.25rem 0.7rem; border-bottom: 1px solid var(--rule); text-align: left; vertical-align: top; }}
thead th {{ border-bottom: 2px solid var(--ink); }} .number {{ text-align: right; white-space: nowrap; }}
.step {{ display: grid; grid-template-columns: 2rem 1fr; margin: 1.2rem 0; }}
.step > b {{ color: var(--accent); }} .step > div {{ min-width: 0; }}
.step p {{ margin: 0; padding: 0.25rem 0; overflow: auto hidden; }}
math {{ font-size: 1.1rem; }} figure {{ margin: 1.5rem 0; }} img {{ max-width: 100%; height: auto; background: #fff; }}
"""


def page(data: Mapping[str, Any], images: Images) -> str:
    """The page of what the template of the PDF is given (title, subtitle, footer, blocks), well-formed as XML too.

    images: pictures the blocks name; they are put into the page.

    Raises:
        KeyError: a block of a kind unknown here, or a picture that is not among `images`.
    """
    body = "\n".join(_block(block, images) for block in data["blocks"])
    title = escape(data["title"])
    return (
        f'<!DOCTYPE html>\n<html lang="en-GB" xmlns="http://www.w3.org/1999/xhtml">\n<head>\n<meta charset="utf-8" />\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1" />\n'
        f'<meta name="description" content="{escape(data["description"])}" />\n<title>{title}</title>\n'
        f"<style>{escape(STYLE, quote=False)}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n"
        f'<p class="quiet">{escape(data["subtitle"])}</p>\n{body}\n</main>\n'
        f'<footer class="quiet"><p>{escape(data["footer"])}</p></footer>\n</body>\n</html>\n'
    )


def _block(block: Block, images: Images) -> str:
    return _MAKERS[block["kind"]](block, images)


def _heading(block: Block, _images: Images) -> str:
    level = block["level"] + 1
    return f"<h{level}>{escape(block['text'])}</h{level}>"


def _text(block: Block, _images: Images) -> str:
    return f"<p>{escape(block['text'])}</p>"


def _note(block: Block, _images: Images) -> str:
    return f'<p class="note">{escape(block["text"])}</p>'


def _list(block: Block, _images: Images) -> str:
    return "<ul>" + "".join(f"<li>{escape(item)}</li>" for item in block["items"]) + "</ul>"


def _verdict(block: Block, _images: Images) -> str:
    return f"<p><strong>{escape(block['text'])}</strong></p>" + "".join(f"<p>{escape(x)}</p>" for x in block["lines"])


def _table(block: Block, _images: Images) -> str:
    numeric = [column["numeric"] for column in block["columns"]]
    rows = ([(_cell(cell), right) for cell, right in zip(row, numeric, strict=True)] for row in block["rows"])
    made = _grid(block["title"], block["columns"], numeric, rows)
    return made + (f'<p class="note">{escape(block["note"])}</p>' if block["note"] else "")


def _cell(cell: Mapping[str, Any]) -> str:
    if "mathml" in cell:
        return _math(cell["mathml"], cell["text"])
    shown = escape(cell["text"])
    return f"<strong>{shown}</strong>" if cell["strong"] else shown


def _form(block: Block, _images: Images) -> str:
    rows = ([(escape(cell), False) for cell in row] for row in block["rows"])
    return _grid(block["title"], block["columns"], [False] * len(block["columns"]), rows)


def _grid(
    title: str, columns: Iterable[Mapping[str, Any]], numeric: list[bool], rows: Iterable[list[tuple[str, bool]]]
) -> str:
    """A table from cells that are markup already, with whether each stands right."""
    heads = "".join(
        f'<th scope="col"{_right(right)}>{escape(column["title"])}{_under(column["unit"])}</th>'
        for column, right in zip(columns, numeric, strict=True)
    )
    body = "".join("<tr>" + "".join(f"<td{_right(right)}>{cell}</td>" for cell, right in row) + "</tr>" for row in rows)
    caption = f"<caption>{escape(title)}</caption>" if title else ""
    return f"<table>{caption}<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"


def _right(right: bool) -> str:
    return ' class="number"' if right else ""


def _under(unit: str) -> str:
    return f'<br /><span class="quiet">{escape(unit)}</span>' if unit else ""


def _lines(block: Block, _images: Images) -> str:
    return f"<p>{' '.join(f'{escape(label)}: ____________' for label in block['labels'])}</p>"


def _step(block: Block, _images: Images) -> str:
    numbers, symbolic = block["numbers"], block["symbolic"]
    lines = [
        f"<p><strong>{escape(block['title'])}</strong></p>",
        f"<p>{_math(symbolic['mathml'], symbolic['alt'])}</p>",
    ]
    if numbers["alt"]:
        lines.append(f"<p>{_math(numbers['mathml'], numbers['alt'])}</p>")
    if block["note"]:
        lines.append(f'<p class="note">{escape(block["note"])}</p>')
    return f'<div class="step"><b>{escape(block["number"])}</b><div>{"".join(lines)}</div></div>'


def _math(written: str, words: str) -> str:
    """A formula with its plain text for readers that cannot set it."""
    return written.replace("<math ", f'<math displaystyle="true" alttext="{escape(words)}" ', 1)


def _figure(block: Block, images: Images) -> str:
    data = b64encode(images.files[block["file"]]).decode("ascii")
    picture = f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(block["alt"])}" />'
    return f"<figure>{picture}<figcaption>{escape(block['caption'])}</figcaption></figure>"


def _row(block: Block, images: Images) -> str:
    return "".join(_figure(item, images) for item in block["items"])


def _break(_one: Block, _images: Images) -> str:
    return "<hr />"


_MAKERS: Mapping[str, Callable[[Block, Images], str]] = {
    "heading": _heading, "text": _text, "note": _note, "list": _list, "table": _table, "figure": _figure, "row": _row,
    "step": _step, "verdict": _verdict, "form": _form, "lines": _lines, "break": _break,
}  # fmt: skip
