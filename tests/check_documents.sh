#!/bin/bash
# Every command that the program lists must stand in the manual page and in README.md, every option of
# its help and every variable that it reads in the manual page, and every file that the documents link
# to must be there.
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
for variable in $(grep -ho 'getenv("[A-Z_]*")' src/*.c | sed 's/.*"\(.*\)".*/\1/' | sort -u); do
    [ "$variable" = HOME ] || grep -q "^\.B $variable$" docs/armsquare.1 ||
        complain "docs/armsquare.1 does not explain $variable"
done

for document in README.md DEVELOPERS.md docs/*.md; do
    folder=$(dirname "$document")
    for target in $(grep -o '](\([^)#:]*\))' "$document" | sed 's/^](//; s/)$//'); do
        [ -e "$folder/$target" ] || complain "$document: there is no $target"
    done
done
exit $bad
