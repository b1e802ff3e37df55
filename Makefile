# One place for everything that is run by hand or by CI. `make` alone lists it.
SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.NOTPARALLEL:
.ONESHELL:
.PHONY: help setup browser demo test lint types layers pytest bench soak format lock clean

# Compiled bytecode is what makes start-up quick; some machines switch it off for all programs.
unexport PYTHONDONTWRITEBYTECODE
# The compiled solver, kept in the checkout so that tests and benchmarks share it.
export NUMBA_CACHE_DIR := $(CURDIR)/.numba
export NUMBA_CPU_NAME := generic

bin := .venv/bin
# Two workers: CI and the developers' machines have two cores. `make test WORKERS=0` runs in one process.
WORKERS ?= 2
# More arguments for pytest: `make pytest ARGS="-k strip"`.
ARGS ?=

help:  ## this list
	@sed -n 's/^\([a-z]*\):.*  ## \(.*\)/\1\t\2/p' Makefile | expand -t 12

setup:  ## install everything into .venv (quick when nothing changed)
	@tools/set-up

browser: setup
	@tools/set-up-browser

demo: setup  ## write the invented example items into demo/ and report on them
	@$(bin)/lidoff demo demo

test: browser lint types layers pytest  ## everything that CI checks; pytest's closing line comes last

lint: setup  ## ruff: mistakes and layout
	@$(bin)/ruff check --quiet
	$(bin)/ruff format --check --quiet || { echo "Layout differs: run make format." >&2; exit 1; }
	echo "lint: clean"

types: setup  ## mypy --strict on the package
	@$(bin)/mypy --strict src/lidoff

layers: setup  ## the rooms import downwards only
	@$(bin)/lint-imports --no-logo --cache-dir .import_linter_cache

pytest: setup  ## the tests alone
	@$(bin)/python -m pytest -q -n $(WORKERS) --dist loadgroup $(ARGS)

bench: setup  ## speed and accuracy beside SUNDIALS IDA; adds a line to benchmarks/history.jsonl
	@$(bin)/python benchmarks/bench.py

soak: setup  ## 2,000 random circuits: settled and in balance, or said not to be; a shelf of 200 items and of 10,000
	@$(bin)/python benchmarks/soak.py
	$(bin)/python benchmarks/shelf.py

format: setup  ## lay the source out, and mend what ruff can mend
	@$(bin)/ruff check --fix --quiet || true
	$(bin)/ruff format --quiet

# Pinned and hashed, for every platform, without any registry's address (so not uv.lock).
lock: setup  ## renew requirements/*.txt from pyproject.toml
	@uv=$$(command -v uv || echo .boot/bin/uv)
	$$uv pip compile -q --upgrade --universal --python-version 3.11 --generate-hashes --no-annotate --no-header \
	    requirements/boot.in -o requirements/boot.txt
	$$uv pip compile -q --upgrade --universal --python-version 3.11 --generate-hashes --no-annotate --no-header \
	    pyproject.toml --group dev -o requirements/all.txt
	$$uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-annotate --no-header \
	    --constraint requirements/all.txt pyproject.toml -o requirements/run.txt

clean:  ## remove what set-up and tests made
	rm -rf .venv .boot .numba .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis build dist demo
