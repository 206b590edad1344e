"""The desk as a process of its own, and a client that costs little, so that the server is measured and not the client."""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PAGE = 4096


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A running desk. pid: of the server; its computing processes are its children."""

    port: int
    pid: int

    def resident(self) -> float:
        """Resident memory of the server and its computing processes. [MB]"""
        return sum(_resident(pid) for pid in (self.pid, *_children(self.pid))) / 1e6

    def busy(self) -> tuple[float, float]:
        """Processor time so far of the server itself, and of its computing processes. [s]"""
        return _busy(self.pid), sum(_busy(pid) for pid in _children(self.pid))

    def processes(self) -> tuple[int, ...]:
        """Process ids of the computing processes."""
        return _children(self.pid)


def _resident(pid: int) -> float:
    try:
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * PAGE
    except (OSError, IndexError):
        return 0.0


def _busy(pid: int) -> float:
    try:
        times = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(times[11]) + int(times[12])) / os.sysconf("SC_CLK_TCK")


def _children(pid: int) -> tuple[int, ...]:
    try:
        return tuple(int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split())
    except OSError:
        return ()


@contextmanager
def running() -> Iterator[Server]:
    """A desk on a free port of this machine, ended with the block."""
    command = [sys.executable, "-m", "slipwise", "desk", "--no-browser", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        try:
            yield Server(port=int(line.partition("127.0.0.1:")[2].partition("/")[0]), pid=process.pid)
        finally:
            process.terminate()
            process.wait(timeout=20)


class Client:
    """One connection kept open."""

    def __init__(self, port: int) -> None:
        self.port = port
        self.reader: asyncio.StreamReader | None = None
        self.writer: asyncio.StreamWriter | None = None

    async def post(self, path: str, body: Any, *, headers: str = "") -> tuple[int, bytes]:
        """Status and body of the answer to a JSON body."""
        return await self.send("POST", path, json.dumps(body).encode("utf-8"), headers=headers)

    async def send(
        self, method: str, path: str, content: bytes, *, kind: str = "application/json", headers: str = ""
    ) -> tuple[int, bytes]:
        """Status and body of the answer to any bytes."""
        head = (
            f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nContent-Type: {kind}\r\n"
            f"Content-Length: {len(content)}\r\n{headers}\r\n"
        )
        return await self.raw(head.encode("latin-1") + content)

    async def raw(self, content: bytes) -> tuple[int, bytes]:
        """Status and body of the answer to bytes as they are."""
        if self.writer is None or self.writer.is_closing():
            self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port, limit=1 << 22)
        assert self.reader is not None
        self.writer.write(content)
        await self.writer.drain()
        head = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        status = int(head.split(" ", 2)[1])
        body = await self._body(head.lower(), self.reader)
        if "connection: close" in head.lower():
            await self.close()
        return status, body

    @staticmethod
    async def _body(head: str, reader: asyncio.StreamReader) -> bytes:
        if "transfer-encoding: chunked" not in head:
            length = head.partition("content-length:")[2].partition("\r\n")[0].strip()
            return await reader.readexactly(int(length)) if length else b""
        parts = []
        while size := int((await reader.readline()).strip() or b"0", 16):
            parts.append(await reader.readexactly(size))
            await reader.readline()
        await reader.readline()
        return b"".join(parts)

    async def close(self) -> None:
        """Ends the connection."""
        if self.writer is not None:
            self.writer.close()
        self.reader = self.writer = None
