"""Recordings come with the request or not at all: what a study names on the disk is refused, what is handed over is read from a
private folder under names of our own."""

from __future__ import annotations

import base64
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path as Folder
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from slipwise.quantity.errors import Fault, InputError
from slipwise.study.text.scanner import Path, dotted

if TYPE_CHECKING:
    from slipwise.study.assemble.motor import BuiltMotor

KINDS = (".csv", ".txt", ".tsv", ".cff", ".cfg", ".dat")
LARGEST = 24_000_000  # bytes of all files together
FIELD = "motor.recording.file"


def refuse_files(text: str) -> None:
    """Refuses a study that would have a file read from the disk: one with a key `file` anywhere.

    Raises:
        InputError: naming each of them.
    """
    if "file" not in text and "\\" not in text:  # an escape could hide the word
        return
    try:
        named = list(_named(tomllib.loads(text.removeprefix("\ufeff")), ()))
    except (ValueError, RecursionError):
        return  # the reader says what is wrong with it
    if named:
        raise InputError(*(_refused(path, value) for path, value in named))


def _named(here: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """Every key `file` and what it says."""
    pairs = here.items() if isinstance(here, dict) else enumerate(here) if isinstance(here, list) else ()
    for key, value in pairs:
        if key == "file":
            yield (*path, key), str(value)[:80]
        yield from _named(value, (*path, key))


def _refused(path: Path, value: str) -> Fault:
    recording = "hand the recording over under Fit, and put the [motor] lines it gives in place of [motor.recording]"
    remedy = recording if "recording" in path else "use the command line for a study that names other files"
    return Fault(field=dotted(path), value=value, reason="the desk opens no file that a study names", remedy=remedy)


def with_uploads(text: str, files: Sequence[Mapping[str, str]]) -> BuiltMotor:
    """The motor that a text describes, with the recording handed over in place of the one it names.

    Raises:
        InputError: the text, the files, or what they hold; as `study.reader.load_motor`.
    """
    from slipwise.study.reader import load_motor

    if not files:
        refuse_files(text)
    with TemporaryDirectory(prefix="slipwise-") as name:
        folder = Folder(name)
        if files:
            text = _pointed(text, _stored(files, folder))
        (folder / "study.toml").write_text(text, encoding="utf-8", newline="")
        try:
            return load_motor(folder / "study.toml")
        except InputError as error:
            raise InputError(*(_without(fault, folder) for fault in error.faults)) from None


def _stored(files: Sequence[Mapping[str, str]], folder: Folder) -> str:
    """Writes the files; gives the name of the one to be read."""
    names = []
    left = LARGEST
    for file in files:
        kind = Folder(file["name"]).suffix.lower()
        if kind not in KINDS:
            raise InputError.of(FIELD, file["name"][:80], "this kind of file is not known", f"send {', '.join(KINDS)}")
        content = base64.b64decode(file["base64"])
        left -= len(content)
        if left < 0:
            raise InputError.of(FIELD, file["name"][:80], "it is larger than 24 MB", "export the start alone")
        (folder / f"recording{kind}").write_bytes(content)
        names.append(f"recording{kind}")
    return next((name for name in names if not name.endswith(".dat")), names[0])


def _pointed(text: str, name: str) -> str:
    """The text with the name of our copy in place of the recording it names."""
    from slipwise.study.text.edit import insert_value, replace_value
    from slipwise.study.text.scanner import scan

    path = ("motor", "recording", "file")
    written = path in scan(text).spans
    text = (replace_value if written else insert_value)(text, path, f'"{name}"')
    if [value for _, value in _named(tomllib.loads(text.removeprefix("\ufeff")), ())] != [name]:
        raise InputError.of(
            FIELD, "", "the study names other files besides", "keep [motor] and [motor.recording] alone"
        )
    return text


def _without(fault: Fault, folder: Folder) -> Fault:
    """A fault that does not name our folder."""
    from dataclasses import replace

    plain = {
        key: getattr(fault, key).replace(f"{folder}/", "").replace(str(folder), "")
        for key in ("value", "reason", "remedy")
    }
    return replace(fault, file=None, **plain)
