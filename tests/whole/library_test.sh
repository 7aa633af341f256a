#!/bin/bash
# The library of configs and the scenarios: library_test.sh PROGRAM. Every config loads in a combination and
# is listed, no two add the same crop, every scenario runs without error or warning and asks a question.
set -u
program=$(realpath "${1:?usage: library_test.sh PROGRAM}")
cd "$(dirname "$0")/../.." || exit 1
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT
passed=0 failed=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); echo "library: $*"; }
at_least() { if [ "$1" -ge "$2" ]; then ok; else bad "$1 $3, and at least $2 are needed"; fi; }
# clean CODE WHAT: it went well and had nothing to say on stderr, no warning either.
clean() {
    if [ "$1" -eq 0 ] && [ ! -s "$work/said" ]; then ok; else bad "$2: $1 $(head -3 "$work/said")"; fi
}

# combine CROP CLIMATE HOUSEHOLD: a scenario of just these three, checked; its settings in $work/settings.
combine() {
    local crop
    crop=$(basename "$1" .cfg)
    printf 'extends = ("%s", "%s", "%s");\nplantings = { only = { crop = "%s"; count = 2; }; };\n' \
        "$2" "$3" "$1" "$crop" > "$work/combined.cfg"
    "$program" check "$work/combined.cfg" --configs configs > "$work/settings" 2> "$work/said"
    local code=$?
    clean $code "$1 with $2 and $3"
}

"$program" library --configs configs > "$work/listed" 2> "$work/said" || bad "library: $(cat "$work/said")"
beans=0 squash=0
: > "$work/names"
for crop in configs/crops/*.cfg; do
    name=$(basename "$crop" .cfg)
    combine "crops/$name.cfg" climates/cool_maritime.cfg households/couple.cfg
    grep -o '^crops\.[a-z_]*\.kind' "$work/settings" > "$work/here"
    added=$(tr '\n' ' ' < "$work/here")
    if [ "$added" = "crops.$name.kind " ]; then ok; else bad "$crop adds $added"; fi
    cat "$work/here" >> "$work/names"
    if grep -q '\.kind = "beans"' "$work/settings"; then beans=$((beans + 1)); else squash=$((squash + 1)); fi
done
twice=$(sort "$work/names" | uniq -d)
if [ -z "$twice" ]; then ok; else bad "more than one config adds $twice"; fi
at_least "$beans" 4 "kinds of beans"
at_least "$squash" 5 "kinds of squash"
at_least "$(ls configs/climates/*.cfg | wc -l)" 4 climates
at_least "$(ls configs/households/*.cfg | wc -l)" 3 households
for climate in configs/climates/*.cfg; do
    for household in configs/households/*.cfg; do
        combine crops/mottled_climbing_bean.cfg "${climate#configs/}" "${household#configs/}"
    done
done
for config in configs/*/*.cfg; do
    said=$(awk -v name="${config#configs/}" '$1 == name {$1 = ""; print}' "$work/listed")
    if [ ${#said} -gt 10 ]; then ok; else bad "$config is listed without what it is"; fi
done

at_least "$(ls scenarios/*.cfg | wc -l)" 8 scenarios
for scenario in scenarios/*.cfg; do
    "$program" run "$scenario" --configs configs --trials 300 --out "$work/out" > /dev/null 2> "$work/said"
    code=$?
    clean $code "$scenario"
    "$program" check "$scenario" --configs configs > "$work/settings" 2>&1
    if grep -q '^title = ".*?"' "$work/settings"; then ok; else bad "the title of $scenario asks nothing"; fi
    if grep -qi invented "$scenario"; then ok; else bad "$scenario does not say that it is invented"; fi
done

mkdir "$work/records" && cp scenarios/records/make_invented_plot.py "$work/records/"
(cd "$work/records" && /usr/bin/python3 make_invented_plot.py)
if cmp -s "$work/records/invented_plot.csv" scenarios/records/invented_plot.csv; then ok; else
    bad "make_invented_plot.py does not make scenarios/records/invented_plot.csv"
fi
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ]
