"""The power circuit of every way of stopping, and the energy that a stop has to put somewhere."""

from __future__ import annotations

from collections.abc import Iterator

from slipwise.methods.settings import Given
from slipwise.methods.speed.pole_changing_tapped import CONSTANT_TORQUE
from slipwise.methods.stopping import STOPPING
from slipwise.methods.stopping.braking_resistor import BrakingResistor
from slipwise.methods.stopping.more_poles import MorePoles
from slipwise.methods.stopping.way import StoppingWay, StopTask
from slipwise.methods.way import Designed
from slipwise.quantity.errors import InputError
from slipwise.quantity.show import show
from slipwise.results.lecture import CircuitPicture
from slipwise.study.cases import NOMINAL, WORST, cases_of
from slipwise.study.model import Study
from slipwise.teach.lecture.subject import Subject

OWN = "The study's own motor."
TAPPED = "Companion: the same frame with a winding tapped for two pole numbers."
# What the circuit of a way does not show, so that it need not be found.
_UNSEEN: dict[type[StoppingWay], Given] = {BrakingResistor: {"ramp_time": 10.0, "resistance": 1.0}}


def stopping_circuits(subject: Subject) -> tuple[CircuitPicture, ...]:
    """The power circuit of every way of stopping that the motor, or a companion, can have."""
    study = subject.study
    cases = cases_of(study)
    task = StopTask(nominal=cases[NOMINAL].drive, worst=cases[WORST].drive, limits=study.limits)
    return tuple(
        CircuitPicture(
            key=f"stopping_{way.key}", title=way.title, kind="stopping", wiring=made.way.wiring(), note=words
        )
        for way in STOPPING
        for made, words in _made(way, task, study)
    )


def _made(way: type[StoppingWay], task: StopTask, study: Study) -> Iterator[tuple[Designed[StoppingWay], str]]:
    """The way as the study gives it or designed; more poles on a companion where the motor has one speed."""
    companion = {"arrangement": CONSTANT_TORQUE} if way is MorePoles else None
    for given, words in ((_asked(study, way), OWN), (companion, TAPPED)):
        if given is None:
            continue
        try:
            made = way.designed_for(task, {**_UNSEEN.get(way, {}), **given})
        except InputError:
            continue  # this motor cannot have it; the companion may
        yield made, words
        return


def _asked(study: Study, way: type[StoppingWay]) -> Given:
    asked = study.stopping
    if asked is None:
        return {}
    tapped: Given = {"arrangement": asked.arrangement} if asked.arrangement and way is MorePoles else {}
    return {**tapped, **next((request.given for request in asked.ways if request.key == way.key), {})}


def energy_words(subject: Subject) -> tuple[str, ...]:
    """What turns, and what a stop does with it."""
    drive, speed = subject.drive, subject.motor.rating.speed
    motion = 0.5 * drive.inertia * speed**2
    return (
        f"At rated speed motor and load hold {show(motion, 'J')} of motion: a stop puts it into the load, the rotor, a "
        "resistor or the line.",
        f"Reversed phases put about three times as much, {show(3 * motion, 'J')}, into the rotor circuit.",
    )
