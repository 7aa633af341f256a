#!/bin/bash
# The rules of the house that a machine can check: a room includes only rooms to its left; exported names carry the room's
# name; no variable outside a function but the signal's flag; functions and files stay small.
set -u
cd "$(dirname "$0")/../.." || exit 1
lib=${1:?usage: house.sh LIBRARY.a}
street="base scenario chance plan season harvest store kitchen future tally decide records"
conduct="engine report command"
passed=0 failed=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); echo "house: $*"; }

place() { local i=0 room; for room in $street; do i=$((i + 1)); [ "$room" = "$1" ] && { echo $i; return; }; done; echo 99; }
for file in src/*/*.[ch]; do
    room=$(basename "$(dirname "$file")")
    here=$(place "$room")
    for other in $(sed -n 's/^#include "\([a-z]*\)\/.*/\1/p' "$file" | sort -u); do
        [ "$other" = "$room" ] && continue
        there=$(place "$other")
        case " $conduct " in *" $room "*)
            # report knows no engine and no command; engine knows only base
            if [ "$room" = engine ] && [ "$other" != base ]; then bad "$file includes $other"; else ok; fi
            continue ;;
        esac
        if [ "$there" -lt "$here" ]; then ok; else bad "$file (room $room) includes $other, which is to its right"; fi
    done
done
while read -r object symbol; do
    room=$(basename "$(dirname "$object")")
    case "$symbol" in "${room}"_*|main) ok ;; *) bad "$symbol in $object does not carry its room's name" ;; esac
done < <(find "$(dirname "$lib")" -mindepth 2 -maxdepth 2 -name '*.o' | while read -r o; do
    [ -f "src/${o#"$(dirname "$lib")"/}" ] || [ -f "src/$(echo "${o%.o}.c" | sed "s|^$(dirname "$lib")/||")" ] || continue
    nm -g --defined-only "$o" | awk -v o="$o" '{print o, $3}'; done)
globals=$(objdump -t "$lib" | awk '$0 ~ / O (\.data|\.bss|\.data\.rel|\.data\.rel\.local|\*COM\*)\t/ {print $NF}' | grep -vx came || true)
if [ -z "$globals" ]; then ok; else bad "variables outside functions: $globals"; fi
for file in src/*/*.[ch] src/*.c; do
    lines=$(wc -l < "$file")
    if [ "$lines" -le 600 ]; then ok; else bad "$file has $lines lines (600 at most)"; fi
    long=$(awk '/^[a-z].*\)$/ || /^[a-z].*,$/ {name=$0} /^\{/ {start=NR} /^\}/ {if (start && NR - start - 1 > 45) print NR - start - 1 " lines: " name; start=0}' "$file")
    if [ -z "$long" ]; then ok; else bad "$file: $long"; fi
done
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && [ "$passed" -gt 100 ]
