"""What the endpoints answer, as JSON Schema: for the OpenAPI file, and for the tests that hold the answers to it."""

from __future__ import annotations

from typing import Any

from slipwise.doors.desk.shapes import MAYBE, NUMBER, NUMBERS, TEXT, TEXTS, YES, Schema, many, maybe, record, said
from slipwise.doors.desk.shapes_views import (
    CONTACTS,
    DISTURBANCES,
    GROUP,
    JUDGEMENT,
    RECOMMENDATION,
    SETTING,
    STOPPING,
    UNITS,
)

FAULT = record(
    field=said(TEXT, "dotted path in the study, or `request`"),
    value=TEXT,
    reason=TEXT,
    remedy=TEXT,
    line={"type": ["integer", "null"]},
    message=said(TEXT, "all of it in one sentence"),
)
FAULTS: Schema = {
    **record(faults=many(FAULT)),
    "description": "What is wrong, and the study's text after the edits (`text`) so that nothing typed is lost.",
}
SLIDER = record(min=NUMBER, max=NUMBER, step=NUMBER)
FIELD = record(
    path=said(TEXT, "as an edit names it"),
    section=TEXT,
    key=TEXT,
    label=TEXT,
    doc=TEXT,
    kind={"enum": ["quantity", "word", "whole", "line", "yes", "numbers", "names"]},
    written=said(YES, "stands in the text"),
    text=said(TEXT, "as written, or as assumed"),
    origin={"enum": ["given", "derived", "assumed", "estimated", "absent"]},
    shown=TEXT,
    range_text=TEXT,
    why=TEXT,
    value=said(MAYBE, "in the SI `unit`"),
    unit=TEXT,
    low=MAYBE,
    high=MAYBE,
    number=said(MAYBE, "of the number box; number and `unit_text` together can be written as an edit"),
    unit_text=TEXT,
    slider=maybe(SLIDER),
    file=said(maybe(TEXT), "plain name of the file that the value names, to be sent among `files`"),
    along=said(maybe(record(path=TEXT, label=TEXT, why=TEXT)), "what follows when it is moved by an edit with `along`"),
    choices=TEXTS,
    example=TEXT,
    line={"type": ["integer", "null"]},
)
FORM = {
    "fields": many(FIELD),
    "sections": many(record(key=TEXT, title=TEXT)),
    "others": said(
        many(record(name=TEXT, shown=TEXT, range_text=TEXT, origin=TEXT, why=TEXT)), "derived values that are no fields"
    ),
}
MOVED = said(
    many(record(path=TEXT, text=TEXT, was=TEXT, by=TEXT, why=TEXT)), "what followed an edit with `along`, and which one"
)
HELD: Schema = {
    "type": "object",
    "additionalProperties": {"type": ["number", "string"]},
    "description": "settings in SI, to be handed in as `held`",
}
TABLE = record(title=TEXT, columns=many(record(title=TEXT, unit=TEXT, numeric=YES)), rows=many(TEXTS), note=TEXT)
TABLES: Schema = {"type": "object", "additionalProperties": TABLE}
STAGE = said(
    record(name=TEXT, contacts=TEXTS, used=NUMBERS, fed=YES, same_as=maybe(many({"type": "integer"}))),
    "`torque`, `line_current` over the common `speed`, unless `same_as` names the way and stage that has the same curves",
)
POINT = record(
    kind={"enum": ["standstill", "breakdown", "operating", "crawl", "changeover"]},
    stage={"type": "integer"},
    speed=MAYBE,
    torque=MAYBE,
    current=MAYBE,
    words=TEXT,
)
DIP = record(busbar=TEXT, dip=NUMBER, shown=TEXT, limit=MAYBE, ok={"type": ["boolean", "null"]})
STEADY = record(
    text=TEXT,
    moved=MOVED,
    title=TEXT,
    units=UNITS,
    synchronous_speed=NUMBER,
    rated=record(speed=NUMBER, torque=NUMBER, current=NUMBER),
    speed=NUMBERS,
    loads=many(record(name=TEXT, torque=NUMBERS)),
    busbars=many(record(name=TEXT, dip_limit=MAYBE, dip_limit_text=TEXT)),
    ways=many(
        record(
            key=TEXT,
            title=TEXT,
            applies=YES,
            reason=TEXT,
            settings=many(SETTING),
            held=HELD,
            stages=many(STAGE),
            points=many(POINT),
            dips=many(DIP),
        )
    ),
)
JUDGED = record(
    text=TEXT,
    title=TEXT,
    recommendation=RECOMMENDATION,
    ways=many(
        record(
            key=TEXT,
            title=TEXT,
            place=TEXT,
            **JUDGEMENT,
            designed=TEXT,
            run_up_text=TEXT,
            settings=many(SETTING),
            held=HELD,
            time_current=said(maybe({"type": "object"}), "start, relay, stall times and trip: currents of rated, s"),
            contacts=CONTACTS,
        )
    ),
    tables=TABLES,
    figures=many(record(key=TEXT, title=TEXT)),
    explanations=many(record(name=TEXT, title=TEXT, shown=TEXT)),
    cautions=TEXTS,
    plate=maybe(TABLE),
    speed=said(maybe({"type": "object"}), "ways of speed control: families, points, losses, year"),
    heat=said(maybe({"type": "object"}), "limit curves and stall times"),
    stopping=said(maybe(STOPPING), "ways of stopping; null unless the study asks"),
    disturbances=said(maybe(DISTURBANCES), "bad supplies; null unless the study asks"),
    group=said(maybe(GROUP), "several motors on one path; null unless the study asks"),
)
TRACES = record(
    time=NUMBERS,
    speed=NUMBERS,
    torque=NUMBERS,
    load=NUMBERS,
    line_current=NUMBERS,
    motor_current=NUMBERS,
    winding_current=NUMBERS,
    busbars=many(
        record(
            name=TEXT,
            voltage=NUMBERS,
            before=NUMBER,
            dip=said(NUMBER, "greatest of the start, % of `before`"),
            dip_text=TEXT,
        )
    ),
)
STARTED = record(
    text=TEXT,
    way=TEXT,
    title=TEXT,
    units=UNITS,
    case=TEXT,
    outcome=TEXT,
    arrived=YES,
    run_up_text=TEXT,
    final_speed=MAYBE,
    traces=TRACES,
    stages=many(record(name=TEXT, begin=NUMBER, end=NUMBER, end_speed=MAYBE, contacts=TEXTS, reason=TEXT)),
    heat=record(stator_text=TEXT, rotor_text=TEXT, current_text=TEXT),
    transient=maybe(
        record(time=NUMBERS, speed=NUMBERS, torque=NUMBERS, line_currents=many(NUMBERS), peaks=many({"type": "object"}))
    ),
)
EXPLAINED = record(
    text=TEXT,
    items=many(
        record(
            name=TEXT,
            title=TEXT,
            symbol=TEXT,
            shown=TEXT,
            formula_text=TEXT,
            formula_mathml=TEXT,
            numbers_text=TEXT,
            numbers_mathml=TEXT,
            inputs=many(record(symbol=TEXT, name=TEXT, shown=TEXT, origin=TEXT)),
            method=TEXT,
            source=TEXT,
        )
    ),
)
IDENTIFIED = record(
    text=TEXT,
    kind={"enum": ["plate", "readings", "recording"]},
    tables=TABLES,
    figures=many(record(key=TEXT, title=TEXT, svg_base64=TEXT)),
    notes=TEXTS,
    block=said(TEXT, "lines for a study file"),
    adopted=said(
        maybe(TEXT), "the study's text with these lines in place of its motor; null when it has a circuit already"
    ),
)
EXPORTED = record(name=TEXT, media_type=TEXT, base64=TEXT)
STUDIES = record(studies=many(record(key=TEXT, title=TEXT, summary=TEXT, text=TEXT)))
FIELDS = record(text=TEXT, title=TEXT, faults=many(FAULT), moved=MOVED, **FORM)
PROGRESS = record(progress=record(words=TEXT, share=MAYBE))


def plain(schema: Schema, words: str) -> dict[int | str, dict[str, Any]]:
    """Answers of an endpoint that gives JSON at once."""
    return {
        200: {"description": words, "content": {"application/json": {"schema": schema}}},
        422: {"description": "A wrong study or request", "content": {"application/json": {"schema": FAULTS}}},
        503: {
            "description": "Too much at once, or it took too long",
            "content": {"application/json": {"schema": FAULTS}},
        },
    }


def lines(schema: Schema, words: str) -> dict[int | str, dict[str, Any]]:
    """Answers of an endpoint that streams lines of JSON; each line is one of these."""
    line = {"anyOf": [PROGRESS, record(result=schema), FAULTS]}
    return {
        200: {
            "description": f"{words} Each line is one of these.",
            "content": {"application/x-ndjson": {"schema": line}},
        },
        422: {"description": "A wrong request", "content": {"application/json": {"schema": FAULTS}}},
    }


SVG: dict[int | str, dict[str, Any]] = {
    200: {"description": "The drawing", "content": {"image/svg+xml": {"schema": TEXT}}},
    422: {"description": "A wrong study or request", "content": {"application/json": {"schema": FAULTS}}},
}
