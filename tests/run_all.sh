#!/bin/bash
# Every test, on a bare Debian machine: installs what is missing, builds with warnings as errors,
# prints how well the photos that come with their truth are measured, and runs the tests.
# usage: tests/run_all.sh
set -eu
cd "$(dirname "$0")/.."
build=build/release

tests/install.sh build test
tests/html/install.sh "$build" ||
    echo "html-validate cannot be installed: the test report_html will be skipped." >&2
cmake -S . -B "$build" -DARMSQUARE_WERROR=ON
cmake --build "$build" -j "$(nproc)"
worse=0
"$build/tests/error_table" --causes --pointed --guard all testimages || worse=1
ctest --test-dir "$build" --output-on-failure -j "$(nproc)"
if [ "$worse" -ne 0 ]; then
    echo "The tests pass, but photos are measured worse than before: see the table above." >&2
    exit 1
fi
