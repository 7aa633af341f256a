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
    longest=8192
    case $name in
        records) cp tests/reference/scenarios/*.csv "build/fuzz/$name.corpus/" ;;
        notebook) printf '%s\n' kind,crop,value,date,sound,spoiled,place,cured,count,note unit_kg,beans,0.7,2024-10-01,,,,,1, \
            kept,squash,,2024-10-10,2025-01-01,2025-02-01,shelf,well,1, >"build/fuzz/$name.corpus/notebook.csv" ;;
        state) # a run that keeps every value, and a part of one that does not
            build/tideover run tests/reference/scenarios/16_every_shape.cfg --trials 2 --part 1/1 --out build/fuzz/state.corpus --quiet
            build/tideover run tests/reference/scenarios/16_every_shape.cfg --trials 3000 --part 1/188 --out build/fuzz/state.corpus --quiet
            longest=131072 ;;
        *) find tests/unit/scenario/data -name '*.cfg' -exec cp {} "build/fuzz/$name.corpus/" \; ;;
    esac
    if "build/fuzz/$name" -max_total_time="$seconds" -max_len=$longest -artifact_prefix="build/fuzz/$name." -print_final_stats=1 \
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
