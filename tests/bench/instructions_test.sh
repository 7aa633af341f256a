#!/bin/bash
# Guards the hot path: instructions a trial as valgrind's callgrind counts them (seconds are noisy), by the difference of two runs,
# so that reading the scenario does not count.
set -u
cd "$(dirname "$0")/../.." || exit 1
program=${1:?usage: instructions_test.sh PROGRAM}
most=63000                           # 15 % above what it was when it was set
most_sobol=84500                     # the same
command -v valgrind >/dev/null || { echo "instructions: valgrind is not installed"; exit 1; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

instructions() {                     # trials, sampling
    valgrind --tool=callgrind --callgrind-out-file=/dev/null "$program" run scenarios/base.cfg --configs configs \
        --set sampling="$2" --out "$folder/out" --quiet --threads 1 --trials "$1" 2>&1 | sed -n 's/.*Collected : //p'
}

failed=0
for allowed in "independent $most" "sobol $most_sobol"; do
    read -r sampling limit <<< "$allowed"
    few=$(instructions 3000 "$sampling") many=$(instructions 6000 "$sampling")
    each=$(((many - few) / 3000))
    echo "$each instructions a trial, sampling $sampling (allowed: $limit)"
    if [ -z "$few" ] || [ "$each" -le 0 ] || [ "$each" -gt "$limit" ]; then failed=$((failed + 1)); fi
done
echo "$((2 - failed)) passed, $failed failed"
[ "$failed" -eq 0 ]
