//! Stage 4, statistics: histogram over the stated bins, and extremes with their places.

/// Edges of the bins in kelvin: 8 K below 240, 0.25 K to 432, 1 K to 624, 8 K to 2048.
#[must_use]
pub fn edges() -> Vec<f64> {
    let mut edges = vec![0.0];
    for (end, width) in [(240.0, 8.0), (432.0, 0.25), (624.0, 1.0), (2048.0, 8.0)] {
        while edges[edges.len() - 1] < end {
            edges.push(edges[edges.len() - 1] + width);
        }
    }
    edges
}

/// The bin with `edge[k] ≤ T < edge[k+1]`; temperatures outside 0 to 2048 K take the end bins.
#[must_use]
pub fn bin_of(edges: &[f64], temperature: f64) -> usize {
    let at_or_below = edges.iter().filter(|&&edge| edge <= temperature).count();
    at_or_below.saturating_sub(1).min(edges.len() - 2)
}

/// A place with its temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Kelvin.
    pub temperature: f64,
    /// Column.
    pub x: usize,
    /// Row.
    pub y: usize,
}

/// What one frame showed.
#[derive(Clone, Debug, PartialEq)]
pub struct Statistics {
    /// Pixels a bin.
    pub histogram: Vec<usize>,
    /// Pixels with a temperature.
    pub valid: usize,
    /// Hottest pixel, first in row order.
    pub hottest: Option<Spot>,
    /// Coldest pixel, first in row order.
    pub coldest: Option<Spot>,
}

/// Measures a frame of `width` columns.
#[must_use]
pub fn measure(temperature: &[Option<f64>], width: usize) -> Statistics {
    let edges = edges();
    let mut out = Statistics {
        histogram: vec![0; edges.len() - 1],
        valid: 0,
        hottest: None,
        coldest: None,
    };
    for (i, t) in temperature.iter().enumerate() {
        let Some(t) = *t else { continue };
        out.valid += 1;
        out.histogram[bin_of(&edges, t)] += 1;
        let spot = Spot {
            temperature: t,
            x: i % width,
            y: i / width,
        };
        if out.hottest.is_none_or(|best| t > best.temperature) {
            out.hottest = Some(spot);
        }
        if out.coldest.is_none_or(|best| t < best.temperature) {
            out.coldest = Some(spot);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bins_are_those_of_the_page() {
        let edges = edges();
        // 240/8 + 192/0.25 + 192/1 + 1424/8 = 30 + 768 + 192 + 178
        assert_eq!(edges.len() - 1, 1168);
        assert_eq!(edges[1168], 2048.0);
        assert_eq!((edges[30], edges[31]), (240.0, 240.25));
        assert_eq!((edges[798], edges[799]), (432.0, 433.0));
        assert_eq!((edges[990], edges[991]), (624.0, 632.0));
        assert_eq!(bin_of(&edges, 0.031_25), 0);
        assert_eq!(bin_of(&edges, 239.99), 29);
        assert_eq!(bin_of(&edges, 240.0), 30);
        assert_eq!(bin_of(&edges, 300.0), 270);
        assert_eq!(bin_of(&edges, 2047.97), 1167);
        assert_eq!(bin_of(&edges, 2048.0), 1167);
    }

    #[test]
    fn extremes_are_first_in_row_order() {
        let t = [
            Some(300.0),
            None,
            Some(310.0),
            Some(310.0),
            Some(299.0),
            Some(299.0),
        ];
        let out = measure(&t, 3);
        assert_eq!(out.valid, 5);
        assert_eq!(
            out.hottest,
            Some(Spot {
                temperature: 310.0,
                x: 2,
                y: 0
            })
        );
        assert_eq!(
            out.coldest,
            Some(Spot {
                temperature: 299.0,
                x: 1,
                y: 1
            })
        );
        assert_eq!(out.histogram[310], 2); // 310 K: bin 30 + (310 - 240)·4
        assert_eq!(measure(&[None, None], 2).hottest, None);
    }
}
