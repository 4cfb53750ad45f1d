#!/bin/sh
# usage: compare_truth.sh MAKE_PHOTOS TESTIMAGES [OPTIONS OF MAKE_PHOTOS...]
# Fails when a photo of the standing set, or of what the options ask for, is missing or its truth is not what make_photos writes.
set -eu
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
program=$1
photos=$2
shift 2
"$program" "$@" --truth "$scratch/truth" 2>"$scratch/messages" || { cat "$scratch/messages" >&2; exit 1; }
differ=0
for made in "$scratch"/truth/*.json; do
    name=$(basename "$made" .json)
    if [ ! -s "$photos/$name.jpg" ]; then
        echo "$name.jpg is missing: make_photos makes it" >&2
        differ=1
    fi
    if ! cmp -s "$made" "$photos/$name.json"; then
        echo "$name.json is not the truth that make_photos writes" >&2
        differ=1
    fi
done
exit $differ
