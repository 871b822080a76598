//! Drawing pixel by pixel: whatever colour plan, overlay and panel, with pixels that have no sample.

use super::rows::{Setup, Tally};
use crate::fixedpoint::{count_u32, grey_q8_to_u8_round};
use crate::panel::{PanelFormat, Rgb888};
use crate::stage::colour::{BandTable, ColourTable};
use crate::stage::overlay::Blend;

/// Draws neighbouring pixels from their temperature codes, greys and last bands.
pub(super) fn draw<P: PanelFormat>(
    setup: &Setup<'_>,
    at: (u16, u16),
    (codes, greys): (&[u16], &[u16]),
    bands: &mut [u8],
    out: &mut [P::Pixel],
    tally: &mut Tally,
) {
    match &setup.colour {
        ColourTable::Bands(table) if !table.all_grey(codes) => {
            draw_bands::<P>((table, &setup.blend), at, codes, greys, bands, out, tally);
        }
        ColourTable::PseudoColour(colours) => {
            bands.fill(0);
            draw_mapped::<P>(at, codes, greys, out, tally, |grey| {
                colours[usize::from(grey)]
            });
            tally.coloured += count_u32(codes.iter().filter(|code| **code != 0).count());
        }
        ColourTable::GreyOnly => {
            bands.fill(0);
            draw_mapped::<P>(at, codes, greys, out, tally, Rgb888::grey);
        }
        ColourTable::Bands(_) => {
            bands.fill(0);
            for (x, (pixel, &grey)) in (at.0..).zip(out.iter_mut().zip(greys)) {
                *pixel = P::pack(Rgb888::grey(grey_q8_to_u8_round(grey)), x, at.1);
            }
        }
    }
}

/// What stands for a pixel without a sample.
pub(super) fn checker(x: u16, y: u16) -> Rgb888 {
    Rgb888::grey(if (x ^ y) & 1 == 1 { 255 } else { 0 })
}

/// Draws pixels whose colour follows from their grey alone.
fn draw_mapped<P: PanelFormat>(
    (x, y): (u16, u16),
    codes: &[u16],
    greys: &[u16],
    out: &mut [P::Pixel],
    tally: &mut Tally,
    colour: impl Fn(u8) -> Rgb888,
) {
    for (x, (pixel, (&code, &grey))) in (x..).zip(out.iter_mut().zip(codes.iter().zip(greys))) {
        let shown = if code == 0 {
            tally.invalid += 1;
            checker(x, y)
        } else {
            colour(grey_q8_to_u8_round(grey))
        };
        *pixel = P::pack(shown, x, y);
    }
}

/// Draws pixels that may lie in a band, and keeps their band memory.
fn draw_bands<P: PanelFormat>(
    (table, blend): (&BandTable, &Blend),
    (x, y): (u16, u16),
    codes: &[u16],
    greys: &[u16],
    bands: &mut [u8],
    out: &mut [P::Pixel],
    tally: &mut Tally,
) {
    let cells = codes.iter().zip(greys).zip(bands);
    for (x, (pixel, ((&code, &grey), band))) in (x..).zip(out.iter_mut().zip(cells)) {
        let grey = grey_q8_to_u8_round(grey);
        let shown = if code == 0 {
            tally.invalid += 1;
            *band = 0;
            checker(x, y)
        } else {
            *band = table.band(code, *band);
            if *band == 0 {
                Rgb888::grey(grey)
            } else {
                tally.coloured += 1;
                let is_ceiling = table.is_ceiling(*band);
                if let Some(count) = tally.in_band.get_mut(table.slot(*band)) {
                    *count += 1;
                }
                let colour = table.colour(*band, code);
                if is_ceiling {
                    colour
                } else {
                    blend.apply(colour, grey)
                }
            }
        };
        *pixel = P::pack(shown, x, y);
    }
}
