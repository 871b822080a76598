//! Cells: what a count shows and how often it was seen, in one word.

/// Counts that have a cell: those of 14 bits.
pub(crate) const CELLS: usize = 1 << 14;
/// Most pixels that a cell counts before it must be emptied.
pub(crate) const CELL_MOST: u32 = (1 << 19) - 1;
/// Counts of a block, from one knot of a 14-bit calibration to the next.
pub(crate) const BLOCK: usize = 64;
/// A pixel, as a cell counts it.
const ONE: u32 = 1 << 13;
/// Set while the frame has not met the cell's count.
const UNMET: u32 = 1 << 12;
/// Set in no cell of step 0.
const STEPS: u32 = 15 << 8;

/// A cell that was never seen nor met: its grey and its step of bands, a multiple of 8.
#[inline]
pub(crate) const fn cell_new(grey: u8, step: u8) -> u32 {
    grey as u32 | (step as u32 & 0x78) << 5 | UNMET
}

/// The same, of a count that is met.
#[inline(always)]
pub(crate) const fn cell_met(cell: u32) -> u32 {
    cell & !UNMET
}

/// The same, of a count that is not met.
#[inline(always)]
pub(crate) const fn cell_unmet(cell: u32) -> u32 {
    cell | UNMET
}

/// The same, met or not as another cell.
#[inline(always)]
pub(crate) const fn cell_met_as(cell: u32, other: u32) -> u32 {
    cell & !UNMET | other & UNMET
}

/// Whether a cell, or one of several whose bits were gathered, is of a count that is not met.
#[inline(always)]
pub(crate) const fn cell_is_unmet(cell: u32) -> bool {
    cell & UNMET != 0
}

/// Whether a cell, or one of several whose bits were gathered, may have a band.
#[inline(always)]
pub(crate) const fn cell_has_step(cell: u32) -> bool {
    cell & STEPS != 0
}

/// The same, seen once more.
#[inline(always)]
pub(crate) const fn cell_seen(cell: u32) -> u32 {
    cell.wrapping_add(ONE)
}

/// The same, seen once less.
#[inline(always)]
pub(crate) const fn cell_unseen(cell: u32) -> u32 {
    cell.wrapping_sub(ONE)
}

/// How often it was seen.
#[inline(always)]
pub(crate) const fn cell_count(cell: u32) -> u32 {
    cell / ONE
}

/// The same, never seen nor met.
#[inline(always)]
pub(crate) const fn cell_emptied(cell: u32) -> u32 {
    cell & (ONE - 1) | UNMET
}

/// Its grey.
#[inline(always)]
pub(crate) const fn cell_grey(cell: u32) -> u8 {
    cell as u8
}

/// Place, in a table of 16 steps of 8, of its step and a pixel's last band.
#[inline(always)]
pub(crate) const fn cell_step(cell: u32, previous: u8) -> usize {
    ((cell >> 8) as usize & 15) << 3 | (previous & 7) as usize
}

/// Place of a step and a pixel's last band.
#[inline(always)]
pub(crate) const fn step_place(step: u8, previous: u8) -> usize {
    (step & 0x78) as usize | (previous & 7) as usize
}

/// Step of a number below 16.
pub(crate) const fn step_of(index: usize) -> u8 {
    ((index & 15) << 3) as u8
}

/// Cell of a count of 14 bits.
#[inline(always)]
pub(crate) const fn cell_index(counts: u16) -> usize {
    counts as usize & (CELLS - 1)
}

/// Block of 64 counts, of 256.
#[inline(always)]
pub(crate) const fn block_of(counts: u16) -> usize {
    (counts as usize >> 6) & 255
}

/// First and last count of a block.
pub(crate) const fn block_bounds(block: usize) -> (u16, u16) {
    let from = ((block & 255) << 6) as u16;
    (from, from | (BLOCK as u16 - 1))
}
