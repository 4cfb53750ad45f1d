#!/bin/bash
# Includes point one way: a folder of src/ reads its own headers, those of folders before it in the list
# below, and of vision/ the public ones alone. Nothing in vision/ reads src/.
# usage: check_layers.sh
set -u
cd "$(dirname "$0")/.." || exit 1
layers=(arithmetic base drawing sheet lens result picture measure advice linkage job report commands)
public="vision parallel tag36h11"
bad=0
complain() {
    echo "$1"
    bad=1
}

# place FOLDER: its number in the list; nothing when it is not there.
place() {
    local i
    for i in "${!layers[@]}"; do
        [ "${layers[i]}" = "$1" ] && echo "$i" && return
    done
}

seen=0
for folder in src/*/; do
    folder=$(basename "$folder")
    own=$(place "$folder")
    [ -n "$own" ] || { complain "src/$folder is no layer: name it in tests/check_layers.sh"; continue; }
    for file in src/"$folder"/*.[ch]; do
        while read -r header; do
            seen=$((seen + 1))
            case $header in
            */*) [ -e "src/$header" ] && [ "$(place "${header%/*}")" -lt "$own" ] ||
                complain "$file: $header is of no folder before $folder" ;;
            *) [ -e "src/$folder/$header" ] || grep -qw "${header%.h}" <<<"$public" ||
                complain "$file: $header is neither of src/$folder nor public in vision/" ;;
            esac
        done < <(sed -n 's/^#include "\(.*\)"$/\1/p' "$file")
    done
done
while IFS=: read -r file header; do
    seen=$((seen + 1))
    [ -e "vision/$header" ] || complain "$file: $header is not of vision/"
done < <(grep -o '^#include ".*"' vision/*.[ch] vision/*.cpp | sed 's/#include "\(.*\)"/\1/')
[ "$seen" -gt 300 ] || complain "hardly any include was found: $seen"
exit $bad
