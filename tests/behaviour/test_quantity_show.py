"""Numbers out: significant figures, units that suit, and never a meaningless digit."""

from __future__ import annotations

from math import inf, isfinite, nan, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.quantity.show import MINUS, THIN, display_unit, in_display, show, show_number, show_range
from slipwise.quantity.units import parse
from tests.reference import sampled


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (90e3, "W", "90 kW"),
        (90432.0, "W", "90.4 kW"),
        (999.9, "W", "1.00 kW"),
        (1475 * pi / 30, "rad/s", "1475 r/min"),
        (0.9523, "pu", "95.2 %"),
        (400.0, "V", "400 V"),
        (11e3, "V", "11 kV"),
        (1236.0, "A", "1240 A"),
        (23456.0, "A", "23.5 kA"),
        (50.0, "Hz", "50 Hz"),
        (2.4999, "s", "2.50 s"),
        (2.5, "s", "2.5 s"),
        (0.0423, "s", "42.3 ms"),
        (0.01234, "ohm", "12.3 mΩ"),
        (0.193e-3, "ohm/m", "0.193 Ω/km"),
        (-35.16, "N m", "−35.2 N m"),
        (12345.0, "N m", "12.3 kN m"),
        (4.2, "kg m2", "4.2 kg m²"),
        (180e3, "J", "180 kJ"),
        (75.0, "degC", "75 °C"),
        (pi / 6, "rad", "30°"),
        (0.0, "W", "0 W"),
        (6.8, "", "6.8"),
        (3.2e-9, "W", "3.2 × 10⁻⁹ W"),
        (None, "W", "–"),
        (nan, "", "not a number"),
        (inf, "", "∞"),
        (3.13, "1/h", "3.13 per hour"),
        (30.0, "widgets", "30 widgets"),
    ],
)
def test_value_as_a_person_reads_it(value: float | None, unit: str, shown: str):
    """Three figures, four for speeds, in the unit of the trade."""
    assert show(value, unit).replace(THIN, " ") == shown


def test_four_digits_where_asked():
    """The caller may ask for one more figure."""
    assert show(90432.0, "W", digits=4) == f"90.43{THIN}kW"


def test_thousands_are_grouped_from_five_digits_on():
    """Long numbers are grouped by thin spaces, four-digit ones stay together."""
    assert show(17520 * pi / 30, "rad/s") == f"17{THIN}520{THIN}r/min"


def test_range_in_one_unit():
    """Value and range share the unit of the value."""
    assert show_range(12.0, 10.0, 14.0, "kg m2").replace(THIN, " ") == "12 (10 to 14) kg m²"
    assert show_range(950.0, 800.0, 1200.0, "W").replace(THIN, " ") == "950 (800 to 1200) W"
    assert show_range(12.0, None, 14.0, "kg m2") == show(12.0, "kg m2")


def test_column_has_one_unit():
    """A column takes the unit of its largest value, and every cell that unit."""
    values = [900.0, 45e3, None, 2.3e5]
    unit = display_unit(values, "W")
    assert unit == "kW"
    assert [show_number(v, "W", unit) for v in values] == ["0.9", "45", "–", "230"]
    assert in_display(45e3, "W", unit) == 45.0


def test_display_unit_of_another_kind_is_refused():
    """A power is not shown in volts."""
    with pytest.raises(ValueError, match="is not shown in"):
        show_number(1.0, "W", "V")
    with pytest.raises(ValueError, match="is not shown in"):
        in_display(1.0, "W", "V")


_UNITS = ("W", "V", "A", "ohm", "N m", "kg m2", "s", "rad/s", "J", "pu", "Hz", "m", "VA", "ohm/m", "kg")


@sampled(400)
@given(value=st.floats(-1e8, 1e8).filter(lambda v: v == 0 or abs(v) > 1e-5), unit=st.sampled_from(_UNITS))
def test_what_is_shown_reads_back(value: float, unit: str):
    """Shown text without exponent is read by the parser and lies within half a unit of its last figure."""
    text = show(value, unit)
    assert "e" not in text.split(THIN)[0]
    if "×" in text:
        return
    number, _, symbol = text.rpartition(THIN)
    name = {"kN\u202fm": "kN m"}.get(symbol, symbol)
    if text.endswith("m") and text[-3:-1] in {f"N{THIN}"}:
        number, _, prefix = number.rpartition(THIN)
        name = f"{prefix} m"
    plain = number.replace(THIN, "").replace(MINUS, "-")
    assert parse(f"{plain} {name}", unit).value == pytest.approx(value, rel=5.01e-3)


@sampled(300)
@given(value=st.floats(), unit=st.sampled_from(_UNITS), digits=st.integers(3, 4))
def test_showing_never_fails(value: float, unit: str, digits: int):
    """Any float at all can be shown, in few characters."""
    text = show(value, unit, digits)
    assert text
    assert len(text) < 30 or not isfinite(value)
