#!/bin/sh
# Checks the report's HTML with html-validate from the npm registry:
#   validate_report.sh ARMSQUARE CHECKER
# CHECKER is the html-validate program; where it is not installed the test is skipped.
# tests/html/install.sh BUILD installs it beside the build.
armsquare=$(realpath "$1")
checker=$2
if [ ! -x "$checker" ]; then
    echo "skipped: html-validate is not installed; tests/html/install.sh BUILD does that"
    exit 77
fi
folder=$(mktemp -d) || exit 1
trap 'rm -rf "$folder"' EXIT
job="$folder/a.job" report="$folder/a.html"
{
    "$armsquare" job new "$job" --model 'Test <b> & "co"' --plan rudder --invented
    for s in drive-safe neutral-settings servo-directions; do
        "$armsquare" job confirm "$job" $s --note "a < b & c"
    done
    "$armsquare" job hardware "$job" rudder-horn teeth=25 horn-arm-mm=12 base-mm=40 crank-arm-mm=14
    "$armsquare" job measure "$job" rudder-horn --angle 90.1 --u 0.1
    "$armsquare" job mark "$job" before
    "$armsquare" job measure "$job" rudder-horn --angle 92.1 --u 0.1
    "$armsquare" job report "$job" -o "$report" --since before --all
} >"$folder/log" 2>&1 || { cat "$folder/log"; exit 1; }
"$checker" "$report" || exit 1
# The checker must be able to say no.
sed 's/<h2>/<h4>/' "$report" >"$folder/wrong.html"
if "$checker" "$folder/wrong.html" >/dev/null; then
    echo "the checker finds no fault in a page that has one"
    exit 1
fi
echo "the report is valid HTML"
