//! Marks of bodies in a cast: pixels wholly inside, and a ring of background around them.

use rayon::prelude::*;

use super::Mark;
use super::cast::{Cast, World};
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
        // The first name of each body, by its number.
        let wanted: Vec<Option<usize>> = (world.bodies.iter())
            .map(|body| names.iter().position(|name| *name == body.name))
            .collect();
        let name_of = |index: &u16| wanted.get(usize::from(*index)).copied().flatten();
        let named: Vec<Option<usize>> = self.body.data.iter().map(name_of).collect();
        let reach = (0.03 * count_f64(height)).max(3.0);
        let any: Vec<bool> = named.iter().map(Option::is_some).collect();
        let taken = within(&any, (width, height), 1.5);
        names
            .par_iter()
            .enumerate()
            .map(|(number, name)| {
                let shown: Vec<bool> = named.iter().map(|n| *n == Some(number)).collect();
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
    // How far to the left or right the nearest one of the same row is.
    let mut across = vec![usize::MAX; set.len()];
    for (set, across) in set
        .chunks(width.max(1))
        .zip(across.chunks_mut(width.max(1)))
    {
        for one in set.iter().enumerate().filter(|(_, set)| **set) {
            let x = one.0;
            for (i, least) in across
                .iter_mut()
                .enumerate()
                .take(x + r + 1)
                .skip(x.saturating_sub(r))
            {
                *least = (*least).min(i.abs_diff(x));
            }
        }
    }
    let mut near = vec![false; set.len()];
    let rows = across.chunks(width.max(1));
    let is_empty: Vec<bool> = rows
        .map(|row| row.iter().all(|across| *across == usize::MAX))
        .collect();
    for y in 0..height {
        for j in y.saturating_sub(r)..(y + r + 1).min(height) {
            if is_empty[j] {
                continue;
            }
            let down = count_f64(j.abs_diff(y));
            let left = reach * reach - down * down;
            if left < 0.0 {
                continue;
            }
            let most = floor_index(left.sqrt(), r);
            let row = &across[j * width..(j + 1) * width];
            for (near, across) in near[y * width..(y + 1) * width].iter_mut().zip(row) {
                *near |= *across <= most;
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
