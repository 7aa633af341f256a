#!/bin/bash
# What sampling by the Sobol sequence gains on the demo scenario, and the bound of it, each to a few per cent: over 160 scramblings of
# 98,304 trials and 65,536 pairs. At least 80 % of the bound must be reached, of every chance and mean, less two standard errors of what was measured.
set -u
cd "$(dirname "$0")/../.." || exit 1
library=$(dirname "${1:?usage: proof_sampling_test.sh PROGRAM}")/libtideover.a
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
gcc -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -O2 -Wall -Wextra -Werror -Isrc -o "$folder/sampling" tests/whole/sampling.c "$library" \
    -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread || exit 1
"$folder/sampling" scenarios/base.cfg configs 98304 160 65536 > "$folder/gains" || { echo "sampling: it could not be measured"; exit 1; }
awk '{ share = $3 / $5; error = share * sqrt($4 * $4 + $6 * $6); good = share >= 0.8 - 2 * error && error < 0.04
       printf "%s of %s: gain %.2f, bound %.2f, share %.2f (standard error %.2f); bound of weather and years alone %.2f%s\n", \
              $1, $2, $3, $5, share, error, $7, good ? "" : " FAILED"
       good ? passed++ : failed++ }
     END { printf "%d passed, %d failed\n", passed, failed; exit failed > 0 || passed < 6 }' "$folder/gains"
