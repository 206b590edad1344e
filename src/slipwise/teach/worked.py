"""Worked solutions on paper: what is given, every step with its numbers, and the results asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from slipwise.present.report.blocks import Block, bullets, heading, note, table
from slipwise.quantity.formula import typeset_symbol
from slipwise.results.table import Column, Table
from slipwise.teach.paper import cautions, paper
from slipwise.teach.steps import Solution, Step

CARRIED = (
    "Every value is carried whole from step to step; what is printed is rounded to four figures, givens as entered."
)


def blocks(solution: Solution, *, level: int = 1) -> Iterator[Block]:
    """Heading, givens, numbered steps, results: for any page of the report's template. level: of the heading, 1 to 3."""
    yield heading(solution.title, level)
    yield table(givens(solution))
    for number, step in enumerate(solution.steps, 1):
        yield step_block(step, f"{number}")
    yield table(results(solution))


def step_block(step: Step, number: str) -> Block:
    """One numbered step: the formula, the numbers put in, source and validity."""
    remark = f"{step.note} " if step.note else ""
    return {
        "kind": "step",
        "number": number,
        "title": step.title,
        "symbolic": {"code": step.symbolic("typst"), "alt": step.symbolic()},
        "numbers": {"code": f"= {step.numbers('typst')}", "alt": f"= {step.numbers()}"},
        "result": step.outcome(),
        "note": f"{remark}Source: {step.formula.source}. Holds for: {step.formula.validity}.",
    }


def givens(solution: Solution) -> Table:
    """Symbol, quantity, value as entered."""
    columns = (Column(title="Symbol"), Column(title="Given"), Column(title="Value", numeric=True))
    rows = tuple((typeset_symbol(item.symbol), item.name, item.shown()) for item in solution.givens)
    return Table(title="Given", columns=columns, rows=rows)


def results(solution: Solution) -> Table:
    """The values asked for; that of the last step when nothing was singled out."""
    found = [step.result for step in solution.steps]
    asked = [item for item in found if item.symbol in solution.answers] if solution.answers else found[-1:]
    columns = (Column(title="Symbol"), Column(title="Result"), Column(title="Value", numeric=True))
    rows = tuple((typeset_symbol(item.symbol), item.name, item.shown()) for item in asked)
    return Table(title="Results", columns=columns, rows=rows)


def solutions_pdf(title: str, solutions: Sequence[Solution], *, day: date | None = None) -> bytes:
    """Worked solutions one after the other, as PDF. Raises RuntimeError when the typesetting fails."""

    def every() -> Iterator[Block]:
        yield note(CARRIED)
        for solution in solutions:
            yield from blocks(solution)
        yield heading("Mind")
        yield bullets(cautions("judgement"))

    words = "Worked solutions: " + "; ".join(solution.title for solution in solutions)
    return paper(title, "Worked solutions", every(), description=words, day=day)
