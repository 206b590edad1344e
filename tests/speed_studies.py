"""Small studies of speed control that several tests share. Every value is invented (Tarnhill) unless a test says otherwise."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from slipwise.methods.speed.way import Site, SpeedTask
from slipwise.model.load.process import Centrifugal
from slipwise.model.load.system import Process, speed_for, torque_at
from slipwise.results.criteria import Criterion, Status, Verdict
from slipwise.results.speed import DutyPoint, Harmonic, Loss, OperatingPoint, SpeedWayResult, Year
from slipwise.results.wiring import Wiring
from slipwise.solve.plan import Drive
from slipwise.study.model import Study
from slipwise.study.request import WayRequest
from slipwise.study.speed.model import Span, SpeedStudy, Tariff
from tests.studies import motor, path, study


def process(kind: str = "pump", static_head: float = 0.5, **changes: float) -> Process:
    """A machine of 90 % of the pump motor's rated torque at its rated speed."""
    rating = motor().rating
    shape = {"shut_torque": 0.4, "shut_head": 1.25, **changes}
    machine = Centrifugal(torque=0.9 * rating.torque, speed=rating.speed, inertia=0.0, **shape)
    return Process(kind=kind, machine=machine, static_head=static_head)


def by_flow(flow: float, on: Process, hours: float = 1000.0) -> DutyPoint:
    """A demand by flow, as a study file makes it."""
    n = float(speed_for(on, flow))
    speed, torque = n * on.machine.speed, float(torque_at(on, n, flow))
    return DutyPoint(name=f"{flow:g}", speed=speed, torque=torque, hours=hours, flow=flow, useful=speed * torque)


def by_speed(speed: float, torque: float, hours: float = 1000.0) -> DutyPoint:
    """A demand by speed (rad/s) and torque (N m)."""
    name = f"{speed:.0f} rad/s"
    return DutyPoint(name=name, speed=speed, torque=torque, hours=hours, useful=speed * torque)


def task(on: Process | None, *duty: DutyPoint, supply: Any = None) -> SpeedTask:
    """The pump motor on `on`; the load keeps its own inertia out of it."""
    plain = study()
    load = plain.load if on is None else replace(on.load(), inertia=1.0)
    drive = Drive(motor=plain.motor, load=load, supply=supply or path())
    return SpeedTask(drive=drive, duty=duty, site=Site(), process=on)


def exact(value: float) -> Span:
    """A figure without a range."""
    return Span(value=value, low=value, high=value)


def tariff(**investment: Span) -> Tariff:
    """0.10 to 0.20 around 0.15 a kWh, 0.3 kg of CO2, purchases over ten years."""
    price = Span(value=0.15, low=0.10, high=0.20)
    return Tariff(currency="EUR", price=price, co2=0.3, years=exact(10.0), investment=investment)


def speed_study(on: Process | None, duty: tuple[DutyPoint, ...], *ways: str, **changes: Any) -> Study:
    """A study of speed control alone; fields of its speed part may be changed by name."""
    plain = SpeedStudy(
        ways=tuple(WayRequest(key=key, given={}) for key in ways),
        order=ways,
        duty=duty,
        process=on,
        site=Site(),
        overload=1.5,
        coupling_point=0,
        power_factor=None,
        tariff=tariff(),
    )
    return replace(study(), ways=(), order=(), speed=replace(plain, **changes))


def point(
    name: str, line_power: float, hours: float, *losses: Loss, harmonics: tuple[Harmonic, ...] = (), **changes: Any
) -> OperatingPoint:
    """A made-up operating point of which only the named figures matter."""
    values: dict[str, Any] = {
        "duty": DutyPoint(name=name, speed=100.0, torque=100.0, hours=hours),
        "feasible": True,
        "reason": "",
        "settings": (),
        "speed": 100.0,
        "torque": 100.0,
        "slip": 0.02,
        "stability": 1.0,
        "frequency": 50.0,
        "flux": 1.0,
        "losses": losses,
        "line_power": line_power,
        "shaft_power": line_power - sum(loss.power for loss in losses),
        "motor_efficiency": 0.9,
        "efficiency": 0.9,
        "line_current": 50.0,
        "motor_current": 50.0,
        "displacement_factor": 0.9,
        "power_factor": 0.9,
        "harmonics": harmonics,
        "distortion": 0.0,
        "winding_heat": 0.5,
        **changes,
    }
    return OperatingPoint(**values)


def year(energy: float, *, within: float = 0.0, cost: float | None = None, buy: Span | None = None) -> Year:
    """A made-up year: energy in kWh and its range per unit of it."""
    return Year(
        energy=energy * 3.6e6,
        energy_low=energy * (1 - within) * 3.6e6,
        energy_high=energy * (1 + within) * 3.6e6,
        cost=cost,
        currency="EUR",
        carbon=None,
        payback=None,
        payback_low=None,
        payback_high=None,
        hours_infeasible=0.0,
        investment=None if buy is None else buy.value,
        investment_low=None if buy is None else buy.low,
        investment_high=None if buy is None else buy.high,
        total=None if buy is None or cost is None else cost + buy.value / 10,
    )


def way(key: str, status: Status, found: Year, *criteria: Criterion) -> SpeedWayResult:
    """A made-up way with a verdict and a year."""
    return SpeedWayResult(
        key=key,
        title=key.capitalize(),
        settings=(),
        designed="",
        points=(),
        families=(),
        envelope=None,
        year=found,
        verdict=Verdict(status=status, binding=None, criteria=criteria, reason=f"reason of {key}"),
        started_by=(),
        ratings=(),
        wiring=Wiring(devices=(), stages=(), closed=()),
    )
