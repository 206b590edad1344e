"""Shorthands of the classroom against the full computation: errors known in closed form, figures, page, command."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest

from slipwise.doors.cli.app import main
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.motor import MechanicalLoss
from slipwise.model.machine.saturation import LeakageSaturation
from slipwise.model.supply.path import Busbar, Link, SupplyCases, SupplyPath
from slipwise.present.figures import Look
from slipwise.present.figures.claims import beside_text, catalogue
from slipwise.quantity.errors import InputError
from slipwise.results.claims import Answer, ClaimRow
from slipwise.study.reader import load
from slipwise.teach.claims import EVERY, claims
from slipwise.teach.claims.motor import judged, machine_of, reach
from tests.behaviour.test_figures import texts
from tests.reference import published

PUMP = Path(__file__).parent.parent.parent / "examples" / "pump_p3.toml"
SINGLE = Circuit(frequency=50.0, R1=0.03, X1=0.1, Xm=3.0, rotor=(RotorBranch(R=0.02, X=0.1),))


@pytest.fixture(scope="module")
def found():
    """The shorthands for the example of the pump."""
    return {claim.key: claim for claim in claims(load(PUMP)).claims}


def single(circuit: Circuit = SINGLE, impedance: complex = 0j):
    """The pump's study with a single cage without losses at the shaft, fed through one impedance."""
    study = load(PUMP)
    motor = replace(study.motor, circuit=circuit, stray=0.0, mechanical_loss=MechanicalLoss())
    bar = Busbar(name="terminals", nominal=400.0)
    path = SupplyPath(
        voltage=400.0, frequency=50.0, links=(Link(name="l", kind="network", impedance=impedance, busbar=bar),)
    )
    return replace(study, motor=motor, supply=SupplyCases(nominal=path, weak=path, strong=path))


def rows(study, key: str) -> dict[str, ClaimRow]:
    """The cases of one shorthand, the others left aside."""
    return {row.case: row for row in EVERY[key](study, machine_of(study)).rows}


def test_stiff_terminals_and_constant_reactances_make_the_old_rules_exact():
    """Star's third and the square of the voltage are identities then (D01 and D10 of the check values)."""
    study = single()
    assert all(abs(row.error) < 1e-9 for row in rows(study, "star_third").values())
    assert all(abs(row.error) < 1e-9 for row in rows(study, "voltage_squared").values())


def test_star_on_a_weak_supply_by_the_voltage_divider():
    """Ohm's law: delta through Z_s draws U/(Z_s+Z), star U/(Z_s+3Z); the rule errs by their ratio less a third."""
    series = 0.01 + 0.05j
    gap = 1 / (1 / 3j + 1 / (0.02 + 0.1j))
    motor = 0.03 + 0.1j + gap
    expected = abs(series + 3 * motor) / abs(3 * (series + motor)) - 1
    row = rows(single(impedance=series), "star_third")["line current, on the supply of the study"]
    assert row.error == pytest.approx(expected, rel=1e-9)


@published("IEC 60034-1 practice of saturating leakage: less torque at reduced voltage", status="direction only")
def test_saturating_leakage_bends_the_square():
    """With leakage that saturates the torque at half voltage is less than a quarter."""
    law = LeakageSaturation(knee=400.0, stator_share=0.5, rotor_share=0.5)
    error = rows(single(replace(SINGLE, leakage_saturation=law)), "voltage_squared")[
        "torque at rest, 50 % voltage"
    ].error
    assert error is not None
    assert error > 0.02


def test_resistance_of_the_highest_starting_torque():
    """Breakdown at rest when the rotor resistance equals |R_th + j(X_th + X2)| (Chapman, 4th ed., ch. 7)."""
    z = (0.03 + 0.1j) * 3j / (0.03 + 3.1j)
    best = abs(z + 0.1j) / 0.02
    claim = EVERY["rotor_resistance"](single(), machine_of(single()))
    computed, _ = claim.lines
    assert float(computed.x[int(np.argmax(computed.y))]) == pytest.approx(best, rel=0.02)
    assert claim.answer is Answer.PARTLY


def test_heat_without_load_is_the_stored_energy():
    """D07 of the check values: to 0.5 % quasi-steady; as a transient 1.08 to 1.18 times in the cases looked at there."""
    without, swings = (
        rows(single(), "kinetic_energy")[case]
        for case in ("no load, no friction", "no load, as an electrical transient")
    )
    assert without.error == pytest.approx(0.0, abs=0.005)
    assert 1.0 < swings.computed / swings.rule < 1.4


def test_a_load_too_heavy_to_start_is_lightened_until_it_arrives():
    """Sixty times the load hangs: shares of a few per cent are looked at, and the page says that more does not arrive."""
    study = load(PUMP)
    heavy = tuple(replace(term, coefficient=60 * term.coefficient, exponent=0.0) for term in study.load.terms)
    study = replace(study, load=replace(study.load, terms=heavy))
    claim = EVERY["kinetic_energy"](study, machine_of(study))
    assert "does not arrive" in claim.holds
    assert 0 < claim.lines[0].x[-1] < 10
    assert len(claim.lines[0].x) >= 3


def test_breakdown_at_low_frequency_by_the_closed_form():
    """Chapman's breakdown torque at 20 % frequency and voltage, all reactances a fifth, or the torque at rest."""
    x, volts, speed = 0.2, 0.2 * 400 / math.sqrt(3), 0.2 * 50 * math.pi
    z = (0.03 + 0.1j * x) * 3j * x / (0.03 + 3.1j * x)
    source = volts * abs(3j * x / (0.03 + 3.1j * x))
    slip = 0.02 / abs(z + 0.1j * x)
    torque = 3 * source**2 / (2 * speed * (z.real + abs(z + 0.1j * x)))
    assert slip < 1
    assert rows(single(), "constant_volts_per_hertz")["breakdown torque at 20 % frequency"].computed == pytest.approx(
        torque, rel=1e-9
    )


def test_approximate_circuit_by_hand():
    """Torque at rest with the branch at the terminals: three U2 R2 / (omega |R + jX|2) of the approximate circuit."""
    u2, speed = 400.0**2 / 3, 50 * math.pi
    near = 3 * u2 * 0.02 / (speed * (0.05**2 + 0.2**2))
    assert rows(single(), "approximate_circuit")["torque at rest"].rule == pytest.approx(near, rel=1e-9)


def test_efficiency_never_exceeds_one_less_slip(found):
    """An upper bound at every load (D06 of the check values)."""
    computed, bound = found["efficiency_slip"].lines
    assert (computed.y < bound.y).all()


def test_ten_times_lies_between_rms_and_first_crest(found):
    """The crest of a fully displaced current is above the symmetrical one and below twice it."""
    rms, crest = (row.computed for row in found["ten_times"].rows)
    assert math.sqrt(2) * rms < crest < 2 * math.sqrt(2) * rms


def test_every_shorthand_of_the_course_is_answered(found):
    """Nine of them, each with its reason, where it holds, cases and a figure of two lines."""
    assert len(found) == 9
    for claim in found.values():
        assert all((claim.said, claim.why, claim.holds))
        assert claim.rows
        assert sum(line.rule for line in claim.lines) == 1
        assert all(np.isfinite(line.y).all() and line.x.shape == line.y.shape for line in claim.lines)


@pytest.mark.parametrize(
    ("errors", "partly", "answer"),
    [((0.0, 0.009), False, Answer.TRUE), ((0.01, -0.04), False, Answer.NEARLY), ((0.2,), True, Answer.PARTLY),
     ((0.2,), False, Answer.FALSE)],
)  # fmt: skip
def test_answers_follow_the_greatest_error(errors, partly, answer):
    """1 % true, 5 % nearly true."""
    made = tuple(ClaimRow(case="c", rule=1 + e, computed=1.0, unit="") for e in errors)
    assert judged(made, partly=partly) is answer


def test_reach_stops_at_the_first_error_beyond_the_bound():
    """A second good stretch farther away does not count."""
    error = np.array([0.2, 0.04, 0.0, 0.03, 0.06, 0.0])
    assert reach(np.arange(6.0), error, 2) == (1.0, 3.0)


def test_a_motor_of_curves_is_refused():
    """The message says what to give instead."""
    study = load(PUMP)
    with pytest.raises(InputError, match=r"curves only; give \[motor\.circuit\]"):
        claims(replace(study, motor=replace(study.motor, circuit=None)))


def test_figures_keep_their_words_apart(found):
    """No two texts of any figure overlap, and none is cut; light and dark are laid out alike."""
    from slipwise.results.claims import Claims

    every = Claims(title="t", slipwise_version="", file="", claims=tuple(found.values()), notes=(), cautions=())
    for _, _, draw in catalogue(every):
        figure = draw(Look())
        figure.canvas.draw()
        boxes = texts(figure)
        for number, (words, box) in enumerate(boxes):
            assert 0 <= box.x0 < box.x1 <= 1334, words
            assert 0 <= box.y0 < box.y1 <= 750, words
            for other, beside in boxes[number + 1 :]:
                wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
                high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
                assert wide <= 0.5 or high <= 0.5, f"{words!r} and {other!r} overlap"


def test_figures_end_where_their_curves_end(found):
    """No room beyond the last point of any curve."""
    for claim in found.values():
        (axes,) = beside_text(claim).axes
        assert axes.get_xlim()[1] == pytest.approx(max(float(line.x.max()) for line in claim.lines))


def test_claims_by_command(found, tmp_path, capsys):
    """Terminal, page, table of all cases and one figure a shorthand; no folder without --out."""
    from pypdf import PdfReader

    out = tmp_path / "claims"
    assert main(["teach", "claims", str(PUMP), "--out", str(out)]) == 0
    shown = capsys.readouterr().out
    assert "Is it true for this motor?" in shown
    assert "licensed engineer" in shown
    assert "were assumed or estimated" in " ".join(shown.split())
    assert "overload class" not in shown
    assert "shut valve" not in shown
    pages = [page.extract_text() for page in PdfReader(BytesIO((out / "claims.pdf").read_bytes())).pages]
    words = " ".join(pages)
    assert "Breakdown torque at constant volts per hertz" in words
    together = [" ".join(page.split()) for page in pages]  # a shorthand, its cases and what stands before its figure
    for claim in found.values():
        begins = claim.why.split(";")[0].split(":")[0][:40]
        assert any(f" {claim.title} {claim.said[:20]}" in page and begins in page for page in together), claim.key
    with (out / "tables" / "cases.csv").open(encoding="utf-8") as file:
        assert len(list(csv.reader(file))) > 30
    assert len(list((out / "figures").glob("*.svg"))) == 9
