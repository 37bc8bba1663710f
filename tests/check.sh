#!/usr/bin/env bash
# The one check: style, types, layers, doctests. The tests themselves run by pytest alone.
set -euo pipefail
cd "$(dirname "$0")/.."
bin=.venv/bin
"$bin/ruff" check curing tests templates
"$bin/ruff" format --check curing tests templates
"$bin/mypy"
"$bin/lint-imports"
"$bin/python" -m pytest -q -n 0 --doctest-modules curing --ignore=curing/store/migrations
echo "check: all well"
