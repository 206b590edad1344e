"""Tables of heat: the bodies, starts and rest, stall times, duties, and the torque its own fan allows."""

from __future__ import annotations

from math import isfinite

import numpy as np

from slipwise.present.tables import ranked
from slipwise.quantity.show import MISSING, show
from slipwise.results.study import StudyResult
from slipwise.results.table import Column, Table
from slipwise.results.thermal import WayHeat

STALL_AT = (1.1, 1.0, 0.9, 0.8, 0.7, 0.6)  # per unit of rated voltage
FAN_AT = (0.1, 0.25, 0.5, 0.75, 1.0)  # per unit of rated speed


def bodies(result: StudyResult) -> Table:
    """What the network is made of."""
    columns = (
        Column(title="Body"),
        Column(title="Heat capacity", numeric=True),
        Column(title="At rated load", numeric=True),
        Column(title="Limit", numeric=True),
    )
    found = result.heat
    if found is None:
        return Table(title="The motor as bodies that warm", columns=columns, rows=())
    rows = tuple(
        (b.name, show(b.heat_capacity / 1e3, "kJ/K"), show(b.rated, "degC"), show(b.limit, "degC"))
        for b in found.bodies
    )
    note = (
        f"Ambient {show(found.ambient, 'degC')}; losses at rated load {show(found.rated_loss, 'W')}; the winding may "
        f"have {show(found.permitted, 'degC')} in steady duty. Estimates stand with their ranges under what was not given."
    )
    return Table(title="The motor as bodies that warm", columns=columns, rows=rows, note=note)


def starts(result: StudyResult) -> Table:
    """Starts in a row, rest and starts an hour of each way, beside what the published table permits."""
    columns = (
        Column(title="Way"),
        *(
            Column(title=words, numeric=True)
            for words in (
                "Rotor rise", "In bank", "Cold", "Hot", "Rest still", "Rest running", "Balance, per hour", "Network, per hour",
            )
        ),
    )  # fmt: skip
    rows, note = [], ""
    for way in ranked(result):
        heat = way.heat
        if heat is None:
            continue
        rows.append(
            (
                way.title,
                show(heat.rotor_rise, "K"),
                show(heat.resistor_heat, "J") if heat.resistor_heat else MISSING,
                _count(heat.cold_starts, heat.most),
                _count(heat.hot_starts, heat.most),
                _wait(heat.rest_standing),
                _wait(heat.rest_running),
                show(heat.balance, ""),
                show(heat.rate, ""),
            )
        )
        note = starts_note(heat)
    return Table(title="Starts in a row and starts an hour", columns=columns, rows=tuple(rows), note=note)


def starts_note(heat: WayHeat) -> str:
    """What the columns mean, and the published table."""
    return (
        "Nominal case, motor only. In bank: heat of one start in resistors on the rings. Cold, hot: starts in a row from "
        f"there until a body is at its limit, {show(heat.rest, 's')} still between them. "
        "Rest after one start from rated temperature before the next. Balance: cooling at rated load without running heat; "
        "network: rated load between the starts. The contactor, the starter and the maker's word may allow fewer. "
        f"Published: {heat.table_cold} from cold or {heat.table_hot} from hot ({heat.table_note.rstrip('.')})."
    )


def duties(result: StudyResult) -> Table:
    """Every duty with the starts of each way; duties without starts are the same for all ways and stand once."""
    columns = (
        Column(title="Duty"),
        Column(title="Type"),
        Column(title="Way"),
        Column(title="Winding, highest", numeric=True),
        Column(title="Winding, mean", numeric=True),
        Column(title="Borne"),
    )
    rows: list[tuple[str, ...]] = []
    seen: set[tuple[str, float]] = set()
    for way in ranked(result):
        for duty in () if way.heat is None else way.heat.duties:
            if (duty.label, duty.highest) in seen:
                continue
            seen.add((duty.label, duty.highest))
            name = way.title if duty.duty_type in ("S4", "S5", "S7") else "every way"
            rows.append(
                (duty.label, duty.duty_type, name, show(duty.highest, "degC"), show(duty.mean, "degC"),
                 "yes" if duty.within else "no")
            )  # fmt: skip
    limit = "" if result.heat is None else show(result.heat.permitted, "degC")
    note = f"Borne: the winding stays at or below {limit}, every body below its limit. Duty types as in IEC 60034-1."
    return Table(title="Duties", columns=columns, rows=tuple(sorted(rows)), note=note if rows else "")


def stall(result: StudyResult) -> Table:
    """Safe stall time against voltage at the motor's terminals."""
    columns = (
        Column(title="Terminal voltage", numeric=True),
        Column(title="From hot", numeric=True),
        Column(title="From cold", numeric=True),
    )
    found = result.heat
    if found is None:
        return Table(title="Safe stall time", columns=columns, rows=())
    curve = found.stall
    rows = tuple(
        (
            show(v, "pu"),
            _wait(float(np.interp(v, curve.voltage, curve.hot))),
            _wait(float(np.interp(v, curve.voltage, curve.cold))),
        )
        for v in STALL_AT
    )
    note = (
        "Until the first body is at its limit, without the fan; voltage of rated. A maker's stall time goes before it."
    )
    return Table(title="Safe stall time", columns=columns, rows=rows, note=note)


def own_fan(result: StudyResult) -> Table:
    """Steady torque at low speed with the fan on the shaft and with one of its own."""
    columns = (
        Column(title="Speed", numeric=True),
        Column(title="Own fan", numeric=True),
        Column(title="Forced cooling", numeric=True),
    )
    found = result.heat
    if found is None:
        return Table(title="Steady torque at low speed", columns=columns, rows=())
    fan = found.fan
    rows = tuple(
        (
            show(n, "pu"),
            show(float(np.interp(n, fan.speed, fan.own_fan)), "pu"),
            show(float(np.interp(n, fan.speed, fan.forced)), "pu"),
        )
        for n in FAN_AT
    )
    note = (
        "Of rated torque, at the rise of rated load, flux constant; core and friction loss held at rated, which leaves room "
        "for the harmonics of a converter; a motor with its own fan (common practice, no source)."
    )
    return Table(title="Steady torque at low speed", columns=columns, rows=rows, note=note)


def all_heat(result: StudyResult) -> tuple[tuple[str, Table], ...]:
    """Every table of heat under its key."""
    found = (("bodies", bodies), ("starts", starts), ("stall", stall), ("duties", duties), ("own_fan", own_fan))
    return tuple((f"heat_{key}", make(result)) for key, make in found) if result.heat is not None else ()


def _count(count: int, most: int) -> str:
    return f"{most}+" if count >= most else str(count)


def _wait(seconds: float) -> str:
    if not isfinite(seconds):
        return MISSING
    return "none" if seconds == 0 else show(seconds, "s")
