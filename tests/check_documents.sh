#!/bin/bash
# Every command that the program lists must stand in the manual page and in README.md, and every file
# that the documents link to must be there.
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

for document in README.md DEVELOPERS.md docs/*.md; do
    folder=$(dirname "$document")
    for target in $(grep -o '](\([^)#:]*\))' "$document" | sed 's/^](//; s/)$//'); do
        [ -e "$folder/$target" ] || complain "$document: there is no $target"
    done
done
exit $bad
