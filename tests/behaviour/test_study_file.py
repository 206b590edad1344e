"""A study file becomes a study: what is written arrives in SI, what is not written is said to be assumed or derived."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from math import hypot, pi, sqrt
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from slipwise.methods.speed import SPEED
from slipwise.methods.starting import STARTING
from slipwise.methods.stopping import STOPPING
from slipwise.methods.way import Dial, StartingWay, dials
from slipwise.model.machine.point import operating_point
from slipwise.model.supply.path import LoadModel
from slipwise.quantity.errors import InputError
from slipwise.quantity.provenance import Origin, Sourced
from slipwise.study.model import Study
from slipwise.study.reader import load, loads
from slipwise.study.schema.fields import Leaf
from slipwise.study.schema.published import json_schema
from slipwise.study.schema.study import study_file
from slipwise.study.text.scanner import dotted, scan
from tests.reference import compare, from_reference, reference

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
BASE = (ROOT / "tests" / "broken" / "base.toml").read_text(encoding="utf-8")


def changed(*edits: tuple[str, str]) -> Study:
    """The plain file of the broken-file tests, with edits that keep it right."""
    text = BASE
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return loads(text)


def rows(study: Study, name: str) -> list[Sourced]:
    """All rows of one name."""
    return [row for row in study.inputs if row.name == name]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_example_is_read_and_says_it_is_invented(path: Path):
    """Every example becomes a study, and its heading says where its data come from."""
    study = load(path)
    assert study.file == path
    assert "invented" in path.read_text(encoding="utf-8").lower()
    assert study.motor.inertia > 0
    assert len(study.supply.nominal.links) >= 2


@pytest.mark.parametrize("path", [*EXAMPLES, ROOT / "tests" / "broken" / "base.toml"], ids=lambda path: path.stem)
def test_example_fits_the_published_schema(path: Path):
    """The JSON Schema accepts what the reader accepts."""
    import jsonschema

    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(tomllib.loads(path.read_text(encoding="utf-8")))


def test_schema_refuses_unknown_keys_and_bare_numbers():
    """Editors mark what the reader would refuse."""
    import jsonschema

    validator = jsonschema.Draft202012Validator(json_schema())
    for old, new in [
        ("rated_current", "rated_curent"),
        ('"11 kW"', "11"),
        ('"11 kW"', '"11"'),
        ('"delta"', '"triangle"'),
    ]:
        data = tomllib.loads(BASE.replace(old, new, 1))
        assert not validator.is_valid(data)


def test_every_key_of_the_schema_is_described():
    """Completion in an editor explains each key."""
    schema = json_schema()
    tables = [schema, *schema["$defs"].values()]
    properties = [(name, key) for table in tables for name, key in table["properties"].items()]
    targets = [
        (name, schema["$defs"].get(key.get("$ref", "").rsplit("/", 1)[-1], key), key) for name, key in properties
    ]
    assert not [name for name, target, key in targets if not (key.get("description") or target.get("description"))]


def test_schema_offers_every_way_with_its_settings():
    """The ways and their dials turn up in the schema by themselves."""
    schema = json_schema()
    starting = schema["$defs"]["StartingSection"]["properties"]
    for way in STARTING:
        section = schema["$defs"][starting[way.key]["$ref"].rsplit("/", 1)[1]]
        assert set(section["properties"]) == set(dials(way))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_written_value_is_listed_as_given(path: Path):
    """Nothing that stands in the file is lost: each key has a row with its text."""
    study = load(path)
    given = {row.name: row for row in study.inputs if row.origin is Origin.GIVEN}
    found = scan(path.read_text(encoding="utf-8"))
    inner = {
        span_path[:-1] for span_path in found.spans if isinstance(span_path[-1], int) or span_path[:-1] in found.spans
    }
    for span in found.spans.values():
        if span.path in inner and not isinstance(span.path[-1], int) and found.text[span.start] == "{":
            continue
        if isinstance(span.path[-1], int):
            continue
        assert given[dotted(span.path)].text
    assert len(given) == len(
        [s for s in found.spans.values() if found.text[s.start] != "{" and not isinstance(s.path[-1], int)]
    )


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_nothing_is_assumed_silently(path: Path):
    """Each assumed or estimated number has a range that holds it, and a reason."""
    for row in load(path).inputs:
        if row.origin in {Origin.ASSUMED, Origin.ESTIMATED, Origin.DERIVED}:
            assert row.why, row
        if row.origin in {Origin.ASSUMED, Origin.ESTIMATED} and row.value is not None:
            assert row.low is not None, row
            assert row.high is not None, row
            assert row.low <= row.value <= row.high, row


def test_gd2_is_converted_openly():
    """16.8 kgf m2 GD2 is 4.2 kg m2; the file's text and the conversion both stay visible."""
    study = changed(('inertia = "0.12 kg m2"', 'inertia = "16.8 kgf m2 GD2"'))
    written, converted = rows(study, "load.inertia")
    assert (written.origin, written.text) == (Origin.GIVEN, "16.8 kgf m2 GD2")
    assert converted.origin is Origin.DERIVED
    assert converted.value == pytest.approx(16.8 / 4)
    assert "GD2 / 4" in converted.why
    assert study.load.inertia == pytest.approx(4.2)


AS_WOUND = [
    (f'{name} = "{ohms} ohm"', f'{name} = "{3 * float(ohms):.6g} ohm"')
    for name, ohms in [("R1", "0.40"), ("X1", "0.72"), ("Xm", "21"), ("R2", "0.33"), ("X2", "0.95")]
]


def test_ohms_as_wound_are_three_times_the_star_equivalent():
    """The same delta motor given both ways is one motor."""
    star = changed()
    wound = changed(("star equivalent", "as wound"), *AS_WOUND)
    assert star.motor.circuit is not None
    assert wound.motor.circuit is not None
    ohms = [(c.R1, c.X1, c.Xm, c.rotor[0].R, c.rotor[0].X) for c in (star.motor.circuit, wound.motor.circuit)]
    assert ohms[1] == pytest.approx(ohms[0], rel=1e-12)
    assert "/ 3" in rows(wound, "motor.circuit.R1")[-1].why


@from_reference("A40-srivastava-star-delta-auto")
@pytest.mark.parametrize("connection", ["star", "delta"])
def test_published_winding_in_star_and_delta(connection: str):
    """The same ohms as wound give the printed standstill current and torque in star and in delta."""
    given = reference("A40-srivastava-star-delta-auto")["inputs"]
    text = (
        BASE.replace('"delta"', f'"{connection}"')
        .replace("star equivalent", "as wound")
        .replace("poles = 4", "poles = 2")
    )
    for old, new in [
        ('"400 V"', f'"{given["line_voltage_V"]} V"'),
        ('"21 ohm"', '"1e9 ohm"'),
        ('"0.40 ohm"', f'"{given["R1_ohm"]} ohm"'),
        ('"0.72 ohm"', f'"{given["X1_ohm"]} ohm"'),
        ('"0.33 ohm"', f'"{given["R2_ohm"]} ohm"'),
        ('"0.95 ohm"', f'"{given["X2_ohm"]} ohm"'),
        ('rated_speed = "1460 r/min"\n', ""),
        ('rated_current = "21.5 A"\n', ""),
        ('"1300 r/min"', '"2600 r/min"'),
        ('speed = "1460 r/min"', 'speed = "2900 r/min"'),
    ]:
        assert old in text
        text = text.replace(old, new, 1)
    motor = loads(text).motor
    assert motor.circuit is not None
    point = operating_point(motor.circuit, 1.0, motor.rating.phase_voltage, 50.0, motor.rating.synchronous_speed)
    compare(
        "A40-srivastava-star-delta-auto",
        {f"{connection}_line_current_A": abs(point.stator_current), f"{connection}_start_torque_Nm": point.torque},
    )


def test_full_load_follows_from_the_circuit():
    """Without speed and current on the plate, the circuit gives rated power at the speed found, and the rows say so."""
    study = changed(
        ('rated_speed = "1460 r/min"\n', ""), ('rated_current = "21.5 A"\n', ""), ('"400 V"', '"400 V line"')
    )
    motor = study.motor
    assert motor.circuit is not None
    rating = motor.rating
    point = operating_point(motor.circuit, rating.slip, rating.phase_voltage, 50.0, rating.synchronous_speed)
    assert point.converted_power == pytest.approx(11e3, rel=1e-9)
    assert abs(point.stator_current) == pytest.approx(rating.current, rel=1e-9)
    assert {rows(study, f"motor.rated_{name}")[-1].origin for name in ("speed", "current")} == {Origin.DERIVED}


def test_friction_and_windage_is_the_loss_at_rated_speed():
    """The stated watts are lost at rated speed, whether the speed is given or found."""
    for edits in [(), (('rated_speed = "1460 r/min"\n', ""),)]:
        motor = changed(
            ('inertia = "0.05 kg m2"', 'inertia = "0.05 kg m2"\nfriction_and_windage = "120 W"'), *edits
        ).motor
        speed = motor.rating.speed
        assert motor.mechanical_torque(speed) * speed == pytest.approx(120.0, rel=1e-9)


RINGS = 'temperature = "75 degC"\nrotor_values = "at the slip rings"'


@pytest.mark.parametrize("words", ["200 V", "200 V line", f"{200 / sqrt(3)!r} V phase"])
def test_slip_ring_voltage_of_line_or_phase(words: str):
    """Line and phase voltage of the rotor give one ratio; ring ohms are referred by its square."""
    study = changed(
        ('inertia = "0.05 kg m2"', f'inertia = "0.05 kg m2"\nrotor_voltage = "{words}"'),
        ('temperature = "75 degC"', RINGS),
        ('R2 = "0.33 ohm"', 'R2 = "0.0825 ohm"'),
        ('X2 = "0.95 ohm"', 'X2 = "0.2375 ohm"'),
    )
    assert study.motor.circuit is not None
    assert study.motor.wound_ratio == pytest.approx(2.0)
    (branch,) = study.motor.circuit.rotor
    assert complex(branch.R, branch.X) == pytest.approx(complex(0.33, 0.95))
    assert study.motor.rotor_conductor == "copper"


def test_resistances_of_a_double_cage_come_to_one_temperature():
    """R3 measured hotter than R2 is brought to R2's temperature: (225 + 20) / (225 + 70) for aluminium (IEC 60034-1)."""
    study = changed(
        (
            'X2 = "0.95 ohm"',
            'X2 = "0.95 ohm"\nR3 = "2.95 ohm"\nX3 = "0.8 ohm"\ntemperature_R2 = "20 degC"\ntemperature_R3 = "70 degC"',
        ),
    )
    assert study.motor.circuit is not None
    assert [branch.R for branch in study.motor.circuit.rotor] == pytest.approx([0.33, 2.45])
    assert (study.motor.stator_temperature, study.motor.rotor_temperature) == (75.0, 20.0)


GEARED = """inertia = "8 kg m2"
inertia_at_motor = "0.02 kg m2"
moving_mass = "2 t"
mass_speed = "1.5 m/s"
gear_efficiency = "95 %\""""


@pytest.mark.parametrize("gear", ["gear_ratio = 20", 'motor_pulley = "200 mm"\ndriven_pulley = "4 m"'])
def test_gear_keeps_power_and_kinetic_energy(gear: str):
    """Referred to the motor, the load takes the same power over efficiency, and stores the same energy."""
    study = changed(
        ('inertia = "0.12 kg m2"', f"{GEARED}\n{gear}"),
        ('speed = "1460 r/min"\ninertia', 'speed = "73 r/min"\ninertia'),
        ('shaft_power = "9 kW"', 'shaft_power = "9 kW"\nbreakaway_torque = "400 N m"'),
    )
    driven, motor = 73 * pi / 30, 1460 * pi / 30
    assert float(study.load.running(motor)) * motor == pytest.approx(9e3 / 0.95)
    energy = 0.5 * 8 * driven**2 + 0.5 * 0.02 * motor**2 + 0.5 * 2000 * 1.5**2
    assert 0.5 * study.load.inertia * motor**2 == pytest.approx(energy)
    assert study.load.breakaway == pytest.approx(400 / 20 / 0.95)


def test_typed_load_curve_through_a_gear():
    """Points of a curve are met, straight lines lie between."""
    curve = (
        '[load.curve]\nspeed = [0, 36.5, 73]\nspeed_unit = "r/min"\ntorque = [0.2, 0.4, 1.0]\ntorque_unit = "kN m"\n\n'
    )
    study = changed(
        (
            'torque_law = "quadratic"\nshaft_power = "9 kW"\nspeed = "1460 r/min"',
            'torque_law = "curve"\ngear_ratio = 20\ngear_efficiency = "100 %"',
        ),
        ("[[supply.path]]", f"{curve}[[supply.path]]"),
    )
    motor = 1460 * pi / 30
    assert float(study.load.running(motor)) == pytest.approx(50.0)
    assert float(study.load.running(0.75 * motor)) == pytest.approx(35.0)
    assert study.load.breakaway == pytest.approx(10.0)


def test_overhauling_load_keeps_its_sign():
    """A hanging weight pulls the same way when the motor turns backwards."""
    study = changed(('"quadratic"', '"constant"\noverhauling = true'))
    torque = 9e3 / (1460 * pi / 30)
    assert float(study.load.running(-50.0)) == pytest.approx(torque)
    assert float(changed(('"quadratic"', '"constant"')).load.running(-50.0)) == pytest.approx(-torque)


def test_path_impedances_by_the_per_unit_method():
    """Referred ohms agree with an independent per-unit calculation on a 1 MVA base."""
    study = changed(('short_circuit_voltage = "4 %"', 'short_circuit_voltage = "4 %"\ntap = "2.5 %"'))
    network, transformer, cable = study.supply.nominal.links
    ratio = 400 / (11e3 * 1.025)
    base = (11e3 * ratio) ** 2 / 1e6  # ohm at the motor's level for 1 pu on 1 MVA
    assert abs(network.impedance) / base == pytest.approx(1 / 80)
    assert network.impedance.imag / network.impedance.real == pytest.approx(6)
    full = 400**2 / 100e3
    assert abs(transformer.impedance) / full == pytest.approx(0.04)
    assert transformer.impedance.real / full == pytest.approx(0.015)
    assert cable.impedance.real == pytest.approx(60 * 18.3e-9 / 10e-6 * (234.5 + 50) / (234.5 + 20))
    assert study.supply.nominal.voltage == pytest.approx(11e3 * ratio)
    assert [bus.referral for bus in study.supply.nominal.busbars] == pytest.approx([ratio, 1.0, 1.0])


@from_reference("A44-eep-voltage-dip")
def test_published_transformer_short_circuit_power():
    """Short-circuit power at a transformer's terminals on a stiff network is the printed one."""
    given = reference("A44-eep-voltage-dip")["inputs"]
    study = changed(
        ('rating = "100 kVA"', f'rating = "{given["transformer_rating_kVA"]} kVA"'),
        ('short_circuit_voltage = "4 %"', f'short_circuit_voltage = "{given["transformer_impedance_percent"]} %"'),
        ('secondary_voltage = "400 V"', f'secondary_voltage = "{given["secondary_voltage_V"]} V"'),
    )
    impedance = study.supply.nominal.links[1].impedance
    power = given["secondary_voltage_V"] ** 2 / hypot(impedance.real, impedance.imag)
    compare("A44-eep-voltage-dip", {"short_circuit_power_kVA": power / 1e3})


def test_printed_resistances_of_cable_conductors():
    """Resistance from section lies within the stated range of the largest values of IEC 60228 class 2 (from memory)."""
    printed = {"2.5": 7.41, "10": 1.83, "25": 0.727, "50": 0.387, "95": 0.193, "150": 0.124, "240": 0.0754}
    for section, largest in printed.items():
        study = changed(('section = "10 mm2"', f'section = "{section} mm2"'))
        (row,) = rows(study, "supply.path[3].resistance")
        assert row.low is not None
        assert row.high is not None
        assert row.low <= largest / 1e3 <= row.high


def test_weak_and_strong_network():
    """Weak is the lowest fault level, strong the highest; what is not given is the ordinary one and says so."""
    supply = changed(
        ("x_to_r = 6", 'x_to_r = 6\nlowest_fault_level = "40 MVA"\nhighest_fault_level = "160 MVA"')
    ).supply
    nominal, weak, strong = (path.links[0].impedance for path in (supply.nominal, supply.weak, supply.strong))
    assert weak == pytest.approx(2 * nominal)
    assert strong == pytest.approx(nominal / 2)
    plain = changed()
    assert plain.supply.weak == plain.supply.nominal == plain.supply.strong
    assert {rows(plain, f"supply.path[1].{key}_fault_level")[0].origin for key in ("lowest", "highest")} == {
        Origin.ASSUMED
    }


def test_base_load_in_kw_and_in_kva_is_one_load():
    """40 kW at 0.8 is 50 kVA at 0.8; lagging is positive; the model not stated is the less favourable one."""
    active = changed(('power = "40 kW", power_factor = 0.9', 'power = "40 kW", power_factor = 0.8'))
    apparent = changed(('power = "40 kW", power_factor = 0.9', 'power = "50 kVA", power_factor = 0.8'))
    loads_found = [study.supply.nominal.busbars[1].load for study in (active, apparent)]
    assert loads_found[0] == loads_found[1]
    assert loads_found[0] is not None
    assert loads_found[0].power == pytest.approx(complex(40e3, 30e3))
    assert loads_found[0].model is LoadModel.CONSTANT_POWER


def test_limits_keep_their_source():
    """Given limits are marked as given, those of the trade as such, and what has no limit is not judged."""
    limits = changed(("[limits]", '[limits]\nline_current = "400 %"\nheat = "80 %"\nshaft_torque = "300 N m"')).limits
    assert (limits.heat.value, limits.heat.source) == (0.8, "given by user")
    assert limits.line_current.value == pytest.approx(4 * 21.5)
    assert limits.shaft_torque.value == pytest.approx(300 / (11e3 / (1460 * pi / 30)))
    assert limits.terminal_voltage.source == "common practice, no source"
    assert limits.peak_current.value is None


def test_given_settings_reach_the_way_in_si():
    """A speed in r/min, a share of synchronous speed, a word and a time arrive as the way's dials want them."""
    study = changed(('"1300 r/min"', '"85 %"\npause = "60 ms"\ntransition = "Closed"'))
    (request,) = [way for way in study.ways if way.key == "star_delta"]
    assert request.given == {"changeover_speed": pytest.approx(0.85 * 50 * pi), "pause": 0.06, "transition": "closed"}


def test_order_of_the_user_comes_first():
    """The user's order leads, the published order fills up."""
    study = changed(("[starting]\n", '[starting]\norder = ["autotransformer"]\n'))
    assert study.order[0] == "autotransformer"
    assert set(study.order) == {way.key for way in STARTING}
    assert changed().order == tuple(way.key for way in STARTING)


CURVES = """[motor.curves]
speed = [0, 50, 90, {last}]
speed_unit = "% of synchronous"
torque = [2, 1.6, 2.4, 1]
torque_unit = "pu of rated"
current = [6, 5.5, 4, 1]
current_unit = "pu of rated"
"""


def curve_study(text: str) -> Study:
    """The plain file with curves in place of its circuit."""
    start, end = BASE.index("[motor.circuit]"), BASE.index("[load]")
    return loads(BASE[:start] + text + "\n" + BASE[end:])


def test_typed_curves_have_no_circuit_and_end_at_synchronous_speed():
    """Points are met in SI; the synchronous point is added with torque zero and an assumed current."""
    last = 1460 / 15
    study = curve_study(CURVES.format(last=repr(last)))
    points = study.motor.curves
    assert study.motor.circuit is None
    assert points is not None
    rated = 11e3 / (1460 * pi / 30)
    assert [p.torque for p in points] == pytest.approx([2 * rated, 1.6 * rated, 2.4 * rated, rated, 0.0])
    assert [p.current for p in points[:4]] == pytest.approx([6 * 21.5, 5.5 * 21.5, 4 * 21.5, 21.5])
    assert points[-1].speed == 1.0
    assert rows(study, "motor.curves.no_load_current_ratio")[0].origin is Origin.ASSUMED


def test_curves_taken_at_reduced_voltage_are_brought_to_rated():
    """Current grows with voltage and torque with its square."""
    full = curve_study(CURVES.format(last=repr(1460 / 15))).motor.curves
    low = curve_study(CURVES.format(last=repr(1460 / 15)) + 'voltage = "80 %"\n').motor.curves
    assert full is not None
    assert low is not None
    assert low[0].torque == pytest.approx(full[0].torque / 0.64)
    assert low[0].current == pytest.approx(full[0].current / 0.8)


def test_plate_values_reach_the_motor():
    """A motor by plate and catalogue keeps its plate, and each plate value is set beside the model's."""
    study = load(ROOT / "examples" / "pump_p3.toml")
    rating = study.motor.rating
    assert (rating.power, rating.voltage, rating.poles) == (90e3, 400.0, 4)
    assert study.motor.stall.hot == 14.0
    names = " ".join(row.name for row in study.plate)
    for word in ("current", "power factor", "efficiency", "speed", "locked-rotor torque", "breakdown"):
        assert word in names


def test_circuit_values_are_set_beside_the_plate():
    """A motor by its circuit shows what the circuit makes of each plate value, by the circuit's own arithmetic."""
    study = changed()
    rows_found = {row.name: row for row in study.plate}
    motor = study.motor
    assert motor.circuit is not None
    slip = 1 - rows_found["rated speed"].model / motor.rating.synchronous_speed
    point = operating_point(motor.circuit, slip, motor.rating.phase_voltage, 50.0, motor.rating.synchronous_speed)
    assert point.converted_power == pytest.approx(11e3)
    assert rows_found["rated current"].model == pytest.approx(abs(point.stator_current))
    assert rows_found["efficiency"].model == pytest.approx(11e3 / point.input_power.real)


def test_typed_curves_are_set_beside_the_catalogue():
    """Ratios of the catalogue line stand beside those of the typed points."""
    start, end = BASE.index("[motor.circuit]"), BASE.index("[load]")
    catalogue = "locked_rotor_torque_ratio = 2.1\nbreakdown_torque_ratio = 2.4\npull_up_torque_ratio = 1.5\n"
    study = loads(BASE[:start] + catalogue + CURVES.format(last=repr(1460 / 15)) + "\n" + BASE[end:])
    assert [(row.plate, row.model) for row in study.plate] == [
        (2.1, pytest.approx(2.0)), (2.4, pytest.approx(2.4)), (1.5, pytest.approx(1.6))
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("losses", "table"), [("stray_load_loss", ""), ("friction_and_windage", CURVES), ("stray_load_loss", CURVES)]
)
def test_losses_that_would_be_ignored_are_refused(losses: str, table: str):
    """A value that cannot be used is refused, not dropped."""
    start, end = BASE.index("[motor.circuit]"), BASE.index("[load]")
    with pytest.raises(InputError) as caught:
        loads(BASE[:start] + f'{losses} = "100 W"\n' + table.format(last=repr(1460 / 15)) + "\n" + BASE[end:])
    assert [fault.field for fault in caught.value.faults] == [f"motor.{losses}"]


def test_study_is_plain_data():
    """Two readings of one text are equal, and a study can be changed by `replace` alone."""
    first, second = changed(), changed()
    assert first == second
    assert replace(first, title="other").motor is first.motor


def test_title_is_the_name_of_the_file_when_none_is_given(tmp_path: Path):
    """A file without title is called after itself, and the row says so."""
    file = tmp_path / "fan_f2.toml"
    file.write_text(BASE.replace('title = "Test pump"\n', ""), encoding="utf-8")
    study = load(file)
    assert study.title == "fan_f2"
    assert rows(study, "title")[0].origin is Origin.ASSUMED


def test_faults_of_all_sections_are_told_at_once():
    """One reading tells everything: motor, load and supply, in the order of the lines."""
    text = (
        BASE.replace('section = "10 mm2"\n', "")
        .replace('shaft_power = "9 kW"\n', "")
        .replace("1460 r/min", "1520 r/min", 1)
    )
    with pytest.raises(InputError) as caught:
        loads(text)
    assert [fault.field for fault in caught.value.faults] == [
        "motor.rated_speed",
        "load.torque",
        "supply.path[3].resistance",
    ]


def _setting(dial: Dial) -> tuple[str, float | str]:
    """A right value of a dial: as written in the file, and in SI."""
    if dial.choices:
        return f'"{dial.choices[-1]}"', dial.choices[-1]
    low = dial.low if dial.low is not None else 0.0
    high = dial.high if dial.high is not None else low + 2.0
    value = round((low + high) / 2, 6)
    return (f"{value!r}" if dial.unit == "" else f'"{value!r} {dial.unit}"'), value


@pytest.mark.parametrize("way", STARTING, ids=lambda way: way.key)
def test_every_setting_of_every_way_can_be_written(way: type[StartingWay]):
    """Each dial of each way is a key of its table and arrives unchanged."""
    settings = {name: _setting(dial) for name, dial in dials(way).items()}
    table = "\n".join([f"[starting.{way.key}]", *(f"{name} = {text}" for name, (text, _) in settings.items())])
    study = loads(BASE[: BASE.index("[starting]")] + f'[starting]\nways = ["{way.key}"]\n{table}\n')
    (request,) = study.ways
    assert request.given == {name: value for name, (_, value) in settings.items()}


def sections_in(annotation: Any) -> list[type[BaseModel]]:
    """The tables that an annotation speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for part in get_args(annotation) for found in sections_in(part)]


def leaves(section: Any, place: str, seen: set[Any]) -> Iterator[tuple[str, Leaf]]:
    """Every key of a section and of those below it that holds a value, with its dotted place."""
    for name, field in section.model_fields.items():
        for leaf in field.metadata:
            if isinstance(leaf, Leaf):
                yield f"{place}{name}", leaf
        for below in sections_in(field.annotation):
            if below not in seen:
                seen.add(below)
                yield from leaves(below, f"{place}{name}.", seen)


def test_every_example_of_a_key_is_a_value_it_may_have():
    """What help and messages tell people to write is taken when they write it; a setting has an example of its own."""
    found = dict(leaves(study_file(), "", set()))
    assert len(found) > 400
    for place, leaf in found.items():
        try:
            leaf.read(tomllib.loads(f"key = {leaf.example}")["key"])
        except (PydanticCustomError, tomllib.TOMLDecodeError) as error:
            raise AssertionError(f"{place} = {leaf.example}") from error
    settings = [dial for way in (*STARTING, *SPEED, *STOPPING) for dial in dials(way).values() if not dial.choices]
    assert all(dial.example for dial in settings)
