"""Shared by all tests: what is said at the end of a run."""

from __future__ import annotations

from typing import Any

from tests.reference import UNCONFIRMED


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Says which values from memory did not agree."""
    if UNCONFIRMED:
        terminalreporter.section("values from memory, unconfirmed, that do not agree")
        for line in UNCONFIRMED:
            terminalreporter.write_line(line)
