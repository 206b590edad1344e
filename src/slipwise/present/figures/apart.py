"""Many figures drawn by two processes: a second one takes them from the back of the list until both meet.

A helper that cannot be started, or falls over, costs nothing but its help: what it did not deliver is drawn here.
"""

from __future__ import annotations

import gc
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import BinaryIO

from slipwise.present.figures.canvas import Format, render
from slipwise.present.figures.catalogue import Entry
from slipwise.present.figures.look import Look

Drawn = dict[Format, bytes]
MANY = 10  # figures: below this the helper would come too late, it needs half a second to get ready
_CODE = "import sys; sys.path[:] = {path!r}; from slipwise.present.figures.apart import serve; serve()"


class Helper:
    """What the second process has begun and has delivered, told by it on a pipe."""

    def __init__(self, entries: Sequence[Entry], formats: Sequence[Format], look: Look) -> None:
        self._task = pickle.dumps((list(entries), tuple(formats), look), protocol=5)
        self._news = threading.Condition()
        self._begun = len(entries)
        self._drawn: dict[int, Drawn] = {}
        self._over = False
        self._process = subprocess.Popen(
            [sys.executable, "-c", _CODE.format(path=sys.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        threading.Thread(target=self._listen, daemon=True).start()

    def begun(self, place: int) -> bool:
        """Whether it is at that figure or has been, and has not fallen over."""
        with self._news:
            return place >= self._begun and (not self._over or place in self._drawn)

    def wait(self, place: int) -> Drawn | None:
        """The figure at that place once it is drawn; None when it will not be."""
        with self._news:
            self._news.wait_for(lambda: place in self._drawn or self._over)
            return self._drawn.get(place)

    def stop(self) -> None:
        """Ends the process, whatever it is at."""
        self._process.kill()
        self._process.wait()

    def _listen(self) -> None:
        inward, outward = self._process.stdin, self._process.stdout
        assert inward is not None
        assert outward is not None
        try:
            with inward, outward:
                inward.write(self._task)
                inward.flush()
                while True:
                    place, drawn = pickle.load(outward)
                    self._note(place, drawn)
        except (EOFError, OSError, ValueError, pickle.UnpicklingError):
            pass  # it has ended, or was stopped
        with self._news:
            self._over = True
            self._news.notify_all()

    def _note(self, place: int, drawn: Drawn | None) -> None:
        with self._news:
            self._begun = min(self._begun, place)
            if drawn is not None:
                self._drawn[place] = drawn
            self._news.notify_all()


@contextmanager
def helper(entries: Sequence[Entry], formats: Sequence[Format], look: Look) -> Iterator[Helper | None]:
    """A second process at work on the figures; None where there is no second processor, too little to do, or no way."""
    found = _started(entries, formats, look) if len(entries) >= MANY and formats and _processors() > 1 else None
    try:
        yield found
    finally:
        if found is not None:
            found.stop()


def _started(entries: Sequence[Entry], formats: Sequence[Format], look: Look) -> Helper | None:
    if not sys.executable or getattr(sys, "frozen", False):
        return None
    try:
        return Helper(entries, formats, look)
    except (OSError, pickle.PicklingError, AttributeError, TypeError):
        return None  # no process to be had, or a figure made from what cannot be sent


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def draw_each(
    entries: Sequence[Entry],
    formats: Sequence[Format],
    look: Look,
    tell: Callable[[str], None],
    second: Helper | None = None,
) -> Iterator[tuple[Entry, Drawn]]:
    """Each figure in every format, in the order of the list; `second` was started on the same list."""
    with _collecting_seldom():
        for place, entry in enumerate(entries):
            tell(f"figure: {entry.title}")
            drawn = second.wait(place) if second is not None and second.begun(place) else None
            yield entry, drawn if drawn is not None else draw_one(entry, formats, look)


@contextmanager
def _collecting_seldom() -> Iterator[None]:
    """A figure is thousands of small things that stay until it is saved: looking for waste among them is waste."""
    before = gc.get_threshold()
    gc.set_threshold(50_000)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def draw_one(entry: Entry, formats: Sequence[Format], look: Look) -> Drawn:
    """One figure, drawn once and rendered in every format."""
    figure = entry.function(look)
    return {format: render(figure, format, look.dots) for format in formats}


def serve() -> None:
    """The second process: reads its task, tells each figure it begins and delivers it, from the back of the list."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing else may write between the messages
    entries, formats, look = pickle.load(sys.stdin.buffer)
    with _collecting_seldom():
        for place in reversed(range(len(entries))):
            _send(out, place, None)
            _send(out, place, draw_one(entries[place], formats, look))


def _send(out: BinaryIO, place: int, drawn: Drawn | None) -> None:
    pickle.dump((place, drawn), out, protocol=5)
    out.flush()
