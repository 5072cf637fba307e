# Greenwright: `make run` to see it, `make test` to check it.

PYTHON ?= python3
VENV   ?= .venv
BIN    := $(VENV)/bin
DEMO   ?= demo/course.db
PORT   ?= 8747
DAY    ?= 2026-06-12
JOBS   ?= 2

.PHONY: run demo test check bench calibrate reference-r system lock clean

# --- what a user runs -----------------------------------------------------------------------

run: $(DEMO)
	$(BIN)/greenwright ask week --record $(DEMO) --on $(DAY)
	@echo
	$(BIN)/greenwright serve --record $(DEMO) --on $(DAY) --port $(PORT)

demo: $(DEMO)

$(DEMO): $(VENV)/.run
	@mkdir -p $(@D)
	$(BIN)/greenwright demo --record $(DEMO) --on $(DAY)

# --- what a developer runs ------------------------------------------------------------------

test: $(VENV)/.dev system
	$(BIN)/python -m pytest -n $(JOBS) --dist loadgroup

check: $(VENV)/.dev
	$(BIN)/ruff check src tests bench
	$(BIN)/ruff format --check src tests bench

bench: $(VENV)/.dev
	$(BIN)/python -m bench

calibrate: $(VENV)/.dev
	$(BIN)/python -m pytest tests/calibration -m "" -q
	$(BIN)/python -m tests.calibration.own_worlds 500
	$(BIN)/python -m tests.calibration.long_records
	$(BIN)/python -m tests.calibration.settled_worlds 16
	$(BIN)/python -m tests.calibration.further_worlds 4
	$(BIN)/python -m tests.calibration.track_worlds 8
	$(BIN)/python -m tests.calibration.learning_cells 16

# Remakes the frozen answers of R; on Debian: r-base-core r-cran-lme4 r-cran-lmertest
# r-cran-pbkrtest r-cran-emmeans r-cran-multcomp r-cran-ordinal.
reference-r:
	cd tests/reference/r && Rscript trials.R

lock:
	$(BIN)/uv pip compile --quiet --universal --generate-hashes --python-version 3.11 \
	  --no-emit-index-url --no-header pyproject.toml -o requirements.lock
	$(BIN)/uv pip compile --quiet --universal --generate-hashes --python-version 3.11 \
	  --no-emit-index-url --no-header --extra dev pyproject.toml -o requirements-dev.lock

clean:
	rm -rf $(VENV) demo .pytest_cache .ruff_cache .hypothesis

# --- environment: made anew when a lock changes ----------------------------------------------

$(VENV)/bin/python:
	$(PYTHON) -c "import sys; sys.exit(sys.version_info < (3, 11) and 'Greenwright needs Python 3.11 or newer; this is ' + sys.version)"
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: requirements.lock pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@

$(VENV)/.dev: requirements-dev.lock pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@ $(VENV)/.run

# The browser tests need chromium, the power-cut test strace. On Debian as root they are installed;
# elsewhere this says plainly what is missing, and those tests skip (in CI they fail).
system:
	@sh bin/system-packages chromium strace
