#!/usr/bin/env bash
# Builds the firmware for Cortex-M4 and runs a program of it under the emulator.
#
#   tests/firmware/run.sh cost
#
# Exit code 0 when the program says so, 1 when it does not, 2 when something needed is missing.
set -uo pipefail
cd "$(dirname "$0")" || exit 2

program=${1-cost}
machine=${MACHINE-mps2-an386}
cpu=${CPU-cortex-m4}
target=thumbv7em-none-eabihf

if ! command -v qemu-system-arm >/dev/null; then
    if [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
        apt-get install -y qemu-system-arm >/dev/null 2>&1 ||
            { apt-get update && apt-get install -y qemu-system-arm; } >/dev/null 2>&1
    fi
    command -v qemu-system-arm >/dev/null || {
        echo "missing: qemu-system-arm. Install it, on Debian or Ubuntu: sudo apt-get install qemu-system-arm"
        exit 2
    }
fi
if command -v rustup >/dev/null; then
    rustup target list --installed | grep -qx "$target" || rustup target add "$target" || exit 2
fi

elf=target/$target/release/$program
# A failed link would leave the old file.
rm -f "$elf"
cargo build --release --bin "$program" || exit 1
timeout 120 qemu-system-arm -M "$machine" -cpu "$cpu" -nographic -monitor none \
    -semihosting-config enable=on,target=native -icount shift=0 -kernel "$elf"
status=$?
[ "$status" -ne 124 ] || echo "no end after 120 s"
[ "$status" -eq 0 ] || exit 1
