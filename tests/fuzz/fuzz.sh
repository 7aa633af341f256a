#!/bin/bash
# fuzz.sh [SECONDS]: builds every fuzz target with libFuzzer and the sanitizers, runs each for so long (default 60), and reports
# executions and coverage. A finding is left in build/fuzz.
set -u
cd "$(dirname "$0")/../.." || exit 1
seconds=${1:-60}
mkdir -p build/fuzz
passed=0 failed=0
sources=$(ls src/*/*.c)
for target in tests/fuzz/*_fuzz.c; do
    name=$(basename "$target" _fuzz.c)
    # shellcheck disable=SC2086
    clang -O1 -g -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -ffp-contract=off -Isrc -fsanitize=fuzzer,address,undefined \
        -o "build/fuzz/$name" "$target" $sources -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread || { failed=$((failed + 1)); continue; }
    mkdir -p "build/fuzz/$name.corpus"
    case $name in
        records) cp tests/reference/scenarios/*.csv "build/fuzz/$name.corpus/" ;;
        notebook) cp tests/unit/records/data/*.csv "build/fuzz/$name.corpus/" 2>/dev/null ;;
        *) find tests/unit/scenario/data -name '*.cfg' -exec cp {} "build/fuzz/$name.corpus/" \; ;;
    esac
    if "build/fuzz/$name" -max_total_time="$seconds" -max_len=8192 -artifact_prefix="build/fuzz/$name." -print_final_stats=1 \
        "build/fuzz/$name.corpus" >"build/fuzz/$name.log" 2>&1; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        tail -n 20 "build/fuzz/$name.log"
    fi
    echo "$name: $(sed -n 's/^stat::number_of_executed_units: *//p' "build/fuzz/$name.log") executions, coverage $(grep -o 'cov: [0-9]*' "build/fuzz/$name.log" | tail -n 1)"
done
echo "$passed passed, $failed failed"
[ $failed -eq 0 ] && [ $passed -gt 0 ]
