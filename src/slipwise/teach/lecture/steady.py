"""Pictures of steady running: the operating point, where the power goes, efficiency against slip, the circle diagram."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from slipwise.model.machine.circuit import Circuit
from slipwise.model.machine.point import breakdown, operating_point
from slipwise.quantity.show import show
from slipwise.results.lecture import Chart, Dot, Flow, FlowPicture, Line, Measure, Panel, Role
from slipwise.results.series import Array
from slipwise.solve.plan import Drive, Stage, settled
from slipwise.solve.steady import Point, solve
from slipwise.teach.lecture.subject import PLAIN, TERMINALS, Subject, crossings, torque_panel

STEPS = (0.25, 0.5, 0.75, 1.0, 1.25)


def walk(subject: Subject) -> Chart:
    """The operating point as the load grows, and what the motor takes on the way."""
    rating = subject.motor.rating
    whole = subject.at_terminals(subject.motor)
    near = float(whole.speed[int(np.argmax(whole.torque))])  # from a little before breakdown
    curve = subject.at_terminals(
        subject.motor, speeds=np.linspace(near - 0.4 * (subject.sync - near), subject.sync * (1 - 1e-6), 401)
    )
    lines = [Line(label="motor", x=curve.speed, y=curve.torque)]
    dots, told = [], []
    for share in STEPS:
        load = np.asarray(subject.carried(share).running(curve.speed), dtype=float)
        label = f"load {show(share, 'pu')}" if share in {STEPS[0], STEPS[-1]} else ""
        lines.append(Line(label=label, x=curve.speed, y=load, role=Role.LOAD, prefer=0.6))
        found = [c for c in crossings(curve.speed, curve.torque, load) if c[2]]
        if found:
            speed, torque, _ = found[-1]
            dots.append(Dot(x=speed, y=torque, tone=1))
            told.append(f"{show(share, 'pu')} load at {show(speed, 'rad/s')}")
    top = int(np.argmax(curve.torque))
    dots.append(Dot(x=float(curve.speed[top]), y=float(curve.torque[top]), words="breakdown", hollow=True))
    return Chart(
        key="operating_point",
        title="The operating point walks down the curve as the load grows",
        note=f"{TERMINALS} Fan loads of {show(STEPS[0], 'pu')} to {show(STEPS[-1], 'pu')} of rated torque at rated speed.",
        caption=(
            f"{'; '.join(told)}. Breakdown at {show(float(curve.speed[top]), 'rad/s')} with "
            f"{show(float(curve.torque[top]), 'N m')}; rated {show(rating.torque, 'N m')}."
        ),
        panels=(torque_panel(tuple(lines), subject.sync, dots=tuple(dots)), _taken(subject)),
    )


def _taken(subject: Subject) -> Panel:
    """Current, power factor and efficiency against shaft torque, up to one and a half times rated."""
    rating = subject.motor.rating
    speeds = np.linspace(subject.sync * (1 - 3.0 * rating.slip), subject.sync * (1 - 0.01 * rating.slip), 200)[::-1]
    at = solve(subject.drive, PLAIN, speeds)
    torque = np.asarray(at.torque)
    kept = (torque >= 0) & (torque <= 1.5 * rating.torque)
    kept &= np.concatenate([[True], np.diff(torque) > 0])
    power, shaft = np.asarray(at.power)[kept], (torque * speeds)[kept]
    apparent = np.sqrt(3) * rating.voltage * np.asarray(at.line)[kept]
    rows = (
        ("line current", np.asarray(at.line)[kept] / rating.current),
        ("efficiency", shaft / power),
        ("power factor", power / apparent),
    )
    x = torque[kept] / rating.torque
    return Panel(
        x=Measure(words="shaft torque over rated torque", per_unit=True),
        y=Measure(words="current over rated; efficiency, power factor", per_unit=True),
        lines=tuple(Line(label=name, x=x, y=np.asarray(y), tone=n) for n, (name, y) in enumerate(rows)),
    )


def power_flow(subject: Subject) -> FlowPicture:
    """Rated load, half load, and half speed through rotor resistance at rated torque."""
    rating, drive = subject.motor.rating, subject.drive
    rings = replace(drive, motor=subject.rings)
    half = _speed_for(drive, 0.5 * rating.torque)
    flows = [
        _flow("rated load", solve(drive, PLAIN, rating.speed)),
        _flow("half of rated torque", solve(drive, PLAIN, half)),
    ]
    own = subject.branch.R
    ohms = own * (0.5 / rating.slip - 1)
    slow = solve(rings, Stage(name="half speed", until=settled(), rotor_external=ohms), subject.sync / 2)
    flows.append(_flow(f"half speed, {show(ohms, 'ohm')} in the rotor", slow))
    return FlowPicture(
        key="power_flow",
        title="Where the power goes",
        note=f"{TERMINALS} All ribbons to one scale. Third ribbon: {subject.rings_words[0].lower()}{subject.rings_words[1:]}",
        caption=" ".join(
            f"{f.words[0].upper()}{f.words[1:]}: {show(f.supplied, 'W')} in, {show(f.shaft, 'W')} at the shaft, efficiency "
            f"{show(f.shaft / f.supplied, 'pu')}."
            for f in flows
        ),
        flows=tuple(flows),
    )


def _speed_for(drive: Drive, torque: float) -> float:
    """Speed at which the motor gives a torque, on the stable side. [rad/s]"""
    sync, slip = drive.motor.rating.synchronous_speed, drive.motor.rating.slip
    speeds = np.linspace(sync * (1 - 1.5 * slip), sync * (1 - 1e-6), 400)
    found = np.asarray(solve(drive, PLAIN, speeds).torque)
    return float(np.interp(-torque, -found, speeds))


def _flow(words: str, at: Point) -> Flow:
    lost = (
        ("stator copper", float(at.stator_loss)),
        ("core", float(at.core_loss)),
        ("rotor copper", float(at.rotor_loss)),
        ("rotor resistor", float(at.external_loss)),
        ("stray load", float(at.stray_loss)),
        ("friction and windage", float(at.mechanical_loss)),
    )
    return Flow(words=words, supplied=float(at.power), lost=lost, shaft=float(at.torque * at.speed))


def efficiency(subject: Subject) -> Chart:
    """Efficiency against slip on the line and through rotor resistance, under the bound 1 - s."""
    rating = subject.motor.rating
    slip = np.linspace(0.002, 0.98, 250)
    at = solve(subject.drive, PLAIN, subject.sync * (1 - slip))
    line = np.asarray(at.torque * at.speed / at.power)
    far = np.linspace(rating.slip, 0.98, 60)
    through = np.array([_through_resistance(subject, float(s)) for s in far])
    middle = float(np.interp(0.5, far, through))
    share = Measure(words="slip", unit="pu")
    return Chart(
        key="efficiency_slip",
        title="Efficiency against slip stays under 1 \u2212 s",
        note=f"{TERMINALS} Resistance set for rated torque at each slip. {subject.rings_words}",
        caption=(
            f"At half speed the bound is 50 %; with rotor resistance at rated torque {show(middle, 'pu')} are left, on the "
            f"line {show(float(np.interp(0.5, slip, line)), 'pu')}."
        ),
        panels=(
            Panel(
                x=share,
                y=Measure(words="efficiency", unit="pu"),
                lines=(
                    Line(
                        label="1 \u2212 s", x=np.array([0.0, 1.0]), y=np.array([1.0, 0.0]), role=Role.BOUND, prefer=0.3
                    ),
                    Line(label="rotor resistance, rated torque", x=far, y=through, tone=1, prefer=0.6),
                    Line(label="on the line, rated voltage", x=slip, y=np.maximum(line, 0.0), prefer=0.35),
                ),
                top=1.0,
            ),
        ),
    )


def _through_resistance(subject: Subject, slip: float) -> float:
    """Efficiency at a slip with the resistance that keeps the rotor current of rated slip."""
    ohms = subject.branch.R * (slip / subject.motor.rating.slip - 1)
    stage = Stage(name="resistance", until=settled(), rotor_external=max(ohms, 0.0))
    at = solve(replace(subject.drive, motor=subject.rings), stage, float(subject.sync * (1 - slip)))
    return float(at.torque * at.speed / at.power)


def constant_circuit(subject: Subject) -> Circuit:
    """One rotor branch and no saturation: the circuit whose current runs on a circle."""
    return replace(subject.circuit, rotor=(subject.branch,), leakage_saturation=None, main_saturation=None)


def current_at(subject: Subject, slip: Array) -> Array:
    """Phase current of the constant circuit at rated voltage against slip, infinite slip allowed; complex. [A]"""
    circuit, rating = constant_circuit(subject), subject.motor.rating
    branch = circuit.rotor[0]
    with np.errstate(invalid="ignore", divide="ignore"):
        rotor = np.where(np.isinf(slip), 1 / (1j * branch.X), 1 / (branch.R / slip + 1j * branch.X))
    rotor = np.where(slip == 0, 0.0, rotor)
    gap = circuit.magnetising_admittance(rating.frequency) + rotor
    return np.asarray(rating.phase_voltage / (circuit.stator_impedance(rating.frequency) + 1 / gap))


def circle(subject: Subject) -> Chart:
    """The current locus: every slip a point on one circle, output and torque read off chords.

    Source: the locus of a Moebius map of slip is a circle; air-gap power and shaft power are linear in active and reactive
    current along it, and vanish at slip 0 and at infinite slip, or at slip 0 and 1 (classical circle diagram).
    """
    rating = subject.motor.rating
    circuit = constant_circuit(subject)
    turn = np.linspace(-np.pi / 2, np.pi / 2, 721)
    knee = float(circuit.rotor[0].R / abs(circuit.rotor[0].X + circuit.X1))
    locus = current_at(subject, knee * np.tan(turn))
    top = breakdown(circuit, rating.phase_voltage, rating.frequency, subject.sync)
    named = (
        ("no load, s = 0", 0.0),
        ("rated", rating.slip),
        (f"breakdown, s = {show(top.slip, '')}", top.slip),
        ("standstill, s = 1", 1.0),
        ("s = ∞", np.inf),
    )
    points = {name: complex(current_at(subject, np.array([s]))[0]) for name, s in named}
    spots = [(-p.imag, p.real) for p in points.values()]
    chords = (
        ("output is zero on this chord", spots[0], spots[3]),
        ("torque is zero on this chord", spots[0], spots[4]),
    )
    lines = [Line(label="current for every slip", x=-locus.imag, y=locus.real, prefer=0.75)]
    lines += [
        Line(label=name, x=np.array([a[0], b[0]]), y=np.array([a[1], b[1]]), role=Role.AID, prefer=0.66 - 0.3 * n)
        for n, (name, a, b) in enumerate(chords)
    ]
    dots = tuple(Dot(x=x, y=y, words=name, tone=1) for name, (x, y) in zip(points, spots, strict=True))
    at = operating_point(circuit, rating.slip, rating.phase_voltage, rating.frequency, subject.sync)
    return Chart(
        key="circle_diagram",
        title="Circle diagram: the end of the current phasor runs on a circle",
        note="Constant parameters: one rotor branch that runs like the motor's rotor, no saturation, no displacement.",
        caption=(
            f"No load {show(abs(points['no load, s = 0']), 'A')}, rated slip {show(abs(at.stator_current), 'A')}, standstill "
            f"{show(abs(points['standstill, s = 1']), 'A')}, all per phase of the star equivalent. Distance from a chord is "
            f"in proportion to output or to torque; the greatest torque lies where a parallel touches the circle."
        ),
        panels=(
            Panel(
                x=Measure(words="reactive current", unit="A"),
                y=Measure(words="active current", unit="A"),
                lines=tuple(lines),
                dots=dots,
                whole=True,
            ),
        ),
    )
