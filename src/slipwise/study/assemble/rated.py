"""Full-load speed and current of a motor given by its circuit, where the plate does not say them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from slipwise.model.load.load import Load
from slipwise.model.machine.motor import Motor
from slipwise.model.supply.path import Busbar, Link, SupplyPath
from slipwise.quantity.show import show
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import Point, solve
from slipwise.study.assemble.book import Book

_NO_LOAD = Load(terms=(), base_speed=1.0, inertia=0.0)
_RUNNING = Stage(name="running", until=settled())
_HALVINGS = 60
_ROUNDS = 6  # the stray torque depends on the rated current that is sought; the loop contracts by orders each time


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the plate says of full load. drag: friction and windage at rated speed, W."""

    speed: bool
    current: bool
    drag: float


def at_full_load(motor: Motor, known: Known, book: Book) -> Motor:
    """The motor with its full-load speed and current as given or as the circuit gives them at rated voltage.

    Raises:
        InputError: the circuit cannot give the rated power; the fault is in the book.
    """
    for _ in range(_ROUNDS):
        rating = motor.rating
        loss = replace(motor.mechanical_loss, torque=_drag_at_synchronous(motor, known.drag))
        motor = replace(motor, mechanical_loss=loss)
        speed = rating.speed if known.speed else _speed_at_power(motor, book)
        current = rating.current if known.current else float(_at(motor, speed).line)
        motor = replace(motor, rating=replace(rating, speed=speed, current=current))
    if known.speed:
        _check_power(motor, book)
    else:
        book.derived(
            "motor.rated_speed",
            motor.rating.speed,
            "rad/s",
            "speed at which the circuit gives rated power at rated voltage",
        )
    if not known.current:
        book.derived(
            "motor.rated_current", motor.rating.current, "A", "line current of the circuit at rated speed and voltage"
        )
    return motor


def _check_power(motor: Motor, book: Book) -> None:
    """At the plate's speed the circuit must come near the plate's power; star against delta is three times off."""
    rating = motor.rating
    power = float(_at(motor, rating.speed).torque) * rating.speed
    if not 0.6 < power / rating.power < 1.6:
        book.fault(
            "motor.circuit",
            "",
            f"at rated speed and voltage it gives {show(power, 'W')}, and the plate says {show(rating.power, 'W')}",
            'check the ohms, and whether they are "star equivalent" or "as wound"',
        )


def _drag_at_synchronous(motor: Motor, drag: float) -> float:
    """Torque at synchronous speed that makes `drag` (W) at rated speed. [N m]"""
    rating = motor.rating
    ratio = rating.synchronous_speed / rating.speed
    return float(drag / rating.speed * ratio**motor.mechanical_loss.exponent)


def _at(motor: Motor, speed: float) -> Point:
    """The steady state on a source of rated voltage without impedance."""
    rating = motor.rating
    terminals = Busbar(name="terminals", nominal=rating.voltage)
    link = Link(name="terminals", kind="network", impedance=0j, busbar=terminals)
    supply = SupplyPath(voltage=rating.voltage, frequency=rating.frequency, links=(link,))
    return solve(Drive(motor=motor, load=_NO_LOAD, supply=supply), _RUNNING, speed)


def _speed_at_power(motor: Motor, book: Book) -> float:
    """The highest speed at which the shaft power is the rated one, by halving below synchronous speed. [rad/s]"""
    rating = motor.rating
    sync = rating.synchronous_speed
    below, above = _enough(motor, book), sync
    for _ in range(_HALVINGS):
        middle = (below + above) / 2
        if float(_at(motor, middle).torque) * middle >= rating.power:
            below = middle
        else:
            above = middle
    return (below + above) / 2


def _enough(motor: Motor, book: Book) -> float:
    """The first slip, going up in small steps, at which the circuit gives more than rated power. [rad/s]"""
    rating = motor.rating
    slip, best = 0.0005, 0.0
    while slip < 0.6:
        speed = (1 - slip) * rating.synchronous_speed
        power = float(_at(motor, speed).torque) * speed
        if power >= rating.power:
            return speed
        best = max(best, power)
        slip *= 1.1
    raise book.give_up(
        "motor.circuit",
        "",
        f"the circuit gives at most {show(best, 'W')} at rated voltage, and the plate says {show(rating.power, 'W')}",
        'check the ohms, and whether they are "star equivalent" or "as wound"',
    )
