"""Speed control in tables, terminal, CSV, report, notebook and folder: the same numbers everywhere, readable at 80 columns."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader

from slipwise.present import tables, tables_speed, tables_speed_way, terminal
from slipwise.present.export import write_outputs
from slipwise.present.notebook import study_html
from slipwise.present.report import report
from slipwise.present.report.blocks import Images
from slipwise.present.report.build import document
from slipwise.present.speed_csv import duty_csv, points_csv
from slipwise.present.tables_all import all_tables
from slipwise.present.terminal_speed import fitting
from slipwise.quantity.show import show
from slipwise.results.speed import Part
from slipwise.results.table import Column, Table
from tests.behaviour.sample_speed import NAMES, crowded, speed_of, speed_sample, speed_way


@cache
def pages(name: str) -> str:
    """The text of the report, spaces taken out."""
    made = report(speed_sample(name), {}, day=date(2025, 3, 1))
    return "".join(squeezed(page.extract_text()) for page in PdfReader(io.BytesIO(made)).pages)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", tables.plain(text))


def column(table: Table, demand: str) -> dict[str, str]:
    """One demand of a table with demands in columns."""
    place = [c.title for c in table.columns].index(demand)
    return {row[0]: row[place] for row in table.rows}


def test_every_loss_stands_in_the_table_and_the_column_adds_up() -> None:
    """Line power less the losses is shaft power, as printed, to the rounding of three figures."""
    for name in NAMES:
        for way in speed_of(speed_sample(name)).ways:
            table = tables_speed_way.losses(way)
            for point in way.points:
                cells = column(table, point.duty.name)
                numbers = {key: float(tables.plain(text).replace(" ", "")) for key, text in cells.items()}
                lost = sum(value for key, value in numbers.items() if key.startswith("lost:"))
                assert numbers["line"] - lost == pytest.approx(numbers["shaft"], rel=0.012)
                parts = sum(1 for loss in point.losses if loss.power > 0 and loss.part is not Part.THROTTLE)
                assert sum(value > 0 for key, value in numbers.items() if key.startswith("lost:")) == parts


def test_points_show_what_the_result_holds() -> None:
    """Speed, winding heat, settings and the way each demand is kept stable."""
    way = speed_way("crusher_k1_year", "rotor_chopper")
    table = tables_speed_way.points(way)
    for point in way.points:
        cells = column(table, point.duty.name)
        assert f"{cells['Winding heat, %']} %" == tables.plain(show(point.winding_heat, "pu"))
        assert f"{cells['Speed, r/min']} r/min" == tables.plain(show(point.speed, "rad/s"))
        assert cells["Kept stable by"] == ("itself" if point.stable else "speed loop")
        duty = next(s for s in point.settings if s.key == "duty")
        assert f"{cells['Set: duty of the chopper, %']} %" == tables.plain(show(duty.value, "pu"))


@pytest.mark.parametrize("name", NAMES)
def test_the_terminal_breaks_no_word_at_eighty_columns(name: str) -> None:
    """Tables demand by demand keep their words whole and every line within the width."""
    for way in speed_of(speed_sample(name)).ways:
        for table in tables_speed_way.chief(way)[:2]:
            for part in fitting(table, 80):
                text = terminal.table_text(part, 80)
                assert all(len(line) <= 80 for line in text.splitlines())
                flat = " ".join(text.split())
                for row in part.rows:
                    assert " ".join(tables.plain(row[0]).split()) in flat


def test_a_long_duty_is_shown_in_parts() -> None:
    """Eight demands: all of them, each once, the names of the rows repeated, the note once at the end."""
    way = speed_of(crowded()).ways[0]
    table = tables_speed_way.points(way)
    parts = fitting(table, 80)
    assert len(parts) > 1
    assert [c.title for part in parts for c in part.columns[1:]] == [p.duty.name for p in way.points]
    assert [part.note for part in parts] == [""] * (len(parts) - 1) + [table.note]
    wide = Table(title="t", columns=(Column(title="a"), Column(title="b")), rows=(("x", "y" * 200),))
    assert fitting(wide, 80) == [wide]


def test_csv_holds_every_point_in_si_units() -> None:
    """One row for each way and demand; numbers come back to nine figures; the balance closes in the file itself."""
    found = speed_of(speed_sample("crusher_k1_year"))
    rows = list(csv.DictReader(io.StringIO(points_csv(found))))
    points = [(way, point) for way in found.ways for point in way.points]
    assert len(rows) == len(points)
    for row, (way, point) in zip(rows, points, strict=True):
        assert (row["way"], row["demand"]) == (way.key, point.duty.name)
        assert float(row["speed_rad_per_s"]) == pytest.approx(point.speed, rel=1e-8)
        assert float(row["line_power_W"]) == pytest.approx(point.line_power, rel=1e-8)
        lost = sum(float(cell) for key, cell in row.items() if key.startswith("lost_"))
        assert float(row["line_power_W"]) - lost == pytest.approx(float(row["shaft_power_W"]), rel=1e-6)
        assert row["held"] == ("yes" if point.feasible else "no")
    demands = list(csv.DictReader(io.StringIO(duty_csv(found))))
    assert [float(row["torque_Nm"]) for row in demands] == pytest.approx([d.torque for d in found.duty])
    assert all(row["flow"] == "" for row in demands)


@pytest.mark.parametrize("name", NAMES)
def test_the_report_holds_every_table_of_speed_control(name: str) -> None:
    """Each cell of each table, the choice and its reason, every note of every way."""
    result = speed_sample(name)
    text = pages(name)
    found = speed_of(result)
    assert squeezed(tables_speed.verdict_sentence(found)) in text
    assert squeezed(found.recommendation.reason) in text
    for way in found.ways:
        keyed = [table for key, table in all_tables(result) if key.startswith((f"{way.key}/", "speed/"))]
        assert len(keyed) >= 6
        for table in keyed:
            for cells in table.rows:
                for cell in cells:
                    assert squeezed(cell) in text, f"{table.title}: {cell}"
        for note in way.notes:
            assert squeezed(note) in text


def test_the_report_of_a_study_without_starting_says_nothing_of_starting() -> None:
    """No verdict on ways of starting that were not asked for; the windings are drawn and told."""
    images = Images()
    made = document(speed_sample("fan_v4"), {}, images, None)
    assert made["description"] == tables_speed.verdict_sentence(speed_of(speed_sample("fan_v4")))
    assert "None of the ways compared" not in str(made)
    windings = [name for name in images.files if "-winding-" in name]
    assert len(windings) == 2
    words = str(made)
    assert "Current reversed in" in words


def test_the_folder_holds_points_diagrams_and_figures(tmp_path: Path) -> None:
    """Tables, points as CSV, circuits of every stage, both speeds of the winding, and the figures."""
    result = speed_sample("fan_v4")
    folder = write_outputs(result, tmp_path / "out")
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert {"series/speed_points.csv", "series/speed_duty.csv", "tables/speed.comparison.csv"} <= names
    assert {"diagrams/tapped_winding.winding_1.low.svg", "diagrams/tapped_winding.winding_1.high.svg"} <= names
    assert {"diagrams/tapped_winding.circuit.low_speed.svg", "diagrams/volts_per_hertz.circuit.running.svg"} <= names
    assert {
        "figures/speed_year.svg",
        "figures/tapped_winding.change_1.svg",
        "tables/tapped_winding.points.csv",
    } <= names
    assert (folder / "series" / "speed_points.csv").read_text() == points_csv(speed_of(result))


def test_a_notebook_shows_the_choice_of_speed_control() -> None:
    """The sentence, the comparison and a year as a picture with its words."""
    html = study_html(speed_sample("pump_p3_year"))
    assert tables_speed.verdict_sentence(speed_of(speed_sample("pump_p3_year"))) in html
    assert "Ways of speed control compared" in html
    assert "alt='Energy a year, MWh: Volts per hertz" in html
    assert "None of the ways compared" not in html
