"""The lab sheet: readings, every step with its numbers, results with their intervals, as PDF."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from slipwise.present import tables_bench
from slipwise.present.report import equations
from slipwise.present.report.blocks import Block, Images, bullets, figure, heading, note, paragraph, signature, table
from slipwise.present.report.build import FOOTER, typeset
from slipwise.present.report.content import told
from slipwise.results.identification import Identification
from slipwise.results.table import Table

PLACES = {
    "dc": "Direct current", "no_load": "No load", "locked_rotor": "Locked rotor",
    "short": "Shortest textbook reduction", "series": "Textbook reduction, reactances in series",
}  # fmt: skip
STEPS = (
    ("dc", "Stator resistance"),
    ("locked_rotor", "Locked rotor, exact"),
    ("no_load", "No load, exact"),
    ("short", "Textbook, shortest"),
    ("series", "Textbook, reactances in series"),
)


def lab_sheet(
    found: Identification, figures: Mapping[str, bytes], *, day: date | None = None, compared: Table | None = None
) -> bytes:
    """The sheet as PDF, tagged for screen readers; with a date also fit for archives.

    Args:
        found: of the bench tests of one motor. figures: SVG by name, as `present.figures.bench.catalogue` draws them.
        day: printed in the head of each page; None prints none.
        compared: the readings beside what was expected of them; None where nothing was.

    Raises:
        RuntimeError: the typesetting failed.
    """
    images = Images()
    version = f"slipwise {found.slipwise_version}"
    printed = f"{day.day} {day:%B %Y}" if day else ""
    data = {
        "title": found.title,
        "description": "Readings, steps and results of bench tests, with the uncertainty of the meters.",
        "subtitle": "   ·   ".join(part for part in ("Lab sheet", f"Computed by {version}", printed) if part),
        "version": version,
        "date": [day.year, day.month, day.day] if day else None,
        "printed-date": printed,
        "footer": FOOTER,
        "blocks": list(_blocks(found, figures, images, compared)),
    }
    return typeset(data, images, day)


def _blocks(
    found: Identification, figures: Mapping[str, bytes], images: Images, compared: Table | None
) -> Iterator[Block]:
    yield heading("Result")
    yield table(tables_bench.values(found))
    yield bullets(found.notes)
    yield from _part("Plate and load readings against the model", tables_bench.compared(found))
    yield heading("Readings")
    yield table(tables_bench.readings(found), title="")
    if compared is not None:
        yield from _part("Measured against expected", compared)
    yield from _part("What the readings did not say", tables_bench.assumed(found))
    yield from _tests(found, figures, images)
    yield heading("Steps")
    yield paragraph(
        "Per phase of the star equivalent of the running connection. The exact reduction solves for all values together; its "
        "steps are shown with the values at the solution, so that each can be checked by hand."
    )
    for place, title in STEPS:
        chosen = [step for step in found.steps if step.name.startswith(f"{place}.")]
        if not chosen:
            continue
        yield heading(title, 2)
        for block, others in equations.formulas(chosen, PLACES):
            yield block
            if others is not None:
                yield table(others)
        rest = equations.computed(chosen, PLACES, ())
        if rest.rows:
            yield table(rest)
    yield heading("Textbook against exact")
    yield table(tables_bench.reductions(found), title="")
    yield heading("The motor for a study file")
    yield from (note(line) for line in found.motor_block.splitlines() if line)
    yield heading("Mind")
    yield bullets(found.cautions)
    yield signature()


def _tests(found: Identification, figures: Mapping[str, bytes], images: Images) -> Iterator[Block]:
    """The tests reading by reading, each with its figures."""
    yield heading("Tests")
    for key, made in (
        ("no_load", tables_bench.no_load), ("locked_rotor", tables_bench.locked_rotor), ("load", tables_bench.loads),
    ):  # fmt: skip
        content = made(found)
        if content.rows:
            yield table(content)
        for name, svg in figures.items():
            if name.startswith(f"{key}."):
                words = told(svg, "desc") or told(svg, "title")
                yield figure(images.put(name, svg), words, told(svg, "title"))


def _part(title: str, content: Table) -> Iterator[Block]:
    if content.rows:
        yield heading(title, 2)
        yield table(content, title="")
