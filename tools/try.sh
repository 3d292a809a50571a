#!/usr/bin/env bash
# From a fresh clone to a picture: installs what is missing, builds, stacks the sample capture. With
# the word desk it opens the samples in the browser instead.
set -euo pipefail
cd "$(dirname "$0")/.."

tools/setup.sh
cmake --preset release -DLULL_TESTS=OFF -DLULL_BENCH=OFF
cmake --build --preset release

mkdir -p out
if [ "${1:-}" = desk ]; then exec build/release/bin/lull desk samples/ --results out; fi
build/release/bin/lull stack samples/highland.mkv -o out/highland.tif --overwrite
echo
echo "Results in $PWD/out:"
ls -1 out
echo "highland.tif is the finished picture, highland.linear.fits the stack before detail work;"
echo "highland.html shows both and how they came to be: open it in a browser."
echo "To look, choose, stack and tune by eye: tools/try.sh desk"
