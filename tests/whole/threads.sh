#!/bin/bash
# Runs the program, built with the thread sanitizer, with several threads: it must find no race, and 1, 2 and 7 threads
# must write the same bytes.
set -eu
program=${1:?usage: threads.sh PROGRAM}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0
export TSAN_OPTIONS=halt_on_error=1
for scenario in tests/reference/scenarios/06_own_seed_three_years.cfg tests/reference/scenarios/10_counted_at_harvest.cfg; do
    for trials in 700 3000; do
        for threads in 1 2 7; do
            "$program" run "$scenario" --trials $trials --threads $threads --out "$folder/$threads" --per-trial --quiet 2>/dev/null
        done
        for threads in 1 7; do
            "$program" run "$scenario" --trials $trials --part 2/3 --state "$folder/state" --threads $threads --out "$folder/part$threads" \
                --quiet 2>/dev/null
        done
        cmp "$folder/part1/part-2-of-3.tideover-state" "$folder/part7/part-2-of-3.tideover-state"
        passed=$((passed + 1))
        for file in summary.csv weeks.csv trials.csv effective.cfg datapackage.json; do
            cmp "$folder/1/$file" "$folder/2/$file"
            cmp "$folder/1/$file" "$folder/7/$file"
            passed=$((passed + 2))
        done
    done
done
for threads in 1 7; do                  # trials that share words out, and the pairs that their bound comes from
    "$program" run tests/reference/scenarios/06_own_seed_three_years.cfg --set sampling=sobol --trials 700 --threads $threads \
        --out "$folder/sampled$threads" --quiet 2>/dev/null
done
for file in summary.csv sampling.csv; do
    cmp "$folder/sampled1/$file" "$folder/sampled7/$file"
    passed=$((passed + 1))
done
echo "$passed passed, 0 failed"
