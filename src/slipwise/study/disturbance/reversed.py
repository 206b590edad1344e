"""Two lines swapped: the motor that starts turns the wrong way, the one that runs is plugged and then turns the wrong way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from slipwise.limits.disturbance import direction, reversal_heat
from slipwise.limits.heat import equivalent_stall, locked_rotor
from slipwise.quantity.formula import Formula
from slipwise.quantity.show import show
from slipwise.results.disturbance import Finding, Panel
from slipwise.results.start import RunUp
from slipwise.results.study import Explanation
from slipwise.solve.disturbed.fed import running_speed
from slipwise.solve.plan import Stage, settled
from slipwise.solve.run_up import run_up
from slipwise.study.disturbance.model import Answered, Effort, ReversedPhases
from slipwise.study.disturbance.parts import driven, finding, trace
from slipwise.study.explain import Speaker
from slipwise.study.model import Study
from slipwise.study.points import drive_of

KINETIC = Formula(
    key="reversed.kinetic_energy",
    title="Kinetic energy at synchronous speed",
    symbol="W",
    expression="J * omega_s**2 / 2",
    units={"J": "kg m2", "omega_s": "rad/s"},
    source="definition",
    validity="rotor and load together",
    result_unit="J",
)
_METHOD = "equation of motion on the steady torque of the swapped supply, from the running speed; Dormand-Prince 5(4)"
_SOURCE = "Dubey, Fundamentals of Electrical Drives, 2nd ed., ch. 5 and 6"
_PAUSES = np.linspace(0.01, 0.1, 19)  # s, between the two supplies: every angle of the residual voltage is met
_PRACTICE = "common practice, no source"
_MACHINES = {
    "pump": "A centrifugal pump that turns backwards still delivers part of its head and flow, at a poor efficiency, and an "
    f"impeller that is screwed on can come loose ({_PRACTICE}).",
    "fan": "A radial fan that turns backwards still blows the same way, with less flow; an axial fan blows the other way "
    f"({_PRACTICE}).",
    "conveyor": "A conveyor runs the wrong way, or its back-stop holds it and the motor stands at its locked-rotor current "
    f"({_PRACTICE}).",
    "crusher": f"A crusher packs or throws its feed, and parts held by threads can come loose ({_PRACTICE}).",
    "hoist": f"A hoist lowers where it should lift: limit switches then act on the wrong direction ({_PRACTICE}).",
}


def reversed_phases(study: Study, key: str, _asked: ReversedPhases, effort: Effort) -> Answered:
    """From the running speed through standstill to the running speed backwards, on the study's load."""
    drive = drive_of(study)
    before = running_speed(drive)
    stage = Stage(name="two lines swapped", until=settled(), reversed=True)
    run = run_up((stage,), drive, max_time=300.0, speed=before, relative=1e-7)
    at_rest = locked_rotor(study.motor)
    seconds = equivalent_stall(run, at_rest.winding_current)
    kinetic = 0.5 * drive.inertia * study.motor.rating.synchronous_speed**2
    rows = (
        direction(run.final_speed),
        reversal_heat(seconds, study.motor.stall.hot, study.limits.heat),
    )
    most = float(run.line_current.max())
    stops = _standstill(run)
    stopped = "does not come to rest" if stops is None else f"stands after {show(stops, 's')}"
    return Answered(
        summary=f"A running motor {stopped} with up to {show(most, 'A')} and ends at {show(run.final_speed, 'rad/s')}; one "
        "that is started turns the wrong way at once.",
        findings=(*_findings(study, run, before, seconds, kinetic), *_swings(study, before, effort)),
        rows=rows,
        actions=tuple(_actions(study)),
        panels=tuple(_panels(run)),
        method=_METHOD,
        source=_SOURCE,
        notes=(
            "Curves by steady torque and current; peaks of the first cycles by the electrical transient, over pauses of "
            f"{show(float(_PAUSES[0]), 's')} to {show(float(_PAUSES[-1]), 's')} between the two supplies.",
        ),
        explanations=_explained(study, key),
    )


def _standstill(run: RunUp) -> float | None:
    """When the shaft stands for the first time. [s]"""
    below = np.flatnonzero(run.speed <= 0)
    return None if not below.size else float(run.time[below[0]])


def _findings(study: Study, run: RunUp, before: float, seconds: float, kinetic: float) -> tuple[Finding, ...]:
    rating = study.motor.rating
    return (
        finding("before", "Speed before the swap", before, "rad/s"),
        finding("plugging_current", "Line current right after the swap", float(run.line_current[0]), "A"),
        finding("largest_current", "Largest line current", float(run.line_current.max()), "A"),
        finding("largest_ratio", "The same, of the rated one", float(run.line_current.max()) / rating.current, "pu"),
        finding("plugging_torque", "Braking torque right after the swap, of rated", -float(run.torque[0]) / rating.torque, "pu"),
        finding("standstill", "Time to standstill", _standstill(run), "s"),
        finding("speed", "Speed at the end, negative backwards", run.final_speed, "rad/s"),
        finding("settled", "Time to get there", float(run.time[-1]), "s"),
        finding("rotor_heat", "Rotor heat until then", run.rotor_heat, "J"),
        finding("rotor_heat_ratio", "The same, of the kinetic energy at synchronous speed", run.rotor_heat / kinetic, "pu"),
        finding("stall_seconds", "Equal heat at standstill and rated voltage", seconds, "s"),
    )  # fmt: skip


def _swings(study: Study, before: float, effort: Effort) -> tuple[Finding, ...]:
    """Peaks of the electrical transient when a supply with two lines swapped takes the place of the right one."""
    if not effort.transients:
        return ()
    from slipwise.solve.transient.reclosing import reclosings

    found = reclosings(drive_of(study), _PAUSES, speed=before, swapped=True, note=effort.note)
    rated = study.motor.rating.torque
    return (
        finding("peak_torque", "Greatest torque peak in the first cycles, of rated", found.torque.max() / rated, "pu"),
        finding("least_peak", "The same at the best moment of the swap, of rated", found.torque.min() / rated, "pu"),
        finding("peak_current", "Greatest current peak in the first cycles", found.current.max(), "A"),
    )


def _actions(study: Study) -> Iterator[str]:
    yield "After every work on supply, cable or terminal box prove the direction with the coupling open."
    yield "A phase-sequence relay in the control keeps the motor from being switched on with two lines swapped."
    found = _MACHINES.get(driven(study))
    if found:
        yield found


def _panels(run: RunUp) -> Iterator[Panel]:
    for quantity, unit, values in (
        ("speed", "rad/s", run.speed),
        ("line current, rms", "A", run.line_current),
    ):
        yield Panel(
            quantity=quantity,
            x_quantity="time",
            traces=(trace(quantity.partition(",")[0], run.time, "s", values, unit),),
        )


def _explained(study: Study, key: str) -> tuple[Explanation, ...]:
    rating, inertia = study.motor.rating, study.motor.inertia + study.load.inertia
    inputs = {
        "J": ("inertia of rotor and load", inertia),
        "omega_s": ("motor.synchronous_speed", rating.synchronous_speed),
    }
    return (Speaker(study.inputs).by(KINETIC, f"{key}.kinetic_energy", inputs),)
