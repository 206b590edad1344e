"""What the two series elements, reactor and resistor, have in common: ohms in each line, then bridged."""

from __future__ import annotations

from dataclasses import dataclass, replace

from slipwise.methods import survey
from slipwise.methods.settings import Choice, Given, computed, number
from slipwise.methods.starting.autotransformer import locked_rotor_impedance
from slipwise.methods.starting.changeover import changeover_after
from slipwise.methods.starting.strength import Ladder, within_limits
from slipwise.methods.survey import amount, percent
from slipwise.methods.way import Dial, Task
from slipwise.results.wiring import Device, Wiring
from slipwise.solve.plan import Drive, Plan, Stage, settled, speed_reaches

# Weakest series start looked at: motor impedance one fifth of the whole at standstill.
WEAKEST = 0.2

OHMS = Dial(
    title="ohms per line",
    unit="ohm",
    example="0.12 ohm",
    doc="Of the element in each line, at rated frequency.",
    low=0.0,
)
CHANGEOVER = Dial(
    title="changeover speed",
    unit="rad/s",
    example="1400 r/min",
    doc="Shaft speed at which the element is bridged.",
    low=0.0,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """The element in each line. name: as shown; kind: of the wiring; unit: 1j for a reactor, 1 for a resistor."""

    name: str
    kind: str
    unit: complex
    label: str

    def stage(self, ohms: float) -> Stage:
        """Full voltage through the element."""
        return replace(survey.RUNNING, name=self.name, line_series=self.unit * ohms)

    def plan(self, ohms: float, changeover_speed: float) -> Plan:
        """Through the element to a speed, then bridged, without a break."""
        first, last = self.sequence()
        return (
            replace(self.stage(ohms), until=speed_reaches(changeover_speed), contacts=first[1]),
            Stage(name=last[0], until=settled(), contacts=last[1]),
        )

    def sequence(self) -> tuple[tuple[str, tuple[str, ...]], tuple[str, tuple[str, ...]]]:
        """Stages and their closed contacts."""
        return (self.name, ("K1 line",)), ("running", ("K1 line", "K2 bridge"))

    def wiring(self, ohms: float) -> Wiring:
        """Line contactor, the element, the contactor that bridges it."""
        sequence = self.sequence()
        return Wiring(
            devices=(
                Device(kind="breaker", label="Q1", after=""),
                Device(kind="contactor", label="K1 line", after="Q1"),
                Device(kind=self.kind, label=self.label, after="K1 line", note=f"{amount(ohms)} ohm in each line"),
                Device(
                    kind="contactor", label="K2 bridge", after="K1 line", branch="bridge", note=f"bridges {self.label}"
                ),
                Device(kind="overload", label="F1", after=self.label),
                Device(kind="motor", label="M1", after="F1"),
            ),
            stages=tuple(name for name, _ in sequence),
            closed=tuple(contacts for _, contacts in sequence),
        )


def design(element: Element, task: Task, given: Given) -> tuple[dict[str, Choice], str]:
    """Ohms and changeover speed, and the words for them. Call after the given settings have been checked.

    Ohms: as few as the dip limits and the agreed current ask for, which leaves the most torque; with no limit set, as
    many as the load lets.
    """
    found_ohms = number(given, "ohms")
    words = []
    if found_ohms is None:
        found_ohms, bound = _ohms(element, task, number(given, "changeover_speed"))
        words.append(f"Ohms: {amount(found_ohms)} ohm in each line, {bound}.")
        choice = computed(found_ohms, bound)
    else:
        choice = computed(found_ohms, "given by user")
    change = changeover_after(element.stage(found_ohms), task, given, f"the {element.name} stage")
    if "changeover_speed" not in given:
        words.append(
            f"Changeover speed: as late as needed for the current on full voltage ({amount(change.current)} A, "
            f"{percent(change.of_direct)} of direct at standstill) not to exceed that through the {element.name} at "
            f"standstill ({amount(change.target)} A); {change.bound}."
        )
    return {"ohms": choice, "changeover_speed": change.choice}, " ".join(words)


def _ohms(element: Element, task: Task, up_to: float | None) -> tuple[float, str]:
    """The design on the scale of motor impedance over whole impedance, which is 1 without the element."""
    impedance = locked_rotor_impedance(task.nominal)

    def ohms(strength: float) -> float:
        return impedance * (1 / strength - 1)

    def stage(strength: float, drive: Drive) -> Stage:
        del drive  # the same element whatever it feeds
        return element.stage(ohms(strength))

    found = within_limits(
        Ladder(stage=stage, steps=None, low=WEAKEST, high=1.0, up_to=up_to, show=lambda s: f"{amount(ohms(s))} ohm"),
        task,
    )
    return ohms(found.strength), found.bound
