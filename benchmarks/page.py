"""Pages of evidence: Markdown with the date, the machine class and the versions that made the numbers."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

EVIDENCE = Path(__file__).parent.parent / "docs" / "evidence"
PACKAGES = ("slipwise", "numpy", "scipy", "numba")


def machine_class() -> str:
    """Processor, cores, memory and system; never a host name."""
    model = platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        names = [
            line.split(":", 1)[1].strip() for line in cpuinfo.read_text().splitlines() if line.startswith("model name")
        ]
        model = f"{model}, {names[0]}" if names else model
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    memory = ""
    if hasattr(os, "sysconf") and "SC_PHYS_PAGES" in os.sysconf_names:
        gigabytes = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 2**30
        memory = f", {gigabytes:.0f} GiB memory"
    return f"{cores} cores of {model}{memory}, {platform.system()}"


def table(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A Markdown table; cells are shown with str()."""
    lines = ["| " + " | ".join(columns) + " |", "|" + "---|" * len(columns)]
    lines += ["| " + " | ".join(str(cell) for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def section(title: str, columns: Sequence[str], rows: Iterable[Sequence[object]], note: str = "") -> str:
    """A headed table with a note under it."""
    return f"## {title}\n\n{table(columns, rows)}" + (f"\n{note}\n" if note else "")


def made(command: str) -> str:
    """When, by which command, on which class of machine and with which versions: without a full stop."""
    versions = ", ".join(f"{package} {version(package)}" for package in PACKAGES)
    on = f"on this class of machine: {machine_class()}; Python {platform.python_version()}, {versions}"
    return f"Made by `{command}` on {datetime.now(UTC):%Y-%m-%d}, in one run, {on}"


def write(name: str, title: str, command: str, sections: Iterable[str]) -> Path:
    """Writes docs/evidence/NAME.md whole, and returns its path."""
    return _put(name, "\n".join((f"# {title}\n\n{made(command)}.\n", *sections)))


def renew(name: str, command: str, sections: Iterable[str]) -> Path:
    """Puts sections measured on their own into docs/evidence/NAME.md in place of those with the same heads, or at the end."""
    head, *parts = (EVIDENCE / f"{name}.md").read_text(encoding="utf-8").split("\n## ")
    heads = [part.split("\n", 1)[0] for part in parts]
    for fresh in sections:
        text = f"{fresh.removeprefix('## ').rstrip()}\n\n{made(command)}.\n"
        title = text.split("\n", 1)[0]
        at = heads.index(title) if title in heads else len(parts)
        parts[at : at + 1] = [text]
    return _put(name, "\n## ".join((head, *parts)))


def _put(name: str, text: str) -> Path:
    EVIDENCE.mkdir(parents=True, exist_ok=True)
    target = EVIDENCE / f"{name}.md"
    unfinished = target.with_suffix(".part")
    unfinished.write_text(text, encoding="utf-8")
    unfinished.replace(target)
    return target
