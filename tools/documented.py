"""Runs the examples of a Markdown page in an empty folder and puts in what they really print.

<!-- file: pump.toml -->      the next fenced block is written to that file
```console                    lines after "$ " are run, the rest of the block is their output
```pycon                      lines after ">>> " and "... " are run in one session per page
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import subprocess
import sys
import tempfile
from code import InteractiveInterpreter
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
BLOCK = re.compile(
    r"(?:<!-- file: (?P<file>\S+)(?: from (?P<source>\S+))? -->\n)?```(?P<kind>\w+)\n(?P<body>.*?)```", re.DOTALL
)
CUT = re.compile(r" \| (head|tail) -(\d+)$")
WIDTH = "80"  # of a pipe, where nothing says otherwise


def rendered(text: str) -> str:
    """The page with every documented output as it is printed today.

    Raises:
        RuntimeError: an example ended in a traceback, which belongs on no page.
    """
    session = InteractiveInterpreter({"__name__": "documented"})
    with tempfile.TemporaryDirectory() as place, _inside(Path(place)):
        page = BLOCK.sub(lambda found: _block(found, session), text)
    for sign in ("Traceback (most recent call last)", "This is a fault of slipwise"):
        if sign in page:
            raise RuntimeError(f"an example of the page failed:\n{page[page.index(sign) :][:1500]}")
    return page


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before, columns = Path.cwd(), os.environ.get("COLUMNS")
    os.chdir(folder)
    os.environ["COLUMNS"] = WIDTH
    try:
        yield
    finally:
        os.chdir(before)
        if columns is None:
            del os.environ["COLUMNS"]
        else:
            os.environ["COLUMNS"] = columns


def _block(found: re.Match[str], session: InteractiveInterpreter) -> str:
    whole, body = found.group(0), found["body"]
    if found["source"]:
        whole = whole.replace(body, (ROOT / found["source"]).read_text(encoding="utf-8"))
        body = (ROOT / found["source"]).read_text(encoding="utf-8")
    if found["file"]:
        Path(found["file"]).write_text(body, encoding="utf-8")
    if found["kind"] == "console":
        return whole.replace(body, _console(body))
    if found["kind"] == "pycon":
        return whole.replace(body, _python(body, session))
    return whole


def _console(body: str) -> str:
    """Commands and what they print; `| head -N` and `| tail -N` are understood, nothing else of a shell."""
    shown = []
    for line in body.splitlines():
        if line.startswith("$ "):
            shown += [line, *_run(line[2:])]
    return "\n".join(shown) + "\n"


def _run(command: str) -> list[str]:
    cut = CUT.search(command)
    name, *rest = shlex.split(CUT.sub("", command))
    if name != "slipwise":
        raise ValueError(f"only slipwise is run in documented examples, not {name}")
    done = subprocess.run([sys.executable, "-m", "slipwise", *rest], capture_output=True, text=True, check=False)
    lines = [line.rstrip() for line in (done.stdout or done.stderr).rstrip().splitlines()]
    if cut is None:
        return lines
    return lines[: int(cut[2])] if cut[1] == "head" else lines[-int(cut[2]) :]


def _python(body: str, session: InteractiveInterpreter) -> str:
    shown: list[str] = []
    source: list[str] = []
    lines = [line for line in body.splitlines() if line.startswith((">>> ", "... ", "..."))]
    for number, line in enumerate(lines):
        source.append(line[4:])
        shown.append(line)
        following = lines[number + 1] if number + 1 < len(lines) else ""
        if following.startswith("..."):
            continue
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            session.runsource("\n".join(source) + "\n", symbol="single")
        shown += [printed.rstrip() for printed in out.getvalue().rstrip().splitlines()]
        source = []
    return "\n".join(shown) + "\n"
