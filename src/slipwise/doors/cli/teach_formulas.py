"""`slipwise teach formulas`: the list of formulas, or one topic in full."""

from __future__ import annotations

from typing import Annotated, Literal

from cyclopts import Parameter

Chapter = Annotated[str, Parameter(help="The topic; without it, all topics with their keys.")]
Form = Annotated[Literal["text", "typst", "latex", "mathml"], Parameter(help="How the formulas are written.")]


def formulas(topic: Chapter = "", /, *, form: Form = "text") -> None:
    """The formulas of TOPIC: what each gives, its symbols with their units, source and validity; without TOPIC the topics.

    The keys printed are those by which problem sheets name a formula.
    """
    from slipwise.present.terminal import print_table
    from slipwise.teach import formulas as registry
    from slipwise.teach.formulas.listing import listed, topics

    if not topic:
        print_table(topics())
        return
    for one in registry.topic(topic).formulas:
        print("\n".join(listed(one, form)))
        print()
