#!/usr/bin/env bash
# Builds the release with tests and benchmarks, and runs every test.
# Options are handed to ctest, e.g. tools/test.sh -R output
set -euo pipefail
cd "$(dirname "$0")/.."

tools/setup.sh --tests
cmake --preset release -DLULL_TESTS=ON -DLULL_BENCH=ON
cmake --build --preset release
ctest --preset release "$@"
