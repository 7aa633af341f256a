#!/bin/bash
# The random streams as used go through Debian's dieharder, fed through a pipe: a test fails when dieharder calls it FAILED
# (p below 1e-6 or above 1 - 1e-6); WEAK (1 in 200) is printed. DIEHARDER_TESTS names the tests (default: a choice of some minutes;
# "all" for the whole battery, hours).
#   proof_dieharder_test.sh PROGRAM
set -u
cd "$(dirname "$0")/../.." || exit 1
.ci/need dieharder || { echo "dieharder: skipped, it cannot be had"; exit 0; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
gcc -O2 -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -Isrc -o "$folder/streams" tests/bench/streams.c src/chance/pcg.c -lgsl -lgslcblas -lm || exit 1
passed=0 failed=0
for order in row trials units seasons seeds names; do
    for number in ${DIEHARDER_TESTS:-0 3 8 10 15 16 100 101 102}; do
        option="-d $number"
        [ "$number" = all ] && option=-a
        # shellcheck disable=SC2086
        "$folder/streams" $order | dieharder -g 200 $option -p "${DIEHARDER_SAMPLES:-20}" 2>/dev/null | grep -E "PASSED|WEAK|FAILED" >"$folder/out"
        while read -r line; do
            case $line in *FAILED*) failed=$((failed + 1)); echo "dieharder, $order: $line" ;;
                *WEAK*) passed=$((passed + 1)); echo "dieharder, $order: $line" ;; *) passed=$((passed + 1)) ;; esac
        done <"$folder/out"
    done
done
echo "dieharder tests ${DIEHARDER_TESTS:-0 3 8 10 15 16 100 101 102} on six orders of use; limit: p within 1e-6 of either end"
echo "$passed passed, $failed failed"
[ $failed -eq 0 ] && [ $passed -ge 40 ]
