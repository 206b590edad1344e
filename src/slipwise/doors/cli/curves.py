"""`slipwise curves`: the steady characteristics as CSV and figures."""

from __future__ import annotations

from slipwise.doors.cli.options import Formats, Out, StudyFile


def curves(file: StudyFile, /, *, out: Out = None, format: Formats = ("svg",)) -> None:
    """Torque and currents against speed for every way and stage in FILE, as CSV and figures in a folder."""
    from slipwise.doors.cli.session import computed, folder_for, working
    from slipwise.present.export import require_replaceable, write_curves

    folder = folder_for(file, out, "curves")
    require_replaceable(folder)
    result = computed(file, transients=False)
    with working("writing") as progress:
        write_curves(result, folder, format, progress=lambda words: progress(words, None))
    print(f"Written to {folder}: the folders figures and series.")
