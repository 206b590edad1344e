"""The Python door: what `import slipwise` offers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slipwise.results.study import StudyResult
    from slipwise.study.assemble.motor import BuiltMotor
    from slipwise.study.model import Study

Progress = Callable[[str, float], None]


def load(path: str | Path) -> Study:
    """Reads a study file.

    Args:
        path: a TOML study file; `slipwise schema` prints its schema.

    Returns:
        The study as plain data in SI, with the origin of every value.

    Raises:
        InputError: everything that is wrong with the file, each with line, field, value, reason and remedy.
    """
    from slipwise.study.reader import load as read

    return read(Path(path))


def load_motor(path: str | Path) -> BuiltMotor:
    """Reads the motor of a file alone; load and supply may be missing.

    Args:
        path: a TOML file with `[motor]`: plate, circuit, typed curves, or bench readings in `[motor.readings]`.

    Returns:
        `motor`, its plate against the model, and `identification`: what measurements say of it, None without them.
        `slipwise.present.identified.write_identification` writes the latter as lab sheet, tables and figures.

    Raises:
        InputError: as `load`.
    """
    from slipwise.study.reader import load_motor as read

    return read(Path(path))


def run(
    study: Study | str | Path, *, transients: bool = True, whole: bool = True, progress: Progress | None = None
) -> StudyResult:
    """Computes and judges every way of starting and of speed control in a study.

    Args:
        study: from `load`, or the path of a study file.
        transients: compute the electrical transient over the switching angle as well (peak torque, peak current).
        whole: also find how far the recommended way and its runner-up carry, and judge them with other motors that show
            the same plate.
        progress: called before each piece of work with a few words and the share that is done (0 to 1).

    Returns:
        The whole answer: ways with curves, run-ups, transients and verdicts; the recommendation; under `speed` the same for
        speed control over the duty, when the study has one (None otherwise); inputs with their
        origin; explanations; cautions. In a notebook it shows itself.

    Raises:
        InputError: the study file, or a setting that cannot stand for this drive.
    """
    from slipwise.present.notebook import register
    from slipwise.study.run import run as compute

    register()
    read = load(study) if isinstance(study, str | Path) else study
    if whole:
        return compute(read, transients=transients, progress=progress)
    return compute(read, transients=transients, boundaries=False, ensemble=0, progress=progress)


def read_results(folder: str | Path) -> StudyResult:
    """Reads results that `slipwise study` wrote.

    Args:
        folder: the folder of outputs, or the `study.json` in it.

    Returns:
        The same record that `run` gave; arrays carry nine significant digits.

    Raises:
        InputError: not a result of slipwise, or of another schema version.
    """
    from slipwise.present.notebook import register
    from slipwise.results.codec import load_result

    register()
    path = Path(folder)
    return load_result(path / "study.json" if path.is_dir() else path)
