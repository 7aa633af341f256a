#!/bin/bash
# Guards the hot path: instructions a trial as valgrind's callgrind counts them (seconds are noisy), by the difference of two runs,
# so that reading the scenario does not count.
set -u
cd "$(dirname "$0")/../.." || exit 1
program=${1:?usage: instructions_test.sh PROGRAM}
most=76500                           # 15 % above what it was when it was set
command -v valgrind >/dev/null || { echo "instructions: valgrind is not installed"; exit 1; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

instructions() {
    valgrind --tool=callgrind --callgrind-out-file=/dev/null "$program" run scenarios/base.cfg --configs configs \
        --out "$folder/out" --quiet --threads 1 --trials "$1" 2>&1 | sed -n 's/.*Collected : //p'
}

few=$(instructions 3000) many=$(instructions 6000)
each=$(((many - few) / 3000))
echo "$each instructions a trial (allowed: $most)"
if [ -n "$few" ] && [ "$each" -gt 0 ] && [ "$each" -le "$most" ]; then echo "1 passed, 0 failed"; else echo "0 passed, 1 failed"; exit 1; fi
