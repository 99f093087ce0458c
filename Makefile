# Everything starts from a fresh clone: Python >= 3.11, git and make are enough.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
EXAMPLE := examples/boathouse_bench/g3.toml
DEMO_DIR := out/boathouse_bench_g3
# Many small linear algebra calls: threads inside them cost more than they bring.
export OPENBLAS_NUM_THREADS ?= 1

.PHONY: demo test check lint fast-tests format bench clean

demo: $(VENV)/.run-ready
	$(BIN)/modewright dossier $(EXAMPLE) -o $(DEMO_DIR)

test: $(VENV)/.dev-ready
	$(BIN)/pytest -n 2

check: lint fast-tests

lint: $(VENV)/.dev-ready
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/basedpyright
	$(BIN)/lint-imports --no-logo
	$(BIN)/pytest -q --doctest-modules src/modewright -p no:randomly

fast-tests: $(VENV)/.dev-ready
	$(BIN)/pytest -q -n 2 -m "not slow"

format: $(VENV)/.dev-ready
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

bench: $(VENV)/.dev-ready
	$(BIN)/python benchmarks/bench_engine.py

$(VENV)/.run-ready: pyproject.toml requirements.lock $(wildcard engine/* src/modewright/firmware/c/*.h) scripts/make_venv.py
	$(PYTHON) scripts/make_venv.py $(VENV) run

$(VENV)/.dev-ready: pyproject.toml requirements.lock $(wildcard engine/* src/modewright/firmware/c/*.h) scripts/make_venv.py
	$(PYTHON) scripts/make_venv.py $(VENV) dev

clean:
	rm -rf $(VENV) out build dist .pytest_cache .ruff_cache .hypothesis
