"""`slipwise teach`: what a lecture, a laboratory and an exam need of a motor. Each command is loaded only when called."""

from __future__ import annotations

from cyclopts import App

COMMANDS = (
    ("formulas", "teach_formulas:formulas", "The formulas of a topic: what each gives, its symbols, source and validity."),
)  # fmt: skip

teach = App(name="teach")
for _order, (_name, _place, _summary) in enumerate(COMMANDS):
    teach.command(f"slipwise.doors.cli.{_place}", name=_name, help=_summary, sort_key=_order)
