"""`slipwise explain`: why a number is what it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from slipwise.doors.cli.options import Either

if TYPE_CHECKING:
    from slipwise.results.study import Explanation, StudyResult

NAME = "Name of the number, such as direct.run_up_time, or the beginning of names; without it, all names are listed."


def explain(file: Either, name: Annotated[str | None, Parameter(help=NAME)] = None, /) -> None:
    """Which formula, which inputs and which source stand behind a number of a study."""
    from slipwise.doors.cli.session import computed
    from slipwise.present import explained
    from slipwise.present.terminal import print_sentences, print_table

    result = computed(file, transients=False)
    if name is None:
        print_table(explained.explained(result))
        return
    if not _found(result, name):
        result = computed(file, transients=True)
    for item in _found(result, name) or _unknown(result, name):
        print_table(explained.inputs(item))
        print_sentences(explained.steps(item), lead="")
        print()


def _found(result: StudyResult, name: str) -> list[Explanation]:
    """The explanation of that name, or all whose names begin with it."""
    exact = [item for item in result.explanations if item.name == name]
    return exact or [item for item in result.explanations if item.name.startswith(name)]


def _unknown(result: StudyResult, name: str) -> list[Explanation]:
    from difflib import get_close_matches

    from slipwise.quantity.errors import InputError

    near = get_close_matches(name, [item.name for item in result.explanations], n=3, cutoff=0.4)
    hint = f"did you mean {', '.join(near)}?" if near else "leave the name out to list what can be explained"
    raise InputError.of("name of a number", name, "no number of this study has this name", hint)
