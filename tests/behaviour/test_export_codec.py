"""`study.json` and its CSV files: what is written comes back, and what is broken is named."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from slipwise.quantity.errors import InputError
from slipwise.results import start, study
from slipwise.results.codec import from_json, hints, in_csv, is_array, load_result, to_json
from slipwise.results.schema import results_json_schema
from slipwise.results.study import StudyResult
from slipwise.results.units import PURE, UNITS, key_of, suffix
from tests.behaviour.sample_result import sample


def written(tmp_path: Path, result: StudyResult | None = None) -> str:
    """study.json in tmp_path, with its series."""
    text = to_json(result or sample(), tmp_path / "series")
    (tmp_path / "study.json").write_text(text, encoding="utf-8")
    return text


def assert_same(first: Any, second: Any, path: str = "result") -> None:
    """Equal in every field: words and scalars exactly, stored arrays to nine digits."""
    if is_dataclass(first) and not isinstance(first, type):
        assert type(first) is type(second), path
        for field in fields(first):
            assert_same(getattr(first, field.name), getattr(second, field.name), f"{path}.{field.name}")
    elif isinstance(first, np.ndarray):
        assert first.shape == second.shape, path
        np.testing.assert_allclose(second, first, rtol=5.1e-9, atol=0, err_msg=path)
    elif isinstance(first, tuple):
        assert len(first) == len(second), path
        for n, (a, b) in enumerate(zip(first, second, strict=True)):
            assert_same(a, b, f"{path}[{n}]")
    else:
        assert first == second, path
        whole = isinstance(first, int) and isinstance(second, float)  # a whole number in a place for any number
        assert whole or isinstance(first, type(second)), path


def test_what_is_written_comes_back(tmp_path: Path) -> None:
    """Every word and scalar exactly, every array to nine significant digits."""
    written(tmp_path)
    assert_same(sample(), load_result(tmp_path / "study.json"))


def test_writing_twice_gives_the_same_text(tmp_path: Path) -> None:
    """A result read back and written again gives the same bytes, JSON and CSV."""
    first = written(tmp_path)
    again = to_json(from_json(first, tmp_path), tmp_path / "again")
    assert again.replace("again/", "series/") == first
    for file in (tmp_path / "series").rglob("*.csv"):
        assert (tmp_path / "again" / file.relative_to(tmp_path / "series")).read_bytes() == file.read_bytes()


def test_infinities_survive(tmp_path: Path) -> None:
    """JSON has no infinity; the number still comes back."""
    odd = replace(sample(), rated_torque=float("inf"), ways=())
    assert from_json(written(tmp_path, odd), tmp_path).rated_torque == float("inf")


def test_schema_is_valid_and_holds(tmp_path: Path) -> None:
    """The published schema is itself valid, and the written file keeps it."""
    schema = results_json_schema()
    Draft202012Validator.check_schema(schema)
    content = json.loads(written(tmp_path))
    assert list(Draft202012Validator(schema).iter_errors(content)) == []
    content["ways"][0]["run_ups"][0]["run_up_time_s"] = "soon"
    assert list(Draft202012Validator(schema).iter_errors(content))


def records() -> Iterator[type]:
    """Every record reachable from StudyResult."""
    seen: set[type] = set()
    todo: list[Any] = [StudyResult]
    while todo:
        hint = todo.pop()
        if isinstance(hint, type) and is_dataclass(hint) and hint not in seen:
            seen.add(hint)
            todo += hints(hint).values()
            yield hint
        else:
            todo += [h for h in get_args(hint) if h is not Ellipsis]


@pytest.mark.parametrize("record", sorted(records(), key=lambda r: r.__name__), ids=lambda r: r.__name__)
def test_every_number_knows_its_unit(record: type) -> None:
    """Each number of a record has a unit in its key, or a unit beside it, or is listed as a pure number."""
    names = {f.name for f in fields(record)}
    for field, hint in hints(record).items():
        numeric = is_array(hint) or any(h in (float, int) for h in (hint, *get_args(hint)))
        known = field in UNITS.get(record.__name__, {}) or field in PURE.get(record.__name__, ())
        assert not numeric or known or "unit" in names, f"{record.__name__}.{field} has no unit"


def test_units_name_real_fields() -> None:
    """No unit is listed for a field that does not exist."""
    known = {r.__name__: {f.name for f in fields(r)} for r in records()}
    for table in (UNITS, PURE):
        for record, names in table.items():
            assert set(names) <= known[record], record


def test_units_in_keys_and_columns(tmp_path: Path) -> None:
    """Keys and CSV headings end in the SI unit; rows of busbars and phases carry their names."""
    assert [suffix(u) for u in ("N m", "rad/s", "kg m2", "s")] == ["Nm", "rad_per_s", "kgm2", "s"]
    assert key_of("RunUp", "run_up_time") == "run_up_time_s"
    content = json.loads(written(tmp_path))
    name = content["ways"][1]["run_ups"][0]["series"]
    head = (tmp_path / name).read_text(encoding="utf-8").splitlines()[0]
    assert head.startswith("time_s,speed_rad_per_s,torque_Nm,load_Nm,line_current_A")
    assert head.endswith("busbar_voltage_pu [main board],busbar_voltage_pu [pump terminals]")
    assert in_csv(start.RunUp, "speed")
    assert not in_csv(start.RunUp, "prestart_voltage")
    assert not any(in_csv(study.Setting, f.name) for f in fields(study.Setting))


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda c: c.update(format="something else"), "format"),
        (lambda c: c.update(schema_version=99), "schema_version"),
        (lambda c: c.pop("rated_torque_Nm"), "rated_torque_Nm"),
        (lambda c: c.update(rated_torque=3.0), "rated_torque"),
        (lambda c: c.update(rated_current_A="big"), "rated_current_A"),
        (lambda c: c.update(cautions="mind"), "cautions"),
        (lambda c: c["ways"][0]["verdict"].update(status="fine"), "status"),
        (lambda c: c["ways"][0]["run_ups"][0].update(series="../secret.csv"), "series"),
        (lambda c: c["ways"][0]["run_ups"][0].update(series="series/none.csv"), "series"),
        (lambda c: c["ways"][0]["run_ups"][0].update(series=c["ways"][0]["band"]["series"]), "series"),
        (lambda c: c["ways"].__setitem__(0, 7), "ways[0]"),
    ],
)
def test_broken_file_is_named(tmp_path: Path, change: Any, named: str) -> None:
    """A changed key, kind or reference is refused by name."""
    content = json.loads(written(tmp_path))
    change(content)
    with pytest.raises(InputError) as caught:
        from_json(json.dumps(content), tmp_path)
    assert named in caught.value.faults[0].field


def test_not_json_is_refused(tmp_path: Path) -> None:
    """Text that is no JSON, and a file that is not there, are refused with the reason."""
    with pytest.raises(InputError, match="is not JSON"):
        from_json("{", tmp_path)
    with pytest.raises(InputError, match="cannot be read"):
        load_result(tmp_path / "absent.json")
