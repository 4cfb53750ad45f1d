#!/bin/bash
# Installs the Debian packages of some groups of tests/packages.txt; those already there are left
# alone, and when nothing is missing nothing is asked for.
# usage: tests/install.sh GROUP...      groups: build, test, html, check, scenes
set -eu
list=$(dirname "$0")/packages.txt

missing=()
for group in "$@"; do
    packages=$(awk -v group="$group" '$1 == group { print $2 }' "$list")
    if [ -z "$packages" ]; then
        echo "install: there is no group \"$group\" in $list" >&2
        exit 2
    fi
    for package in $packages; do
        state=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
        [ "$state" = installed ] || missing+=("$package")
    done
done
[ ${#missing[@]} -gt 0 ] || exit 0

root=()
[ "$(id -u)" -eq 0 ] || root=(sudo)
echo "Installing: ${missing[*]}"
"${root[@]}" apt-get update -q
"${root[@]}" env DEBIAN_FRONTEND=noninteractive \
    apt-get install -q -y --no-install-recommends "${missing[@]}"
