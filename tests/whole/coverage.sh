#!/bin/bash
# coverage.sh [FILES]: lines and branches of src/ that the tests reach (gcov), and the FILES (default 10) with most branches left.
# Allocation failures and input/output errors are reached by the fault-injecting harness. What the compiler alone makes (throws,
# unreachable edges) is not counted.
set -u
cd "$(dirname "$0")/../.." || exit 1
build=build-coverage
flags="-O0 -g --coverage -fprofile-update=atomic"
rm -rf $build
make -s -j2 BUILD=$build CFLAGS="$flags" LDFLAGS=--coverage >/dev/null || exit 1
program=$PWD/$build/tideover
make -s -k units BUILD=$build CFLAGS="$flags" LDFLAGS=--coverage >/dev/null 2>&1 || echo "a unit test failed"
for test in output_test.sh bad_input_test.py hostile_test.py requests_test.py luck_test.py decide_test.py why_test.py parts_test.py library_test.sh fit_test.py \
    generator_test.py sampling_test.py readme_test.py plots_test.sh words_test.py; do
    [ -x tests/whole/$test ] || continue
    tests/whole/$test "$program" >/dev/null 2>&1 || echo "$test failed"
done
for scenario in tests/reference/scenarios/[0-9]*.cfg scenarios/*.cfg; do
    "$program" run "$scenario" --configs configs --trials 500 --quiet --out $build/out >/dev/null 2>&1 || echo "$scenario failed"
done
FLAGS=--coverage tests/whole/proof_faults_test.sh "$program" >/dev/null 2>&1 # its verdict on the plain program is what counts
/usr/bin/python3 tests/whole/coverage.py $build "${1:-10}"
