#!/bin/bash
# coverage.sh: lines and branches of src/ that the unit tests and some whole runs reach (gcov).
set -eu
cd "$(dirname "$0")/../.."
build=build/coverage
rm -rf $build
make -s units BUILD=$build CFLAGS="-O0 -g --coverage" LDFLAGS=--coverage >/dev/null 2>&1 || echo "a unit test failed"
make -s BUILD=$build CFLAGS="-O0 -g --coverage" LDFLAGS=--coverage >/dev/null
for test in output_test.sh bad_input_test.py luck_test.py decide_test.py library_test.sh fit_test.py; do
    [ -x tests/whole/$test ] && tests/whole/$test $build/tideover >/dev/null 2>&1 || echo "$test failed"
done
find $build -name '*.gcda' -path '*/src/*' -prune -o -name '*.gcda' -print | grep -v /tests/ | while read -r data; do
    gcov -b -n -o "$(dirname "$data")" "$data" 2>/dev/null
done | awk '/^File .src\// { keep = 1 } /^File/ && !/src\// { keep = 0 }
    keep && /^Lines executed/ { split($0, a, /[:% ]+/); lines += a[5]; hit += a[3] * a[5] / 100 }
    keep && /^Branches executed/ { split($0, a, /[:% ]+/); branches += a[5] }
    keep && /^Taken at least once/ { split($0, a, /[:% ]+/); taken += a[5 + 1] * 1; t = $0; sub(/.*:/, "", t); split(t, b, /% of /); tk += b[1] * b[2] / 100; tb += b[2] }
    END { printf "lines: %.1f %% of %d; branches taken: %.1f %% of %d\n", 100 * hit / lines, lines, 100 * tk / tb, tb }'
