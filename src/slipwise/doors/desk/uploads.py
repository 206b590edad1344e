"""Files come with the request or not at all: what a study names is looked for among them by its plain name, in memory. No
path of a client is opened, and nothing is written."""

from __future__ import annotations

import base64
import hashlib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from slipwise.quantity.errors import InputError
from slipwise.study.assemble.book import plain_name

if TYPE_CHECKING:
    from slipwise.study.assemble.motor import BuiltMotor

RECORDED = (".csv", ".txt", ".tsv", ".cff", ".cfg", ".dat")
KINDS = (".toml", *RECORDED)
LARGEST = 24_000_000  # bytes of all files together
KEPT = 64_000_000  # bytes of contents kept in one process, for requests that name them by their hash
FIELD, CONTENT = "files", "files.base64"
_held: OrderedDict[str, bytes] = OrderedDict()


@dataclass(frozen=True, slots=True)
class Files:
    """Files beside a study. key: plain name and hash of each, which is all that tells two of them apart."""

    key: tuple[tuple[str, str], ...] = ()
    contents: Mapping[str, bytes] = field(default_factory=dict, compare=False, hash=False)


def files_of(asked: Sequence[Mapping[str, str | None]]) -> Files:
    """The files of a request; asked: `requests.Companion` as plain data.

    Raises:
        InputError: a kind that is not known, a name given twice, too much, or a content that is not held any more.
    """
    contents: dict[str, bytes] = {}
    key = []
    left = LARGEST
    for one in asked:
        name = str(one["name"])
        _known(name, KINDS)
        if name in contents:
            raise InputError.of(FIELD, name[:80], "two files have this name", "send it once")
        digest, content = _content(name, one["sha256"], one["base64"])
        left -= len(content)
        if left < 0:
            raise _large(FIELD, name)
        contents[name] = content
        key.append((name, digest))
    return Files(tuple(key), contents)


def _content(name: str, digest: str | None, encoded: str | None) -> tuple[str, bytes]:
    """Hash and content; one sent without content is looked for among those kept."""
    if encoded is None:
        content = _held.get(digest or "")
        if content is None or digest is None:
            raise InputError.of(CONTENT, name[:80], "its content is not kept here any more", "send it along")
        _held.move_to_end(digest)
        return digest, content
    content = _decoded(FIELD, name, encoded)
    found = hashlib.sha256(content).hexdigest()
    if digest not in {None, found}:
        raise InputError.of(
            "files.sha256", name[:80], "it is not that of the content", "leave it out, or send the right one"
        )
    _held[found] = content = _held.get(found, content)
    _held.move_to_end(found)
    while sum(map(len, _held.values())) > KEPT:
        _held.popitem(last=False)
    return found, content


def _decoded(where: str, name: str, encoded: str) -> bytes:
    try:
        return base64.b64decode(encoded)
    except ValueError:
        raise InputError.of(where, name[:80], "its content is not base64", "encode the file's bytes") from None


def _known(name: str, kinds: tuple[str, ...], where: str = FIELD) -> str:
    """The kind of a file, by its name."""
    kind = PurePosixPath(name).suffix.lower()
    if kind not in kinds:
        raise InputError.of(where, name[:80], "this kind of file is not known", f"send {', '.join(kinds)}")
    return kind


def _large(where: str, name: str) -> InputError:
    return InputError.of(where, name[:80], "with it the files are larger than 24 MB", "export the start alone")


def motor_with(text: str, recording: Sequence[Mapping[str, str]], files: Files) -> BuiltMotor:
    """The motor that a text describes, with a recording handed over in place of the one it names, whatever it is called.

    Raises:
        InputError: the text, the files, or what they hold; as `study.reader.motor_of`.
    """
    from slipwise.study.reader import motor_of

    if not recording:
        return motor_of(text, files.contents)
    contents = _recorded(recording)
    name = next((name for name in contents if not name.endswith(".dat")), next(iter(contents)))
    return motor_of(_pointed(text, name), {**files.contents, **contents})


def _recorded(recording: Sequence[Mapping[str, str]]) -> dict[str, bytes]:
    """The files of one recording by plain name, all with the stem of the first."""
    where = "motor.recording.file"
    stem = PurePosixPath(plain_name(recording[0]["name"])).stem or "recording"
    contents: dict[str, bytes] = {}
    for file in recording:
        kind = _known(file["name"], RECORDED, where)
        contents[stem + kind] = _decoded(where, file["name"], file["base64"])
        if sum(map(len, contents.values())) > LARGEST:
            raise _large(where, file["name"])
    return contents


def _pointed(text: str, name: str) -> str:
    """The text with the name of the file handed over in place of the one it names."""
    from slipwise.doors.desk.edits import edited

    return edited(text, [{"path": "motor.recording.file", "value": name}])
