"""Shared by all tests: what is said at the end of a run, and what continuous integration does not forgive."""

from __future__ import annotations

import os
from typing import Any

import pytest

from tests.reference import UNCONFIRMED

SKIPPED: list[str] = []


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker process hands its list to the process that prints; in continuous integration a skipped test is a failure."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["unconfirmed"] = list(UNCONFIRMED)
    elif SKIPPED and os.environ.get("CI") == "true":
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Gathers what a worker process found (pytest-xdist)."""
    UNCONFIRMED.extend(getattr(node, "workeroutput", {}).get("unconfirmed", ()))


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Remembers every test that was skipped."""
    if report.skipped and not hasattr(report, "wasxfail"):
        SKIPPED.append(report.nodeid)


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Says which values from memory did not agree, and what was skipped."""
    if UNCONFIRMED:
        terminalreporter.section("values from memory, unconfirmed, that do not agree")
        for line in sorted(set(UNCONFIRMED)):
            terminalreporter.write_line(line)
    if SKIPPED:
        forgiven = "" if os.environ.get("CI") != "true" else " (a failure in continuous integration)"
        terminalreporter.section(f"skipped, something is not installed{forgiven}")
        for name in sorted(set(SKIPPED)):
            terminalreporter.write_line(name)
