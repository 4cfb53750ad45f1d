#!/bin/sh
# The demonstration as a newcomer runs it, from nothing to the finished report:
#   job_demo.sh ARMSQUARE CHECKER
# CHECKER: html-validate, asked too where it is installed.
armsquare=$(realpath "$1")
checker=$2
folder=$(mktemp -d) || exit 1
trap 'rm -rf "$folder"' EXIT
cd "$folder" || exit 1

fail() {
    echo "FAILED: $*"
    exit 1
}

# Where files cannot grow it ends with one sentence of ours, and leaves nothing behind. A photo has
# more than 200 kB, the empty job less.
(
    ulimit -f 200
    "$armsquare" job demo short >/dev/null 2>said
    echo $? >status
)
[ "$(cat status)" -eq 1 ] || { cat said; fail "exit status $(cat status) where no photo can be written"; }
grep -v '^armsquare: step ' said >sentence
[ "$(wc -l <sentence)" -eq 1 ] && grep -q '^armsquare: photos/.*cannot be written: ' sentence ||
    { cat said; fail "it does not say which photo cannot be written"; }
[ ! -e short ] || { ls -lR short; fail "half a demonstration is left"; }
mkdir mine && echo words >mine/notes
(
    ulimit -f 200
    "$armsquare" job demo mine >/dev/null 2>&1
)
[ "$(find mine -type f)" = mine/notes ] || fail "a file that was there before is gone, or a new one left"

"$armsquare" job demo dunlin >said 2>&1 || { cat said; fail "the demonstration ends with an error"; }
"$armsquare" job status dunlin/dunlin.job --json >status.json || fail "its job cannot be read"
stations=$(grep -c '"state":' status.json)
good=$(grep -c '"state": "good"' status.json)
[ "$stations" -eq 25 ] || fail "$stations stations, not 25"
[ "$good" -eq "$stations" ] || { cat status.json; fail "only $good of $stations are accepted"; }
"$armsquare" job check dunlin/dunlin.job >said || fail "its job file is damaged"

# What shows in the cut slot is no arm: the cyclic horns have two.
arms=$("$armsquare" measure --json --no-picture dunlin/photos/*-horn-left.jpg dunlin/photos/*-horn-right.jpg |
    grep -o '"length_mm"' | wc -l)
[ "$arms" -eq 10 ] || fail "$arms arms on five photos of horns with two arms"

# What was done to a horn, as its notes tell, is what the photo before it asks for: 25 teeth stand
# 360 / 25 = 14.4 degrees apart.
asks() {
    "$armsquare" advise "$1" --teeth 25 >advice || fail "no advice from $1"
    tr -s ' \n' ' ' <advice | grep -q "$2" || { cat advice; fail "$1 does not ask for: $2"; }
}
# shellcheck disable=SC2012
asks "$(ls dunlin/photos/*-horn-left.jpg | head -n 1)" \
    "turn it 12 teeth counter-clockwise .*Use arm B in place of arm A"
# shellcheck disable=SC2012
asks "$(ls dunlin/photos/*-horn-rear.jpg | sed -n 3p)" "turn it 1 tooth clockwise"
"$armsquare" job history dunlin/dunlin.job >history
# After the hard landing all of it is done again, the blades first, as docs/job.md and README.md say.
sed '1,/ mark: /d' history | grep ' recheck ' >rechecked || fail "no recheck after the hard landing"
[ "$(wc -l <rechecked)" -eq "$stations" ] || fail "$(wc -l <rechecked) of $stations stations to be checked again"
sed '1,/ recheck /d' history | grep -m 1 ' confirmed ' | grep -q drive-safe || fail "the blades are not confirmed first"
"$armsquare" job compare dunlin/dunlin.job --since "before the hard landing" >compared
# Verdict: the lines of its stations. They stand below it.
judged() {
    sed -n "/^[0-9]* $1\$/,/^\$/p" compared | sed 1d
}
judged 'moved by more than .*' | grep -q ': +1\.. ±.*; now ' || { cat compared; fail "the bent pushrod has not moved its crank"; }
judged 'is another part since then' | grep -q '^  Rear servo horn [^±:]*$' || { cat compared; fail "the new servo's horn is told as moved"; }
judged 'cannot be told: what .* on was set anew first' | grep -q '^  Rear crank parallel [^±:]*$' ||
    { cat compared; fail "the crank behind the new servo is told as moved or not"; }
grep 'done again' compared && fail "something was not done again"
grep -q 'horn-left.*; 12 teeth counter-clockwise, other arm' history || fail "another note at the left horn"
grep -q 'horn-rear.*; one tooth clockwise' history || fail "another note at the rear horn"

# Everything that is invented says so.
grep -q 'Demonstration. Model, findings and photos are invented' dunlin/dunlin.html ||
    fail "the page does not say that all is invented"
pictures=$(grep -o 'data:image/jpeg;base64' dunlin/dunlin.html | wc -l)
[ "$pictures" -ge 20 ] || fail "only $pictures photos in the page"
if [ -x "$checker" ]; then
    "$checker" dunlin/dunlin.html || fail "the page is not valid HTML"
fi
if command -v pdfinfo >/dev/null; then
    pages=$(pdfinfo dunlin/dunlin.pdf | sed -n 's/^Pages: *//p')
    [ "${pages:-0}" -gt 0 ] || fail "the PDF has no pages"
    pdftotext dunlin/dunlin.pdf - >text || fail "poppler cannot read the PDF"
    grep -q '25 of 25 good' text || fail "the PDF does not say that all is good"
    grep -q "Page $pages of $pages" text || fail "the PDF's pages are miscounted"
    echo "$pages pages, $pictures photos"
fi
echo "0 failed"
