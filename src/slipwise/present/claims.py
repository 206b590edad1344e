"""Shorthands against the computation, in the terminal and as a folder of outputs."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import IO

from slipwise.present import tables_claims
from slipwise.present.export import csv_text, whole_folder
from slipwise.present.figures import Look
from slipwise.present.figures.canvas import Format, render
from slipwise.present.figures.claims import spoken
from slipwise.present.report.blocks import (
    TEXT_WIDTH,
    Block,
    Images,
    bullets,
    figure,
    heading,
    new_page,
    paragraph,
    table,
)
from slipwise.present.terminal import print_sentences, print_table
from slipwise.results.claims import Claim, Claims

Typeset = Callable[[Sequence[Block], Images], bytes]
"""Makes the PDF of blocks and their pictures."""


def print_claims(found: Claims, file: IO[str] | None = None) -> None:
    """The answers, then each shorthand with its cases, where it holds, and why not everywhere."""
    out = file or sys.stdout
    print_table(tables_claims.answers(found), out)
    for claim in found.claims:
        out.write("\n")
        print_table(tables_claims.cases(claim), out)
        print_sentences((claim.said, claim.holds, claim.why), out, lead="  ")
    out.write("\n")
    print_sentences((*found.notes, *found.cautions), out)


def write_claims(
    found: Claims,
    folder: Path,
    formats: Sequence[Format],
    typeset: Typeset,
    *,
    progress: Callable[[str], None] | None = None,
) -> Path:
    """Writes claims.pdf, tables/cases.csv and figures/; the folder appears whole or not at all.

    Raises:
        InputError: as `present.export.write_outputs`.
    """
    from slipwise.present.figures.claims import beside_text, catalogue

    tell, look, pictures = progress or (lambda _: None), Look(size="print"), {}
    with whole_folder(folder) as fresh:
        (fresh / "tables").mkdir()
        cases = csv_text(tables_claims.every_case(found))
        (fresh / "tables" / "cases.csv").write_text(cases, encoding="utf-8", newline="\n")
        (fresh / "figures").mkdir()
        for claim, (key, title, draw) in zip(found.claims, catalogue(found), strict=True):
            tell(f"figure: {title}")
            drawn = draw(look)
            pictures[key] = render(beside_text(claim), "svg")
            for format in formats:
                (fresh / "figures" / f"{key}.{format}").write_bytes(render(drawn, format, look.dots))
        tell("page")
        images = Images()
        (fresh / "claims.pdf").write_bytes(typeset(list(blocks(found, pictures, images)), images))
    return folder


def blocks(found: Claims, pictures: dict[str, bytes], images: Images) -> Iterator[Block]:
    """The page: answers, then each shorthand with its figure; pictures: SVG by the key of the shorthand."""
    yield table(tables_claims.answers(found), title="")
    for claim in found.claims:
        yield from _claim(claim, pictures[claim.key], images)
    yield new_page()
    yield heading("What this rests on")
    yield bullets(found.notes)
    yield heading("Cautions")
    yield bullets(found.cautions)


def _claim(claim: Claim, svg: bytes, images: Images) -> Iterator[Block]:
    yield heading(claim.title)
    yield paragraph(f"{claim.said} For this motor: {claim.answer.value}. {claim.holds}", leads_in=True)
    yield table(tables_claims.cases(claim), title="", leads_in=True)
    yield paragraph(claim.why, leads_in=True)
    yield figure(images.put(claim.key, svg), spoken(claim), "", TEXT_WIDTH * 0.6)
