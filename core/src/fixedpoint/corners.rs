//! Every function of this folder at its corners. Expected values are calculated by hand from what the
//! function says, at places where another rounding, another operator or a lost clamp gives another number.

use super::*;

#[test]
fn whole_numbers_round_half_up_below_zero_too() {
    // 7/2 = 3.5; -7/2 = -3.5; 11/7 = 1.57; -10/4 = -2.5.
    let divided = [(7, 2), (-7, 2), (9, 4), (10, 4), (-10, 4), (10, 7), (11, 7)]
        .map(|(x, divisor)| div_round_i64(x, divisor));
    assert_eq!(divided, [4, -3, 2, 3, -2, 1, 2]);
    // 15·4/125 = 0.48, 16·4/125 = 0.512, -16·4/125 = -0.512.
    let ratio = |x| ratio_to_u16_round(x, 4, 125);
    assert_eq!(
        [ratio(15), ratio(16), ratio(-1), ratio(-16)],
        [Some(0), Some(1), Some(0), None]
    );
    assert_eq!([ratio(2_047_968), ratio(2_047_985)], [Some(65_535), None]);
    assert_eq!([ratio(i64::MAX), ratio(i64::MAX / 4)], [None, None]);
    assert_eq!((widen_i32(-5), widen_u16(65_535)), (-5, 65_535));
}

#[test]
fn narrowing_stops_at_both_ends() {
    assert_eq!(
        [5, 65_535, 65_536].map(clamp_u64_to_u16),
        [5, 65_535, 65_535]
    );
    assert_eq!(
        [5, 65_535, 65_536, 70_000].map(index_u16),
        [5, 65_535, 65_535, 65_535]
    );
    assert_eq!(count_u32(5), 5);
    #[cfg(target_pointer_width = "64")]
    assert_eq!([1 << 32, (1 << 32) + 7].map(count_u32), [u32::MAX; 2]);
    assert_eq!([0, 5, 7, 9].map(band_u8), [0, 5, 7, 1]);
    assert_eq!((low_byte(0x1FE), half_floor(7)), (0xFE, 3));
}

#[test]
fn shares_and_moves() {
    assert_eq!(
        [
            (1, 32_768, 9),
            (1, 32_767, 9),
            (10, 32_768, 9),
            (1000, 65_536, 256)
        ]
        .map(|(x, factor, max)| scale_q16_round(x, factor, max)),
        [1, 0, 5, 256]
    );
    // 65,536/3 = 21,845.3; 131,072/3 = 43,690.7; 393,216/7 = 56,173.7.
    assert_eq!(
        [(1, 3), (2, 3), (6, 7), (3, 0)].map(|(n, d)| ratio_q16_round(n, d)),
        [21_845, 43_691, 56_174, 196_608]
    );
    // 3000/7 = 428.57; 1/2000 is half a thousandth.
    assert_eq!(
        [(1, 3), (2, 3), (3, 7), (1, 2000), (5, 0)].map(|(n, d)| permille_round(n, d)),
        [333, 667, 429, 1, 0]
    );
    assert_eq!(
        [(1000, 20), (7, 500), (7, 499)].map(|(n, p)| permille_of_round(n, p)),
        [20, 4, 3]
    );
    // 30/7 = 4.29; 33/7 = 4.71.
    assert_eq!(
        [
            (10, 3, 7),
            (11, 3, 7),
            (5, 4, 0),
            (u32::MAX, 2, 1),
            (10, 1, 7),
            (9, 0, 7)
        ]
        .map(|(w, p, t)| share_round(w, p, t)),
        [4, 5, 20, u32::MAX, 1, 0]
    );
    assert_eq!(
        [
            approach(100, 200, 0),
            approach(200, 100, 3),
            approach(0, u32::MAX, 1)
        ],
        [200, 167, u32::MAX]
    );
}

#[test]
fn mixes_of_codes() {
    // 10 + 10/3; 20 - 10/3; half of 255 from both sides; beyond both ends; a denominator of 0 is 1.
    let mixed = [
        (10, 20, 1, 3),
        (20, 10, 1, 3),
        (0, 255, 1, 2),
        (255, 0, 1, 2),
        (0, 255, 2, 1),
        (255, 0, 2, 1),
        (3, 9, 5, 0),
    ]
    .map(|(a, b, num, den)| mix_ratio_round(a, b, num, den));
    assert_eq!(mixed, [13, 17, 128, 128, 255, 0, 33]);
    assert_eq!(
        [
            (10, 20, 128),
            (20, 10, 128),
            (0, 255, 1),
            (0, 255, 256),
            (0, 1, 128),
            (0, 1, 127)
        ]
        .map(|(a, b, q)| mix_q8_round(a, b, q)),
        [15, 15, 1, 255, 1, 0]
    );
    // A hundred codes long: 256·65,536/100 = 167,772.
    assert_eq!(
        [50, 100, 200].map(|d| position_q8(d, 167_772)),
        [128, 256, 256]
    );
    assert_eq!(split_255(100, 7), (2, 190)); // 700 = 2·255 + 190
    assert_eq!(div255_round(0), 0);
}

#[test]
fn tints() {
    // Below the knee 65,536·6/7 = 56,173.7. Above, 140/255·65,536 = 35,980.5 of white at the end, and
    // 28/55 of it at grey 228.
    assert_eq!(tint_factors_q16(6, 7, 140), (56_174, 0));
    assert_eq!(tint_factors_q16(200, 200, 140), (65_536, 0));
    assert_eq!(tint_factors_q16(255, 200, 140), (29_555, 35_981));
    assert_eq!(tint_factors_q16(228, 200, 140), (47_219, 18_317));
    assert_eq!(tint_factors_q16(255, 254, 255), (0, 65_536));
    // 201/2 = 100.5; 100·0.451 + 255·0.549 = 185.1.
    assert_eq!(
        [
            (200, 32_768, 0),
            (201, 32_768, 0),
            (100, 29_555, 35_981),
            (255, 0, 65_536)
        ]
        .map(|(c, f, w)| tint_q16_round(c, f, w)),
        [100, 101, 185, 255]
    );
}

#[test]
fn panel_words() {
    // 128·31/255 = 15.56, 128·63/255 = 31.62.
    assert_eq!(
        [(255, 0, 0), (0, 255, 0), (0, 0, 255), (128, 128, 128)]
            .map(|(r, g, b)| pack_565_round(r, g, b)),
        [0xF800, 0x07E0, 0x001F, 0x8410]
    );
    // 4·31/255 = 0.486, and (rank + ½)/16: 0.955 at rank 7, 1.017 at rank 8. 4·63/255 = 0.988.
    assert_eq!(pack_565_dither(4, 0, 0, 7), 0);
    assert_eq!(pack_565_dither(4, 0, 0, 8), 1 << 11);
    assert_eq!(pack_565_dither(0, 4, 4, 8), 1 << 5 | 1);
    assert_eq!(pack_565_dither(255, 0, 128, 0), 31 << 11 | 15);
    assert_eq!(pack_565_dither(255, 128, 128, 15), 31 << 11 | 32 << 5 | 16);
    // 16·255/31 = 131.6, 32·255/63 = 129.5, 20·255/31 = 164.5.
    assert_eq!(unpack_565(16 << 11 | 32 << 5 | 20), (132, 130, 165));
    assert_eq!(unpack_565(0xFFFF), (255, 255, 255));
    assert_eq!(unpack_565(0), (0, 0, 0));
    assert_eq!((page_of(0x1234), page_code(0x12, 0x34)), (0x12, 0x1234));
    assert_eq!(
        [word_place(3, 5), word_place(9, 5), word_place(7, 255)],
        [773, 261, 2047]
    );
}

#[test]
fn counts_and_knots() {
    // A rise of 1 at 31 and 32 of 64; 255·128/256 = 127.5.
    assert_eq!(
        [
            (100, 10, 32, 6),
            (100, 1, 31, 6),
            (100, 1, 32, 6),
            (7, 255, 128, 8)
        ]
        .map(|(base, rise, f, shift)| rise_shift_round(base, rise, f, shift)),
        [105, 100, 101, 135]
    );
    assert_eq!(
        [(0, 1, 1, 1), (9, 3, 1, 2)].map(|(a, b, f, s)| lerp_shift_round(a, b, f, s)),
        [1, 8]
    ); // 0.5; 7.5
    // 30,000·16,385/16,384 = 30,001.8.
    assert_eq!(
        [
            (1000, 16_384, 5),
            (30_000, 16_385, 0),
            (65_535, 16_384, 0),
            (1, 1, -5)
        ]
        .map(|(raw, gain, offset)| two_point_q14_round(raw, gain, offset)),
        [1005, 30_002, 65_534, 1]
    );
    let places = [
        (1000, 16_384, 5),
        (1000, 16_384, -2000),
        (20_000, 16_384, 0),
        (60_000, 65_535, 0),
        (3, 8192, 0),
        (900, 16_384, -5),
    ]
    .map(|(raw, gain, offset)| {
        let all = two_point_place::<CELLS>(raw, gain, offset, place_start(0));
        (
            all,
            two_point_place::<128>(raw, gain, offset, place_start(890)),
        )
    });
    // 895 and 1005 are 5 and 115 from 890.
    assert_eq!(
        places,
        [(1005, 115), (0, 0), (16_383, 127), (0, 0), (2, 0), (895, 5)]
    );
    assert_eq!(
        [
            (100, 200, 2048),
            (200, 100, 2048),
            (0, 1, 2048),
            (0, 1, 2047),
            (1, 0, 2048)
        ]
        .map(|(a, b, w)| blend_q12_round(a, b, w)),
        [150, 150, 1, 0, 1]
    );
    assert_eq!(
        [(7, 2), (9, 4), (10, 4), (11, 4), (5, 0), (327_675, 5)].map(|(sum, n)| mean_round(sum, n)),
        [4, 2, 3, 3, 5, 65_535]
    );
    assert_eq!(
        [6, 7, 8, 9].map(count_range_max),
        [16_383, 32_767, 65_535, 65_535]
    );
    assert_eq!(
        [0, 1, 255, 256].map(identity_knot),
        [0, 256, 65_280, 65_535]
    );
    // 4660 = 72·64 + 52.
    assert_eq!(
        [split_knot(4660, 6), split_knot(65_535, 8)],
        [(72, 52), (255, 255)]
    );
    // A rise of 100 over a block: 1000, 1001.56, 1003.13, and 1098.44 at the last of 64.
    let mut block = Rise::new(1000, 100);
    assert_eq!(
        [0, 1, 2, 63].map(|at| block.ahead(at)),
        [1000, 1002, 1003, 1098]
    );
    block.pass(2);
    assert_eq!((block.code(), Rise::new(0, 0).code()), (1003, 1));
}

#[test]
fn cells_and_blocks() {
    // Grey 200, step 3 (24), not met, seen twice: 200 + 3·256 + 4096 + 2·8192.
    let cell = cell_seen(cell_seen(cell_new(200, 24)));
    assert_eq!((cell, cell_unseen(cell)), (21_448, 13_256));
    assert_eq!((cell_grey(cell), cell_count(cell)), (200, 2));
    let met = cell_met(cell);
    assert_eq!((met, cell_unmet(met)), (17_352, 21_448));
    assert_eq!([cell, met].map(cell_is_unmet), [true, false]);
    assert_eq!([cell, cell_new(255, 0)].map(cell_has_step), [true, false]);
    assert_eq!([cell_met_as(cell, 0), cell_met_as(met, cell)], [met, cell]);
    assert_eq!([cell, met].map(cell_emptied), [5064, 5064]);
    assert_eq!([cell_step(cell, 5), cell_step(cell, 13)], [29, 29]);
    assert_eq!([step_place(24, 5), step_place(255, 9)], [29, 121]);
    assert_eq!([step_of(0), step_of(3), step_of(15)], [0, 24, 120]);
    assert_eq!([cell_index(16_383), cell_index(16_384)], [16_383, 0]);
    assert_eq!(
        [block_of(0), block_of(63), block_of(64), block_of(16_383)],
        [0, 0, 1, 255]
    );
    assert_eq!(
        [block_bounds(0), block_bounds(255)],
        [(0, 63), (16_320, 16_383)]
    );
}

#[test]
fn greys_and_ends() {
    assert_eq!(
        [127, 128, 383, 384, 65_280].map(grey_q8_to_u8_round),
        [0, 1, 1, 2, 255]
    );
    // 2^24·2/3 = 11,184,810.7; 2^24·6/7 = 14,380,470.9.
    assert_eq!(
        [(1, 3), (2, 3), (6, 7), (5, 0)].map(|(n, d)| ratio_q24_round(n, d)),
        [5_592_405, 11_184_811, 14_380_471, 5 << 24]
    );
    assert_eq!(
        [
            (100, 1 << 24),
            (70_000, 1 << 24),
            (1, 1 << 23),
            (1, (1 << 23) - 1)
        ]
        .map(|(x, f)| scale_q24_to_grey_q8_round(x, f)),
        [100, 65_280, 1, 0]
    );
    assert_eq!(
        [
            (100, 200, 128),
            (200, 100, 128),
            (0, 1, 128),
            (0, 1, 127),
            (1, 0, 128)
        ]
        .map(|(a, b, w)| blend_q8_round(a, b, w)),
        [150, 150, 1, 0, 1]
    );
    assert_eq!(
        (code_to_q13(5), edge_to_q13(3), width_q13(3)),
        (1280, 768, 2048)
    );
    assert_eq!(
        [127, 128, 384, 1 << 25].map(q13_to_code_round),
        [0, 1, 2, 65_535]
    );
    assert_eq!([255, 256, 1 << 25].map(q13_to_code_floor), [0, 1, 65_535]);
    assert_eq!(
        (index_shift_floor(1000, 3), edge_code(100, 3, 4)),
        (125, 148)
    );
    assert_eq!(
        [127, 128, 384, 255 << 16, 256 << 16].map(grey_q16_to_q8_round),
        [0, 1, 2, 65_280, 65_280]
    );
    // Two codes a kelvin over a kelvin; three over a thirty-second of one: 3·65,536/32.
    assert_eq!(
        (slope_step_q16(2, 5), slope_step_q16(3, 0)),
        (131_072, 6144)
    );
    // 255·8192/7 = 298,422.9.
    assert_eq!(
        [0, 1, 2, 7].map(span_of_slope_q13),
        [2_088_960, 2_088_960, 1_044_480, 298_423]
    );
}

#[test]
fn windows_end_where_they_say() {
    // Eight of eleven numbers, one left out before them; eight and sixteen as they are.
    let window = Window::inside((10, 20)).unwrap();
    assert!(window.holds(&[11, 18]));
    assert!(!window.holds(&[10, 18]) && !window.holds(&[11, 19]));
    let window = Window::inside((10, 17)).unwrap();
    assert!(window.holds(&[10, 17]) && !window.holds(&[9, 17]) && !window.holds(&[10, 18]));
    assert!(Window::inside((20, 10)).is_none() && Window::inside((0, 32_768)).is_none());
}
