PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed

.PHONY: demo test check bench docs

demo: $(STAMP)
	$(BIN)/wetfoot demo

test: check
	$(BIN)/python -m pytest -n 2

check: $(STAMP)
	$(BIN)/ruff check src tests benchmarks docs
	$(BIN)/ruff format --check src tests benchmarks docs
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(STAMP)
	$(BIN)/python benchmarks/season_kernel.py
	$(BIN)/python benchmarks/column.py
	$(BIN)/python benchmarks/network.py

docs: $(STAMP)
	$(BIN)/python docs/make_reference.py
	$(BIN)/python docs/make_conductivity.py

$(STAMP): pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[test]'
	touch $(STAMP)
