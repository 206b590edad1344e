"""Edits of a study's text from what a person types: quoted as the value wants it, taken out without a trace, all else kept."""

from __future__ import annotations

import tomllib
from math import sqrt

import pytest

from slipwise.doors.desk.edits import edited, moved_along, path_of, quoted
from slipwise.doors.desk.studies import start_studies
from slipwise.quantity.errors import InputError
from slipwise.study.text.edit import remove_value
from slipwise.study.text.scanner import dotted, scan
from slipwise.study.text.values import values

TEXT = """\ufeff# head
title = "A"   # named

[motor]
poles = 4            # plate
rated_power = "90 kW"   # plate
power_factor = 0.865
friction_and_windage = "500 W" # last

[[supply.path]]
kind = "network"
base_load = { power = "210 kW", power_factor = 0.88, model = "constant power" }
"""


def edit(path: str, value: str | None, text: str = TEXT) -> str:
    """The text after one edit."""
    return edited(text, [{"path": path, "value": value}])


@pytest.mark.parametrize(
    ("path", "typed", "line"),
    [
        ("motor.rated_power", "95 kW", 'rated_power = "95 kW"   # plate'),
        ("motor.poles", "6", "poles = 6            # plate"),
        ("motor.power_factor", "0.9", "power_factor = 0.9"),
        ("motor.power_factor", "90 %", 'power_factor = "90 %"'),
        ("motor.power_factor", ".9", 'power_factor = ".9"'),
        ("title", 'A "b" \\ c', 'title = "A \\"b\\" \\\\ c"   # named'),
        ("motor.inertia", "1.4 kg m2", 'friction_and_windage = "500 W" # last\ninertia = "1.4 kg m2"'),
        ("supply.path[1].base_load.power", "200 kW", 'base_load = { power = "200 kW", power_factor = 0.88'),
        ("starting.ways", "direct, star_delta", '[starting]\nways = ["direct", "star_delta"]'),
        ("load.overhauling", "true", "[load]\noverhauling = true"),
        ("motor.curves.speed", "0, 50, 100", "[motor.curves]\nspeed = [0, 50, 100]"),
    ],
)
def test_typed_values_stand_as_their_kind_wants(path, typed, line):
    """Quantities quoted, plain numbers bare, lists in brackets, in their place and with their comments."""
    after = edit(path, typed)
    assert line in after
    assert after.startswith("\ufeff# head\n")
    tomllib.loads(after.removeprefix("\ufeff"))


@pytest.mark.parametrize(
    ("path", "gone", "left"),
    [
        ("motor.poles", "poles = 4            # plate\n", "[motor]\nrated_power"),
        ("supply.path[1].base_load.power", 'power = "210 kW", ', "base_load = { power_factor = 0.88"),
        ("supply.path[1].base_load.model", ', model = "constant power"', "power_factor = 0.88 }"),
    ],
)
def test_a_value_taken_out_leaves_all_else(path, gone, left):
    """The key goes with its line and comment, or from among its neighbours; nothing else changes."""
    after = edit(path, None)
    assert after == TEXT.replace(gone, "")
    assert left in after


def test_taking_out_what_is_not_there_changes_nothing():
    """Putting an assumed value back to assumed is no mistake; asked of the scanner itself it is one."""
    assert edit("motor.inertia", None) == TEXT
    with pytest.raises(InputError, match="not written"):
        remove_value(TEXT, ("motor", "inertia"))
    with pytest.raises(InputError, match="entry of an array"):
        remove_value("a = [1, 2]\n", ("a", 1))


def test_paths_count_tables_from_one():
    """As messages name them."""
    assert path_of("supply.path[2].base_load.power") == ("supply", "path", 1, "base_load", "power")


@pytest.mark.parametrize("text", ['"', "\\", "\n\r\t", "\x00\x7f", "é 🜁", "'''", ""])
def test_quoted_text_comes_back(text):
    """Whatever is typed is a string of TOML and reads back as itself."""
    assert tomllib.loads(f"x = {quoted(text)}")["x"] == text


PLATE = """\
[motor]
rated_power = "90 kW"
rated_voltage = "400 V"   # kept
rated_frequency = "50 Hz"
poles = 4
rated_speed = "1483 r/min"
rated_current = "0.158 kA"
power_factor = 0.865
efficiency = "95.2 %"
"""


@pytest.mark.parametrize(
    ("key", "typed", "kept", "follower"),
    [
        ("rated_power", "45 kW", [], "rated_current"),
        ("rated_power", "95 kW", ["motor.rated_current"], "power_factor"),
        ("rated_voltage", "380 V", [], "rated_current"),
        ("rated_current", "66 A", [], "rated_power"),
        ("rated_current", "150 A", ["motor.rated_power"], "power_factor"),
        ("rated_current", "66 A", ["motor.rated_power"], "rated_power"),  # power factor 2 is none
        ("power_factor", "0.8", [], "rated_current"),
        ("efficiency", "92 %", [], "rated_current"),
    ],
)
def test_a_plate_value_takes_along_what_belongs_to_it(key, typed, kept, follower):
    """Power is sqrt(3) x voltage x current x power factor x efficiency afterwards, by one other value, told with its old text."""
    edits = [{"path": f"motor.{key}", "value": typed, "along": True, "kept": kept}]
    after = edited(PLATE, edits)
    motor = tomllib.loads(after)["motor"]
    volts, percent = (float(motor[name].split()[0]) for name in ("rated_voltage", "efficiency"))
    amperes, unit = motor["rated_current"].split()
    current = float(amperes) * {"A": 1.0, "kA": 1000.0}[unit]
    power = sqrt(3) * volts * current * motor["power_factor"] * percent / 100
    assert power == pytest.approx(1000 * float(motor["rated_power"].split()[0]), rel=1e-3)
    before = tomllib.loads(PLATE)["motor"]
    assert {name for name in motor if motor[name] != before[name]} == {key, follower}
    moved = [(row["path"], row["was"], row["by"]) for row in moved_along(PLATE, after, edits)]
    assert moved == [(f"motor.{follower}", str(before[follower]), f"motor.{key}")]
    assert "# kept" in after


@pytest.mark.parametrize(("key", "typed", "speed"), [("rated_frequency", "60 Hz", 1779.6), ("poles", "6", 988.67)])
def test_frequency_and_poles_keep_the_slip(key, typed, speed):
    """Full-load speed goes with synchronous speed, 120 f / poles."""
    after = edited(PLATE, [{"path": f"motor.{key}", "value": typed, "along": True}])
    assert float(tomllib.loads(after)["motor"]["rated_speed"].split()[0]) == speed


@pytest.mark.parametrize("study", start_studies(), ids=lambda study: study["key"])
def test_values_known_from_an_edit_are_those_of_the_new_text(study):
    """Every value of every study to begin with, written anew in all kinds: as TOML reads the whole new text."""
    text = study["text"]
    for path in scan(text).spans:
        for typed in ("7", "1.5 kW", "true", "a, b", '" x', "[1, 2]", "\n[load]\nx = 1"):
            try:
                after = edited(text, [{"path": dotted(path), "value": typed}])
            except InputError:
                continue
            assert values(after) == tomllib.loads(after), (path, typed)


@pytest.mark.parametrize("text", ["a = 1\n", "a = 1\r\n", "[starting]\n\n[load]\n# end\n"])
def test_what_a_change_added_goes_with_it(text):
    """A table added for a setting goes when the setting is taken out; one with a comment or another key stays."""
    path = "starting.autotransformer.tap"
    changed = edit(path, "60 %", text)
    assert edited(changed, [{"path": path, "value": None, "emptied": True}]) == text
    for more in ("ratio_test = 1", "# why"):
        full = changed + more + ("\r\n" if "\r\n" in text else "\n")
        left = edited(full, [{"path": path, "value": None, "emptied": True}])
        assert ("[starting.autotransformer]" in left) == (more != "# why")
        tomllib.loads(left)
