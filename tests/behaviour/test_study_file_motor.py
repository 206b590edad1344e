"""Rotors with deep bars, saturating iron, slip-ring motors by their plate, typical sets: from the file to the motor."""

from __future__ import annotations

from math import pi, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.identify.designs import NOTE
from slipwise.identify.records import Plate
from slipwise.identify.rows import shown_by
from slipwise.identify.wound import Rings, fit_wound, rotor_current
from slipwise.methods.starting.grading import rotor_ohms, stator_ohms
from slipwise.model.machine.point import operating_point
from slipwise.model.machine.saturated import saturated_point
from slipwise.model.machine.skin import reactance_ratio, reduced_height, resistance_ratio
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin
from slipwise.study.model import Study
from slipwise.study.reader import loads
from slipwise.study.run import run
from tests.reference import sampled

BASE = (Path(__file__).parents[1] / "broken" / "base.toml").read_text(encoding="utf-8")
CIRCUIT = BASE[BASE.index("[motor.circuit]") : BASE.index("[load]")]


def study(motor: str, *edits: tuple[str, str]) -> Study:
    """The plain file with something added behind its circuit, and edits made once."""
    text = BASE.replace(CIRCUIT, CIRCUIT + motor)
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return loads(text)


def impedance(study: Study, slip: float) -> complex:
    """Of the rotor branches in parallel. [ohm]"""
    circuit = study.motor.circuit
    assert circuit is not None
    return complex(1 / sum(1 / (b.R + 1j * slip * b.X) for b in circuit.rotor))


BARS = '[motor.bars]\ndepth = "26 mm"\nwidth = "4 mm"\nslot_width = "5 mm"\nmaterial = "aluminium"\nshare = "60 %"\n'


def test_bars_follow_the_formula_of_the_deep_bar():
    """Running the rotor has R2 and X2; at standstill what the bar formulas give, within the error the ladder states."""
    found = study(BARS)
    rho = 2.8264e-8 * (1 + 0.00403 * 55)  # aluminium at 75 degC; coefficient of IEC 60889 (from memory)
    xi = float(reduced_height(0.026, 50.0, rho, 0.8))
    inside = 2 / 3 * xi**2 * 0.6 * 0.33
    wanted = 0.33 * (0.4 + 0.6 * float(resistance_ratio(xi))) + 1j * (0.95 - inside * (1 - float(reactance_ratio(xi))))
    assert impedance(found, 1.0) == pytest.approx(wanted, rel=0.03)
    running = impedance(found, 0.01)
    assert (running.real, running.imag / 0.01) == pytest.approx((0.33, 0.95), rel=0.03)
    words = next(row for row in found.inputs if row.name == "motor.circuit.rotor")
    assert words.origin is Origin.DERIVED
    assert "impedance within" in words.text


def test_standstill_values_are_met():
    """The two-point law has the running values near synchronous speed and the others at rest."""
    found = study(
        "", ('X2 = "0.95 ohm"\n', 'X2 = "0.95 ohm"\nR2_standstill = "0.62 ohm"\nX2_standstill = "0.80 ohm"\n')
    )
    assert impedance(found, 1.0) == pytest.approx(0.62 + 0.80j, rel=0.03)
    assert impedance(found, 0.005).real == pytest.approx(0.33, rel=0.03)


def test_standstill_values_as_wound_are_a_third():
    """Ohms of a delta winding as wound go to the star equivalent together with R2 and X2."""
    pair = 'X2 = "0.95 ohm"\nR2_standstill = "0.62 ohm"\nX2_standstill = "0.80 ohm"\n'
    edits = [
        ("star equivalent", "as wound"),
        ('X2 = "0.95 ohm"\n', pair.replace("0.95", "2.85").replace("0.62", "1.86")),
    ]
    edits += [(f'"{x} ohm"', f'"{3 * float(x):g} ohm"') for x in ("0.40", "0.72", "21", "0.33", "0.80")]
    star, wound = study("", ('X2 = "0.95 ohm"\n', pair)), study("", *edits)
    assert impedance(wound, 1.0) == pytest.approx(impedance(star, 1.0), rel=1e-6)


def test_a_start_with_deep_bars_runs_at_both_levels_of_time():
    """Run-up, electrical transient and explanation know as many branches as the ladder has."""
    found = run(study(BARS), boundaries=False, ensemble=0)
    way = found.ways[0]
    assert way.band is not None
    assert way.band.worst.run_up_time == pytest.approx(way.run_ups[0].run_up_time, rel=0.1)
    torque = next(row for row in found.explanations if row.name == "motor.locked_rotor_torque")
    ratio = next(row.value for row in found.rated if row.name == "motor.locked_rotor_torque_ratio")
    assert torque.value == pytest.approx((ratio or 0.0) * found.rated_torque, rel=1e-6)


SATURATION = "[motor.saturation]\nleakage_knee = 2.0\nmain_unsaturated = 1.25\n"


def test_saturation_raises_locked_rotor_current_and_says_what_it_does_to_reduced_voltage():
    """More than the linear current at full voltage, less than proportion at reduced voltage; shares assumed with ranges."""
    plain, found = study(""), study(SATURATION)
    rating, circuit = found.motor.rating, found.motor.circuit
    assert circuit is not None
    assert plain.motor.circuit is not None
    linear = operating_point(plain.motor.circuit, 1.0, rating.phase_voltage, 50.0, rating.synchronous_speed)
    full, part = (
        saturated_point(circuit, 1.0, volts, 50.0, rating.synchronous_speed).point
        for volts in (rating.phase_voltage, rating.phase_voltage / sqrt(3))
    )
    assert abs(full.stator_current) > 1.05 * abs(linear.stator_current)
    assert abs(part.stator_current) < abs(full.stator_current) / sqrt(3)
    rows = {row.name: row for row in found.inputs}
    ratio = abs(part.stator_current) / abs(full.stator_current)
    assert f"{100 * ratio:.0f} % of the locked-rotor current" in rows["motor.saturation.reduced_voltage"].text
    assert rows["motor.saturation.rotor_share"].origin is Origin.ASSUMED
    assert circuit.leakage_saturation is not None
    assert circuit.leakage_saturation.knee == pytest.approx(2.0 * 21.5 * sqrt(2))


def test_saturation_leaves_the_rated_point():
    """Below the knee, and at rated flux, the circuit is the one that was given."""
    found = study(SATURATION).motor
    assert found.circuit is not None
    rating = found.rating
    at = saturated_point(found.circuit, rating.slip, rating.phase_voltage, 50.0, rating.synchronous_speed).circuit
    assert (float(at.X1), float(at.Xm)) == pytest.approx((0.72, 21.0), rel=1e-6)


PLATE = Plate(
    power=200e3, voltage=400, frequency=50, poles=6, connection="delta", speed=980 * pi / 30, current=365,
    power_factor=0.85, efficiency=0.94, breakdown_torque_ratio=2.6, inertia=7.0,
)  # fmt: skip


@sampled(40)
@given(
    slip=st.floats(0.008, 0.035), cosine=st.floats(0.76, 0.9), breakdown=st.floats(2.0, 3.2), ratio=st.floats(0.4, 2.5)
)
def test_slip_ring_plate_is_met(slip: float, cosine: float, breakdown: float, ratio: float):
    """Slip, current, power factor and breakdown torque of the circuit are those of the plate."""
    efficiency = 0.95 - slip
    current = 200e3 / (sqrt(3) * 400 * cosine * efficiency)
    plate = Plate(
        power=200e3, voltage=400, frequency=50, poles=6, connection="star", speed=(1 - slip) * 100 * pi / 3, current=current,
        power_factor=cosine, efficiency=efficiency, breakdown_torque_ratio=breakdown, inertia=7.0,
    )  # fmt: skip
    try:
        fit = fit_wound(plate, Rings(voltage=400 / ratio))
    except InputError:
        return  # a plate that no single rotor winding shows is refused by name
    shown = shown_by(fit.motor)
    assert shown.slip == pytest.approx(slip, rel=2e-3)
    assert (shown.current, shown.power_factor) == pytest.approx((current, cosine), rel=2e-3)
    assert shown.breakdown_torque_ratio == pytest.approx(breakdown, rel=0.02)


def test_rotor_current_and_resistance_keep_line_and_phase_apart():
    """At the rings, 3 I^2 R is the rotor loss slip x air-gap power, and sqrt(3) U I s the slip power but for leakage."""
    fit = fit_wound(PLATE, Rings(voltage=500.0))
    motor = fit.motor
    assert motor.circuit is not None
    assert motor.wound_ratio == pytest.approx(400 / 500)
    rating = motor.rating
    p = operating_point(motor.circuit, rating.slip, rating.phase_voltage, 50.0, rating.synchronous_speed)
    own = rotor_ohms(motor.circuit.rotor[0].R, motor.wound_ratio)
    loss = 3 * rotor_current(motor) ** 2 * own
    assert loss == pytest.approx(float(p.rotor_loss), rel=1e-9)
    assert sqrt(3) * 500 * rotor_current(motor) * rating.slip == pytest.approx(loss, rel=0.12)
    assert stator_ohms(own, motor.wound_ratio) == pytest.approx(motor.circuit.rotor[0].R)
    assert rating.connection == "delta"


def test_a_current_of_phase_against_line_is_refused():
    """Sqrt(3) between ring voltage and ring current is named."""
    current = rotor_current(fit_wound(PLATE, Rings(voltage=500.0)).motor)
    fit = fit_wound(PLATE, Rings(voltage=500.0, current=1.03 * current))
    row = next(row for row in fit.rows if row.name == "rotor current")
    assert row.model / row.plate == pytest.approx(1 / 1.03)
    with pytest.raises(InputError, match=r"sqrt\(3\) away"):
        fit_wound(PLATE, Rings(voltage=500.0, current=current * sqrt(3)))


def test_slip_ring_motor_from_the_file():
    """The crusher of the examples: rotor resistors apply, the ring current stands in the plate table."""
    found = loads((Path(__file__).parents[2] / "examples" / "crusher_k1.toml").read_text(encoding="utf-8"))
    assert found.motor.wound_ratio == pytest.approx(400 / 470)
    assert "rotor current" in [row.name for row in found.plate]
    assert found.nameplate is None


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_turns_ratio_of_a_delta_stator_is_that_of_its_phases(connection: str):
    """Turns over turns becomes line over line: 1/sqrt(3) of it for a stator in delta, the rotor being in star."""
    found = study("", ('connection = "delta"', f'connection = "{connection}"\nwound_ratio = 1.2'))
    assert found.motor.wound_ratio == pytest.approx(1.2 / (sqrt(3) if connection == "delta" else 1.0))


DESIGN = """
[motor]
rated_power = "40 hp (mechanical)"
rated_voltage = "460 V"
rated_frequency = "60 Hz"
poles = 4
connection = "delta"
design = "{design}"
"""


@pytest.mark.parametrize("design", ["A", "B", "C", "D", "N", "NE", "H"])
def test_a_design_letter_alone_is_a_typical_set(design: str):
    """Every ratio comes with its range, and the set is marked as typical of its letter."""
    text = DESIGN.format(design=design) + BASE[BASE.index("[load]") :].replace('"1460 r/min"', '"1750 r/min"').replace(
        '"400 V"', '"460 V"'
    )
    found = loads(text)
    assert NOTE in [row.text for row in found.inputs]
    rows = {row.name: row for row in found.inputs}
    for name in ("locked_rotor_current_ratio", "locked_rotor_torque_ratio", "breakdown_torque_ratio"):
        row = rows[f"motor.{name}"]
        assert row.origin is Origin.ESTIMATED
        assert row.low is not None
        assert row.high is not None
        assert row.low < row.high


def test_designs_differ_as_their_letters_say():
    """Design D starts hardest and slips most; design C starts harder than design B."""
    torque, slip = {}, {}
    for design in "BCD":
        text = DESIGN.format(design=design) + BASE[BASE.index("[load]") :].replace('"1460 r/min"', '"1750 r/min"')
        motor = loads(text.replace('"400 V"', '"460 V"')).motor
        torque[design], slip[design] = shown_by(motor).locked_rotor_torque_ratio, motor.rating.slip
    assert torque["D"] > torque["C"] > torque["B"]
    assert slip["D"] > 2 * slip["B"]
    assert np.all(np.array(list(slip.values())) > 0)
