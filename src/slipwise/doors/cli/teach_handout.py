"""`slipwise teach handout`: two-page summaries, one a topic, with the numbers of a study's motor."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Out, Repeated, StudyFile, repeated

Topics = Annotated[Repeated, repeated("A topic, as `slipwise teach formulas` lists them; without it all that apply.")]


Page = Annotated[bool, Parameter(help="Each topic as an HTML page as well, its formulas as MathML.")]


def handout(file: StudyFile, /, *, topic: Topics = (), out: Out = None, html: Page = False) -> None:
    """A student's summary of each topic, two pages: formulas with the numbers of the motor of FILE, and what to remember.

    Each ends with a shorthand of the classroom set against the full computation for this motor.
    """
    from slipwise.doors.cli.session import folder_for, working
    from slipwise.doors.cli.study import today
    from slipwise.present.export import require_replaceable, whole_folder
    from slipwise.study.reader import load
    from slipwise.teach.handout import TOPICS, fits, handout, handout_html, recipe_of
    from slipwise.teach.handout.values import values

    folder = folder_for(file, out, "handouts")
    require_replaceable(folder)
    asked = [recipe_of(name) for name in (topic or TOPICS)]
    study = load(file)
    known = values(study)
    left = {} if topic else {recipe.topic: fits(recipe, known) for recipe in asked}
    with working("writing") as progress, whole_folder(folder) as fresh:
        for number, recipe in enumerate(asked):
            if left.get(recipe.topic):
                continue
            progress(recipe.topic, number / len(asked))
            (fresh / f"{recipe.topic}.pdf").write_bytes(handout(study, recipe.topic, day=today()))
            if html:
                page = handout_html(study, recipe.topic, day=today())
                (fresh / f"{recipe.topic}.html").write_text(page, encoding="utf-8", newline="\n")
    written = [recipe.topic for recipe in asked if not left.get(recipe.topic)]
    pages = " Each as .html as well." if html else ""
    print(f"Written to {folder}: {', '.join(f'{name}.pdf' for name in written)}.{pages}")
    for name, reason in left.items():
        if reason:
            print(f"Left out: {name}, because {reason}.")
