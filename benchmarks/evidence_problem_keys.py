"""Problem keys: every problem, 500 variants, solved twice.

Each variant is drawn by its own seed and solved by the key and by a second road (`tests/independent/problem_routes*.py`):
meshes of the whole circuit as linear equations, waveforms and run-ups integrated, extremes and roots searched. Exact answers
must agree to 1e-6. Where a problem asks for a short formula, its full computation must agree to 1e-6, and the gap of the
short formula stays within what the problem states.
"""

from __future__ import annotations

from collections.abc import Sequence

from benchmarks import page
from slipwise.teach.problems.bank import bank
from slipwise.teach.problems.draw import attempt
from tests.independent.problem_checks import EXACT, absurd, compared

VARIANTS = 500


def sections(variants: int = VARIANTS) -> Sequence[str]:
    """A row a problem, and a table of the short formulas."""
    rows, gaps = [], []
    for name, problem in bank().items():
        found = [compared(problem, f"evidence/{number}") for number in range(variants)]
        odd = sum(bool(absurd(problem, f"evidence/{number}")) for number in range(variants))
        first = sum(attempt(problem, f"evidence/{number}", 0) is not None for number in range(variants))
        worst = max(one.worst for one in found)
        rows.append(
            (name, problem.topic, problem.difficulty, len(problem.parts), f"{worst:.1e}", "yes" if worst <= EXACT else "no",
             odd, f"{first / variants:.0%}")
        )  # fmt: skip
        for part in problem.parts:
            if part.gap is None:
                continue
            seen = [one.gaps[part.find][0] for one in found]
            largest = max(abs(gap) for gap in seen)
            held = "yes" if largest <= part.gap.within else "no"
            gaps.append((name, part.find, f"{min(seen):+.2%}", f"{max(seen):+.2%}", f"{part.gap.within:.0%}", held))
    agree = sum(row[5] == "yes" for row in rows)
    note = (
        f"{len(rows)} problems x {variants} variants; {agree} agree to {EXACT:g} on every variant. Odd: variants with a value "
        "that is degenerate or beyond what a machine of the trade has. First draw: share of variants whose first draw met all "
        "requirements; the others were drawn anew."
    )
    columns = ("problem", "topic", "difficulty", "parts", "largest difference", "to 1e-6", "odd", "first draw")
    return [
        page.section("Keys against second roads", columns, rows, note),
        page.section(
            "Short formulas against the full computation",
            ("problem", "answer", "lowest gap", "highest gap", "stated", "kept"),
            gaps,
            "Gap: short formula over full computation, less one.",
        ),
    ]
