"""`slipwise export`: a saved study rendered again, without computing anything."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from slipwise.doors.cli.options import Formats, Out, Results

if TYPE_CHECKING:
    from slipwise.present.figures import Entry
    from slipwise.results.study import StudyResult

FIGURE = "Key of one figure, such as comparison or direct.run_up, or the beginning of keys; all figures without it."


def export(
    results: Results,
    /,
    *,
    figure: Annotated[str, Parameter(help=FIGURE)] = "",
    format: Formats = ("svg",),
    size: Annotated[
        Literal["projector", "print"], Parameter(help="For the wall, or 170 mm wide on paper.")
    ] = "projector",
    mode: Annotated[Literal["light", "dark"], Parameter(help="Dark on light paper, or light on dark.")] = "light",
    out: Out = None,
) -> None:
    """Figures of a saved study in another format, size or mode."""
    from slipwise.doors.cli.session import folder_for, saved, working
    from slipwise.present.export import write_figures
    from slipwise.present.figures import Look

    entries = chosen(saved(results), figure)
    folder = folder_for(results, out, "figures")
    with working("writing") as progress:
        look = Look(size=size, mode=mode)
        write_figures(entries, folder, format, look=look, progress=lambda words: progress(words, None))
    print(f"Written to {folder}: {', '.join(path.name for path in sorted(folder.iterdir()))}.")


def chosen(result: StudyResult, key: str) -> list[Entry]:
    """The figure of that key, or all whose keys begin with it.

    Raises:
        InputError: there is none; names those there are.
    """
    from slipwise.present.figures import catalogue
    from slipwise.quantity.errors import InputError

    entries = catalogue(result)
    found = [entry for entry in entries if entry.key == key] or [e for e in entries if e.key.startswith(key)]
    if not found:
        known = ", ".join(entry.key for entry in entries)
        raise InputError.of("--figure", key, "this study has no such figure", f"ask for one of {known}")
    return found
