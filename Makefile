# The commands of this checkout; `make` alone lists them.
SHELL := /bin/sh
export LANG ?= C.UTF-8
PYTHON := $(shell command -v python3.11 || echo python3)
PY := .venv/bin/python
PORT ?= 8000
SEED ?=
RUNTIME := .venv/.runtime-installed
DEV := .venv/.dev-installed
PIP := $(PY) -m pip --disable-pip-version-check install --quiet --require-hashes --only-binary :all: --no-compile

.DEFAULT_GOAL := help
.PHONY: help demo demo-fresh demo-check test check check-form check-lint check-types check-contracts check-migrations check-limits format deep pictures simulate lock

help: ## list the commands
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /\1|/' | awk -F'|' '{ printf "  make %-12s %s\n", $$1, $$2 }'

$(PY):
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info[:2] != (3, 11))' || { echo "Python 3.11 is needed: apt-get install python3.11 python3.11-venv"; exit 1; }
	@$(PYTHON) -m venv .venv || { rm -rf .venv; echo "Making .venv failed; on Debian: apt-get install python3-venv"; exit 1; }

$(RUNTIME): requirements.txt | $(PY)
	@echo "installing into .venv ..."
	@$(PIP) -r requirements.txt
	@touch $@

$(DEV): requirements-dev.txt requirements.txt | $(PY)
	@echo "installing into .venv what tests need ..."
	@$(PIP) -r requirements-dev.txt
	@touch $(RUNTIME) $@

demo: $(RUNTIME) ## start the demo on 127.0.0.1:8000 (PORT=8123 for another port); keeps what was done
	@HOOKSIDE_DEMO=1 exec $(PY) manage.py demo --port $(PORT)

demo-fresh: $(RUNTIME) ## the same, from the beginning
	@HOOKSIDE_DEMO=1 exec $(PY) manage.py demo --port $(PORT) --fresh

demo-check: $(RUNTIME) ## start the demo on a free port, sign in as each role, fetch the first page, stop
	@HOOKSIDE_DEMO=1 exec $(PY) manage.py demo --check

test: $(DEV) ## everything: checks, suite on SQLite and PostgreSQL, worker over Redis, journeys in Chromium
	@$(PY) -m tests.services.suite $(if $(SEED),--seed $(SEED)) $(if $(ONLY),--only $(ONLY))

check: check-form check-lint check-types check-contracts check-migrations check-limits ## format, lint, types, import contracts, migrations, house limits (make -k check: all of them)

check-form: $(DEV)
	$(PY) -m ruff format --check .
check-lint: $(DEV)
	$(PY) -m ruff check --quiet .
check-types: $(DEV)
	$(PY) -m mypy
check-contracts: $(DEV)
	.venv/bin/lint-imports --no-logo
check-migrations: $(DEV)
	$(PY) manage.py makemigrations --check --dry-run --verbosity 1
check-limits: $(DEV)
	$(PY) -m tests.rules.limits

format: $(DEV) ## put the code into form
	$(PY) -m ruff check --quiet --fix-only .
	$(PY) -m ruff format --quiet .

deep: $(DEV) ## long counts (hours); writes docs/deep-run.md (ONLY="tests/core/questions" for a part)
	@$(PY) -m tests.services.deep $(if $(SEED),--seed $(SEED)) $(if $(ONLY),--only $(ONLY))

pictures: $(DEV) ## photograph the demo's screens anew into docs/pictures/
	@$(PY) -m tests.journeys.pictures

simulate: $(DEV) ## a made-up crew drills for eighteen months: floors, counts and ways of asking (about ten minutes)
	@OPENBLAS_NUM_THREADS=1 $(PY) manage.py simulate_recall --bank fixtures_demo/bank $(if $(SEED),--seed $(SEED)) --svg docs/pictures/recall-simulation.svg

bench: $(DEV) ## time recall, answers and drills beside their floors; writes docs/benchmarks.md
	@OPENBLAS_NUM_THREADS=1 $(PY) -m tests.benchmarks.bench

lock: ## pin again what pyproject.toml asks for (needs uv, kept out of .venv in .make/)
	@test -x .make/uv/bin/uv || { $(PYTHON) -m venv .make/uv && .make/uv/bin/python -m pip --disable-pip-version-check install --quiet uv; }
	.make/uv/bin/uv pip compile --quiet --generate-hashes --no-header --python-version 3.11 pyproject.toml -o requirements.txt
	.make/uv/bin/uv pip compile --quiet --generate-hashes --no-header --python-version 3.11 --group dev -c requirements.txt pyproject.toml -o requirements-dev.txt
