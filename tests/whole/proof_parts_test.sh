#!/bin/bash
# proof_parts_test.sh PROGRAM: the manual's two recipes for more than one machine, word for word, on the engines that they are
# for: GNU parallel, and a job array of Slurm on a cluster of one node that is started and stopped here (its own keys, ports,
# configuration and folders; wants root). Parts that are cancelled in the midst go on. Always the bytes of the whole run.
# An engine that cannot be had or started fails the test.
set -u
program=$(realpath "${1:?usage: proof_parts_test.sh PROGRAM}")
cd "$(dirname "$0")/../.." || exit 1
root=$PWD
PATIENCE=${PATIENCE:-300}               # seconds for anything that only takes a slow machine long
folder=$(mktemp -d)
children=()
passed=0 failed=0
ok() { passed=$((passed + 1)); }
bad() { failed=$((failed + 1)); echo "parts: $*"; }
is() { if [ "$2" = "$3" ]; then ok; else bad "$1: found \"$2\", should be \"$3\""; fi; }
finish() {
    local child
    [ -n "${SLURM_CONF:-}" ] && timeout 20 scancel -s KILL --user="$(id -un)" >/dev/null 2>&1
    for child in "${children[@]}"; do kill "$child" 2>/dev/null; done
    for _ in $(seq 50); do
        child=$(for child in "${children[@]}"; do kill -0 "$child" 2>/dev/null && echo "$child"; done)
        [ -z "$child" ] && break
        sleep 0.1
    done
    for child in "${children[@]}"; do kill -KILL "$child" 2>/dev/null; done
    wait 2>/dev/null
    rm -rf "$folder"
}
trap finish EXIT
give_up() {
    bad "$*"
    echo "$passed passed, $failed failed"
    exit 1
}
# await WHAT COMMAND...: until the command succeeds
await() {
    local what=$1 began=$SECONDS
    shift
    until "$@" >/dev/null 2>&1; do
        [ $((SECONDS - began)) -lt "$PATIENCE" ] || return 1
        sleep 0.2
    done
}

# ---- the recipes, from the manual page ------------------------------------------------------------------------------
blocks=$folder/recipes
mkdir "$blocks" "$folder/bin" && ln -s "$program" "$folder/bin/tideover"
PATH=$folder/bin:$PATH
sed -n '/^\.Sh BEYOND ONE MACHINE/,/^\.Sh OWN RECORDS/p' src/manual/tideover.1 |
    awk -v to="$blocks/" '/^\.Bd/ { n++; inside = 1; next } /^\.Ed/ { inside = 0 } inside { print > (to n) }'
is "recipes in the manual" "$(ls "$blocks" | tr '\n' ' ')" "1 2 3 "
is "the recipes' commands" "$(grep -c 'tideover' "$blocks/1") $(grep -c 'SBATCH' "$blocks/2") $(grep -c 'sbatch' "$blocks/3")" "2 1 1"

# garden FOLDER TRIALS: a folder to work in, with garden.cfg and the whole run's answer in whole/
garden() {
    mkdir "$1" && cp tests/reference/scenarios/06_own_seed_three_years.cfg "$1/garden.cfg" || return 1
    sed -i '/^trials/d' "$1/garden.cfg"
    echo "trials = $2;" >>"$1/garden.cfg"
    (cd "$1" && tideover run garden.cfg --out out >whole.txt && mv out whole) || bad "$1: the whole run failed"
}
# compare WHAT FOLDER TOLD: what was merged there, and what merge said, against the whole run
compare() {
    if diff -r "$2/whole" "$2/out" >"$folder/log" 2>&1; then ok; else bad "$1: the files differ: $(head -n 3 "$folder/log")"; fi
    if cmp -s "$2/whole.txt" "$3" && [ "$(wc -c <"$3")" -gt 500 ]; then ok; else bad "$1: the answer differs: $(diff "$2/whole.txt" "$3" | head -n 3)"; fi
}
trials=40000                            # uneven in 16 parts: 2,500 blocks

# ---- GNU parallel -----------------------------------------------------------------------------------------------------
.ci/need parallel || give_up "GNU parallel cannot be installed"
garden "$folder/parallel" $trials
(cd "$folder/parallel" && timeout -s KILL "$PATIENCE" bash "$blocks/1" >told.txt 2>complained.txt </dev/null)
is "parallel: exit code" $? 0
is "parallel: parts" "$(find "$folder/parallel/parts" -name 'part-??-of-16.tideover-state' | wc -l)" 16
# what parallel's jobs say comes before what merge says
sed -n '/^Part [0-9]* of 16/,/^File:/d; p' "$folder/parallel/told.txt" >"$folder/parallel/answer.txt"
compare "parallel" "$folder/parallel" "$folder/parallel/answer.txt"

# kept FOLDER: how many parts there keep trials in their --state files
kept() {
    /usr/bin/python3 -B - tests/whole "$1" <<'P'
import glob, sys
sys.path.insert(0, sys.argv[1])
from parts_test import saved
print(sum(saved(path) > 0 for path in glob.glob(sys.argv[2] + "/*.state")))
P
}
some_state() { [ "$(kept "$1")" -gt 0 ]; }
# stopped in the midst, the same command goes on
goes_on="parallel -j 2 tideover run garden.cfg --threads 1 --part {}/4 --out parts --state parts/{}.state"
garden "$folder/stopped" 1000000
(cd "$folder/stopped" && seq 4 >numbers && exec setsid $goes_on <numbers >log 2>&1) &
group=$!
await "states" some_state "$folder/stopped/parts" || bad "stopped: no part keeps a state"
kill -TERM -- "-$group" 2>/dev/null
sleep 0.2
kill -TERM -- "-$group" 2>/dev/null         # parallel's second: ends its jobs
wait "$group" 2>/dev/null
is_gone() { ! kill -0 -- "-$group"; }
await "its jobs' end" is_gone || bad "stopped: its jobs do not end"
[ "$(find "$folder/stopped/parts" -name 'part-*' | wc -l)" -lt 4 ] && ok || bad "stopped: all parts were done before it was stopped"
some_state "$folder/stopped/parts" && ok || bad "stopped: no part kept a state"
(cd "$folder/stopped" && timeout -s KILL "$PATIENCE" $goes_on <numbers >log 2>&1) || bad "stopped: going on failed: $(tail -n 3 "$folder/stopped/log")"
is "stopped: states are taken away" "$(find "$folder/stopped/parts" -name '*.state' | wc -l)" 0
(cd "$folder/stopped" && tideover merge parts/part-*.tideover-state --out out >told.txt) || bad "stopped: merge failed"
compare "stopped" "$folder/stopped" "$folder/stopped/told.txt"

# ---- a Slurm cluster of one node -----------------------------------------------------------------------------------
[ "$(id -u)" = 0 ] || give_up "Slurm's daemons want root: run it as root"
.ci/need slurm-wlm munge || give_up "Slurm cannot be installed"
cluster=$folder/cluster
mkdir -m 700 "$cluster" "$cluster/munge" "$cluster/ctld" "$cluster/d"
chmod 755 "$folder" "$cluster"
head -c 1024 /dev/urandom >"$cluster/munge/key" && chmod 400 "$cluster/munge/key"
chmod 711 "$cluster/munge"
munged --foreground --key-file="$cluster/munge/key" --socket="$cluster/munge/socket" --pid-file="$cluster/munge/pid" \
    --log-file="$cluster/munge/log" --seed-file="$cluster/munge/seed" --num-threads=2 >"$cluster/munged.log" 2>&1 &
children+=($!)
await "munged" munge -S "$cluster/munge/socket" -n || give_up "munged does not start: $(tail -n 3 "$cluster/munged.log" "$cluster/munge/log")"
read -r one two < <(/usr/bin/python3 -c '
import socket
s = [socket.socket() for _ in range(2)]
[x.bind(("127.0.0.1", 0)) for x in s]
print(*[x.getsockname()[1] for x in s])')
host=$(uname -n)
host=${host%%.*}
export SLURM_CONF=$cluster/slurm.conf
cat >"$SLURM_CONF" <<C
ClusterName=parts
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=$one
SlurmdPort=$two
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$cluster/munge/socket
CredType=cred/munge
ProctrackType=proctrack/pgid
TaskPlugin=task/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SlurmdParameters=config_overrides
ReturnToService=2
KillWait=30
MinJobAge=3600
MailProg=/bin/true
PropagateResourceLimits=NONE
StateSaveLocation=$cluster/ctld
SlurmctldPidFile=$cluster/ctld/pid
SlurmctldLogFile=$cluster/ctld/log
SlurmdSpoolDir=$cluster/d
SlurmdPidFile=$cluster/d/pid
SlurmdLogFile=$cluster/d/log
NodeName=n1 NodeHostname=$host NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN
PartitionName=all Nodes=n1 Default=YES MaxTime=INFINITE State=UP
C
slurmctld -D >"$cluster/slurmctld.log" 2>&1 &
children+=($!)
slurmd -D -N n1 >"$cluster/slurmd.log" 2>&1 &
children+=($!)
is_idle() { [ "$(timeout 20 sinfo -h -o %T)" = idle ]; }
await "Slurm" is_idle || give_up "Slurm does not start: $(sinfo 2>&1 | tail -n 2; tail -n 5 "$cluster/ctld/log" "$cluster/d/log" "$cluster"/*.log)"
ok
echo "parts: $(slurmd --version), one node, $(parallel --version 2>/dev/null | head -n 1)"
states_of() { scontrol -o show job "$1" | grep -o 'JobState=[A-Z]*' | sort | uniq -c | tr -s ' \n' ' '; }

garden "$folder/slurm" $trials
cp "$blocks/2" "$folder/slurm/parts.sh"
(cd "$folder/slurm" && mkdir parts && timeout -s KILL $((2 * PATIENCE)) bash "$blocks/3" >told.txt 2>complained.txt)
is "Slurm: exit code" $? 0
is "Slurm: parts" "$(find "$folder/slurm/parts" -name 'part-??-of-16.tideover-state' | wc -l)" 16
job=$(sed -n 's/^Submitted batch job //p' "$folder/slurm/told.txt")
is "Slurm: all jobs of the array" "$(states_of "${job:-none}")" " 16 JobState=COMPLETED "
grep -v '^Submitted batch job' "$folder/slurm/told.txt" >"$folder/slurm/answer.txt"
compare "Slurm" "$folder/slurm" "$folder/slurm/answer.txt"
[ $failed -eq 0 ] || tail -n 5 "$folder/slurm"/slurm-*.out "$folder/slurm/complained.txt" "$cluster"/*/log 2>/dev/null

# cancelled in the midst, submitted again, a part goes on; the script is the manual's
garden "$folder/cancelled" 1000000
sed 's/--array=1-16/--array=1-3/; s|/16|/3|' "$blocks/2" >"$folder/cancelled/parts.sh"
there=$folder/cancelled
mkdir "$there/parts"
job=$(cd "$there" && sbatch --parsable parts.sh)
await "a state" some_state "$there/parts" || bad "cancelled: no part keeps a state: $(tail -n 2 "$there"/slurm-*.out; scontrol -o show job "$job" | head -n 1)"
scancel "$job"
is_over() { ! squeue -h -j "$job" 2>/dev/null | grep -q .; }
await "the end of the cancelled jobs" is_over || bad "cancelled: the jobs do not end"
done_before=$(find "$there/parts" -name 'part-*.tideover-state' | wc -l)
keep=$(kept "$there/parts")
[ "$done_before" -lt 3 ] && [ "$keep" -gt 0 ] && ok || bad "cancelled: $done_before of 3 parts were done, $keep keep something"
again=$(for part in 1 2 3; do [ -e "$there/parts/part-$part-of-3.tideover-state" ] || echo $part; done | paste -sd,)
(cd "$there" && timeout -s KILL $((2 * PATIENCE)) sbatch --wait --array="$again" parts.sh >log 2>&1)
is "cancelled: submitted again: exit code" $? 0
is "cancelled: states are taken away" "$(find "$there/parts" -name '*.state' | wc -l)" 0
(cd "$there" && tideover merge parts/part-*.tideover-state --out out >told.txt) || bad "cancelled: merge failed"
compare "cancelled" "$folder/cancelled" "$folder/cancelled/told.txt"
echo "$passed passed, $failed failed"
[ $failed -eq 0 ] && [ $passed -ge 20 ]
