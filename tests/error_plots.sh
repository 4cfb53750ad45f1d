#!/bin/sh
# usage: error_plots.sh ERROR_TABLE TESTIMAGES
# The table by cause and its plots, of a few photos: SVG that an XML reader takes, the same bytes
# each time, and the table's first row counts the photos.
set -eu
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
mkdir "$scratch/photos" "$scratch/one" "$scratch/two"
for photo in dunlin-rudder tune-03-double-grey tune-69-no-part; do
    ln -s "$2/$photo.jpg" "$2/$photo.json" "$scratch/photos"
done
"$1" --causes --pictures "$scratch/one" "$scratch/photos" >"$scratch/said"
"$1" --pictures "$scratch/two" "$scratch/photos" >/dev/null
grep -q "^all  *all  *2 " "$scratch/said" || { cat "$scratch/said" >&2; exit 1; }
ls "$scratch/one"/error-*.svg >"$scratch/list"
test "$(wc -l <"$scratch/list")" -eq 5
diff -r "$scratch/one" "$scratch/two"
if command -v xmllint >/dev/null; then
    xmllint --noout "$scratch/one"/*.svg
fi
