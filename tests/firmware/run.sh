#!/usr/bin/env bash
# Builds a program for the emulated board, runs it, and judges what it says.
#
#   tests/firmware/run.sh NAME     one of: pipeline conformance proof memory log faults crash cost
#   tests/firmware/run.sh all      all of them
#   tests/firmware/run.sh memory --write    measures, and writes docs/microcontroller.md anew
#
# Exit code 0 when all is as it should be, 1 when it is not, 2 when something needed is missing.
set -uo pipefail
cd "$(dirname "$0")" || exit 2

readonly TARGET=thumbv7em-none-eabihf
readonly WASM=wasm32-unknown-unknown
readonly OUT=target/run
readonly PROGRAMS=(crash proof conformance faults log memory pipeline cost)

host=$(rustc -vV | sed -n 's/^host: //p')
[ -n "$host" ] || { echo "missing: rustc. Install Rust with rustup: https://rustup.rs"; exit 2; }

# need COMMAND PACKAGE: installs it where that is possible, says what to install where it is not.
need() {
    command -v "$1" >/dev/null && return
    if [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
        apt-get install -y "$2" >/dev/null 2>&1 ||
            { apt-get update && apt-get install -y "$2"; } >/dev/null 2>&1
    fi
    command -v "$1" >/dev/null && return
    echo "missing: $1. Install it, on Debian or Ubuntu: sudo apt-get install $2"
    exit 2
}

target() {
    if command -v rustup >/dev/null; then
        rustup target list --installed | grep -qx "$1" || rustup target add "$1" || exit 2
    elif ! [ -d "$(rustc --print sysroot)/lib/rustlib/$1" ]; then
        echo "missing: the Rust target $1. Install rustup (https://rustup.rs), then: rustup target add $1"
        exit 2
    fi
}

elf() { echo "target/$TARGET/release/$1"; }

# build NAME [ARGUMENT...]: a failed link would leave the old file.
build() {
    local name=$1
    shift
    rm -f "$(elf "$name")"
    cargo build --quiet --release --bin "$name" "$@"
}

# emulate SECONDS MACHINE CPU ELF [OPTION...]
emulate() {
    local limit=$1 machine=$2 cpu=$3 elf=$4
    shift 4
    local semihosting=enable=on,target=native
    [ -z "${ARGUMENT-}" ] || semihosting+=,arg=program,arg=$ARGUMENT
    timeout -k 5 "$limit" qemu-system-arm -M "$machine" -cpu "$cpu" -nographic -monitor none -serial none \
        -semihosting-config "$semihosting" "$@" -kernel "$elf" </dev/null
    local status=$?
    [ "$status" -ne 124 ] || echo "no end after $limit s" >&2
    return "$status"
}

m4() { emulate "$1" mps2-an386 cortex-m4 "$2" "${@:3}"; }
m7() { emulate "$1" mps2-an500 cortex-m7 "$2" "${@:3}"; }

tools() { cargo build --quiet -p glowsill-firmware-tools --target "$host" --bin "$1"; }
tool() { local name=$1; shift; "target/$host/debug/$name" "$@"; }

# The runner itself: a panic, a fault, a failure and a program that hangs must each be noticed.
run_crash() {
    build crash || return 1
    local wish status bad=0
    for wish in pass fail panic fault hang; do
        ARGUMENT=$wish m4 $([ "$wish" = hang ] && echo 3 || echo 20) "$(elf crash)" >"$OUT/crash-$wish" 2>&1
        status=$?
        case $wish in
            pass) [ "$status" -eq 0 ] ;;
            hang) [ "$status" -eq 124 ] ;;
            *) [ "$status" -ne 0 ] && [ "$status" -ne 124 ] ;;
        esac || { echo "crash $wish ended with $status:"; cat "$OUT/crash-$wish"; bad=1; }
    done
    grep -q 'hard fault at' "$OUT/crash-fault" || { echo "the hard fault was not named"; bad=1; }
    grep -q 'panicked at' "$OUT/crash-panic" || { echo "the panic was not named"; bad=1; }
    [ "$bad" -ne 0 ] || echo "crash: a panic, a hard fault, a failure and a hang are noticed"
    return "$bad"
}

# No reachable panic with overflow checks on; and one put there on purpose must be found.
run_proof() {
    local elf=target/$TARGET/proof/proof log=$OUT/proof
    rm -f "$elf"
    if ! cargo build --quiet --profile proof --bin proof 2>"$log" || ! [ -s "$elf" ]; then
        if ! grep -q 'undefined symbol: a_panic_is_reachable' "$log"; then
            cat "$log"
            return 1
        fi
        echo "proof: a panic can be reached. Places, among them those of the panic's own text:"
        rm -f "$elf"
        cargo build --quiet --profile proof --bin proof --features locate && tools panics &&
            tool panics "$elf"
        return 1
    fi
    rm -f "$elf"
    if cargo build --quiet --profile proof --bin proof --features control 2>"$log" || [ -e "$elf" ]; then
        echo "proof: the control, which can panic, was linked: the proof proves nothing"
        return 1
    fi
    grep -q 'undefined symbol: a_panic_is_reachable' "$log" || { cat "$log"; return 1; }
    echo "proof: no panic can be reached; the control, which can panic, is not linked"
}

run_conformance() {
    build conformance && m4 120 "$(elf conformance)"
}

run_faults() {
    build faults && m4 120 "$(elf faults)"
}

run_log() {
    DEFMT_LOG=trace build log --features log && tools log-check || return 1
    m4 120 "$(elf log)" >"$OUT/log" || { echo "log: the program ended with $?"; return 1; }
    tool log-check "$(elf log)" <"$OUT/log"
}

run_memory() {
    build memory && tools memory-table && m4 120 "$(elf memory)" >"$OUT/memory" &&
        tool memory-table "$(elf memory)" ../../docs/microcontroller.md "$@" <"$OUT/memory"
}

# The same sessions on every machine; the first one is what the others are compared with.
run_pipeline() {
    need node nodejs
    target "$WASM"
    local sessions=(cargo build --quiet -p glowsill-firmware-host --target "$host" --bin sessions)
    local wasm=target/$WASM/release/glowsill_firmware_wasm.wasm
    rm -f "$wasm" target/"$host"/{debug,release}/sessions "$OUT"/pipeline-*
    "${sessions[@]}" && "${sessions[@]}" --release && build pipeline &&
        cargo build --quiet --release -p glowsill-firmware-wasm --target "$WASM" || return 1
    local machine bad=0 lines
    for machine in host-debug host-release m4 m7 wasm; do
        case $machine in
            host-debug) timeout 120 "target/$host/debug/sessions" ;;
            host-release) timeout 60 "target/$host/release/sessions" ;;
            m4) m4 120 "$(elf pipeline)" ;;
            m7) m7 120 "$(elf pipeline)" ;;
            wasm) timeout 60 node wasm/run.mjs "$wasm" ;;
        esac >"$OUT/pipeline-$machine" || { echo "pipeline: $machine ended with $?"; bad=1; }
        lines=$(grep -c ' struck, ' "$OUT/pipeline-$machine")
        # Six profiles on three panels in two sizes.
        [ "$lines" -eq 36 ] || { echo "pipeline: $machine gave $lines check sums; expected 36"; bad=1; }
        if ! diff -u "$OUT/pipeline-host-debug" "$OUT/pipeline-$machine"; then
            echo "pipeline: $machine does not give what host-debug gives"
            bad=1
        fi
    done
    [ "$bad" -eq 0 ] || return 1
    cat "$OUT/pipeline-m4"
    echo "pipeline: the same on $host (debug, release), Cortex-M4, Cortex-M7 and wasm32"
}

# Instructions a pixel: one instruction is a nanosecond of the emulator's time.
run_cost() {
    build cost && m4 120 "$(elf cost)" -icount shift=0 &&
        build cost-c && m4 120 "$(elf cost-c)" -icount shift=0
}

need qemu-system-arm qemu-system-arm
target "$TARGET"
mkdir -p "$OUT"
name=${1-}
shift
if [ "$name" = all ]; then
    failed=()
    for program in "${PROGRAMS[@]}"; do
        started=$SECONDS
        "run_$program" || failed+=("$program")
        echo "-- $program: $((SECONDS - started)) s"
    done
    [ "${#failed[@]}" -eq 0 ] || { echo "firmware: failed: ${failed[*]}"; exit 1; }
    exit 0
fi
declare -F "run_$name" >/dev/null || { echo "usage: run.sh NAME, one of: ${PROGRAMS[*]} all"; exit 2; }
"run_$name" "$@" || exit 1
