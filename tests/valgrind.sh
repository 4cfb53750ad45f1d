#!/bin/bash
# Unit tests under valgrind's memory checker; any error or lost block fails.
# usage: tests/valgrind.sh BUILD
# Suites that time, kill or start other programs are left out, as are a few that only repeat the same
# code many thousand times: they run under the sanitizers. CK_FORK=no keeps a suite in one process.
set -u
cd "$(dirname "$0")/.." || exit 1
suites=(advice decision direction fourbar linear_fit measure_words number plan
    reasons spline station tag36h11 thread trim_scale uncertainty)

run() {
    CK_FORK=no CK_DEFAULT_TIMEOUT=600 valgrind --quiet --error-exitcode=1 --leak-check=full \
        --errors-for-leak-kinds=definite "$1" >/dev/null ||
        { echo "valgrind: $1 failed" >&2 && return 1; }
}
export -f run
printf "$1/tests/check_%s\\0" "${suites[@]}" | xargs -0 -n 1 -P "$(nproc)" bash -c 'run "$0"' || exit 1
echo "valgrind: ${#suites[@]} suites clean"
