//! A picture in memory, row 0 first.

/// Pixels of any type, row-major: `data[y * width + x]`.
///
/// ```
/// use glowsill::world::image::Image;
/// let ramp = Image::from_fn(4, 2, |x, y| 10 * y + x);
/// assert_eq!(ramp.get(3, 1), Some(&13));
/// assert_eq!(ramp.row(1), &[10, 11, 12, 13]);
/// assert_eq!(ramp.map(|v| v * 2).get(3, 1), Some(&26));
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image<T> {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `width * height` pixels.
    pub data: Vec<T>,
}

impl<T> Image<T> {
    /// A picture of one value.
    #[must_use]
    pub fn new(width: usize, height: usize, fill: T) -> Self
    where
        T: Clone,
    {
        Self {
            width,
            height,
            data: vec![fill; width * height],
        }
    }

    /// A picture whose pixel at (x, y) is `pixel(x, y)`, called in row order.
    #[must_use]
    pub fn from_fn(width: usize, height: usize, mut pixel: impl FnMut(usize, usize) -> T) -> Self {
        let mut data = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                data.push(pixel(x, y));
            }
        }
        Self {
            width,
            height,
            data,
        }
    }

    /// The pixel at column `x` of row `y`, or `None` outside the picture.
    #[must_use]
    pub fn get(&self, x: usize, y: usize) -> Option<&T> {
        if x < self.width {
            self.data.get(y * self.width + x)
        } else {
            None
        }
    }

    /// A row of pixels.
    ///
    /// # Panics
    /// If `y` is not below the height.
    #[must_use]
    pub fn row(&self, y: usize) -> &[T] {
        &self.data[y * self.width..(y + 1) * self.width]
    }

    /// A picture of the same size with every pixel changed by `change`.
    #[must_use]
    pub fn map<U>(&self, change: impl FnMut(&T) -> U) -> Image<U> {
        Image {
            width: self.width,
            height: self.height,
            data: self.data.iter().map(change).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reading_beside_the_picture_gives_nothing() {
        let image = Image::new(3, 2, 7u8);
        assert_eq!(image.get(3, 0), None);
        assert_eq!(image.get(0, 2), None);
        assert_eq!(image.get(2, 1), Some(&7));
        assert_eq!(image.data.len(), 6);
    }
}
