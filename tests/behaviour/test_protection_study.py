"""Protection in a study: the file there and back, the bank against the ledger, the sheet, the picture, the command."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from slipwise.doors.cli.app import main
from slipwise.limits.resistor_bank import bank_rows
from slipwise.present import tables_protection
from slipwise.present.figures import Look, canvas, draw
from slipwise.present.figures.time_current import in_line, time_current
from slipwise.present.tables_all import all_tables
from slipwise.present.terminal import table_text, text
from slipwise.results.codec import from_json, to_json
from slipwise.results.criteria import Status
from slipwise.results.protection import Protection
from slipwise.results.study import StudyResult, WayResult
from slipwise.study.reader import loads
from slipwise.study.run import run
from tests.behaviour.test_figures import texts

BASE = (Path(__file__).parent.parent / "broken" / "base.toml").read_text(encoding="utf-8")
WHOLE = (Path(__file__).parent.parent.parent / "examples" / "crusher_k1.toml").read_text(encoding="utf-8")
EMPTY = '[[load.case]]\nname = "empty"\ntorque = "2.4 kN m"\nbreakaway_torque = "160 %"\n\n'
CRUSHER = WHOLE.replace(EMPTY, "")
ALL = '["direct", "star_delta", "autotransformer", "rotor_resistor"]'
STATED = """
[protection]
trip_class = "10"
setting = "21.5 A"
place = "line"
phase_loss_sensitive = false
instantaneous = 17
instantaneous_tolerance = "15 %"
speed_switch = "20 %"
speed_switch_delay = "3 s"
line_contactor = "25 A"
coil_busbar = "main board"
hold_in_voltage = "65 %"

[protection.soft_starter]
rated_current = "25 A"
current_ratio = 4
start_time = "12 s"
starts_per_hour = 5

[limits]"""
STALL = 'inertia = "0.05 kg m2"\nstall_time_hot = "12 s"\nstall_time_cold = "24 s"'


@cache
def stated() -> StudyResult:
    """The small pump with everything about its protection stated, started direct, in star-delta and softly."""
    text = BASE.replace('inertia = "0.05 kg m2"', STALL).replace("\n[limits]", STATED, 1)
    text = text.replace('"autotransformer"]', '"autotransformer", "soft_starter"]').replace(
        "[starting]\n", "[starting]\nstarts_per_hour = 3\n"
    )
    return run(loads(text), transients=False, boundaries=False, ensemble=0)


@cache
def crusher() -> StudyResult:
    """The slip-ring crusher with rotor resistors alone."""
    lines = CRUSHER.replace(ALL, '["rotor_resistor"]')
    return run(loads(lines), transients=False, boundaries=False, ensemble=0)


def way(key: str, result: StudyResult | None = None) -> WayResult:
    return next(w for w in (result or stated()).ways if w.key == key)


def guarded(key: str, result: StudyResult | None = None) -> Protection:
    found = way(key, result).protection
    assert found is not None
    return found


def test_what_the_file_states_is_what_is_judged() -> None:
    """Class, setting, place, trip, switch, contactor, coils and starter come through in SI, with a row each."""
    found = guarded("direct")
    assert found.judged is not None
    assert (found.judged.trip_class, found.judged.place, found.judged.setting) == ("10", "line", 21.5)
    assert found.instantaneous is not None
    assert found.instantaneous.setting == pytest.approx(17 * 21.5)
    assert found.instantaneous.tolerance == pytest.approx(0.15)
    assert found.speed_switch is not None
    assert found.speed_switch.speed == pytest.approx(0.2 * stated().synchronous_speed)
    assert found.coil is not None
    assert (found.coil.busbar, found.coil.hold_in) == ("main board", 0.65)
    keys = {row.key for row in way("direct").verdict.criteria}
    assert keys >= {
        "trip_class", "speed_switch", "instantaneous", "instantaneous_fault", "line_contactor", "coil_holding",
        "coil_closing",
    }  # fmt: skip
    soft = {row.key for row in way("soft_starter").verdict.criteria}
    assert soft >= {"starter_heat", "starter_current", "starter_rating", "starter_starts"}


def test_rows_agree_with_their_numbers() -> None:
    """A row with value and limit stands on the side its margin says; explanations carry the same values."""
    result = stated()
    for found in result.ways:
        for row in found.verdict.criteria:
            if row.margin is not None and row.case == "nominal":
                assert (row.margin < 0) is (row.status is Status.FAILS)
    named = {row.name: row for row in result.explanations}
    trip, stall = guarded("direct").instantaneous, guarded("direct").stalls[0]
    assert trip is not None
    assert named["direct.protection.instantaneous_least"].value == pytest.approx(trip.least)
    assert named["direct.protection.instantaneous_most"].value == pytest.approx(trip.most)
    assert named["direct.protection.stall_trip_cold"].value == pytest.approx(stall.trip_cold)
    soft = guarded("soft_starter").soft_starter
    assert soft is not None
    assert named["soft_starter.protection.starter_seconds"].value == pytest.approx(soft.seconds)


def test_everything_survives_the_file_and_back(tmp_path: Path) -> None:
    """study.json carries the whole protection of both studies."""
    for number, result in enumerate((stated(), crusher())):
        folder = tmp_path / str(number)
        back = from_json(to_json(result, folder / "series"), folder)
        assert [w.protection for w in back.ways] == [w.protection for w in result.ways]


def test_the_bank_takes_the_energy_of_the_ledger() -> None:
    """Sections, ohms and heat add up to the whole bank; its heat is that of the run-up's own balance."""
    found = way("rotor_resistor", crusher())
    bank = guarded("rotor_resistor", crusher()).bank
    assert bank is not None
    ledger = next(r for r in found.run_ups if r.case == bank.case).energy
    assert bank.energy == pytest.approx(ledger.get("rotor resistors"), rel=2e-4)
    assert sum(section.energy for section in bank.sections) == pytest.approx(bank.energy, rel=1e-9)
    whole = next(s.value for s in found.settings if s.key == "resistance")
    assert sum(section.ohms for section in bank.sections) == pytest.approx(whole)
    assert [s.seconds for s in bank.sections] == sorted(s.seconds for s in bank.sections)
    assert max(bank.temperatures) == pytest.approx(bank.limit)  # the heat capacity was found for just that
    assert bank.mean_power == pytest.approx(bank.energy * 2 / 3600)
    power = 3 * whole * bank.sections[0].greatest ** 2  # standing still, the whole bank in circuit
    assert bank.heat_capacity * bank.rise / power < bank.stalled < 1.02 * bank.heat_capacity * bank.rise / power


def test_a_stated_bank_is_judged() -> None:
    """A stated heat capacity comes through, and its temperature is judged: over the limit fails, a kelvin below is thin."""
    needed = guarded("rotor_resistor", crusher()).bank
    assert needed is not None
    line = '[protection.resistor_bank]\nheat_capacity = "9 kJ/K"'
    asked = loads(CRUSHER.replace("[protection.resistor_bank]", line)).protection.bank
    assert asked is not None
    assert (asked.heat_capacity, asked.time_constant, asked.rise) == (9000.0, 720.0, 350.0)
    for over, status in ((5.0, Status.FAILS), (-1.0, Status.CONDITION), (-100.0, Status.PASSES)):
        (row,) = bank_rows(replace(needed, given=True, temperatures=(100.0, needed.limit + over)))
        assert row.status is status
    assert bank_rows(needed) == ()


def test_the_sheet_holds_every_dial_and_the_band_of_the_cases() -> None:
    """All settings of the way, relay, trip and switch; each measurement inside its own band."""
    for found in stated().ways:
        assert found.protection is not None
        sheet = found.protection.sheet
        assert sheet is not None
        dials = [row.dial for row in sheet.dials]
        assert {setting.title for setting in found.settings} <= set(dials)
        assert {"trip class", "instantaneous trip, rms", "longest start"} <= set(dials)
        for row in sheet.expected:
            assert row.low <= row.value <= row.high, row.quantity
        assert not [
            row for row in sheet.dials if row.dial == "changeover speed" and "after switching on" not in row.check
        ]
        runs = [r.run_up_time for r in found.run_ups if r.run_up_time is not None]
        longest = next(row.value for row in sheet.dials if row.dial == "longest start")
        assert longest is not None
        assert longest >= 1.25 * max(runs)


def test_the_sheet_tells_when_each_contactor_of_the_bank_closes() -> None:
    """One row a section, at the speed of the plan, with the band of times and the currents before and after."""
    found = way("rotor_resistor", crusher())
    assert found.protection is not None
    assert found.protection.sheet is not None
    rows = [row for row in found.protection.sheet.dials if row.dial == "closes at"]
    marks = found.run_ups[0].stages[:-1]
    assert [row.device.split()[0] for row in rows] == ["K11", "K12", "K13", "K14"]
    assert [row.value for row in rows] == pytest.approx([mark.end_speed for mark in marks], rel=1e-6)
    assert all("line current" in row.check for row in rows)


def test_two_parts_of_a_winding_have_a_relay_each() -> None:
    """Each relay is set to its share of the current; together they make the whole."""
    lines = BASE.replace('inertia = "0.05 kg m2"', STALL).replace('"star_delta", "autotransformer"]', '"part_winding"]')
    lines = lines.replace(
        '[starting.star_delta]\nchangeover_speed = "1300 r/min"', "[starting.part_winding]\nshare = 0.6"
    )
    found = guarded("part_winding", run(loads(lines), transients=False, boundaries=False, ensemble=0))
    assert found.sheet is not None
    set_to = {row.device: row.value for row in found.sheet.dials if row.dial.startswith("current, in")}
    assert set_to == {"F1": pytest.approx(0.6 * 21.5), "F2": pytest.approx(0.4 * 21.5)}


def test_currents_of_autotransformer_and_ring_contactors() -> None:
    """The line current is k squared times direct, the star point takes the rest; rings carry the rated ring current."""
    order = guarded("autotransformer").autotransformer
    assert order is not None
    assert order.line_current == pytest.approx(order.tap * order.motor_current, rel=0.02)
    rings = [
        d for d in guarded("rotor_resistor", crusher()).contactors if d.label.startswith("K1") and "step" in d.label
    ]
    assert len(rings) == 4
    assert all(d.category == "AC-2" for d in rings)
    assert rings[0].carries == pytest.approx(413.0, rel=0.05)  # ring current on the plate


def test_a_relay_in_the_winding_is_drawn_as_the_line_sees_it() -> None:
    """In delta the line carries sqrt 3 times the setting of a relay in the winding."""
    plain = run(loads(BASE.replace('inertia = "0.05 kg m2"', STALL)), transients=False, boundaries=False, ensemble=0)
    found = guarded("star_delta", plain)
    assert found.relay is not None
    assert found.relay.place == "winding"
    assert in_line(found.relay, found) == pytest.approx(21.5, rel=1e-6)


@pytest.mark.parametrize(("key", "which"), [("direct", stated), ("soft_starter", stated), ("rotor_resistor", crusher)])
@pytest.mark.parametrize("look", [Look(), Look(size="print", mode="dark")], ids=["projector", "print"])
def test_the_picture_can_be_read(key: str, which: Callable[[], StudyResult], look: Look) -> None:
    """No text overlaps another, all lie on the sheet, and the words give the numbers."""
    figure = draw(which(), f"{key}.time_current", look)
    figure.canvas.draw()
    placed = texts(figure)
    for number, (words, box) in enumerate(placed):
        for other, against in placed[number + 1 :]:
            wide = min(box.x1, against.x1) - max(box.x0, against.x0)
            high = min(box.y1, against.y1) - max(box.y0, against.y0)
            assert wide <= 0.5 or high <= 0.5, f"{words!r} and {other!r} overlap"
        assert 0 <= box.x0 < box.x1 <= figure.bbox.width
    assert any(words.startswith("instantaneous trip") for words, _ in placed)
    assert any(words.startswith("stall borne") for words, _ in placed)
    assert "instantaneous trip" in canvas.alternative_text(figure)


def test_tables_and_terminal_show_it() -> None:
    """Each table has rows and full cells; the terminal has one line of it in eighty columns."""
    for result, key in ((stated(), "soft_starter"), (crusher(), "rotor_resistor")):
        names = {name for name, table in all_tables(result) if table.rows}
        parts = ("dials", "expected", "relay", "stalls", "trips", "lost_line", "contactors")
        assert {f"{key}/{part}" for part in parts} <= names
        assert "Protect: class 10 at" in text(result)
        assert max(map(len, text(result).splitlines())) <= 80
    assert "rotor_resistor/bank" in {name for name, _ in all_tables(crusher())}


@pytest.mark.parametrize("key", ["direct", "star_delta", "soft_starter"])
def test_the_trip_classes_keep_their_words_whole_in_80_columns(key: str) -> None:
    """No head, figure or word of the widest table of the sheet is broken within itself."""
    table = tables_protection.relay(guarded(key))
    lines = table_text(table).replace("\u202f", " ").split()
    cells = [column.title for column in table.columns] + [cell for row in table.rows for cell in row]
    assert {word for cell in cells for word in cell.replace("\u202f", " ").split()} <= set(lines)


def test_the_command_prints_and_writes_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Both tables on the terminal; a folder with PDF, tables and picture; a way that is not there is refused."""
    file = tmp_path / "pump.toml"
    file.write_text(BASE.replace('inertia = "0.05 kg m2"', STALL), encoding="utf-8")
    folder = tmp_path / "out"
    words = ["settings", str(file), "--no-transients", "--way", "star_delta", "--out", str(folder)]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "Settings: Star-delta" in printed
    assert "To be measured" in printed
    assert (folder / "settings.pdf").read_bytes().startswith(b"%PDF")
    assert (folder / "figures" / "time_current.svg").is_file()
    assert len(list((folder / "tables").glob("*.csv"))) >= 7
    assert main(["settings", str(file), "--no-transients", "--way", "wye-delta", "--out", str(folder)]) == 2
    told = capsys.readouterr().err
    assert "--way: wye-delta: the study has no way of this name; did you mean star_delta?" in told


def test_the_pdf_carries_the_sheet(tmp_path: Path) -> None:
    """Dials, values and blanks stand in the text of the PDF."""
    from pypdf import PdfReader

    from slipwise.present.panel import write_settings

    write_settings(crusher(), way("rotor_resistor", crusher()), tmp_path / "out")
    pages = PdfReader(tmp_path / "out" / "settings.pdf").pages
    words = " ".join("".join(page.extract_text() for page in pages).replace("\u202f", " ").split())
    for wanted in (
        "Stone crusher K1: settings sheet",
        "instantaneous trip, rms",
        "4200 A",
        "As found",
        "longest start",
    ):
        assert wanted in words


def test_nothing_is_shown_of_a_way_that_does_not_start() -> None:
    """Without a protection there are no tables, no line and no picture."""
    none = replace(way("direct"), protection=None)
    assert tables_protection.all_protection(none) == ()
    assert tables_protection.protect_text(none) == ""
    with pytest.raises(ValueError, match="no protection"):
        time_current(stated(), none, Look())
