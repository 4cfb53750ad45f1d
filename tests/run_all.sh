#!/bin/bash
# Every test, on a bare Debian 12 machine: installs what is missing, builds with warnings as errors,
# runs the tests, and judges the measurement on the photos that come with their truth.
# usage: tests/run_all.sh
set -eu
cd "$(dirname "$0")/.."
build=build/release

tests/install.sh build test
cmake -S . -B "$build" -DARMSQUARE_WERROR=ON
cmake --build "$build" -j "$(nproc)"
"$build/tests/error_table" --guard kept testimages
"$build/tests/error_table" --guard tune testimages >/dev/null
ctest --test-dir "$build" --output-on-failure -j "$(nproc)"
