#!/bin/bash
# Includes point one way: a folder reads its own headers and those of folders before it in its list
# below; src/ reads of vision/ the public headers alone, and nothing in vision/ reads src/.
# usage: check_layers.sh
set -u
cd "$(dirname "$0")/.." || exit 1
vision=(maths photo card budget silhouette part edge disc stage)
src=(arithmetic base drawing sheet lens result picture measure advice linkage job report commands)
public=$(cd vision && echo *.h)
bad=0
seen=0
complain() {
    echo "$1"
    bad=1
}

# place NAME LIST...: where in the list the name stands; nothing when it does not.
place() {
    local name=$1 at=0
    shift
    for other in "$@"; do
        [ "$other" = "$name" ] && echo "$at" && return
        at=$((at + 1))
    done
}

# check_folder TREE FOLDER LIST...
check_folder() {
    local tree=$1 folder=$2 own other file header
    shift 2
    own=$(place "$folder" "$@")
    [ -n "$own" ] || { complain "$tree/$folder is in no list of tests/check_layers.sh"; return; }
    while IFS=: read -r file header; do
        seen=$((seen + 1))
        if [ "${header%/*}" = "$header" ]; then
            [ -e "$tree/$folder/$header" ] || grep -qw -- "$header" <<<"$public" ||
                complain "$file: $header is neither of $tree/$folder nor public in vision/"
        else
            other=$(place "${header%/*}" "$@")
            [ -e "$tree/$header" ] && [ -n "$other" ] && [ "$other" -lt "$own" ] ||
                complain "$file: $header is of no folder before $tree/$folder"
        fi
    done < <(grep -H '^#include "' "$tree/$folder"/*.[ch]* | sed 's/#include "\(.*\)"/\1/')
}

for folder in vision/*/; do
    check_folder vision "$(basename "$folder")" "${vision[@]}"
done
for folder in src/*/; do
    check_folder src "$(basename "$folder")" "${src[@]}"
done
[ "$seen" -gt 600 ] || complain "hardly any include was found: $seen"
exit $bad
