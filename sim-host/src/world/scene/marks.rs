//! Marks of bodies in a cast: pixels wholly inside, and a ring of background around them.

use super::Mark;
use super::cast::{Cast, NO_BODY, World};
use crate::world::rounding::{count_f64, floor_index};

impl Cast {
    /// The marks of all bodies whose name is among `names`, in that order; bodies of one name are
    /// one mark. A name that is not in view gives no mark.
    ///
    /// The mask holds the pixels wholly inside. The surround holds whole pixels of the background
    /// within a ring of 0.03 of the picture's height (3 pixels at least), more than a pixel away from
    /// every body that is a mark.
    #[must_use]
    pub fn marks(&self, world: &World, names: &[&str]) -> Vec<Mark> {
        let (width, height) = (self.body.width, self.body.height);
        let named = |index: u16, name: &str| {
            index != NO_BODY
                && (world.bodies.get(usize::from(index))).is_some_and(|body| body.name == name)
        };
        let shown = |name: &str| -> Vec<bool> {
            let bodies = &self.body.data;
            bodies.iter().map(|index| named(*index, name)).collect()
        };
        let reach = (0.03 * count_f64(height)).max(3.0);
        let any: Vec<bool> = (self.body.data.iter())
            .map(|index| names.iter().any(|name| named(*index, name)))
            .collect();
        let taken = within(&any, (width, height), 1.5);
        names
            .iter()
            .map(|name| {
                let shown = shown(name);
                let ring = within(&shown, (width, height), reach);
                let clear = ring.iter().zip(&taken).map(|(ring, taken)| *ring && !taken);
                Mark {
                    name: (*name).to_owned(),
                    surround: clear
                        .zip(&self.whole.data)
                        .map(|(clear, whole)| clear && *whole)
                        .collect(),
                    mask: (shown.iter().zip(&self.whole.data))
                        .map(|(shown, whole)| *shown && *whole)
                        .collect(),
                }
            })
            .filter(|mark| mark.mask.iter().any(|inside| *inside))
            .collect()
    }
}

/// Pixels no farther than `reach` from one that is set, itself included.
fn within(set: &[bool], size: (usize, usize), reach: f64) -> Vec<bool> {
    let (width, height) = size;
    let r = floor_index(reach, 64);
    let mut near = vec![false; set.len()];
    for y in 0..height {
        for x in 0..width {
            if !set[y * width + x] {
                continue;
            }
            for j in y.saturating_sub(r)..(y + r + 1).min(height) {
                for i in x.saturating_sub(r)..(x + r + 1).min(width) {
                    let (dx, dy) = (count_f64(i.abs_diff(x)), count_f64(j.abs_diff(y)));
                    if dx * dx + dy * dy <= reach * reach {
                        near[j * width + i] = true;
                    }
                }
            }
        }
    }
    near
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: counted on squared paper: a pixel has 4 neighbours within 1, 8 within 1.5.
    #[test]
    fn reach_counts_pixels_round_about() {
        let mut set = vec![false; 25];
        set[12] = true;
        let count = |reach| within(&set, (5, 5), reach).iter().filter(|n| **n).count();
        assert_eq!((count(1.0), count(1.5), count(2.0)), (5, 9, 13));
    }
}
