"""Formula strings: the number, the typeset forms, the refusals, and the dimensions of every formula in the package."""

from __future__ import annotations

import importlib
import math
import pkgutil
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

import slipwise
from slipwise.model.machine.circuit import Circuit, RotorBranch
from slipwise.model.machine.formulas import locked_rotor_current, locked_rotor_torque
from slipwise.quantity.errors import DomainError, InputError
from slipwise.quantity.formula import (
    ARITY,
    CONSTANTS,
    Formula,
    calculate,
    names_in,
    substituted,
    symbolic,
    typeset_symbol,
)
from slipwise.quantity.notation import significant, unit_text

FORMS = ("text", "typst", "latex", "mathml")


@dataclass(frozen=True)
class Given:
    """The least an input must have."""

    symbol: str
    value: float | complex
    unit: str = ""
    text: str = ""


TORQUE = Formula(
    key="example.torque",
    title="Air-gap torque",
    symbol="T",
    expression="3*V1**2*(R2_prime/s)/(omega_s*((R1+R2_prime/s)**2+(X1+X2_prime)**2))",
    units={
        "V1": "V",
        "R2_prime": "ohm",
        "s": "",
        "omega_s": "rad/s",
        "R1": "ohm",
        "X1": "ohm",
        "X2_prime": "ohm",
    },
    source="approximate circuit, magnetising branch left out",
    validity="steady state, slip not 0",
    result_unit="N m",
)
VALUES = {"V1": 265.58, "R2_prime": 0.332, "s": 0.022, "omega_s": 188.4956, "R1": 0.641, "X1": 1.106, "X2_prime": 0.464}


def test_number_is_that_of_the_same_arithmetic_in_python():
    """Evaluating the string gives what Python gives for the same line."""
    V1, R2, s, w, R1, X1, X2 = VALUES.values()
    by_hand = 3 * V1**2 * (R2 / s) / (w * ((R1 + R2 / s) ** 2 + (X1 + X2) ** 2))
    assert TORQUE.evaluate(**VALUES) == by_hand


def test_names_come_in_order_of_appearance():
    """The author's order is kept, constants and functions are no names."""
    assert names_in("pi*d*sqrt(b)+exp(j*a)+b") == ("d", "b", "a")


@pytest.mark.parametrize(
    ("expression", "values", "expected"),
    [
        ("abs(R+j*X)", {"R": 3.0, "X": 4.0}, 5.0),
        ("re(V*conj(I))", {"V": 2 + 1j, "I": 1 - 1j}, 1.0),
        ("im(V*conj(I))", {"V": 2 + 1j, "I": 1 - 1j}, 3.0),
        ("atan2(b,a)", {"a": 1.0, "b": 1.0}, math.pi / 4),
        ("max(a,b)-min(a,b)", {"a": 2.0, "b": 5.0}, 3.0),
        ("exp(log(a))*cos(0*a)+sin(0*a)+tan(0*a)", {"a": 2.0}, 2.0),
        ("-a**2+ +a", {"a": 3.0}, -6.0),
    ],
)
def test_functions(expression, values, expected):
    """Each function of the white list does what its name says."""
    units = dict.fromkeys(values, "")
    formula = Formula(
        key="t", title="t", symbol="y", expression=expression, units=units, source="t", validity="", result_unit=""
    )
    assert formula.evaluate(**values) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    "expression",
    ["__import__('os')", "a.b", "a[0]", "lambda: 1", "a if b else c", "f(a)", "sqrt(a, b)", "max(a)", "a @ b", "a // b",
     "a % b", "'text'", "True", "2j", "sqrt", "a +", "", "a == b", "sqrt(x=a)", "~a", "[a]", "(a, b)", "a := 1"],
)  # fmt: skip
def test_anything_but_arithmetic_is_refused(expression):
    """The white list holds, and the message shows the expression."""
    with pytest.raises(InputError) as caught:
        symbolic("y", expression)
    assert caught.value.faults[0].value == expression
    assert caught.value.faults[0].remedy


def test_symbols_and_units_must_agree():
    """A symbol without a unit, or a unit without a symbol, is named."""
    with pytest.raises(InputError, match=r"no unit for b; no use for c"):
        Formula(
            key="t", title="t", symbol="y", expression="a*b", units={"a": "V", "c": "A"}, source="", validity="",
            result_unit="",
        )  # fmt: skip


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"s": 0.0}, DomainError, r"example\.torque.*s = 0"),
        ({"R1": math.nan}, DomainError, r"example\.torque\.R1.*not a finite number"),
        ({"V1": 1e300}, DomainError, r"V1 = 1e\+300"),
        ({"zeta": 1.0}, InputError, r"zeta.*not in the formula"),
    ],
)
def test_values_that_cannot_stand_are_named(change, error, words):
    """No warning, no nan: the symbol is named."""
    with pytest.raises(error, match=words):
        TORQUE.evaluate(**{**VALUES, **change})


def test_a_missing_value_is_named_with_its_unit():
    """The message asks for omega_s in rad/s."""
    with pytest.raises(InputError, match=r"omega_s.*rad/s"):
        TORQUE.evaluate(**{name: value for name, value in VALUES.items() if name != "omega_s"})


def test_real_inputs_never_turn_complex_in_silence():
    """A fractional power of a negative number is a domain error, with complex inputs it is a number."""
    root = Formula(
        key="t", title="t", symbol="y", expression="a**0.5", units={"a": ""}, source="", validity="", result_unit=""
    )
    with pytest.raises(DomainError, match="a = -4"):
        root.evaluate(a=-4.0)
    assert root.evaluate(a=-4 + 0j) == pytest.approx(2j)


@pytest.mark.parametrize(
    ("name", "shown"),
    [("R1", "R₁"), ("omega_s", "ω_s"), ("s", "s"), ("T_b", "T_b"), ("Rfe", "R_Fe"), ("R2_prime", "R₂′"),
     ("cos_phi", "cos φ"), ("GD2", "GD²"), ("Delta_U", "ΔU"), ("slip", "slip"), ("X_1", "X₁"), ("tap", "tap"),
     ("T_omega", "T_ω"), ("uk", "u_k")],
)  # fmt: skip
def test_symbols_as_the_trade_writes_them(name, shown):
    """Letter, index, prime."""
    assert typeset_symbol(name) == shown


@pytest.mark.parametrize(
    ("expression", "shown"),
    [
        ("a-(b-c)", "a − (b − c)"), ("a-b-c", "a − b − c"), ("a/(b*c)", "a / (b · c)"), ("a/b*c", "a / b · c"),
        ("(a+b)**2", "(a + b)²"), ("-a**2", "−a²"), ("(-a)**2", "(−a)²"), ("a*-b", "a · (−b)"), ("-a*b", "−a · b"),
        ("a**(b/c)", "a^(b / c)"), ("(a**b)**c", "(a^b)^c"), ("a*(b+c)", "a · (b + c)"), ("(a/b)**2", "(a / b)²"),
    ],
)  # fmt: skip
def test_order_and_grouping_in_text(expression, shown):
    """Parentheses where needed, none else, terms as the author wrote them."""
    assert symbolic("", expression) == shown


expressions = st.recursive(
    st.sampled_from(["a", "b", "c", "2", "0.5"]),
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from("+-*/"), inner).map(lambda t: f"({t[0]}){t[1]}({t[2]})"),
        inner.map(lambda e: f"-({e})"),
        inner.map(lambda e: f"({e})**2"),
        inner.map(lambda e: f"abs({e})"),
    ),
    max_leaves=8,
)


@given(expression=expressions)
def test_text_reads_back_to_the_same_value(expression):
    """The plain text, read as arithmetic again, gives the same number: no parenthesis was lost."""
    text = symbolic("", expression).replace("·", "*").replace("−", "-").replace("²", "**2")
    for _ in range(12):
        text = re.sub(r"\|([^|]*)\|", r"abs(\1)", text)
    values = {"a": 1.7, "b": -0.31, "c": 5.3}
    if "|" in text or symbolic("", expression).count("|") > 2:  # nested bars are not readable by a machine
        return
    try:
        expected = calculate(expression, values, {"abs": abs})
    except ArithmeticError:
        return
    assert calculate(text, values, {"abs": abs}) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_substitution_prints_givens_as_entered_and_the_rest_rounded():
    """0.332 ohm stays as typed; 265.58 V is printed with four figures."""
    inputs = [Given(name, value, TORQUE.units[name]) for name, value in VALUES.items() if name != "R2_prime"]
    inputs.append(Given("R2_prime", 0.332, "ohm", "0.332 ohm"))
    shown = TORQUE.substituted(inputs)
    assert shown.startswith("T = 3 · (265.6 V)² · 0.332 Ω / 0.022 / (188.5 rad/s · ((0.641 Ω + 0.332 Ω / 0.022)²")


def test_substitution_needs_every_symbol():
    """The missing one is named."""
    with pytest.raises(InputError, match="X1"):
        TORQUE.substituted([Given(name, 1.0) for name in TORQUE.names if name != "X1"])


def test_negative_and_complex_numbers_are_grouped():
    """A minus after a sign gets parentheses, a complex number always."""
    inputs = [Given("a", -3.0, "V"), Given("b", 1 - 2j, "ohm")]
    assert substituted("y", "a-a/b", inputs) == "y = −3 V − (−3 V / ((1 − j · 2) Ω))"


@pytest.mark.parametrize("form", FORMS)
def test_every_form_has_every_symbol_or_number(form):
    """Nothing is lost on the way to any form."""
    inputs = [Given(name, value, TORQUE.units[name]) for name, value in VALUES.items()]
    assert "265.6" in TORQUE.substituted(inputs, form)
    assert symbolic("T", TORQUE.expression, form) == getattr(TORQUE, form)()


def test_mathml_is_well_formed_even_with_odd_units():
    """Entered text is escaped."""
    ET.fromstring(TORQUE.mathml())
    ET.fromstring(substituted("y", "a", [Given("a", 1.0, "", '1 <V> & "x"')], "mathml"))


def test_entered_text_cannot_become_typst_code():
    """A quote in an entered unit stays inside the quoted string."""
    shown = substituted("y", "a", [Given("a", 1.0, "", '1 V" + #read("x") + "')], "typst")
    assert re.sub(r'"(?:\\.|[^"\\])*"', "", shown) == "y =  thin "


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.0123456, "0.01235"), (123456.0, "123500"), (999.96, "1000"), (0.99996, "1.000"), (4.0, "4"), (0.332, "0.332"),
     (0.0, "0"), (-2.5, "−2.5"), (1234567.0, "1.235e6"), (3.2e-7, "3.200e-7")],
)  # fmt: skip
def test_four_significant_figures(value, shown):
    """Four figures, fewer when exact, no exponent in the usual range."""
    assert significant(value) == shown


@pytest.mark.parametrize(
    ("unit", "shown"),
    [("kg m2", "kg·m²"), ("ohm", "Ω"), ("rad/s2", "rad/s²"), ("N m", "N·m"), ("ohm/km", "Ω/km"), ("1", ""), ("%", "%")],
)
def test_units_as_printed(unit, shown):
    """Raised figures and the ohm sign."""
    assert unit_text(unit) == shown


# --- the dimensions of every formula in the package -------------------------------------------------------------------


def _modules() -> Iterator[Any]:
    for info in pkgutil.walk_packages(slipwise.__path__, "slipwise."):
        if not info.name.startswith(("slipwise.doors", "slipwise.present")) and not info.name.endswith("__main__"):
            yield importlib.import_module(info.name)


@cache
def all_formulas() -> tuple[Formula, ...]:
    """Every Formula bound in a module of the package, alone or in a tuple, list or dict."""
    found: dict[str, Formula] = {}
    for module in _modules():
        for item in list(vars(module).values()):
            inside = item.values() if isinstance(item, dict) else item if isinstance(item, tuple | list) else [item]
            found.update({one.key: one for one in inside if isinstance(one, Formula)})
    return tuple(found.values())


UREG: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
SPELLED = {
    "r/min": "turn/minute",
    "var": "volt*ampere",
    "pu": "",
    "": "",
    "1": "",
    "degC": "kelvin",
    "ohm/km": "ohm/kilometer",
}


def pint_unit(unit: str) -> Any:
    """The package's spelling of a unit in pint's: `kg m2` is kg * m**2."""
    spelled = SPELLED.get(unit, re.sub(r"(?<=[A-Za-z])(-?\d)", r"**\1", unit).replace(" ", "*"))
    return UREG.Unit(spelled or "dimensionless")


def _plain(function: Any) -> Any:
    return lambda value: UREG.Quantity(function(value.to("").magnitude if hasattr(value, "to") else value))


WITH_UNITS = {
    **{name: _plain(getattr(math, name)) for name in ("exp", "log", "sin", "cos", "tan")},
    "sqrt": lambda value: value**0.5,
    "abs": abs,
    "re": lambda value: value.real,
    "im": lambda value: value.imag,
    "conj": lambda value: value.conjugate() if not hasattr(value, "to") else value.magnitude.conjugate() * value.units,
    "atan2": lambda y, x: UREG.Quantity(math.atan2(y.to(x.units).magnitude, x.magnitude)),
    "max": lambda *values: max(values),
    "min": lambda *values: min(values),
}


def _with_units(formula: Formula) -> Any:
    """The value for rising numbers, or for falling ones where the arithmetic has no value for rising ones."""
    for first, ratio in ((0.37, 1.2), (3.7, 0.83)):
        numbers = [first * ratio**i for i in range(len(formula.units))]
        pairs = zip(formula.units.items(), numbers, strict=True)
        values = {name: UREG.Quantity(number, pint_unit(unit)) for (name, unit), number in pairs}
        try:
            return calculate(formula.expression, values, WITH_UNITS)
        except ValueError:  # a logarithm or root of less than nothing; wrong dimensions are another error
            continue
    raise AssertionError(f"{formula.key} has no value for rising or for falling numbers")


def check_dimensions(formula: Formula) -> None:
    """Evaluate with pint and compare the dimension of the result with the one stated."""
    result = _with_units(formula)
    result = result if hasattr(result, "dimensionality") else UREG.Quantity(result)
    assert result.dimensionality == UREG.Quantity(1, pint_unit(formula.result_unit)).dimensionality, formula.key


def test_every_formula_in_the_package_has_the_dimension_it_states():
    """Volts plus amperes anywhere would be caught here."""
    for formula in (TORQUE, *all_formulas()):
        check_dimensions(formula)


@pytest.mark.parametrize("core", [math.inf, 900.0])
@pytest.mark.parametrize("cages", [1, 2])
def test_formulas_written_for_a_circuit_have_their_dimensions(core, cages):
    """Locked-rotor current and torque, with one cage and two, with and without core loss."""
    branches = tuple(RotorBranch(R=0.3 + k, X=0.4) for k in range(cages))
    circuit = Circuit(frequency=50.0, R1=0.6, X1=1.1, Xm=26.0, Rfe=core, rotor=branches)
    for formula in (locked_rotor_current(circuit), locked_rotor_torque(circuit)):
        check_dimensions(formula)
        assert formula.evaluate(**dict.fromkeys(formula.names, 1.3)).real > 0


def test_a_dimension_error_is_caught():
    """The check itself can fail: a torque said to be a power, and ohms added to volts."""
    wrong = Formula(
        key="w", title="", symbol="P", expression="T*s", units={"T": "N m", "s": ""}, source="", validity="",
        result_unit="W/s",
    )  # fmt: skip
    with pytest.raises(AssertionError):
        check_dimensions(wrong)
    mixed = Formula(
        key="w", title="", symbol="P", expression="R+V", units={"R": "ohm", "V": "V"}, source="", validity="",
        result_unit="V",
    )  # fmt: skip
    with pytest.raises(pint.DimensionalityError):
        check_dimensions(mixed)


def test_every_formula_in_the_package_is_complete():
    """Key unique by module walk, title, source and validity in words, and every form can be written."""
    for formula in all_formulas():
        assert formula.title, formula.key
        assert formula.source, formula.key
        assert formula.validity, formula.key
        for form in FORMS:
            assert getattr(formula, form)()


def test_white_list_and_functions_agree():
    """Every function that may be written can be computed."""
    from slipwise.quantity.formula import FUNCTIONS

    assert set(FUNCTIONS) == set(ARITY)
    assert set(CONSTANTS) == {"pi", "j"}
