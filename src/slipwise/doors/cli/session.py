"""What the commands share: computing with progress shown, printing, and the exit code of a verdict."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from slipwise.doors.cli.app import Exit

if TYPE_CHECKING:
    from slipwise.results.study import StudyResult

Progress = Callable[[str, float | None], None]


@contextmanager
def working(doing: str) -> Iterator[Progress]:
    """Shows what is being done on the standard error stream: a bar on a terminal, a line for each kind of step when piped."""
    if not sys.stderr.isatty():
        said: set[str] = set()

        def line(words: str, _share: float | None) -> None:
            kind = words.partition(":")[0]
            if kind not in said:
                print(f"{doing}: {kind}", file=sys.stderr, flush=True)
            said.add(kind)

        yield line
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn

    columns = (SpinnerColumn(), BarColumn(bar_width=24), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(doing, total=None)
        yield lambda words, share: bar.update(
            task, description=f"{doing}: {words}", completed=share, total=None if share is None else 1.0
        )


def folder_for(file: Path, out: Path | None, kind: str) -> Path:
    """The folder asked for, or one in the working folder named after the file."""
    return Path(f"{file.resolve().stem}-{kind}") if out is None else out


def computed(file: Path, *, transients: bool, whole: bool = False) -> StudyResult:
    """The study in `file`, computed; results saved earlier (a folder or its study.json) are read instead.

    whole: also how far the best ways carry, and what the motor's spread makes of the verdict.
    """
    if file.is_dir() or file.suffix == ".json":
        return saved(file)
    from slipwise.doors.python import load, run

    study = load(file)
    with working("computing") as progress:
        return run(study, transients=transients, whole=whole, progress=progress)


def saved(place: Path) -> StudyResult:
    """Results saved earlier, from their folder or the study.json in it."""
    from slipwise.results.codec import load_result

    return load_result(place / "study.json" if place.is_dir() else place)


def verdict_code(result: StudyResult, *, strict: bool) -> Exit:
    """0, or 3 with `strict` when no way of starting passes, or none of speed control or stopping, where asked for."""
    stuck = bool(result.ways) and result.recommendation.way is None
    slow = result.speed is not None and result.speed.recommendation.way is None
    rolling = result.stopping is not None and result.stopping.recommendation.way is None
    return Exit.FAILING_VERDICT if strict and (stuck or slow or rolling) else Exit.COMPUTED
