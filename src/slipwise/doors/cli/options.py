"""Options that several commands share, with their words in the help."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

StudyFile = Annotated[Path, Parameter(help="The study file.")]
Results = Annotated[Path, Parameter(help="The folder of results that `slipwise study` wrote, or the study.json in it.")]
Either = Annotated[Path, Parameter(help="The study file, or the folder of results that `slipwise study` wrote.")]
Transients = Annotated[
    bool,
    Parameter(
        name="--transients",
        negative="--no-transients",
        help="Compute the electrical transient over the switching angle as well: peak torque and peak current.",
    ),
]
Strict = Annotated[bool, Parameter(help="Exit code 3 when no way passes.")]
Out = Annotated[
    Path | None, Parameter(help="Folder to be made, whole or not at all; without it, one named after the file.")
]
Formats = Annotated[
    tuple[Literal["svg", "pdf", "png"], ...], Parameter(help="Of the figures; svg without it. May be repeated.")
]
Repeated = tuple[str, ...]


def repeated(words: str) -> Parameter:
    """An option that may be given several times, with values that may begin with a minus sign."""
    return Parameter(allow_leading_hyphen=True, help=f"{words} May be repeated.")
