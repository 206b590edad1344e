"""From what is written to a `Problem`: every symbol has a value, every answer a step, every draw a text."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

from slipwise.quantity.errors import Fault, InputError
from slipwise.quantity.formula import Formula, names_in, parse, renamed
from slipwise.quantity.unit_table import lookup
from slipwise.teach.problems.chain import names_compared
from slipwise.teach.problems.draw import plain, with_unit
from slipwise.teach.problems.model import Gap, Given, Part, Problem
from slipwise.teach.problems.schema import GivenSection, PartSection, ProblemSection, StepSection

MOST_VALUES = 100_000
PLACE = re.compile(r"\{([A-Za-z][A-Za-z0-9_]*)(=?)\}")
Known = Callable[[str], Formula]


def problem(written: ProblemSection, field: str, topic: str, formulas: Known) -> Problem:
    """The problem a section describes.

    Args:
        written: with title, text, given, step and part.
        field: where it stands, as `problem[2]`.
        topic: of the bank's file, or "own".
        formulas: finds a formula of the collection by its key, or raises InputError.

    Raises:
        InputError: naming what is missing or does not fit.
    """
    for name in ("name", "title", "text", "given", "step", "part"):
        if not getattr(written, name):
            raise InputError.of(
                f"{field}.{name}", "", "it is missing", "a problem needs name, title, text, given, step, part"
            )
    assert written.name is not None
    assert written.title is not None
    assert written.text is not None
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,59}", written.name):
        remedy = "write small letters, figures and _, as in loaded_conveyor"
        raise InputError.of(f"{field}.name", written.name, "it is no name", remedy)
    given = tuple(_given(item, f"{field}.given[{place + 1}]") for place, item in enumerate(written.given))
    units = {item.symbol: item.si for item in given}
    steps: list[Formula] = []
    for place, item in enumerate(written.step):
        step = _step(item, f"{field}.step[{place + 1}]", written.name, units, formulas)
        units[step.symbol] = step.result_unit
        steps.append(step)
    made = Problem(
        key=written.name,
        title=written.title,
        topic=topic,
        difficulty=written.difficulty or 2,
        text=written.text,
        given=given,
        steps=tuple(steps),
        parts=tuple(_part(item, f"{field}.part[{place + 1}]", tuple(steps)) for place, item in enumerate(written.part)),
        require=written.require,
    )
    _agrees(made, field)
    return made


def _unit(field: str, unit: str) -> str:
    """The SI unit of a printed one."""
    if not unit:
        return ""
    known = lookup(unit)
    if known is None:
        raise InputError.of(
            field, unit, "the unit is not known", 'write it as in a study file, such as "r/min" or "N m"'
        )
    return known.si


def _given(item: GivenSection, field: str) -> Given:
    si = _unit(f"{field}.unit", item.unit)
    ranged = (item.low, item.high, item.step)
    if item.of is not None and not item.expression and not any(ranged):
        digits = [format(Decimal(repr(value)).normalize(), "f") for value in item.of]
    elif all(ranged) and not item.expression and item.of is None:
        digits = _range(item, field)
    elif item.expression and not item.low and not item.high and item.of is None:
        parse(item.expression)
        if not item.step and not item.hidden:
            raise InputError.of(f"{field}.step", "", "a computed value that is stated is rounded", "add step = 1")
        if item.step and Decimal(item.step) <= 0:
            raise InputError.of(f"{field}.step", item.step, "it must be above zero", "write it as 0.01")
        return Given(
            symbol=item.symbol,
            unit=item.unit,
            si=si,
            expression=item.expression,
            step=item.step or "",
            hidden=item.hidden,
        )
    else:
        remedy = "write one of: of = [...]; low, high and step; expression"
        raise InputError.of(field, item.symbol, "it is not clear which values it may take", remedy)
    texts = tuple(with_unit(text, item.unit) for text in digits)
    return Given(symbol=item.symbol, unit=item.unit, si=si, texts=texts, hidden=item.hidden)


def _range(item: GivenSection, field: str) -> list[str]:
    low, high, step = (Decimal(text) for text in (item.low or "", item.high or "", item.step or ""))
    if step <= 0:
        raise InputError.of(f"{field}.step", item.step, "it must be above zero", "write it as 0.01")
    if high < low:
        raise InputError.of(f"{field}.high", item.high, "it lies below low", "exchange the two")
    count = int((high - low) / step) + 1
    if count > MOST_VALUES:
        raise InputError.of(f"{field}.step", item.step, f"more than {MOST_VALUES} values", "take a wider step")
    return [plain(low + place * step, step) for place in range(count)]


def _step(item: StepSection, field: str, problem_name: str, units: Mapping[str, str], formulas: Known) -> Formula:
    if item.formula:
        return _known_step(item, field, formulas)
    for name in ("symbol", "title", "expression"):
        if not getattr(item, name):
            raise InputError.of(
                f"{field}.{name}", "", "it is missing", "a step needs formula, or symbol, title and expression"
            )
    assert item.symbol is not None
    assert item.title is not None
    assert item.expression is not None
    names = names_in(item.expression)
    return Formula(
        key=f"{problem_name}.{item.symbol}",
        title=item.title,
        symbol=item.symbol,
        expression=item.expression,
        units={name: units.get(name, "") for name in names},
        source=item.source or "stated with the problem",
        validity="as stated in the problem",
        result_unit=item.unit or "",
    )


def _known_step(item: StepSection, field: str, formulas: Known) -> Formula:
    """A formula of the collection, some of its symbols by other names."""
    assert item.formula
    try:
        found = formulas(item.formula)
    except InputError as error:
        raise InputError(*(replace(fault, field=f"{field}.formula") for fault in error.faults)) from None
    if item.expression or item.unit or item.source:
        raise InputError.of(
            field, item.formula, "a formula brings its own expression", "leave expression, unit, source out"
        )
    names = _renaming(item, field, found)
    return Formula(
        key=found.key,
        title=item.title or found.title,
        symbol=item.symbol or found.symbol,
        expression=renamed(found.expression, names),
        units={names.get(name, name): unit for name, unit in found.units.items()},
        source=found.source,
        validity=found.validity,
        result_unit=found.result_unit,
    )


def _renaming(item: StepSection, field: str, found: Formula) -> dict[str, str]:
    names = {}
    for pair in item.rename or ():
        old, _, new = (word.strip() for word in pair.partition("="))
        if old not in found.names or not new.isidentifier():
            remedy = f"write symbol = other name; the formula uses {', '.join(found.names)}"
            raise InputError.of(f"{field}.rename", pair, "it renames nothing", remedy)
        names[old] = new
    return names


def _part(item: PartSection, field: str, steps: tuple[Formula, ...]) -> Part:
    si = _unit(f"{field}.unit", item.unit)
    step = next((step for step in steps if step.symbol == item.find), None)
    if step is None:
        remedy = f"the steps give {', '.join(step.symbol for step in steps)}"
        raise InputError.of(f"{field}.find", item.find, "no step gives it", remedy)
    if _plain(si) != _plain(step.result_unit):
        remedy = f"ask for it in a unit of {step.result_unit or 'a plain number'}"
        raise InputError.of(
            f"{field}.unit", item.unit, f"{item.find} is computed in {step.result_unit or 'no unit'}", remedy
        )
    if (item.exact is None) != (item.within is None):
        raise InputError.of(f"{field}.within", "", "exact and within belong together", "write both or none")
    gap = None
    if item.exact is not None and item.within is not None:
        parse(item.exact)
        gap = Gap(exact=item.exact, within=item.within.value)
    tolerance = item.tolerance.value if item.tolerance else None
    return Part(ask=item.ask, find=item.find, unit=item.unit, si=si, marks=item.marks, tolerance=tolerance, gap=gap)


def _plain(unit: str) -> str:
    """Ratios and plain numbers are one kind."""
    return "" if unit == "pu" else unit


def _agrees(made: Problem, field: str) -> None:
    """Every symbol used stands before its use, none twice; places in the text are stated quantities."""
    known: set[str] = set()
    faults: list[Fault] = []

    def need(names: Iterable[str], where: str, text: str) -> None:
        for name in names:
            if name not in known:
                remedy = "give it, or compute it in a step before"
                faults.append(Fault(field=where, value=text, reason=f"{name} has no value here", remedy=remedy))

    def new(symbol: str, where: str) -> None:
        if symbol in known:
            faults.append(Fault(field=where, value=symbol, reason="the symbol stands twice", remedy="rename one"))
        known.add(symbol)

    for place, given in enumerate(made.given):
        need(names_in(given.expression) if given.expression else (), f"{field}.given[{place + 1}]", given.expression)
        new(given.symbol, f"{field}.given[{place + 1}]")
    units = {given.symbol: given.si for given in made.given} | {step.symbol: step.result_unit for step in made.steps}
    for place, step in enumerate(made.steps):
        need(step.names, f"{field}.step[{place + 1}]", step.expression)
        for name in known.intersection(step.names):
            if _plain(units[name]) != _plain(step.units[name]):
                reason = f"{name} is in {units[name] or '1'} and the formula wants {step.units[name] or '1'}"
                faults.append(
                    Fault(field=f"{field}.step[{place + 1}]", value=step.key, reason=reason, remedy="rename it")
                )
        new(step.symbol, f"{field}.step[{place + 1}]")
    for place, part in enumerate(made.parts):
        need(names_in(part.gap.exact) if part.gap else (), f"{field}.part[{place + 1}].exact", part.find)
    for text in made.require:
        need(names_compared(text), f"{field}.require", text)
    stated = {given.symbol for given in made.given if not given.hidden}
    texts = [
        (f"{field}.text", made.text),
        *((f"{field}.part[{n + 1}].ask", part.ask) for n, part in enumerate(made.parts)),
    ]
    for where, symbol in ((where, symbol) for where, text in texts for symbol, _ in PLACE.findall(text)):
        if symbol not in stated:
            remedy = f"the stated quantities are {', '.join(sorted(stated))}"
            faults.append(
                Fault(field=where, value=f"{{{symbol}}}", reason="nothing stated is called so", remedy=remedy)
            )
    asked = [part.find for part in made.parts]
    if len(set(asked)) < len(asked):
        faults.append(Fault(field=f"{field}.part", value="", reason="a step is asked for twice", remedy="ask once"))
    if faults:
        raise InputError(*dict.fromkeys(faults))
