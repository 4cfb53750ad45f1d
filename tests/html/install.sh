#!/bin/bash
# Installs html-validate, with all it needs at the versions of package-lock.json, into a folder of
# the build; npm itself from Debian where there is none. Nothing is asked for and nothing is done
# when it is there already.
# usage: tests/html/install.sh BUILD
set -eu
folder=$(realpath -m "$1")/html
cd "$(dirname "$0")"

if [ -x "$folder/node_modules/.bin/html-validate" ] &&
    cmp -s package-lock.json "$folder/package-lock.json"; then
    exit 0
fi
command -v npm >/dev/null || ../install.sh html
mkdir -p "$folder"
cp package.json package-lock.json "$folder"
npm ci --prefix "$folder" --ignore-scripts --no-audit --no-fund --no-update-notifier
