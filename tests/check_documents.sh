#!/bin/bash
# Every command that the program lists must stand in the manual page and in README.md, every option of
# its help and every variable that it reads in the manual page, and every file that the documents link
# to must be there. Stations they name stand in a plan, and the job from beginning to end can be done.
# usage: check_documents.sh ARMSQUARE
set -u
program=$1
cd "$(dirname "$0")/.." || exit 1
bad=0
complain() {
    echo "$1"
    bad=1
}

commands=$("$program" --help | sed -n 's/^  \([a-z-]*\)  .*/\1/p')
[ "$(wc -w <<<"$commands")" -ge 5 ] || complain "\"armsquare --help\" lists hardly any command"
for command in $commands; do
    grep -q "^\.BR\? ${command//-/\\\\-}\b" docs/armsquare.1 ||
        complain "docs/armsquare.1 does not explain \"$command\""
    grep -q "^| \`armsquare $command\`" README.md || complain "README.md's table lacks \"$command\""
done

# What the manual page says of one command: its own section, and what commands share.
section() {
    awk -v name=".SS ${1//-/\\\\-}" '/^\.S/ { mine = $0 == name || $0 == ".SH OPTIONS" } mine' docs/armsquare.1
}
# check_options SECTION WORDS...: the options that the help of "armsquare WORDS" names.
check_options() {
    local explained option
    explained=$(section "$1")
    shift
    for option in $("$program" "$@" --help | sed 's/"[^"]*"//g; /^  armsquare /d' |
        grep -o -e '--[a-z][a-z-]*' | sort -u); do
        grep -qF -e "${option//-/\\-}" <<<"$explained" ||
            complain "docs/armsquare.1 does not explain $option of \"armsquare $*\""
    done
}
for command in $commands; do
    check_options "$command" "$command"
done
for mode in $("$program" linkage --help | sed -n 's/^  \([a-z]*\)  .*/\1/p'); do
    check_options linkage linkage "$mode"
done
for part in $("$program" job --help | sed -n 's/^  \([a-z]*\)  .*/\1/p'); do
    check_options job job "$part"
done
for variable in $(grep -rho --include='*.c' 'getenv("[A-Z_]*")' src | sed 's/.*"\(.*\)".*/\1/' | sort -u); do
    [ "$variable" = HOME ] || grep -q "^\.B $variable$" docs/armsquare.1 ||
        complain "docs/armsquare.1 does not explain $variable"
done

for document in README.md DEVELOPERS.md docs/*.md; do
    folder=$(dirname "$document")
    for target in $(grep -o '](\([^)#:]*\))' "$document" | sed 's/^](//; s/)$//'); do
        [ -e "$folder/$target" ] || complain "$document: there is no $target"
    done
done

# The largest photo, in megapixels.
most=$(sed -n 's/^#define VISION_MAX_PIXELS \([0-9]*\)000000\.0 .*/\1/p' vision/vision.h)
grep -q "up to $most megapixels" docs/measure.md || complain "docs/measure.md does not say \"up to $most megapixels\""

# Stations of the Dunlin's job, wherever an example names one.
for station in $(grep -ho 'job \(measure\|confirm\|hardware\|note\|history\) dunlin\.job [a-z][a-z-]*' README.md docs/*.md docs/armsquare.1 src/commands/cmd_job.c |
    sed 's/.* //' | sort -u); do
    grep -qx "\[$station\]" src/job/plans/*.plan || complain "no plan has the station \"$station\" of an example"
done

# The job from beginning to end, as docs/job.md has it.
program=$(realpath "$program")
photo=$PWD/testimages/dunlin-rudder.jpg
bench=$(mktemp -d) || exit 1
trap 'rm -rf "$bench"' EXIT
awk '/^## / { mine = $0 == "## A job from beginning to end" } mine && sub(/^    /, "")' docs/job.md >"$bench/steps"
[ "$(grep -c '^armsquare job ' "$bench/steps")" -ge 10 ] || complain "docs/job.md has no job from beginning to end"
(
    cd "$bench" || exit 1
    cp "$photo" left.jpg
    cp "$photo" links.jpg
    armsquare() {
        "$program" "$@" >said 2>&1 || {
            echo "docs/job.md: armsquare $* ends with $?"
            cat said
            exit 1
        }
    }
    . ./steps
    [ -s dunlin.pdf ] || { echo "docs/job.md: there is no report in the end"; exit 1; }
) || bad=1
exit $bad
