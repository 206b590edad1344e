"""A motor identified, as the page shows it: what was found against what was measured, and the lines for a study file."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable
from typing import Any

from slipwise.doors.desk.shown import tables_dict
from slipwise.present import tables, tables_bench, tables_recording
from slipwise.present.figures import Look, bench
from slipwise.present.figures import recording as recorded
from slipwise.present.figures.canvas import render
from slipwise.present.tables_plate import plate_ranges
from slipwise.quantity.errors import InputError
from slipwise.results.table import Table
from slipwise.study.assemble.motor import BuiltMotor
from slipwise.study.motor_block import lines_to_paste
from slipwise.study.text.section import with_section

MEMBERS = 80  # motors behind the ranges of a plate
Tell = Callable[[str, float | None], None]


def identified_dict(built: BuiltMotor, text: str, tell: Tell) -> dict[str, Any]:
    """Tables by key, figures as SVG, sentences, the `[motor]` lines, and the study's text with them; null when it has them."""
    kind = _recording if built.recording is not None else _readings if built.identification is not None else _plate
    block = lines_to_paste(built)
    section = built.section
    own = section is not None and (section.circuit is not None or section.curves is not None)
    return {**kind(built, tell), "block": block, "adopted": None if own else _adopted(text, block)}


def _adopted(text: str, block: str) -> str | None:
    mark = text[:1] if text.startswith("\ufeff") else ""
    try:
        return mark + with_section(text.removeprefix(mark), block)
    except InputError:  # the section is written in a way that only a hand can change
        return None


def _plate(built: BuiltMotor, tell: Tell) -> dict[str, Any]:
    found: list[tuple[str, Table]] = [("plate", tables.plate_rows(built.plate))] if built.plate else []
    if built.nameplate is not None:
        from slipwise.identify.plate_ensemble import identify_plate

        tell("ranges over motors that show the same plate", None)
        found.append(("plate_ranges", plate_ranges(identify_plate(built.nameplate, MEMBERS).ranges)))
    return _packed("plate", found, [], [])


def _readings(built: BuiltMotor, tell: Tell) -> dict[str, Any]:
    found = built.identification
    assert found is not None
    drawn = []
    for key, title, draw in bench.catalogue(found):
        tell(f"figure: {title}", None)
        drawn.append((key, title, render(draw(Look()), "svg")))
    words = [part for part in (tables_bench.stray_words(found), *found.notes, *found.cautions) if part]
    return _packed("readings", tables_bench.all_of(found), drawn, words)


def _recording(built: BuiltMotor, tell: Tell) -> dict[str, Any]:
    found = built.recording
    assert found is not None
    made = (tables_recording.steps, tables_recording.values, tables_recording.misfit)
    drawn = []
    for draw in (recorded.fit, recorded.joint_region, recorded.load_torque):
        title = draw.__name__.replace("_", " ")
        tell(f"figure: {title}", None)
        drawn.append((draw.__name__, title, render(draw(found, Look()), "svg")))
    words = [*found.indistinct, *found.notes, *found.cautions]
    return _packed("recording", [(make.__name__, make(found)) for make in made], drawn, words)


def _packed(
    kind: str,
    found: Iterable[tuple[str, Table]],
    drawn: Iterable[tuple[str, str, bytes]],
    words: list[str],
) -> dict[str, Any]:
    figures = [
        {"key": key, "title": title, "svg_base64": base64.b64encode(svg).decode("ascii")} for key, title, svg in drawn
    ]
    return {"kind": kind, "tables": tables_dict(found), "figures": figures, "notes": words}
