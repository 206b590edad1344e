"""Pictures of the report: figures with their words, circuits stage by stage, windings at each speed."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from html import unescape
from itertools import count

from slipwise.present.diagrams import described, diagram, winding_described, winding_diagram
from slipwise.present.report.blocks import TEXT_WIDTH, Block, Images, figure, row
from slipwise.results.wiring import Wiring

DIAGRAM_SCALE = 0.62  # pt for each drawing unit: labels come out at 6.8 pt
LEAST_SCALE = 0.53  # at which they can still be read: 5.8 pt
SHOWN_STAGES = 4
FIGURE = "Figure"  # caption of a figure before it is numbered
GAP = 14.0  # between diagrams in a row, pt


def figures_of(
    figures: Mapping[str, bytes], images: Images, wanted: Callable[[str], bool]
) -> Iterator[Block]:  # fmt: skip
    """The figures whose names are wanted; `numbered` counts them where they stand."""
    for name, svg in figures.items():
        if wanted(name):
            words = told(svg, "desc") or told(svg, "title") or re.sub(r"[._/-]+", " ", name)
            yield figure(images.put(name, svg), words, FIGURE)


def numbered(found: Iterable[Block]) -> Iterator[Block]:
    """The blocks, with the figures of `figures_of` numbered from the first page to the last."""
    number = count(1)
    for block in found:
        yield {**block, "caption": f"{FIGURE} {next(number)}"} if block.get("caption") == FIGURE else block


def told(svg: bytes, element: str) -> str:
    """What a drawing says of itself: its title or its description, "" when it says nothing."""
    found = re.search(rf"<{element}\b[^>]*>(.*?)</{element}>".encode(), svg, re.DOTALL)
    return unescape(found[1].decode()).strip() if found else ""


def drawings(key: str, wiring: Wiring, images: Images) -> Iterator[Block]:
    """The stages side by side in one row if they can be read there; of a long sequence the first two and the last two."""
    stages = wiring.stages
    shown = stages if len(stages) <= SHOWN_STAGES else (*stages[:2], *stages[-2:])
    drawn = [(stage, diagram(wiring, stage)) for stage in shown]
    widths = [_width(svg) for _, svg in drawn]
    in_one_row = (TEXT_WIDTH - GAP * (len(drawn) - 1)) / sum(widths)
    scale = min(DIAGRAM_SCALE, in_one_row) if in_one_row >= LEAST_SCALE else DIAGRAM_SCALE
    line: list[Block] = []
    used = 0.0
    for (stage, svg), width in zip(drawn, widths, strict=True):
        if line and used + width * scale > TEXT_WIDTH + 1.0:
            yield row(line)
            line, used = [], 0.0
        file = images.put(f"{key}-circuit-{stage}", svg)
        words = described(wiring, stage)
        line.append(figure(file, words, f"Stage: {stage}", min(width * scale, TEXT_WIDTH)))
        used += width * scale + GAP
    yield row(line)


def winding_drawings(key: str, wiring: Wiring, images: Images) -> Iterator[Block]:
    """Every winding at every speed it makes."""
    for number, winding in enumerate(wiring.windings, start=1):
        for speed in winding.speeds:
            svg = winding_diagram(winding, speed.name)
            file = images.put(f"{key}-winding-{number}-{speed.name}", svg)
            words = winding_described(winding, speed.name)
            caption = f"{winding.name[:1].upper()}{winding.name[1:]}, {speed.name} speed"
            yield figure(file, words, caption, min(_width(svg) * DIAGRAM_SCALE, TEXT_WIDTH))


def _width(svg: bytes) -> float:
    """Drawing units across, from the view box."""
    head = svg[: svg.index(b">")].decode()
    return float(head.partition('viewBox="')[2].split()[2])
