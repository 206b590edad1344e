"""The endpoints of the desk: the same numbers as the command line, in the shape that is documented, and nothing kept."""

from __future__ import annotations

import asyncio
import base64
import io
import json
import zipfile
from collections.abc import Iterator
from http.client import HTTPConnection
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import httpx
import jsonschema
import pytest

from benchmarks.desk_server import Client, running
from slipwise.doors.desk import answers
from slipwise.doors.desk.app import application
from slipwise.doors.desk.studies import OWN, SHIPPED, start_studies
from slipwise.doors.python import load, run
from slipwise.study.reader import loads

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
PUMP = (EXAMPLES / "pump_p3.toml").read_text(encoding="utf-8")
OPENAPI = Path(__file__).parent.parent.parent / "src/slipwise/doors/desk/openapi.json"


@pytest.fixture(scope="module")
def desk() -> Iterator[httpx.Client]:
    """A desk as a process of its own."""
    with running() as server, httpx.Client(base_url=f"http://127.0.0.1:{server.port}", timeout=60) as client:
        yield client


def post(desk: httpx.Client, endpoint: str, /, **body: Any) -> Any:
    """The answer of an endpoint, 200 asked for."""
    answer = desk.post(f"/api/v1/{endpoint}", json={"text": PUMP, **body})
    assert answer.status_code == 200, answer.text[:400]
    return answer.json()


def lines(desk: httpx.Client, endpoint: str, /, **body: Any) -> Any:
    """The result of an endpoint that streams lines, after progress."""
    answer = desk.post(f"/api/v1/{endpoint}", json={"text": PUMP, **body})
    assert answer.status_code == 200, answer.text[:400]
    found = [json.loads(line) for line in answer.text.splitlines()]
    assert all("progress" in line for line in found[:-1])
    assert "result" in found[-1], found[-1]
    return found[-1]["result"]


def test_start_studies_are_those_of_the_examples():
    """A new page begins with shipped examples, letter for letter, or with its own that name no file; each says it is invented."""
    assert [study["key"] for study in start_studies()] == list(SHIPPED)
    for study in start_studies():
        assert loads(study["text"]).title == study["title"]
        example = EXAMPLES / f"{study['key']}.toml"
        assert example.exists() is (study["key"] not in OWN)
        if study["key"] not in OWN:
            assert study["text"] == example.read_text(encoding="utf-8")
        assert "nvented" in study["summary"], study["key"]


def test_answers_are_as_documented(desk):
    """Each endpoint's answer fits the schema that the OpenAPI file gives for it."""
    found = {
        "STUDIES": desk.get("/api/v1/studies").json(),
        "FIELDS": post(desk, "fields"),
        "STEADY": post(desk, "steady", currents=True),
        "STARTED": post(desk, "start", way="star_delta", transient=True),
        "JUDGED": lines(desk, "judge"),
        "EXPLAINED": lines(desk, "explain", name="direct."),
        "IDENTIFIED": lines(desk, "identify"),
        "EXPORTED": lines(desk, "export", what="table", key="comparison", format="csv"),
        "FAULTS": desk.post("/api/v1/steady", json={"text": "[motor"}).json(),
    }
    for name, answer in found.items():
        jsonschema.Draft202012Validator(getattr(answers, name)).validate(_shortened(answer))
        assert "NaN" not in json.dumps(answer)


def _shortened(answer: Any) -> Any:
    """The same with five entries at most in each list of numbers, which is quicker to look through."""
    if isinstance(answer, dict):
        return {key: _shortened(value) for key, value in answer.items()}
    if isinstance(answer, list):
        return answer[:5] if answer and isinstance(answer[0], float) else [_shortened(item) for item in answer]
    return answer


def test_openapi_file_is_the_server_s_own(desk):
    """The file shipped is what the server gives, and names every endpoint."""
    served = desk.get("/api/v1/openapi.json").json()
    assert json.loads(OPENAPI.read_text(encoding="utf-8")) == served
    endpoints = {"studies", "fields", "steady", "start", "circuit", "judge", "explain", "identify", "export"}
    assert set(served["paths"]) == {f"/api/v1/{name}" for name in endpoints}


def test_the_page_s_own_script_runs(desk, capsys):
    """What the page on the endpoints shows as a script prints each way and its running point."""
    page = (EXAMPLES.parent / "docs/desk-api.md").read_text(encoding="utf-8")
    script = page.partition("```python\n")[2].partition("```")[0].replace(":8642", f":{desk.base_url.port}")
    exec(script, {})
    printed = capsys.readouterr().out
    assert "Star-delta" in printed
    assert "runs at" in printed


def test_judgement_is_that_of_the_library(desk):
    """Verdicts, tables and reason are those of the Python door for the same text."""
    found = lines(desk, "judge")
    result = run(load(EXAMPLES / "pump_p3.toml"), transients=False, whole=False)
    assert found["recommendation"]["way"] == result.recommendation.way
    assert found["recommendation"]["reason"] == result.recommendation.reason
    status = {way.key: way.verdict.status.value for way in result.ways}
    assert {way["key"]: way["status"] for way in found["ways"]} == status
    shown = {way["key"]: {row["key"]: row["margin"] for row in way["criteria"]} for way in found["ways"]}
    for way in result.ways:
        for row in way.verdict.criteria:
            assert shown[way.key][row.key] == pytest.approx(row.margin)


def test_steady_picture_agrees_with_the_judged_study(desk):
    """Running speed and direct dip of the picture are those of the run-ups, to the grid of the curves."""
    picture = {way["key"]: way for way in post(desk, "steady")["ways"]}
    result = run(load(EXAMPLES / "pump_p3.toml"), transients=False, whole=False)
    for way in result.ways:
        runs = next(point for point in picture[way.key]["points"] if point["kind"] == "operating")
        assert runs["speed"] == pytest.approx(way.run_ups[0].final_speed * 9.549297, rel=2e-4)
    nominal = next(way for way in result.ways if way.key == "direct").run_ups[0]
    dips = 100 * (1 - nominal.busbar_voltage.min(axis=1) / nominal.prestart_voltage)
    assert [dip["dip"] for dip in picture["direct"]["dips"]] == pytest.approx(dips.tolist(), rel=1e-3)


def test_held_settings_stand_and_given_ones_go_before(desk):
    """A picture with held settings keeps them; one that the study gives goes before; nothing is designed anew."""
    designed = {way["key"]: way["held"] for way in post(desk, "steady")["ways"]}
    held = {"star_delta": {**designed["star_delta"], "changeover_speed": 150.0}}
    assert _changeover(post(desk, "steady", held=held)) == pytest.approx(150.0 * 9.549297, rel=1e-4)
    edit = {"path": "starting.star_delta.changeover_speed", "value": "1440 r/min"}
    assert _changeover(post(desk, "steady", held=held, edits=[edit])) == pytest.approx(1440, rel=1e-4)
    wrong = {"star_delta": {**designed["star_delta"], "pause": -1.0}}
    way = next(way for way in post(desk, "steady", held=wrong)["ways"] if way["key"] == "star_delta")
    assert not way["applies"]
    assert "range" in way["reason"]


def _changeover(answer: Any) -> float:
    way = next(way for way in answer["ways"] if way["key"] == "star_delta")
    return float(next(point["speed"] for point in way["points"] if point["kind"] == "changeover"))


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_every_field_written_as_it_is_changes_nothing(desk, example):
    """Editing each written field to the text it has keeps the study what it was; a text without edits comes back as sent."""
    text = example.read_text(encoding="utf-8")
    found = desk.post("/api/v1/fields", json={"text": text}).json()
    assert found["text"] == text
    if "recording]" in text or "[group]" in text:
        return
    written = [field for field in found["fields"] if field["written"]]
    assert len(written) > 10
    edits = [{"path": field["path"], "value": field["text"]} for field in written]
    study = loads(text)
    for begin in range(0, len(edits), 64):
        text = desk.post("/api/v1/fields", json={"text": text, "edits": edits[begin : begin + 64]}).json()["text"]
    assert _values(loads(text)) == _values(study)


def _values(study: Any) -> list[tuple[str, float | None, str]]:
    return [(row.name, row.value, row.text) for row in study.inputs]


def test_assumed_values_are_marked_and_can_be_overwritten_and_put_back(desk):
    """An assumed field has its range; written over it is given; taken out it is assumed again, and comments stay."""
    path = "tolerances.low_voltage"

    def field(answer: Any) -> Any:
        return next(field for field in answer["fields"] if field["path"] == path)

    first = field(post(desk, "fields"))
    assert first["origin"] == "assumed"
    assert first["range_text"]
    assert not first["written"]
    over = post(desk, "fields", edits=[{"path": path, "value": "93 %"}])
    assert (field(over)["origin"], field(over)["text"]) == ("given", "93 %")
    back = desk.post("/api/v1/fields", json={"text": over["text"], "edits": [{"path": path, "value": None}]}).json()
    assert field(back)["origin"] == "assumed"
    assert "# agreed with the network operator" in back["text"]


def test_sliders_stay_within_what_the_file_permits(desk):
    """Both ends of every slider are values the reader takes for that field alone."""
    found = post(desk, "fields")
    sliders = [field for field in found["fields"] if field["slider"] and field["kind"] == "quantity"]
    assert len(sliders) > 30
    assert all(field["slider"]["min"] < field["slider"]["max"] for field in sliders)
    for end in ("min", "max"):
        edits = [{"path": f["path"], "value": f"{f['slider'][end]:.10g} {f['unit_text']}".strip()} for f in sliders]
        faults = post(desk, "fields", edits=edits)["faults"]
        assert not [
            fault for fault in faults if "must be" in fault["reason"] or "per cent or per unit" in fault["reason"]
        ]


def test_mistakes_come_back_with_their_field_line_and_text(desk):
    """A wrong value is answered with field, line, reason and remedy, and the text as typed."""
    answer = desk.post(
        "/api/v1/steady", json={"text": PUMP, "edits": [{"path": "motor.rated_power", "value": "90 hp"}]}
    )
    assert answer.status_code == 422
    fault = answer.json()["faults"][0]
    assert (fault["field"], fault["line"]) == ("motor.rated_power", 7)
    assert "hp (metric)" in fault["remedy"]
    assert 'rated_power = "90 hp"' in answer.json()["text"]


def test_start_in_time_is_the_library_s(desk):
    """Traces, stages and contacts of one start; a transient has three currents and its peaks."""
    found = post(desk, "start", way="star_delta")
    result = run(load(EXAMPLES / "pump_p3.toml"), transients=False, whole=False)
    nominal = next(way for way in result.ways if way.key == "star_delta").run_ups[0]
    assert found["traces"]["time"][-1] == pytest.approx(nominal.time[-1], rel=1e-3)
    assert [stage["name"] for stage in found["stages"]] == ["star", "pause", "delta"]
    assert found["stages"][1]["contacts"] == ["K1 line"]
    direct = post(desk, "start", way="direct", transient=True)
    assert len(direct["transient"]["line_currents"]) == 3
    assert max(direct["transient"]["torque"]) > max(direct["traces"]["torque"])


def test_circuit_shows_the_contacts_of_a_stage(desk):
    """The power circuit as SVG; a stage that is not there is refused with those that are."""
    answer = desk.post("/api/v1/circuit", json={"text": PUMP, "way": "star_delta", "stage": "star"})
    assert answer.headers["content-type"] == "image/svg+xml"
    assert b"K3 star" in answer.content
    refused = desk.post("/api/v1/circuit", json={"text": PUMP, "way": "star_delta", "stage": "nowhere"})
    assert refused.status_code == 422


def test_worked_steps_have_formula_numbers_and_source(desk):
    """The dip of the direct start is explained with symbols, numbers and the definition's source."""
    item = lines(desk, "explain", name="direct.dip:main")["items"][0]
    assert "<math" in item["formula_mathml"]
    assert item["shown"].startswith("7.7")
    assert "IEC 61000-3-3" in item["source"]


@pytest.mark.parametrize(
    ("what", "key", "form", "begins"),
    [
        ("figure", "comparison", "svg", b"<?xml"),
        ("figure", "comparison", "png", b"\x89PNG"),
        ("figure", "direct.run_up", "pdf", b"%PDF"),
        ("table", "comparison", "csv", b"Way,"),
        ("circuit", "star_delta/star", "svg", b"<svg"),
        ("curves", "", "csv", b"PK"),
    ],
)
def test_files_to_take_home(desk, what, key, form, begins):
    """Each file has the kind it says."""
    found = lines(desk, "export", what=what, key=key, format=form)
    content = base64.b64decode(found["base64"])
    assert content.startswith(begins)
    if what == "curves":
        names = zipfile.ZipFile(io.BytesIO(content)).namelist()
        assert any(name.startswith("series/") for name in names)


def test_no_file_of_the_disk_is_read(desk):
    """A recording that a study names is not opened, whatever way its name is written; one handed over is read."""
    recorded = (EXAMPLES / "bench_b7_recording.toml").read_text(encoding="utf-8")
    for text in (recorded, PUMP + '\n[motor.recording]\n"\\u0066ile" = "/etc/passwd"\n'):
        faults = desk.post("/api/v1/steady", json={"text": text}).json()["faults"]
        assert [fault["field"] for fault in faults] == ["motor.recording.file"]
    content = base64.b64encode((EXAMPLES / "bench_b7_recording.csv").read_bytes()).decode("ascii")
    upload = [{"name": "../../start.csv", "base64": content}]
    found = lines(desk, "identify", text=recorded, recording=upload)
    assert found["kind"] == "recording"
    assert "R1 = " in found["block"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"host": "evil.example"}, 421),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"content-type": "text/plain"}, 415),
        ({"content-type": "application/json", "content-encoding": "gzip"}, 415),
    ],
)
def test_foreign_requests_are_refused(desk, headers, status):
    """Other hosts, other origins and other kinds of bodies do not come through."""
    sent = {"content-type": "application/json", **headers}
    answer = desk.post("/api/v1/fields", content=json.dumps({"text": PUMP}), headers=sent)
    assert answer.status_code == status
    assert answer.json()["faults"][0]["field"] == "request"


def test_a_link_from_elsewhere_leads_to_the_page_only(desk):
    """Following a link in another page shows the desk; no endpoint and no frame can be reached so."""
    elsewhere = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate", "sec-fetch-dest": "document"}
    assert desk.get("/", headers=elsewhere).status_code == 200
    assert desk.get("/api/v1/studies", headers=elsewhere).status_code == 403
    assert desk.get("/", headers={**elsewhere, "sec-fetch-dest": "iframe"}).status_code == 403


def test_a_shared_desk_answers_to_its_name():
    """`--host` adds that name to those of this machine."""

    async def status(host: str) -> int:
        transport = httpx.ASGITransport(application(("desk.example",), quick=1))
        async with httpx.AsyncClient(transport=transport, base_url="http://desk.example") as client:
            return (await client.get("/api/v1/studies", headers={"host": host})).status_code

    assert [asyncio.run(status(host)) for host in ("desk.example", "desk.example:80", "other.example")] == [
        200,
        200,
        421,
    ]


def test_bodies_are_bounded(desk):
    """Too long a body, a number out of bounds and a number that is none are refused."""
    plain = HTTPConnection(desk.base_url.host, desk.base_url.port)
    plain.request("POST", "/api/v1/fields", b"", {"content-type": "application/json", "content-length": "34000000"})
    assert plain.getresponse().status == 413
    plain.close()
    assert desk.post("/api/v1/fields", json={"text": "x" * 250_000}).status_code == 422
    raw = '{"text": "", "held": {"direct": {"a": %s}}}'
    for number in ("NaN", "1e999", "-Infinity", "1" + "0" * 400):
        answer = desk.post("/api/v1/steady", content=raw % number, headers={"content-type": "application/json"})
        assert answer.status_code == 422, number


def test_every_answer_carries_the_policy(desk):
    """Scripts and connections from the page's own place only; API answers are not stored."""
    answer = desk.get("/api/v1/studies")
    policy = answer.headers["content-security-policy"]
    assert "script-src 'self';" in policy
    assert "connect-src 'self';" in policy
    assert answer.headers["cache-control"] == "no-store"
    assert desk.get("/static/../app.py").status_code == 404
    assert desk.get("/static/%2e%2e%2fapp.py").status_code == 404


def test_plotting_library_comes_from_its_package(desk):
    """The browser gets the file of the installed package, byte for byte."""
    spec = find_spec("bokeh")
    assert spec is not None
    assert spec.origin is not None
    installed = Path(spec.origin).parent / "server/static/js/bokeh.min.js"
    assert desk.get("/bokeh/bokeh.min.js").content == installed.read_bytes()
    assert desk.get("/bokeh/compiler.js").status_code == 404


def test_a_dropped_connection_cancels_long_work(desk):
    """When the one who asked leaves, the process is free for the next, who gets the own answer and soon."""
    hoist = {"text": (EXAMPLES / "hoist_h1.toml").read_text(encoding="utf-8"), "transients": True, "whole": True}

    async def dropped(port: int) -> float:
        client = Client(port)
        await client.post("/api/v1/judge", {"text": PUMP})  # the process is warm
        slowest = 0.0
        for wait in (0.0, 0.05, 0.4):
            gone = Client(port)
            asked = asyncio.create_task(gone.post("/api/v1/judge", hoist))
            await asyncio.sleep(wait)
            asked.cancel()
            await gone.close()
            begin = asyncio.get_running_loop().time()
            _, body = await client.post("/api/v1/judge", {"text": PUMP})
            assert json.loads(body.splitlines()[-1])["result"]["title"] == "Raw-water pump P3"
            slowest = max(slowest, asyncio.get_running_loop().time() - begin)
        await client.close()
        return slowest

    assert asyncio.run(dropped(desk.base_url.port)) < 25.0  # three hoists with everything take longer by far
