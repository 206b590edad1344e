"""Pictures of starting: reduced voltage, star and delta, taps, soft start against time, rotor resistance."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np

from slipwise.model.machine.point import breakdown
from slipwise.quantity.show import display_unit, show, show_number
from slipwise.results.lecture import Chart, Dot, Line, Measure, Panel
from slipwise.results.start import Curves, RunUp
from slipwise.solve.plan import Stage, settled
from slipwise.solve.steady import characteristic
from slipwise.teach.lecture.subject import (
    CURRENT,
    SPEED,
    TERMINALS,
    TORQUE,
    Subject,
    current_panel,
    torque_panel,
)

VOLTAGES = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5)
TAPS = (0.8, 0.65, 0.5)
TIME = Measure(words="time", unit="s")


def reduced_voltage(subject: Subject) -> Chart:
    """Torque and current at several terminal voltages."""
    found = [_fed(subject, x) for x in VOLTAGES]
    full, half = found[0], found[-1]
    torque = tuple(_torque(c, show(x, "pu"), n) for n, (x, c) in enumerate(zip(VOLTAGES, found, strict=True)))
    current = tuple(_current(c, show(x, "pu"), n) for n, (x, c) in enumerate(zip(VOLTAGES, found, strict=True)))
    load = subject.load_line(full.speed)
    return Chart(
        key="reduced_voltage",
        title="Reduced voltage: torque falls with the square, current in proportion",
        note=f"{TERMINALS.replace('Rated voltage', 'Each voltage')} Per cent of rated voltage.",
        caption=(
            f"Torque at rest {_nm(full.torque[0])} at full voltage and {_nm(half.torque[0])} at half; current at rest "
            f"{_amp(full.line_current[0])} and {_amp(half.line_current[0])}. The speed of breakdown stays."
        ),
        panels=(torque_panel((*torque, load), subject.sync), current_panel(current, subject.sync)),
    )


def star_delta(subject: Subject) -> Chart:
    """Torque and line current in star and in delta, as ratios that the winding itself gives."""
    delta, star = _fed(subject, 1.0), _ratio(subject, "star", complex(1 / sqrt(3)))
    names = ("delta", "star")
    torque = tuple(_torque(c, name, n) for n, (name, c) in enumerate(zip(names, (delta, star), strict=True)))
    current = tuple(_current(c, name, n) for n, (name, c) in enumerate(zip(names, (delta, star), strict=True)))
    at_rest = tuple(Dot(x=0.0, y=float(c.torque[0]), tone=n) for n, c in enumerate((delta, star)))
    amps = tuple(Dot(x=0.0, y=float(c.line_current[0]), tone=n) for n, c in enumerate((delta, star)))
    share = float(star.torque[0] / delta.torque[0])
    drawn = float(star.line_current[0] / delta.line_current[0])
    own = (
        ""
        if subject.motor.rating.connection == "delta"
        else " The plate says star: drawn as if its delta were allowed."
    )
    return Chart(
        key="star_delta",
        title="Star and delta: a third of torque and of line current",
        note=f"{TERMINALS}{own}",
        caption=(
            f"At rest star gives {show(share, 'pu')} of the torque of delta, {_nm(star.torque[0])}, and takes "
            f"{show(drawn, 'pu')} of its line current, {_amp(star.line_current[0])}."
        ),
        panels=(
            torque_panel((*torque, subject.load_line(delta.speed)), subject.sync, dots=at_rest),
            current_panel(current, subject.sync, dots=amps),
        ),
    )


def taps(subject: Subject) -> Chart:
    """Torque, line current and motor current on the taps of an autotransformer."""
    full = _fed(subject, 1.0)
    found = [(f"tap {show(k, 'pu')}", _ratio(subject, f"tap {k}", complex(k))) for k in TAPS]
    every = [("direct", full), *found]
    torque = tuple(_torque(c, name, n) for n, (name, c) in enumerate(every))
    current = tuple(_current(c, name, n) for n, (name, c) in enumerate(every))
    name, low = found[-1]
    return Chart(
        key="taps",
        title="Autotransformer: torque and line current go with the square of the tap",
        note=f"{TERMINALS} Ideal transformer, without its own impedance and magnetising current.",
        caption=(
            f"On {name} the motor gives {_nm(low.torque[0])} at rest; it takes {_amp(low.motor_current[0])}, the line "
            f"{_amp(low.line_current[0])}: the tap counts once for the motor and twice for the line."
        ),
        panels=(
            torque_panel((*torque, subject.load_line(full.speed)), subject.sync),
            current_panel(current, subject.sync),
        ),
    )


def against_time(subject: Subject, gentle: tuple[str, RunUp], direct: tuple[str, RunUp], words: str = "") -> Chart:
    """Speed, line current and torque against time of a soft start beside a direct one, on the study's supply.

    gentle, direct: title and run. words: of another load than the study's.
    """
    runs = [gentle, direct]
    end = 1.03 * max(_shown(run) for _, run in runs)
    panels = tuple(
        Panel(x=TIME, y=y, lines=tuple(_trace(run, name, n, quantity, end) for n, (name, run) in enumerate(runs)))
        for y, quantity in ((SPEED, "speed"), (CURRENT, "line_current"), (TORQUE, "torque"))
    )
    told = [
        f"{name}: {_lasts(run)}, greatest line current {_amp(float(run.line_current.max()))}, greatest torque "
        f"{_nm(float(run.torque.max()))}."
        for name, run in runs
    ]
    return Chart(
        key="soft_start",
        title=f"{gentle[0]} against time",
        note=f"{words or subject.study.title + ', nominal supply and load.'} Steady characteristics, no electrical transient.",
        caption=" ".join(told),
        panels=panels,
        stacked=True,
    )


def rotor_resistance(subject: Subject) -> tuple[Chart, Chart]:
    """Torque against speed for added rotor resistance up to breakdown at rest and past it; and torque at rest against it."""
    motor = subject.rings
    circuit = motor.circuit
    assert circuit is not None
    rating = motor.rating
    top = breakdown(circuit, rating.phase_voltage, rating.frequency, rating.synchronous_speed)
    own = circuit.rotor[0].R
    best = own / top.slip - own  # the slip of breakdown is then 1
    steps: tuple[float, ...] = (0.0, (best + own) * 0.3 - own, best, 2.5 * (best + own) - own, 6 * (best + own) - own)
    steps = tuple(x for x in steps if x >= 0)
    unit = display_unit(steps, "ohm")
    found = [(x, subject.at_terminals(motor, _added(x))) for x in steps]
    lines = tuple(_torque(c, _ohms(x, own, best, unit), n) for n, (x, c) in enumerate(found))
    dots = tuple(Dot(x=0.0, y=float(c.torque[0]), tone=n, hollow=x > best) for n, (x, c) in enumerate(found))
    family = Chart(
        key="rotor_resistance",
        title="Added rotor resistance: breakdown moves to rest and past it",
        note=f"{subject.rings_words} {TERMINALS}",
        caption=(
            f"Rotor resistance {show(own, 'ohm')}; with {show(best, 'ohm')} added the breakdown torque stands at rest, "
            f"{_nm(found[[x for x, _ in found].index(best)][1].torque[0])}; with more the torque at rest falls again, to "
            f"{_nm(found[-1][1].torque[0])} with {show(steps[-1], 'ohm')}."
        ),
        panels=(torque_panel((*lines, subject.load_line(found[0][1].speed)), subject.sync, dots=dots),),
    )
    return family, _at_rest(subject, own, best)


def _at_rest(subject: Subject, own: float, best: float) -> Chart:
    """Torque and current at rest against the added resistance."""
    added = np.concatenate([np.linspace(0.0, 2 * (best + own), 60), np.geomspace(2.05, 8, 40) * (best + own)])
    standing = np.array([0.0])
    found = [subject.at_terminals(subject.rings, _added(float(x)), standing) for x in added]
    torque = np.array([float(c.torque[0]) for c in found])
    current = np.array([float(c.line_current[0]) for c in found])
    ohms = Measure(words="resistance added, seen from the stator", unit="ohm")
    top = float(np.interp(best, added, torque))
    return Chart(
        key="torque_at_rest",
        title="Torque at rest has a greatest value; current only falls",
        note=f"{subject.rings_words} {TERMINALS}",
        caption=(
            f"Greatest torque at rest {_nm(top)} with {show(best, 'ohm')} added; without any {_nm(torque[0])}. "
            f"Current at rest falls from {_amp(current[0])} to {_amp(current[-1])}."
        ),
        panels=(
            Panel(
                x=ohms,
                y=replace(TORQUE, words="torque at rest"),
                lines=(Line(label="torque at rest", x=added, y=torque),),
                dots=(Dot(x=best, y=top, words=f"{_nm(top)} at {show(best, 'ohm')}"),),
            ),
            Panel(
                x=ohms,
                y=replace(CURRENT, words="line current at rest"),
                lines=(Line(label="line current at rest", x=added, y=current, tone=1),),
            ),
        ),
    )


def _fed(subject: Subject, share: float) -> Curves:
    """At a share of rated voltage, the same in the line as in the motor."""
    path = replace(subject.terminals, voltage=share * subject.motor.rating.voltage)
    stage = Stage(name=show(share, "pu"), until=settled())
    return characteristic(stage, replace(subject.drive, supply=path), subject.grid())


def _ratio(subject: Subject, name: str, ratio: complex) -> Curves:
    return subject.at_terminals(subject.motor, Stage(name=name, until=settled(), ratio=ratio))


def _added(ohms: float) -> Stage:
    return Stage(name=show(ohms, "ohm"), until=settled(), rotor_external=ohms)


def _torque(curve: Curves, label: str, tone: int) -> Line:
    return Line(label=label, x=curve.speed, y=curve.torque, tone=tone)


def _current(curve: Curves, label: str, tone: int) -> Line:
    return Line(label=label, x=curve.speed, y=curve.line_current, tone=tone)


def _trace(run: RunUp, name: str, tone: int, quantity: str, end: float) -> Line:
    values = np.asarray(getattr(run, quantity))
    x = np.append(run.time, max(end, float(run.time[-1])))  # settled: it goes on as it ended
    return Line(label=name, x=x, y=np.append(values, values[-1]), tone=tone)


def _shown(run: RunUp) -> float:
    return 1.15 * run.run_up_time if run.run_up_time is not None else min(float(run.time[-1]), 60.0)


def _lasts(run: RunUp) -> str:
    if run.run_up_time is not None:
        return f"run-up time {show(run.run_up_time, 's')}"
    return f"{run.outcome.value}, at {show(run.final_speed, 'rad/s')} in the end"


def _ohms(added: float, own: float, best: float, unit: str) -> str:
    if added == 0:
        return f"none added, own {show_number(own, 'ohm', unit)}\u202f{unit}"
    return f"{show_number(added, 'ohm', unit)}\u202f{unit} added" + (": breakdown at rest" if added == best else "")


def _nm(torque: float) -> str:
    return show(float(torque), "N m")


def _amp(current: float) -> str:
    return show(float(current), "A")
