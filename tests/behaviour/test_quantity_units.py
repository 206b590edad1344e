"""Units in: against published factors, against pint, and against the slips people make."""

from __future__ import annotations

from math import pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.quantity.errors import InputError
from slipwise.quantity.unit_table import KINDS, SPELLINGS, UNITS
from slipwise.quantity.units import Parsed, parse
from tests.reference import published, sampled

_SP811 = "NIST Special Publication 811 (2008), Appendix B.8 and B.9"

PRINTED = [  # text, SI unit, value as printed there (from memory, last digit kept)
    ("1 hp (mechanical)", "W", 7.456999e2),
    ("1 hp (electric)", "W", 7.46e2),
    ("1 hp (metric)", "W", 7.354988e2),
    ("1 kgf m", "N m", 9.80665),
    ("1 lbf ft", "N m", 1.355818),
    ("1 lbf in", "N m", 1.129848e-1),
    ("1 lb ft2 WK2", "kg m2", 4.214011e-2),
    ("1 lb in2 WK2", "kg m2", 2.926397e-4),
    ("1 lb", "kg", 4.535924e-1),
    ("1 ft", "m", 3.048e-1),
    ("1 in", "m", 2.54e-2),
    ("1 ft/min", "m/s", 5.08e-3),
    ("1 km/h", "m/s", 2.777778e-1),
    ("1 r/min", "rad/s", 1.047198e-1),
    ("1 deg", "rad", 1.745329e-2),
    ("1 kWh", "J", 3.6e6),
    ("1 min", "s", 60.0),
    ("1 h", "s", 3600.0),
]


@published(_SP811, status="from memory")
@pytest.mark.parametrize(("text", "unit", "printed"), PRINTED)
def test_factor_is_the_printed_one(text: str, unit: str, printed: float):
    """Conversion factors agree with the guide to seven figures."""
    assert parse(text, unit).value == pytest.approx(printed, rel=5e-7)


@published(_SP811 + ": t/degC = T/K - 273.15; t/degC = (t/degF - 32) / 1.8", status="from memory")
@pytest.mark.parametrize(
    ("text", "celsius"), [("0 K", -273.15), ("348.15 K", 75.0), ("212 degF", 100.0), ("75 °C", 75.0)]
)
def test_temperature_scales(text: str, celsius: float):
    """Kelvin and Fahrenheit become Celsius."""
    assert parse(text, "degC").value == pytest.approx(celsius, abs=1e-9)


_PINT = {  # our spelling: pint's, for every unit that pint knows and that is a mere change of scale
    "W": "watt", "kW": "kilowatt", "MW": "megawatt", "hp (mechanical)": "horsepower", "hp (metric)": "metric_horsepower",
    "hp (electric)": "electrical_horsepower", "mV": "millivolt", "V": "volt", "kV": "kilovolt", "mA": "milliampere",
    "A": "ampere", "kA": "kiloampere", "Hz": "hertz", "kHz": "kilohertz", "mohm": "milliohm", "ohm": "ohm",
    "kohm": "kiloohm", "ohm/km": "ohm/kilometer", "mohm/km": "milliohm/kilometer", "mohm/m": "milliohm/meter",
    "ohm/m": "ohm/meter", "H": "henry", "mH": "millihenry", "N": "newton", "kN": "kilonewton", "lbf": "pound_force",
    "N m": "newton*meter",
    "kN m": "kilonewton*meter", "kgf m": "kilogram_force*meter", "lbf ft": "pound_force*foot", "lbf in": "pound_force*inch",
    "kg m2": "kilogram*meter**2", "kg cm2": "kilogram*centimeter**2", "t m2": "metric_ton*meter**2",
    "lb ft2 WK2": "pound*foot**2", "lb in2 WK2": "pound*inch**2", "kg": "kilogram", "t": "metric_ton", "lb": "pound",
    "m": "meter", "mm": "millimeter", "cm": "centimeter", "km": "kilometer", "ft": "foot", "in": "inch",
    "mm2": "millimeter**2", "m2": "meter**2", "kcmil": "kilocircular_mil",
    "m/s": "meter/second", "m/min": "meter/minute", "km/h": "kilometer/hour",
    "ft/min": "foot/minute", "m/s2": "meter/second**2", "rad/s": "radian/second", "r/s": "turn/second",
    "r/min": "turn/minute", "rad/s2": "radian/second**2", "rad": "radian", "deg": "degree", "J": "joule", "J/K": "joule/kelvin",
    "kJ/K": "kilojoule/kelvin",
    "m3/s": "meter**3/second", "m3/h": "meter**3/hour", "l/s": "liter/second", "l/min": "liter/minute",
    "ft3/min": "foot**3/minute", "kJ": "kilojoule", "MJ": "megajoule",
    "kWh": "kilowatt_hour", "ms": "millisecond", "s": "second", "min": "minute",
    "h": "hour", "%": "percent", "kVA/hp": "kilowatt/horsepower",
}  # fmt: skip
_PINT_SI = {"kg m2": "kilogram*meter**2", "N m": "newton*meter", "pu": "dimensionless", "VA/W": "dimensionless",
            "m2": "meter**2", "m3/s": "meter**3/second",
            "m/s": "meter/second", "m/s2": "meter/second**2", "rad/s": "radian/second",
            "rad/s2": "radian/second**2", "ohm/m": "ohm/meter", "J/K": "joule/kelvin"}  # fmt: skip


@pytest.fixture(scope="module")
def registry():
    """pint, an independent units library, used in tests only."""
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize("name", sorted(_PINT))
def test_factor_is_that_of_an_independent_library(registry, name: str):
    """Every plain unit has the size that pint gives it."""
    unit = UNITS["".join(name.split())]
    theirs = registry.Quantity(1.0, _PINT[name]).to(_PINT_SI.get(unit.si, unit.si)).magnitude
    assert parse(f"1 {name}", unit.si).value == pytest.approx(theirs, rel=1e-12)


def test_every_unit_is_checked_or_explained():
    """No unit of the table escapes: what pint does not know is checked here against its definition."""
    left = set(SPELLINGS.values()) - set(_PINT)
    assert left == {
        *("VA", "kVA", "MVA", "GVA", "var", "kvar", "Mvar"),  # W by another name
        *("kgf m2 GD2", "kg m2 GD2", "N m2 GD2", "lb ft2 GD2", "kg m2 WK2"),  # below
        *("pu", "p.u.", "1/s", "degC", "degF", "K"),
    }
    assert parse("1.6 MVA", "VA").value == 1.6e6
    assert parse("50 kvar", "var").value == 5e4


def test_solid_cylinder_gives_one_inertia_by_every_name():
    """J = m r^2 / 2 of a solid cylinder; its gyration radius is r / sqrt(2), its gyration diameter twice that."""
    mass, radius = 120.0, 0.25
    inertia, gyration = mass * radius**2 / 2, radius / sqrt(2)
    pound, foot, g = 0.45359237, 0.3048, 9.80665
    names = {
        "kg m2": mass * gyration**2,
        "kgf m2 GD2": mass * (2 * gyration) ** 2,
        "kg m2 GD2": mass * (2 * gyration) ** 2,
        "N m2 GD2": mass * g * (2 * gyration) ** 2,
        "kg m2 WK2": mass * gyration**2,
        "lb ft2 WK2": mass / pound * (gyration / foot) ** 2,
        "lb ft2 GD2": mass / pound * (2 * gyration / foot) ** 2,
    }
    for unit, number in names.items():
        assert parse(f"{number!r} {unit}", "kg m2").value == pytest.approx(inertia, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["16.8 kgf m2 GD2", "16.8 kgf·m² GD²", "16.8 kg m2 GD2", "100 lb ft2 WK2", "300 hp (metric)"]
)
def test_conversion_that_is_more_than_a_scale_says_so(text: str):
    """GD2, WK2 and horsepower carry the rule by which they were converted."""
    assert parse(text, ("kg m2", "W")).rule


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("132 kW", "W", 132e3),
        ("132kW", "W", 132e3),
        (" 132 \u202f kW ", "W", 132e3),
        ("0.3 Ω", "ohm", 0.3),
        ("0.3 \u2126", "ohm", 0.3),
        ("35 N·m", "N m", 35.0),
        ("35 Nm", "N m", 35.0),
        ("1.2e-3 ohm", "ohm", 1.2e-3),
        (".5 s", "s", 0.5),
        ("\u22125 %", "pu", -0.05),
        ("1475 min⁻¹", "rad/s", 1475 * pi / 30),
        ("1475 rpm", "rad/s", 1475 * pi / 30),
        ("95 %", "pu", 0.95),
        (0.95, "pu", 0.95),
        ("0.95", "pu", 0.95),
        ("0.95 pu", "pu", 0.95),
        (4, "", 4.0),
    ],
)
def test_ways_of_writing(text: object, unit: str, value: float):
    """Spaces, signs and raised figures as people type them; 95 % is exactly 0.95."""
    assert parse(text, unit).value == value


@pytest.mark.parametrize(
    ("text", "factor"),
    [("230 V phase", sqrt(3)), ("230 V line to neutral", sqrt(3)), ("230 V", 1), ("230 V line", 1), ("230 V phase to phase", 1),
     ("230 V line-to-line", 1), ("0.23 kV phase", sqrt(3))],
)  # fmt: skip
def test_phase_voltage_is_converted_openly(text: str, factor: float):
    """A phase voltage becomes the line voltage and says so; a line voltage stays."""
    found = parse(text, "V")
    assert found.value == pytest.approx(230 * factor, rel=1e-12)
    assert bool(found.rule) is (factor != 1)


REFUSED = [  # value, wanted, what must be said
    ("0,435 ohm", "ohm", 'decimal comma; write "0.435 ohm"'),
    ("1,500 V", "V", "decimal comma or a thousands separator"),
    ("1,234.5 V", "V", 'thousands separator; write the digits without a break, as in "1234.5 V"'),
    ("1 500 V", "V", 'as in "1500 V"'),
    ("1\u202f500 V", "V", 'as in "1500 V"'),
    ("1_500 V", "V", 'as in "1500 V"'),
    ("1'500'000 W", "W", 'as in "1500000 W"'),
    ("1.500.000 W", "W", 'as in "1500000 W"'),
    ("125 hp", "W", '"hp" alone is not one unit'),
    ("125 HP", "W", '"hp" alone is not one unit'),
    ("12 kgf m2", "kg m2", "may be GD2, WK2 or J"),
    ("12 lb ft2", "kg m2", "may be GD2, WK2 or J"),
    ("12 GD2", "kg m2", "no unit by itself"),
    ("90 kVA", "W", "unit of an apparent power; a power is needed"),
    ("90 kWh", "W", "unit of an energy"),
    ("1500 r/min", "Hz", "unit of a rotational speed"),
    ("50 Hz", "rad/s", "unit of a frequency"),
    ("25 1/s", "rad/s", "turns or radians"),
    ("2 mH", "ohm", "it is an inductance"),
    ("5.9 kVA/hp", "pu", "code_letter"),
    ("90 KW", "W", 'did you mean "kW"?'),
    ("90 kw", "W", 'did you mean "kW"?'),
    ("90 mW", "W", 'did you mean "MW"?'),
    ("1,234,567 W", "W", 'as in "1234567 W"'),
    ("16 Amps", "A", 'did you mean "A"?'),
    ("90 kWatts", "W", 'did you mean "kW"?'),
    ("90", "W", "the unit is missing"),
    (90, "W", "the unit is missing"),
    ("4 poles", "", 'a plain number is needed, without "poles"'),
    ("4 mm", "", "a plain number is needed"),
    ("1e400 W", "W", "not finite"),
    ("-1e400 W", "W", "not finite"),
    ("nan W", "W", "not finite"),
    ("inf", "pu", "not finite"),
    (float("nan"), "pu", "not finite"),
    (float("inf"), "", "not finite"),
    (10**400, "", "not finite"),
    ("1e308 MW", "W", "not finite"),
    ("1e-400 W", "W", "too small"),
    ("10-14 kg m2", "kg m2", "it is a range"),
    ("10 to 14 kg m2", "kg m2", "it is a range"),
    ("10 ± 2 kg m2", "kg m2", "it is a range"),
    ("1/2 hp (electric)", "W", "written as a fraction"),
    ("400/690 V", "V", '"400 V" with connection = "delta", or "690 V" with "star"'),
    ("6.6 - 11 kV", "V", '"6.6 kV" with connection = "delta"'),
    ("230/460 V", "V", '"230 V" or "460 V", and the current that goes with it'),
    ("380-420 V", "V", "it is a range"),
    ("0/400 V", "V", "written as a fraction"),
    ("2 AWG", "m2", 'the area of the core: "33.6 mm2"'),  # ASTM B258 (from memory): 33.62 mm2
    ("4/0 AWG", "m2", 'the area of the core: "107 mm2"'),  # the same: 107.2 mm2
    ("1.8 kPa", "m", "for a fan leave the rated head out"),
    ("GD2 1.2 kgf m2", "kg m2", 'as in "1.2 kgf m2 GD2"'),
    ("~10 kW", "W", "without a sign or word before it"),
    ("ca. 10 kW", "W", "without a sign or word before it"),
    ("ten kW", "W", "does not begin with a number"),
    ("", "W", "the text is empty"),
    ("   ", "W", "the text is empty"),
    (True, "W", "a power is needed"),
    (None, "W", "a power is needed"),
    ([90, "kW"], "W", "a power is needed"),
    ("16 A phase", "A", "winding current in delta"),
    ("16 kW phase", "W", "means nothing for a power"),
    ("10 kW 5", "W", "not known"),
]


@pytest.mark.parametrize(("value", "unit", "words"), REFUSED, ids=[f"{value!s:.18}" for value, _, _ in REFUSED])
def test_trap_has_its_own_message(value: object, unit: str, words: str):
    """Each slip is refused with its reason and what would do."""
    with pytest.raises(InputError) as caught:
        parse(value, unit, "motor.field")
    (fault,) = caught.value.faults
    assert fault.field == "motor.field"
    assert words in f"{fault.reason}; {fault.remedy}"


@sampled(500)
@given(
    value=st.one_of(st.text(max_size=30), st.floats(), st.integers(), st.none(), st.lists(st.integers())),
    unit=st.sampled_from([*KINDS]),
)
def test_anything_is_a_value_or_an_input_error(value: object, unit: str):
    """Never a crash, never a value that is not finite."""
    try:
        found = parse(value, unit)
    except InputError:
        return
    assert abs(found.value) < float("inf")


@sampled(300)
@given(number=st.floats(-1e12, 1e12, allow_subnormal=False), name=st.sampled_from(sorted(SPELLINGS.values())))
def test_every_unit_scales_in_proportion(number: float, name: str):
    """Writing the number in the unit and multiplying by the unit's size are one thing (offsets of temperature aside)."""
    unit = UNITS["".join(name.split())]
    if name == "1/s":
        return
    found: Parsed = parse(f"{number!r} {name}", unit.si)
    assert found.value == pytest.approx((number + unit.offset) * unit.factor, rel=1e-14)
