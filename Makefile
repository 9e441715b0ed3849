# `make book` builds the demonstration book, `make test` runs everything. Both need Python 3.11 or later.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready

.PHONY: test lint types tests fuzz bench clean help

help:
	@echo "make test    lint, types and all tests, in an environment of its own"
	@echo "make fuzz    the long runs of the random tests"
	@echo "make bench   the speed figures"
	@echo "make clean   remove the environment and what was built"

$(READY): pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Keelbook needs Python 3.11 or later; name one with make PYTHON=python3.12"; exit 1; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet -e '.[dev]'
	@touch $(READY)

test: lint types tests

lint: $(READY)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(READY)
	$(BIN)/mypy

tests: $(READY)
	$(BIN)/python -m pytest -q -n 2 -m "not long"

fuzz: $(READY)
	KEELBOOK_LONG=1 $(BIN)/python -m pytest -q -n 2 -m long

bench: $(READY)
	$(BIN)/python bench/blocks.py

clean:
	rm -rf $(VENV) site dist bench/out
