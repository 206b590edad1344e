"""`slipwise teach lecture`: every picture of a chapter on starting and speed control, from the study's own motor."""

from __future__ import annotations

from typing import Annotated, Literal

from cyclopts import Parameter

from slipwise.doors.cli.options import Formats, Out, StudyFile

Modes = Annotated[
    tuple[Literal["light", "dark"], ...], Parameter(help="On white or on dark paper; both without it. May be repeated.")
]
Animations = Annotated[
    tuple[Literal["html", "gif", "mp4", "none"], ...],
    Parameter(
        help="A start shown moving; html without it, none for none. May be repeated. gif and mp4 need slipwise[video]."
    ),
]
Moves = Annotated[
    str, Parameter(help="Way of starting that gif and mp4 show, as in the study file; the first without it.")
]
Slides = Annotated[bool, Parameter(help="Also slides to be edited (PPTX); needs slipwise[slides].")]


def lecture(
    file: StudyFile,
    /,
    *,
    out: Out = None,
    format: Formats = ("svg",),
    mode: Modes = ("light", "dark"),
    size: Annotated[Literal["projector", "print"], Parameter(help="Of the figures.")] = "projector",
    animation: Animations = ("html",),
    moves: Moves = "",
    slides: Slides = False,
) -> None:
    """Figures, power circuits stage by stage, slides, moving starts and a contact sheet for the motor in FILE."""
    from slipwise.doors.cli.session import folder_for, working
    from slipwise.doors.python import load
    from slipwise.present.deck.folder import Wanted, write_lecture
    from slipwise.present.export import require_replaceable
    from slipwise.teach.lecture import lecture as computed
    from slipwise.teach.lecture import moving_start

    folder = folder_for(file, out, "lecture")
    require_replaceable(folder)
    study = load(file)
    with working("computing") as progress:
        found = computed(study, lambda words: progress(words, None))
    moving_start(found, moves)
    wanted = Wanted(
        modes=tuple(dict.fromkeys(mode)),
        formats=tuple(dict.fromkeys(format)),
        size=size,
        motions=tuple(kind for kind in dict.fromkeys(animation) if kind != "none"),
        which=moves,
        editable=slides,
    )
    with working("writing") as progress:
        write_lecture(found, folder, wanted, lambda words: progress(words, None))
    for words in found.left_out:
        print(f"Not drawn: {words}.")
    print(
        f"Written to {folder}: figures, diagrams, series, slides (deck-{wanted.modes[0]}.pdf, .html), contact sheets."
    )
