"""Numbers of the lecture: identities of the machine and independent searches, not what the code once gave."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

import slipwise
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.skin import current_density, resistance_ratio
from slipwise.quantity.errors import InputError
from slipwise.results.lecture import FlowPicture
from slipwise.teach.lecture import lecture
from slipwise.teach.lecture.rotors import deep_bar, double_cage
from slipwise.teach.lecture.steady import constant_circuit, current_at
from slipwise.teach.lecture.subject import running_branch, subject_of
from tests.behaviour.lecture_drawn import CAGE, EXAMPLES, RINGS, chart_of, of

SUBJECTS = {name: subject_of(slipwise.load(EXAMPLES / f"{name}.toml")) for name in (CAGE, RINGS)}


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_running_branch_agrees_near_synchronous_speed(name: str) -> None:
    """The one branch has the admittance of the whole rotor up to the third order of slip (series of the fraction)."""
    circuit = SUBJECTS[name].circuit
    branch = running_branch(circuit)
    errors = [abs(circuit.rotor_admittance(s, 50.0) - s / (branch.R + 1j * s * branch.X)) for s in (1e-3, 2e-3)]
    assert errors[0] <= 1e-3 * abs(circuit.rotor_admittance(1e-3, 50.0))
    assert errors[1] <= 8.1 * errors[0] + 1e-15


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_rotors_of_the_comparison_are_alike_in_running(name: str) -> None:
    """Deep bars and double cage have the resistance and leakage of the plain cage for slip towards 0."""
    subject = SUBJECTS[name]
    both = running_branch(Circuit(frequency=50.0, R1=0.1, X1=0.1, Xm=1.0, rotor=double_cage(subject.branch)))
    assert both.R == pytest.approx(subject.branch.R, rel=1e-12)
    assert both.X == pytest.approx(subject.branch.X, rel=1e-12)
    impedance = complex(deep_bar(subject).impedance(1e-4))
    assert impedance.real == pytest.approx(subject.branch.R, rel=1e-4)
    assert impedance.imag / 1e-4 == pytest.approx(subject.branch.X, rel=1e-3)


@pytest.mark.parametrize("xi", [0.2, 1.0, 3.5])
def test_current_in_a_bar(xi: float) -> None:
    """Mean density is 1; the mean of its square is the resistance ratio (loss); it solves the equation of diffusion."""
    real, imaginary = (
        quad(lambda d, p=p: float(getattr(current_density(xi, d), p)), 0, 1)[0] for p in ("real", "imag")
    )
    assert real == pytest.approx(1.0, abs=1e-9)
    assert imaginary == pytest.approx(0.0, abs=1e-9)
    loss = quad(lambda d: float(abs(current_density(xi, d)) ** 2), 0, 1)[0]
    assert loss == pytest.approx(float(resistance_ratio(xi)), rel=1e-9)
    step = 1e-3
    low, middle, high = (complex(current_density(xi, d)) for d in (0.4 - step, 0.4, 0.4 + step))
    assert (low - 2 * middle + high) / step**2 == pytest.approx(2j * xi**2 * middle, rel=1e-4)


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_star_and_taps(name: str) -> None:
    """Star takes and gives a third; on a tap k the line current and the torque are k squared times those of direct."""
    for chart, shares in (("star_delta", (1 / 3,)), ("taps", (0.64, 0.4225, 0.25))):
        for panel in chart_of(name, chart).panels:
            full, *others = [line for line in panel.lines if line.role == "curve"]
            drag = SUBJECTS[name].motor.mechanical_torque(full.x) if panel.y.unit == "N m" else 0.0
            for line, share in zip(others, shares, strict=True):
                standing = slice(0, 1)
                assert line.y[standing] == pytest.approx(share * full.y[standing], rel=1e-9)
                assert line.y + drag == pytest.approx(share * (full.y + drag), rel=0.03, abs=0.01 * float(full.y.max()))


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_greatest_torque_at_rest(name: str) -> None:
    """The added resistance that the figure marks is that which scipy finds by searching; past it the torque falls."""
    subject, chart = SUBJECTS[name], chart_of(name, "torque_at_rest")
    circuit, rating = subject.rings.circuit, subject.motor.rating
    assert circuit is not None

    def torque(ohms: float) -> float:
        at = operating_point(circuit, 1.0, rating.phase_voltage, rating.frequency, subject.sync, external=ohms)
        return float(at.torque)

    dot = chart.panels[0].dots[0]
    best = minimize_scalar(lambda x: -torque(x), bounds=(0.0, 8 * dot.x), method="bounded", options={"xatol": 1e-10})
    assert dot.x == pytest.approx(best.x, rel=1e-4)
    assert dot.y == pytest.approx(torque(dot.x), rel=1e-3)
    family = chart_of(name, "rotor_resistance").panels[0]
    at_rest = [d.y for d in family.dots]
    assert max(at_rest) == at_rest[2]
    assert at_rest[2] > at_rest[3] > at_rest[4]


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_current_locus_is_a_circle(name: str) -> None:
    """Every slip, positive, negative or infinite, lies on the circle through three of them; torque and output are in
    proportion to the distance from their chords (classical circle diagram)."""
    subject = SUBJECTS[name]
    slip = np.concatenate([-np.geomspace(1e-3, 1e3, 40), np.geomspace(1e-3, 1e3, 40)])
    a, b, c = (complex(v) for v in current_at(subject, np.array([0.0, 1.0, np.inf])))
    centre = _centre(a, b, c)
    assert np.abs(current_at(subject, slip) - centre) == pytest.approx(abs(a - centre), rel=1e-9)
    circuit, rating = constant_circuit(subject), subject.motor.rating
    positive = np.geomspace(1e-3, 10, 30)
    at = operating_point(circuit, positive, rating.phase_voltage, rating.frequency, subject.sync)
    for end, quantity in ((c, at.torque), (b, at.converted_power)):
        chord = (end - a) / abs(end - a)
        distance = ((current_at(subject, positive) - a) * chord.conjugate()).imag
        ratio = quantity / distance
        assert ratio == pytest.approx(np.full(30, ratio[0]), rel=1e-6)


def _centre(a: complex, b: complex, c: complex) -> complex:
    """Of the circle through three points (determinant formula)."""
    w = (c - a) / (b - a)
    return (b - a) * (w - abs(w) ** 2) / (2j * w.imag) + a


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_power_flows_close_and_efficiency_stays_under_its_bound(name: str) -> None:
    """What goes in comes out as losses and shaft power; no efficiency lies above 1 - s."""
    picture = next(p for topic in of(name).topics for p in topic.pictures if p.key == "power_flow")
    assert isinstance(picture, FlowPicture)
    for flow in picture.flows:
        assert flow.shaft + sum(power for _, power in flow.lost) == pytest.approx(flow.supplied, rel=1e-9)
    slow = picture.flows[2]
    rotor = dict(slow.lost)["rotor copper"] + dict(slow.lost)["rotor resistor"]
    gap = slow.supplied - dict(slow.lost)["stator copper"] - dict(slow.lost)["core"]
    assert rotor == pytest.approx(0.5 * gap, rel=1e-9)  # slip times air-gap power
    for line in chart_of(name, "efficiency_slip").panels[0].lines:
        if line.role == "curve":
            assert (line.y <= 1 - line.x + 1e-12).all()


@pytest.mark.parametrize("name", [CAGE, RINGS])
def test_design_letters(name: str) -> None:
    """A draws more at rest than B and both slip alike; D has the greatest torque at rest of the four (NEMA MG 1, 1.19)."""
    torque, current = (chart_of(name, f"designs_{what}").panels[0].lines for what in ("torque", "current"))
    a, b, _, d = (line.y for line in current)
    assert a[0] > 1.1 * b[0] > 1.1 * d[0]
    assert max(line.y[0] for line in torque) == torque[3].y[0]
    assert chart_of(name, "designs_torque").caption.endswith("A and B differ in current at rest, D in slip.")


def test_reduced_voltage_is_the_circuit_itself() -> None:
    """At rest the curves are those of the bare circuit at that voltage, solved by hand with complex numbers."""
    subject, chart = SUBJECTS[CAGE], chart_of(CAGE, "reduced_voltage")
    circuit = subject.circuit
    inner = 1 / circuit.Rfe + 1 / (1j * circuit.Xm) + sum(1 / (b.R + 1j * b.X) for b in circuit.rotor)
    impedance = circuit.R1 + 1j * circuit.X1 + 1 / inner
    for line, share in zip(chart.panels[1].lines, (1.0, 0.9, 0.8, 0.7, 0.6, 0.5), strict=True):
        volts = share * subject.motor.rating.phase_voltage
        assert line.y[0] == pytest.approx(volts / abs(impedance), rel=1e-9)
    rotor = sum(1 / (b.R + 1j * b.X) for b in circuit.rotor)
    gap = subject.motor.rating.phase_voltage / (impedance * inner)
    at_rest = 3 * abs(gap) ** 2 * rotor.real / (2 * pi * 50 / 2)
    assert chart.panels[0].lines[0].y[0] == pytest.approx(at_rest, rel=1e-9)


def test_a_motor_known_by_curves_is_refused() -> None:
    """One clear error names the field, the reason and what to give instead."""
    study = slipwise.load(EXAMPLES / f"{CAGE}.toml")
    with pytest.raises(InputError, match=r"motor.*typed curves do not tell.*give the plate or a circuit"):
        lecture(replace(study, motor=replace(study.motor, circuit=None, curves=())))


def test_a_companion_is_the_running_rotor() -> None:
    """The slip-ring companion of a cage has one branch, the stator unchanged, and carries rated torque at rated slip."""
    subject = SUBJECTS[CAGE]
    circuit = subject.rings.circuit
    assert circuit is not None
    assert circuit.rotor == (RotorBranch(R=subject.branch.R, X=subject.branch.X),)
    assert (circuit.R1, circuit.X1, circuit.Xm) == (subject.circuit.R1, subject.circuit.X1, subject.circuit.Xm)
    rating = subject.motor.rating
    here, there = (
        float(operating_point(c, rating.slip, rating.phase_voltage, rating.frequency, subject.sync).torque)
        for c in (circuit, subject.circuit)
    )
    assert here == pytest.approx(there, rel=0.01)
