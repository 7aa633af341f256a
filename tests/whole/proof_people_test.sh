#!/bin/bash
# proof_people_test.sh PROGRAM: for people, with outside programs: spreadsheets (Gnumeric's ssconvert,
# LibreOffice headless), R, pandas and Miller, mandoc, installing, the Debian package (dpkg-buildpackage,
# lintian), the other compiler (clang). What cannot be installed is passed over by name.
set -u
program=$(realpath "${1:?usage: proof_people_test.sh PROGRAM}")
root=$(cd "$(dirname "$0")/../.." && pwd)
build=$(dirname "$program")
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$root" || exit 1
passed=0 failed=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); echo "people: $*"; }
is() { if [ "$2" = "$3" ]; then ok; else bad "$1: found \"$2\", should be \"$3\""; fi; }
# have WHAT PACKAGE...: whether a part can be done
have() {
    local what=$1
    shift
    .ci/need "$@" >"$folder/need" 2>&1 && return 0
    echo "passed over: $what ($* cannot be installed)"
    return 1
}

# ---- files of every command, both dialects -----------------------------------------------------------------
cat >"$folder/notebook.csv" <<'C'
kind,crop,value,date,sound,spoiled,place,cured
unit_kg,climbing_french_bean,1.31,2019-10-02,,,,
unit_kg,climbing_french_bean,0.92,2020-10-02,,,,
unit_kg,climbing_french_bean,1.55,2021-10-02,,,,
unit_kg,climbing_french_bean,1.20,2022-10-02,,,,
unit_kg,climbing_french_bean,1.02,2023-10-02,,,,
unit_kg,climbing_french_bean,1.44,2024-10-02,,,,
kept,buttercup_squash,,2020-10-05,2020-12-01,2020-12-08,shed,well
kept,buttercup_squash,,2021-10-05,2022-01-20,2022-02-03,shed,well
kept,buttercup_squash,,2021-10-05,2022-02-20,,shed,well
kept,buttercup_squash,,2022-10-05,2022-12-20,2022-12-27,shed,well
kept,buttercup_squash,,2022-10-05,2023-01-03,2023-01-10,shed,well
kept,buttercup_squash,,2023-10-05,2024-03-01,2024-03-08,shed,well
kept,buttercup_squash,,2024-10-05,2024-11-20,2024-11-27,shed,well
C
wigwams=plantings.french_wigwams
make_both() {
    local name=$1
    shift
    "$program" "$@" --quiet --out "$folder/point/$name" || bad "$name failed"
    "$program" "$@" --quiet --decimal-comma --out "$folder/comma/$name" || bad "$name --decimal-comma failed"
}
mkdir "$folder/point" "$folder/comma"
make_both run run scenarios/base.cfg --trials 3000 --per-trial
make_both years run scenarios/three_years.cfg --trials 1000 --per-trial
make_both compare compare scenarios/base.cfg scenarios/warmer_place.cfg --versus "$wigwams.count+=1" --trials 1000
make_both vary vary scenarios/base.cfg --over "$wigwams.plant_out=05-10..06-10:7" --over "$wigwams.count=3,5" --trials 500
make_both size size scenarios/base.cfg --by "$wigwams.count=1..6" --risk 0.3 --most-trials 2000
make_both why why scenarios/base.cfg --trials 1000
make_both season season scenarios/records/invented_plot.csv
make_both fit fit "$folder/notebook.csv" --weather scenarios/records/invented_plot.csv
for name in summary weeks trials compare vary size rungs why season chances fit keeping warmth; do
    case $(echo "$folder"/point/*/$name.csv) in *'*'*) bad "$name.csv is not there" ;; *) ok ;; esac
done

# A file longer than a spreadsheet is said to be, before it is written.
timeout -s INT 2 "$program" run scenarios/base.cfg --trials 1048576 --per-trial --out "$folder/long" >/dev/null 2>"$folder/stderr"
grep -q "1,048,576" "$folder/stderr" && ok || bad "no word of a spreadsheet's rows"

# ---- spreadsheets ------------------------------------------------------------------------------------------
# converted WHAT DIALECT FORM: what the spreadsheets read against the files
converted() {
    local counts
    counts=$(tests/whole/spreadsheet.py "$folder/$2" "$3" "$folder/sheets" 2>/dev/null) ||
        bad "$1: spreadsheet.py failed"
    echo "$counts" | sed '$d'
    set -- "$1" $(echo "$counts" | tail -n 1)
    passed=$((passed + $2)) failed=$((failed + $3))
    [ "$2" -ge 13 ] || bad "$1: only $2 tables were read"
}
# gather DIALECT SUFFIX: the dialect's tables as RUN_NAME.SUFFIX in one folder
gather() {
    rm -rf "$folder/tables" "$folder/sheets"
    mkdir "$folder/tables" "$folder/sheets"
    for table in "$folder/$1"/*/*.csv; do
        cp "$table" "$folder/tables/$(basename "$(dirname "$table")")_$(basename "$table" .csv).$2"
    done
}
# Gnumeric takes a comma for the separator of whatever is called .csv; under another name it asks the locale,
# as its users do.
if have "Gnumeric" gnumeric locales; then
    mkdir "$folder/locales"
    localedef -i de_DE -f UTF-8 "$folder/locales/de_DE.UTF-8"
    gather point csv
    for table in "$folder"/tables/*; do
        LC_ALL=C.UTF-8 ssconvert "$table" "$folder/sheets/$(basename "$table" .csv).gnumeric" >/dev/null 2>&1
    done
    converted "Gnumeric" point gnumeric
    gather comma txt
    for table in "$folder"/tables/*; do
        LOCPATH=$folder/locales LC_ALL=de_DE.UTF-8 ssconvert -I Gnumeric_stf:stf_csvtab "$table" \
            "$folder/sheets/$(basename "$table" .txt).gnumeric" >/dev/null 2>&1
    done
    converted "Gnumeric, decimal commas" comma gnumeric
fi
# LibreOffice: as it opens a CSV; then separator 59 (semicolon), quotation mark 34, UTF-8 (76), from line 1,
# language 1031 (German).
if have "LibreOffice Calc" libreoffice-calc; then
    office() { soffice "-env:UserInstallation=file://$folder/office" --headless "$@" --convert-to fods --outdir "$folder/sheets" \
        "$folder"/tables/*.csv >/dev/null 2>&1; }
    gather point csv
    office
    converted "LibreOffice" point fods
    gather comma csv
    office --infilter="CSV:59,34,76,1,,1031,false,true"
    converted "LibreOffice, decimal commas" comma fods
fi

# ---- the one-liners of tideover(1) -------------------------------------------------------------------------
# The chance of either food, in four figures, as summary.csv has it.
chance=$(awk -F, '$3 == "any" && $4 == "chance_short" { printf "%.4f", $6 }' "$folder/point/run/summary.csv")
chance=${chance%%0}
one_liner() {
    local line
    line=$(grep "^$1 " src/manual/tideover.1) || { bad "tideover(1) has no line for $1"; return; }
    line=$(echo "$line" | sed "s|out/base|$folder/point/run|g")
    PATH=/usr/bin:$PATH bash -c "$line" >"$folder/stdout" 2>"$folder/stderr" ||
        bad "$1: $(cat "$folder/stderr")"
    is "$1: rows" "$(grep -cwE "beans|squash|any" "$folder/stdout")" 3
    grep -qF "$chance" "$folder/stdout" && ok || bad "$1: $chance is not in: $(cat "$folder/stdout")"
}
case $chance in 0.*) ok ;; *) bad "summary.csv has no chance: $chance" ;; esac
if have "R" r-base-core; then one_liner Rscript; fi
if have "pandas" python3-pandas; then one_liner python3; fi
if have "Miller" miller; then one_liner mlr; fi

# ---- manual pages ------------------------------------------------------------------------------------------
make -s BUILD="$build" "$build/tideover-scenario.5" >/dev/null || bad "tideover-scenario.5 is not made"
if have "mandoc" mandoc; then
    # Not installed here, the pages do not find one another; the settings' texts are longer than a line of source.
    is "mandoc -T lint tideover.1" "$(mandoc -T lint src/manual/tideover.1 | grep -v 'referenced manual not found')" ""
    is "mandoc -T lint tideover-scenario.5" "$(mandoc -T lint "$build/tideover-scenario.5" |
        grep -v 'referenced manual not found\|longer than 80 bytes\|trailing delimiter: Ss .*\[\]$')" ""
fi

# ---- installing --------------------------------------------------------------------------------------------
image=$folder/image
if make -s BUILD="$build" install DESTDIR="$image" PREFIX=/usr >"$folder/log" 2>&1; then ok; else bad "make install: $(tail -3 "$folder/log")"; fi
tideover=$image/usr/bin/tideover share=$image/usr/share
cd / || exit 1
"$tideover" library 2>&1 | grep -q "cool_maritime" && ok || bad "installed: library"
"$tideover" run "$share/tideover/scenarios/base.cfg" --trials 500 --plot --out "$folder/far" >"$folder/stdout" 2>&1 && ok ||
    bad "installed: run: $(cat "$folder/stdout")"
for picture in stores risk; do [ -s "$folder/far/$picture.png" ] && ok ||
    bad "installed: no picture $picture"; done
(cd "$folder" && "$tideover" start own.cfg && "$tideover" check own.cfg && "$tideover" run own.cfg --trials 500 --out own) \
    >"$folder/stdout" 2>&1 && ok || bad "installed: a start of one's own: $(tail -3 "$folder/stdout")"
(cd "$folder" && PATH=$image/usr/bin:$PATH && tideover run own.cfg --trials 500 --out own) >"$folder/stdout" 2>&1 && ok ||
    bad "installed: by PATH: $(tail -3 "$folder/stdout")"
for page in man1/tideover.1 man5/tideover-scenario.5; do
    mandoc -T ascii "$share/man/$page" 2>/dev/null | col -b | grep -q "^NAME" && ok ||
        bad "installed: $page does not render"
done
completed() { bash -c '. "$0"; COMP_WORDS=(tideover "$@"); COMP_CWORD=$#; _tideover; echo "${COMPREPLY[@]}"' \
    "$share/bash-completion/completions/tideover" "$@"; }
is "completion of a command" "$(completed si)" "size"
is "completion of an option" "$(completed run --dec)" "--decimal-comma"
is "completion of a food" "$(completed vary --food sq)" "squash"
cd "$share/tideover/scenarios" && is "completion of a scenario" "$(completed run bas)" "base.cfg"
cd "$root" || exit 1
make -s BUILD="$build" uninstall DESTDIR="$image" PREFIX=/usr >"$folder/log" 2>&1 ||
    bad "make uninstall: $(tail -3 "$folder/log")"
is "make uninstall leaves nothing" "$(find "$image" ! -type d -o -name 'tideover*')" ""

# ---- the tarball and the Debian package --------------------------------------------------------------------
if [ -d .git ] || git rev-parse --git-dir >/dev/null 2>&1; then
    tarball=$(make -s BUILD="$folder/dist" dist | tail -n 1)
    [ -s "$tarball" ] && ok || bad "make dist gives no tarball"
    if [ -s "$tarball" ] && have "the Debian package" dpkg-dev debhelper lintian libconfig-dev libcsv-dev libgsl-dev; then
        mkdir "$folder/deb"
        tar -C "$folder/deb" -xzf "$tarball"
        if (cd "$folder"/deb/tideover-*/ && dpkg-buildpackage -us -uc -b) >"$folder/log" 2>&1; then ok; else
            bad "dpkg-buildpackage: $(tail -5 "$folder/log")"; fi
        lintian --allow-root --fail-on warning,error "$folder"/deb/*.changes >"$folder/log" 2>&1 && ok ||
            bad "lintian: $(cat "$folder/log")"
        dpkg-deb -x "$folder"/deb/tideover_*.deb "$folder/unpacked" && "$folder/unpacked/usr/bin/tideover" run \
            "$folder/unpacked/usr/share/tideover/scenarios/base.cfg" --trials 500 --out "$folder/unpacked/out" >/dev/null 2>&1 &&
            ok || bad "the package's program does not run"
    fi
else
    echo "passed over: the tarball and the Debian package (not in a git checkout)"
fi

# ---- the other compiler ------------------------------------------------------------------------------------
if have "clang" clang; then
    if make -s CC=clang BUILD="$folder/clang" >"$folder/log" 2>&1; then
        ok
        "$folder/clang/tideover" run scenarios/base.cfg --configs configs --trials 2000 --out "$folder/by_clang" --quiet ||
            bad "clang's does not run"
        "$program" run scenarios/base.cfg --trials 2000 --out "$folder/by_gcc" --quiet
        is "gcc and clang, summary.csv" "$(sha256sum <"$folder/by_clang/summary.csv")" "$(sha256sum <"$folder/by_gcc/summary.csv")"
    else
        bad "clang: $(tail -5 "$folder/log")"
    fi
fi

echo "$passed passed, $failed failed"
[ $failed -eq 0 ]
