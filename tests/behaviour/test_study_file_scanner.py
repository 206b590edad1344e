"""The scanner agrees with tomllib, and files are edited in place with everything else kept."""

from __future__ import annotations

import string
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.quantity.errors import InputError
from slipwise.study.text.edit import insert_value, replace_value
from slipwise.study.text.scanner import dotted, scan
from tests.reference import sampled

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))

KNOTTY = '''\ufeff# a file with every form there is
title = "plain" # comment with "quotes" and = sign
'quoted key' = 1
"esc\\u0061ped" = 'lit # eral'
dotted.key.deep = 1_000
dotted."key".wide = [ 1, [ 2, 3 ], # inner
  { a = 1, b = "]" },
]
empty = []
none = {}
date = 1979-05-27 07:32:00Z
long = """
one \\""" two
"""""
raw = \'\'\'
it's # no comment
\'\'\'

[table] # after the header
  indented   =   -0.5e-3   # kept
[table.sub]
x = { y = { z = "deep, }" }, w = [1,2] }
[[rows]]
n = 1
[rows.inner]
k = true
[[rows]]
n = 2
[[rows.parts]]
p = "a"
[[rows.parts]]
p = "b"
[after]
end = nan'''.removeprefix("\ufeff")


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> dict[tuple[str | int, ...], Any]:
    """Every key and array element of parsed TOML but the tables that headers make."""
    found: dict[tuple[str | int, ...], Any] = {}
    if isinstance(value, dict):
        for key, inner in value.items():
            found |= leaves(inner, (*path, key))
    elif isinstance(value, list) and not (value and all(isinstance(item, dict) for item in value)):
        found[path] = value
        for place, item in enumerate(value):
            found |= leaves(item, (*path, place))
    elif isinstance(value, list):
        for place, item in enumerate(value):
            found |= leaves(item, (*path, place))
    else:
        found[path] = value
    return found


def check_spans(text: str) -> None:
    """Every leaf has a span, and the span alone means the same value."""
    found = scan(text)
    assert found.stopped is None
    assert not found.duplicates
    for path, value in leaves(tomllib.loads(text)).items():
        span = found.spans[path]
        again = tomllib.loads(f"x = {text[span.start : span.end]}")["x"]
        assert repr(again) == repr(value)  # by repr, because nan is not equal to itself
        assert text[: span.key].count("\n") + 1 == span.line


def test_every_form_of_value():
    """Strings of four kinds, nested arrays and inline tables, dates, arrays of tables with sub-tables."""
    check_spans(KNOTTY)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_examples(path: Path):
    """All examples are measured right."""
    check_spans(path.read_text(encoding="utf-8"))


_KEY = st.text(alphabet=string.ascii_letters + string.digits + "_-", min_size=1, max_size=6)
_BASIC = st.text(
    alphabet=string.printable.replace("\x0b", "").replace("\x0c", "").replace("\r", "") + "²Ω#", max_size=12
)
_SCALARS = st.one_of(
    st.integers(-(2**60), 2**60), st.booleans(), _BASIC, st.floats(allow_nan=False, allow_infinity=False)
)


def _written(value: Any) -> str:
    """A TOML value; strings escaped by the rules of basic strings."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
        return f'"{escaped}"'
    if isinstance(value, list):
        return "[ " + " , # c ]\n".join(_written(item) for item in value) + " ]"
    return repr(value)


_VALUES = st.recursive(_SCALARS, lambda inner: st.lists(inner, max_size=3), max_leaves=5)
_TABLE = st.dictionaries(_KEY, _VALUES, max_size=4)


@st.composite
def _texts(draw: st.DrawFn) -> str:
    """A valid TOML text with comments, tables and an array of tables."""
    lines = [f"{key} = {_written(value)} # c" for key, value in draw(_TABLE).items()]
    for name in draw(st.lists(_KEY.map(lambda key: f"t-{key}"), max_size=3, unique=True)):
        lines += ["", f"[ {name} ] # h", *(f"  {key}={_written(value)}" for key, value in draw(_TABLE).items())]
    for _ in range(draw(st.integers(0, 3))):
        lines += ["[[rows]]", *(f"{key} = {_written(value)}" for key, value in draw(_TABLE).items())]
    return draw(st.sampled_from(["\n", "\r\n"])).join(lines) + draw(st.sampled_from(["", "\n"]))


@sampled(200)
@given(text=_texts())
def test_scanner_agrees_with_tomllib(text: str):
    """On any valid text each value stands where the scanner says."""
    check_spans(text)


@sampled(300)
@given(text=st.text(alphabet=string.printable, max_size=60))
def test_scanner_never_raises(text: str):
    """On any text at all the scanner gives what it could measure."""
    scan(text)


@sampled(150)
@given(text=_texts(), data=st.data())
def test_replacing_changes_nothing_else(text: str, data: st.DataObject):
    """Only the bytes of the value change; every other value and comment stays."""
    paths = sorted(scan(text).spans, key=str)
    if not paths:
        return
    path = data.draw(st.sampled_from(paths))
    span = scan(text).spans[path]
    new = replace_value(text, path, '"95 kW"')
    assert new[: span.start] == text[: span.start]
    assert new[span.start + len('"95 kW"') :] == text[span.end :]
    before, after = leaves(tomllib.loads(text)), leaves(tomllib.loads(new))
    assert after[path] == "95 kW"
    inside = {other for other in before if other[: len(path)] == path}
    around = {path[:size] for size in range(len(path))}
    assert {k: v for k, v in before.items() if k not in inside | around} == {
        k: v for k, v in after.items() if k not in inside | around
    }


@sampled(150)
@given(text=_texts())
def test_inserting_changes_nothing_else(text: str):
    """A new key joins its table; taking its line out again gives the old text."""
    data = tomllib.loads(text)
    tables = [(key,) for key, value in data.items() if isinstance(value, dict)]
    rows = [("rows", place) for place in range(len(data["rows"]))] if isinstance(data.get("rows"), list) else []
    for table in [(), *tables, *rows, ("not-yet",)]:
        if table and table[0] == "rows" and not scan(text).headers.get(table):
            continue
        new = insert_value(text, (*table, "brand.new"), "'added'")
        assert leaves(tomllib.loads(new)) == leaves(data) | {(*table, "brand.new"): "added"}
        kept = [line for line in new.splitlines() if "brand.new" not in line and line not in ("", "[not-yet]")]
        assert kept == [line for line in text.splitlines() if line]


def test_value_in_the_supply_path():
    """One limit of one element changes; its comment stays."""
    text = (Path(__file__).parents[2] / "examples" / "pump_p3.toml").read_text(encoding="utf-8")
    new = replace_value(text, ("supply", "path", 1, "dip_limit"), '"9 %"')
    changed = [(a, b) for a, b in zip(text.splitlines(), new.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][0].replace('"7 %"', '"9 %"') == changed[0][1]
    assert "#" in changed[0][1]


def test_value_inside_an_inline_table():
    """Inline tables grow inside their braces."""
    text = "base_load = { power = '40 kW' } # kept\nnone = {}\n"
    assert insert_value(text, ("base_load", "power_factor"), "0.9") == (
        "base_load = { power = '40 kW', power_factor = 0.9 } # kept\nnone = {}\n"
    )
    assert insert_value(text, ("none", "a"), "1") == "base_load = { power = '40 kW' } # kept\nnone = { a = 1 }\n"


def test_new_table_goes_to_the_end():
    """A setting of a way gets its table at the end of the file."""
    new = insert_value("[starting]\n# c", ("starting", "star_delta", "pause"), '"60 ms"')
    assert new == '[starting]\n# c\n\n[starting.star_delta]\npause = "60 ms"\n'


@pytest.mark.parametrize("value", ["90 kW", '"open', "1 # comment", "1\ny = 2", "", "[1, 2", "} ", '"a" "b"'])
def test_new_text_must_be_one_value(value: str):
    """Nothing but a single TOML value gets in."""
    with pytest.raises(InputError, match="not a TOML value"):
        replace_value("x = 1\n", ("x",), value)
    with pytest.raises(InputError, match="not a TOML value"):
        insert_value("x = 1\n", ("y",), value)


def test_what_is_not_there_cannot_be_replaced():
    """Replacing and inserting do not stand in for each other."""
    with pytest.raises(InputError, match="insert_value"):
        replace_value("x = 1\n", ("y",), "2")
    with pytest.raises(InputError, match="replace_value"):
        insert_value("x = 1\n", ("x",), "2")
    with pytest.raises(InputError, match="no place"):
        insert_value("x = 1\n", ("x", "y"), "2")
    with pytest.raises(InputError, match="no place"):
        insert_value("[[a]]\n[[a]]\n", ("a", 0, "sub", "y"), "2")


def test_paths_in_words_count_from_one():
    """People count elements from one."""
    assert dotted(("supply", "path", 0, "rating")) == "supply.path[1].rating"


def test_both_lines_of_a_key_written_twice():
    """The message can name both places."""
    (double,) = scan("[a]\nb = 1\n\nb = 2\n").duplicates
    assert (double.path, double.first, double.second) == (("a", "b"), 2, 4)
