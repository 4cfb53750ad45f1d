#!/bin/bash
# Instructions that the stages of one measurement take, counted by callgrind: the same on a busy and
# on an idle machine, so that a stage grown slower shows. docs/performance.md keeps the figures.
# usage: tests/bench/count_instructions.sh BUILD [PHOTO]
set -eu
cd "$(dirname "$0")/../.."
photo=${2:-testimages/dunlin-rudder.jpg}
counts=$(mktemp)
trap 'rm -f "$counts"' EXIT
stages="main vision_photo_decode markers_find silhouette_build part_field_new disc_find part_find edge_fit_read
    reference_find measure_json"

# on one processor: what threads of their own do would not count for the stage that starts them
taskset -c 0 valgrind --tool=callgrind --callgrind-out-file="$counts" \
    "$1/armsquare" measure --json --no-picture "$photo" >/dev/null 2>&1
echo "million instructions, each stage with all it calls; $photo"
callgrind_annotate --inclusive=yes --threshold=100 "$counts" | awk -v stages="$stages" '
    BEGIN { n = split(stages, names, /[ \n]+/) }
    { count = $1; gsub(/,/, "", count)
      if (match($0, /:[a-z_0-9]+ \[/) && !($0 ~ /\.so/)) {
          name = substr($0, RSTART + 1, RLENGTH - 3)
          if (count + 0 > most[name] + 0) most[name] = count } }
    END { for (i = 1; i <= n; i++)
              if (names[i] != "") printf "%-20s %8.1f\n", names[i], most[names[i]] / 1e6 }'
