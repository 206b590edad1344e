"""Pictures of speed control: frequency, poles, stator voltage, and everything done at the slip rings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from slipwise.methods.speed.frequency_only import FrequencyOnly
from slipwise.methods.speed.pole_changing_tapped import ARRANGEMENTS, TappedWinding
from slipwise.methods.speed.rotor_chopper import RotorChopper
from slipwise.methods.speed.rotor_resistance import RotorResistance
from slipwise.methods.speed.slip_recovery import SlipRecovery
from slipwise.methods.speed.volts_per_hertz import VoltsPerHertz
from slipwise.methods.speed.way import SpeedTask, SpeedWay
from slipwise.model.machine.motor import Motor
from slipwise.quantity.show import show
from slipwise.results.lecture import Chart, Dot, Line, Panel, Role, WindingPicture
from slipwise.results.speed import Family
from slipwise.results.start import Curves
from slipwise.solve.plan import Stage, settled
from slipwise.solve.steady import characteristic
from slipwise.teach.lecture.subject import (
    SPEED,
    TERMINALS,
    TORQUE,
    Subject,
    crossings,
    torque_panel,
)

CUT = 3.0  # times rated torque: curves that rise far beyond are cut there
NEAR_SYNC = 0.03  # per unit: an axis that would end so near synchronous speed ends there
FREQUENCIES = (5.0, 10.0, 20.0, 30.0, 40.0, 50.0)  # of 50, drawn of either law
VOLTAGES = (1.0, 0.85, 0.7, 0.55, 0.4)
HIGH_SLIP = 5.0  # times the rotor resistance, of the companion made for voltage control (common practice, no source)


def ring_task(subject: Subject) -> SpeedTask:
    """The task with slip rings."""
    task = subject.speed_task
    return replace(task, drive=replace(task.drive, motor=subject.rings, load=subject.carried(0.8)))


def frequency_alone(subject: Subject) -> Chart:
    """Fixed voltage, frequency varied."""
    found = _family(FrequencyOnly, subject.speed_task, {})
    top = [float(np.nanmax(c.torque)) for c in found.curves]
    return Chart(
        key="frequency_alone",
        title="Frequency alone: breakdown torque falls as it rises",
        note="Rated voltage at every frequency; main flux saturates (typical curve where the study gives none).",
        caption=(
            f"Breakdown torque {show(top[0], 'N m')} at {found.curves[0].label} and {show(top[-1], 'N m')} at "
            f"{found.curves[-1].label}. Below rated frequency the flux would have to grow beyond what the iron bears."
        ),
        panels=(replace(_panel(subject, found), top=None),),
    )


def voltage_with_frequency(subject: Subject) -> Chart:
    """Voltage in proportion to frequency, without and with boost."""
    task = subject.speed_task
    panels, tops = [], []
    for law, words in (("plain", "voltage in proportion"), ("fixed_boost", "with boost at low frequency")):
        found = _family(VoltsPerHertz, task, {"law": law})
        hertz = [x * subject.motor.rating.frequency / 50 for x in FREQUENCIES]
        kept = replace(found, curves=tuple(c for c in found.curves if any(abs(c.value - h) < 0.01 for h in hertz)))
        panels.append(replace(_panel(subject, kept), title=words))
        tops.append(float(np.nanmax(kept.curves[0].torque)))
    first = show(FREQUENCIES[0] * subject.motor.rating.frequency / 50, "Hz")
    highest = max(max(float(np.nanmax(line.y)) for line in panel.lines) for panel in panels)
    return Chart(
        key="volts_per_hertz",
        title="Voltage with frequency, without and with boost",
        note="Inverter with sinusoidal fundamental; main flux saturates as usual (typical curve) where the study gives none.",
        caption=(
            f"At {first} the greatest torque is {show(tops[0], 'N m')} without and {show(tops[1], 'N m')} with boost."
        ),
        panels=tuple(replace(panel, top=highest) for panel in panels),
    )


def pole_changing(subject: Subject) -> tuple[Chart, tuple[WindingPicture, ...]]:
    """Torque at both speeds for the three arrangements of a tapped winding, and the winding itself, series and parallel."""
    panels, windings, said = [], [], []
    for name in ARRANGEMENTS:
        way = TappedWinding.designed_for(subject.speed_task, {"arrangement": name}).way
        found = way.families(subject.speed_task)[0]
        panels.append(replace(_panel(subject, found), title=name))
        tops = " and ".join(f"{show(float(np.nanmax(c.torque)), 'N m')} with {c.label}" for c in found.curves)
        said.append(f"{name}: {tops}")
        windings += [
            WindingPicture(
                key=f"winding_{name.replace(' ', '_')}",
                title=f"Tapped winding, {name}",
                caption="Half the coils carry their current the other way round at the other speed; shaded where reversed.",
                winding=winding,
            )
            for winding in way.wiring().windings
        ]
    highest = max(max(float(np.nanmax(line.y)) for line in panel.lines) for panel in panels)
    chart = Chart(
        key="pole_changing",
        title="Two speeds from one winding: three arrangements",
        note="Other pole number computed from turns, winding factors and poles; leakage so found is good to some 20 %.",
        caption=f"Breakdown torque, {'; '.join(said)}.",
        panels=tuple(replace(panel, top=highest, bottom=0.0) for panel in panels),
    )
    return chart, tuple(windings)


def stator_voltage(subject: Subject) -> Chart:
    """Reduced voltage with a fan and a constant load, for the motor as it is and with a rotor made for it."""
    circuit = subject.circuit
    soft = subject.with_circuit(replace(circuit.with_rotor_resistance(HIGH_SLIP), leakage_saturation=None))
    panels = []
    spans = []
    for motor, title in (
        (subject.motor, "the motor as it is"),
        (soft, f"rotor resistance {show(HIGH_SLIP, '')} times"),
    ):
        curves = [_at(subject, motor, x) for x in VOLTAGES]
        panel, fan = _with_loads(subject, curves, title)
        panels.append(panel)
        spans.append(f"{title}: with the fan {show(fan[0], 'rad/s')} down to {show(fan[1], 'rad/s')}")
    return Chart(
        key="stator_voltage",
        title="Stator voltage: a fan can be slowed, a constant load falls out",
        note=f"{TERMINALS.replace('Rated voltage', 'Each voltage')} Filled: holds itself; hollow: does not.",
        caption=f"{'; '.join(spans)}. The constant load is held only between synchronous and breakdown speed.",
        panels=tuple(replace(p, top=max(q.top or 0.0 for q in panels)) for p in panels),
    )


def _with_loads(subject: Subject, curves: list[Curves], title: str) -> tuple[Panel, tuple[float, float]]:
    """Curves with both loads and where they meet; the fastest and the slowest speed at which the fan is held."""
    speeds = curves[0].speed
    loads = (("fan", subject.carried(0.6, 2.0)), ("constant load", subject.carried(0.3, 0.0)))
    lines = [
        Line(label=show(x, "pu"), x=c.speed, y=c.torque, tone=n)
        for n, (x, c) in enumerate(zip(VOLTAGES, curves, strict=True))
    ]
    dots, held = [], []
    for name, load in loads:
        torque = np.asarray(load.running(speeds), dtype=float)
        lines.append(Line(label=name, x=speeds, y=torque, role=Role.LOAD, prefer=0.35 if name == "fan" else 0.08))
        for n, curve in enumerate(curves):
            for speed, met, stable in crossings(speeds, curve.torque, torque):
                dots.append(Dot(x=speed, y=met, tone=n, hollow=not stable))
                if stable and name == "fan":
                    held.append(speed)
    panel = torque_panel(tuple(lines), subject.sync, dots=tuple(dots), title=title)
    return replace(panel, top=max(float(c.torque.max()) for c in curves)), (max(held), min(held))


def _at(subject: Subject, motor: Motor, share: float) -> Curves:
    path = replace(subject.terminals, voltage=share * subject.motor.rating.voltage)
    drive = replace(subject.drive, motor=motor, supply=path)
    return characteristic(Stage(name=show(share, "pu"), until=settled()), drive, subject.grid())


RING_WAYS: tuple[tuple[str, type[SpeedWay], str], ...] = (
    ("resistors", RotorResistance, "Rotor resistance: the same torque at a greater slip"),
    ("chopper", RotorChopper, "Rotor chopper: one resistor, switched, is any resistance"),
    ("recovery", SlipRecovery, "Slip-energy recovery: the firing angle sets the speed"),
)


def at_the_rings(subject: Subject) -> tuple[Chart, ...]:
    """Rotor resistance, rotor chopper and slip-energy recovery."""
    task = ring_task(subject)
    charts = []
    for key, way, title in RING_WAYS:
        found = _family(way, task, {})
        least = min(found.curves, key=lambda c: float(np.nanmax(c.torque)))
        charts.append(
            Chart(
                key=f"rotor_{key}",
                title=title,
                note=f"{subject.rings_words} Load: a fan with 80 % of rated torque at rated speed.",
                caption=(
                    f"Varied: {found.parameter}, from {_worded(found.curves[0].label)} to {_worded(found.curves[-1].label)}. "
                    f"At {_worded(least.label)} the greatest torque is {show(float(np.nanmax(least.torque)), 'N m')}. "
                    f"{_sentence(found.note)}"
                ).strip(),
                panels=(_panel(subject, found),),
            )
        )
    return tuple(charts)


def _family(way: type[SpeedWay], task: SpeedTask, given: Mapping[str, float | str]) -> Family:
    """The first family of a way as designed for the task."""
    return way.designed_for(task, given).way.families(task)[0]


def _panel(subject: Subject, found: Family) -> Panel:
    """A family with its load and where it meets it."""
    lines, dots = [], []
    load = np.asarray(found.load_torque, dtype=float)
    asked = float(np.nanmax(load))
    for n, curve in enumerate(found.curves):
        lines.append(Line(label=_worded(curve.label), x=curve.speed, y=curve.torque, tone=n))
        met = np.interp(curve.speed, found.load_speed, load)
        for speed, torque, stable in crossings(curve.speed, curve.torque, met):
            if 0 < speed <= float(found.load_speed[-1]):
                dots.append(Dot(x=speed, y=torque, tone=n, hollow=not stable))
    lines.append(Line(label="load", x=found.load_speed, y=load, role=Role.LOAD, prefer=0.45))
    highest = max(float(np.nanmax(c.torque)) for c in found.curves)
    rated = max(asked, 1e-9)
    top = highest if highest < 2.5 * CUT * rated else CUT * rated
    end = max(float(c.speed.max()) for c in found.curves)
    sync = subject.sync if abs(end / subject.sync - 1) < NEAR_SYNC else None
    return Panel(x=SPEED, y=TORQUE, lines=tuple(lines), dots=tuple(dots), top=top, synchronous=sync)


def _worded(label: str) -> str:
    return label.replace(" deg", "°").replace(" ohm", "\u202fΩ")


def _sentence(words: str) -> str:
    """Words with a capital and a full stop; none stay none."""
    return f"{words[0].upper()}{words[1:].rstrip('.')}." if words else ""
