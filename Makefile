# `make` alone lists the targets.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet install
# the lock names all that is needed: an older pip takes `coverage[toml]` beside `coverage==…` for something new
FROM_LOCK := --no-deps --require-hashes --only-binary :all: -r

.DEFAULT_GOAL := help
.PHONY: help demo desk test browser check bench report pages docs lock clean

help: ## list the targets
	@awk -F ': *[a-z./$$(){} -]*## ' '/^[a-z]+:.*## / { printf "  make %-8s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: $(VENV)/.runs ## arrange an example into demo/ and name the files
	@$(BIN)/apoyando arrange examples/first-light.abc --out demo

desk: $(VENV)/.runs ## open the desk in the browser, with a shelf in demo/shelf
	@$(BIN)/apoyando desk demo/shelf

test: check browser ## set up and run all checks: style, types, layers, tests with coverage
	@$(BIN)/python -m pytest --numprocesses auto --dist loadfile --cov --cov-report=term:skip-covered

check: $(VENV)/.develops ## the quick checks: style, types, layers of the house
	@$(BIN)/ruff check
	@$(BIN)/ruff format --check
	@$(BIN)/mypy
	@$(BIN)/pyright
	@$(BIN)/lint-imports --no-logo

browser: # a browser for the stories of the desk: found, or installed where that may be done
	@command -v chromium >/dev/null || { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null && \
	  apt-get install -y --no-install-recommends chromium >/dev/null; } || \
	  echo 'no Chromium here: the stories of the desk are skipped (apt-get install chromium)'

bench: $(VENV)/.develops ## measure times and sizes, prove the search against a solver, and print it
	@$(BIN)/python bench/bench.py
	@$(BIN)/python bench/search_bench.py --quick
	@$(BIN)/python bench/sound_bench.py
	@$(BIN)/python bench/desk_bench.py

report: $(VENV)/.develops ## arrange hundreds of songs and print what became of them
	@$(BIN)/python bench/report_bench.py

pages: $(VENV)/.develops ## engrave some fifty songs, print what touches on their pages and what their files lose
	@$(BIN)/python bench/collisions_bench.py
	@$(BIN)/python bench/round_trip_bench.py

docs: $(VENV)/.develops ## write the commands' help into docs/cli.md
	@$(BIN)/python docs/write_cli.py

lock: $(VENV)/.develops ## choose the newest allowed versions anew
	@$(PIP) 'uv>=0.9,<1'
	@$(call compile,build,requirements.lock)
	@$(call compile,dev,requirements-dev.lock)

clean: ## remove the environment and what was made
	rm -rf $(VENV) demo dist build .coverage .*_cache

compile = $(BIN)/uv pip compile --quiet --upgrade --universal --python-version 3.11 --only-binary :all: \
	--generate-hashes --custom-compile-command 'make lock' --group $(1) pyproject.toml -o $(2)

$(VENV)/.made:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo 'Python 3.11 or newer is needed; name one: make demo PYTHON=python3.12'; exit 2; }
	@$(PYTHON) -m venv $(VENV)
	@touch $@

$(VENV)/.runs: $(VENV)/.made requirements.lock pyproject.toml
	@echo 'setting up $(VENV), about a minute the first time'
	@$(PIP) $(FROM_LOCK) requirements.lock
	@$(PIP) --no-deps --no-build-isolation --editable .
	@touch $@

$(VENV)/.develops: $(VENV)/.runs requirements-dev.lock
	@$(PIP) $(FROM_LOCK) requirements-dev.lock
	@touch $@
