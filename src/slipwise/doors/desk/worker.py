"""A computing process of the desk: takes tasks from its standard input, one at a time, and answers on its standard output."""

from __future__ import annotations

import os
import queue
import sys
import threading
from collections.abc import Callable
from typing import BinaryIO

from slipwise.doors.desk import messages
from slipwise.doors.desk.messages import LENGTH, Kind
from slipwise.quantity.errors import InputError

Tell = Callable[[str, float | None], None]


class CancelledTaskError(Exception):
    """The one who asked has gone."""


def main() -> None:
    """Serves until standard input ends."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints goes where it harms nothing
    tasks: queue.Queue[bytes | None] = queue.Queue()
    cancelled = threading.Event()
    reader = threading.Thread(target=_listen, args=(sys.stdin.buffer, tasks, cancelled), daemon=True)
    reader.start()
    import slipwise.doors.desk.tasks as known

    known.prepare()
    while (task := tasks.get()) is not None:
        cancelled.clear()
        kind, content = _answer(known.perform, task, _teller(out, cancelled))
        _write(out, kind, content)
    os._exit(0)  # the server has gone: nothing is left to be told


def _listen(source: BinaryIO, tasks: queue.Queue[bytes | None], cancelled: threading.Event) -> None:
    while len(head := source.read(LENGTH)) == LENGTH:
        content = source.read(int.from_bytes(head, "big"))
        if content[:1] == b"x":
            cancelled.set()
        else:
            tasks.put(content[1:])
    cancelled.set()
    tasks.put(None)


def _teller(out: BinaryIO, cancelled: threading.Event) -> Tell:
    def tell(words: str, share: float | None) -> None:
        if cancelled.is_set():
            raise CancelledTaskError
        _write(out, Kind.PROGRESS, messages.encode({"words": words, "share": share}))

    return tell


def _answer(perform: Callable[[bytes, Tell], bytes], task: bytes, tell: Tell) -> tuple[Kind, bytes]:
    """What comes of a task; nothing that goes wrong in it ends the process."""
    try:
        return Kind.RESULT, perform(task, tell)
    except CancelledTaskError:
        return Kind.CANCELLED, b"{}"
    except InputError as error:
        return Kind.FAULTS, messages.faults_json(error.faults, getattr(error, "text", None))
    except Exception as error:
        return Kind.BROKEN, _broken(error)


def _broken(error: BaseException) -> bytes:
    """A fault of slipwise: what kind, for a report of it; no path and no traceback."""
    where = error.__traceback__
    while where is not None and where.tb_next is not None:
        where = where.tb_next
    place = f"{where.tb_frame.f_globals.get('__name__')}:{where.tb_lineno}" if where else ""
    words = "these values were not to be computed, which is a fault of slipwise"
    return messages.request_fault(words, "bring them nearer to usual ones", f"{type(error).__name__} at {place}")


def _write(out: BinaryIO, kind: str, content: bytes) -> None:
    out.write(messages.frame(kind, content))
    out.flush()


if __name__ == "__main__":
    main()
