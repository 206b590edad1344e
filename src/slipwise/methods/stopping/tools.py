"""What the ways of stopping share: a quick stop for a design, the circuit of a motor on the line, parts in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from slipwise.model.machine.circuit import Circuit
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.results.setting import Setting
from slipwise.results.start import RunUp
from slipwise.results.wiring import Device
from slipwise.solve.plan import Drive, Plan, Stage
from slipwise.solve.stop import RUNNING as ON_LINE
from slipwise.solve.stop import running_speed, stop, stop_time

SECTION = "stopping"
RUNNING: Stage = ON_LINE
DESIGN = 1e-6  # tolerance of a step of the stops tried for a design: good to 1e-4 of the time
LONGEST = 900.0  # s, followed for a design


def tried(plan: Plan, drive: Drive, running: Stage = RUNNING) -> RunUp:
    """The stop on this drive, quick."""
    return stop(plan, drive, speed=running_speed(drive, running), relative=DESIGN, max_time=LONGEST)


def unsaturated(drive: Drive) -> Drive:
    """The drive with constant reactances: enough for a design near the running slip, and many times as quick to try."""
    circuit = drive.motor.circuit
    if circuit is None or (circuit.main_saturation is None and circuit.leakage_saturation is None):
        return drive
    plain = replace(circuit, main_saturation=None, leakage_saturation=None)
    return replace(drive, motor=replace(drive.motor, circuit=plain))


def seconds(plan: Plan, drive: Drive, running: Stage = RUNNING) -> float | None:
    """Stop time of a plan, quick; None when it does not stop. [s]"""
    return stop_time(tried(plan, drive, running), drive.motor.rating.synchronous_speed)


def require_circuit(way: str, drive: Drive, why: str) -> Circuit:
    """The motor's circuit; InputError with `why` for a motor known by its curves only."""
    if drive.motor.circuit is None:
        raise InputError.of(
            f"{SECTION}.{way}",
            "a motor known by its curves",
            why,
            "give the equivalent circuit or the plate",
        )
    return drive.motor.circuit


def line_devices(*, overload: bool = True) -> tuple[Device, ...]:
    """Breaker, line contactor, overload relay, motor."""
    relay = (Device(kind="overload", label="F1", after="K1 line"),) if overload else ()
    return (
        Device(kind="breaker", label="Q1", after=""),
        Device(kind="contactor", label="K1 line", after="Q1"),
        *relay,
        Device(kind="motor", label="M1", after="F1" if overload else "K1 line"),
    )


def ring_devices() -> tuple[Device, ...]:
    """A resistor on the slip rings that is in while braking, and what short-circuits the rings otherwise."""
    return (
        Device(kind="resistor", label="R2", after="M1", branch="rotor", note="in while braking"),
        Device(kind="contactor", label="K3 rings", after="R2", branch="rotor", note="short-circuits the rings"),
    )


def refuse_for_a_cage(way: str, drive: Drive, given: Mapping[str, float | str]) -> None:
    """Raises InputError for a resistor on slip rings that the motor does not have."""
    if drive.motor.wound_ratio is None and float(given.get("rotor_resistance", 0.0)) > 0:
        raise InputError.of(
            f"{SECTION}.{way}.rotor_resistance",
            f"{given['rotor_resistance']} ohm",
            "a cage has no slip rings to connect it to",
            "leave it out",
        )


def part(key: str, title: str, value: float, unit: str, why: str) -> Setting:
    """One row of what to buy or to set."""
    return Setting(key=key, title=title, value=value, unit=unit, origin=Origin.DERIVED.value, why=why)
