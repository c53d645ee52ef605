# Two commands are all that is needed: `make demo` and `make test`. Everything is set up in .venv by itself.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SOURCES := $(shell find geometry drawings templates demo -name '*.py' -o -name '*.yaml' -o -name '*.csv' -o -name '*.json' -o -name '*.ttf' | sort)

.PHONY: demo test test-deep benchmarks lint readers wheel clean lock

demo: $(VENV)/.installed
	$(BIN)/pegbook issue demo/*.yaml --to build/demo
	@echo
	@echo "The demo gardens are in build/demo/: one folder for each. Look at sheets/*.svg, drawings.pdf and pegging.pdf first."

test: $(VENV)/.installed readers lint
	$(BIN)/python -m pytest -n 2 -m "not deep"

test-deep: $(VENV)/.installed
	$(BIN)/python -m pytest -m deep

lint: $(VENV)/.installed
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

readers:
	@sh tests/readers.sh

benchmarks: $(VENV)/.installed
	@for script in tests/benchmarks/*.py; do echo "== $$script"; $(BIN)/python $$script || exit 1; done

wheel: $(VENV)/.installed
	rm -rf build/wheel && $(BIN)/pip wheel -q --no-deps --no-build-isolation -w build/wheel .

# The versions and hashes of everything; needs `uv`.
lock:
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate --no-emit-index-url --group dev pyproject.toml -o requirements.lock

$(VENV)/.dependencies: requirements.lock
	$(PYTHON) -c "import sys; sys.exit('pegbook needs Python 3.11 or newer; set PYTHON=...' if sys.version_info < (3, 11) else 0)"
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	touch $@

# A strict editable install is a tree of links, which checkers and editors can follow.
$(VENV)/.installed: $(VENV)/.dependencies pyproject.toml $(SOURCES)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -C editable_mode=strict -e .
	touch $@

clean:
	rm -rf build $(VENV) .mypy_cache .pytest_cache .ruff_cache .hypothesis .import_linter_cache
