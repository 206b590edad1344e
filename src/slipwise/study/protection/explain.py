"""Why the numbers of protection are what they are: trip times, settings, orders."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite, sqrt

from slipwise.limits.instantaneous import LEAST, MOST, TWO_PHASE
from slipwise.limits.overload_relay import TRIP_TIME, ULTIMATE, class_named, time_constant
from slipwise.limits.resistor_bank import HEAT_CAPACITY, MEAN_POWER
from slipwise.limits.starter_order import RECTANGLE
from slipwise.results.protection import Protection
from slipwise.results.protection_devices import BankOrder, InstantaneousTrip, SoftStarterDuty
from slipwise.results.study import Explanation, WayResult
from slipwise.study.cases import WORST, cases_of
from slipwise.study.explain import Speaker
from slipwise.study.model import Study


def explain_protection(study: Study, ways: Sequence[WayResult]) -> tuple[Explanation, ...]:
    """Explanations named `way.protection.number`, of every way that starts."""
    say = Speaker(study.inputs)
    volts = cases_of(study)[WORST].drive.supply.voltage
    return tuple(row for way in ways if way.protection is not None for row in _way(say, volts, way.key, way.protection))


def _way(say: Speaker, volts: float, key: str, found: Protection) -> Iterator[Explanation]:
    name = f"{key}.protection"
    relay = found.relay
    if relay is not None and found.stalls and isfinite(found.stalls[0].trip_cold):
        at = found.stalls[0]
        current = at.winding_current if relay.place == "winding" else at.line_current
        slowest = time_constant(class_named(relay.trip_class).high)
        inputs = {
            "tau": (f"slowest relay of class {relay.trip_class}", slowest),
            "m": (f"standstill current in the {relay.place} per setting", current / relay.setting),
            "m_u": ("ultimate trip current per setting, between 1.05 and 1.2", ULTIMATE),
        }
        yield say.by(TRIP_TIME, f"{name}.stall_trip_cold", inputs, "rated voltage, running connection, from cold")
    if found.instantaneous is not None:
        yield from _trip(say, volts, name, found.instantaneous)
    if found.soft_starter is not None:
        yield _rectangle(say, name, found.soft_starter)
    if found.bank is not None:
        yield from _bank(say, name, found.bank)


def _trip(say: Speaker, volts: float, name: str, trip: InstantaneousTrip) -> Iterator[Explanation]:
    off = ("tolerance of the trip", trip.tolerance)
    peak = {"i_p": ("highest peak of the line current", trip.peak), "d": off}
    yield say.by(LEAST, f"{name}.instantaneous_least", peak, trip.basis)
    if isfinite(trip.fault):
        impedance = TWO_PHASE * volts / sqrt(3) / trip.fault
        fault = {
            "U": ("source voltage of the weak supply", volts),
            "Z": ("impedance to the motor's terminals that gives the same fault current", impedance),
            "d": off,
        }
        yield say.by(MOST, f"{name}.instantaneous_most", fault, "base loads held at their admittance before the fault")


def _rectangle(say: Speaker, name: str, duty: SoftStarterDuty) -> Explanation:
    squared = duty.seconds * (duty.ratio * duty.current) ** 2
    inputs = {
        "I2t": ("integral of the motor current squared through the thyristors", squared),
        "X": ("greatest current per rated current", duty.ratio),
        "I_e": ("motor.rated_current", duty.current),
    }
    return say.by(RECTANGLE, f"{name}.starter_seconds", inputs, "strong case")


def _bank(say: Speaker, name: str, bank: BankOrder) -> Iterator[Explanation]:
    energy = ("heat of one start in the bank", bank.energy)
    if bank.starts_per_hour is not None:
        hourly = {"W": energy, "z": ("starting.starts_per_hour", bank.starts_per_hour)}
        yield say.by(MEAN_POWER, f"{name}.bank_power", hourly, f"{bank.case} case")
    if not bank.given:
        share = bank.heat_capacity * bank.rise / bank.energy
        inputs = {
            "W": energy,
            "q": (f"rise of {bank.starts} starts in a row per rise of one", share),
            "dtheta": ("protection.resistor_bank.rise", bank.rise),
        }
        how = f"{bank.case} case, cooling time constant {bank.time_constant:g} s"
        yield say.by(HEAT_CAPACITY, f"{name}.bank_heat_capacity", inputs, how)
