#!/bin/sh
# What a job answers at the bench, as a whole program: job_answers.sh ARMSQUARE
# Which arm is taken, what is ordered, what is to be checked again, what is said of it.
armsquare=$(realpath "$1")
photos=$(realpath "$(dirname "$0")/../testimages")
folder=$(mktemp -d) || exit 1
trap 'rm -rf "$folder"' EXIT
cd "$folder" || exit 1
failed=0
fail() {
    echo "FAILED $*"
    cat out
    failed=$((failed + 1))
}

# expect STATUS WORDS COMMAND...: runs, compares the exit status and looks for words in what it says
expect() {
    status=$1 words=$2
    shift 2
    "$@" >out 2>&1
    got=$?
    [ $got -eq "$status" ] && grep -q -e "$words" out || fail "($got, expected $status and \"$words\"): $*"
}
# also WORDS, never WORDS: of the same answer
also() {
    grep -q -e "$1" out || fail "(expected also \"$1\")"
}
never() {
    if grep -q -e "$1" out; then fail "(said \"$1\")"; fi
}

job="$armsquare job"
# start FILE PLAN...: a job with its three first confirmations given
start() {
    file=$1
    shift
    rm -f "$file"
    for plan; do set -- "$@" --plan "$plan" && shift; done
    $job new "$file" --model M "$@" >out 2>&1 || fail "new $file"
    for key in drive-safe neutral-settings servo-directions; do
        expect 0 "good" $job confirm "$file" $key
    done
}

# ---- Which arm ----
# A cross lies 11.4 degrees counter-clockwise of square with its arm A, 1.3 with its arm C; a star
# 31.4 and -1.3: the arm in use is the one that `measure` and `advise` speak of.
cross=$photos/tune-12-cross-white.jpg
star=$photos/tune-48-star-red.jpg
blue=$photos/tune-01-cross-blue.jpg
cat >thr.plan <<'END'
[thr]
title: Throttle arm
kind: angle
target: 190
tolerance: 0.5

[edge]
title: Edge
kind: level
END
expect 0 "stations" $job new thr.job --model M --plan thr.plan
expect 0 "Turn the arm 1\.. degrees clockwise" $job measure thr.job thr "$cross"
also "Measured: arm C of A to D\. If another is meant: armsquare job undo thr.job, .*--arms"
expect 0 "adjust  .* thr  " $job status thr.job
expect 0 "Withdrawn" $job undo thr.job
expect 0 "Turn the arm 178\.. degrees" $job measure thr.job thr "$cross" --arms A
never "Measured: arm"
expect 0 "clockwise" $job measure thr.job edge "$star"
also "Measured: arm C of A to"
start tail.job tail-pushrod
expect 0 "Turn the arm 1\.. degrees counter-clockwise" $job measure tail.job tail-horn "$star"
also "Measured: arm C of A to"
"$armsquare" measure --no-picture "$star" >out 2>&1
also "[Aa]rm C"
# one photo of a part with four arms tells nothing of a second part
cat >par.plan <<'END'
[par]
title: Parallel
kind: parallel

[cen]
title: Centred
kind: centred
END
expect 0 "stations" $job new par.job --model M --plan par.plan
expect 3 "shows the arms A to D. Say which two are compared, for example --arms A,D" \
    $job measure par.job par "$blue"
expect 0 "Parallel: " $job measure par.job par "$blue" --arms A,C
expect 0 "Withdrawn" $job undo par.job
expect 3 "more than 45 degrees from parallel.*Nothing was recorded" \
    $job measure par.job par "$blue" --arms A,B
# of two photos those arms that lie nearest to parallel: the rudder's horn at 97.3 has its like in the cross at 101.4
expect 0 "Measured: arm . of A to B in dunlin-rudder.jpg, arm . of A to D in tune-12" \
    $job measure par.job par "$photos/dunlin-rudder.jpg" "$cross"
# which of a cross's arms was the neutral one before it turned, no photo tells
expect 3 "cannot be told. Name the same arm in each photo" $job measure par.job cen "$blue" "$star" "$cross"
# a second reading that was forgotten is no difference
expect 2 "takes --angle DEG --angle DEG, one of each arm" $job measure par.job par --angle 90.1 --u 0.1
expect 3 "more than 45 degrees from parallel" $job measure par.job par --angle 90 --angle 1 --u 0.1
expect 0 "Parallel: " $job measure par.job par --angle 90 --angle 90.1 --u 0.1

echo "$failed failed"
[ $failed -eq 0 ]
