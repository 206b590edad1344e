"""Rotor chopper, recovery, unequal resistors and rotor feeding against switched circuits in ngspice, at stated slips.

Continuous conduction, three and four diodes at once: torque, link current and recovered power within 5 %. Other modes
are compared too: the smooth-link answer is known to be low there, and each row states by how much at most.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, log, pi, radians, sqrt
from pathlib import Path

import numpy as np
import pytest

from slipwise.methods.speed import rotor_bridged
from slipwise.methods.speed.rotor_bridged import LinkLine
from slipwise.methods.speed.rotor_fed import injected_state
from slipwise.methods.speed.rotor_side import inside, rings
from slipwise.model.converter.recovery import inverter
from slipwise.model.converter.rotor_bridge import DC_PER_LINE
from slipwise.model.machine.unequal import unequal_rotor
from tests.independent import switched_rotor as circuit
from tests.independent.switched_rotor import Timing, mean, ngspice, simulate

__all__ = ["ngspice"]  # the fixture, used by name
HERTZ, CHOKE, SWITCH = 500.0, 0.02, 0.01  # of the chopper; ohm of the choke and of a closed switch


def diode(current: float) -> float:
    """Forward drop of the diode written in the circuit: 25.85 mV ln(i / 1 uA), and 2 mohm. [V]"""
    return 0.02585 * log(max(current, 1e-3) / 1e-6) + 2e-3 * current


def settled(slip: float, line: Callable[[float], LinkLine]) -> tuple[float, float]:
    """Torque [N m] and link current [A] of our own answer, the diodes' drop taken at that current."""
    seen, current, torque = rings(circuit.drive(), "rotor_chopper"), 8.0, 0.0
    for _ in range(8):
        torque, _, current = (float(x[0, 0]) for x in rotor_bridged.along(seen, np.array([slip]), (line(current),)))
    return torque, current


def chopper_case(
    ngspice: str, folder: Path, slip: float, duty: float, ohms: float, choke: float
) -> tuple[float, float, float, float, float]:
    """Ours and theirs: torque, torque, link current, link current; then the least link current met."""
    torque, current = settled(
        slip,
        lambda i: LinkLine(back=2 * diode(i), resistance=CHOKE + ohms * (1 - duty) + SWITCH * duty),
    )
    deck = circuit.machine(slip) + circuit.diode_bridge(inductance=choke, resistance=CHOKE)
    deck += circuit.chopper(ohms, duty, HERTZ)
    found = simulate(ngspice, folder, deck, "v(tq) i(Vdc)", Timing(end=0.9, start=0.5))
    return torque, mean(found, "v(tq)"), current, mean(found, "i(Vdc)"), float(found["i(Vdc)"].min())


@pytest.mark.parametrize(
    ("slip", "duty"), [(0.1, 0.9), (0.15, 0.6), (0.25, 0.5), (0.25, 0.9), (0.4, 0.95), (0.5, 0.3), (0.8, 0.0)]
)
def test_rotor_chopper_against_a_switched_circuit(ngspice: str, tmp_path: Path, slip: float, duty: float) -> None:
    """12 ohm, 50 mH, 500 Hz: torque and link current within 5 %; slip 0.4 at duty 0.95 has four diodes conducting at once."""
    torque, theirs, current, link, least = chopper_case(ngspice, tmp_path, slip, duty, 12.0, 0.05)
    assert least > 0.5 * link
    assert torque == pytest.approx(theirs, rel=0.05)
    assert current == pytest.approx(link, rel=0.05)


@pytest.mark.parametrize(
    ("at", "ohms", "choke", "low"),
    [
        ((0.05, 0.98), 12.0, 0.05, 0.08),  # nearly short-circuited at small slip
        ((0.25, 0.5), 60.0, 0.05, 0.10),  # light load: ripple of a third of the current
        ((0.25, 0.5), 12.0, 0.005, 0.08),  # choke ten times too small
        ((0.25, 0.5), 12.0, 0.001, 0.13),  # hardly any choke
    ],
)
def test_rotor_chopper_outside_its_assumptions(
    ngspice: str, tmp_path: Path, at: tuple[float, float], ohms: float, choke: float, low: float
) -> None:
    """With a rippling link our torque is low, by no more than each row says, and never high by more than 2 %."""
    torque, theirs, _, _, _ = chopper_case(ngspice, tmp_path, *at, ohms, choke)
    assert -low < torque / theirs - 1 < 0.02


def recovery_case(
    ngspice: str, folder: Path, slip: float, degrees: float, volts: float, choke: float
) -> dict[str, tuple[float, float]]:
    """Ours and theirs: torque, link current, recovered power."""
    reactance, firing = 0.3, radians(degrees)
    torque, current = settled(
        slip,
        lambda i: LinkLine(
            back=4 * diode(i) - DC_PER_LINE * volts * cos(firing), resistance=0.05 + 2 * SWITCH + 3 / pi * reactance
        ),
    )
    deck = circuit.machine(slip) + circuit.diode_bridge(inductance=choke, resistance=0.05)
    deck += circuit.thyristor_bridge(volts, firing, reactance)
    found = simulate(ngspice, folder, deck, "v(tq) i(Vdc) v(pu)", Timing())
    return {
        "torque": (torque, mean(found, "v(tq)")),
        "link current": (current, mean(found, "i(Vdc)")),
        "recovered power": (float(inverter(current, volts, firing, reactance).power), -mean(found, "v(pu)")),
    }


@pytest.mark.parametrize(
    ("slip", "degrees", "volts"),
    [(0.2, 105.0, 120.0), (0.25, 110.0, 120.0), (0.3, 130.0, 80.0), (0.4, 120.0, 120.0), (0.5, 130.0, 120.0)],
)
def test_slip_recovery_against_a_switched_circuit(
    ngspice: str, tmp_path: Path, slip: float, degrees: float, volts: float
) -> None:
    """Six diodes, 100 mH, six thyristors on 0.3 ohm: torque, link current and recovered power within 5 %."""
    for name, (ours, theirs) in recovery_case(ngspice, tmp_path, slip, degrees, volts, 0.1).items():
        assert ours == pytest.approx(theirs, rel=0.05), name


@pytest.mark.parametrize(("degrees", "choke", "low"), [(115.0, 0.01, 0.06), (121.0, 0.1, 1.0)])
def test_slip_recovery_outside_its_assumptions(
    ngspice: str, tmp_path: Path, degrees: float, choke: float, low: float
) -> None:
    """Slip 0.3, 120 V: with a tenth of the choke a little low; beyond the no-load angle only gaps of current are left.

    There the circuit still carries pulses worth a few per cent of rated torque where a smooth link carries nothing.
    """
    found = recovery_case(ngspice, tmp_path, 0.3 if degrees < 120 else 0.25, degrees, 120.0, choke)
    ours, theirs = found["torque"]
    assert -low <= ours / theirs - 1 < 0.02
    assert theirs > 0
    assert low < 1 or theirs < 0.05 * circuit.drive().motor.rating.torque


@pytest.mark.parametrize(
    ("slip", "share", "angle"), [(0.25, 0.2, 0.1), (-0.2, -0.25, 0.05), (0.2, 0.25, -0.1), (-0.2, -0.15, 0.0)]
)
def test_rotor_feeding_against_a_pulsed_inverter(
    ngspice: str, tmp_path: Path, slip: float, share: float, angle: float
) -> None:
    """Two-level inverter at 1.5 kHz on the rings, motoring and braking, below and above synchronous speed: within 5 %."""
    seen = rings(circuit.drive(), "rotor_fed")
    injected = share * seen.open_voltage * np.exp(1j * angle)
    state = injected_state(seen, slip, injected)
    power = float(slip * state.gap_power - state.rotor_loss)
    behind = 1 + seen.circuit.stator_impedance(50.0) * seen.circuit.magnetising_admittance(50.0)
    ring = sqrt(2) * injected / seen.ratio * np.exp(-1j * np.angle(behind))
    deck = circuit.machine(slip) + circuit.pulsed_voltages(slip, abs(ring), float(np.angle(ring)), 3 * abs(ring), 1500)
    columns = "v(tq) i(Vr1) i(Vr2) i(Vr3) v(r1,n) v(r2,n) v(r3,n)"
    found = simulate(ngspice, tmp_path, deck, columns, Timing(step=20e-6, end=0.9, start=0.5))
    for k in (1, 2, 3):
        found[f"p{k}"] = found[f"i(Vr{k})"] * found[f"v(r{k},n)"]
    assert state.torque == pytest.approx(mean(found, "v(tq)"), rel=0.05)
    assert power == pytest.approx(-sum(mean(found, f"p{k}") for k in (1, 2, 3)), rel=0.05)


@pytest.mark.parametrize("slip", [0.1, 0.45, 0.5, 0.55, 0.8])
def test_unequal_resistors_against_a_circuit(ngspice: str, tmp_path: Path, slip: float) -> None:
    """1, 1 and 6 ohm on the rings, through the dip at half speed: torque and each ring's current within 0.5 %."""
    seen, ohms = rings(circuit.drive(), "rotor_resistance"), (1.0, 1.0, 6.0)
    ours = unequal_rotor(
        seen.circuit, slip, seen.emf, 50.0, seen.sync, resistors=tuple(r * seen.ratio**2 for r in ohms)
    )
    deck = circuit.machine(slip) + "".join(f"Rx{k + 1} r{k + 1} z {r}\n" for k, r in enumerate(ohms)) + "Rz z 0 1e5\n"
    found = simulate(ngspice, tmp_path, deck, "v(tq) i(Vr1) i(Vr2) i(Vr3)", Timing(end=1.4, start=1.0))
    torque = float(inside(seen, slip, ours.forward).torque + ours.backward_torque)
    assert torque == pytest.approx(mean(found, "v(tq)"), rel=0.005)
    theirs = [float(np.sqrt(np.mean(found[f"i(Vr{k})"] ** 2))) for k in (1, 2, 3)]
    assert list(ours.phases * seen.ratio) == pytest.approx(theirs, rel=0.005)
