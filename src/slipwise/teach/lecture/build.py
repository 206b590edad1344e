"""The whole lecture of a study: every picture it allows, topic by topic."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from slipwise import __version__
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.quantity.show import show
from slipwise.results.lecture import Lecture, Topic
from slipwise.study.cautions import cautions_for
from slipwise.study.explain import explain_motor
from slipwise.study.model import Study
from slipwise.teach.lecture import rotors, speed, starting, steady, stopping, ways
from slipwise.teach.lecture.subject import Subject, rated_words, subject_of
from slipwise.teach.lecture.ways import Started

Progress = Callable[[str], None]


def lecture(study: Study, progress: Progress | None = None) -> Lecture:
    """Every picture of starting, speed control and stopping for the study's motor, as plain data.

    Args:
        study: as the reader builds it; its motor needs a circuit (a plate gives one).
        progress: told in words what is being computed.

    Raises:
        InputError: the motor is known by typed curves only.
    """
    tell = progress or (lambda _words: None)
    subject = subject_of(study)
    found = ways.started(subject, tell)
    made = _Made(tell)
    topics = (
        Topic(
            key="running",
            title="Running",
            points=_running(subject),
            pictures=made.all(steady, subject, "walk", "power_flow", "efficiency", "circle"),
            steps=explain_motor(study)[:3],
        ),
        Topic(
            key="rotors",
            title="Rotors and design letters",
            points=("Deep bars and double cages trade torque at rest against leakage in running.",),
            pictures=made.all(rotors, subject, "cages", "bar_currents", "designs"),
        ),
        Topic(
            key="starting",
            title="Starting",
            points=_starting(found),
            pictures=(
                *made.all(starting, subject, "reduced_voltage", "star_delta", "taps"),
                *made.one("soft start", partial(_soft, subject, found)),
                *made.all(starting, subject, "rotor_resistance"),
                *ways.starting_circuits(found),
            ),
            tables=(ways.starting_table(found),),
        ),
        Topic(
            key="speed",
            title="Speed control",
            points=("Speed follows frequency, poles and slip: three handles, three families of ways.",),
            pictures=(
                *made.all(
                    speed, subject, "frequency_alone", "voltage_with_frequency", "pole_changing", "stator_voltage"
                ),
                *made.all(speed, subject, "at_the_rings"),
                *ways.speed_circuits(subject),
            ),
        ),
        Topic(
            key="stopping",
            title="Stopping",
            points=stopping.energy_words(subject),
            pictures=stopping.stopping_circuits(subject),
        ),
    )
    return Lecture(
        title=study.title,
        motor=rated_words(study.motor),
        topics=topics,
        motions=ways.motions(subject, found),
        assumed=tuple(row.name for row in study.inputs if row.origin is Origin.ASSUMED),
        left_out=tuple(made.left_out),
        cautions=cautions_for(study),
        slipwise_version=__version__,
        file=study.file.name if study.file is not None else "",
    )


@dataclass(slots=True)
class _Made:
    """Pictures made so far; what the motor does not allow is kept with its reason."""

    tell: Progress
    left_out: list[str] = field(default_factory=list)

    def all(self, module: Any, subject: Subject, *names: str) -> tuple[Any, ...]:
        """The pictures of several functions of a module, in order."""
        return tuple(
            picture
            for name in names
            for picture in self.one(name.replace("_", " "), partial(getattr(module, name), subject))
        )

    def one(self, name: str, make: Callable[[], Any]) -> tuple[Any, ...]:
        """The picture or pictures one function makes."""
        self.tell(f"pictures: {name}")
        try:
            return _flat(make())
        except InputError as error:
            self.left_out.append(f"{name}: {'; '.join(fault.reason for fault in error.faults)}")
            return ()


def _flat(made: Any) -> tuple[Any, ...]:
    if isinstance(made, Sequence):
        return tuple(picture for part in made for picture in _flat(part))
    return (made,)


def _soft(subject: Subject, found: Mapping[str, Started]) -> Any:
    """Soft against direct, with a lighter load where the study's own leaves no room between them."""
    words = ""
    if not found["direct"].arrived or _alike(found):
        found = ways.with_load(subject, subject.carried(0.5))
        words = "The study's own load leaves a soft start no room: drawn with a fan of half the rated torque."
    gentle, direct = found["soft_starter"], found["direct"]
    return starting.against_time(subject, (gentle.title, gentle.run), (direct.title, direct.run), words)


def _alike(found: Mapping[str, Started]) -> bool:
    """Whether the soft start takes as much current as the direct one."""
    gentle, direct = (float(found[key].run.line_current.max()) for key in ("soft_starter", "direct"))
    return gentle > 0.95 * direct


def _running(subject: Subject) -> tuple[str, ...]:
    rating = subject.motor.rating
    return (
        f"Synchronous speed {show(subject.sync, 'rad/s')}, rated speed {show(rating.speed, 'rad/s')}: rated slip "
        f"{show(rating.slip, 'pu')}.",
        f"Rated torque {show(rating.torque, 'N m')}, rated current {show(rating.current, 'A')}.",
    )


def _starting(found: Mapping[str, Started]) -> tuple[str, ...]:
    direct = found["direct"].run
    return (
        f"Direct on the study's supply: {show(float(direct.line_current.max()), 'A')} at most.",
        "Every other way gives up torque for current, or takes the heat out of the motor.",
    )


def moving_start(found: Lecture, key: str) -> None:
    """Refuses the name of a start that does not move in this lecture; "" stands for the first one.

    Raises:
        InputError: names the starts there are.
    """
    known = [motion.key.removeprefix("run_up_") for motion in found.motions]
    if key and key not in known:
        reason = "no start of this lecture that moves has this name"
        raise InputError.of("moves", key, reason, f"take one of {', '.join(known)}" if known else "leave it out")
