"""The computing processes behind the server: how they are started, fed, listened to, stopped; and who waits for whom.

A task runs in a driver of its own, apart from the request that asked: the request takes messages from a queue, and when it
is given up, in whatever way, it only says so. The driver alone reads and writes the process, ends the task, and hands the
process on.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
from collections.abc import AsyncGenerator
from dataclasses import dataclass, field
from typing import Any

from slipwise.doors.desk.messages import LENGTH, Kind, encode, frame, request_fault

LARGEST = 400_000_000  # bytes of one answer
GRACE = 0.7  # s in which a cancelled task may end by itself before its process is ended
CANCEL, TASK = "x", "t"
READY = "ready"  # a task that does nothing


class CrewError(Exception):
    """No answer: too many wait, it took too long, or the process died. status, body: of the HTTP answer."""

    def __init__(self, status: int, body: bytes) -> None:
        super().__init__(body.decode("utf-8"))
        self.status, self.body = status, body


Message = tuple[str, bytes]


@dataclass(slots=True)
class Job:
    """One task on its way. messages: from the process; gone: nobody waits for them any more."""

    task: str
    arguments: dict[str, Any]
    messages: asyncio.Queue[Message | CrewError] = field(default_factory=asyncio.Queue)
    gone: asyncio.Event = field(default_factory=asyncio.Event)


@dataclass(slots=True)
class Member:
    """One computing process, started when first needed and again after it died. patience: s that a task may take."""

    patience: float
    process: asyncio.subprocess.Process | None = None

    async def ready(self) -> asyncio.subprocess.Process:
        """The running process."""
        if self.process is None or self.process.returncode is not None:
            self.process = await asyncio.create_subprocess_exec(
                sys.executable,
                "-m",
                "slipwise.doors.desk.worker",
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
                limit=1 << 20,
            )
        return self.process

    async def drive(self, job: Job) -> None:
        """Has a task done and passes its messages on; ends it when it is given up, takes too long, or dies."""
        try:
            async with asyncio.timeout(self.patience):
                await self._drive(job)
        except TimeoutError:
            await self.end()
            words = f"it took more than {self.patience:g} s and was stopped"
            job.messages.put_nowait(_failed(words, "ask for less at once, or simplify the study"))
        except (asyncio.IncompleteReadError, OSError):
            await self.end()
            words = "the computation stopped unexpectedly, which is a fault of slipwise"
            job.messages.put_nowait(_failed(words, "try again; report it with the study file"))

    async def _drive(self, job: Job) -> None:
        process = await self.ready()
        await _write(process, TASK, encode({"task": job.task, "arguments": job.arguments}))
        leaving = asyncio.ensure_future(job.gone.wait())
        reading = asyncio.ensure_future(_read(process))
        try:
            while not leaving.done():
                await asyncio.wait({leaving, reading}, return_when=asyncio.FIRST_COMPLETED)
                if reading.done():
                    message = reading.result()
                    job.messages.put_nowait(message)
                    if message[0] != Kind.PROGRESS:
                        return
                    reading = asyncio.ensure_future(_read(process))
            await self._give_up(process, reading)
        finally:
            leaving.cancel()
            reading.cancel()

    async def _give_up(self, process: asyncio.subprocess.Process, reading: asyncio.Future[Message]) -> None:
        """Asks the task to end, and ends its process when it does not."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(GRACE):
                await _write(process, CANCEL, b"")
                while (await reading)[0] == Kind.PROGRESS:
                    reading = asyncio.ensure_future(_read(process))
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


def _failed(reason: str, remedy: str) -> CrewError:
    return CrewError(503, request_fault(reason, remedy))


async def _write(process: asyncio.subprocess.Process, kind: str, content: bytes) -> None:
    assert process.stdin is not None
    process.stdin.write(frame(kind, content))
    await process.stdin.drain()


async def _read(process: asyncio.subprocess.Process) -> Message:
    """The next message."""
    assert process.stdout is not None
    length = int.from_bytes(await process.stdout.readexactly(LENGTH), "big")
    if not 0 < length < LARGEST:
        raise ConnectionError("no message")
    content = await process.stdout.readexactly(length)
    return chr(content[0]), content[1:]


@dataclass(slots=True)
class Crew:
    """Members that do one kind of work, and a line of tasks that wait for them. most: that may wait."""

    members: list[Member]
    most: int
    waiting: int = 0
    free: asyncio.Queue[Member] = field(default_factory=asyncio.Queue)
    driving: set[asyncio.Task[None]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.free.put_nowait(self.members[0])  # the others join once they are ready: a process takes a second to load

    async def messages(self, task: str, arguments: dict[str, Any]) -> AsyncGenerator[Message, None]:
        """Progress and the answer of a task, by the next free member. Leaving the iterator early cancels the task.

        Raises:
            CrewError: too many wait, it took too long, or the process died.
        """
        if self.waiting >= self.most:
            raise _failed("too many computations wait", "try again in a moment")
        self.waiting += 1
        try:
            member = await self.free.get()
        finally:
            self.waiting -= 1
        job = Job(task, arguments)
        self._start(member, job)
        try:
            kind: str = Kind.PROGRESS
            while kind == Kind.PROGRESS:
                message = await job.messages.get()
                if isinstance(message, CrewError):
                    raise message
                kind = message[0]
                yield message
        finally:
            job.gone.set()  # nothing is awaited here: this may be a request that is being torn down

    def _start(self, member: Member, job: Job) -> None:
        driver = asyncio.get_running_loop().create_task(self._drive(member, job))
        self.driving.add(driver)
        driver.add_done_callback(self.driving.discard)

    async def _drive(self, member: Member, job: Job) -> None:
        try:
            await member.drive(job)
        finally:
            self.free.put_nowait(member)

    async def answer(self, task: str, arguments: dict[str, Any]) -> Message:
        """The last message alone. Raises CrewError as `messages`."""
        last: Message = (Kind.BROKEN, b"{}")
        async with contextlib.aclosing(self.messages(task, arguments)) as messages:
            async for message in messages:
                last = message
        return last

    async def warm(self) -> None:
        """Starts the first process, so that the first question need not wait for it."""
        await self.members[0].ready()

    def grow(self) -> None:
        """Starts the others; each takes tasks once it has answered."""
        for member in self.members[1:]:
            self._start(member, Job(READY, {}))

    async def end(self) -> None:
        """Ends every process."""
        for driver in tuple(self.driving):
            driver.cancel()
        for member in self.members:
            await member.end()
