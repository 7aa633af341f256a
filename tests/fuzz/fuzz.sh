#!/bin/bash
# fuzz.sh [SECONDS [ENGINE [NAME ...]]]: any bytes at every reader, from memory, in one process: the targets here (all, or those
# named) for so long each (default 60) under the address and undefined-behaviour sanitizers. ENGINE: libfuzzer (default) or afl.
# Reports executions and coverage; a finding is left in build/fuzz. What was learnt stays in build/fuzz/NAME.corpus.
set -u
cd "$(dirname "$0")/../.." || exit 1
seconds=${1:-60} engine=${2:-libfuzzer}
shift $(($# < 2 ? $# : 2))
names=${*:-records notebook set scenario state}
build=build/fuzz/$engine
mkdir -p "$build"
# What is freed is kept back shorter, and where it was taken told in fewer calls: twice as fast. Crashes in libconfig are told too.
export ASAN_OPTIONS=quarantine_size_mb=16:malloc_context_size=6:handle_segv=2
flags="-O2 -g -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -ffp-contract=off -Isrc -Itests/fuzz"
libraries="-lconfig -lcsv -lgsl -lgslcblas -lm -lpthread"
case $engine in
    libfuzzer) cc="clang -fsanitize=address,undefined,float-cast-overflow -fno-sanitize-recover=all" object="-fsanitize=fuzzer-no-link" ;;
    afl) cc="afl-clang-fast" object=-g; ASAN_OPTIONS+=:abort_on_error=1:symbolize=0; export AFL_USE_ASAN=1 AFL_USE_UBSAN=1 AFL_QUIET=1 ;;
    *) echo "ENGINE is libfuzzer or afl"; exit 2 ;;
esac

objects() { # the program's files, two at a time, those that are older than their source or any header
    local source out newest
    newest=$(ls -t src/*/*.h tests/fuzz/*.h | head -n 1)
    for source in src/*/*.c tests/fuzz/*.c; do
        out=$build/$(basename "$(dirname "$source")")_$(basename "$source" .c).o
        [ "$out" -nt "$source" ] && [ "$out" -nt "$newest" ] && continue
        case $source in */sha256.c) echo "$source" "$out" -g ;; *) echo "$source" "$out" "$object" ;; esac # its branches teach nothing
    done | xargs -r -n 3 -P 2 sh -c "$cc \$2 $flags -c -o \"\$1\" \"\$0\"" || return 1
}

seeds() { # name: what the tests read already, short enough to be turned quickly
    local into=$1
    case $(basename "$into" .corpus) in
        records) for f in tests/reference/scenarios/*.csv tests/whole/bad/*.csv; do head -n 40 "$f" >"$into/$(basename "$f")"; done ;;
        notebook)
            printf '%s\n' kind,crop,value,date,sound,spoiled,place,cured,count,note unit_kg,beans,0.7,2024-10-01,,,,,1, \
                kept,squash,,2024-10-10,2025-01-01,2025-02-01,shelf,well,1, >"$into/commas.csv"
            printf '%s\n' 'kind;crop;value;date;note' 'fruits;squash;4;;"a ""note"" of mine"' 'fruit_kg;squash;1,25;2024-09-30;' \
                >"$into/semicolons.csv" ;;
        set) printf '%s\n' plantings.row.count+=1 household.eaters=0 'crops.bean.unit_kg={p10=0.3;p50=0.5;p90=0.8;}' >"$into/1"
            printf '%s\n' 'climate.tmin_c=[1,1,3,4,7,10,12,11,9,7,4,2]' 'plantings.row.count-=0.5' 'title="x"' trials=10 >"$into/2"
            printf '?crops.bean.unit_kg' >"$into/3" ;;
        state) FUZZ_SEEDS=$into "$build/state" -runs=0 >"$build/seeds.log" 2>&1 </dev/null ;;
        scenario) for f in $(find tests/unit/scenario/data tests/whole/bad tests/reference/scenarios -name '*.cfg'); do
                cp "$f" "$into/$(echo "$f" | tr / _)"; done
            { cat tests/unit/scenario/data/layers.cfg; printf '\036'; cat tests/unit/scenario/data/good.cfg; } >"$into/two_files" ;;
    esac
}

dictionary() { # name: the words of that language
    case $1 in
        records) printf '%s\n' date tmin tmax 2024-02-29 2023-12-31 -03-01 , ';' ',,' 1e9 -0.5 '\"' ;;
        state) printf '%s\n' tideover '\x00\x00\x00\x00' '\xff\xff\xff\xff' ;;
        notebook) printf '%s\n' kind crop value date sound spoiled place cured count note unit_kg fruits fruit_kg kept well poor \
            unripe 2024-02-29 , ';' '\"' '1,5' ;;
        *) grep -ohE '[a-z_]{2,}[0-9]*' tests/unit/scenario/data/full.cfg | sort -u
            printf '%s\n' '@include \"good.cfg\"' 'extends = ' '\"12-31\"' '{ ' '}; ' '( ' '); ' '+=' '-=' 'true' 1e308 -1 0 ;;
    esac | sed 's/.*/"&"/'
}

with_libfuzzer() { # name, corpus: the log's last lines say what was reached
    "$build/$1" -max_total_time="$seconds" -max_len="$3" -fork=0 -dict="$build/$1.dict" -artifact_prefix="build/fuzz/$1." \
        -print_final_stats=1 -rss_limit_mb=3000 "$2" >"$build/$1.log" 2>&1
    local code=$?
    echo "$1: $(sed -n 's/^stat::number_of_executed_units: *//p' "$build/$1.log") executions in $seconds s, coverage" \
        "$(grep -o 'cov: [0-9]*' "$build/$1.log" | tail -n 1 | cut -c 6-) of" \
        "$(sed -n 's/.*(\([0-9]*\) inline 8-bit counters.*/\1/p' "$build/$1.log" | head -n 1) edges, $(find "$2" -type f | wc -l) inputs"
    return $code
}

with_afl() {
    local out=$build/$1.out
    rm -rf "$out"
    AFL_NO_UI=1 AFL_SKIP_CPUFREQ=1 AFL_I_DONT_CARE_ABOUT_MISSING_CRASHES=1 AFL_NO_AFFINITY=1 afl-fuzz -V "$seconds" -m none -G "$3" \
        -x "$build/$1.dict" -i "$2" -o "$out" -- "$build/$1" >"$build/$1.log" 2>&1
    local code=$? stats=$out/default/fuzzer_stats
    said() { sed -n "s/^$1 *: *//p" "$stats"; }
    echo "$1: $(said execs_done) executions in $seconds s, coverage $(said edges_found) of $(said total_edges) edges," \
        "$(said corpus_count) inputs"
    [ $code -eq 0 ] && [ "$(said saved_crashes)" = 0 ] && [ "$(said saved_hangs)" = 0 ]
}

objects || { echo "0 passed, 1 failed"; exit 1; }
rm -f "$build/all.a"
# shellcheck disable=SC2046
ar rcs "$build/all.a" $(ls "$build"/*.o | grep -v "/fuzz_")     # of which a target takes, and covers, what it needs
passed=0 failed=0
for name in $names; do
    corpus=build/fuzz/$name.corpus
    dictionary "$name" >"$build/$name.dict"
    # shellcheck disable=SC2086
    $cc -fsanitize=fuzzer -Wl,--wrap=base_read_file -o "$build/$name" "$build/fuzz_${name}_fuzz.o" "$build/fuzz_memory.o" \
        "$build/all.a" $libraries || { failed=$((failed + 1)); continue; }
    [ -d "$corpus" ] || { mkdir -p "$corpus"; seeds "$corpus"; }
    case $name in scenario) most=4096 ;; set) most=512 ;; state) most=16384 ;; *) most=1024 ;; esac
    if "with_$engine" "$name" "$corpus" $most; then
        passed=$((passed + 1))
    else
        failed=$((failed + 1))
        tail -n 20 "$build/$name.log"
    fi
done
echo "$passed passed, $failed failed"
[ $failed -eq 0 ] && [ $passed -gt 0 ]
