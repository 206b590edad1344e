"""Formulas by topic and worked steps: one definition for value, substituted step and every form of writing."""

from __future__ import annotations

import cmath
import csv
import math
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.doors.cli.app import main
from slipwise.doors.cli.teach import COMMANDS
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.point import breakdown, operating_point
from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import renamed, shown_value
from slipwise.teach import formulas as registry
from slipwise.teach.formulas.build import formula, unit_of
from slipwise.teach.steps import Known, Work
from slipwise.teach.worked import solutions_pdf, step_block
from tests.behaviour.test_formula import check_dimensions
from tests.reference import sampled

FORMS = ("text", "typst", "latex", "mathml")
WANTED = {  # the topics a course on starting and speed control asks for
    "circuit", "torque", "starting", "rotor_steps", "dip", "run_up", "heat", "frequency", "rotor_chopper", "recovery", "poles",
    "bench", "duty",
}  # fmt: skip
KEYS = registry.keys()
CIRCUIT = ("R1", "X1", "R2", "X2", "Xm")


def running(values: dict[str, float]) -> Work:
    """The operating point of a circuit in star, step by step."""
    work = Work("Operating point")
    for name, value in values.items():
        work.given(name, f"{value!r} ohm" if name in CIRCUIT else value)
    work.given("U_p", "230 V")
    work.given("f", "50 Hz")
    work.given("poles", 4)
    for key in (
        "machine.synchronous_speed", "circuit.stator_impedance", "circuit.magnetising_reactance", "circuit.rotor_impedance",
        "circuit.gap_impedance", "circuit.input_impedance", "circuit.stator_current", "circuit.gap_voltage",
        "circuit.rotor_current", "power.input", "power.reactive", "power.stator_loss", "power.gap_without_core",
        "power.converted", "power.air_gap_torque", "torque.source_impedance", "torque.source_resistance",
        "torque.source_reactance", "torque.source_voltage", "torque.breakdown_slip", "torque.breakdown",
    ):  # fmt: skip
        work.step(key)
    return work


def test_registry_covers_the_trade():
    """Every topic of the course is there, eighty formulas and more, each key once, each found by it."""
    assert {topic.key for topic in registry.TOPICS} >= WANTED
    every = [one for topic in registry.TOPICS for one in topic.formulas]
    assert len(every) == len({one.key for one in every}) == len(KEYS) >= 80
    assert all(registry.formula(one.key) is one for one in every)
    assert all(len(topic.formulas) >= 4 for topic in registry.TOPICS)


@pytest.mark.parametrize("key", KEYS)
def test_every_formula_has_its_dimension_and_every_form(key):
    """Evaluated with quantities that carry units (pint), and written in text, typst, LaTeX and well-formed MathML."""
    one = registry.formula(key)
    check_dimensions(one)
    assert all(getattr(one, form)() for form in FORMS)
    ET.fromstring(one.mathml())


def test_every_formula_is_set_by_the_typesetter():
    """All formulas of all topics as one page: a symbol that is no symbol to the typesetter would stop it."""
    steps = []
    for key in KEYS:
        work, one = Work(key), registry.formula(key)
        for name, value in zip(one.names, _sensible(one.names), strict=True):
            work.take(Known(symbol=name, value=value, unit=one.units[name]))
        if one.symbol in one.names:
            continue
        work.step(one)
        steps.append(work.solution())
    assert len(steps) > 0.95 * len(KEYS)
    assert solutions_pdf("Formulas", steps).startswith(b"%PDF")


def _sensible(names: tuple[str, ...]) -> list[float]:
    """Values under which no formula of the registry leaves its domain: roots of differences, logarithms, angles."""
    special = {
        "P_0": 900.0, "I_0": 5.0, "U_0": 400.0, "Z_0": 50.0, "R_0": 2.0, "I_lim": 20.0, "U_p": 230.0, "m": 0.6, "T_b": 9.0,
        "T": 4.0, "T_n": 3.0, "i_l": 6.0, "s_n": 0.04, "s_1": 0.5, "s_2": 0.1, "cos_alpha": -0.4, "Z_T": 4.0, "R_T": 1.0,
        "Z_k": 5.0, "R_k": 1.0, "T_high": 5.0, "T_low": 3.0, "X_0": 30.0, "X_kn": 2.0, "lambda_x": 1.0, "P_S2": 9.0,
        "t_on": 600.0, "tau": 3600.0, "tau_c": 5400.0, "t_off": 600.0, "a": 0.4, "I_2": 20.0, "p_1": 4.0, "p_2": 6.0,
        "T_L": 2.0, "omega_s": 157.0, "W": 9.0, "W_0": 12.0,
    }  # fmt: skip
    return [special.get(name, 1.0 + 0.37 * place) for place, name in enumerate(names)]


@sampled(40)
@given(
    values=st.fixed_dictionaries(
        {"R1": st.floats(0.1, 3), "X1": st.floats(0.2, 4), "R2": st.floats(0.1, 3), "X2": st.floats(0.2, 4),
         "Xm": st.floats(15, 90), "s": st.floats(0.005, 1)}
    )
)  # fmt: skip
def test_steps_give_what_the_solver_gives(values):
    """The chain by hand and the operating point of the model agree to 1e-12, breakdown included."""
    found = running(values).solution()
    circuit = Circuit(
        frequency=50.0,
        R1=values["R1"],
        X1=values["X1"],
        Xm=values["Xm"],
        rotor=(RotorBranch(R=values["R2"], X=values["X2"]),),
    )
    speed = 4 * math.pi * 50 / 4
    point = operating_point(circuit, values["s"], 230.0, 50.0, speed)
    top = breakdown(circuit, 230.0, 50.0, speed)
    assert found.value("I_1") == pytest.approx(point.stator_current, rel=1e-12)
    assert found.value("I_2") == pytest.approx(point.rotor_current, rel=1e-12)
    assert complex(found.value("P_1").real, found.value("Q_1").real) == pytest.approx(point.input_power, rel=1e-12)
    assert found.value("T") == pytest.approx(point.torque, rel=1e-9)
    assert (found.value("s_b"), found.value("T_b")) == pytest.approx((top.slip, top.torque), rel=1e-12)


def test_nothing_is_rounded_before_it_is_used():
    """A third printed as 0.3333 is still a third in the next step."""
    work = Work("Whole")
    work.given("a", 1)
    work.step(formula("t.third", "A third", "k = a / 3"))
    assert work.step(formula("t.back", "Back", "m = 3 * k")) == 1.0
    assert work.solution().steps[0].line() == "k = a / 3 = 1 / 3 = 0.3333"


def test_givens_print_as_entered_and_results_to_four_figures():
    """28.0 A keeps its zero; the result is rounded in print and whole in value."""
    work = Work("Resistance")
    work.given("U_dc", "13.6 V")
    work.given("I_dc", "28.0 A")
    work.step("bench.R_t")
    found = work.solution()
    assert found.steps[0].line() == "R_t = U_dc / I_dc = 13.6 V / (28.0 A) = 0.4857 Ω"
    assert found.value("R_t") == 13.6 / 28.0


@pytest.mark.parametrize("form", FORMS)
def test_phasors_stand_in_both_forms(form):
    """Rectangular and polar: 3 + j 4 is 5 at 53.13 degrees, in every form of writing."""
    shown = shown_value(Known(symbol="Z", value=3 + 4j, unit="ohm"), form)
    assert "53.13" in shown
    assert "5" in shown.replace("53.13", "")
    assert ("∠" in shown) or (r"\angle" in shown)
    size, angle = cmath.polar(3 + 4j)
    assert (size, round(math.degrees(angle), 2)) == (5.0, 53.13)


def test_speeds_of_one_step_stand_in_one_unit():
    """Entered in r/min, the synchronous speed beside it is printed in r/min as well; its own result in both."""
    work = Work("Slip")
    work.given("f", "50 Hz")
    work.given("poles", "4")
    work.given("omega", "1440 r/min")
    work.step("machine.synchronous_speed")
    work.step("circuit.slip")
    lines = list(work.solution().lines())
    assert lines[-2].endswith("= 157.1 rad/s (1500.0 r/min)") or lines[-2].endswith("= 157.1 rad/s (1500 r/min)")
    assert "1440 r/min" in lines[-1]
    assert "rad/s" not in lines[-1]
    assert work.solution().value("s") == pytest.approx(0.04, rel=1e-12)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda work: work.step("torque.kloss"), r"torque\.kloss\.T_b.*no value in this solution"),
        (lambda work: work.step("torque.klos"), r"no such formula.*torque\.kloss"),
        (lambda work: work.step("circuit.phase_voltage", V="U"), r"V.*is not in the formula"),
        (lambda work: work.given("U", "400 V"), r"U.*has a value already"),
        (lambda work: work.given("I", "4 V"), r"I: \"4 V\".*unit of a voltage"),
        (lambda _: registry.topic("torqe"), r"no such topic; choose one of circuit"),
        (lambda work: work.solution().value("T"), r"neither given nor found"),
        (lambda work: list(work.solution().lines("word")), r"not a form of writing"),
    ],
)
def test_mistakes_are_named(make, words):
    """Field, value, reason and remedy."""
    work = Work("Wrong")
    work.given("U", "400 V")
    with pytest.raises(InputError, match=words):
        make(work)


def test_a_renamed_formula_keeps_order_and_value():
    """The author's order stays, only the symbols change."""
    assert renamed("3 * U_p**2 * (R2 / s)", {"U_p": "U", "s": "s_b"}) == "3 * U ** 2 * (R2 / s_b)"
    assert unit_of("omega_n") == "rad/s"
    assert unit_of("Delta_U") == "V"


def test_the_collection_on_paper(tmp_path, capsys):
    """One topic and all of them: PDF, page and table hold every formula; an unknown topic leaves no folder."""
    from pypdf import PdfReader

    assert main(["teach", "formulas", "dip", "--out", str(tmp_path / "dip")]) == 0
    text = " ".join(
        " ".join(page.extract_text() for page in PdfReader(tmp_path / "dip" / "formulas.pdf").pages).split()
    )
    assert all(one.title in text for one in registry.topic("dip").formulas)
    assert main(["teach", "formulas", "--out", str(tmp_path / "all")]) == 0
    with (tmp_path / "all" / "formulas.csv").open(encoding="utf-8") as file:
        assert [row["key"] for row in csv.DictReader(file)] == list(KEYS)
    page = ET.parse(tmp_path / "all" / "formulas.html")
    assert len(list(page.iter("{http://www.w3.org/1998/Math/MathML}math"))) == len(KEYS)
    capsys.readouterr()
    assert main(["teach", "formulas", "dop", "--out", str(tmp_path / "none")]) == 2
    assert not (tmp_path / "none").exists()


def test_a_step_names_source_and_validity():
    """The block for the page carries both, and the formula in code and as words."""
    block = step_block(
        running({"R1": 1.0, "X1": 2.0, "R2": 1.0, "X2": 2.0, "Xm": 60.0, "s": 0.05}).solution().steps[-1], "7"
    )
    assert block["number"] == "7"
    assert "Source: Chapman" in block["note"]
    assert "Holds for:" in block["note"]
    assert block["symbolic"]["alt"].startswith("T_b = 3")


def test_formulas_by_command(capsys):
    """Topics with their numbers; one topic in full, in the form asked for; an unknown one is refused."""
    assert main(["teach", "formulas"]) == 0
    assert "Torque and breakdown" in capsys.readouterr().out
    assert main(["teach", "formulas", "dip", "--form", "latex"]) == 0
    shown = capsys.readouterr().out
    assert r"\frac{" in shown
    assert "(dip.divider)" in shown
    assert main(["teach", "formulas", "dop"]) == 2
    assert "there is no such topic" in capsys.readouterr().err


@pytest.mark.parametrize("command", [name for name, *_ in COMMANDS])
def test_every_command_of_teach_explains_itself(command, capsys):
    """Its usage, and code 0."""
    assert main(["teach", command, "--help"]) == 0
    assert f"slipwise teach {command}" in capsys.readouterr().out


def test_python_on_the_page_about_teaching_runs():
    """The example of worked steps, as it stands on the page, gives the breakdown torque it is about."""
    page = (Path(__file__).parent.parent.parent / "docs" / "teaching.md").read_text(encoding="utf-8")
    example = page.split("```python\n")[1].split("```")[0]
    names: dict[str, Any] = {}
    exec(example, names)
    found = names["work"].solution()
    phase, x = 460 / math.sqrt(3), 1.106 + 0.464
    expected = 3 * phase**2 / (2 * 60 * math.pi * (0.641 + math.hypot(0.641, x)))
    assert found.value("T_b") == pytest.approx(expected, rel=1e-12)
    assert names["page"].startswith(b"%PDF")
