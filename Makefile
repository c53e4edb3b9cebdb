PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed

.PHONY: demo test check bench docs fuzz

demo: $(STAMP)
	$(BIN)/wetfoot demo

# one thread a process for the linear algebra: two processes already use both cores
test: check
	OMP_NUM_THREADS=1 $(BIN)/python -m pytest -n 2

fuzz: $(STAMP)
	WETFOOT_FUZZ_CASES=300 $(BIN)/python -m pytest -n 2 tests/faults/test_*inputs.py tests/faults/test_schema.py
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[test,fuzz]'
	for kind in plan weather records trial words; do $(BIN)/python tests/faults/coverage_guided.py $$kind --seconds 120 || exit 1; done

check: $(STAMP)
	$(BIN)/ruff check src tests benchmarks docs
	$(BIN)/ruff format --check src tests benchmarks docs
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m pip check
	$(BIN)/python docs/check_packages.py

bench: $(STAMP)
	$(BIN)/python benchmarks/season_kernel.py
	$(BIN)/python benchmarks/column.py
	$(BIN)/python benchmarks/network.py
	$(BIN)/python benchmarks/ensemble.py
	$(BIN)/python benchmarks/mixed.py
	$(BIN)/python benchmarks/sites.py
	$(BIN)/python benchmarks/load.py
	$(BIN)/python benchmarks/pages.py

docs: $(STAMP)
	$(BIN)/python docs/make_reference.py
	$(BIN)/python docs/make_conductivity.py

$(STAMP): pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable '.[test]'
	touch $(STAMP)
