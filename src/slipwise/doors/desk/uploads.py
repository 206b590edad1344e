"""Recordings come with the request or not at all: what a study names on the disk is refused, what is handed over is read from a
private folder under names of our own."""

from __future__ import annotations

import base64
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from slipwise.quantity.errors import Fault, InputError

if TYPE_CHECKING:
    from slipwise.study.build_motor import BuiltMotor

KINDS = (".csv", ".txt", ".tsv", ".cff", ".cfg", ".dat")
LARGEST = 24_000_000  # bytes of all files together
FIELD = "motor.recording.file"


def refuse_files(text: str) -> None:
    """Refuses a study that would have a file read from the disk.

    Raises:
        InputError: it has `[motor.recording]`.
    """
    if "recording" not in text and "\\" not in text:  # an escape could hide the word
        return
    if _names_recording(text):
        raise InputError.of(
            FIELD,
            "",
            "the desk opens no file by itself",
            "hand the recording over under Fit, and put the [motor] lines it gives in place of [motor.recording]",
        )


def _names_recording(text: str) -> bool:
    try:
        motor = tomllib.loads(text.removeprefix("\ufeff")).get("motor")
    except (ValueError, RecursionError):
        return False  # the reader says what is wrong with it
    return isinstance(motor, dict) and "recording" in motor


def with_uploads(text: str, files: Sequence[Mapping[str, str]]) -> BuiltMotor:
    """The motor that a text describes, with the recording handed over in place of the one it names.

    Raises:
        InputError: the text, the files, or what they hold; as `study.reader.load_motor`.
    """
    from slipwise.study.reader import load_motor

    if not files:
        refuse_files(text)
    with TemporaryDirectory(prefix="slipwise-") as name:
        folder = Path(name)
        if files:
            text = _pointed(text, _stored(files, folder))
        (folder / "study.toml").write_text(text, encoding="utf-8", newline="")
        try:
            return load_motor(folder / "study.toml")
        except InputError as error:
            raise InputError(*(_without(fault, folder) for fault in error.faults)) from None


def _stored(files: Sequence[Mapping[str, str]], folder: Path) -> str:
    """Writes the files; gives the name of the one to be read."""
    names = []
    left = LARGEST
    for file in files:
        kind = Path(file["name"]).suffix.lower()
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
    from slipwise.study.scanner import scan
    from slipwise.study.scanner_edit import insert_value, replace_value

    path = ("motor", "recording", "file")
    if path in scan(text).spans:
        return replace_value(text, path, f'"{name}"')
    return insert_value(text, path, f'"{name}"')


def _without(fault: Fault, folder: Path) -> Fault:
    """A fault that does not name our folder."""
    from dataclasses import replace

    plain = {
        key: getattr(fault, key).replace(f"{folder}/", "").replace(str(folder), "")
        for key in ("value", "reason", "remedy")
    }
    return replace(fault, file=None, **plain)
