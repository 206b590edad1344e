"""What the commands share: computing with progress shown, printing, and the exit code of a verdict."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from slipwise.doors.cli.app import Exit

if TYPE_CHECKING:
    from slipwise.results.study import StudyResult
    from slipwise.study.model import Study

Progress = Callable[[str, float | None], None]
Part = Literal["starting", "stopping", "speed"]
LEAST: dict[Part, tuple[str, str, str]] = {
    "starting": (
        "way of starting",
        '[starting]\nways = ["direct", "star_delta", "soft_starter"]',
        "examples/pump_p3.toml",
    ),
    "stopping": (
        "way of stopping",
        '[stopping]\nways = ["coasting", "plugging"]\nstop_time = "20 s"',
        "examples/fan_f2.toml",
    ),
    "speed": (
        "speed control",
        '[speed]\nways = ["volts_per_hertz"]\n\n[[speed.duty]]\nspeed = "1200 r/min"\nhours = 3000',
        "examples/pump_p3_year.toml",
    ),
}  # what the part is, the least lines that ask for it, and an example


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


def computed(file: Path, *, transients: bool, whole: bool = False, part: Part | None = None) -> StudyResult:
    """The study in `file`, computed; results saved earlier (a folder or its study.json) are read instead.

    whole: also how far the best ways carry, and what the motor's spread makes of the verdict. part: must be asked for.

    Raises:
        InputError: also when `part` is not in the study; said before anything is computed.
    """
    if file.is_dir() or file.suffix == ".json":
        result = saved(file)
        _asked_for(result, part)
        return result
    from slipwise.doors.python import load, run

    study = load(file)
    _asked_for(study, part)
    with working("computing") as progress:
        return run(study, transients=transients, whole=whole, progress=progress)


def _asked_for(study: Study | StudyResult, part: Part | None) -> None:
    """Refuses a study without that part, with the lines that would ask for it."""
    from slipwise.quantity.errors import InputError

    asked = {"starting": bool(study.ways), "stopping": study.stopping is not None, "speed": study.speed is not None}
    if part is None or asked[part]:
        return
    what, lines, example = LEAST[part]
    remedy = (
        f"add at the end of the study file, with your own values:\n\n{lines}\n\nEvery key: docs/study-file.md, under "
    )
    raise InputError.of(f"[{part}]", "", f"this study asks for no {what}", f"{remedy}[{part}]; a whole one: {example}")


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
