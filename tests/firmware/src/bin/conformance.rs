//! The conformance vectors on the microcontroller: every one that the manifest states, none is
//! nothing.
#![no_std]
#![no_main]

extern crate alloc;

use alloc::string::String;
use alloc::vec::Vec;

use cortex_m_rt::entry;
use cortex_m_semihosting::hprintln;
use embedded_alloc::LlffHeap as Heap;
use glowsill_core_port::answer;
use glowsill_firmware::board::end;
use panic_semihosting as _;

#[global_allocator]
static HEAP: Heap = Heap::empty();

static VECTORS: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/vectors.bin"));

/// The board's 16 MB of PSRAM, which has its own place on each of the two machines.
fn heap() -> (usize, usize) {
    const PART_OF_M7: u32 = 0xC27;
    // SAFETY: the processor's identification register; reading has no side effect.
    let id = unsafe { (0xE000_ED00 as *const u32).read_volatile() };
    let start = if id >> 4 & 0xFFF == PART_OF_M7 {
        0x6000_0000
    } else {
        0x2100_0000
    };
    (start, 16 << 20)
}

/// Reads the form that `build.rs` writes.
struct Reader(&'static [u8]);

impl Reader {
    fn number(&mut self) -> Option<i64> {
        let (mut raw, mut shift) = (0u64, 0);
        loop {
            let (byte, rest) = self.0.split_first()?;
            self.0 = rest;
            raw |= u64::from(byte & 127) << shift;
            if byte & 128 == 0 {
                return Some((raw >> 1).cast_signed() ^ -((raw & 1).cast_signed()));
            }
            shift += 7;
        }
    }

    fn length(&mut self) -> Option<usize> {
        usize::try_from(self.number()?).ok()
    }

    fn text(&mut self) -> Option<String> {
        let length = self.length()?;
        let (text, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        String::from_utf8(text.into()).ok()
    }

    fn numbers(&mut self) -> Option<Vec<i64>> {
        (0..self.length()?).map(|_| self.number()).collect()
    }
}

/// Whether the next vector passes; says why it does not.
fn passes(from: &mut Reader) -> Option<bool> {
    let (id, word, request) = (from.text()?, from.text()?, from.numbers()?);
    let answer = answer(&word, &request);
    let mut rest = answer.iter().flatten();
    let mut differing = 0;
    for _ in 0..from.length()? {
        let allowed = from.number()?;
        for expected in from.numbers()? {
            let found = rest.next();
            if found.is_none_or(|found| found.abs_diff(expected) > allowed.unsigned_abs()) {
                if differing == 0 {
                    hprintln!("{}: {} expected, {:?} answered", id, expected, found);
                }
                differing += 1;
            }
        }
    }
    let surplus = rest.count();
    if differing + surplus > 0 {
        hprintln!("{}: {} numbers differ, {} too many", id, differing, surplus);
    }
    Some(differing + surplus == 0)
}

fn run() -> Option<bool> {
    let mut from = Reader(VECTORS);
    let stated = from.length()?;
    let (mut ran, mut passed) = (0, 0);
    while !from.0.is_empty() {
        ran += 1;
        passed += usize::from(passes(&mut from)?);
    }
    hprintln!(
        "{} of {} vectors passed; the manifest states {}",
        passed,
        ran,
        stated
    );
    Some(ran > 0 && ran == stated && passed == ran)
}

#[entry]
fn main() -> ! {
    let (start, size) = heap();
    // SAFETY: called once, before any allocation, on memory that no section lies in.
    unsafe { HEAP.init(start, size) };
    let passed = run();
    if passed.is_none() {
        hprintln!("the vectors cannot be read");
    }
    end(passed == Some(true))
}
