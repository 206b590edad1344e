"""A motor behind six thyristors as a circuit for the general circuit simulator ngspice, at a held speed."""

from __future__ import annotations

import os
import shutil
import subprocess
from dataclasses import dataclass
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest

from slipwise.model.machine.motor import Motor

SECONDS, STEP, PERIODS = 0.6, 10e-6, 2

PHASE = """
Vs{x} s{x} 0 SIN(0 {peak} {hertz} 0 0 {degrees})
Vg{x}p g{x}p 0 PULSE(0 1 {up} 1u 1u {width} {period})
Vg{x}n g{x}n 0 PULSE(0 1 {down} 1u 1u {width} {period})
S{x}p s{x} u{x} g{x}p 0 gate
D{x}p u{x} t{x} valve
S{x}n w{x} s{x} g{x}n 0 gate
D{x}n t{x} w{x} valve
Rb{x} s{x} t{x} {blocking}
Vi{x} t{x} a{x} 0
R1{x} a{x} b{x} {R1}
L1{x} b{x} e{x} {L1}
Be{x} e{x} star V={share}
"""

AXIS = """
Bi{x} 0 m{x} I={current}
Rc{x} m{x} 0 {Rfe}
Lm{x} m{x} c{x} {Lm}
Vm{x} c{x} 0 0
L2{x} m{x} d{x} {L2}
R2{x} d{x} f{x} {R2}
Vr{x} f{x} h{x} 0
Bw{x} h{x} 0 V={sign}{omega}*({Lm}*I(Vm{y})-{L2}*I(Vr{y}))
"""

RUN = """
Rstar star 0 1e6
Btq tq 0 V=1.5*{pairs}*{Lm}*(I(Vmq)*I(Vrz)-I(Vmz)*I(Vrq))
Rtq tq 0 1
Bpow pw 0 V=V(sa)*I(Via)+V(sb)*I(Vib)+V(sc)*I(Vic)
Rpow pw 0 1
.model gate SW(VT=0.5 VH=0.1 RON=1m ROFF=1e7)
.model valve D(IS=1e-9 N=0.05 RS=1m)
.options reltol=1e-4 abstol=1e-6 vntol=1e-5 method=gear maxord=2 itl4=200
.control
set wr_singlescale
set numdgt=8
tran {step} {end} {begin} {step} uic
wrdata {out} v(tq) v(pw) i(Via) i(Vib) i(Vic)
quit
.endc
.end
"""

IQ = "(2*I(Via)-I(Vib)-I(Vic))/3"
IZ = f"(I(Vib)-I(Vic))/{sqrt(3)}"
SHARES = {"a": "V(mq)", "b": f"-0.5*V(mq)+{sqrt(3) / 2}*V(mz)", "c": f"-0.5*V(mq)-{sqrt(3) / 2}*V(mz)"}


def simulator() -> str:
    """ngspice; where it is missing the test is skipped aloud, but in continuous integration it must be there."""
    found = shutil.which("ngspice")
    if found is None and os.environ.get("CI"):
        pytest.fail("ngspice is not installed, and continuous integration needs it: apt-get install ngspice")
    if found is None:
        pytest.skip("ngspice is not installed: the comparison with a switched circuit was NOT made")
    return found


@dataclass(frozen=True, kw_only=True)
class Simulated:
    """Averages over the last periods: torque N m, source power W, rms line current A, and harmonics by order."""

    torque: float
    power: float
    current: float
    harmonics: dict[int, float]


def netlist(motor: Motor, slip: float, firing: float, out: Path) -> str:
    """Source, thyristors (a gated switch and a diode each way), and the machine with its stator as three real phases."""
    circuit, rating = motor.circuit, motor.rating
    assert circuit is not None
    omega, period = 2 * pi * circuit.frequency, 1 / circuit.frequency
    base = {
        "R1": circuit.R1, "L1": circuit.X1 / omega, "Lm": circuit.Xm / omega, "L2": circuit.rotor[0].X / omega,
        "R2": circuit.rotor[0].R, "Rfe": circuit.Rfe, "hertz": circuit.frequency, "peak": rating.phase_voltage * sqrt(2),
        "omega": omega * (1 - slip), "pairs": rating.poles // 2, "period": period, "width": period * 179 / 360,
        "blocking": 2e6, "step": STEP, "end": SECONDS, "begin": SECONDS - PERIODS * period, "out": out,
    }  # fmt: skip
    text = "phase control at a held speed\n"
    for k, x in enumerate("abc"):
        up = (firing / (2 * pi) + k / 3) % 1 * period
        down = (firing / (2 * pi) + k / 3 + 0.5) % 1 * period
        text += PHASE.format(x=x, degrees=-120 * k, up=up, down=down, share=SHARES[x], **base)
    text += AXIS.format(x="q", y="z", sign="-", current=IQ, **base)
    text += AXIS.format(x="z", y="q", sign="", current=IZ, **base)
    return text + RUN.format(**base)


def simulate(motor: Motor, slip: float, firing: float, folder: Path) -> Simulated:
    """The switched circuit from a dead machine until it repeats itself, and its averages."""
    out = folder / "run.data"
    (folder / "run.cir").write_text(netlist(motor, slip, firing, out), encoding="utf-8")
    subprocess.run([simulator(), "-b", "run.cir"], cwd=folder, check=True, capture_output=True, timeout=300)
    time, torque, power, *phases = np.loadtxt(out).T
    span = time[-1] - time[0]
    omega = 2 * pi * motor.rating.frequency

    def mean(values: np.ndarray) -> complex:
        return complex(np.sum(0.5 * (values[1:] + values[:-1]) * np.diff(time)) / span)

    first = phases[0]
    return Simulated(
        torque=mean(torque).real,
        power=mean(power).real,
        current=sqrt(sum(mean(i * i).real for i in phases) / 3),
        harmonics={h: sqrt(2) * abs(mean(first * np.exp(-1j * h * omega * time))) for h in (1, 5, 7, 11, 13)},
    )
