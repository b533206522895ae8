# The same commands for people and for CI. `make demo` and `make test` do all set-up.
PYTHON ?= python3
PORT ?= 8000
VENV := .venv
BIN := $(VENV)/bin
MANAGE := $(BIN)/python manage.py
PYTEST_ARGS ?=
PICTURES_ARGS ?=
RUSH_ARGS ?=

FUZZ_EXAMPLES ?= 1000000
FUZZ_WALKS ?= 300

HOSTILE := tests/core/test_hostile_text.py tests/test_hostile_requests.py tests/api/test_walks.py tests/api/test_schema.py

.PHONY: help demo demo-data demo-reset test fuzz lint bench rush calibrate pictures schema release format
help:
	@echo "make demo        start the site with an invented gym on http://127.0.0.1:$(PORT)/"
	@echo "make demo-reset  throw the demo's data away and start afresh"
	@echo "make test        run all tests (DATABASE_URL and REDIS_URL choose where)"
	@echo "make fuzz        a night of hostile input (FUZZ_EXAMPLES texts, FUZZ_WALKS walks over the API)"
	@echo "make lint        style, types, layers, templates, migrations"
	@echo "make bench       measure, and compare with the aims"
	@echo "make rush        a class of 5,000 ends at once: figures, and whether all is right"
	@echo "make calibrate   whether estimates' intervals hold what they promise"
	@echo "make pictures    draw the pictures of estimates anew (docs/estimates)"
	@echo "make schema      write docs/openapi.yaml anew"
	@echo "make release     NAME=0.2.0: keep its data and migrations for the tests of upgrading"

$(BIN)/python:
	@$(PYTHON) -c 'import sys; assert sys.version_info >= (3, 11), "Python 3.11 or newer is needed"'
	@$(PYTHON) -m venv $(VENV) || { rm -rf $(VENV); \
		echo "python3 can't make a virtual environment; on Debian: apt install python3-venv" >&2; exit 1; }

$(VENV)/.installed: requirements.txt | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.txt
	@touch $@

$(VENV)/.installed-dev: requirements-dev.txt $(VENV)/.installed | $(BIN)/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements-dev.txt
	@touch $@

# Loads the invented gym only where there is no data yet.
demo-data: $(VENV)/.installed
	@$(MANAGE) migrate --verbosity 0
	@$(MANAGE) createcachetable
	@$(MANAGE) demo
	@echo "Open http://127.0.0.1:$(PORT)/ (Ctrl-C stops it)"

demo: demo-data
	@PASSKEYS_WITHOUT_TLS=1 LOG_LEVEL=WARNING PYTHONUNBUFFERED=1 WEB_BIND=127.0.0.1:$(PORT) WEB_WORKERS=1 \
		$(BIN)/gunicorn -c python:gymsite.gunicorn gymsite.wsgi --log-level warning

demo-reset: $(VENV)/.installed
	rm -f var/site.sqlite3 var/site.sqlite3-wal var/site.sqlite3-shm
	@$(MAKE) --no-print-directory demo

test: $(VENV)/.installed-dev
	$(BIN)/python -m pytest $(PYTEST_ARGS)

# The claims about bad input that make test tries with a few thousand inputs, with many more.
fuzz: $(VENV)/.installed-dev
	FUZZ_EXAMPLES=$(FUZZ_EXAMPLES) FUZZ_WALKS=$(FUZZ_WALKS) HYPOTHESIS_PROFILE=nightly \
		$(BIN)/python -m pytest -q --durations=0 --durations-min=1 $(HOSTILE) $(PYTEST_ARGS)

lint: $(VENV)/.installed-dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports
	$(BIN)/djlint --lint --quiet gymsite members scoring
	$(BIN)/mypy gymsite members scoring
	$(MANAGE) makemigrations --check --dry-run
	$(MANAGE) check

# The API's document; a test compares it with what is served.
schema: $(VENV)/.installed
	$(MANAGE) spectacular --validate --fail-on-warn --file docs/openapi.yaml

# What the next release's migrations are held to, and upgraded from (tests/upgrade).
release: $(VENV)/.installed-dev
	@test -n "$(NAME)" || { echo "Say which: make release NAME=0.2.0" >&2; exit 1; }
	@$(BIN)/python -m tests.upgrade.make "$(NAME)"

# Prints figures; nothing asserts them. It has a database of its own.
bench: $(VENV)/.installed
	@$(BIN)/python -m bench

# On loopback, in a database of its own; DATABASE_URL and REDIS_URL choose where. RUSH_ARGS makes
# it smaller: --members 200 --seconds 10 --reads 800
rush: $(VENV)/.installed
	@$(BIN)/python -m bench.rush $(RUSH_ARGS)

# A process a core, each with one thread: many small fits.
calibrate: $(VENV)/.installed
	@OPENBLAS_NUM_THREADS=1 $(BIN)/python -m bench.calibrate

# The same bytes each time; a test compares. PICTURES_ARGS=--gyms fits the forty gyms anew, too.
pictures: $(VENV)/.installed
	@OMP_NUM_THREADS=1 $(BIN)/python -m bench.pictures $(PICTURES_ARGS)

format: $(VENV)/.installed-dev
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .
