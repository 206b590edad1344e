"""Schemas of the parts of a judged study that only some studies have: stopping, bad supplies, a group."""

from __future__ import annotations

from slipwise.doors.desk.shapes import MAYBE, NUMBER, NUMBERS, TEXT, TEXTS, YES, many, maybe, record, said

SETTING = record(key=TEXT, title=TEXT, shown=TEXT, origin=TEXT, why=TEXT, path=TEXT)
CRITERION = record(
    key=TEXT,
    title=TEXT,
    value_text=TEXT,
    limit_text=TEXT,
    margin_text=TEXT,
    margin=MAYBE,
    status=TEXT,
    case=TEXT,
    source=TEXT,
    condition=TEXT,
    explain=said({"type": ["string", "null"]}, "name to be asked of /explain"),
)
RECOMMENDATION = record(
    way={"type": ["string", "null"]}, runner_up={"type": ["string", "null"]}, reason=TEXT, sentence=TEXT
)
UNITS = said({"type": "object", "additionalProperties": TEXT}, "unit of each kind of number below")
JUDGEMENT = {"status": TEXT, "reason": TEXT, "binding": maybe(CRITERION), "criteria": many(CRITERION)}
CONTACTS = record(stages=TEXTS, closed=many(TEXTS), notes=TEXTS)
STOP = record(
    case=TEXT,
    stop_time=said(MAYBE, "until all but at rest, s; null when it never is"),
    time=NUMBERS,
    speed=NUMBERS,
    torque=NUMBERS,
    load=NUMBERS,
    motor_current=NUMBERS,
    line_current=NUMBERS,
    busbars=many(record(name=TEXT, voltage=NUMBERS)),
    stages=many(record(name=TEXT, begin=NUMBER, end=NUMBER, end_speed=MAYBE, contacts=TEXTS, reason=TEXT)),
)
STOPPING = record(
    units=UNITS,
    direction={"enum": ["forward", "reverse"]},
    running_speed=NUMBER,
    running_text=TEXT,
    recommendation=RECOMMENDATION,
    ways=many(
        record(
            key=TEXT,
            title=TEXT,
            place=TEXT,
            applies=YES,
            **JUDGEMENT,
            designed=TEXT,
            settings=many(SETTING),
            stop_time_text=TEXT,
            words=TEXTS,
            stop=said(maybe(STOP), "of the nominal case, on the steady characteristics"),
            slowest=said(
                maybe(record(case=TEXT, stop_time_text=TEXT, time=NUMBERS, speed=NUMBERS)), "the slowest other case"
            ),
            characteristics=said(
                many(record(stage=TEXT, speed=NUMBERS, torque=NUMBERS, load=NUMBERS, motor_current=NUMBERS)),
                "stages that brake, over speed",
            ),
            contacts=CONTACTS,
            circuit=said(YES, "whether its circuit can be asked of /export under `stop_` and the key"),
        )
    ),
    notes=TEXTS,
)
LEVEL = record(words=TEXT, value=NUMBER)
PANEL = record(
    x=said(TEXT, "what the axis measures, with its unit"),
    y=TEXT,
    over_time=YES,
    traces=many(record(label=TEXT, x=NUMBERS, y=NUMBERS)),
    levels=said(many(LEVEL), "lines across"),
    marks=said(many(LEVEL), "lines upright"),
)
DISTURBANCES = record(
    sentence=TEXT,
    disturbances=many(
        record(
            key=TEXT,
            kind=TEXT,
            title=TEXT,
            **JUDGEMENT,
            summary=TEXT,
            actions=TEXTS,
            notes=TEXTS,
            panels=many(PANEL),
        )
    ),
)
SEQUENCE = record(
    key=TEXT,
    title=TEXT,
    **JUDGEMENT,
    words=TEXT,
    batches=many(record(motors=TEXTS, switch_on=NUMBER)),
    runs=said(
        many(
            record(
                case=TEXT,
                total_text=said(TEXT, "until the last is at speed; empty when one does not arrive"),
                time=NUMBERS,
                motors=many(
                    record(
                        name=TEXT,
                        switch_on=said(MAYBE, "s; null when it runs from the beginning"),
                        dropped=said(MAYBE, "s at which its contactor fell out"),
                        outcome=TEXT,
                        peak_text=TEXT,
                        speed=NUMBERS,
                        current=NUMBERS,
                    )
                ),
                busbars=many(record(name=TEXT, voltage=said(NUMBERS, "% of nominal"), dip_text=TEXT)),
            )
        ),
        "one a case, nominal first",
    ),
)
GROUP = record(
    units=UNITS,
    sentence=TEXT,
    words=TEXT,
    proposed={"type": ["string", "null"]},
    sequences=many(SEQUENCE),
    dip=said(maybe(SEQUENCE), "all of them running, and the source dips"),
)
