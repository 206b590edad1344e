"""What the commands share: computing with progress shown, printing, and the exit code of a verdict."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from slipwise.doors.cli.app import Exit

if TYPE_CHECKING:
    from rich.console import Console

    from slipwise.results.study import StudyResult

Progress = Callable[[str], None]


def console(*, error: bool = False) -> Console:
    """The terminal, or plain text as wide as it needs when piped."""
    from rich.console import Console

    stream = sys.stderr if error else sys.stdout
    return Console(file=stream, soft_wrap=not stream.isatty(), highlight=False, emoji=False, markup=False)


@contextmanager
def working(quiet: bool = False) -> Iterator[Progress]:
    """Shows what is being done on the standard error stream: one moving line on a terminal, a line per step when piped."""
    if quiet:
        yield lambda _: None
    elif sys.stderr.isatty():
        screen = console(error=True)
        with screen.status("reading the study") as status:
            yield status.update
    else:
        yield lambda words: print(words, file=sys.stderr, flush=True)


def computed(file: Path, *, transients: bool) -> StudyResult:
    """The study in `file`, computed."""
    from slipwise.study.reader import load
    from slipwise.study.run import run

    with working() as progress:
        return run(load(file), transients=transients, progress=progress)


def verdict_code(result: StudyResult, *, strict: bool) -> Exit:
    """0, or 3 with `strict` when no way passes."""
    return Exit.FAILING_VERDICT if strict and result.recommendation.way is None else Exit.COMPUTED
