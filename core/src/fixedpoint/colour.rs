//! Colour: blends, tints and panel words.

use super::{clamp_u64_to_u16, div_round_i64, scale_q16_round};

/// Exact `round(x / 255)` for `x` up to 255 * 255, without a division.
#[inline]
pub(crate) const fn div255_round(x: u16) -> u8 {
    let y = x as u32 + 128;
    ((y + (y >> 8)) >> 8) as u8
}

/// `(weight * a + (255 - weight) * b) / 255`, rounded: weight 255 is `a`, weight 0 is `b`.
#[inline]
pub(crate) const fn mix255_round(a: u8, b: u8, weight: u8) -> u8 {
    div255_round(weight as u16 * a as u16 + (255 - weight) as u16 * b as u16)
}

/// Narrows a band number, at most 7, to the byte kept per pixel.
#[inline]
pub(crate) const fn band_u8(x: usize) -> u8 {
    (x & 7) as u8
}

/// Position between two temperatures as Q8 (0 to 256), from a Q16 factor made for the interval.
#[inline]
pub(crate) const fn position_q8(distance: u16, factor_q16: u64) -> u16 {
    clamp_u64_to_u16(scale_q16_round(distance as u32, factor_q16, 256) as u64)
}

/// Mixes two codes at `num / den` of the way, rounded half up.
pub(crate) const fn mix_ratio_round(a: u8, b: u8, num: u32, den: u32) -> u8 {
    let d = if den == 0 { 1 } else { den as i64 };
    let y = a as i64 + div_round_i64((b as i64 - a as i64) * num as i64, d);
    (if y < 0 {
        0
    } else if y > 255 {
        255
    } else {
        y
    }) as u8
}

/// `index * steps` split into whole 255ths and the remainder.
pub(crate) const fn split_255(index: usize, steps: usize) -> (usize, u32) {
    let x = index * steps;
    (x / 255, (x % 255) as u32)
}

/// Mixes two codes with a Q8 position (0 to 256) of the second, rounded.
#[inline]
pub(crate) const fn mix_q8_round(a: u8, b: u8, position_q8: u16) -> u8 {
    let delta = (b as i32 - a as i32) * position_q8 as i32 + 128;
    (a as i32 + (delta >> 8)) as u8
}

/// Factor of the colour and amount of white (both Q16) of a tint at a grey of 0 to 255.
pub(crate) const fn tint_factors_q16(grey: usize, knee: u8, lift: u8) -> (u32, u32) {
    const ONE: u32 = 1 << 16;
    let (g, k) = (grey as u32, knee as u32);
    if g < k {
        (((g << 16) + k / 2) / k, 0)
    } else {
        let den = 255 * (255 - k);
        let white = (((lift as u64 * (g - k) as u64) << 16) + den as u64 / 2) / den as u64;
        let white = if white > ONE as u64 {
            ONE
        } else {
            white as u32
        };
        (ONE - white, white)
    }
}

/// `code * factor + 255 * white`, both Q16, rounded.
#[inline]
pub(crate) const fn tint_q16_round(code: u8, factor_q16: u32, white_q16: u32) -> u8 {
    ((code as u32 * factor_q16 + 255 * white_q16 + (1 << 15)) >> 16) as u8
}

/// Packs 5-6-5, each channel rounded to the nearest code.
#[inline]
pub(crate) const fn pack_565_round(r: u8, g: u8, b: u8) -> u16 {
    // round(v * 31 / 255) and round(v * 63 / 255) for every byte; the test enumerates them.
    let r5 = (r as u32 * 249 + 1014) >> 11;
    let g6 = (g as u32 * 253 + 505) >> 10;
    let b5 = (b as u32 * 249 + 1014) >> 11;
    ((r5 << 11) | (g6 << 5) | b5) as u16
}

/// Packs 5-6-5 with an ordered-dither rank of 0 to 15.
#[inline]
pub(crate) const fn pack_565_dither(r: u8, g: u8, b: u8, rank: u8) -> u16 {
    // floor(v * max / 255 + (rank + 1/2) / 16), in 32nds of 255.
    const fn channel(v: u8, max: u32, rank: u8) -> u16 {
        ((v as u32 * max * 32 + (2 * rank as u32 + 1) * 255) / (255 * 32)) as u16
    }
    (channel(r, 31, rank) << 11) | (channel(g, 63, rank) << 5) | channel(b, 31, rank)
}

/// Expands 5-6-5 to 8-bit codes, rounded: the codes a panel shows for the word.
#[must_use]
pub(crate) const fn unpack_565(word: u16) -> (u8, u8, u8) {
    const fn widen(v: u16, max: u32) -> u8 {
        ((v as u32 * 255 + max / 2) / max) as u8
    }
    (
        widen(word >> 11, 31),
        widen((word >> 5) & 63, 63),
        widen(word & 31, 31),
    )
}

/// Page of 256 codes that a code lies in.
#[inline(always)]
pub(crate) const fn page_of(code: u16) -> usize {
    (code >> 8) as usize
}

/// Code at a place of a page.
pub(crate) const fn page_code(page: u8, place: u8) -> u16 {
    (page as u16) << 8 | place as u16
}

/// Place of a band's grey in a table of eight rows of 256.
#[inline(always)]
pub(crate) const fn word_place(band: u8, grey: u8) -> usize {
    ((band & 7) as usize) << 8 | grey as usize
}

/// The lower eight bits.
pub(crate) const fn low_byte(x: usize) -> u8 {
    (x & 255) as u8
}
