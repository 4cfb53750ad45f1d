#!/bin/sh
# Lack of memory is told: no_memory.sh ARMSQUARE LIBRARY
# Each string that a report makes fails in turn (no_memory.c): the report is then written whole, or
# one sentence says why not.
program=$(realpath "$1")
preloaded=$(realpath "$2")
folder=$(mktemp -d) || exit 1
links=$(mktemp -d) || exit 1
trap 'rm -rf "$folder" "$links"' EXIT
# names without blanks, wherever the project lies
ln -s "$program" "$links/armsquare"
armsquare=$links/armsquare
ln -s "$preloaded" "$links/no_memory.so"
library=$links/no_memory.so
cd "$folder" || exit 1
printf '[horn]\ntitle: Horn\nkind: square\n' >horn.plan
"$armsquare" job new a.job --model M --plan horn.plan >out || exit 1
"$armsquare" job measure a.job horn --angle 90.1 --u 0.1 >out || exit 1
"$armsquare" job report a.job -o whole.html >out || exit 1
failed=0 told=0 strings=0
while [ $strings -lt 400 ]; do
    strings=$((strings + 1))
    rm -f a.html
    # sanitizers are content with a library before theirs
    ASAN_OPTIONS=$ASAN_OPTIONS:verify_asan_link_order=0 NO_MEMORY_AT=$strings LD_PRELOAD=$library \
        "$armsquare" job report a.job -o a.html >out 2>said
    status=$?
    if [ $status -eq 0 ]; then
        cmp -s a.html whole.html && break # there was no such string: all have failed once
        [ -s a.html ] && grep -q written out || status=bad
    elif [ $status -ne 1 ] || [ "$(wc -l <said)" -ne 1 ] || [ -e a.html ]; then
        status=bad
    else
        told=$((told + 1))
    fi
    if [ $status = bad ]; then
        echo "FAILED without memory for string $strings"
        cat out said
        failed=$((failed + 1))
    fi
done
echo "$strings strings, $told told, $failed failed"
[ $failed -eq 0 ] && [ $told -gt 5 ]
