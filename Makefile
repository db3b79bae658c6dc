# The two commands of the README, and what CI runs.
#   make demo   write the demonstration study, analyse it, write its report
#   make test   run all tests
#   make lint types contracts   the other checks of CI
#   make docs   write the generated pages of docs/ again

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SHELL := /bin/bash

.PHONY: demo test lint types contracts docs browser check clean

$(VENV)/ready: requirements.txt pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $@

demo: $(VENV)/ready
	$(BIN)/halfcell demo demo

browser:
	bash tools/ensure_chromium.sh

# What fails is run once more, alone: on a busy machine a browser may come late. A fault fails both times.
# Only ordinary failures (code 1) are: a run that was broken off or could not begin stays as it ended.
test: $(VENV)/ready browser
	rm -rf .pytest_cache
	$(BIN)/python -m pytest -n auto --dist worksteal --cov --cov-report=term:skip-covered \
	  || { code=$$?; [ $$code -eq 1 ] || exit $$code; $(BIN)/python -m pytest --last-failed --last-failed-no-failures none; }

lint: $(VENV)/ready
	$(BIN)/ruff check src tests benchmarks tools examples
	$(BIN)/ruff format --check src tests benchmarks tools examples

types: $(VENV)/ready
	$(BIN)/mypy
	bash tools/check_scripts.sh

contracts: $(VENV)/ready
	$(BIN)/lint-imports

docs: $(VENV)/ready
	$(BIN)/python tools/docs.py

check: lint types contracts

clean:
	rm -rf build demo .pytest_cache .mypy_cache .ruff_cache .coverage*
