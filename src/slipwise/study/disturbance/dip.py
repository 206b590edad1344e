"""A voltage dip: how far the motor slows down, what it draws when the voltage returns, and the longest dip it bears."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import numpy as np

from slipwise.limits.disturbance import contactor, dip_return
from slipwise.limits.voltage import DIP, dip_criteria, dips
from slipwise.quantity.show import show
from slipwise.results.disturbance import Finding, Level, Panel
from slipwise.results.series import Array
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.dip import Dip, ride_through, voltage_dip
from slipwise.study.disturbance.model import Answered, Effort, VoltageDip
from slipwise.study.disturbance.parts import driven, finding, trace
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.points import drive_of

_METHOD = "equation of motion on the steady torque with the source at the voltage left, then at full voltage; Dormand-Prince 5(4)"
_FAR, _ENOUGH = 10.0, 8  # times this dip shown in the picture of all dips; points that make one
_SOURCE = "Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 2 and 6"


def dip(study: Study, key: str, asked: VoltageDip, _effort: Effort) -> Answered:
    """The dip on the study's load, and every other dip it bears."""
    drive = drive_of(study)
    found = voltage_dip(drive, asked.remaining, asked.duration)
    curve = ride_through(drive, found.before, found.least)
    busbars = study.supply.nominal.busbars
    rows = (
        dip_return(found.during.final_speed, found.least, found.before),
        contactor(asked.remaining, asked.drop_out, asked.drop_out_source),
        *dip_criteria({"nominal": found.after}, busbars),
    )
    return Answered(
        summary=_summary(asked, found),
        findings=_findings(study, found),
        rows=rows,
        actions=tuple(_actions(study, asked, found)),
        panels=tuple(_panels(asked, found, curve)),
        method=_METHOD,
        source=_SOURCE,
        notes=(
            "Steady torque and current at each speed: the swings of some cycles at either edge of the dip come on top.",
            "This motor alone slows down and comes back; others on the same busbar deepen the dip of the return.",
        ),
        explanations=_explained(study, key, found),
    )


def _summary(asked: VoltageDip, found: Dip) -> str:
    first = (
        f"{show(asked.remaining, 'pu')} of the voltage for {show(asked.duration, 's')} brings the motor from "
        f"{show(found.before, 'rad/s')} to {show(found.during.final_speed, 'rad/s')}; "
    )
    most = show(float(found.after.line_current.max()), "A")
    if not found.recovers:
        return f"{first}it does not come back and stays at up to {most}: it has to be switched off."
    seconds = 0.0 if found.after.run_up_time is None else found.after.run_up_time
    back = f"comes back in {show(seconds, 's')}" if seconds > 0 else "is back at once"
    return f"{first}it {back}, with up to {most}."


def _findings(study: Study, found: Dip) -> tuple[Finding, ...]:
    least, longest = found.least, found.longest
    after = found.after
    current = float(after.line_current.max())
    return (
        finding("before", "Speed before the dip", found.before, "rad/s"),
        finding("speed", "Speed when the voltage returns", found.during.final_speed, "rad/s"),
        finding("least", "Least speed from which it comes back", least, "rad/s"),
        finding("dip_current", "Largest line current during the dip", float(found.during.line_current.max()), "A"),
        finding("return_current", "Largest line current when the voltage is back", current, "A"),
        finding("return_ratio", "The same, of the rated one", current / study.motor.rating.current, "pu"),
        finding("back", "Time to come back", after.run_up_time, "s"),
        finding("longest", "Longest dip of this depth that it bears", longest if isfinite(longest) else None, "s"),
        finding("deepest", "Voltage that must be left for this time", found.deepest, "pu"),
        finding("rotor_heat", "Rotor heat of dip and return", found.during.rotor_heat + after.rotor_heat, "J"),
    )


def _actions(study: Study, asked: VoltageDip, found: Dip) -> Iterator[str]:
    if not found.recovers:
        yield (
            "Switch off within the stall time: an undervoltage or speed supervision does it, set shorter than "
            f"{show(found.longest, 's')}."
        )
    if asked.remaining < asked.drop_out:
        yield (
            "Contactors let go: decide whether the motor may start again by itself, and let machines that start again do "
            "so one after the other."
        )
    if found.recovers and isfinite(found.longest):
        yield f"Set undervoltage tripping longer than {show(asked.duration, 's')} and shorter than {show(found.longest, 's')}."
    word = driven(study)
    if word in ("pump", "fan") and found.recovers:
        yield f"A {word} slows down gently; check valve and process at the speed it falls to."
    elif word in ("conveyor", "crusher"):
        yield f"A loaded {word} slows down quickly and needs nearly its starting torque to come back."


def _panels(asked: VoltageDip, found: Dip, curve: tuple[Array, Array]) -> Iterator[Panel]:
    during, after = found.during, found.after
    shown = min(float(after.time[-1]), max(4 * (after.run_up_time or 3.0), asked.duration))
    kept = after.time <= shown
    rest = 0.5 * asked.duration if float(after.time[-1]) < 0.5 * asked.duration and not found.recovers else 0.0
    time = np.concatenate(
        [during.time, asked.duration + after.time[kept], [asked.duration + after.time[kept][-1] + rest]]
    )
    for quantity, unit, one, two in (
        ("speed", "rad/s", during.speed, after.speed[kept]),
        ("line current, rms", "A", during.line_current, after.line_current[kept]),
    ):
        levels = (Level(label="least speed to come back", value=found.least, unit=unit),) if unit == "rad/s" else ()
        yield Panel(
            quantity=quantity,
            x_quantity="time",
            traces=(trace(quantity.partition(",")[0], time, "s", np.concatenate([one, two, two[-1:]]), unit),),
            levels=levels if found.least > 0 else (),
        )
    near = curve[1] <= _FAR * asked.duration
    remaining, longest = curve[0][near], curve[1][near]
    if len(remaining) >= _ENOUGH:
        yield Panel(
            quantity="longest dip that it bears",
            x_quantity="voltage left, of the source's",
            traces=(trace("borne below this line", remaining, "pu", longest, "s"),),
            levels=(Level(label="this dip", value=asked.duration, unit="s"),),
            marks=(Level(label="", value=asked.remaining, unit="pu"),) if asked.remaining < remaining[-1] else (),
        )


def _explained(study: Study, key: str, found: Dip) -> tuple[Explanation, ...]:
    say, after = Speaker(study.inputs), found.after
    rows = []
    for place, depth in enumerate(dips(after)):
        name, before = after.busbars[place], float(after.prestart_voltage[place])
        inputs = {"U_0": (f"{name} before", before), "U_min": (f"{name} lowest", before * (1 - float(depth)))}
        rows.append(say.by(DIP, f"{key}.dip:{name}", inputs, "while the motor comes back"))
    return tuple(rows)
