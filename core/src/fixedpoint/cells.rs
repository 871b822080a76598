//! Cells: what a count shows and how often it was seen, in one word.

/// Counts that have a cell: those of 14 bits.
pub(crate) const CELLS: usize = 1 << 14;
/// Most pixels that a cell counts before it must be emptied.
pub(crate) const CELL_MOST: u32 = (1 << 20) - 1;
/// Counts of a block, from one knot of a 14-bit calibration to the next.
pub(crate) const BLOCK: usize = 64;

/// A cell that was never seen: its grey and its step of bands, a multiple of 8.
#[inline]
pub(crate) const fn cell_new(grey: u8, step: u8) -> u32 {
    grey as u32 | (step as u32 & 0x78) << 5
}

/// The same, seen once more.
#[inline(always)]
pub(crate) const fn cell_seen(cell: u32) -> u32 {
    cell.wrapping_add(1 << 12)
}

/// How often it was seen.
#[inline(always)]
pub(crate) const fn cell_count(cell: u32) -> u32 {
    cell >> 12
}

/// The same, never seen.
#[inline(always)]
pub(crate) const fn cell_emptied(cell: u32) -> u32 {
    cell & 0xFFF
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

/// `counts` that a rise of `codes` takes where a block rises by `rise`; at least one block.
pub(crate) const fn counts_of_rise(codes: u16, rise: u16) -> u16 {
    let rise = if rise == 0 { 1 } else { rise as u32 };
    let counts = codes as u32 * BLOCK as u32 / rise;
    if counts < BLOCK as u32 {
        BLOCK as u16
    } else if counts > u16::MAX as u32 {
        u16::MAX
    } else {
        counts as u16
    }
}
