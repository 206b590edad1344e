"""The desk: sixty clients at once, and requests that nobody means well."""

from __future__ import annotations

import asyncio
import time

from benchmarks import desk_fuzz, desk_latency, desk_load
from benchmarks.desk_server import Client, running


def sections() -> list[str]:
    """How soon the page can be used and follows a slider, the lecture hall, the hostile requests."""
    return [usable(), desk_latency.section(), desk_load.section(), desk_fuzz.section()]


def usable(times: int = 5) -> str:
    """From the command to the first picture of the page's first study, warm: the best and the worst of some times."""
    found = sorted(_seconds() for _ in range(times))
    return f"## From the command to the first curves\n\n{found[0]:.2f} to {found[-1]:.2f} s, {times} times.\n"


def _seconds() -> float:
    async def first(port: int) -> None:
        client = Client(port)
        _, body = await client.send("GET", "/api/v1/studies", b"")
        text = desk_fuzz.TEXTS[0]
        assert b"studies" in body
        await client.post("/api/v1/fields", {"text": text})
        status, _ = await client.post("/api/v1/steady", {"text": text})
        assert status == 200
        await client.close()

    begin = time.perf_counter()
    with running() as server:
        asyncio.run(first(server.port))
        return time.perf_counter() - begin
