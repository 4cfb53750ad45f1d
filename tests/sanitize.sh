#!/bin/bash
# Unit tests and a few photos with a program built with -DARMSQUARE_SANITIZE=ON.
# usage: tests/sanitize.sh BUILD
# Suites that only render, kill or repeat at length are left out; what they call runs in others.
set -eu
cd "$(dirname "$0")/.."
build=$1
export LSAN_OPTIONS=print_suppressions=0:suppressions=$PWD/tests/leaks.supp
# Each program that chose a font leaves what leaks.supp knows by the library's name. To look up the functions' names
# as well takes four times as long as the program: they are told where a test fails.
ASAN_OPTIONS=symbolize=0 ctest --test-dir "$build" -j "$(nproc)" \
    --exclude-regex '^(check_print|check_job_crash|check_edge_noise|job_demo)$' || {
    ctest --test-dir "$build" --rerun-failed --output-on-failure
    exit 1
}

pictures=$(mktemp -d)
trap 'rm -rf "$pictures"' EXIT
# sixteen of both parts of the set, so that the step stays short
photos=(testimages/*-?1-*.jpg testimages/*-1?5-*.jpg)
# 0 all answered, 3 some refused; a sanitizer's finding ends the program with another status
status=0
"$build/armsquare" measure --json --out "$pictures" "${photos[@]}" >/dev/null 2>"$pictures/said" ||
    status=$?
if [ "$status" -ne 0 ] && [ "$status" -ne 3 ]; then
    cat "$pictures/said" >&2
    exit 1
fi
echo "sanitize: ${#photos[@]} photos clean"
