"""The computing processes behind the server: how they are started, fed, listened to, stopped; and who waits for whom."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import sys
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from typing import Any

from slipwise.doors.desk.messages import LENGTH, Kind, encode, frame, request_fault

LARGEST = 400_000_000  # bytes of one answer
GRACE = 0.7  # s in which a cancelled task may end by itself before its process is ended
CANCEL = b"x"
TASK = b"t"


class CrewError(Exception):
    """No answer: too many wait, it took too long, or the process died. status, body: of the HTTP answer."""

    def __init__(self, status: int, body: bytes) -> None:
        super().__init__(body.decode("utf-8"))
        self.status, self.body = status, body


@dataclass(slots=True)
class Member:
    """One computing process, started when first needed and again after it died."""

    patience: float  # s that a task may take
    process: asyncio.subprocess.Process | None = None
    restarts: int = 0

    async def ready(self) -> asyncio.subprocess.Process:
        """The running process."""
        if self.process is None or self.process.returncode is not None:
            self.process = await asyncio.create_subprocess_exec(
                sys.executable,
                "-m",
                "slipwise.doors.desk.worker",
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                env={**os.environ, "PYTHONUNBUFFERED": "1", "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
                limit=1 << 20,
            )
            self.restarts += 1
        return self.process

    async def ask(self, task: str, arguments: dict[str, Any]) -> AsyncIterator[tuple[str, bytes]]:
        """Messages until the last one. Leaving the iterator early cancels the task.

        Raises:
            CrewError: the task took too long, or the process died.
        """
        process = await self.ready()
        assert process.stdin is not None
        process.stdin.write(frame(TASK.decode(), encode({"task": task, "arguments": arguments})))
        await process.stdin.drain()
        ended = False
        try:
            async with asyncio.timeout(self.patience):
                while True:
                    kind, content = await self.read(process)
                    ended = kind != Kind.PROGRESS
                    yield kind, content
                    if ended:
                        return
        except TimeoutError:
            words = f"it took more than {self.patience:g} s and was stopped"
            raise CrewError(503, request_fault(words, "ask for less at once, or simplify the study")) from None
        except (asyncio.IncompleteReadError, ConnectionError):
            words = "the computation stopped unexpectedly, which is a fault of slipwise"
            raise CrewError(503, request_fault(words, "try again; report it with the study file")) from None
        finally:
            if not ended:
                await asyncio.shield(self.stop_task())

    @staticmethod
    async def read(process: asyncio.subprocess.Process) -> tuple[str, bytes]:
        """The next message."""
        assert process.stdout is not None
        length = int.from_bytes(await process.stdout.readexactly(LENGTH), "big")
        if not 0 < length < LARGEST:
            raise ConnectionError("no message")
        content = await process.stdout.readexactly(length)
        return chr(content[0]), content[1:]

    async def stop_task(self) -> None:
        """Asks the running task to end, and ends its process when it does not."""
        process = self.process
        if process is None or process.returncode is not None or process.stdin is None:
            return
        with contextlib.suppress(TimeoutError, asyncio.IncompleteReadError, ConnectionError):
            process.stdin.write(frame(CANCEL.decode(), b""))
            async with asyncio.timeout(GRACE):
                while (await self.read(process))[0] == Kind.PROGRESS:
                    pass
                return
        await self.end()

    async def end(self) -> None:
        """Ends the process."""
        process, self.process = self.process, None
        if process is None:
            return
        if process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
        if process.stdin is not None:
            process.stdin.close()
        await process.wait()


@dataclass(slots=True)
class Crew:
    """Members that do one kind of work, and a line of tasks that wait for them. most: that may wait."""

    members: list[Member]
    most: int
    waiting: int = 0
    free: asyncio.Queue[Member] = field(default_factory=asyncio.Queue)

    def __post_init__(self) -> None:
        for member in self.members:
            self.free.put_nowait(member)

    async def messages(self, task: str, arguments: dict[str, Any]) -> AsyncIterator[tuple[str, bytes]]:
        """As `Member.ask`, by the next free member.

        Raises:
            CrewError: as `Member.ask`, or when too many wait.
        """
        if self.waiting >= self.most:
            raise CrewError(503, request_fault("too many computations wait", "try again in a moment"))
        self.waiting += 1
        try:
            member = await self.free.get()
        finally:
            self.waiting -= 1
        asked = member.ask(task, arguments)
        try:
            async for message in asked:
                yield message
        finally:
            await asyncio.shield(self._free_again(asked, member))

    async def _free_again(self, asked: AsyncIterator[tuple[str, bytes]], member: Member) -> None:
        await asked.aclose()  # type: ignore[attr-defined]
        self.free.put_nowait(member)

    async def answer(self, task: str, arguments: dict[str, Any]) -> tuple[str, bytes]:
        """The last message alone."""
        last: tuple[str, bytes] = (Kind.BROKEN, b"{}")
        messages = self.messages(task, arguments)
        try:
            async for message in messages:
                last = message
        finally:
            await messages.aclose()  # type: ignore[attr-defined]
        return last

    async def warm(self) -> None:
        """Starts every process, so that the first question need not wait."""
        for member in self.members:
            await member.ready()

    async def end(self) -> None:
        """Ends every process."""
        for member in self.members:
            await member.end()


def words_of(content: bytes) -> dict[str, Any]:
    """A progress message."""
    found: dict[str, Any] = json.loads(content)
    return found
