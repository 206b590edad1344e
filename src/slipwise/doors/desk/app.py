"""The server of the desk: static files, endpoints, and how answers and refusals leave it."""

from __future__ import annotations

import asyncio
import os
from collections.abc import AsyncIterator
from contextlib import aclosing, asynccontextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, StreamingResponse

from slipwise import __version__
from slipwise.doors.desk import answers, requests
from slipwise.doors.desk.crew import READY, Crew, CrewError, Member
from slipwise.doors.desk.guard import App, Guard, TooLargeError
from slipwise.doors.desk.messages import Kind, encode, request_fault
from slipwise.doors.desk.studies import start_studies

QUICK, LONG = 20.0, 240.0  # s that a task may take
LATER = 0.7  # s for the first picture
STATIC = Path(__file__).parent / "static"
KINDS = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
}
PLOTTING = ("bokeh.min.js", "bokeh-api.min.js", "bokeh-gl.min.js", "bokeh-widgets.min.js", "bokeh-tables.min.js")
JSON, LINES = "application/json", "application/x-ndjson"


class Desk:
    """The two crews behind the endpoints: one for what follows a hand, one process for what takes long."""

    def __init__(self, quick: int | None = None) -> None:
        count = quick or max(2, min(4, os.cpu_count() or 1))
        self.quick = Crew([Member(QUICK) for _ in range(count)], most=400)
        self.long = Crew([Member(LONG)], most=200)

    async def warm_later(self) -> None:
        """Starts the other processes once the first is ready and the page has been drawn."""
        await self.quick.answer(READY, {})
        await asyncio.sleep(LATER)
        self.quick.grow()
        await self.long.warm()

    async def answer(self, task: str, body: requests.Body, media: str = JSON) -> Response:
        """A quick task's answer."""
        try:
            kind, content = await self.quick.answer(task, body.plain())
        except CrewError as error:
            return Response(error.body, error.status, media_type=JSON)
        if kind == Kind.RESULT:
            return Response(content, media_type=media)
        return Response(content, 422, media_type=JSON)

    def lines(self, task: str, body: requests.Body, *, quick: bool = False) -> StreamingResponse:
        """A long task's progress and answer, a line each; it is cancelled when nobody reads any more. quick: it is not long."""
        return StreamingResponse(self._lines(self.quick if quick else self.long, task, body), media_type=LINES)

    async def _lines(self, crew: Crew, task: str, body: requests.Body) -> AsyncIterator[bytes]:
        try:
            async with aclosing(crew.messages(task, body.plain())) as messages:
                async for kind, content in messages:
                    yield _line(kind, content)
        except CrewError as error:
            yield error.body + b"\n"


def _line(kind: str, content: bytes) -> bytes:
    name = {Kind.PROGRESS: b"progress", Kind.RESULT: b"result"}.get(Kind(kind))
    return content + b"\n" if name is None else b'{"' + name + b'":' + content + b"}\n"


def application(hosts: tuple[str, ...] = (), quick: int | None = None) -> App:
    """The whole server as an ASGI application. hosts: names it answers to beside those of this machine; quick: processes."""
    desk = Desk(quick)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        await desk.quick.warm()
        later = asyncio.create_task(desk.warm_later())
        yield
        later.cancel()
        await desk.quick.end()
        await desk.long.end()

    app = FastAPI(**ABOUT, openapi_url="/api/v1/openapi.json", docs_url=None, redoc_url=None, lifespan=lifespan)
    _refusals(app)
    _endpoints(app, desk)
    _files(app)
    return Guard(app, hosts)


def described() -> dict[str, Any]:
    """The endpoints as OpenAPI, without a server."""
    app = FastAPI(**ABOUT)
    _endpoints(app, Desk(1))
    return app.openapi()


DESCRIPTION = (
    "Endpoints behind the local web page of slipwise. A study is a text in the format of the study file; nothing is kept "
    "between requests. A wrong study or request is answered with 422 and `faults`: field, value, reason, remedy, line, "
    "message. Long work streams lines of JSON: `progress`, then `result` or `faults`; closing the connection cancels it."
)
ABOUT: dict[str, Any] = {"title": "slipwise desk", "version": __version__, "description": DESCRIPTION}


def _refusals(app: FastAPI) -> None:
    """Every refusal in the same shape."""

    async def invalid(_request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        found = error.errors()[:20]
        faults = []
        for detail in found:
            where = ".".join(str(part) for part in detail["loc"] if part != "body") or "request"
            reason = str(detail["msg"])[:300]
            remedy = "see the schema at /api/v1/openapi.json"
            message = f"{where}: {reason}; {remedy}"
            faults.append(
                {
                    "field": where[:200],
                    "value": "",
                    "reason": reason,
                    "remedy": remedy,
                    "line": None,
                    "message": message,
                }
            )
        return Response(encode({"faults": faults}), 422, media_type=JSON)

    async def refused(_request: Request, error: Exception) -> Response:
        status, words = getattr(error, "status_code", 400), str(getattr(error, "detail", "refused"))
        return Response(request_fault(words[:200].lower(), "see /api/v1/openapi.json"), status, media_type=JSON)

    async def large(_request: Request, _error: Exception) -> Response:
        return Response(request_fault("it is too large", "send a smaller study or recording"), 413, media_type=JSON)

    app.add_exception_handler(RequestValidationError, invalid)
    for status in (400, 404, 405):
        app.add_exception_handler(status, refused)
    app.add_exception_handler(TooLargeError, large)


def _endpoints(app: FastAPI, desk: Desk) -> None:
    @app.get(
        "/api/v1/studies", summary="Studies to begin with", responses=answers.plain(answers.STUDIES, "The studies")
    )
    async def studies() -> Any:
        return {"studies": start_studies()}

    @app.post(
        "/api/v1/fields",
        summary="Every field of a study, for a form",
        responses=answers.plain(answers.FIELDS, "The form"),
    )
    async def fields(body: requests.State) -> Response:
        return await desk.answer("fields", body)

    @app.post(
        "/api/v1/steady",
        summary="Steady curves, points and dips of all ways",
        responses=answers.plain(answers.STEADY, "The picture"),
    )
    async def steady(body: requests.Steady) -> Response:
        return await desk.answer("steady", body)

    @app.post("/api/v1/start", summary="One start in time", responses=answers.plain(answers.STARTED, "The start"))
    async def start(body: requests.Start) -> Response:
        return await desk.answer("start", body)

    @app.post(
        "/api/v1/circuit", summary="Power circuit with the contacts of a stage closed, SVG", responses=answers.SVG
    )
    async def circuit(body: requests.Circuit) -> Response:
        return await desk.answer("circuit", body, "image/svg+xml")

    @app.post(
        "/api/v1/judge", summary="Every way judged; lines of JSON", responses=answers.lines(answers.JUDGED, "Verdicts.")
    )
    async def judge(body: requests.Judge) -> Response:
        return desk.lines("judge", body)

    @app.post(
        "/api/v1/explain",
        summary="Formula, numbers and source behind a number; lines of JSON",
        responses=answers.lines(answers.EXPLAINED, "The steps."),
    )
    async def explain(body: requests.Explain) -> Response:
        return desk.lines("explain", body)

    @app.post(
        "/api/v1/identify",
        summary="A motor from its plate, readings or a recording; lines of JSON",
        responses=answers.lines(answers.IDENTIFIED, "The motor."),
    )
    async def identify(body: requests.Identify) -> Response:
        return desk.lines("identify", body)

    @app.post(
        "/api/v1/export",
        summary="Figure, table, curves, report or data as a file; lines of JSON",
        responses=answers.lines(answers.EXPORTED, "The file."),
    )
    async def export(body: requests.Export) -> Response:
        return desk.lines("export", body, quick=body.what == "study")


def _files(app: FastAPI) -> None:
    served = {path.name: path for path in STATIC.iterdir() if path.suffix in KINDS} if STATIC.is_dir() else {}
    plotting = _plotting()

    @app.get("/", include_in_schema=False)
    async def page() -> Response:
        return FileResponse(served["index.html"], media_type=KINDS[".html"])

    @app.get("/static/{name}", include_in_schema=False)
    async def static(name: str) -> Response:
        if name not in served:
            raise HTTPException(404, "there is no such file")
        return FileResponse(served[name], media_type=KINDS[served[name].suffix])

    @app.get("/bokeh/{name}", include_in_schema=False)
    async def drawing(name: str) -> Response:
        if plotting is None or name not in PLOTTING:
            raise HTTPException(404, "there is no such file")
        return FileResponse(plotting / name, media_type=KINDS[".js"])


def _plotting() -> Path | None:
    """Where the plotting library keeps what a browser needs of it."""
    found = find_spec("bokeh")
    return None if found is None or found.origin is None else Path(found.origin).parent / "server" / "static" / "js"
