#!/bin/sh
# Make the figures of every scenario anew (or of those named): 20,000 trials each, one process, a fixed seed.
# About a minute a scenario. Usage: make_figures.sh [NAME ...]
set -eu
cd "$(dirname "$0")"
mkdir -p figures
if [ $# -eq 0 ]; then
    set -- scenarios/[0-9]*.cfg
fi
for scenario in "$@"; do
    name=$(basename "$scenario" .cfg)
    /usr/bin/python3 model.py "scenarios/$name.cfg" --trials 20000 --seed 20260 --processes 1 --out "figures/$name.csv"
done
