"""The diode bridge in the general circuit simulator ngspice: dc voltage, line current and its harmonics."""

from __future__ import annotations

import os
import shutil
import subprocess
from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest

from slipwise.model.converter.rectifier import Bridge, at_power

POWER, VOLTAGE, HERTZ = 50e3, 400.0, 50.0
END, STEP = 0.30, 5e-6

CIRCUIT = """diode bridge
.model valve D(is=1e-9 n=0.2 rs=1m cjo=5n)
Va a0 0 SIN(0 {peak} 50 0 0 0)
Vb b0 0 SIN(0 {peak} 50 0 0 -120)
Vc c0 0 SIN(0 {peak} 50 0 0 120)
Ca a 0 20n
Cb b 0 20n
Cc c 0 20n
La a0 a {line}
Lb b0 b {line}
Lc c0 c {line}
D1 a p valve
D2 b p valve
D3 c p valve
D4 n a valve
D5 n b valve
D6 n c valve
R1a a p 20k
R2a a n 20k
R1b b p 20k
R2b b n 20k
R1c c p 20k
R2c c n 20k
{choke}
C1 q n 50m ic={volts}
R1 q n {load}
Rg n 0 1meg
.ic v(q)={volts} v(n)=0
.options reltol=1e-4 abstol=1e-4 vntol=1e-4 method=gear gmin=1e-9 itl4=100
.control
set wr_singlescale
set numdgt=10
tran {step} {end} {first} {step} uic
wrdata {out} i(Va) v(q,n)
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


@pytest.mark.parametrize(
    ("line", "link", "load"),
    [(0.03, 0.0, 1.0), (0.01, 0.06, 0.8), (0.015, 0.0, 0.15)],
    ids=["line choke", "link choke", "interrupted current"],
)
def test_bridge_against_a_circuit_simulator(ngspice: str, tmp_path: Path, line: float, link: float, load: float):
    """With a large capacitor and a resistor: dc voltage within 0.3 %, line current and its 5th to 13th within 2 %."""
    base, omega = VOLTAGE**2 / POWER, 2 * pi * HERTZ
    ours = at_power(Bridge(voltage=VOLTAGE, line_reactance=line * base, dc_reactance=link * base), load * POWER)
    assert ours.steady is (load > 0.5)
    out = tmp_path / "bridge.data"
    text = CIRCUIT.format(
        peak=VOLTAGE * sqrt(2 / 3),
        line=line * base / omega,
        choke=f"Ld p q {link * base / omega}" if link else "Vd p q 0",
        volts=ours.dc_voltage,
        load=ours.dc_voltage**2 / (load * POWER),
        step=STEP,
        end=END,
        first=END - 1 / HERTZ,
        out=out,
    )
    (tmp_path / "bridge.cir").write_text(text, encoding="utf-8")
    subprocess.run([ngspice, "-b", "bridge.cir"], cwd=tmp_path, check=True, capture_output=True, timeout=120)
    time, drawn, link_voltage = np.loadtxt(out).T
    even = END - (np.arange(2000) + 1) / 2000 / HERTZ
    current = -np.interp(even[::-1], time, drawn)
    spectrum = abs(np.fft.rfft(current)) / current.size * sqrt(2)
    assert np.mean(np.interp(even, time, link_voltage)) == pytest.approx(ours.dc_voltage, rel=3e-3)
    assert spectrum[1] == pytest.approx(ours.fundamental, rel=0.02)
    for order, rms in ours.harmonics[:4]:
        assert spectrum[order] == pytest.approx(rms, rel=0.02, abs=0.005 * ours.fundamental)
