# Each target says what it does; `make` alone prints the list.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
HOUSE ?= fixtures/hollow-lane.json
# On the command line only: some shells have variables of these names.
FILE :=
HOST := local
PORT := 8000
PART :=
ROOMS :=
SECONDS :=
# Tests of what databases do each in their own way: locks, jobs, constraints, text, archives, storing at once.
DIFFERENT := $(addprefix tests/remodel/,archive/test_out_and_in.py archive/test_writing.py archive/test_storages.py \
  archive/test_before_update.py history/test_services.py history/test_seen.py house/test_constraints.py jobs \
  people/test_health.py people/test_rate_limits.py people/test_services.py project/test_settings.py \
  project/test_two_at_once.py supply/test_ledger.py work/test_kept_photos.py work/test_services.py)

.DEFAULT_GOAL := help

.PHONY: help
help: ## print this list
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 12

# Two stamps: what it takes to run, and what it takes to work on it.
$(VENV)/run.stamp: requirements.lock
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Halfbay needs Python 3.11 or later; set PYTHON=python3.11, say."; exit 1; }
	@$(PYTHON) -c 'import ensurepip' 2>/dev/null || \
	  { echo "Python's venv is missing: apt-get install python3-venv"; exit 1; }
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	@touch $@

$(VENV)/dev.stamp: requirements-dev.lock $(VENV)/run.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-dev.lock
	@touch $@

.PHONY: run
run: $(VENV)/run.stamp ## set up, load the demo house once, open at http://127.0.0.1:8000 (HOST=lan: the home network)
	$(BIN)/python manage.py serve --host $(HOST) --port $(PORT)

.PHONY: archive
archive: $(VENV)/run.stamp ## everything people entered into one zip (FILE=name.zip)
	$(BIN)/python manage.py archive $(FILE)

.PHONY: restore
restore: $(VENV)/run.stamp ## bring an archive back on an empty machine (FILE=name.zip)
	@test -n "$(FILE)" || { echo "Name the archive: make restore FILE=halfbay.zip"; exit 1; }
	$(BIN)/python manage.py restore $(FILE)

.PHONY: takeoff
takeoff: $(VENV)/run.stamp ## print what the demo house takes (HOUSE=file for your own)
	$(BIN)/python manage.py takeoff $(HOUSE)

.PHONY: test
test: $(VENV)/dev.stamp ## set up, then run the tests on two cores
	$(BIN)/python -m pytest -q -n 2 --dist worksteal

.PHONY: deep
deep: $(VENV)/dev.stamp ## the large samples: histories, sweeps, kills; by hand, up to an hour
	$(BIN)/python -m pytest -q -n 2 -m deep

.PHONY: draws
draws: $(VENV)/dev.stamp ## the property tests on cases drawn anew, others each time
	$(BIN)/python -m pytest -q -n 2 -m hypothesis --hypothesis-profile=random

$(VENV)/tools.stamp: requirements-tools.lock $(VENV)/dev.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-tools.lock
	@touch $@

.PHONY: fuzz
fuzz: $(VENV)/tools.stamp ## what reads from outside, fed with what reaches most of it (SECONDS=60 a target; PART=lengths for one)
	$(BIN)/python -m tests.fuzz $(PART) --seconds $(or $(SECONDS),60)

.PHONY: mutation
mutation: $(VENV)/dev.stamp ## how many small faults the tests notice (PART=layout, cutting, needs or ledger; SECONDS=1800)
	$(BIN)/python -m tests.mutation $(PART) $(if $(SECONDS),--seconds $(SECONDS))

.PHONY: audit
audit: $(VENV)/tools.stamp ## known vulnerabilities of what is pinned, where the advisories can be reached
	.ci/audit $(BIN)

$(VENV)/postgresql.stamp: requirements-postgresql.lock $(VENV)/dev.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements-postgresql.lock
	@touch $@

.PHONY: postgresql
postgresql: $(VENV)/postgresql.stamp ## tests of what databases do differently, on a PostgreSQL started for them (PART=all: all of the site)
	$(BIN)/python -m tests.postgresql $(BIN)/python -m pytest -q -n 2 $(if $(PART),tests/remodel,$(DIFFERENT))

.PHONY: lint
lint: $(VENV)/dev.stamp ## style and likely bugs
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

.PHONY: types
types: $(VENV)/dev.stamp ## types, strict
	$(BIN)/mypy

.PHONY: migrations
migrations: $(VENV)/dev.stamp ## no model change without its migration
	$(BIN)/python manage.py makemigrations --check --dry-run

.PHONY: check
check: lint types migrations test ## all that has to pass before a change lands

.PHONY: bench
bench: $(VENV)/dev.stamp ## time, memory, board bought, in half an hour (PART=boards for one part, ROOMS=30 SECONDS=30 for more)
	$(BIN)/python -m tests.bench $(PART) $(if $(ROOMS),--rooms $(ROOMS)) $(if $(SECONDS),--seconds $(SECONDS))

.PHONY: schemas
schemas: $(VENV)/run.stamp ## write the JSON Schemas anew after a value has changed
	$(BIN)/python -c "import json, takeoff.housefile as h; print(json.dumps(h.house_schema(), indent=1))" \
	  > takeoff/housefile/house.schema.json
	$(BIN)/python -c "import takeoff.report.document as d; print(d.schema_text(), end='')" \
	  > takeoff/report/takeoff.schema.json

LOCK := uv pip compile -q --universal --generate-hashes --no-emit-index-url --no-header pyproject.toml

.PHONY: lock
lock: ## pin packages anew with their hashes, those of each extra too (needs uv)
	$(LOCK) -o requirements.lock
	$(LOCK) -c requirements.lock --extra postgresql -o requirements-postgresql.lock
	$(LOCK) -c requirements.lock --extra dev -o requirements-dev.lock
	$(LOCK) -c requirements-dev.lock --extra tools -o requirements-tools.lock
