# `make book` builds the demonstration book, `make test` runs everything. Both need Python 3.11 or later.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
INSTALLED := $(VENV)/.installed
READY := $(VENV)/.ready

.PHONY: book test lint types tests tools verified picture fuzz bench clean help

help:
	@echo "make book    the demonstration book, as the shop reads it: site/shop/index.html"
	@echo "make test    lint, types and all tests, in an environment of its own"
	@echo "make fuzz    the long runs of the random tests"
	@echo "make bench   the speed figures, some minutes"
	@echo "make verified the record of the handbook checks, worked out anew"
	@echo "make picture the README's picture, taken anew"
	@echo "make clean   remove the environment, the tests' tools and what was built"

$(INSTALLED): pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Keelbook needs Python 3.11 or later; name one with make PYTHON=python3.12"; exit 1; }
	@$(PYTHON) -c 'import venv, ensurepip' 2>/dev/null || \
	  { echo "This Python cannot make an environment; on Debian: apt install python3-venv"; exit 1; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(READY): $(INSTALLED)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	@touch $@

book: $(INSTALLED)
	$(BIN)/keelbook build
	@echo "The shop's edition: site/shop/index.html"

test: lint types tests

lint: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

tools: $(READY)
	@$(BIN)/python -m tests.tools.prepare

# What was left out is said once more at the end, where it is read.
tests: tools
	@$(BIN)/python -m pytest -q -rs -n 2 --dist worksteal -m "not long"; code=$$?; \
	$(BIN)/python -m tests.tools.prepare --only-say; exit $$code

verified: $(READY)
	$(BIN)/python -m tests.handbook.verify

picture: tools book
	$(BIN)/python -m tests.tools.picture

fuzz: $(READY)
	KEELBOOK_LONG=1 $(BIN)/python -m pytest -q -n 2 -m long
	KEELBOOK_LONG=1 $(BIN)/python -m pytest -q -n 2 tests/browser

bench: $(READY)
	$(BIN)/python bench/blocks.py
	$(BIN)/python -m bench.calculators
	$(BIN)/python bench/tolerance.py
	$(BIN)/python bench/build.py --growth
	$(BIN)/python -m bench.search

clean:
	rm -rf $(VENV) tests/tools/node_modules site dist bench/out
