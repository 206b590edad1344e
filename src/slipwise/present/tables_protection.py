"""Tables of protection: classes, stalls, trips, a lost line, contactors, orders, and the sheet for the panel."""

from __future__ import annotations

from math import isfinite

from slipwise.quantity.show import MISSING, show
from slipwise.results.protection import Protection, RelayCheck, Stall, StarterDuty
from slipwise.results.protection_devices import BankOrder
from slipwise.results.settings_sheet import DialRow
from slipwise.results.study import WayResult
from slipwise.results.table import Column, Table

SAVES = {True: "yes", False: "no", None: "not known"}
LETS = {"hot": "hot", "cold": "cold only"}
NEVER = "never"
AS_FOUND = "." * 14


def relay(protection: Protection) -> Table:
    """One row for each trip class and place: heat during the start, and seconds to trip when stalled."""
    columns = (
        Column(title="Class, in the"),
        Column(title="Set to", numeric=True),
        Column(title="Heat, cold", numeric=True),
        Column(title="Heat, hot", numeric=True),
        Column(title="Worst, cold", numeric=True),
        Column(title="Starts from"),
        Column(title="Trips, cold", numeric=True),
        Column(title="Trips, hot", numeric=True),
        Column(title="Saves it"),
    )
    rows = tuple(_class_cells(check, _mark(check, protection)) for check in protection.checks)
    note = (
        "Heat: greatest during the nominal start and, from cold, the slowest other one, of that at which the quickest relay "
        "of the class trips. Trips: when the slowest relay of the class trips at standstill and rated voltage. Source of "
        f"the classes: {protection.source}."
    )
    if any(check.saves is None for check in protection.checks):
        note += " Not known: no stall time is given."
    return Table(title="Trip classes", columns=columns, rows=rows, note=note)


def _mark(check: RelayCheck, protection: Protection) -> str:
    if check == protection.judged:
        return ", as set"
    if check == protection.proposed:
        return ", proposed"
    return ", with a speed switch" if check == protection.with_switch else ""


def _class_cells(check: RelayCheck, mark: str) -> tuple[str, ...]:
    return (
        f"{check.trip_class}, {check.place}{mark}",
        show(check.setting, "A"),
        show(check.cold, "pu"),
        show(check.hot, "pu"),
        show(check.worst, "pu"),
        LETS.get(check.lets_start, "none"),
        _time(check.stalled_cold),
        _time(check.stalled_hot),
        SAVES[check.saves],
    )


def stalls(protection: Protection) -> Table:
    """Trip times against stall times where the rotor may stand still."""
    columns = (
        Column(title="Standing still"),
        Column(title="Voltage", numeric=True),
        Column(title="Line", numeric=True),
        Column(title="Winding", numeric=True),
        Column(title="Trips, cold", numeric=True),
        Column(title="Borne, cold", numeric=True),
        Column(title="Trips, hot", numeric=True),
        Column(title="Borne, hot", numeric=True),
        Column(title="Gap", numeric=True),
    )
    rows = tuple(_stall_cells(stall) for stall in protection.stalls)
    note = (
        "Slowest relay of the class as set or proposed. Voltage at the motor, of rated. Borne: stall time of the motor, with "
        "the inverse square of the winding's current. Gap: the lesser of what is left from cold and from hot."
    )
    return Table(title="Locked-rotor gap", columns=columns, rows=rows, note=note if rows else "")


def _stall_cells(stall: Stall) -> tuple[str, ...]:
    pairs = ((stall.trip_cold, stall.limit_cold), (stall.trip_hot, stall.limit_hot))
    gaps = [limit - trip for trip, limit in pairs if limit is not None]
    return (
        stall.label,
        show(stall.voltage, "pu"),
        show(stall.line_current, "A"),
        show(stall.winding_current, "A"),
        _time(stall.trip_cold),
        show(stall.limit_cold, "s"),
        _time(stall.trip_hot),
        show(stall.limit_hot, "s"),
        (show(min(gaps), "s") if isfinite(min(gaps)) else "none") if gaps else MISSING,
    )


def trips(protection: Protection) -> Table:
    """The instantaneous trip and the speed switch."""
    rows: list[tuple[str, str]] = []
    trip, switch = protection.instantaneous, protection.speed_switch
    if trip is not None:
        word = "as set" if trip.given else "proposed"
        rows += [
            (f"Instantaneous trip, {word}, rms", show(trip.setting, "A")),
            ("Highest peak of the current", f"{show(trip.peak, 'A')} ({trip.basis})"),
            ("Least setting that lets it pass", show(trip.least, "A")),
            ("Least fault at the motor, two phases", show(trip.fault, "A")),
            ("Greatest setting that answers to it", show(trip.most, "A")),
        ]
    if switch is not None:
        word = "as set" if switch.given else "proposed"
        rows += [
            (f"Speed switch, {word}", f"{show(switch.speed, 'rad/s')}, {show(switch.delay, 's')} after switching on"),
            ("Slowest start passes that speed after", _time(switch.reached)),
            ("Longest delay that saves the stalled motor", show(switch.longest, "s")),
        ]
    columns = (Column(title="Trip"), Column(title="Value"))
    note = f"Trip tolerance {show(trip.tolerance, 'pu')} either way." if trip is not None else ""
    return Table(title="Instantaneous trip and speed switch", columns=columns, rows=tuple(rows), note=note)


def lost_line(protection: Protection) -> Table:
    """One line open while running: currents and when the relay trips."""
    columns = (
        Column(title="Load", numeric=True),
        Column(title="Motor"),
        Column(title="Line", numeric=True),
        Column(title="Winding", numeric=True),
        Column(title="Of rated", numeric=True),
        Column(title="Of setting", numeric=True),
        Column(title="Trips", numeric=True),
        Column(title="With detection", numeric=True),
    )
    rows = tuple(
        (
            show(row.load, "pu"),
            f"runs, slip {show(row.slip, 'pu')}" if row.runs else "stalls",
            show(row.line_current, "A"),
            show(row.winding_current, "A"),
            show(row.winding_share, "pu"),
            show(row.multiple, "pu"),
            _time(row.plain),
            _time(row.sensitive),
        )
        for row in protection.phase_loss
    )
    note = (
        "One line open at rated voltage, load torque of rated held. Winding: the hottest phase, of what it carries at rated "
        "load. Trips: slowest relay of the class without and with phase-loss detection, warm from the load before, by the "
        "limits of IEC 60947-4-1, Tables 3 and 4 (from memory); electronic relays that watch for it trip in seconds. Where "
        "it never trips, mend the line: a relay set higher sees even less."
    )
    return Table(title="One line lost while running", columns=columns, rows=rows, note=note if rows else "")


def contactors(protection: Protection) -> Table:
    """What every contactor carries, makes and breaks, and the rating it needs."""
    columns = (
        Column(title="Contactor"),
        Column(title="Category"),
        Column(title="Carries", numeric=True),
        Column(title="For"),
        Column(title="Makes", numeric=True),
        Column(title="Breaks", numeric=True),
        Column(title="Needs at least", numeric=True),
        Column(title="Asked for by"),
    )
    rows = tuple(
        (
            duty.label,
            duty.category,
            show(duty.carries, "A") if duty.seconds is None else MISSING,
            "stays closed" if duty.seconds is None else show(duty.seconds, "s"),
            show(duty.makes, "A") if duty.makes else MISSING,
            show(duty.breaks, "A") if duty.breaks else MISSING,
            show(duty.needed, "A"),
            duty.bound,
        )
        for duty in protection.contactors
    )
    note = (
        "Strong supply, rms without the first cycles. Makes, breaks: in every start; stopping breaks the running current "
        "besides. Needs: rated operational current in its category, IEC 60947-4-1, Table 7 (from memory); a contactor "
        "that breaks more than its rating in every start wears faster. Coordination with the short-circuit device is the "
        "maker's."
    )
    return Table(title="Contactors", columns=columns, rows=rows, note=note if rows else "")


def orders(protection: Protection) -> Table:
    """Order lines of a soft starter and of an autotransformer, and the voltage of the coils."""
    rows: list[tuple[str, str]] = []
    soft, auto, coil = protection.soft_starter, protection.autotransformer, protection.coil
    if soft is not None:
        rows += [
            ("Soft starter, rating", soft.code),
            ("Current while starting", f"{show(soft.ratio * soft.current, 'A')}, {show(soft.ratio, '')} times rated"),
            ("For as long as", show(soft.seconds, "s")),
            ("Starts an hour", MISSING if soft.starts_per_hour is None else show(soft.starts_per_hour, "")),
        ]
        if soft.used is not None:
            rows.append(("Heat used of the stated rating", show(soft.used, "pu")))
    if auto is not None:
        rows += [
            ("Autotransformer, tap", show(auto.tap, "pu")),
            ("Throughput at switching on", show(auto.power, "VA")),
            ("Through its core", show(auto.type_power, "VA")),
            ("Current at the tap, in the line, in the star point",
             f"{show(auto.motor_current, 'A')}, {show(auto.line_current, 'A')}, {show(auto.star_current, 'A')}"),
            ("On the tap, slowest case", show(auto.seconds, "s")),
            ("Current squared over time at the tap", show(auto.current_squared_time, "A2 s")),
        ]  # fmt: skip
    if coil is not None:
        rows.append(("Coils fed from", coil.busbar))
        for case, holding, closing in zip(coil.cases, coil.holding, coil.closing, strict=True):
            words = f"{show(holding, 'pu')} staying closed, {show(closing, 'pu')} when one has to close"
            rows.append((f"Lowest voltage there, {case} case", words))
    columns = (Column(title="For the order"), Column(title="Value"))
    return Table(title="Starter and coils", columns=columns, rows=tuple(rows))


def bank(order: BankOrder | None) -> Table:
    """The order sheet of a resistor bank, section by section."""
    columns = (
        Column(title="Section"),
        Column(title="A phase", numeric=True),
        Column(title="Heat a start", numeric=True),
        Column(title="In circuit", numeric=True),
        Column(title="Rms", numeric=True),
        Column(title="Greatest", numeric=True),
    )
    if order is None:
        return Table(title="Resistor bank", columns=columns, rows=())
    rows = [
        (
            f"{number}, {section.label}",
            show(section.ohms, "ohm"),
            show(section.energy, "J"),
            show(section.seconds, "s"),
            show(section.rms, "A"),
            show(section.greatest, "A"),
        )
        for number, section in enumerate(order.sections, start=1)
    ]
    ohms = sum(section.ohms for section in order.sections)
    rows.append(("whole bank", show(ohms, "ohm"), show(order.energy, "J"), "", "", ""))
    return Table(title=f"Resistor bank in the {order.where}", columns=columns, rows=tuple(rows), note=_bank_note(order))


def _bank_note(order: BankOrder) -> str:
    hourly = "" if order.mean_power is None else f" Mean power at {show(order.starts_per_hour, '')} starts an hour "
    power = "" if order.mean_power is None else f"{show(order.mean_power, 'W')}."
    word = "as stated" if order.given else "at least, for these starts"
    rest = f"{show(order.rest, 's')} between" if order.rest else "without rest"
    reached = ", ".join(show(t, "degC") for t in order.temperatures)
    return (
        f"Star, {order.case} case, heat of all three phases.{hourly}{power} As a body: heat capacity "
        f"{show(order.heat_capacity, 'J/K')} {word}, cooling time constant {show(order.time_constant, 's')}; {order.starts} "
        f"starts in a row, {rest}, from {show(order.ambient, 'degC')}: {reached}; limit {show(order.limit, 'degC')}. "
        f"Stalled with the whole bank in circuit it is there after {_time(order.stalled)}."
    )


def duty(found: StarterDuty) -> Table:
    """One start as contactors, thyristors, taps and cables see it."""
    starts = MISSING if found.starts_per_hour is None else show(found.starts_per_hour, "")
    rows = (
        ("Line current over the start, rms", show(found.rms, "A")),
        ("Greatest rms line current", show(found.greatest, "A")),
        ("Length of the start", show(found.seconds, "s")),
        ("Integral of line current squared", show(found.current_squared_time, "A2 s")),
        ("Starts an hour asked for", starts),
    )
    columns = (Column(title="Duty of the starter"), Column(title="Value", numeric=True))
    return Table(title="", columns=columns, rows=rows)


def dials(way: WayResult) -> Table:
    """Every dial with its value, how it is proved, and a place to write what was found."""
    columns = (
        Column(title="Device"),
        Column(title="Dial"),
        Column(title="Set to", numeric=True),
        Column(title="Proved by"),
        Column(title="As found"),
    )
    sheet = None if way.protection is None else way.protection.sheet
    if sheet is None:
        return Table(title="Settings", columns=columns, rows=())
    rows = tuple((row.device, row.dial, dial_text(row), row.check, AS_FOUND) for row in sheet.dials)
    note = "Values with a tilde were assumed or left open by the study file: settle them first."
    return Table(title=f"Settings: {way.title}", columns=columns, rows=rows, note=note)


def dial_text(row: DialRow) -> str:
    """The value of a dial as shown; assumed ones with a tilde."""
    text = row.text or show(row.value, row.unit)
    return f"~ {text}" if row.origin == "assumed" else text


def expected(way: WayResult) -> Table:
    """What to measure at commissioning, with the band of the cases."""
    columns = (
        Column(title="At the first start"),
        Column(title="Expected", numeric=True),
        Column(title="From", numeric=True),
        Column(title="To", numeric=True),
        Column(title="As found"),
    )
    sheet = None if way.protection is None else way.protection.sheet
    if sheet is None:
        return Table(title="To be measured", columns=columns, rows=())
    rows = tuple(
        (row.quantity, show(row.value, row.unit), show(row.low, row.unit), show(row.high, row.unit), AS_FOUND)
        for row in sheet.expected
    )
    note = "Expected: nominal case. From, to: over the cases of supply, tolerance and temperature."
    return Table(title="To be measured", columns=columns, rows=rows, note=note)


def all_protection(way: WayResult) -> tuple[tuple[str, Table], ...]:
    """Every table of one way's protection under its key; empty ones are left to the caller."""
    found = way.protection
    if found is None:
        return ()
    return (
        ("dials", dials(way)),
        ("expected", expected(way)),
        ("relay", relay(found)),
        ("stalls", stalls(found)),
        ("trips", trips(found)),
        ("lost_line", lost_line(found)),
        ("contactors", contactors(found)),
        ("orders", orders(found)),
        ("bank", bank(found.bank)),
    )


def protect_text(way: WayResult) -> str:
    """The protection in one line: class, setting, instantaneous trip, speed switch."""
    found = way.protection
    if found is None or found.relay is None:
        return ""
    parts = [f"class {found.relay.trip_class} at {show(found.relay.setting, 'A')} in the {found.relay.place}"]
    if found.instantaneous is not None:
        parts.append(f"instantaneous {show(found.instantaneous.setting, 'A')}")
    switch = found.speed_switch
    if switch is not None and (switch.given or (switch.saves and switch.lets_start)):
        parts.append(f"speed switch {show(switch.speed, 'rad/s')} after {show(switch.delay, 's')}")
    return ", ".join(parts)


def _time(seconds: float) -> str:
    return show(seconds, "s") if isfinite(seconds) else NEVER
