"""Licences of everything the lock file installs, read from the packages themselves, against a list of those accepted."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution, requires
from pathlib import Path

LOCK = Path(__file__).parent.parent / "requirements.lock"

# Licences under which a dependency may be used and passed on without touching slipwise's own licence.
PERMISSIVE = (
    "0BSD", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "HPND", "ISC",
    "MIT", "MIT-0", "MIT-CMU", "PSF-2.0", "Python-2.0", "Unlicense", "Zlib",
)  # fmt: skip
READ = {"axe-playwright-python": "MIT AND MPL-2.0"}  # from the licence file and the script within; its data names none
FILE_COPYLEFT = ("MPL-2.0",)  # used unchanged as test tools only
COMMON_NAMES = {
    "apache software license": "Apache-2.0",
    "apache 2.0": "Apache-2.0",
    "apache-2.0 license": "Apache-2.0",
    "bsd license": "BSD-3-Clause",
    "bsd": "BSD-3-Clause",
    "bsd 3-clause": "BSD-3-Clause",
    "isc license (iscl)": "ISC",
    "mit license": "MIT",
    "mozilla public license 2.0 (mpl 2.0)": "MPL-2.0",
    "python software foundation license": "PSF-2.0",
    "the unlicense (unlicense)": "Unlicense",
    "dual license": "BSD-3-Clause OR Apache-2.0",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Licence:
    """One package of the lock file. expression: its licence in SPDX terms. shipped: needed to run slipwise."""

    package: str
    expression: str
    shipped: bool

    @property
    def accepted(self) -> bool:
        """Whether every part of the licence is on the list (one part of an OR is enough)."""
        known = PERMISSIVE if self.shipped else (*PERMISSIVE, *FILE_COPYLEFT)
        choices = re.split(r"\s+OR\s+", self.expression.replace("(", "").replace(")", ""))
        return any(all(part in known for part in re.split(r"\s+AND\s+", choice)) for choice in choices)


def canonical(name: str) -> str:
    """A package's name as indexes compare it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def locked() -> dict[str, str]:
    """Version by canonical name of everything in the lock file."""
    pairs = [line.split("==") for line in LOCK.read_text().splitlines() if "==" in line]
    return {canonical(name): version for name, version in pairs}


def needed(name: str = "slipwise", seen: set[str] | None = None) -> set[str]:
    """Canonical names of all that comes with `name` when it is installed without extras."""
    seen = set() if seen is None else seen
    try:
        lines = requires(name) or []
    except PackageNotFoundError:  # wanted on another system or Python version only
        return seen
    for line in lines:
        child = canonical(re.split(r"[\s<>=!~;\[(]", line, maxsplit=1)[0])
        if "extra ==" not in line and child not in seen:
            seen.add(child)
            needed(child, seen)
    return seen


def expression(package: Distribution) -> str:
    """The licence a package states: its SPDX expression, its classifiers, or the short text of its License field."""
    meta = package.metadata
    stated = meta.get("License-Expression") or READ.get(canonical(str(meta["Name"])))
    if stated:
        return str(stated)
    words = [
        line.rsplit("::", 1)[1].strip() for line in meta.get_all("Classifier") or [] if line.startswith("License ::")
    ]
    words = [word for word in words if word != "OSI Approved"] or [str(meta.get("License") or "").split("\n")[0]]
    return " AND ".join(COMMON_NAMES.get(word.lower(), word) for word in words if word)


def licences() -> list[Licence]:
    """Every package of the lock file that is installed, by name."""
    shipped = needed()
    found = []
    for name in sorted(locked()):
        try:
            found.append(Licence(package=name, expression=expression(distribution(name)), shipped=name in shipped))
        except PackageNotFoundError:
            continue
    return found


def page() -> str:
    """The licences as a page of the documentation."""
    lines = [
        "# Licences of what slipwise installs",
        "",
        "Read from the packages themselves by `make docs`; a test refuses a licence that is not permissive. slipwise is",
        "under the MIT licence (see `LICENSE`).",
    ]
    for title, shipped in (("Needed to run", True), ("For tests and house-keeping only", False)):
        lines += ["", f"## {title}", "", "| package | licence |", "|---|---|"]
        lines += [f"| {row.package} | {row.expression} |" for row in licences() if row.shipped is shipped]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    refused = [row for row in licences() if not row.accepted]
    for row in refused:
        print(f"{row.package}: {row.expression or 'no licence stated'}: not on the list of accepted licences")
    sys.exit(1 if refused else 0)
