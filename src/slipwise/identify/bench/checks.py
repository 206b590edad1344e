"""Readings no machine can give, refused by name before anything is computed from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import pi, sqrt
from typing import Any

from slipwise.identify.bench.numbers import Leaf
from slipwise.identify.bench.records import Bench
from slipwise.identify.bench.reduce import Plan
from slipwise.identify.bench.sheet import Sheet
from slipwise.model.machine.temperature import resistance_factor
from slipwise.quantity.errors import Fault, InputError
from slipwise.quantity.show import show

PREFIX = "motor.readings"


def fault(key: str, value: object, reason: str, remedy: str) -> Fault:
    return Fault(field=f"{PREFIX}.{key}", value=str(value), reason=reason, remedy=remedy)


def check_readings(bench: Bench, found: Mapping[str, Leaf]) -> None:
    """Each reading against what it implies by itself.

    Raises:
        InputError: all that cannot be, each with its numbers.
    """
    faults = [*_present(bench)]
    if not faults:
        faults = [*_positive(found), *_temperatures(found)]
    if not faults:
        r1 = terminal_r1(bench)
        faults = [*_no_load(bench, found, r1), *_locked(bench, found, r1), *_load(bench, found)]
    if faults:
        raise InputError(*faults)


def _present(bench: Bench) -> Iterator[Fault]:
    if not bench.no_load:
        yield fault("no_load", "", "there is no no-load reading", "add [[motor.readings.no_load]]")
    if not bench.locked:
        yield fault("locked_rotor", "", "there is no locked-rotor reading", "add [[motor.readings.locked_rotor]]")
    dc = bench.dc
    if (dc.resistance is None) == (dc.voltage is None or dc.current is None):
        reason = "the resistance is to be known from one of two: an ohmmeter, or direct voltage and current"
        yield fault("dc", "", reason, 'write resistance = "1.2 ohm", or voltage and current')


def _positive(found: Mapping[str, Leaf]) -> Iterator[Fault]:
    for key, leaf in found.items():
        if leaf.unit not in {"degC", ""} and leaf.known and not 0 < leaf.value < 1e12:
            yield fault(key, show(leaf.value, leaf.unit), "it must be above zero", "look at the reading again")


def _temperatures(found: Mapping[str, Leaf]) -> Iterator[Fault]:
    for key, leaf in found.items():
        if leaf.unit == "degC" and not -60 < leaf.value < 400:
            yield fault(key, show(leaf.value, "degC"), "no winding is at this temperature", "give it in degC")


def terminal_r1(bench: Bench) -> float:
    """R1 of the star equivalent of the running connection at the temperature of the dc reading. [ohm]"""
    dc = bench.dc
    read = dc.resistance if dc.resistance is not None else (dc.voltage or 0.0) / (dc.current or 1.0)
    winding = read if dc.between == "one winding" else read / 2 if bench.tested == "star" else 1.5 * read
    return winding / 3 if bench.connection == "delta" else winding


def _r1(bench: Bench, found: Mapping[str, Leaf], test: str, r1: float) -> float:
    cold, warm = found["dc.temperature"].value, found[f"{test}.temperature"].value
    return r1 * resistance_factor(cold, warm, bench.stator_conductor)


def _row(found: Mapping[str, Leaf], test: str) -> tuple[float, float, float]:
    volts, amps, power = (found[f"{test}.{name}"].value for name in ("voltage", "current", "power"))
    return volts, amps, power


def _power(test: str, words: str, row: tuple[float, float, float], r1: float) -> Iterator[Fault]:
    """Power above apparent power, or below the stator's own copper loss."""
    volts, amps, power = row
    apparent, copper = sqrt(3) * volts * amps, 3 * amps**2 * r1
    if power > apparent:
        reason = f"{words} power is more than the apparent power: sqrt(3) x {show(volts, 'V')} x {show(amps, 'A')} = "
        reason += show(apparent, "VA")
        yield fault(
            f"{test}.power", show(power, "W"), reason, "check the wattmeter range, and line against phase values"
        )
    if power <= copper:
        reason = f"{words} power is less than the stator copper loss at this current: 3 x ({show(amps, 'A')})² x "
        reason += f"{show(r1, 'ohm')} = {show(copper, 'W')}"
        remedy = "check the dc resistance and its connection, the wattmeter signs, and the current range"
        yield fault(f"{test}.power", show(power, "W"), reason, remedy)


def _no_load(bench: Bench, found: Mapping[str, Leaf], r1: float) -> Iterator[Fault]:
    for place in range(len(bench.no_load)):
        test = f"no_load[{place}]"
        yield from _power(test, "no-load", _row(found, test), _r1(bench, found, test, r1))


def _locked(bench: Bench, found: Mapping[str, Leaf], r1: float) -> Iterator[Fault]:
    idle = min(
        found[f"no_load[{i}].voltage"].value / found[f"no_load[{i}].current"].value for i in range(len(bench.no_load))
    )
    for place in range(len(bench.locked)):
        test = f"locked_rotor[{place}]"
        row = _row(found, test)
        yield from _power(test, "locked-rotor", row, _r1(bench, found, test, r1))
        frequency = found[f"{test}.frequency"].value
        if not 0.05 * bench.frequency <= frequency <= 1.2 * bench.frequency:
            reason = f"the test frequency is far from rated, {show(bench.frequency, 'Hz')}"
            yield fault(f"{test}.frequency", show(frequency, "Hz"), reason, "a quarter of rated, or rated, is usual")
        if row[0] / row[1] * min(bench.frequency / frequency, 1.0) >= idle:
            reason = "the locked machine takes no more current for its voltage than the idle one"
            yield fault(
                f"{test}.current", show(row[1], "A"), reason, "check that the rotor was held, and which test is which"
            )


def _load(bench: Bench, found: Mapping[str, Leaf]) -> Iterator[Fault]:
    sync = 4 * pi * bench.frequency / bench.poles
    for place in range(len(bench.loads)):
        test = f"load[{place}]"
        volts, amps, power = _row(found, test)
        speed, torque = found[f"{test}.speed"].value, found[f"{test}.torque"].value
        apparent = sqrt(3) * volts * amps
        if power > apparent:
            reason = f"load power is more than the apparent power, {show(apparent, 'VA')}"
            yield fault(
                f"{test}.power", show(power, "W"), reason, "check the wattmeter range, and line against phase values"
            )
        if speed >= sync:
            reason = f"under load it cannot run at or above synchronous speed, {show(sync, 'rad/s')}"
            yield fault(f"{test}.speed", show(speed, "rad/s"), reason, "check poles, frequency and the speed reading")
        elif torque * speed >= power * speed / sync:
            left = show(power * speed / sync, "W")
            reason = f"the shaft gives {show(torque * speed, 'W')}, more than the input less its slip loss, {left}"
            yield fault(f"{test}.torque", show(torque, "N m"), reason, "check the torque arm, its zero and its unit")


NAMES: tuple[tuple[str, str, str], ...] = (
    ("R2", "locked_rotor", "the rotor resistance comes out as {}: the locked power is no more than the stator takes"),
    ("X2", "locked_rotor", "the leakage comes out as {}: the locked voltage is no more than resistance accounts for"),
    ("Xm", "no_load", "the magnetising reactance comes out as {}: the no-load reactive power is less than the leakage takes"),
    ("P_fw", "no_load", "friction and windage come out as {}: the line through the readings meets zero voltage below zero"),
    ("Rfe", "no_load", "the core-loss resistance comes out as {}: the loss does not rise with voltage squared"),
)  # fmt: skip


def check_circuit(choice: Plan, sheet: Sheet) -> None:
    """The circuit that came out: nothing in it may be zero, negative or without a value.

    Raises:
        InputError: names the value and the test it comes from.
    """
    faults = []
    values: dict[str, Any] = sheet.values
    for symbol, test, words in NAMES:
        value = float(values[symbol])
        if (symbol != "Rfe" or choice.core) and not 0 < value < 1e11:
            place = choice.locked if test == "locked_rotor" else choice.reference
            shown = show(value, "W" if symbol == "P_fw" else "ohm")
            remedy = "check these readings against each other, their signs, ranges and connection"
            faults.append(fault(f"{test}[{place}]", "", words.format(shown), remedy))
    if faults:
        raise InputError(*faults[:1])  # the first: the others follow from it
