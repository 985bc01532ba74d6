//! From what a file holds to red, green and blue.

use crate::window::Pixel;

/// What the samples of a pixel are.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shades {
    Gray,
    Rgb,
    YCbCr,
    /// Red, green and blue of each index.
    Palette(Vec<[u16; 3]>),
}

/// How pixels lie in what was unpacked.
pub(crate) struct Layout {
    pub(crate) shades: Shades,
    /// Samples of one pixel.
    pub(crate) samples: usize,
    /// Which sample is the share of what shows, if any.
    pub(crate) alpha: Option<usize>,
    /// The greatest value of a sample.
    pub(crate) most: u16,
    /// A pixel with this value in all its colors shows nothing.
    pub(crate) nothing: Option<u16>,
}

impl Layout {
    /// The pixel at a place, by its samples; `None` also beyond the end.
    pub(crate) fn pixel(&self, at: usize, sample: impl Fn(usize) -> Option<u16>) -> Pixel {
        let first = at * self.samples;
        if let Some(alpha) = self.alpha
            && sample(first + alpha)? < self.most / 2
        {
            return None;
        }
        let one = sample(first)?;
        let three = || Some([one, sample(first + 1)?, sample(first + 2)?]);
        let raw = match self.shades {
            Shades::Gray | Shades::Palette(_) => [one; 3],
            Shades::Rgb | Shades::YCbCr => three()?,
        };
        if self.nothing.is_some_and(|nothing| raw == [nothing; 3]) {
            return None;
        }
        match &self.shades {
            Shades::Gray | Shades::Rgb => Some(raw),
            Shades::YCbCr => Some(rgb(raw)),
            Shades::Palette(colors) => colors.get(usize::from(one)).copied(),
        }
    }
}

/// Red, green and blue of luma and two differences in 8 bits, full range. Source: ITU-T T.871
/// (2011), JPEG File Interchange Format, ch. 7.
fn rgb([y, cb, cr]: [u16; 3]) -> [u16; 3] {
    let [y, cb, cr] = [f32::from(y), f32::from(cb) - 128.0, f32::from(cr) - 128.0];
    [y + 1.402 * cr, y - 0.344_136 * cb - 0.714_136 * cr, y + 1.772 * cb]
        // Cut off after a half is added: rounding is a call of the system for each of millions.
        .map(|value| (value + 0.5).clamp(0.0, 255.0) as u16)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn luma_and_differences_are_the_colors_of_the_standard() {
        #[rustfmt::skip]
        let table = [
            // what, luma and differences, red, green and blue: ITU-T T.871, ch. 7, worked by hand
            ("gray", [120, 128, 128], [120, 120, 120]),
            ("brown of bare ground", [127, 115, 144], [149, 120, 104]),
            ("pure red", [76, 85, 255], [254, 0, 0]),
            ("white", [255, 128, 128], [255, 255, 255]),
        ];
        for (what, given, expected) in table {
            assert_eq!(rgb(given), expected, "{what}");
        }
    }
}
