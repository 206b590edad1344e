"""A study in the terminal: the answer first, why, the ways side by side, then what it rests on and what to mind.

Thin rules, no boxes; a status is a word before it is a colour. Written to a file or a pipe the same text comes out
plain: no colour codes, ordinary spaces and ASCII rules, so that it can be searched and compared.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from io import StringIO
from typing import IO, TYPE_CHECKING, Literal

from slipwise.present import tables, tables_disturbance, tables_duty, tables_group, tables_heat, tables_protection
from slipwise.present.tables_all import all_tables
from slipwise.present.tables_reach import edge_text
from slipwise.quantity.provenance import Origin
from slipwise.quantity.show import THIN, show
from slipwise.results.criteria import Status
from slipwise.results.study import StudyResult, WayResult
from slipwise.results.table import Table

if TYPE_CHECKING:
    from rich.console import Console

STAND_IN = "¤"  # for the thin space, at which a table would break the line between number and unit
WIDEST = 120  # longer lines are hard to read
GAP = 2  # between columns
COLOURS = {
    Status.PASSES: "green",
    Status.CONDITION: "yellow",
    Status.FAILS: "red",
    Status.UNKNOWN: "dim",
    Status.NOT_APPLICABLE: "dim",
}


def print_result(result: StudyResult, file: IO[str] | None = None) -> None:
    """Prints a study to `file` (standard output when None): styled on a terminal, plain anywhere else."""
    file = file or sys.stdout
    console = _console(file)
    page = _Page(width=min(console.width, WIDEST), colour=console.is_terminal and not console.no_color)
    file.write(_encodable(page.study(result), file))


def print_speed(result: StudyResult, way: str = "", file: IO[str] | None = None) -> None:
    """Prints the speed part of a study, or one way of it in full, in the same look.

    Raises:
        KeyError: the study has no speed part, or no such way.
    """
    file = file or sys.stdout
    console = _console(file)
    page = _Page(width=min(console.width, WIDEST), colour=console.is_terminal and not console.no_color)
    file.write(_encodable(page.speed(result, way), file))


def print_stopping(result: StudyResult, way: str = "", file: IO[str] | None = None) -> None:
    """Prints the stopping part of a study, or one way of it in full, in the same look.

    Raises:
        KeyError: the study has no stopping part, or no such way.
    """
    file = file or sys.stdout
    console = _console(file)
    page = _Page(width=min(console.width, WIDEST), colour=console.is_terminal and not console.no_color)
    file.write(_encodable(page.stopping(result, way), file))


def print_table(table: Table, file: IO[str] | None = None) -> None:
    """Prints one table in the same look."""
    file = file or sys.stdout
    console = _console(file)
    page = _Page(width=min(console.width, WIDEST), colour=console.is_terminal and not console.no_color)
    file.write(_encodable(page.table(table), file))


def print_sentences(sentences: Iterable[str], file: IO[str] | None = None, *, lead: str = "- ") -> None:
    """Prints each sentence as a paragraph of its own, as wide as the tables; empty ones are left out."""
    file = file or sys.stdout
    width = min(_console(file).width, WIDEST)
    for words in filter(None, sentences):
        lines = textwrap.fill(tables.plain(words), width, initial_indent=lead, subsequent_indent="  ")
        file.write(_encodable(f"{lines}\n", file))


def text(result: StudyResult, width: int = 80, colour: bool = False) -> str:
    """A study as text of the given width; with colour codes and thin spaces if `colour`, plain otherwise."""
    return _Page(width=width, colour=colour).study(result)


def way_text(result: StudyResult, key: str, width: int = 80, colour: bool = False) -> str:
    """Everything about one way: criteria, settings, cases, stages, energy, peaks.

    Raises:
        KeyError: the study has no such way.
    """
    found = [table for name, table in all_tables(result) if name.startswith(f"{key}/")]
    if not found:
        raise KeyError(key)
    page = _Page(width=width, colour=colour)
    return "\n".join(page.table(table) for table in found)


def table_text(table: Table, width: int = 80, colour: bool = False) -> str:
    """One table as text."""
    return _Page(width=width, colour=colour).table(table)


def _console(file: IO[str]) -> Console:
    from rich.console import Console

    return Console(file=file)


def _encodable(content: str, file: IO[str]) -> str:
    """What the stream's encoding cannot write becomes "?", rather than an error at the end of a long computation."""
    encoding = getattr(file, "encoding", None) or "utf-8"
    return content.encode(encoding, errors="replace").decode(encoding)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """A width and whether colours are wanted; draws everything as text."""

    width: int
    colour: bool

    def study(self, result: StudyResult) -> str:
        """The whole answer, short."""
        parts = [
            self._heading(result.title),
            *(self._starting(result) if _starts(result) else (self._supplies(result),)),
            self._speed(result),
            self._stopping(result),
            self._disturbances(result),
            self._group(result),
            self._not_given(result),
            self._block("Mind", result.cautions),
        ]
        return "\n".join(part for part in parts if part)

    def speed(self, result: StudyResult, way: str) -> str:
        """The speed part alone, or one way of it."""
        if result.speed is None:
            raise KeyError("speed")
        from slipwise.present.terminal_speed import way_text

        if way:
            return self._heading(result.title) + "\n" + way_text(result.speed, way, self.width, self.table, self._line)
        parts = [self._heading(result.title), self._speed(result), self._not_given(result)]
        return "\n".join([*parts, self._block("Mind", result.cautions)])

    def _starting(self, result: StudyResult) -> tuple[str, ...]:
        heat = (table for _, table in tables_heat.all_heat(result))
        found = (tables.comparison(result), tables_duty.load_cases(result), tables_duty.duty(result), *heat)
        drawn = (self.table(table) for table in found if table.rows or table.note)
        return self._answer(result) + self._supplies(result), *drawn, self._others(result), self._reach(result)

    def _speed(self, result: StudyResult) -> str:
        if result.speed is None:
            return ""
        from slipwise.present.terminal_speed import speed_text

        return speed_text(result.speed, self.width, self.table, self._line)

    def _supplies(self, result: StudyResult) -> str:
        """The bad supplies in one line."""
        words = tables_disturbance.headline(result)
        failed = any(found.verdict.status is Status.FAILS for found in result.disturbances)
        colour = COLOURS[Status.FAILS if failed else Status.PASSES]
        return self._styled(self._wrapped(words, ""), f"bold {colour}") if words else ""

    def _disturbances(self, result: StudyResult) -> str:
        """Each bad supply: judgement, what happens, what to do."""
        lines = []
        for found in result.disturbances:
            words = [found.summary, tables_disturbance.reason(found), *(f"Do: {words}" for words in found.actions)]
            lines.append(self._block(found.title, words))
        return "\n".join(lines)

    def _group(self, result: StudyResult) -> str:
        """Several motors on the path: which sequence to take, and what a dip does."""
        if result.group is None:
            return ""
        words = tables_group.headline(result)
        chosen = tables_group.proposed(result.group)
        colour = COLOURS[Status.FAILS if chosen is None else chosen.verdict.status]
        lead = self._styled(self._wrapped(words, ""), f"bold {colour}") if words else ""
        return "\n".join([lead, *(self.table(t) for t in tables_group.brief(result) if t.rows or t.note)])

    def stopping(self, result: StudyResult, way: str) -> str:
        """The stopping part alone, or one way of it."""
        if result.stopping is None:
            raise KeyError("stopping")
        from slipwise.present.terminal_stopping import way_text

        if way:
            words = way_text(result.stopping, way, self.width, self.table, self._line)
            return self._heading(result.title) + "\n" + words
        parts = [self._heading(result.title), self._stopping(result), self._not_given(result)]
        return "\n".join([*parts, self._block("Mind", result.cautions)])

    def _stopping(self, result: StudyResult) -> str:
        if result.stopping is None:
            return ""
        from slipwise.present.terminal_stopping import stopping_text

        return stopping_text(result.stopping, self.width, self.table, self._line)

    def table(self, table: Table) -> str:
        """Title, rows under a thin rule, note."""
        note = self._wrapped(table.note, "") if table.note else ""
        if not table.rows:
            return self._styled(f"{table.title}\n", "bold") + note
        return self._rows(table) + note

    def _heading(self, title: str) -> str:
        rule = ("─" if self.colour else "-") * min(self.width, len(title))
        return self._styled(f"{self._line(title)}\n", "bold") + self._styled(f"{rule}\n", "dim")

    def _answer(self, result: StudyResult) -> str:
        best = next((way for way in result.ways if way.key == result.recommendation.way), None)
        status = best.verdict.status if best else Status.FAILS
        lines = self._styled(self._wrapped(tables.verdict_sentence(result), ""), f"bold {COLOURS[status]}")
        lines += self._wrapped(f"Why: {result.recommendation.reason}", "  ")
        if best:
            lines += self._chosen(best)
        runner_up = next((way for way in result.ways if way.key == result.recommendation.runner_up), None)
        if runner_up:
            lines += self._wrapped(
                f"Runner-up: {runner_up.title} ({tables.STATUS_WORDS[runner_up.verdict.status]})", "  "
            )
        return lines

    def _chosen(self, way: WayResult) -> str:
        set_to = tables.set_text(way)
        lines = self._wrapped(f"Set: {set_to}", "  ") if set_to else ""
        protect = tables_protection.protect_text(way)
        lines += self._wrapped(f"Protect: {protect}", "  ") if protect else ""
        row = way.verdict.binding
        if row is not None:
            words = f"{row.title} {show(row.value, row.unit)}, {tables.limit_text(row)} ({row.source})"
            lines += self._wrapped(f"Tightest limit: {words}, margin {tables.signed(row.margin)}", "  ")
        for row in way.verdict.criteria:
            if row.status is Status.CONDITION and row.condition:
                lines += self._wrapped(f"Condition: {row.title}: {row.condition}", "  ")
        return lines

    def _others(self, result: StudyResult) -> str:
        chosen = (result.recommendation.way, result.recommendation.runner_up)
        rest = [way for way in tables.ranked(result) if way.key not in chosen and way.verdict.reason]
        judged = [way for way in rest if way.verdict.status is not Status.NOT_APPLICABLE]
        others = [way for way in rest if way.verdict.status is Status.NOT_APPLICABLE]
        parts = [
            self._block(title, (f"{way.title}: {way.verdict.reason}" for way in found))
            for title, found in (("Why not", judged), ("Does not apply to this drive", others))
            if found
        ]
        return "\n".join(parts)

    def _reach(self, result: StudyResult) -> str:
        """How far the ways carry and what to ask next, when that was computed."""
        lines = [
            f"{row.title}: " + "; ".join(f"{edge.title} {edge_text(edge)}" for edge in row.edges)
            for row in result.boundaries
        ]
        reach = self._block("Still passes with, one quantity moved at a time", lines) if lines else ""
        words = result.ranking.words if result.ranking else ""
        asked = self._block("Over the motors that agree with the plate", [words]) if words else ""
        return "\n".join(part for part in (reach, asked) if part)

    def _not_given(self, result: StudyResult) -> str:
        """One paragraph for each part of the study; the reasons behind the values stand in the report and the data."""
        table = tables.not_given(result)
        if not table.rows:
            return self.table(table)
        parts: dict[str, list[str]] = {}
        for name, value, origin, _ in table.rows:
            part, _, field = name.partition(".")
            words = f"{field or part} {value}" + (" (estimated)" if origin == Origin.ESTIMATED else "")
            if words not in parts.setdefault(part, []):
                parts[part].append(words)
        lines = [f"{part}: {'; '.join(words)}" for part, words in parts.items()]
        return self._block(f"{table.title}, and was assumed or estimated (range in brackets)", lines)

    def _block(self, title: str, lines: Iterable[str]) -> str:
        body = "".join(self._wrapped(line, "  ") for line in lines)
        return self._styled(f"{title}\n", "bold") + body

    def _rows(self, table: Table) -> str:
        from rich.box import Box
        from rich.console import Console
        from rich.table import Table as RichTable
        from rich.text import Text

        dash = "─" if self.colour else "-"
        empty = "    \n"
        thin = Box(f"{empty}{empty} {dash}{dash} \n{empty}{empty}{empty}{empty}{empty}", ascii=not self.colour)
        drawn = RichTable(
            box=thin, pad_edge=False, padding=(0, 1, 0, 0),
            show_edge=False, border_style="dim",
        )  # fmt: skip
        heads = [column.title + (f" ({column.unit})" if column.unit else "") for column in table.columns]
        for column, head, width in zip(table.columns, heads, self._widths(table, heads), strict=True):
            justify: Literal["left", "right"] = "right" if column.numeric else "left"
            drawn.add_column(Text(head), justify=justify, overflow="fold", width=width)
        for row in table.rows:
            drawn.add_row(*(Text(cell.replace(THIN, STAND_IN), style=_tint(cell)) for cell in row))
        out = StringIO()
        colours: Literal["standard"] | None = "standard" if self.colour else None
        console = Console(
            file=out, width=self.width, color_system=colours, force_terminal=self.colour, legacy_windows=False
        )
        console.print(drawn)
        lines = self._line(out.getvalue().replace(STAND_IN, THIN)).splitlines()
        title = "".join(
            self._styled(f"{line}\n", "bold") for line in textwrap.wrap(self._line(table.title), self.width)
        )
        return title + "".join(f"{line.rstrip()}\n" for line in lines)

    def _widths(self, table: Table, heads: list[str]) -> list[int | None]:
        """Width of each column, so that no word is broken; None where the table fits as it is, or cannot."""
        cells = [(head, *(row[place] for row in table.rows)) for place, head in enumerate(heads)]
        least = [max(len(word) for cell in column for word in (cell.split(" ") or [""])) for column in cells]
        most = [max(len(cell) for cell in column) for column in cells]
        room = self.width - GAP * (len(heads) - 1)
        figures = [
            high if column.numeric else low for column, low, high in zip(table.columns, least, most, strict=True)
        ]
        if sum(figures) <= room:
            least = figures  # words are broken into lines before figures are
        if sum(most) <= room or sum(least) > room:
            return [None] * len(heads)
        spare, wish = room - sum(least), sum(most) - sum(least)
        return [low + spare * (high - low) // wish for low, high in zip(least, most, strict=True)]

    def _wrapped(self, words: str, indent: str) -> str:
        lines = textwrap.wrap(words, self.width, initial_indent=indent, subsequent_indent=indent + "  " * bool(indent))
        return self._line("\n".join(lines)) + "\n"

    def _line(self, words: str) -> str:
        return words if self.colour else tables.plain(words)

    def _styled(self, words: str, style: str) -> str:
        if not self.colour:
            return words
        from rich.style import Style

        body, end = (words[:-1], "\n") if words.endswith("\n") else (words, "")
        return "\n".join(Style.parse(style).render(line) for line in body.split("\n")) + end


def _starts(result: StudyResult) -> bool:
    """Whether starting is part of the answer: where it was asked for, or nothing else was."""
    return bool(result.ways) or (result.speed is None and result.stopping is None)


def _tint(cell: str) -> str:
    """Colour of a cell that begins with a status word."""
    for status, colour in COLOURS.items():
        if cell == tables.STATUS_WORDS[status] or cell.startswith(f"{tables.STATUS_WORDS[status]}: "):
            return colour
    return ""
