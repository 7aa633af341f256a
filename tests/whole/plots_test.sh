#!/bin/bash
# plots_test.sh PROGRAM: every picture of every command is drawn from both dialects of CSV, without a word
# from gnuplot; PNGs are whole, of the size asked for, not blank, and the same from both dialects; SVGs are
# well-formed and carry their title; a table with nothing to draw gives no picture and no complaint. PNG's
# chunks are read as the PNG specification (W3C, 2003) lays them out.
set -u
program=$(realpath "${1:?usage: plots_test.sh PROGRAM}")
root=$(cd "$(dirname "$0")/../.." && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$root" || exit 1
passed=0 failed=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); echo "plots: $*"; }

# An invented notebook: squash in two places, found soft between look-overs, some eaten sound.
python3 - >"$folder/notebook.csv" <<'P'
import datetime, random
random.seed(5)
print("kind,crop,value,date,sound,spoiled,place,cured")
for year in range(2015, 2024):
    cut = datetime.date(year, 10, 3)
    for place, weeks in (("spare room", 24), ("shed", 13)):
        for i in range(3):
            life = datetime.timedelta(days=int(7 * weeks * random.weibullvariate(1, 2.6)) + 1)
            spoiled = "" if i == 0 else cut + life + datetime.timedelta(days=7)
            print("kept,buttercup_squash,,%s,%s,%s,%s,well" % (cut, cut + life, spoiled, place))
P
cat >"$folder/titled.cfg" <<C
extends = "$root/scenarios/base.cfg";
title = "Is it \"enough\" for us, or isn't it? 50 % of a longer question that goes on until it has to be broken over two lines of a picture";
C
cat >"$folder/beans_only.cfg" <<C
extends = "$root/scenarios/base.cfg";
household = { meals = { squash = { meals_per_week = 0.0; }; }; };
C

# make NAME ARGUMENTS...: a command's files in both dialects, into "point/NAME x" and "comma/NAME x" (folders
# with a space)
make_both() {
    local name=$1
    shift
    "$program" "$@" --quiet --out "$folder/point/$name x" || bad "$name failed"
    "$program" "$@" --quiet --decimal-comma --out "$folder/comma/$name x" ||
        bad "$name --decimal-comma failed"
}
mkdir "$folder/point" "$folder/comma"
wigwams=plantings.french_wigwams
make_both run run scenarios/base.cfg --trials 2000
make_both years run scenarios/three_years.cfg --trials 1000
make_both count run scenarios/december_count.cfg --trials 1000
make_both south run scenarios/southern.cfg --trials 1000
make_both titled run "$folder/titled.cfg" --trials 500
make_both beans run "$folder/beans_only.cfg" --trials 500
make_both compare compare scenarios/base.cfg scenarios/few_big_squash.cfg scenarios/warmer_place.cfg --trials 1000
make_both alike compare scenarios/base.cfg --versus "$wigwams.count=4" --versus store.jar_kg=1.5 --trials 500
make_both allyears compare scenarios/three_years.cfg --versus "$wigwams.count=6" --trials 500
make_both vary vary scenarios/base.cfg --over "$wigwams.count=1..9" --trials 1000
make_both vary2 vary scenarios/base.cfg --over "$wigwams.plant_out=05-10..06-10:7" --over "$wigwams.count=3,5" --trials 500
make_both size size scenarios/base.cfg --by "$wigwams.count=1..9" --food beans --risk 0.3 --most-trials 4000
make_both none size scenarios/base.cfg --by "$wigwams.count=0" --set plantings.mottled_wigwams.count=0 \
    --set plantings.runner_row.count=0 --food beans --risk 0.1 --most-trials 1000
make_both why why scenarios/base.cfg --trials 1000
make_both season season scenarios/records/invented_plot.csv
make_both fit fit "$folder/notebook.csv"
grep -v kept "$folder/notebook.csv" >"$folder/empty.csv"
echo "unit_kg,climbing_french_bean,1.3,2020-10-01,,,," >>"$folder/empty.csv"
make_both nothing fit "$folder/empty.csv"

# draw NAME PICTURES...: just these pictures come of it
draw() {
    local name=$1 dialect told
    shift
    for dialect in point comma; do
        told=$(plots/draw "$folder/$dialect/$name x" 2>"$folder/stderr") || bad "$name, $dialect: draw failed"
        if [ -s "$folder/stderr" ]; then bad "$name, $dialect: gnuplot says $(head -c 300 "$folder/stderr")"; else ok; fi
        if [ "$(cd "$folder/$dialect/$name x" && echo *.png *.svg)" = "$(echo $(printf '%s.png ' "$@") $(printf '%s.svg ' "$@"))" ]
        then ok; else bad "$name, $dialect: not the pictures \"$*\" but: $told"; fi
    done
}
draw run risk stores
draw years risk stores
draw count risk stores
draw south risk stores
draw titled risk stores
draw beans risk stores
draw compare side
draw alike side
draw allyears side
draw vary gain
draw vary2 gain
draw size cost
draw why why
draw season season
draw fit keeping
for name in none nothing; do
    told=$(plots/draw "$folder/point/$name x" 2>&1)
    case $told in "There is nothing to draw in "*) ok ;; *) bad "$name: $told" ;; esac
done

# By hand, from another folder, as the scripts' heads say; and from the program itself.
(cd / && gnuplot -e "dir='$folder/point/run x'; form='png'" -c "$root/plots/stores.gp" 2>&1) | grep -q . && bad "by hand: gnuplot complains" || ok
rm -f "$folder/point/vary x/"*.png
(cd / && "$program" vary "$root/scenarios/base.cfg" --over "$wigwams.count=1..3" --trials 500 --plot --out "$folder/plotted" \
    >"$folder/stdout" 2>"$folder/stderr") || bad "--plot failed"
[ -s "$folder/plotted/gain.png" ] && grep -q "^Pictures in" "$folder/stdout" && ok || bad "--plot: no picture"
"$program" run scenarios/base.cfg --trials 500 --plot --quiet --out "$folder/plotted" >"$folder/stdout" 2>&1 ||
    bad "--plot --quiet failed"
[ -s "$folder/plotted/risk.png" ] && [ ! -s "$folder/stdout" ] && ok ||
    bad "--plot --quiet: $(cat "$folder/stdout")"
plots/draw "$folder/point/vary x" >"$folder/stdout"

python3 - "$folder" <<'P' || failed=$((failed + 1))
import glob, os, struct, sys, xml.dom.minidom, zlib
folder, good, wrong = sys.argv[1], 0, []
def need(is_good, what):
    global good
    good += bool(is_good)
    if not is_good:
        wrong.append(what)
def pixels(path):
    """Width, height, and the picture's bytes without the row filters' undoing: enough to tell a blank one."""
    data, at, packed = open(path, "rb").read(), 8, b""
    assert data[:8] == b"\x89PNG\r\n\x1a\n", path
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at:at + 8])
        body = data[at + 8:at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length:at + 12 + length])[0] == zlib.crc32(kind + body), path
        if kind == b"IHDR":
            size = struct.unpack(">II", body[:8])
        packed += body if kind == b"IDAT" else b""
        at += 12 + length
    assert kind == b"IEND", path
    return size, zlib.decompress(packed)
pictures = sorted(glob.glob(folder + "/point/*/*.png"))
need(len(pictures) >= 20, "%d pictures" % len(pictures))
for path in pictures:
    name = os.path.relpath(path, folder)
    size, raw = pixels(path)
    other = path.replace("/point/", "/comma/")
    need(size == (1000, 700), "%s: %s" % (name, size))
    need(os.path.getsize(path) > 8000 and len(set(raw)) > 40, "%s: blank" % name)
    need(pixels(other)[1] == raw, "%s: not the same after --decimal-comma" % name)
    svg = xml.dom.minidom.parse(path[:-3] + "svg")
    words = " ".join("".join(n.data for n in t.childNodes if n.nodeType == n.TEXT_NODE) for t in svg.getElementsByTagName("text"))
    spans = " ".join("".join(n.data for n in t.childNodes if n.nodeType == n.TEXT_NODE) for t in svg.getElementsByTagName("tspan"))
    text = " ".join((words + " " + spans).split())
    title = {"risk": "Chance of having run short, by date", "stores": "How the stores last", "side": "Scenarios side by side",
             "gain": "What each further step buys", "cost": "What a lower risk costs", "why": "What decides it",
             "keeping": "How squash kept", "season": "Frost and heat, year by year"}[os.path.basename(path)[:-4]]
    need(title in text, "%s: no title in %s" % (name, text[:200]))
    if "titled" in name:
        need("Is it \"enough\" for us, or isn't it?" in text, "%s: its title is lost: %s" % (name, text[:200]))
print("pictures: %d good" % good)
for what in wrong:
    print("plots:", what)
sys.exit(1 if wrong else 0)
P
[ $failed -eq 0 ] && ok
echo "$passed passed, $failed failed"
[ $failed -eq 0 ]
