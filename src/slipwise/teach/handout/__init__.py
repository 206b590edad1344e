"""A student's summary of one topic, two pages: the formulas with the numbers of the study's motor, and what to remember."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from slipwise.present import tables_claims
from slipwise.present.figures.canvas import render
from slipwise.present.figures.claims import beside_text, spoken
from slipwise.present.report import html
from slipwise.present.report.blocks import TEXT_WIDTH, Block, Images, bullets, figure, heading, note, paragraph, table
from slipwise.present.report.build import typeset
from slipwise.quantity.errors import InputError
from slipwise.quantity.formula import typeset_symbol
from slipwise.quantity.show import show
from slipwise.results.claims import Claim
from slipwise.results.table import Column, Table
from slipwise.study.model import Study
from slipwise.teach import formulas as registry
from slipwise.teach.claims import EVERY
from slipwise.teach.claims.motor import machine_of
from slipwise.teach.handout.recipes import Recipe, recipes
from slipwise.teach.handout.values import CHOSEN, values, whole
from slipwise.teach.paper import cautions, document
from slipwise.teach.steps import Known, Solution, Work
from slipwise.teach.worked import CARRIED, step_block, with_symbols

_MANY = 8  # steps: from here on the figure is smaller, so that the summary keeps to two pages
TOPICS = tuple(recipe.topic for recipe in recipes())


def recipe_of(topic: str) -> Recipe:
    """The handout of a topic.

    Raises:
        InputError: there is none; names those there are.
    """
    for recipe in recipes():
        if recipe.topic == topic:
            return recipe
    raise InputError.of("topic", topic, "there is no handout on it", f"choose one of {', '.join(TOPICS)}")


def fits(recipe: Recipe, known: Mapping[str, Known]) -> str:
    """Why a handout cannot be made for this motor; "" when it can."""
    missing = [name for name in recipe.needed if name not in known]
    if not missing:
        return ""
    if {"a", "n_m"} & set(missing):
        return "it needs a wound rotor, and the motor of the study has a cage"
    return f"the study does not say {', '.join(missing)}"


def solution(recipe: Recipe, known: Mapping[str, Known]) -> Solution:
    """The steps of a handout with the values of a motor.

    Raises:
        InputError: a value is missing (see `fits`). DomainError: a formula has no value for this motor.
    """
    work = Work(registry.topic(recipe.topic).title)
    for name in (*recipe.needed, *recipe.welcome):
        if name in known:
            work.take(known[name])
    for item in recipe.chosen:
        work.given(item.symbol, item.entered, f"{item.name} ({CHOSEN})", unit=item.unit)
    for line in recipe.steps:
        condition, _, rest = line.rpartition("? ") if "? " in line else line.rpartition("! ")
        if not condition or (condition in known) == ("? " in line):
            work.line(rest)
    return work.solution()


def summary(study: Study, topic: str, *, day: date | None = None) -> tuple[dict[str, Any], Images]:
    """The summary of one topic for the study's motor as data for the template, and its pictures.

    Args:
        study: its motor must have a circuit.
        topic: one of TOPICS.
        day: printed in the head of each page; None prints none.

    Raises:
        InputError: no such topic, a motor of typed curves, or one to which the topic does not apply.
    """
    recipe, known = recipe_of(topic), values(study)
    reason = fits(recipe, known)
    if reason:
        raise InputError.of("topic", topic, reason, "leave this topic out")
    images = Images()
    blocks = list(_blocks(study, recipe, known, images))
    title = registry.topic(topic).title
    words = f"Summary of {title.lower()} with the numbers of {study.title}"
    return document(title, f"Handout   ·   {study.title}", blocks, description=words, day=day), images


def handout(study: Study, topic: str, *, day: date | None = None) -> bytes:
    """The summary of one topic as PDF of two pages at most. Arguments and errors as `summary`; RuntimeError when the
    typesetting fails."""
    return typeset(*summary(study, topic, day=day), day)


def handout_html(study: Study, topic: str, *, day: date | None = None) -> str:
    """The same as one HTML page that needs nothing else, formulas as MathML. Arguments and errors as `summary`."""
    return html.page(*summary(study, topic, day=day))


def _blocks(study: Study, recipe: Recipe, known: Mapping[str, Known], images: Images) -> Iterator[Block]:
    worked = solution(recipe, known)
    yield bullets(recipe.words)
    symbols = [item.symbol for item in worked.givens]
    half = (len(symbols) + 1) // 2
    yield with_symbols(table(_values(worked)), (symbols[:half], symbols[half:]))
    yield heading("Step by step")
    said = ""
    for number, step in enumerate(worked.steps, 1):
        validity = step.formula.validity
        yield {**step_block(step, f"{number}"), "note": "" if validity == said else f"Holds for: {validity}."}
        said = validity
    if recipe.checks:
        checked = _checked(recipe, worked, whole(study, known))
        named = [step.result.symbol for step in worked.steps if step.title in {row[1] for row in checked.rows}]
        yield with_symbols(table(checked), (named,))
    machine = machine_of(study)
    for claim in (EVERY[key](study, machine) for key in recipe.claims[:1]):
        yield heading("Is the shorthand true?")
        yield from _claim(claim, images, 0.45 if len(worked.steps) > _MANY else 0.6)
    sources = dict.fromkeys(step.formula.source for step in worked.steps)
    yield note(f"{CARRIED} Sources: {'; '.join(sources)}.")
    yield note(" ".join(cautions("judgement")))


def _values(worked: Solution) -> Table:
    """Givens in two columns side by side."""
    cells = [(typeset_symbol(item.symbol), item.name, item.shown()) for item in worked.givens]
    half = (len(cells) + 1) // 2
    left, right = cells[:half], [*cells[half:], *([("", "", "")] * (2 * half - len(cells)))]
    columns = (Column(title="Symbol"), Column(title="Quantity"), Column(title="Value", numeric=True)) * 2
    return Table(title="This motor", columns=columns, rows=tuple((*a, *b) for a, b in zip(left, right, strict=True)))


def _checked(recipe: Recipe, worked: Solution, full: Mapping[str, float]) -> Table:
    """Results of the steps beside the whole computation."""
    columns = (
        Column(title="Symbol"), Column(title="Result"), Column(title="By these steps", numeric=True),
        Column(title="By the whole computation", numeric=True), Column(title="Steps are off by", numeric=True),
    )  # fmt: skip
    rows = []
    for step in worked.steps:
        name = step.result.symbol
        if name in recipe.checks and name in full:
            by_steps = abs(step.result.value)
            error = by_steps / full[name] - 1
            off = "0" if abs(error) < 5e-4 else show(error, "pu", 2)
            unit = step.result.unit
            rows.append((typeset_symbol(name), step.title, show(by_steps, unit, 4), show(full[name], unit, 4), off))
    return Table(title="Against the whole computation", columns=columns, rows=tuple(rows))


def _claim(claim: Claim, images: Images, share: float) -> Iterator[Block]:
    yield paragraph(f"“{claim.said}” For this motor: {claim.answer.value}. {claim.holds}", leads_in=True)
    yield table(tables_claims.cases(claim), title="")
    file = images.put(claim.key, render(beside_text(claim), "svg"))
    yield figure(file, spoken(claim), claim.title, TEXT_WIDTH * share)
