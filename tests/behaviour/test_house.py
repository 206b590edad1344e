"""The house itself: make targets, the lock file, licences, what may be imported."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

import slipwise
from tools import licences

ROOT = Path(__file__).parent.parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TARGETS = ("demo", "test", "bench", "evidence", "docs", "lint", "types", "imports", "check", "lock")


EXTRAS = tuple(name for name in PROJECT["optional-dependencies"] if name != "dev")  # what a user may add


def imported(folder: str) -> set[str]:
    """Top-level names of everything the modules of a folder import, wherever in the module."""
    found: set[str] = set()
    for path in (ROOT / folder).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
                found.add(node.module.split(".")[0])
    return found - set(sys.stdlib_module_names) - {"slipwise", "tests", "tools", "benchmarks"}


def distributions(modules: set[str]) -> dict[str, set[str]]:
    """Canonical names of the distributions that could provide each module."""
    known = packages_distributions()
    return {name: {licences.canonical(dist) for dist in known.get(name, ())} for name in modules}


def declared(*extras: str) -> set[str]:
    """Canonical names of what pyproject.toml asks for itself."""
    lines = list(PROJECT["dependencies"])
    for extra in extras:
        lines += PROJECT["optional-dependencies"][extra]
    return {licences.canonical(re.split(r"[\s<>=!~;\[]", line, maxsplit=1)[0]) for line in lines}


@pytest.mark.parametrize("target", TARGETS)
def test_make_knows_every_target(target):
    """Each promised target exists; make can plan it without doing it."""
    plan = subprocess.run(["make", "--dry-run", target], cwd=ROOT, capture_output=True, text=True, check=False)
    assert plan.returncode == 0, plan.stderr


@pytest.mark.parametrize("script", ["tools/venv.sh", "tools/system.sh", "tools/lock.sh", ".ci/run"])
def test_shell_scripts_parse(script):
    """Bash can read every script."""
    assert subprocess.run(["bash", "-n", ROOT / script], check=False).returncode == 0


def test_lock_pins_versions_and_names_no_place():
    """Every line of the lock file is a comment or name==version."""
    lines = [
        line for line in licences.LOCK.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")
    ]
    assert len(lines) > 20
    assert all(re.fullmatch(r"[A-Za-z0-9._-]+==[A-Za-z0-9.+!]+", line) for line in lines)


def test_lock_covers_what_the_package_imports():
    """Everything src imports is declared as a dependency and pinned; nothing rides along by luck."""
    for module, names in distributions(imported("src")).items():
        assert names & declared(*EXTRAS) & set(licences.locked()), (
            f"src imports {module}, which pyproject.toml does not declare"
        )


@pytest.mark.parametrize("folder", ["tests", "benchmarks", "tools"])
def test_lock_covers_what_the_tests_import(folder):
    """Everything around the package is declared too."""
    for module, names in distributions(imported(folder)).items():
        assert names & declared("dev", *EXTRAS) & set(licences.locked()), (
            f"{folder} imports {module}, which nothing declares"
        )


def test_licences_are_permissive():
    """Every pinned package that is installed states a licence on the list."""
    found = licences.licences()
    assert len(found) > 20
    assert [row for row in found if not row.accepted] == []


def test_copyleft_licence_is_refused():
    """The check can fail: a strong copyleft licence, alone or joined, is not accepted."""
    assert not licences.Licence(package="x", expression="GPL-3.0-or-later", shipped=False).accepted
    assert not licences.Licence(package="x", expression="MIT AND AGPL-3.0", shipped=True).accepted
    assert licences.Licence(package="x", expression="GPL-2.0 OR MIT", shipped=True).accepted


def test_version_is_said_once():
    """The package and its metadata carry the same version."""
    assert slipwise.__version__ == PROJECT["version"]
    assert f"## {slipwise.__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_wheel_holds_the_data_files(tmp_path):
    """What is installed from a wheel is complete: tables, templates, the typing mark; no tests."""
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    held = set(zipfile.ZipFile(next(tmp_path.glob("*.whl"))).namelist())
    src = ROOT / "src"
    tracked = {
        str(path.relative_to(src)) for path in src.rglob("*") if path.is_file() and "__pycache__" not in path.parts
    }
    assert {"slipwise/py.typed", "slipwise/present/report/report.typ", "slipwise/data/cautions.toml"} <= held
    assert {name for name in tracked if not name.endswith(".pyc")} <= held
    assert not any(name.startswith(("tests", "tools", "benchmarks")) for name in held)
