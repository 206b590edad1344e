"""The desk under a lecture hall: many clients that each drag a slider, steady curves of all ways.

`python -m benchmarks.desk_load [clients] [seconds]`; 60 clients, two moves a second each, for 60 s without arguments.
"""

from __future__ import annotations

import asyncio
import json
import random
import sys
import time
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from benchmarks.desk_server import Client, Server, running
from slipwise.doors.desk.studies import start_studies

CLIENTS, SECONDS, RATE = 60, 60.0, 2.0
MOVED = (
    ("load.shaft_power", "{:.4g} kW", 30.0, 45.0),
    ("motor.locked_rotor_current_ratio", "{:.4g}", 6.0, 8.0),
    ("supply.path[1].fault_level", "{:.4g} MVA", 66.0, 119.0),
    ("motor.locked_rotor_torque_ratio", "{:.4g}", 2.0, 2.6),
    ("supply.path[3].length", "{:.4g} m", 60.0, 200.0),
)


@dataclass(slots=True)
class Measured:
    """What came of it. latency: one a move, s; memory: seconds and MB; busy: processor time a
    move of the server and of its computing processes, s."""

    latency: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    memory: list[tuple[float, float]] = field(default_factory=list)
    ways: int = 0
    busy: tuple[float, float] = (0.0, 0.0)


def all_ways() -> str:
    """The pump with every way on offer."""
    text = next(study["text"] for study in start_studies() if study["key"] == "pump_p3")
    return "\n".join(line for line in text.splitlines() if not line.startswith("ways ="))


async def hall(server: Server, clients: int, seconds: float) -> Measured:
    """All clients at once, their beginnings spread over a second."""
    measured = Measured()
    text = all_ways()
    first = Client(server.port)
    _, body = await first.post("/api/v1/steady", {"text": text})
    found = json.loads(body)["ways"]
    held = {way["key"]: way["held"] for way in found if way["applies"]}
    measured.ways = len(held)
    state = {"text": text, "held": held}
    await _warm(server, state)
    begin = time.perf_counter() + 1.0
    before = server.busy()
    watch = asyncio.create_task(_memory(server, measured, begin))
    await asyncio.gather(*(_drag(number, server, state, begin, begin + seconds, measured) for number in range(clients)))
    watch.cancel()
    after = server.busy()
    measured.busy = tuple((b - a) / max(len(measured.latency), 1) for a, b in zip(before, after, strict=True))
    await first.close()
    return measured


async def _warm(server: Server, state: dict[str, Any]) -> None:
    """Until every process has started and answered."""
    while len(server.processes()) < 3:
        await asyncio.sleep(0.1)
    client = Client(server.port)
    await client.post("/api/v1/judge", {"text": state["text"]})
    await client.close()
    for _ in range(3):
        clients = [Client(server.port) for _ in range(6)]
        await asyncio.gather(*(one.post("/api/v1/steady", state) for one in clients))
        for one in clients:
            await one.close()


async def _drag(
    number: int, server: Server, state: dict[str, Any], begin: float, end: float, measured: Measured
) -> None:
    """One client: a value a move, at its own random moments twice a second."""
    chance = random.Random(number)
    client = Client(server.port)
    path, words, low, high = MOVED[number % len(MOVED)]
    at = begin + chance.random()
    while at < end:
        await asyncio.sleep(max(0.0, at - time.perf_counter()))
        sent = time.perf_counter()
        edit = {"path": path, "value": words.format(chance.uniform(low, high))}
        status, body = await client.post("/api/v1/steady", {**state, "edits": [edit]})
        measured.latency.append(time.perf_counter() - sent)
        if status != 200 or b'"ways"' not in body:
            measured.errors.append(f"{status}: {body[:200]!r}")
        at += chance.expovariate(1.0) / RATE * 0.2 + 0.8 / RATE
    await client.close()


async def _memory(server: Server, measured: Measured, begin: float) -> None:
    while True:
        await asyncio.sleep(2.0)
        measured.memory.append((time.perf_counter() - begin, server.resident()))


def growth(memory: list[tuple[float, float]]) -> float:
    """Resident memory at the end per that after the first third. [1]"""
    third = memory[len(memory) // 3 :]
    return third[-1][1] / third[0][1] if len(third) > 1 else 1.0


def section(clients: int = CLIENTS, seconds: float = SECONDS) -> str:
    """Runs it and writes what came of it."""
    with running() as server:
        found = asyncio.run(hall(server, clients, seconds))
    milli = 1e3 * np.array(found.latency)
    middle, late, last = (float(np.percentile(milli, share)) for share in (50, 95, 99.9))
    return "\n".join(
        [
            "## A lecture hall",
            "",
            f"{clients} clients on this machine, {RATE:g} moves a second each, {seconds:g} s, steady curves of "
            f"{found.ways} ways with settings held: {len(milli)} moves, {len(found.errors)} errors.",
            "",
            "| median | 95 % | 99.9 % | memory at the end / after a third | processor time a move: server | and computing |",
            "|---|---|---|---|---|---|",
            f"| {middle:.0f} ms | {late:.0f} ms | {last:.0f} ms | {growth(found.memory):.3f} "
            f"| {1e3 * found.busy[0]:.1f} ms | {1e3 * found.busy[1]:.1f} ms |",
            *(["", *found.errors[:5]] if found.errors else []),
            "",
        ]
    )


if __name__ == "__main__":
    words = sys.argv[1:]
    print(section(int(words[0]) if words else CLIENTS, float(words[1]) if len(words) > 1 else SECONDS))
