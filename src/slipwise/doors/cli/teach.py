"""`slipwise teach`: what a lecture, a laboratory and an exam need of a motor. Each command is loaded only when called."""

from __future__ import annotations

from cyclopts import App

COMMANDS = (
    ("formulas", "teach_formulas:formulas", "The formulas of a topic: what each gives, its symbols, source and validity."),
    ("claims", "teach_claims:claims", "Is it true for this motor? Shorthands against the full computation."),
    ("handout", "teach_handout:handout", "Two-page summaries, one a topic, with the numbers of a study's motor."),
    ("lab", "teach_lab:lab", "Papers of the laboratory: blank form with cautions, and readings on expected curves."),
    ("problems", "teach_sheet:problems", "The bank of problems: name, topic, difficulty, marks."),
    ("sheet", "teach_sheet:sheet", "Question papers, worked keys and answer tables of a class, each student with own numbers."),
    ("mark", "teach_sheet:mark", "Mark the answers of a class against the key of a sheet."),
    ("lecture", "teach_lecture:lecture", "Figures, power circuits, slides and moving starts for a lecture on the study's motor."),
)  # fmt: skip

teach = App(name="teach")
for _order, (_name, _place, _summary) in enumerate(COMMANDS):
    teach.command(f"slipwise.doors.cli.{_place}", name=_name, help=_summary, sort_key=_order)
