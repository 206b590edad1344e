"""`slipwise settings`: the sheet of dials and expected measurements that is taken to the panel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Either, Formats, Out, Transients

if TYPE_CHECKING:
    from slipwise.results.study import StudyResult, WayResult

Way = Annotated[str | None, Parameter(help="Key of a way, such as star_delta; the recommended one without it.")]


def settings(
    file: Either, /, *, way: Way = None, out: Out = None, format: Formats = ("svg",), transients: Transients = True
) -> None:
    """Every dial of one way of starting in FILE with its value, and what to measure when it is first started.

    Prints both tables and those of relay, trips, contactors and orders; writes the sheet as PDF, all tables, and the picture
    of start, limits and trips to a folder.
    """
    from slipwise.doors.cli.session import computed, folder_for, working
    from slipwise.doors.cli.study import today
    from slipwise.present import tables_protection
    from slipwise.present.export import require_replaceable
    from slipwise.present.panel import write_settings
    from slipwise.present.terminal import print_table

    folder = folder_for(file, out, "settings")
    require_replaceable(folder)
    result = computed(file, transients=transients, part="starting")
    chosen = _way(result, way)
    for _, table in tables_protection.all_protection(chosen):
        if table.rows:
            print_table(table)
            print()
    with working("writing") as progress:
        progress("settings sheet", None)
        write_settings(result, chosen, folder, format, day=today())
    print(f"Written to {folder}: settings.pdf, and the folders figures and tables.")


def _way(result: StudyResult, key: str | None) -> WayResult:
    """The way of that key, or the recommended one; with a settings sheet."""
    from slipwise.methods.starting import STARTING
    from slipwise.quantity.errors import InputError
    from slipwise.study.schema.names import also_called, meant

    known = ", ".join(way.key for way in result.ways if way.protection is not None)
    remedy = f"write --way with one of {known}" if known else "change the drive until a way starts it"
    wanted = key or result.recommendation.way
    if wanted is None:
        raise InputError.of("--way", "", "no way is recommended, so one must be named", remedy)
    found = next((way for way in result.ways if way.key == wanted), None)
    if found is None:
        like = meant(wanted, [way.key for way in result.ways], also_called(STARTING))
        listed = [name for name in like if any(way.key == name for way in result.ways)]
        remedy = f"did you mean {' or '.join(listed)}?" if listed else remedy
        raise InputError.of("--way", wanted, "the study has no way of this name", remedy)
    if found.protection is None:
        raise InputError.of("--way", wanted, "this way does not bring the load up to speed", remedy)
    return found
