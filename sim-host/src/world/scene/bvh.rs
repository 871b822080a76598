//! A hierarchy of boxes around the solids, so that a ray is compared with few of them.

use glam::{DAffine3, DMat3, DVec3};

use super::primitive::{Primitive, block};
use crate::world::rounding::count_f64;

/// A ray with what the boxes need.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ray {
    pub(super) from: DVec3,
    pub(super) along: DVec3,
    inverse: DVec3,
}

impl Ray {
    /// `along` of length 1, so that multiples are metres.
    pub(super) fn new(from: DVec3, along: DVec3) -> Self {
        Self {
            from,
            along,
            inverse: along.recip(),
        }
    }

    pub(super) fn at(&self, distance: f64) -> DVec3 {
        self.from + self.along * distance
    }

    /// Where it enters and leaves a box; enters behind where it leaves if it misses.
    pub(super) fn through(&self, low: DVec3, high: DVec3) -> (f64, f64) {
        let (a, b) = (
            (low - self.from) * self.inverse,
            (high - self.from) * self.inverse,
        );
        (a.min(b).max_element(), a.max(b).min_element())
    }
}

/// A solid in the world.
pub(super) struct Solid {
    pub(super) primitive: Primitive,
    pub(super) to_local: DAffine3,
    /// Corners of the box around it in the world.
    pub(super) low: DVec3,
    pub(super) high: DVec3,
    pub(super) body: u16,
    pub(super) material: usize,
    /// Half the sizes of a block that is not turned: its ray needs no turning either.
    upright: Option<DVec3>,
    /// The normal of a sheet, which is the same all over.
    flat: Option<DVec3>,
    /// Place in the order in which solids were given: of two at one distance the first is met.
    order: usize,
}

/// Where a ray meets something first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hit {
    pub(super) distance: f64,
    solid: u32,
}

impl Hit {
    /// Nothing was met.
    pub(super) const NONE: Self = Self {
        distance: f64::INFINITY,
        solid: u32::MAX,
    };

    /// Index of the solid met.
    pub(super) fn solid(self) -> Option<usize> {
        (self.solid != u32::MAX).then(|| usize::try_from(self.solid).unwrap_or(usize::MAX))
    }
}

impl Solid {
    pub(super) fn new(
        primitive: Primitive,
        to_world: DAffine3,
        body: u16,
        material: usize,
    ) -> Self {
        let (from, to) = primitive.bounds();
        let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        for corner in 0..8_u8 {
            let pick = |bit: u8, a: f64, b: f64| if corner & bit == 0 { a } else { b };
            let at = to_world.transform_point3(DVec3::new(
                pick(1, from.x, to.x),
                pick(2, from.y, to.y),
                pick(4, from.z, to.z),
            ));
            low = low.min(at);
            high = high.max(at);
        }
        let margin = DVec3::splat(1e-9);
        let to_local = to_world.inverse();
        let flat = (!primitive.solid())
            .then(|| (to_local.matrix3.transpose() * DVec3::Z).normalize_or(DVec3::Z));
        let upright = match &primitive {
            Primitive::Block(half) if to_local.matrix3 == DMat3::IDENTITY => Some(*half),
            _ => None,
        };
        Self {
            to_local,
            primitive,
            upright,
            low: low - margin,
            high: high + margin,
            body,
            material,
            flat,
            order: 0,
        }
    }

    fn meet(&self, ray: &Ray, least: f64) -> Option<f64> {
        if let Some(half) = self.upright {
            let from = ray.from + self.to_local.translation;
            return block(half, from, ray.inverse, least);
        }
        self.primitive.meet(
            self.to_local.transform_point3(ray.from),
            self.to_local.transform_vector3(ray.along),
            least,
        )
    }

    /// Outward direction of length 1 at a point of the surface.
    pub(super) fn normal(&self, at: DVec3) -> DVec3 {
        if let Some(flat) = self.flat {
            return flat;
        }
        let local = self.primitive.normal(self.to_local.transform_point3(at));
        (self.to_local.matrix3.transpose() * local).normalize_or(DVec3::Z)
    }
}

struct Node {
    low: DVec3,
    high: DVec3,
    /// First solid of a leaf, or index of the second child (the first follows its parent).
    next: usize,
    /// Solids of a leaf; 0 for a branch.
    count: usize,
    /// Axis along which a branch is split.
    axis: usize,
}

/// Solids in the order of the leaves, and the boxes around them.
pub(super) struct Hierarchy {
    pub(super) solids: Vec<Solid>,
    nodes: Vec<Node>,
}

const LEAF: usize = 2;
const DEPTH: usize = 64;

fn area(low: DVec3, high: DVec3) -> f64 {
    let s = (high - low).max(DVec3::ZERO);
    s.x * s.y + s.y * s.z + s.z * s.x
}

impl Hierarchy {
    pub(super) fn new(mut solids: Vec<Solid>) -> Self {
        let mut nodes = Vec::with_capacity(2 * solids.len());
        let count = solids.len();
        for (order, solid) in solids.iter_mut().enumerate() {
            solid.order = order;
        }
        if count > 0 {
            grow(&mut solids, 0, count, 0, &mut nodes);
        }
        Self { solids, nodes }
    }

    /// Corners of the box around everything, if there is anything.
    pub(super) fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.nodes.first().map(|root| (root.low, root.high))
    }

    /// The nearest solid met at `least` or farther; of two at one distance the one given first.
    pub(super) fn nearest(&self, ray: &Ray, least: f64) -> Hit {
        let mut best = f64::INFINITY;
        let mut found: Option<usize> = None;
        let mut waiting = [0_usize; DEPTH];
        let mut depth = 0;
        let mut at = 0;
        if self.nodes.is_empty() {
            return Hit::NONE;
        }
        loop {
            let node = &self.nodes[at];
            let (enter, leave) = ray.through(node.low, node.high);
            if enter <= leave && leave >= least && enter <= best {
                if node.count == 0 {
                    let (first, second) = (at + 1, node.next);
                    let back = ray.along[node.axis] < 0.0;
                    (at, waiting[depth]) = if back {
                        (second, first)
                    } else {
                        (first, second)
                    };
                    depth += 1;
                    continue;
                }
                for index in node.next..node.next + node.count {
                    let solid = &self.solids[index];
                    if let Some(t) = solid.meet(ray, least)
                        && (t < best
                            || t == best
                                && found.is_none_or(|f| solid.order < self.solids[f].order))
                    {
                        best = t;
                        found = Some(index);
                    }
                }
            }
            if depth == 0 {
                return found.and_then(|index| u32::try_from(index).ok()).map_or(
                    Hit::NONE,
                    |solid| Hit {
                        distance: best,
                        solid,
                    },
                );
            }
            depth -= 1;
            at = waiting[depth];
        }
    }

    /// As [`Self::nearest`], by asking every solid.
    #[cfg(test)]
    fn nearest_of_all(&self, ray: &Ray, least: f64) -> Option<(f64, usize)> {
        let met = self.solids.iter();
        met.filter_map(|solid| Some((solid.meet(ray, least)?, solid.order)))
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
    }
}

/// Builds the node of `solids[from..to]` by the surface-area rule and returns its index.
fn grow(
    solids: &mut [Solid],
    from: usize,
    to: usize,
    depth: usize,
    nodes: &mut Vec<Node>,
) -> usize {
    let around = |part: &[Solid]| {
        part.iter().fold(
            (DVec3::INFINITY, DVec3::NEG_INFINITY),
            |(low, high), solid| (low.min(solid.low), high.max(solid.high)),
        )
    };
    let (low, high) = around(&solids[from..to]);
    let index = nodes.len();
    nodes.push(Node {
        low,
        high,
        next: from,
        count: to - from,
        axis: 0,
    });
    if to - from <= LEAF || depth + 1 >= DEPTH {
        return index;
    }
    let mut best = (f64::INFINITY, 0, 0);
    for axis in 0..3 {
        let part = &mut solids[from..to];
        part.sort_by(|a, b| (a.low + a.high)[axis].total_cmp(&(b.low + b.high)[axis]));
        let mut after = vec![0.0; part.len()];
        let mut grown = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        for i in (1..part.len()).rev() {
            grown = (grown.0.min(part[i].low), grown.1.max(part[i].high));
            after[i] = area(grown.0, grown.1);
        }
        grown = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        for i in 1..part.len() {
            grown = (grown.0.min(part[i - 1].low), grown.1.max(part[i - 1].high));
            let cost = area(grown.0, grown.1) * count_f64(i) + after[i] * count_f64(part.len() - i);
            if cost < best.0 {
                best = (cost, axis, i);
            }
        }
    }
    let (_, axis, split) = best;
    let split = if split == 0 { (to - from) / 2 } else { split };
    solids[from..to].sort_by(|a, b| (a.low + a.high)[axis].total_cmp(&(b.low + b.high)[axis]));
    grow(solids, from, from + split, depth + 1, nodes);
    let second = grow(solids, from + split, to, depth + 1, nodes);
    nodes[index].next = second;
    nodes[index].count = 0;
    nodes[index].axis = axis;
    index
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    // Source: the definition of the nearest, by asking every solid.
    #[test]
    fn the_hierarchy_finds_what_asking_every_solid_finds() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let mut place = || {
            let [x, y, z]: [f64; 3] = rng.random();
            DVec3::new(x, y, z) * 10.0 - 5.0
        };
        // Each twice, so that the first of two at one distance is asked for as well.
        let solids = (0..300).flat_map(|_| {
            let (at, half) = (DAffine3::from_translation(place()), place().abs() * 0.1);
            let solid = move || Solid::new(Primitive::Block(half), at, 0, 0);
            [solid(), solid()]
        });
        let all = Hierarchy::new(solids.collect());
        let mut met = 0;
        for _ in 0..2000 {
            let from = place() * 2.0;
            let ray = Ray::new(from, (place() - from).normalize());
            let found = all.nearest(&ray, 0.0);
            let solid = found.solid();
            assert_eq!(
                solid.map(|index| (found.distance, all.solids[index].order)),
                all.nearest_of_all(&ray, 0.0)
            );
            met += u32::from(solid.is_some());
        }
        assert!(met > 400, "only {met} rays met anything");
    }
}
