#!/bin/bash
# Faults at every single point: the n-th allocation of ours, of libconfig's, write, sync, close, rename, open and read fails, for every
# n; too little memory in all; signals at random moments. Each time: a message, the right exit code, earlier output untouched or a whole new set,
# no temporary left. FLAGS: those that the program was linked with.
#   proof_faults_test.sh PROGRAM
set -u
program=$(realpath "${1:?usage: proof_faults_test.sh PROGRAM}")
objects=$(dirname "$program")
cd "$(dirname "$0")/../.." || exit 1
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0 failed=0 points=0 ours=0 librarys=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); [ $failed -le 20 ] && echo "faults: $*"; }
here=tests/whole/faults
build() { # output, flags, what of: the program with every allocation of ours behind the counting gate
    # shellcheck disable=SC2086
    gcc $2 -std=gnu11 -Isrc -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -ffp-contract=off -o "$folder/$1" $3 \
        "-Wl,--wrap=base_alloc,--wrap=base_realloc,--wrap=base_arena_take,--wrap=base_arena_array" \
        -Wl,--wrap=base_arena_text,--wrap=scenario_take -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread \
        2>"$folder/log" || { cat "$folder/log"; echo "0 passed, 1 failed"; exit 1; }
}
# Every allocation fails in turn in the first, and every SAMPLE-th in the other, where leaks and overruns show.
build starved "-O1 ${FLAGS:-}" "$here/allocations.c $objects/main.o $objects/libtideover.a"
build sanitized "-O1 -g -fsanitize=address,undefined" "src/main.c $(echo src/*/*.c) $here/allocations.c"
SAMPLE=41
gcc -O1 -shared -fPIC -o "$folder/calls.so" "$here/calls.c" -ldl || exit 1
gcc -O1 -shared -fPIC -o "$folder/library.so" "$here/library.c" || exit 1
scenario=tests/reference/scenarios/09_counted_in_winter.cfg
small=tests/unit/scenario/data/good.cfg records=tests/reference/scenarios/upland_records.csv
{
    echo kind,crop,value,date,sound,spoiled,place,cured,count,note
    for year in 2001 2002 2003 2004 2005 2006; do
        for kg in 0.41 0.52 0.63; do echo "unit_kg,bean,$kg$((year % 7)),$year-10-01,,,,,1,"; done
        echo "fruits,pumpkin,$((year % 5 + 1)),$year-10-01,,,,,1,"
        echo "kept,pumpkin,,$year-10-01,$((year + 1))-01-0$((year % 9 + 1)),$((year + 1))-02-11,shelf,well,1,"
    done
} >"$folder/notebook.csv"
printf 'crops = { bean = { kind = "beans"; unit_kg = { shape = "gamma"; mean = 0.5; sd = 0.1; }; base_c = 8; heat_to_dry = 780; }; };\n' \
    >"$folder/prior.cfg"
"$program" run "$scenario" --trials 300 --out "$folder/before" --per-trial --quiet 2>/dev/null

same_as_before() { diff -rq "$folder/before" "$folder/now" >/dev/null; }
whole_set() { # every file of the package is there with its hash
    python3 - "$folder/now" <<'P'
import hashlib, json, os, sys
folder = sys.argv[1]
for r in json.load(open(os.path.join(folder, "datapackage.json")))["resources"]:
    if hashlib.sha256(open(os.path.join(folder, r["path"]), "rb").read()).hexdigest() != r["hash"][7:]:
        sys.exit(1)
P
}
fresh() { rm -rf "$folder/now"; cp -r "$folder/before" "$folder/now"; }
judge() { # what, exit code, codes allowed
    case " $3 " in *" $2 "*) ok ;; *) bad "$1: exit code $2"; head -n 3 "$folder/err" ;; esac
    if [ "$2" -ne 0 ] && ! [ -s "$folder/err" ]; then bad "$1: failed without a word"; else ok; fi
    if grep -q "Sanitizer\|runtime error" "$folder/err"; then bad "$1: $(grep -m1 'Sanitizer\|runtime error' "$folder/err")"; else ok; fi
    if [ -n "$(find "$folder/now" -name '.*.part')" ]; then bad "$1: a temporary file is left"; else ok; fi
    points=$((points + 1))
}

for part in 1 2; do "$program" run "$scenario" --trials 20 --part $part/2 --out "$folder/parts" --quiet 2>/dev/null; done

# ---- allocations -----------------------------------------------------------------------------------------------------
# One thread: else which allocation is the n-th is chance.
commands=("run $scenario --trials 20 --threads 1 --per-trial" "check scenarios/base.cfg --configs configs --threads 1"
          "compare scenarios/base.cfg --configs configs --versus plantings.runner_row.count+=1 --trials 20 --threads 1"
          "run tests/reference/scenarios/04_records_weather.cfg --trials 20 --threads 1"
          "run $scenario --trials 3000 --threads 1 --per-trial --decimal-comma"
          "season $records --generate 100" "season $records --base 5 --base 9 --fahrenheit --year-starts 09-01"
          "fit $folder/notebook.csv --weather $records --prior $folder/prior.cfg --weight 6"
          "why $scenario --trials 20 --threads 1"
          "size $small --by plantings.row.count=1..4 --risk 0.3 --most-trials 2000 --threads 1"
          "vary $small --over plantings.row.count=1..3 --over plantings.bed.count=1,2 --trials 20 --threads 1"
          "compare $small --versus climate.warmth=1 --until-clear --worth 0.5 --most-trials 4000 --threads 1"
          "run $small --set crops.bean.unit_kg={shape=\"gamma\";mean=0.5;sd=0.1;from_records=9;} --trials 20 --threads 1"
          "run $small --set climate.this_season.last_frost=\"05-20\" --precision 0.05 --threads 1"
          "run $small --set sampling=sobol --trials 40 --threads 1"
          "diary $scenario --trial 3 --threads 1"
          "run $scenario --trials 20 --threads 1 --part 1/2 --state $folder/state"
          "merge $folder/parts/part-1-of-2.tideover-state $folder/parts/part-2-of-2.tideover-state --threads 1")
for command in "${commands[@]}"; do
    fresh
    rm -f "$folder/state"
    # shellcheck disable=SC2086
    FAULT_COUNT=$folder/count "$folder/starved" $command --out "$folder/now" >/dev/null 2>"$folder/err"
    read -r n sites <"$folder/count"
    [ "${n:-0}" -gt 4 ] || bad "$command: only $n allocations were counted"
    fresh
    for ((i = 1; i <= n; i++)); do
        built=starved
        [ $((i % SAMPLE)) -eq 1 ] && built=sanitized
        rm -f "$folder/state"
        # shellcheck disable=SC2086
        FAULT_ALLOCATION=$i "$folder/$built" $command --out "$folder/now" >/dev/null 2>"$folder/err"
        judge "allocation $i of $n in '${command%% *}'" $? "1"
        if [ $((i % SAMPLE)) -eq 1 ] && ! same_as_before; then bad "allocation $i in '$command': earlier output was touched"; fresh; fi
    done
    same_as_before || bad "allocations in '$command': earlier output was touched"
    for ((i = 1; i <= sites; i++)); do
        rm -f "$folder/state"
        # shellcheck disable=SC2086
        FAULT_SITE=$i "$folder/starved" $command --out "$folder/now" >/dev/null 2>"$folder/err"
        judge "place $i of $sites in '${command%% *}'" $? "1"
    done
    same_as_before || bad "places in '$command': earlier output was touched"
    # libconfig's own: it crashes on most of them, or exits, or leaves words out; always with a message and as a failure.
    rm -f "$folder/state"
    # shellcheck disable=SC2086
    FAULT_COUNT=$folder/count LD_PRELOAD=$folder/library.so "$program" $command --out "$folder/now" >/dev/null 2>"$folder/err"
    library=$(od -An -td8 "$folder/count" | tr -d ' ')
    fresh
    for ((i = 1; i <= library; i++)); do
        rm -f "$folder/state"
        # shellcheck disable=SC2086
        FAULT_LIBRARY=$i LD_PRELOAD=$folder/library.so "$program" $command --out "$folder/now" >/dev/null 2>"$folder/err"
        judge "libconfig's allocation $i of $library in '${command%% *}'" $? "1"
        grep -q "memory ran out" "$folder/err" || bad "libconfig's allocation $i in '${command%% *}': $(head -n 1 "$folder/err")"
    done
    same_as_before || bad "libconfig's allocations in '$command': earlier output was touched"
    ours=$((ours + n)) librarys=$((librarys + library))
    echo "allocations of '${command%% *}': $n points, $sites places that take memory, $library of libconfig's own"
done
[ $librarys -gt 0 ] && ok || bad "none of libconfig's allocations was counted"
echo "allocations in all: $ours of ours, $librarys of libconfig's"

# ---- too little memory in all: libconfig, libcsv and GSL get none either -------------------------------------------------------
least=0 enough=0
for command in "run $scenario --trials 20 --threads 1" "check scenarios/base.cfg --configs configs" "fit $folder/notebook.csv"; do
    for ((kib = 8000; kib <= 16000; kib += 64)); do
        fresh
        # shellcheck disable=SC2086
        (ulimit -v $kib; exec "$program" $command --out "$folder/now" >/dev/null 2>"$folder/err")
        code=$?
        if grep -q "while loading shared libraries" "$folder/err"; then continue; fi
        [ $code -eq 0 ] && enough=$((enough + 1)) || least=$((least + 1))
        judge "'${command%% *}' in $kib KiB" $code "0 1"
    done
done
[ $least -gt 0 ] && [ $enough -gt 0 ] && ok || bad "no limit was too little, or none enough ($least, $enough)"
echo "too little memory in all: $least points ($enough were enough)"

# ---- calls -----------------------------------------------------------------------------------------------------------------
try() { # call errno allowed-codes
    fresh
    FAULT_CALL=$1 FAULT_COUNT=$folder/count LD_PRELOAD=$folder/calls.so "$program" run "$scenario" --trials 300 --threads 1 --per-trial \
        --random-seed 5 --out "$folder/now" >/dev/null 2>"$folder/err"
    local n i code
    n=$(cat "$folder/count")
    for ((i = 1; i <= n; i++)); do
        fresh
        FAULT_CALL=$1 FAULT_N=$i FAULT_ERRNO=$2 LD_PRELOAD=$folder/calls.so "$program" run "$scenario" --trials 300 --threads 1 \
            --per-trial --random-seed 5 --out "$folder/now" >/dev/null 2>"$folder/err"
        code=$?
        judge "$1 number $i of $n ($2)" $code "$3"
        if [ $code -eq 0 ]; then whole_set || bad "$1 number $i ($2): reported done, but the set is not whole"
        elif [ "$1" != renameat ] && [ "$1" != fsync ]; then same_as_before || bad "$1 number $i ($2): earlier output was touched"; fi
    done
    echo "$1 with errno $2: $n points"
}
try write 28 "1"; try write 5 "1"; try write 4 "0"; try write short "0"
try fsync 5 "1"; try close 5 "0 1"; try renameat 28 "1"; try openat 28 "1"
try read 5 "0 1 2"; try read short "0"

# A run that keeps a state: whatever fails, the same command then goes on to the same bytes.
keeps() { # call errno
    local part=("$program" run "$scenario" --trials 20 --threads 1 --part 1/2 --state "$folder/keep/state" --out "$folder/now" --quiet)
    local name=part-1-of-2.tideover-state n i code
    fresh
    FAULT_CALL=$1 FAULT_COUNT=$folder/count LD_PRELOAD=$folder/calls.so "${part[@]}" 2>/dev/null
    n=$(cat "$folder/count")
    [ "${n:-0}" -gt 0 ] || bad "$1: only $n points while a state is kept"
    for ((i = 1; i <= n; i++)); do
        fresh
        rm -rf "$folder/keep"
        FAULT_CALL=$1 FAULT_N=$i FAULT_ERRNO=$2 LD_PRELOAD=$folder/calls.so "${part[@]}" >/dev/null 2>"$folder/err"
        code=$?
        judge "state: $1 number $i of $n ($2)" $code "0 1 2"
        [ -z "$(find "$folder/keep" -name '.*.part' 2>/dev/null)" ] || bad "state: $1 number $i ($2): a temporary file is left"
        [ $code -ne 0 ] || cmp -s "$folder/now/$name" "$folder/parts/$name" || bad "state: $1 number $i ($2): done, but to other bytes"
        "${part[@]}" 2>"$folder/err" && cmp -s "$folder/now/$name" "$folder/parts/$name" || bad "state: $1 number $i ($2): does not go on"
    done
    echo "$1 with errno $2 while a state is kept: $n points"
}
keeps write 28; keeps fsync 5; keeps close 5; keeps renameat 28; keeps openat 28; keeps read 5

# ---- signals -------------------------------------------------------------------------------------------------------------
catches() { # whether the process has its handlers in place; before that a signal falls upon the shell's fork, not upon our program
    local mask
    mask=$(awk '/^SigCgt/ { print $2 }' "/proc/$1/status" 2>/dev/null)
    [ $((0x${mask:-0} & 0x4002)) -eq $((0x4002)) ]
}
for ((i = 0; i < 12; i++)); do
    for signal in INT TERM KILL; do
        fresh
        "$program" run scenarios/base.cfg --trials 30000000 --out "$folder/now" >/dev/null 2>"$folder/err" &
        pid=$!
        for ((wait = 0; wait < 1000; wait++)); do catches $pid && break; sleep 0.01; done
        sleep "0.$(printf '%02d' $((i * 4)))"
        kill -s $signal $pid 2>/dev/null
        wait $pid 2>/dev/null
        code=$?
        points=$((points + 1))
        case $signal in INT) want=130 ;; TERM) want=143 ;; KILL) want=137 ;; esac
        [ $code -eq $want ] && ok || bad "SIG$signal after 0.$((i * 4)) s: exit code $code"
        same_as_before || [ $signal = KILL ] || bad "SIG$signal: earlier output was touched"
        [ $signal = KILL ] || [ -s "$folder/err" ] || bad "SIG$signal: ended without a word"
    done
done
echo "$points points were tried"
echo "$passed passed, $failed failed"
[ $failed -eq 0 ]
