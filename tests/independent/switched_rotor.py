"""A slip-ring motor at fixed speed as a circuit for ngspice: rotor-frame axes, real diodes, thyristors, switches, dc link."""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import dataclass
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest

from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import Motor, Rating
from slipwise.solve.plan import Drive
from tests.drives import quadratic, stiff

LINE, HERTZ, PAIRS, RATIO = 400.0, 50.0, 2, 1.6
R1, X1, XM, R2, X2 = 0.45, 1.3, 38.0, 0.4, 1.3  # stator-referred ohm, invented

AXES = """
Vs{x} s{x} 0 SIN(0 {peak} {slip_hertz} 0 0 {degrees})
R1{x} s{x} a{x} {R1}
L1{x} a{x} b{x} {L1}
Vi{x} b{x} c{x} 0
Be{x} c{x} m{x} V={sign}{w}*({L1}*I(Vi{y})+{Lm}*I(Vm{y}))
Lm{x} m{x} d{x} {Lm}
Vm{x} d{x} 0 0
Rm{x} m{x} 0 {damp}
"""
RINGS = """
Bja 0 ma I=(I(Vr1)-0.5*I(Vr2)-0.5*I(Vr3))/1.5
Bjb 0 mb I=(I(Vr2)-I(Vr3))*0.57735026919
Btq tq 0 V=1.5*{pairs}*{Lm}*(I(Vib)*(I(Vma)-I(Via))-I(Via)*(I(Vmb)-I(Vib)))
Rtq tq 0 1
Rn n 0 1e5
"""
PHASE = """
Vr{k} r{k} p{k} 0
R2{k} p{k} q{k} {R2}
L2{k} q{k} e{k} {L2}
Bv{k} e{k} n V={ca}*V(ma)+{cb}*V(mb)
"""
BRIDGE = """
.model dd d(is=1e-6 n=1 rs=2m)
D1 r1 plus dd
D2 r2 plus dd
D3 r3 plus dd
D4 minus r1 dd
D5 minus r2 dd
D6 minus r3 dd
Rf minus 0 1e5
Rsn plus minus 2e4
Rs1 r1 k1 200
Cs1 k1 n 0.1u
Rs2 r2 k2 200
Cs2 k2 n 0.1u
Rs3 r3 k3 200
Cs3 k3 n 0.1u
Vdc plus l0 0
Ldc l0 l1 {Ldc} ic=0
Rdc l1 link {Rdc}
"""
RUN = """
.options reltol=1e-3 abstol=1e-4 vntol=1e-3 chgtol=1e-9 method=gear itl4=200 rshunt=1e7 cshunt=1e-9
.control
set wr_singlescale
set numdgt=9
tran {step} {end} {start} {step} uic
wrdata {out} {columns}
quit
.endc
.end
"""


@pytest.fixture
def ngspice() -> str:
    """The simulator; where it is missing the test is skipped aloud, but in continuous integration it must be there."""
    found = shutil.which("ngspice")
    if found is None and os.environ.get("CI"):
        pytest.fail("ngspice is not installed, and continuous integration needs it: apt-get install ngspice")
    if found is None:
        pytest.skip("ngspice is not installed: the comparison with a switched circuit was NOT made")
    return found


def drive() -> Drive:
    """The motor without core, friction and stray loss, on a source without impedance."""
    circuit = Circuit(frequency=HERTZ, R1=R1, X1=X1, Xm=XM, rotor=(RotorBranch(R=R2, X=X2),))
    rating = Rating(
        power=7.5e3,
        voltage=LINE,
        frequency=HERTZ,
        poles=2 * PAIRS,
        speed=0.96 * 2 * pi * HERTZ / PAIRS,
        current=16.0,
        connection="star",
    )
    motor = Motor(rating=rating, inertia=0.1, circuit=circuit, wound_ratio=RATIO)
    return Drive(motor=motor, load=quadratic(motor, 0.8), supply=stiff(motor))


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """Seconds: step, end, and from when on the means are taken."""

    step: float = 40e-6
    end: float = 1.2
    start: float = 0.8


def machine(slip: float) -> str:
    """The motor seen from its rings r1, r2, r3; all values as built in the rotor."""
    omega, square = 2 * pi * HERTZ, RATIO**2
    values = {
        "peak": LINE * sqrt(2 / 3) / RATIO,
        "slip_hertz": slip * HERTZ,
        "R1": R1 / square,
        "L1": X1 / omega / square,
        "Lm": XM / omega / square,
        "w": omega * (1 - slip),
        "damp": 200 * XM / square,
    }
    axes = AXES.format(x="a", y="b", sign="-", degrees=90, **values) + AXES.format(
        x="b", y="a", sign="", degrees=0, **values
    )
    turned = ((1.0, 0.0), (-0.5, sqrt(3) / 2), (-0.5, -sqrt(3) / 2))
    phases = [
        PHASE.format(k=k + 1, R2=R2 / square, L2=X2 / omega / square, ca=ca, cb=cb) for k, (ca, cb) in enumerate(turned)
    ]
    return axes + RINGS.format(pairs=PAIRS, Lm=XM / omega / square) + "".join(phases)


def diode_bridge(*, inductance: float, resistance: float) -> str:
    """Diode bridge on the rings and the choke, ending at nodes `link` and `minus`."""
    return BRIDGE.format(Ldc=inductance, Rdc=resistance)


def chopper(resistance: float, duty: float, hertz: float) -> str:
    """Resistor between `link` and `minus`, shorted by a switch for the duty."""
    return f"""
Rch link minus {resistance}
Cch link minus 20n
Vg g 0 PULSE(0 1 0 5u 5u {duty / hertz - 5e-6} {1 / hertz})
Bch link minus I=V(link,minus)*100*V(g)
"""


def thyristor_bridge(line_voltage: float, firing: float, reactance: float) -> str:
    """Six valves between `link` (negative bus) and `minus` (positive bus) on a three-phase source behind a reactance.

    A valve is a diode with a switch that stays closed past the overlap and opens while the valve is still reverse biased.
    """
    period, peak = 1 / HERTZ, line_voltage * sqrt(2 / 3)
    window = (120 + 0.8 * (180 - np.degrees(firing))) / 360 * period
    text = []
    for k in range(3):
        text += [
            f"Vu{k} u{k} 0 SIN(0 {peak} {HERTZ} 0 0 {-120 * k})",
            f"Vc{k} u{k} x{k} 0",
            f"Lu{k} x{k} y{k} {reactance / (2 * pi * HERTZ)}",
            f"Rx{k} y{k} 0 2e4",
        ]
        for name, shift in (("t", 0.0), ("b", 180.0)):
            delay = (30 + 120 * k + shift + np.degrees(firing)) / 360 * period
            text.append(f"Vg{name}{k} g{name}{k} 0 PULSE(0 1 {delay % period} 5u 5u {window} {period})")
        text += [
            f"Bt{k} y{k} t{k} I=V(y{k},t{k})*(1e-6+100*V(gt{k}))",
            f"Dt{k} t{k} minus dd",
            f"Bb{k} link b{k} I=V(link,b{k})*(1e-6+100*V(gb{k}))",
            f"Db{k} b{k} y{k} dd",
        ]
    text.append("Bpu pu 0 V=" + "+".join(f"V(u{k})*I(Vc{k})" for k in range(3)))
    return "\n".join([*text, "Rpu pu 0 1", ""])


def pulsed_voltages(slip: float, peak: float, angle: float, link: float, carrier: float) -> str:
    """Ring voltages of a two-level inverter: sine of slip frequency against a triangle, three legs."""
    hertz = slip * HERTZ
    period = 1 / carrier
    text = [f"Vtri tri 0 PULSE(-1 1 0 {period / 2} {period / 2} 1n {period})"]
    for k in range(3):
        wave = f"{2 * peak / link}*cos({2 * pi * hertz}*time+{angle - 2 * pi * k / 3})"
        text.append(f"Bw{k} r{k + 1} z V={link / 2}*(({wave})>V(tri) ? 1 : -1)")
    return "\n".join([*text, "Rz z 0 1e5", ""])


def simulate(simulator: str, folder: Path, circuit: str, columns: str, timing: Timing) -> dict[str, np.ndarray]:
    """Runs the circuit; each column by its name, with `time`, over the last part of the run."""
    names = columns.split()
    text = (
        "slip-ring motor at fixed speed\n"
        + circuit
        + RUN.format(step=timing.step, end=timing.end, start=timing.start, out=folder / "out.data", columns=columns)
    )
    deck = folder / "deck.cir"
    deck.write_text(text, encoding="utf-8")
    done = subprocess.run([simulator, "-b", str(deck)], capture_output=True, text=True, check=False, timeout=240)
    data = folder / "out.data"
    assert data.exists(), done.stdout[-1500:] + done.stderr[-1500:]
    table = np.loadtxt(data)
    assert table[-1, 0] > 0.999 * timing.end, done.stderr[-1500:]
    return {"time": table[:, 0]} | {name: table[:, k + 1] for k, name in enumerate(names)}


def mean(found: dict[str, np.ndarray], name: str) -> float:
    """Time mean of a column."""
    return float(np.trapezoid(found[name], found["time"]) / (found["time"][-1] - found["time"][0]))
