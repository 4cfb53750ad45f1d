#!/bin/bash
# Runs bench_measure on the shipped photos of 12 megapixels and more.
# usage: bench.sh BENCH_MEASURE ARMSQUARE PEER_OPENCV PEER_DECODE [OPTIONS OF BENCH_MEASURE]
set -eu
folder=$(cd "$(dirname "$0")/../../testimages" && pwd)
bench=$1 decode=$4
shift
large=()
for photo in "$folder"/*.jpg; do
    said=$("$decode" "$photo") # "N bytes, ..." of the decoded photo, three for each pixel
    [ "${said%% *}" -lt 36000000 ] || large+=("$photo")
done
if [ ${#large[@]} -eq 0 ]; then
    echo "bench: no photo of 12 megapixels in $folder" >&2
    exit 1
fi
exec "$bench" "$@" "${large[@]}"
