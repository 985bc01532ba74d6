//! The part of a picture that is in reach, made smaller while it is unpacked.

/// Pixels of the window; more would fill the memory.
pub(crate) const MOST: u64 = 40_000_000;

/// Which part of a level is wanted, and how many of its pixels make one of the window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reach {
    /// First column and row.
    pub(crate) first: (u32, u32),
    /// One beyond the last.
    pub(crate) end: (u32, u32),
    /// So many pixels across and down become one.
    pub(crate) shrink: u32,
}

impl Reach {
    pub(crate) fn wide(&self) -> usize {
        (self.end.0 - self.first.0).div_ceil(self.shrink) as usize
    }

    pub(crate) fn high(&self) -> usize {
        (self.end.1 - self.first.1).div_ceil(self.shrink) as usize
    }

    /// Columns of a piece `first..end` that are wanted.
    pub(crate) fn columns(&self, first: u32, end: u32) -> std::ops::Range<u32> {
        first.max(self.first.0)..end.min(self.end.0)
    }

    /// Rows of a piece `first..end` that are wanted.
    pub(crate) fn rows(&self, first: u32, end: u32) -> std::ops::Range<u32> {
        first.max(self.first.1)..end.min(self.end.1)
    }
}

/// A pixel: red, green, blue; `None` where the picture shows nothing.
pub(crate) type Pixel = Option<[u16; 3]>;

/// Sums of the pixels that came so far.
pub(crate) struct Window {
    pub(crate) reach: Reach,
    wide: usize,
    sums: Vec<[u32; 4]>,
}

impl Window {
    pub(crate) fn new(reach: Reach) -> Window {
        let wide = reach.wide();
        Window { reach, wide, sums: vec![[0; 4]; wide * reach.high()] }
    }

    /// Adds a stretch of one row of the level, beginning at `column`; what is out of reach is
    /// left out.
    pub(crate) fn add(
        &mut self,
        row: u32,
        column: u32,
        count: u32,
        pixel: impl Fn(usize) -> Pixel,
    ) {
        let Reach { first, shrink, .. } = self.reach;
        if self.reach.rows(row, row.saturating_add(1)).is_empty() {
            return;
        }
        let start = (row - first.1) as usize / shrink as usize * self.wide;
        let Some(sums) = self.sums.get_mut(start..start + self.wide) else { return };
        for at in self.reach.columns(column, column.saturating_add(count)) {
            let Some([r, g, b]) = pixel((at - column) as usize) else { continue };
            if let Some(sum) = sums.get_mut((at - first.0) as usize / shrink as usize) {
                sum[0] += u32::from(r);
                sum[1] += u32::from(g);
                sum[2] += u32::from(b);
                sum[3] += 1;
            }
        }
    }

    /// The means, in 8 bits; those of 16-bit pictures are stretched, see [`stretch`].
    pub(crate) fn finish(self, bits: u8) -> Raster {
        let mean = |sum: u32, count: u32| (sum + count / 2) / count;
        let (low, high) = if bits > 8 { stretch(&self.sums) } else { (0, 255) };
        let range = (high - low).max(1);
        let to_byte = |value: u32| {
            let value = value.clamp(low, high) - low;
            ((value * 255 + range / 2) / range) as u8
        };
        let pixels = self.sums.iter().map(|&[r, g, b, count]| match count {
            0 => [0; 4],
            count => {
                let [r, g, b] = [r, g, b].map(|sum| to_byte(mean(sum, count)));
                [r, g, b, 255]
            }
        });
        Raster { wide: self.wide, high: self.reach.high(), pixels: pixels.collect() }
    }
}

/// From what to what the values of a 16-bit picture are shown: many hold 11 or 12 bits, and would
/// be nearly black. One in a hundred below and above is given up, all colors alike.
fn stretch(sums: &[[u32; 4]]) -> (u32, u32) {
    let mut counts = vec![0_u64; 65_536];
    let mut all = 0_u64;
    for &[r, g, b, count] in sums.iter().filter(|sum| sum[3] > 0) {
        for sum in [r, g, b] {
            if let Some(known) = counts.get_mut((sum / count) as usize) {
                *known += 1;
                all += 1;
            }
        }
    }
    let at = |share: u64| {
        let mut below = 0;
        let found = counts.iter().position(|count| {
            below += count;
            below * 100 > all * share
        });
        found.unwrap_or(65_535) as u32
    };
    (at(1), at(99))
}

/// Pixels in 8 bits: red, green, blue and whether there is one (255) or not (0).
pub(crate) struct Raster {
    pub(crate) wide: usize,
    pub(crate) high: usize,
    pub(crate) pixels: Vec<[u8; 4]>,
}

impl Raster {
    /// The mean of the four pixels around a place, given from the centre of the first; those that
    /// show nothing do not count. Color and share of what shows.
    pub(crate) fn between(&self, x: f64, y: f64) -> [f32; 4] {
        // From one pixel before the first on, so that cutting off is rounding down.
        let (x, y) = ((x + 1.0).max(0.0), (y + 1.0).max(0.0));
        let (left, top) = (x as usize, y as usize);
        let (to_right, down) = ((x - left as f64) as f32, (y - top as f64) as f32);
        let column = |at: usize| at.saturating_sub(1).min(self.wide.max(1) - 1);
        let row = |at: usize| at.saturating_sub(1).min(self.high.max(1) - 1);
        let (columns, rows) = ([column(left), column(left + 1)], [row(top), row(top + 1)]);
        let mut sum = [0.0_f32; 4];
        for (row, by_row) in rows.into_iter().zip([1.0 - down, down]) {
            for (column, by_column) in columns.into_iter().zip([1.0 - to_right, to_right]) {
                let Some(&[r, g, b, seen]) = self.pixels.get(row * self.wide + column) else {
                    continue;
                };
                let weight = by_row * by_column;
                if seen > 0 {
                    sum[0] += weight * f32::from(r);
                    sum[1] += weight * f32::from(g);
                    sum[2] += weight * f32::from(b);
                    sum[3] += weight;
                }
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_holds_the_means_of_what_is_in_reach() {
        // Worked by hand: columns 1 to 4 of a row that counts up by ten, two and two.
        let reach = Reach { first: (1, 0), end: (5, 2), shrink: 2 };
        let mut window = Window::new(reach);
        for row in 0..3 {
            window.add(row, 0, 8, |at| (at != 4).then_some([10 * at as u16; 3]));
        }
        let raster = window.finish(8);
        assert_eq!((raster.wide, raster.high), (2, 1));
        assert_eq!(raster.pixels, [[15, 15, 15, 255], [30, 30, 30, 255]]);
    }

    #[test]
    fn dark_pictures_of_sixteen_bits_are_stretched() {
        let reach = Reach { first: (0, 0), end: (100, 10), shrink: 1 };
        let mut window = Window::new(reach);
        for row in 0..10 {
            window.add(row, 0, 100, |at| Some([1000 + 10 * at as u16; 3]));
        }
        let raster = window.finish(16);
        let shades: Vec<u8> = raster.pixels[..100].iter().map(|pixel| pixel[0]).collect();
        assert!(shades[0] == 0 && shades[99] == 255 && shades.is_sorted(), "{shades:?}");
        assert!(shades[50].abs_diff(128) < 4, "{}", shades[50]);
    }
}
