#!/bin/bash
# Output appears whole or not at all: full disks, closed pipes, signals, folders that cannot be written to; exit
# codes; what the files look like (RFC 4180, Data Package v2).
#     output_test.sh PROGRAM
set -u
program=$(realpath "${1:?usage: output_test.sh PROGRAM}")
here=$(cd "$(dirname "$0")" && pwd)
scenario=$here/../reference/scenarios/16_every_shape.cfg
folder=$(mktemp -d)
mounted=
clean() { [ -n "$mounted" ] && umount "$mounted" 2>/dev/null; rm -rf "$folder"; }
trap clean EXIT
cd "$folder" || exit 1
passed=0 failed=0

ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); echo "output: $*"; }
is() { if [ "$2" = "$3" ]; then ok; else bad "$1: found \"$2\", should be \"$3\""; fi; }
says() { if grep -qF -- "$3" "$2"; then ok; else bad "$1: \"$3\" is not said, but: $(head -c 300 "$2")"; fi; }
silent() { if [ -s "$2" ]; then bad "$1: should be silent, but: $(head -c 300 "$2")"; else ok; fi; }

# go WHAT CODE ARGUMENTS...: runs the program, stdout and stderr in files, checks the exit code
go() {
    local what=$1 code=$2
    shift 2
    "$program" "$@" >stdout 2>stderr
    is "$what: exit code" $? "$code"
}
# A folder's state: names, contents, times. What must not be touched keeps it.
state() { (cd "$1" && ls -lA --time-style=full-iso && find . -type f -exec sha256sum {} + | sort) | sha256sum; }
untouched() { is "$1: files as before" "$(state "$2")" "$3"; }

usage() {
    local option
    for option in --help -h --version -V; do
        go "$option" 0 "$option"
        silent "$option" stderr
        [ -s stdout ] && ok || bad "$option prints nothing"
    done
    "$program" --help >stdout && says help stdout "Usage: tideover COMMAND"
    says help stdout "--random-seed"
    for option in run check diary; do go "$option --help" 0 "$option" --help; silent "$option --help" stderr; done
    go "no command" 2
    silent "no command" stdout
    says "no command" stderr "Usage"
    go "unknown command" 2 bake
    silent "unknown command" stdout
    says "unknown command" stderr 'no command "bake"'
    go "unknown option" 2 run --bake "$scenario"
    says "unknown option" stderr "--bake"
    go "unknown short option" 2 run -Z "$scenario"
    says "unknown short option" stderr "-Z"
    go "option without its value" 2 run "$scenario" --trials
    says "option without its value" stderr "--trials"
    for option in 0 -1 many 1e3 1.5 "" 99999999999999999999; do
        go "--trials \"$option\"" 2 run "$scenario" --trials "$option" --out never
        [ -s stderr ] && ok || bad "--trials $option: nothing is said"
    done
    for option in 0 65 x; do go "--threads $option" 2 run "$scenario" --threads $option --out never; done
    go "no scenario" 2 run --out never
    go "two scenarios" 2 run "$scenario" "$scenario" --out never
    go "missing file" 2 run nowhere.cfg --out never
    says "missing file" stderr nowhere.cfg
    go "a folder as scenario" 2 run "$folder" --out never
    go "--set nonsense" 2 run "$scenario" --set nonsense --out never
    go "--set of nothing known" 2 run "$scenario" --set food_yeras=2 --out never
    says "--set of nothing known" stderr food_years
    [ -e never ] && bad "a refused request made its output folder" || ok
}

standard_output() {
    local command
    for command in "run --out full_out --trials 50" check diary; do
        # shellcheck disable=SC2086
        "$program" $command "$scenario" >/dev/full 2>stderr
        is "$command to a full device: exit code" $? 1
        says "$command to a full device" stderr "standard output"
        # shellcheck disable=SC2086
        { "$program" $command "$scenario" 2>stderr; echo $? >code; } | true
        is "$command to a closed pipe: exit code" "$(cat code)" 1
        says "$command to a closed pipe" stderr "standard output"
    done
    for command in --help --version library; do
        [ "$command" = library ] && command="library --configs $here/../unit/scenario/data/library"
        # shellcheck disable=SC2086
        "$program" $command >/dev/full 2>stderr
        is "$command to a full device: exit code" $? 1
    done
    go "quiet" 0 run "$scenario" --trials 50 --out quiet --quiet
    silent "quiet" stdout
    silent "quiet" stderr
    "$program" run "$scenario" --trials 50 --out quiet --quiet >&- 2>stderr
    is "quiet with a closed standard output: exit code" $? 0
}

folders() {
    local before
    echo text >file
    go "output folder is a file" 2 run "$scenario" --out file --trials 50
    says "output folder is a file" stderr "file"
    is "the file is as it was" "$(cat file)" text
    go "parent folders are made" 0 run "$scenario" --out new/such --trials 50 --quiet
    [ -s new/such/datapackage.json ] && ok || bad "parent folders are made: nothing in new/such"
    go "a file as parent folder" 2 run "$scenario" --out file/such --trials 50
    says "a file as parent folder" stderr file
    go "first run" 0 run "$scenario" --out here --trials 50 --quiet
    before=$(state here)
    go "a wrong scenario" 2 run "$scenario" --set food_years=0 --out here
    untouched "a wrong scenario" here "$before"
    (flock -x 9; "$program" run "$scenario" --out here --trials 50 >stdout 2>stderr; echo $? >code) 9<here
    is "in use: exit code" "$(cat code)" 2
    says "in use" stderr "in use"
    untouched "in use" here "$before"
    go "unlocked again" 0 run "$scenario" --out here --trials 60 --quiet
    is "no temporary file is left" "$(find here -name '.*' -type f | wc -l)" 0
    read_only
}

read_only() {
    local before copy=$folder/program user=
    cp "$program" "$copy" && chmod 755 "$copy" "$folder"
    cp "$scenario" other.cfg && chmod 644 other.cfg
    if [ "$(id -u)" = 0 ]; then
        command -v setpriv >/dev/null || return 0
        user="setpriv --reuid=65534 --regid=65534 --clear-groups"
    fi
    mkdir locked && echo text >locked/summary.csv && chmod 555 locked
    before=$(state locked)
    $user "$copy" run other.cfg --out locked --trials 50 >stdout 2>stderr
    is "read-only folder: exit code" $? 2
    says "read-only folder" stderr "locked"
    untouched "read-only folder" locked "$before"
    chmod 755 locked
}

# interrupt SIGNAL CODE: in the midst of a long run into a folder that holds an earlier run
interrupt() {
    local before pid
    before=$(state here)
    "$program" run "$scenario" --out here --trials 100000000 --per-trial >stdout 2>stderr &
    pid=$!
    for _ in $(seq 100); do
        [ -n "$(find here -name '.trials.csv.*' -size +0 2>/dev/null)" ] && break
        sleep 0.05
    done
    [ -n "$(find here -name '.trials.csv.*' -size +0)" ] && ok || bad "SIG$1: the run wrote nothing in five seconds"
    kill "-$1" $pid
    wait $pid
    is "SIG$1: exit code" $? "$2"
    says "SIG$1" stderr "nothing was written"
    silent "SIG$1" stdout
    untouched "SIG$1" here "$before"
}

signals() {
    interrupt INT 130
    interrupt TERM 143
    interrupt HUP 129
    # a run that is killed outright leaves at most a temporary file, and the next one is not hindered
    "$program" run "$scenario" --out here --trials 100000000 --per-trial --quiet 2>/dev/null &
    local pid=$!
    sleep 0.5
    kill -KILL $pid
    wait $pid 2>/dev/null
    for name in summary.csv weeks.csv datapackage.json effective.cfg; do
        [ -s "here/$name" ] && ok || bad "killed: $name is gone"
    done
    go "after a killed run" 0 run "$scenario" --out here --trials 50 --quiet
    rm -f here/.*.part
}

# Earlier output, then a disk that fills up.
full_disk() {
    [ "$(id -u)" = 0 ] || return 0
    mkdir disk
    mount -t tmpfs -o size=256k none disk 2>/dev/null || return 0
    mounted=$folder/disk
    go "first run on a small disk" 0 run "$scenario" --out disk/out --trials 20 --quiet
    local before
    before=$(cd disk/out && sha256sum -- * | sha256sum)
    head -c 250000 /dev/zero >disk/filler 2>/dev/null
    go "full disk" 1 run "$scenario" --out disk/out --trials 20
    says "full disk" stderr "could not write"
    says "full disk" stderr "No space left"
    silent "full disk" stdout
    is "full disk: earlier output" "$(cd disk/out && sha256sum -- * | sha256sum)" "$before"
    is "full disk: temporary files" "$(find disk/out -name '.*' -type f | wc -l)" 0
    go "full disk, per trial" 1 run "$scenario" --out disk/out --trials 20000 --per-trial
    is "full disk, per trial: earlier output" "$(cd disk/out && sha256sum -- * | sha256sum)" "$before"
    is "full disk, per trial: temporary files" "$(find disk/out -name '.*' -type f | wc -l)" 0
    umount disk && mounted=
}

files() {
    go "per trial" 0 run "$scenario" --out whole --trials 300 --per-trial --quiet --set title='"=1+1, \"quoted\""'
    go "decimal comma" 0 run "$scenario" --out comma --trials 300 --per-trial --quiet --decimal-comma
    cp "$scenario" '=odd, "name".cfg'
    go "an odd name" 0 run '=odd, "name".cfg' --out odd --trials 30 --per-trial --quiet
    /usr/bin/python3 - whole comma odd <<'PYTHON' >tables 2>&1
import csv, hashlib, json, os, re, sys

HEADERS = {   # from the description of the program's output
    "summary.csv": "scenario,food_year,food,measure,unit,value,std_error,low,high,date,trials",
    "weeks.csv": "scenario,week,date,food,trials,stock_kg_mean,stock_kg_p05,stock_kg_p25,stock_kg_p50,stock_kg_p75,stock_kg_p95,"
                 "count_p50,chance_short,chance_short_by_now,wanted_kg,eaten_kg,lost_kg",
}
MEASURES = {"chance_short", "chance_over_4_weeks_short", "never_short", "kcal_served", "protein_g_served", "kcal_share", "protein_share"}
MEASURES |= {m + q for m in ("short_weeks", "meals_short") for q in ("", "_p50", "_p90", "_p95")}
MEASURES |= {m + q for m in ("first_short", "last_frost", "first_hard_frost") for q in ("_p10", "_p50", "_p90")}
MEASURES |= {"kg_" + m + q for m in ("grown", "field_loss", "sorted_out", "seed", "in", "eaten", "dried_away", "trimmed", "store_loss",
             "lost_while_wanted", "given_away", "thrown_out", "left") for q in ("", "_p10", "_p50", "_p90")}
MEASURES |= {m + q for m in ("jars_peak", "fruits_peak") for q in ("_p50", "_p95")}
NUMBER = re.compile(r"-?\d+([.,]\d+)?(e[+-]\d+)?$")
passed = failed = 0


def check(good, what):
    global passed, failed
    passed, failed = passed + bool(good), failed + (not good)
    if not good:
        print("output:", what)


for folder in sys.argv[1:]:
    with open(os.path.join(folder, "datapackage.json"), encoding="utf-8") as f:
        package = json.load(f)
    names = [r["path"] for r in package["resources"]]
    check(sorted(names) == sorted(set(os.listdir(folder)) - {"datapackage.json"}), "%s: resources %s" % (folder, names))
    for resource in package["resources"]:
        path = os.path.join(folder, resource["path"])
        data = open(path, "rb").read()
        what = "%s/%s" % (folder, resource["path"])
        check(resource["bytes"] == len(data), what + ": bytes")
        check(resource["hash"] == "sha256:" + hashlib.sha256(data).hexdigest(), what + ": hash")
        check(re.match(r"^[a-z0-9._/-]+$", resource["name"]), what + ": name")
        if not path.endswith(".csv"):
            continue
        lines = data.split(b"\r\n")
        check(lines[-1] == b"" and len(lines) > 2, what + ": the last row ends as the others")
        check(data.count(b"\n") == data.count(b"\r") == data.count(b"\r\n"), what + ": CRLF alone ends rows")
        check(not data.startswith(b"\xef\xbb\xbf"), what + ": byte order mark")
        delimiter = resource["dialect"]["delimiter"]
        check(delimiter == (";" if folder == "comma" else ","), what + ": delimiter")
        rows = list(csv.reader(data.decode("utf-8").splitlines(), delimiter=delimiter, strict=True))
        fields = resource["schema"]["fields"]
        check(rows[0] == [f["name"] for f in fields], what + ": columns as described, in order")
        if resource["path"] in HEADERS:
            check(rows[0] == HEADERS[resource["path"]].split(","), what + ": header")
        check(all(f.get("description") and f.get("type") in ("string", "number", "integer", "date") for f in fields), what + ": fields")
        check(all(f.get("decimalChar", ".") == ("," if folder == "comma" else ".") for f in fields if f["type"] == "number"),
              what + ": decimal marks")
        for n, row in enumerate(rows[1:]):
            if len(row) != len(fields):
                check(False, "%s row %d has %d cells, not %d: %s" % (what, n + 1, len(row), len(fields), row[:3]))
                break
            for cell, field in zip(row, fields):
                if cell == "":
                    continue
                kind = field["type"]
                good = (kind == "string" and cell[0] not in "=+-@\t\r" or kind == "date" and re.match(r"\d{4}-\d\d-\d\d$", cell)
                        or kind == "integer" and re.match(r"-?\d+$", cell)
                        or kind == "number" and NUMBER.match(cell) and ("." if folder == "comma" else ",") not in cell)
                if not good:
                    check(False, "%s row %d: %s is \"%s\"" % (what, n + 1, field["name"], cell))
        passed += len(rows)
        if resource["path"] == "summary.csv":
            at = {name: rows[0].index(name) for name in rows[0]}
            check({r[at["measure"]] for r in rows[1:]} == MEASURES, what + ": measures %s" % sorted(
                {r[at["measure"]] for r in rows[1:]} ^ MEASURES))
            check(len({(r[1], r[2], r[3]) for r in rows[1:]}) == len(rows) - 1, what + ": a figure stands there twice")
            check(all((r[at["date"]] == "") == (r[at["value"]] == "") for r in rows[1:] if r[at["measure"]].startswith("first_short")),
                  what + ": never is empty")
    run = package["run"]
    check(run["random_seed"] >= 0 and run["trials"] > 0 and run["version"] and run["generator"] and run["stream_version"] >= 1,
          folder + ": the run's record")
    check(re.match(r"sha256:[0-9a-f]{64}$", run["scenario_hash"]), folder + ": the scenario's hash")
    check("created" not in package, folder + ": no time of the clock, so that a run twice gives the same bytes")
print(passed, failed)
PYTHON
    read -r good wrong < <(tail -n 1 tables)
    case "$good$wrong" in *[!0-9]*|'') bad "tables: $(tail -n 3 tables)" ;; *)
        head -n -1 tables
        passed=$((passed + good)) failed=$((failed + wrong)) ;;
    esac
    for table in summary weeks trials; do   # the same figures in the other dialect
        is "decimal comma: $table" "$(tr ';,' ',.' <comma/$table.csv | sha256sum)" "$(sha256sum <whole/$table.csv)"
    done
}

usage
standard_output
folders
signals
full_disk
files
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && [ "$passed" -gt 100 ]
