#!/bin/bash
# From a bare Debian machine to a first answer: installs what is missing, builds the program, and
# has it measure a photo that comes with it and advise on it.
# usage: tests/first_run.sh
set -eu
cd "$(dirname "$0")/.."

# Says what it does, and does it.
show() {
    printf '\n$ %s\n' "$*"
    "$@"
}

tests/install.sh build
cmake -S . -B build -DARMSQUARE_TESTS=OFF
cmake --build build -j "$(nproc)" --target armsquare
show build/armsquare measure testimages/dunlin-rudder.jpg -o build/dunlin-rudder.png
show build/armsquare advise testimages/dunlin-rudder.jpg --teeth 25
printf '\nThe annotated picture lies in %s\n' "$PWD/build/dunlin-rudder.png"
