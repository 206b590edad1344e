"""One short direct start in the general circuit simulator ngspice, the machine written as a two-axis circuit."""

from __future__ import annotations

import os
import shutil
import subprocess
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest

from slipwise.solve.plan import Drive, Stage, elapsed
from slipwise.solve.transient import transient
from tests.drives import machine, quadratic, stiff

SECONDS, STEP = 0.5, 25e-6

AXIS = """
Vs{x} s{x} 0 SIN(0 {peak} {hertz} 0 0 {degrees})
R1{x} s{x} a{x} {R1}
L1{x} a{x} b{x} {L1}
Vi{x} b{x} m{x} 0
Lm{x} m{x} c{x} {Lm}
Vm{x} c{x} 0 0
L2{x} m{x} d{x} {L2}
R2{x} d{x} e{x} {R2}
Vr{x} e{x} f{x} 0
Be{x} f{x} 0 V={sign}{pairs}*V(w)*({Lm}*I(Vm{y})-{L2}*I(Vr{y}))
"""

SHAFT = """
Bt 0 w I=1.5*{pairs}*{Lm}*(I(Vma)*I(Vib)-I(Vmb)*I(Via))-{load}*V(w)*V(w)
Cj w 0 {inertia}
Btq tq 0 V=1.5*{pairs}*{Lm}*(I(Vma)*I(Vib)-I(Vmb)*I(Via))
Rtq tq 0 1
"""

RUN = """
.options reltol=1e-6 abstol=1e-9 vntol=1e-9 method=trap
.control
set wr_singlescale
set numdgt=10
tran {step} {end} 0 {step} uic
wrdata {out} v(w) v(tq) i(Via) i(Vib)
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
        pytest.skip("ngspice is not installed: the comparison with a circuit simulator was NOT made")
    return found


def netlist(drive: Drive, out: Path) -> str:
    """Stationary two-axis circuit of the machine, its shaft as a capacitor: speed in volts, torque in amperes."""
    circuit, motor = drive.motor.circuit, drive.motor
    assert circuit is not None
    omega = 2 * pi * circuit.frequency
    term = drive.load.terms[0]
    values = {
        "R1": circuit.R1, "L1": circuit.X1 / omega, "Lm": circuit.Xm / omega, "L2": circuit.rotor[0].X / omega,
        "R2": circuit.rotor[0].R, "pairs": motor.rating.poles // 2, "inertia": drive.inertia,
        "load": term.coefficient / drive.load.base_speed**2, "hertz": circuit.frequency,
        "peak": motor.rating.phase_voltage * sqrt(2), "step": STEP, "end": SECONDS, "out": out,
    }  # fmt: skip
    a = AXIS.format(x="a", y="b", sign="-", degrees=90, **values)  # phase a at its positive peak at time zero
    b = AXIS.format(x="b", y="a", sign="", degrees=0, **values)
    return "direct start\n" + a + b + SHAFT.format(**values) + RUN.format(**values)


def test_direct_start_against_a_circuit_simulator(ngspice: str, tmp_path: Path) -> None:
    """50 hp, fan load, 0.5 s at a 25 us step: speed within 1e-4 of synchronous, torque and currents 1e-3 of their peaks."""
    motor = machine("B-krause-50hp")
    drive = Drive(motor=motor, load=quadratic(motor, 0.5), supply=stiff(motor))
    out = tmp_path / "start.data"
    (tmp_path / "start.cir").write_text(netlist(drive, out), encoding="utf-8")
    subprocess.run([ngspice, "-b", "start.cir"], cwd=tmp_path, check=True, capture_output=True, timeout=120)
    time, speed, torque, alpha, beta = np.loadtxt(out).T
    ours = transient((Stage(name="direct", until=elapsed(SECONDS)),), drive)
    inside = (ours.time >= time[0]) & (ours.time <= time[-1])
    at = ours.time[inside]
    assert at.size > 1000
    synchronous = motor.rating.synchronous_speed
    assert ours.speed[inside] == pytest.approx(np.interp(at, time, speed), rel=0, abs=1e-4 * synchronous)
    top = ours.peaks.torque_max
    assert ours.torque[inside] == pytest.approx(np.interp(at, time, torque), rel=0, abs=1e-3 * top)
    phase_b = -0.5 * alpha + sqrt(3) / 2 * beta
    for phase, theirs in ((0, alpha), (1, phase_b)):
        wanted = np.interp(at, time, theirs)
        assert ours.line_currents[phase, inside] == pytest.approx(wanted, rel=0, abs=1e-3 * ours.peaks.line_current)
