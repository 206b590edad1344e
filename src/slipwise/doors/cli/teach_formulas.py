"""`slipwise teach formulas`: the list of formulas, one topic in full, or the collection on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

if TYPE_CHECKING:
    from slipwise.teach.formulas import Topic

Chapter = Annotated[str, Parameter(help="The topic; without it, all topics with their keys.")]
Form = Annotated[Literal["text", "typst", "latex", "mathml"], Parameter(help="How the formulas are written.")]
Collection = Annotated[
    Path | None,
    Parameter(
        help="Folder for formulas.pdf, .html and .csv (in every form), made whole or not at all; none without it."
    ),
]


def formulas(topic: Chapter = "", /, *, form: Form = "text", out: Collection = None) -> None:
    """The formulas of TOPIC: what each gives, its symbols with their units, source and validity; without TOPIC the topics.

    The keys printed are those by which problem sheets name a formula. With --out the collection, or one topic of it, on paper.
    """
    from slipwise.present.terminal import print_table
    from slipwise.teach import formulas as registry
    from slipwise.teach.formulas.listing import listed, topics

    chosen = (registry.topic(topic),) if topic else registry.TOPICS
    if out is not None:
        _written(chosen, out)
        return
    if not topic:
        print_table(topics())
        return
    for one in chosen[0].formulas:
        print("\n".join(listed(one, form)))
        print()


def _written(topics: tuple[Topic, ...], out: Path) -> None:
    from slipwise.doors.cli.study import today
    from slipwise.present.export import whole_folder
    from slipwise.present.report import html
    from slipwise.present.report.blocks import Images
    from slipwise.present.report.build import typeset
    from slipwise.teach.formulas.collection import blocks, csv_of
    from slipwise.teach.paper import document

    title = topics[0].title if len(topics) == 1 else "Formulas"
    data = document(title, "Collection of formulas", blocks(topics), day=today())
    with whole_folder(out) as fresh:
        (fresh / "formulas.pdf").write_bytes(typeset(data, Images(), today()))
        (fresh / "formulas.html").write_text(html.page(data, Images()), encoding="utf-8", newline="\n")
        (fresh / "formulas.csv").write_text(csv_of(topics), encoding="utf-8", newline="\n")
    print(f"Written to {out}: formulas.pdf, formulas.html, formulas.csv.")
