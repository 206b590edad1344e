# One file runs what continuous integration runs. With Python 3.11 or later and this checkout alone, every target
# sets up what it needs in .venv; a second run starts at once.
#   make demo   studies of the examples, printed and written to out/demo
#   make test   the test suite
#   make check  what .ci/run does: tests, lint, format, types, import contracts

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := help

PYTHON ?= $(shell for p in python3 python3.14 python3.13 python3.12 python3.11 python; do \
	if command -v $$p >/dev/null && $$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then echo $$p; break; fi; done)
VENV ?= .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet
LOCK := requirements.lock
WORKERS ?= 2
TESTS ?= tests
OUT ?= out
STUDIES ?=

.PHONY: help demo test bench evidence docs pictures lint format types imports check lock warm system clean

help:  ## these lines
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/^([a-z]+):[^#]*## */  make \1\t/' | expand -t 18

$(VENV)/.run: $(LOCK) pyproject.toml
	@test -n "$(PYTHON)" || { echo "slipwise needs Python 3.11 or later; set PYTHON=/path/to/python3" >&2; exit 2; }
	@test -x $(BIN)/python || bash tools/venv.sh "$(PYTHON)" "$(VENV)"
	@echo "installing slipwise into $(VENV)" >&2
	@$(PIP) install --constraint $(LOCK) hatchling editables
	@$(PIP) install --constraint $(LOCK) --no-build-isolation --editable '.[desk,teach]'
	@touch $@

$(VENV)/.dev: $(VENV)/.run
	@echo "installing the tools of the tests into $(VENV)" >&2
	@$(PIP) install --constraint $(LOCK) --no-build-isolation --editable '.[dev]'
	@touch $@

demo: $(VENV)/.run  ## studies of four examples (STUDIES=all: of every one): tables here, curves, report, data in out/demo
	@$(BIN)/python tools/demo.py $(OUT)/demo $(STUDIES)

system:
	@bash tools/system.sh

warm: $(VENV)/.dev  # the compiled kernels are built once, before two test processes want them at the same time
	@$(BIN)/python tools/warm.py

test: $(VENV)/.dev system warm  ## the test suite, on two processes (TESTS=tests/published, WORKERS=0 for one process)
	@$(BIN)/python -m pytest -n $(WORKERS) $(TESTS)

bench: $(VENV)/.dev warm  ## speed and latency, ratios in one run, written to docs/evidence/bench.md
	@$(BIN)/python -m benchmarks bench

evidence: $(VENV)/.dev warm  ## the long statistical tables, written to docs/evidence
	@$(BIN)/python -m benchmarks evidence

docs: $(VENV)/.dev  ## pages made from the schemas, the command line and the licences
	@$(BIN)/python -m tools.docs

pictures: $(VENV)/.run  ## the pictures of the README, from a real study
	@$(BIN)/python tools/pictures.py docs/pictures

lint: $(VENV)/.dev  ## ruff: rules and format
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .

format: $(VENV)/.dev  ## ruff: mend what can be mended
	@$(BIN)/ruff check --fix --quiet . || true
	@$(BIN)/ruff format .

types: $(VENV)/.dev  ## mypy, strict
	@$(BIN)/mypy

imports: $(VENV)/.dev  ## import-linter: folders import from lower folders only
	@$(BIN)/lint-imports --no-cache

check: $(VENV)/.dev  ## what .ci/run does
	@bash .ci/run

lock: $(VENV)/.run  ## pin the newest versions that pyproject.toml allows into requirements.lock
	@bash tools/lock.sh "$(PYTHON)" $(LOCK)

clean:  ## remove what was built, but not .venv
	@rm -rf build dist $(OUT) .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
	@find src tests benchmarks tools -name __pycache__ -type d -prune -exec rm -rf {} +
