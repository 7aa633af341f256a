#!/bin/bash
# Speed, measured side by side in one run: builds what measures, then bench.py does it. Variables: SCENARIO; VECTOR, the path of
# a NumPy program of the same model to compare with (left out where there is none); TRIALS_MOST for the memory's second size.
set -eu
cd "$(dirname "$0")/../.."
program=${1:?usage: bench.sh PROGRAM}
build=$(dirname "$program")
make -s BUILD="$build/counting" CPPFLAGS="-include tests/bench/count.h" "$build/counting/libtideover.a"
compile="gcc -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -O3 -ffp-contract=off -Isrc -Itests"
libraries="-lconfig -lcsv -lgsl -lgslcblas -lm -lpthread"
$compile tests/bench/draws.c "$build/libtideover.a" ${LDFLAGS:-} $libraries -o "$build/draws"
$compile tests/bench/trials.c "$build/libtideover.a" ${LDFLAGS:-} $libraries -o "$build/trials"
$compile -include tests/bench/count.h tests/bench/trials.c "$build/counting/libtideover.a" ${LDFLAGS:-} $libraries -o "$build/count"
exec tests/bench/bench.py "$program"
