"""Broken study files: each gives its own message with line, field, value, reason and remedy, and nothing else."""

from __future__ import annotations

import re
import string
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slipwise.doors.cli.app import main
from slipwise.quantity.errors import InputError
from slipwise.study.reader import LARGEST, load, loads
from tests.reference import sampled

HERE = Path(__file__).parent
BASE = (HERE / "base.toml").read_text(encoding="utf-8")
BROKEN: list[dict[str, Any]] = tomllib.loads((HERE / "studies.toml").read_text(encoding="utf-8"))["case"]
THIN = "\u202f"


def spoiled(edits: list[list[str]]) -> str:
    """The right file with each edit made once."""
    text = BASE
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def faults_of(text: str) -> list[str]:
    """Line and words of every fault, with plain spaces."""
    with pytest.raises(InputError) as caught:
        loads(text)
    return [f"{fault.line}: {fault}".replace(THIN, " ") for fault in caught.value.faults]


def never_crashes(text: str) -> None:
    """Either a study, or an InputError whose every fault has a reason and a remedy."""
    try:
        loads(text)
    except InputError as error:
        bare = [fault for fault in error.faults if not (fault.reason and fault.remedy)]
        if bare:
            raise AssertionError(bare) from error


def test_the_unspoiled_file_is_read():
    """The file the others are made from has nothing wrong with it."""
    assert loads(BASE).title == "Test pump"


def test_the_table_is_long_enough():
    """At least 45 ways of spoiling a file, each with a name of its own."""
    assert len({case["name"] for case in BROKEN}) == len(BROKEN) >= 45


@pytest.mark.parametrize("case", BROKEN, ids=[case["name"] for case in BROKEN])
def test_broken_file_gives_its_own_message(case: dict[str, Any]):
    """Line, field, value, reason and remedy are said in one paragraph, for every fault in the file."""
    found = faults_of(spoiled(case["edits"]))
    assert len(found) == len(case["faults"])
    for words, wanted in zip(found, case["faults"], strict=True):
        assert re.fullmatch(re.escape(wanted).replace(r"\[\.\.\.\]", ".*"), words)
        assert "\n" not in words


def test_message_begins_with_file_and_line(tmp_path: Path):
    """A message that an editor can jump to: file, line, field."""
    file = tmp_path / "pump.toml"
    file.write_text(BASE.replace('"0.40 ohm"', '"0,40 ohm"'), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(file)
    assert str(caught.value).startswith(f"{file}:18: motor.circuit.R1: ")


def test_file_that_is_not_there(tmp_path: Path):
    """A missing file is bad input, not a crash."""
    with pytest.raises(InputError, match="there is no such file"):
        load(tmp_path / "nothing.toml")


def test_folder_instead_of_a_file(tmp_path: Path):
    """A folder is named as such."""
    with pytest.raises(InputError, match="it is a folder"):
        load(tmp_path)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xff\xfet\x00i\x00", "not text in UTF-8"),
        (b"title = '\xe9'", "not text in UTF-8"),
        (b"#" * (LARGEST + 1), "larger than a megabyte"),
        (b"a = " + b"[" * 5000, "nested too deeply"),
        (b"title = 'x'\x00", "not TOML"),
        (b"x = " + b"9" * 5000, "not TOML"),
        (b"", "it is missing"),
    ],
    ids=["utf-16", "latin-1", "too large", "too deep", "nul", "endless number", "empty"],
)
def test_content_that_is_no_study(tmp_path: Path, content: bytes, words: str):
    """Whatever the bytes are, the answer is one InputError."""
    file = tmp_path / "study.toml"
    file.write_bytes(content)
    with pytest.raises(InputError, match=words):
        load(file)


def test_byte_order_mark_and_windows_lines_do_no_harm(tmp_path: Path):
    """A file saved by a Windows editor reads the same."""
    file = tmp_path / "study.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    assert load(file).motor == loads(BASE).motor


_PIECES = st.one_of(
    st.sampled_from(
        [*BASE.splitlines(), "[[supply.path]]", "[motor.circuit]", '"""', "'", "= {", "}", "[", "]]", "\\u00", "#"]
    ),
    st.text(alphabet=string.printable + "²Ω\u202f", max_size=12),
)


@sampled(150)
@given(pieces=st.lists(_PIECES, max_size=12))
def test_random_text_never_crashes(pieces: list[str]):
    """Any text at all is either a study or an InputError."""
    never_crashes("\n".join(pieces))


@sampled(150)
@given(
    place=st.integers(0, len(BASE) - 1), length=st.integers(0, 12), new=st.text(alphabet=string.printable, max_size=6)
)
def test_random_damage_never_crashes(place: int, length: int, new: str):
    """A study file with any stretch overwritten is either still a study or an InputError."""
    never_crashes(BASE[:place] + new + BASE[place + length :])


_VALUES = st.one_of(
    st.sampled_from(
        ["1e400", "-0.0", "inf", "nan", "[]", "{}", "[[1]]", "{ a = 1 }", "true", '""', '"0 ohm"', "07:32:00", "0x10"]
    ),
    st.integers(-(10**30), 10**30).map(str),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.text(alphabet=string.ascii_letters + string.digits + " ,.%/-", max_size=10).map(lambda text: f'"{text}"'),
)


@sampled(300)
@given(line=st.sampled_from([line for line in BASE.splitlines() if " = " in line]), value=_VALUES)
def test_any_value_in_any_key_never_crashes(line: str, value: str):
    """Every key answers every TOML value with a study or an InputError."""
    key = line.partition(" = ")[0]
    never_crashes(BASE.replace(line, f"{key} = {value}", 1))


@pytest.mark.parametrize("case", BROKEN, ids=[case["name"] for case in BROKEN])
def test_command_line_answers_with_code_2_and_leaves_nothing(
    case: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    """`slipwise study` on a broken file: exit code 2, the paragraphs on the error stream, no output begun."""
    file = tmp_path / "spoiled.toml"
    file.write_text(spoiled(case["edits"]), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["study", "spoiled.toml"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    paragraphs = printed.err.strip().split("\n\n")
    assert len(paragraphs) == len(case["faults"])
    assert all(paragraph.startswith("spoiled.toml:") for paragraph in paragraphs)
    assert [path.name for path in tmp_path.iterdir()] == ["spoiled.toml"]
