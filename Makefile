# Few verbs, one truth: the README names these and CI runs them.
PYTHON ?= python3
BIN := .venv/bin
STAMP := .venv/.ready

.PHONY: setup demo test check bench docs faults soak ledger clean

setup: $(STAMP)

$(STAMP): pyproject.toml setup.py constraints.txt src/inshell/network/_kernel.c src/inshell/network/_step.h
	@command -v cc >/dev/null || { echo "no C compiler; installing one (this needs root)" && \
	  apt-get update -qq && apt-get install -y -qq gcc libc6-dev python3-dev; } || \
	  echo "No compiler: simulations will use the slower reference."
	@$(PYTHON) -m venv .venv 2>/dev/null || { echo "venv is missing; installing python3-venv (this needs root)" && \
	  apt-get update -qq && apt-get install -y -qq python3-venv && $(PYTHON) -m venv .venv; } || \
	  { echo "No environment: install Python 3.11 or newer with its venv module, then run make again."; exit 1; }
	$(BIN)/pip install -q --disable-pip-version-check -c constraints.txt -e '.[dev]'
	@$(BIN)/python -m compileall -q src
	@touch $(STAMP)

demo: setup
	@mkdir -p build
	@rm -f build/demo-report.html
	@$(BIN)/inshell check examples/demo-cottage/demo-cottage.toml || test $$? -eq 1
	@$(BIN)/inshell report examples/demo-cottage/demo-cottage.toml -o build/demo-report.html || test $$? -eq 1
	@echo "Open it in a browser: $(CURDIR)/build/demo-report.html"

test: setup check
	@command -v ngspice >/dev/null || { apt-get update -qq && apt-get install -y -qq ngspice; } || echo "No circuit simulator: its check is skipped."
	$(BIN)/python -m pytest -n auto --dist worksteal

check: setup
	$(BIN)/ruff check src tests bench docs proofs
	$(BIN)/ruff format --check -q src tests bench docs proofs
	$(BIN)/mypy

bench: setup
	$(BIN)/python bench/bench.py
	$(BIN)/python bench/coupled.py

# Longer than a test may take: faults on purpose (about an hour), random houses and broken files (about an hour).
faults: setup
	$(BIN)/python -W ignore -m proofs.faults

soak: setup
	$(BIN)/python -m pytest -n auto -m long
	$(BIN)/python -W ignore -m proofs.soak
	$(BIN)/python -W ignore -m proofs.cover

ledger: setup
	$(BIN)/python -W ignore -m proofs.ledger

docs: setup
	$(BIN)/python docs/generate.py

clean:
	rm -rf build .pytest_cache .mypy_cache .ruff_cache
