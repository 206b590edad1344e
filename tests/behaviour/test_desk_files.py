"""Files that a study names come with the request: found by plain name, in memory, bounded, and once sent known by their hash."""

from __future__ import annotations

import base64
import hashlib
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from benchmarks.desk_server import running
from tests.behaviour.test_desk_api import lines

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
GROUP = (EXAMPLES / "waterworks_w1.toml").read_text(encoding="utf-8")
RECORDED = (EXAMPLES / "bench_b7_recording.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def desk() -> Iterator[httpx.Client]:
    """A desk as a process of its own."""
    with running() as server, httpx.Client(base_url=f"http://127.0.0.1:{server.port}", timeout=60) as client:
        yield client


def encoded(content: bytes) -> str:
    """As a request carries it."""
    return base64.b64encode(content).decode("ascii")


def beside(name: str) -> dict[str, Any]:
    """An example file as it is handed over."""
    return {"name": name, "base64": encoded((EXAMPLES / name).read_bytes())}


def faults(desk: httpx.Client, **body: Any) -> list[tuple[str, str]]:
    """Field and reason of each fault of a refused request."""
    answer = desk.post("/api/v1/fields", json=body)
    assert answer.status_code in {200, 422}, answer.text[:300]
    return [(fault["field"], fault["reason"]) for fault in answer.json()["faults"]]


def test_a_group_is_read_with_the_files_of_its_motors(desk):
    """The motors are those that the files hold; a file that is missing is named beside its field."""
    assert faults(desk, text=GROUP) == [("group.motor[3].study", "the file it names is not at hand")]
    assert faults(desk, text=GROUP, files=[beside("pump_p3.toml")]) == []
    other = {"name": "pump_p3.toml", "base64": encoded(b"[motor]\n")}
    assert "in that file" in faults(desk, text=GROUP, files=[other])[0][1]


def test_a_recording_is_read_with_the_study(desk):
    """It is found whatever folder the study names; what is wrong inside it is told, and a missing one is asked for."""
    text = RECORDED.replace('file = "', 'file = "../measured/')
    assert faults(desk, text=text) == [("motor.recording.file", "the file it names is not at hand")]
    short = {"name": "bench_b7_recording.csv", "base64": encoded(b"time,ia,ib,ic\n0,0,0,0\n")}
    assert faults(desk, text=text, files=[short])[0][1] == "time needs its unit"


def test_a_content_once_sent_is_known_by_its_hash(desk):
    """The hash alone serves while it is kept; one never sent is asked for; one of another content is refused."""
    file = beside("pump_p3.toml")
    digest = hashlib.sha256((EXAMPLES / "pump_p3.toml").read_bytes()).hexdigest()
    by_hash = [{"name": "pump_p3.toml", "sha256": digest}]
    for _ in range(4):  # each of the processes, in turn
        assert faults(desk, text=GROUP, files=[{**file, "sha256": digest}]) == []
    for _ in range(4):
        assert faults(desk, text=GROUP, files=by_hash) == []
    never = [{"name": "pump_p3.toml", "sha256": "0" * 64}]
    assert [field for field, _ in faults(desk, text=GROUP, files=never)] == ["files.base64"]
    assert [field for field, _ in faults(desk, text=GROUP, files=[{**file, "sha256": "0" * 64}])] == ["files.sha256"]


@pytest.mark.parametrize(
    ("file", "status"),
    [
        ({"name": "../pump_p3.toml", "base64": ""}, 422),
        ({"name": "a\\b.toml", "base64": ""}, 422),
        ({"name": "C:pump.toml", "base64": ""}, 422),
        ({"name": "x\x00.toml", "base64": ""}, 422),
        ({"name": "pump.exe", "base64": ""}, 200),  # a fault of the form, told with the fields
        ({"name": "pump.toml", "base64": "abc"}, 200),
        ({"name": "pump.toml", "base64": "/etc"}, 200),
        ({"name": "pump.toml"}, 200),
    ],
)
def test_files_are_bounded_in_name_and_kind(desk, file, status):
    """Folders, drives, control characters and unknown kinds are refused, and nothing breaks."""
    answer = desk.post("/api/v1/fields", json={"text": GROUP, "files": [file]})
    assert answer.status_code == status
    assert answer.json()["faults"]
    assert "fault of slipwise" not in answer.text


def test_files_are_bounded_in_number(desk):
    """Sixteen at most, each name once."""
    file = {"name": "a.toml", "base64": ""}
    assert faults(desk, text=GROUP, files=[file, file])[0][0] == "files"
    many = [{"name": f"{k}.toml", "base64": ""} for k in range(17)]
    assert desk.post("/api/v1/fields", json={"text": GROUP, "files": many}).status_code == 422


def test_nothing_is_read_from_the_disk(desk):
    """Whatever a study names, in whatever spelling, is looked for among the files sent, never on the disk."""
    place = (EXAMPLES / "pump_p3.toml").as_posix()
    for name in (place, "pump_p3.toml", "/etc/passwd", "examples/pump_p3.toml"):
        found = faults(desk, text=GROUP.replace('study = "pump_p3.toml"', f'study = "{name}"'))
        assert found == [("group.motor[3].study", "the file it names is not at hand")]


def test_the_study_goes_home_with_its_files(desk):
    """One archive with the study as it stands and each file, byte for byte."""
    body = {"text": GROUP, "files": [beside("pump_p3.toml")], "what": "study", "key": "works.toml", "format": "zip"}
    found = lines(desk, "export", **body)
    archive = zipfile.ZipFile(io.BytesIO(base64.b64decode(found["base64"])))
    assert found["name"] == "works.zip"
    assert {name: archive.read(name) for name in archive.namelist()} == {
        "works.toml": GROUP.encode(),
        "pump_p3.toml": (EXAMPLES / "pump_p3.toml").read_bytes(),
    }
    outside = lines(desk, "export", **{**body, "key": "../works.toml"})
    assert outside["name"] == "study.zip"
