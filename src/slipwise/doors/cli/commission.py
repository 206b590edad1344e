"""`slipwise commission`: a recorded start laid over what the study predicted."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Formats, Out, StudyFile, repeated

Recorded = Annotated[Path, Parameter(help="The recording: .csv, or COMTRADE (.cfg with .dat beside it, .cff).")]
Installed = Annotated[
    str | None, Parameter(help="Key of the way as installed, such as star_delta; the recommended one without it.")
]
Found = Annotated[tuple[str, ...], repeated("A setting as found on site, KEY=WORDS.")]
Channel = Annotated[tuple[str, ...], repeated("What a channel of the recording is, NAME=ua (or ib, ubc, speed, ...).")]


def commission(
    file: StudyFile,
    recording: Recorded,
    /,
    *,
    way: Installed = None,
    found: Found = (),
    channel: Channel = (),
    out: Out = None,
    format: Formats = ("svg",),
) -> None:
    """Lay the recorded start in RECORDING over the band that FILE predicts; name deviations; settings found against proposed.

    Prints the answer and writes commissioning sheet, tables and figures to a folder.
    """
    from slipwise import __version__
    from slipwise.doors.cli.session import folder_for, working
    from slipwise.doors.cli.study import today
    from slipwise.identify.recording_file import read_recording
    from slipwise.present.export import require_replaceable
    from slipwise.present.recorded import print_commissioning, write_commissioning
    from slipwise.study.commission import commission as compute
    from slipwise.study.reader import load

    folder = folder_for(file, out, "commissioning")
    require_replaceable(folder)
    settings = _pairs(found, "--found")
    names = _pairs(channel, "--channel")
    study = load(file)
    with working("computing") as progress:
        progress("recording", None)
        start = read_recording(recording, names=names)
        progress("prediction and fit", None)
        answer = compute(study, start, way=way, found=settings)
    print_commissioning(answer)
    with working("writing"):
        write_commissioning(answer, folder, format, version=__version__, day=today())
    print(f"\nWritten to {folder}: commissioning.pdf, and the folders figures and tables.")


def _pairs(words: tuple[str, ...], option: str) -> dict[str, str]:
    from slipwise.quantity.errors import InputError

    pairs = {}
    for word in words:
        name, mark, rest = word.partition("=")
        if not mark or not name.strip() or not rest.strip():
            raise InputError.of(option, word, "it is no pair", f"write {option} NAME=WORDS")
        pairs[name.strip()] = rest.strip()
    return pairs
