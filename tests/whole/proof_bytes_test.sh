#!/bin/bash
# The same bytes from gcc and clang, -O0 and -O3, 1 to 16 threads, with FMA and AVX masked, and on aarch64 under qemu-user.
#   proof_bytes_test.sh PROGRAM
set -u
program=$(realpath "${1:?usage: proof_bytes_test.sh PROGRAM}")
cd "$(dirname "$0")/../.." || exit 1
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
passed=0 failed=0
scenarios="tests/reference/scenarios/06_own_seed_three_years.cfg tests/reference/scenarios/16_every_shape.cfg
    tests/reference/scenarios/10_counted_at_harvest.cfg tests/reference/scenarios/04_records_weather.cfg"
trials=3000
threads=2
run() { # name, command...
    local name=$1 scenario
    shift
    for scenario in $scenarios; do
        for sampling in independent sobol; do
            timeout -s KILL 120 "$@" run "$scenario" --set sampling=$sampling --trials $trials --per-trial --quiet --threads $threads \
                --out "$folder/$name/$(basename "$scenario" .cfg)-$sampling" 2>/dev/null || {
                echo "bytes: $name failed on $scenario, $sampling"; failed=$((failed + 1)); }
        done
    done
}
compare() {
    local difference
    if difference=$(diff -rq "$folder/first" "$folder/$1"); then passed=$((passed + 1)); else
        failed=$((failed + 1))
        echo "bytes: $1 differs:"
        echo "$difference" | head -n 4
    fi
}
threads=1
run first "$program"
for threads in 2 3 7 16; do run threads-$threads "$program"; compare threads-$threads; done
threads=2
run masked env GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2_Usable,-AVX2,-FMA_Usable,-FMA,-FMA4,-AVX512F,-AVX "$program"; compare masked
for built in "gcc -O0" "gcc -O3" "gcc -O2 -march=native" "clang -O0" "clang -O3"; do
    name=$(echo "$built" | tr ' =' '--')
    # shellcheck disable=SC2086
    if ${built%% *} ${built#* } -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -ffp-contract=off -Isrc -o "$folder/$name.out" src/main.c \
        src/*/*.c -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread; then
        run "$name" "$folder/$name.out"
        compare "$name"
    else failed=$((failed + 1)); fi
done
# aarch64: cross compiler and emulator from Debian; that architecture's libraries are unpacked beside, not installed (they would
# push this machine's own out).
root=""
[ "$(id -u)" -eq 0 ] || root="sudo -n"
arm() {
    .ci/need gcc-aarch64-linux-gnu libc6-dev-arm64-cross qemu-user || return 1
    dpkg --print-foreign-architectures | grep -qx arm64 || { $root dpkg --add-architecture arm64 && $root apt-get update -q >/dev/null 2>&1; }
    mkdir -p "$folder/debs" "$folder/root"
    (cd "$folder/debs" && timeout -s KILL 120 apt-get download -q libgsl-dev:arm64 libgsl27:arm64 libgslcblas0:arm64 libconfig-dev:arm64 libconfig9:arm64 \
        libcsv-dev:arm64 libcsv3:arm64) >"$folder/apt.log" 2>&1 || return 1
    for deb in "$folder"/debs/*.deb; do dpkg -x "$deb" "$folder/root" || return 1; done
    local lib=$folder/root/usr/lib/aarch64-linux-gnu
    aarch64-linux-gnu-gcc -O2 -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -ffp-contract=off -Isrc -I"$folder/root/usr/include" \
        -o "$folder/arm" src/main.c src/*/*.c "$lib/libconfig.a" "$lib/libcsv.a" "$lib/libgsl.a" "$lib/libgslcblas.a" -lm -lpthread \
        2>"$folder/arm.log"
}
if arm; then
    threads=1                           # the emulator of some machines cannot start threads
    run aarch64 qemu-aarch64 -L /usr/aarch64-linux-gnu "$folder/arm"
    compare aarch64
else
    echo "bytes: aarch64 skipped: $(tail -q -n 1 "$folder/apt.log" "$folder/arm.log" 2>/dev/null | tr '\n' ' ')"
fi
echo "$passed passed, $failed failed"
[ $failed -eq 0 ]
