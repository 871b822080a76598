#!/bin/sh
# Feeds arbitrary bytes to everything that reads bytes, two targets at a time.
#
#   fuzz/run.sh [SECONDS]    seconds for each target, 30 unless given
#
# The pinned compiler is enough: the coverage pass needs no other toolchain, and there is no memory
# sanitiser, because all code here is safe. `cargo fuzz run NAME` works as well. An input that
# fails is left in fuzz/artifacts/.
set -u
cd "$(dirname "$0")" || exit 2
seconds=${1-30}
command -v c++ >/dev/null || { echo 'missing: c++, which libFuzzer is built with. Install a C++ compiler: apt-get install g++'; exit 2; }
host=$(rustc -vV | sed -n 's/^host: //p')

RUSTFLAGS="--cfg fuzzing -Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Cllvm-args=-sanitizer-coverage-trace-compares ${RUSTFLAGS-}" \
    cargo build --release --locked --target "$host" || exit 1

found=$(mktemp -d) || exit 2
trap 'rm -rf "$found"' EXIT
failed=0

start() {
    mkdir -p "$found/$1" "artifacts/$1"
    TMPDIR="$found" "target/$host/release/$1" "$found/$1" "seeds/$1" -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 \
        -max_len="$2" -artifact_prefix="artifacts/$1/" -print_final_stats=1 >"$found/$1.log" 2>&1 &
}

finish() {
    if wait "$2"; then
        runs=$(sed -n 's/^stat::number_of_executed_units: *//p' "$found/$1.log")
        covered=$(sed -n 's/.* cov: \([0-9]*\).*/\1/p' "$found/$1.log" | tail -1)
        echo "$1: ${runs:-0} inputs, $covered places reached, nothing found"
        [ "${runs:-0}" -ge 1000 ] || { echo "$1: fewer than 1000 inputs; the target is too slow or did not run"; failed=1; }
    else
        failed=1
        tail -40 "$found/$1.log"
        echo "$1: FAILED; the input is in fuzz/artifacts/$1/"
    fi
}

start profile 600; a=$!
start rows 4096; b=$!
finish profile $a
finish rows $b
start vectors 8192; a=$!
start recording 16384; b=$!
finish vectors $a
finish recording $b
exit $failed
