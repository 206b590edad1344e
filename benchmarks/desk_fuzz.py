"""Requests that nobody means well: from the schema with hostile values, from studies cut up, and bytes that are no requests.

`python -m benchmarks.desk_fuzz [requests] [seed] [number]`; 20,000 requests without arguments. Every answer must be one that
is documented: never a 500, never a traceback, never a computation that breaks; and in the end every process must answer. With
a number, that one request of the seed is sent alone, and printed with the time it takes.
"""

from __future__ import annotations

import asyncio
import json
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from benchmarks.desk_server import Client, Server, running
from slipwise.doors.desk.studies import start_studies
from slipwise.study.fields import fields_of
from slipwise.study.text.scanner import dotted

REQUESTS, CONNECTIONS = 20_000, 8
PATIENCE = 300.0  # s; several may wait for the one process that does long work
SLOW = 20.0  # s of waiting and computing from which a request is written down
SHOWN = 5  # slowest requests named in the summary
EXPECTED = {200, 400, 403, 404, 405, 413, 415, 421, 422, 431, 503}
TEXTS = tuple(study["text"] for study in start_studies())
FIELDS = tuple(tuple((dotted(f.path), f.text or f.example) for f in fields_of(text)) for text in TEXTS)
NUMBERS = (
    "0", "-0", "1e-300", "-1e-300", "1e300", "-1e300", "1e999", "-1e999", "NaN", "nan", "inf", "1e-5", "1e5", "1e9", "-1",
    "0.5", "3", "1e15", "0.001", "99999999999999999999", "1_000", "0x10", "1,5", "",
)  # fmt: skip
UNITS = (
    "",
    " kW",
    " V",
    " A",
    " Hz",
    " %",
    " r/min",
    " kg m2",
    " s",
    " MVA",
    " ohm",
    " N m",
    " degC",
    " m",
    " hp",
    " °",
)
WORDS = (
    "",
    "delta",
    "star",
    "quadratic",
    "🜁",
    "\u202e",
    "\x00",
    "\x7f",
    '"',
    "\\",
    "'''",
    "[[",
    "= =",
    "../../etc/passwd",
    "a" * 3000,
)
PATHS = ("/api/v1/steady", "/api/v1/fields", "/api/v1/start", "/api/v1/circuit")
LONG = ("/api/v1/judge", "/api/v1/explain", "/api/v1/identify", "/api/v1/export")
WAYS = (
    "direct",
    "star_delta",
    "autotransformer",
    "soft_starter",
    "inverter",
    "rotor_resistor",
    "part_winding",
    "nothing",
)


@dataclass(slots=True)
class Found:
    """What came back. bad: one line each; stopped: numbers of computations that took too long and were ended, as documented.

    times: seconds, number and endpoint of each request; slow: numbers of those that took SLOW, with their wait for others.
    """

    statuses: Counter[int] = field(default_factory=Counter)
    bad: list[str] = field(default_factory=list)
    seconds: float = 0.0
    times: list[tuple[float, int, str]] = field(default_factory=list)
    slow: list[int] = field(default_factory=list)
    restarts: int = 0
    stopped: list[int] = field(default_factory=list)


def value(chance: random.Random) -> str:
    """A value for an edit, rarely a good one."""
    kind = chance.random()
    if kind < 0.6:
        return chance.choice(NUMBERS) + chance.choice(UNITS)
    if kind < 0.8:
        return f"{chance.uniform(-2, 2) * 10 ** chance.randint(-6, 6):.5g}" + chance.choice(UNITS)
    return chance.choice(WORDS)


def near(chance: random.Random, text: str) -> str:
    """The value that stands, many times as large or as small: what passes the reader and troubles the physics."""
    number, _, unit = text.partition(" ")
    try:
        return f"{float(number) * 10 ** chance.uniform(-4, 4):.6g} {unit}".strip()
    except ValueError:
        return chance.choice(WORDS)


def study(chance: random.Random) -> tuple[str, list[dict[str, Any]]]:
    """A text, as shipped or cut up, and edits."""
    which = chance.randrange(len(TEXTS))
    text, fields = TEXTS[which], FIELDS[which]
    kind = chance.random()
    if kind < 0.25:
        lines = text.splitlines()
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(len(lines))
            lines[place : place + 1] = chance.choice(
                ([], [lines[place]] * 2, [chance.choice(WORDS)], [lines[place][:9]])
            )
        text = "\n".join(lines)
    elif kind < 0.35:
        cut = chance.randrange(len(text))
        text = text[:cut] + chance.choice(WORDS) + text[cut + chance.randrange(40) :]
    elif kind < 0.38:
        text = "".join(chance.choice('[]{}="\n.#\\, aé0') for _ in range(chance.randrange(400)))
    edits = []
    for _ in range(chance.randint(0, 3)):
        path, stands = chance.choice(fields)
        new = None if chance.random() < 0.1 else near(chance, stands) if chance.random() < 0.6 else value(chance)
        edits.append({"path": path, "value": new})
    return text, edits


def schema_like(chance: random.Random, path: str) -> dict[str, Any]:
    """A body with the keys of its endpoint."""
    text, edits = study(chance)
    body: dict[str, Any] = {"text": text, "edits": edits}
    name = path.rsplit("/", 1)[1]
    if name in {"steady", "start", "circuit"} and chance.random() < 0.4:
        numbers = [chance.uniform(-1e3, 1e3) for _ in range(3)]
        settings = {key: chance.choice([*numbers, "open"]) for key in ("pause", "tap", "ohms", "ramp_time")}
        body["held"] = {chance.choice(WAYS): settings}
    if name == "steady":
        body["points"] = chance.choice((21, 61, 161, 801))
        body["fields"] = chance.random() < 0.1
    if name in {"start", "circuit"}:
        body["way"] = chance.choice(WAYS)
    if name == "start":
        body |= {"case": chance.choice(("nominal", "worst", "strong")), "transient": chance.random() < 0.05}
    if name == "explain":
        body["name"] = chance.choice(("direct.", "motor", "x", "\u202e"))
    if name == "export":
        what = chance.choice(("figure", "table", "circuit"))
        body |= {"what": what, "key": chance.choice(("comparison", "direct/direct", "x")), "format": "svg"}
    return body


def spoiled(chance: random.Random, body: Any) -> bytes:
    """The same with wrong types, foreign keys, numbers that are none, or no JSON any more."""
    kind = chance.randrange(6)
    if kind == 0 and isinstance(body, dict):
        body[chance.choice([*body, "extra", "__proto__"])] = chance.choice((None, [], {}, -1, "x", [[[]]], True, 1e308))
    text = json.dumps(body)
    if kind == 1:
        text = text.replace(":", f':{chance.choice(("NaN", "1e999", "-Infinity", "9" * 400))},"a":', 1)
    elif kind == 2:
        text = "[" * chance.choice((5, 900, 60_000))
    elif kind == 3:
        text = text[: chance.randrange(len(text) + 1)]
    elif kind == 4:
        return bytes(chance.randrange(256) for _ in range(chance.randrange(300)))
    elif kind == 5:
        text = text.replace("a", chance.choice(("\\ud800", "\\u0000", "\\x", "\\uD83D")), 2)
    return text.encode("utf-8", "surrogatepass")


def raw(chance: random.Random, port: int) -> bytes:
    """Bytes that are hardly a request."""
    head = f"Host: 127.0.0.1:{port}\r\nConnection: close\r\n"
    forms = (
        f"GET /{'%2e%2e/' * 6}etc/passwd HTTP/1.1\r\n{head}\r\n",
        f"GET /static/{chance.choice(('../app.py', '%00', 'x' * 5000))} HTTP/1.1\r\n{head}\r\n",
        f"{chance.choice(('PUT', 'DELETE', 'TRACE', 'OPTIONS', 'FOO'))} /api/v1/steady HTTP/1.1\r\n{head}\r\n",
        f"POST /api/v1/steady HTTP/1.1\r\n{head}Content-Type: application/json\r\nContent-Length: {'9' * 30}\r\n\r\n",
        f"POST /api/v1/steady HTTP/1.1\r\n{head}Content-Length: 2\r\n\r\n{{}}",
        "GET / HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n",
        f"GET / HTTP/1.1\r\n{head}Origin: http://evil.example\r\n\r\n",
        f"GET /api/v1/studies HTTP/1.1\r\n{head}X: {'y' * chance.choice((10, 70_000))}\r\n\r\n",
        "GET /api/v1/studies HTTP/9.9\r\n\r\n",
        "\x00\x01\x02\r\n\r\n",
        f"GET /bokeh/{chance.choice(('', '.', '..%5c', 'bokeh.js.map'))} HTTP/1.1\r\n{head}\r\n",
    )
    return chance.choice(forms).encode("latin-1")


async def hostile(server: Server, requests: int, seed: int) -> Found:
    """All of them, over several connections."""
    found = Found()
    await _all_answer(server, found)
    begin, before = time.perf_counter(), server.processes()
    left = iter(range(requests))
    await asyncio.gather(*(_connection(server, left, seed, found) for _ in range(CONNECTIONS)))
    await _all_answer(server, found)
    found.seconds = time.perf_counter() - begin
    found.restarts = len(set(before) - set(server.processes()))  # those gone; late ones may still join
    return found


async def _connection(server: Server, left: Any, seed: int, found: Found) -> None:
    client = Client(server.port)
    for number in left:
        sent, send = request(seed, number, client)
        at = time.perf_counter()
        try:
            status, body = await asyncio.wait_for(send(), PATIENCE)
        except TimeoutError:
            await client.close()
            found.stopped.append(number)
            found.bad.append(f"{number} {sent}: no answer in {PATIENCE:g} s")
            continue
        except (OSError, asyncio.IncompleteReadError, ValueError):
            await client.close()
            if sent == "raw":  # the server may simply hang up on what is no request
                found.statuses[0] += 1
            else:
                found.bad.append(f"{number} {sent}: the connection broke")
            continue
        seconds, stopped = time.perf_counter() - at, b"took more than" in body
        found.times.append((seconds, number, sent))
        found.statuses[status] += 1
        if stopped:
            found.stopped.append(number)
        elif seconds > SLOW:
            found.slow.append(number)
        wrong = _wrong(status, body)
        if wrong:
            found.bad.append(f"{number} {sent}: {status}: {wrong}")
    await client.close()


def request(seed: int, number: int, client: Client) -> tuple[str, Callable[[], Any]]:
    """One request of a seed: what it is called, and what sends it."""
    chance = random.Random(f"{seed} {number}")
    kind = chance.random()
    if kind < 0.06:
        content = raw(chance, client.port)
        return "raw", lambda: client.raw(content)
    path = chance.choice(LONG) if chance.random() < 0.015 else chance.choice(PATHS)
    body = schema_like(chance, path)
    if kind < 0.3:
        spoilt = spoiled(chance, body)
        return f"spoiled {path}", lambda: client.send("POST", path, spoilt)
    return path, lambda: client.post(path, body)


def _wrong(status: int, body: bytes) -> str:
    """What is wrong with an answer; nothing when it is one that is documented."""
    if status not in EXPECTED:
        return f"undocumented: {body[:300]!r}"
    if b"Traceback" in body or b'File "' in body or b"site-packages" in body:
        return f"inside shown: {body[:300]!r}"
    if b"fault of slipwise" in body:
        return body[:400].decode("utf-8", "replace")
    return ""


async def _all_answer(server: Server, found: Found) -> None:
    """Every process answers a plain question."""
    text = TEXTS[0]
    clients = [Client(server.port) for _ in range(6)]
    asked = [client.post("/api/v1/steady", {"text": text}) for client in clients[:5]]
    asked.append(clients[5].post("/api/v1/judge", {"text": text}))
    for status, body in await asyncio.gather(*asked):
        if status != 200 or b"faults" in body:
            found.bad.append(f"plain question: {status}: {body[:200]!r}")
    for client in clients:
        await client.close()


class Told(Client):
    """Sends nothing; keeps what would have been sent."""

    sent: bytes = b""

    async def send(
        self, method: str, path: str, content: bytes, *, kind: str = "application/json", headers: str = ""
    ) -> tuple[int, bytes]:
        """Nothing; see `sent`."""
        self.sent = f"{method} {path} {kind} {headers}".strip().encode() + b"\n" + content
        return 0, b""

    async def raw(self, content: bytes) -> tuple[int, bytes]:
        """Nothing; see `sent`."""
        self.sent = content
        return 0, b""


def told(seed: int, number: int) -> bytes:
    """What a request sends, to be looked at and sent again."""
    client = Told(0)
    _, send = request(seed, number, client)
    asyncio.run(send())
    return client.sent


def section(requests: int = REQUESTS, seed: int = 1) -> str:
    """Runs it and writes what came of it; requests that took long go into a folder for temporary files, one file each."""
    with running() as server:
        found = asyncio.run(hostile(server, requests, seed))
    counts = ", ".join(f"{status or 'hung up'}: {count}" for status, count in sorted(found.statuses.items()))
    slowest = sorted(found.times, reverse=True)[:SHOWN]
    return "\n".join(
        [
            "## Hostile requests",
            "",
            f"{requests} requests (seed {seed}) in {found.seconds:.0f} s: {len(found.bad)} undocumented answers, "
            f"{len(found.stopped)} computations ended because they took too long, {found.restarts} of three processes started "
            f"anew on the way.",
            "",
            f"Answers by status: {counts}.",
            "",
            f"Slowest: {', '.join(f'{seconds:.1f} s ({sent}, number {number})' for seconds, number, sent in slowest)}.",
            *(["", *(f"- {line}" for line in found.bad[:40])] if found.bad else []),
            *(["", *(f"- ended: {_written(seed, number)}" for number in found.stopped)] if found.stopped else []),
            *(["", f"- slow: {', '.join(_written(seed, n) for n in found.slow[:40])}"] if found.slow else []),
        ]
    )


def _written(seed: int, number: int) -> str:
    """Where a slow request was written to."""
    place = Path(tempfile.gettempdir()) / f"desk_fuzz_{seed}_{number}.txt"
    place.write_bytes(told(seed, number))
    return str(place)


async def _alone(server: Server, seed: int, number: int) -> str:
    """One request, and the time it takes."""
    _, send = request(seed, number, Client(server.port))
    at = time.perf_counter()
    status, body = await asyncio.wait_for(send(), PATIENCE)
    return f"{status} in {time.perf_counter() - at:.1f} s: {body[-300:]!r}"


def main(words: list[str]) -> None:
    """All requests of a seed, or the one of a number."""
    requests, seed = int(words[0]) if words else REQUESTS, int(words[1]) if len(words) > 1 else 1
    if len(words) < 3:
        print(section(requests, seed))
        return
    print(told(seed, int(words[2])).decode("utf-8", "replace"))
    with running() as server:
        print(asyncio.run(_alone(server, seed, int(words[2]))))


if __name__ == "__main__":
    main(sys.argv[1:])
