"""Worked solutions on paper: what is given, every step with its numbers, and the results asked for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from slipwise.present.report.blocks import Block, bullets, heading, note, table
from slipwise.quantity.formula import typeset_symbol
from slipwise.results.table import Column, Table
from slipwise.teach.paper import cautions, paper
from slipwise.teach.steps import Known, Solution, Step, together

CARRIED = (
    "Every value is carried whole from step to step; what is printed is rounded to four figures, givens as entered."
)


def blocks(solution: Solution, *, level: int = 1) -> Iterator[Block]:
    """Heading, givens, numbered steps, results: for any page of the report's template. level: of the heading, 1 to 3."""
    yield heading(solution.title, level)
    yield with_symbols(table(givens(solution)), ([item.symbol for item in solution.givens],))
    for number, step in enumerate(solution.steps, 1):
        yield step_block(step, f"{number}")
    asked = _asked(solution)
    yield with_symbols(table(results(solution)), ([item.symbol for item in asked],))


def step_block(step: Step, number: str) -> Block:
    """One numbered step: the formula, the numbers put in, source and validity."""
    remark = f"{step.note} " if step.note else ""
    return {
        "kind": "step",
        "number": number,
        "title": step.title,
        "symbolic": {"code": step.symbolic("typst"), "alt": step.symbolic(), "mathml": step.symbolic("mathml")},
        "numbers": {
            "code": f"= {step.numbers('typst')} = {step.outcome('typst')}",
            "alt": f"= {step.numbers()} = {step.outcome()}",
            "mathml": together("=", step.numbers("mathml"), "=", step.outcome("mathml")),
        },
        "result": "",
        "note": f"{remark}Source: {step.formula.source}. Holds for: {step.formula.validity}.",
    }


def givens(solution: Solution) -> Table:
    """Symbol, quantity, value as entered."""
    columns = (Column(title="Symbol"), Column(title="Given"), Column(title="Value", numeric=True))
    rows = tuple((typeset_symbol(item.symbol), item.name, item.shown()) for item in solution.givens)
    return Table(title="Given", columns=columns, rows=rows)


def results(solution: Solution) -> Table:
    """The values asked for; that of the last step when nothing was singled out."""
    asked = _asked(solution)
    columns = (Column(title="Symbol"), Column(title="Result"), Column(title="Value", numeric=True))
    rows = tuple((typeset_symbol(item.symbol), item.name, item.shown()) for item in asked)
    return Table(title="Results", columns=columns, rows=rows)


def _asked(solution: Solution) -> list[Known]:
    """The results asked for; the last one when nothing was singled out."""
    found = [step.result for step in solution.steps]
    return [item for item in found if item.symbol in solution.answers] if solution.answers else found[-1:]


def with_symbols(block: Block, columns: Sequence[Sequence[str]], every: int = 3) -> Block:
    """A table whose symbols are set as mathematics: those of `columns`, one list a column of symbols, every so many columns."""
    for place, symbols in enumerate(columns):
        for row, symbol in zip(block["rows"], symbols, strict=False):
            row[every * place] |= {
                "code": typeset_symbol(symbol, "typst"),
                "mathml": together(typeset_symbol(symbol, "mathml")),
            }
    return block


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
