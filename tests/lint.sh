#!/bin/bash
# Formatting and static analysis of the whole tree: clang-format, clang-tidy, cppcheck.
# usage: tests/lint.sh [BUILD]      BUILD: a configured build folder (default: build)
# Nothing is changed. Ends with what failed and exit status 1, or with "lint: clean".
set -u
cd "$(dirname "$0")/.." || exit 1
build=${1:-build}
jobs=$(nproc)
if [ ! -f "$build/compile_commands.json" ]; then
    echo "lint: \"$build\" is not configured; run: cmake -S . -B $build" >&2
    exit 1
fi

failed=()
# Names a step, runs it, keeps its name when it fails.
step() {
    echo "lint: $1"
    shift
    "$@" || failed+=("${1##*/}")
}

mapfile -t sources < <(git ls-files '*.c' '*.cpp')
mapfile -t headers < <(git ls-files '*.h')

tidy() {
    printf '%s\0' "${sources[@]}" |
        xargs -0 -n 1 -P "$jobs" clang-tidy --quiet -p "$build" 2>/dev/null
}

check() {
    cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr -j "$jobs" \
        --suppressions-list=tests/cppcheck.txt --error-exitcode=1 -I vision -I src -I tests \
        "${sources[@]}"
}

step "clang-format, ${#sources[@]} sources and ${#headers[@]} headers" \
    clang-format --dry-run -Werror "${sources[@]}" "${headers[@]}"
step "clang-tidy" tidy
step "cppcheck" check
if [ ${#failed[@]} -gt 0 ]; then
    echo "lint: failed: ${failed[*]}" >&2
    exit 1
fi
echo "lint: clean"
