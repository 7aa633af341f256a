#!/bin/bash
# Faults at every single point: the n-th allocation of ours, write, sync, close, rename, open and read fails, for every n; signals at
# random moments. Each time: a message, the right exit code, earlier output untouched or a whole new set, no temporary left.
#   proof_faults_test.sh PROGRAM [LIBRARY.a]
set -u
program=$(realpath "${1:?usage: proof_faults_test.sh PROGRAM}")
library=${2:-$(dirname "$program")/libtideover.a}
cd "$(dirname "$0")/../.." || exit 1
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0 failed=0 points=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); [ $failed -le 20 ] && echo "faults: $*"; }
here=tests/whole/faults
build() { # output, flags: the program with every allocation of ours behind the counting gate
    gcc $2 -std=gnu11 -Isrc -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -ffp-contract=off -o "$folder/$1" src/main.c src/*/*.c \
        "$here/allocations.c" -Wl,--wrap=base_alloc,--wrap=base_realloc -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread \
        2>"$folder/log" || { cat "$folder/log"; echo "0 passed, 1 failed"; exit 1; }
}
build starved "-O2"                     # every allocation fails in turn here,
build sanitized "-O1 -g -fsanitize=address,undefined" # and every SAMPLE-th here, where leaks and overruns show
SAMPLE=41
gcc -O1 -shared -fPIC -o "$folder/calls.so" "$here/calls.c" -ldl || exit 1
scenario=tests/reference/scenarios/09_counted_in_winter.cfg
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
commands=("run $scenario --trials 20 --threads 1 --per-trial" "check scenarios/base.cfg --configs configs"
          "compare scenarios/base.cfg --configs configs --versus plantings.runner_row.count+=1 --trials 20 --threads 1"
          "run tests/reference/scenarios/04_records_weather.cfg --trials 20 --threads 1"
          "run $scenario --trials 20 --threads 1 --part 1/2 --state $folder/state"
          "merge $folder/parts/part-1-of-2.tideover-state $folder/parts/part-2-of-2.tideover-state")
for command in "${commands[@]}"; do
    fresh
    # shellcheck disable=SC2086
    FAULT_COUNT=$folder/count "$folder/starved" $command --out "$folder/now" >/dev/null 2>"$folder/err"
    n=$(cat "$folder/count")
    [ "${n:-0}" -gt 10 ] || bad "$command: only $n allocations were counted"
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
    echo "allocations of '${command%% *}': $n points"
done

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
