"""The command line as a page: the help of every command, as it prints."""

from __future__ import annotations

import os
import subprocess
import sys

from slipwise.doors.cli.app import COMMANDS
from slipwise.doors.cli.teach import COMMANDS as TEACHING


def help_of(*words: str) -> str:
    """What `slipwise WORDS --help` prints, 100 columns wide."""
    environment = os.environ | {"COLUMNS": "100", "NO_COLOR": "1"}
    command = [sys.executable, "-m", "slipwise", *words, "--help"]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    return "\n".join(line.rstrip() for line in done.stdout.strip().splitlines())


def page() -> str:
    """docs/commands.md."""
    parts = [
        "# Commands",
        "",
        "Made by `make docs` from the command line itself. Results go to standard output, progress and errors to standard",
        "error. Errors are one paragraph each; `SLIPWISE_TRACE=1` adds the traceback of a fault of slipwise's own.",
        "",
        "```text",
        help_of(),
        "```",
    ]
    for name, _ in COMMANDS:
        parts += ["", f"## slipwise {name}", "", "```text", help_of(name), "```"]
        for inner, *_ in TEACHING if name == "teach" else ():
            parts += ["", f"### slipwise {name} {inner}", "", "```text", help_of(name, inner), "```"]
    return "\n".join(parts) + "\n"
