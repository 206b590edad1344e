"""Runs every module bench_*.py (into one page) or evidence_*.py (one page each); or one of bench_*.py, by its name.

A module offers `section() -> str`, its part of the page in Markdown, or `sections() -> list[str]`; its docstring's first
line is the title of an evidence page.
"""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path
from types import ModuleType

from benchmarks import page


def modules(kind: str) -> list[ModuleType]:
    """The modules of one kind, by name."""
    names = sorted(path.stem for path in Path(__file__).parent.glob(f"{kind}_*.py"))
    return [import_module(f"benchmarks.{name}") for name in names]


def sections(module: ModuleType) -> list[str]:
    """What a module has to say, said as it goes."""
    print(f"{module.__name__} ...", file=sys.stderr, flush=True)
    parts = module.sections() if hasattr(module, "sections") else [module.section()]
    print("\n".join(parts), flush=True)
    return list(parts)


def main(kind: str, only: str = "") -> int:
    """Runs one kind and writes its pages; of the benchmarks only one, whose sections then stand in the page with their date."""
    found = [module for module in modules(kind) if not only or module.__name__.endswith(f"_{only}")]
    if not found:
        print(f"there is no {kind}_{only or '*'}.py", file=sys.stderr)
        return 2
    if only and kind == "bench":
        command = f"python -m benchmarks {kind} {only}"
        written = [page.renew(kind, command, [p for m in found for p in sections(m)])]
    elif kind == "bench":
        written = [page.write("bench", "Speed and latency", "make bench", [p for m in found for p in sections(m)])]
    else:
        written = []
        for module in found:
            title = (module.__doc__ or module.__name__).strip().splitlines()[0].rstrip(".")
            name = module.__name__.rsplit(".", 1)[1].removeprefix("evidence_")
            written.append(page.write(name, title, "make evidence", sections(module)))
    for path in written:
        print(f"written: {path}", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main(*(sys.argv[1:3] or ("bench",))))
