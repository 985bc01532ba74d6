//! Where the corners of a picture's pixels lie: six numbers.

/// From column and row, counted from the upper left corner of the upper left pixel, to
/// coordinates: `x = [0] + [1]·column + [2]·row`, `y = [3] + [4]·column + [5]·row`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Affine([f64; 6]);

impl Affine {
    /// `None` where pixels have no size or a number is not finite.
    pub(crate) fn new(terms: [f64; 6]) -> Option<Affine> {
        let area = terms[1] * terms[5] - terms[2] * terms[4];
        let sizes = terms[1].hypot(terms[4]) * terms[2].hypot(terms[5]);
        // Sides that lie on one line have no area, but for rounding.
        let is_open = area.is_normal() && area.abs() > 1e-9 * sizes;
        (terms.iter().all(|term| term.is_finite()) && is_open).then_some(Affine(terms))
    }

    /// The same pixels where the first four and last two terms are those of the centre of the
    /// upper left pixel.
    pub(crate) fn of_centres(terms: [f64; 6]) -> Option<Affine> {
        let [x, a, b, y, d, e] = terms;
        Affine::new([x - (a + b) / 2.0, a, b, y - (d + e) / 2.0, d, e])
    }

    pub(crate) fn apply(&self, column: f64, row: f64) -> (f64, f64) {
        let [x, a, b, y, d, e] = self.0;
        (x + a * column + b * row, y + d * column + e * row)
    }

    /// Column and row of a place.
    pub(crate) fn undo(&self, x: f64, y: f64) -> (f64, f64) {
        let [x0, a, b, y0, d, e] = self.0;
        let area = a * e - b * d;
        let (x, y) = (x - x0, y - y0);
        ((e * x - b * y) / area, (a * y - d * x) / area)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn pixels_without_size_are_none() {
        for terms in [
            [0.0, 0.0, 0.0, 0.0, 0.0, -1.0],
            [0.0, 1.0, 2.0, 0.0, 2.0, 4.0],
            [f64::NAN, 1.0, 0.0, 0.0, 0.0, -1.0],
            [0.0, f64::INFINITY, 0.0, 0.0, 0.0, -1.0],
        ] {
            assert_eq!(Affine::new(terms), None, "{terms:?}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// There and back is where it was.
        #[test]
        fn undone_is_as_before(turn in 0.0..6.3_f64, size in 1e-6..100.0_f64, column in 0.0..1e5_f64, row in 0.0..1e5_f64) {
            let (sin, cos) = turn.sin_cos();
            let affine = Affine::new([5e5, size * cos, size * sin, 4.9e6, size * sin, -size * cos]).unwrap();
            let (x, y) = affine.apply(column, row);
            let (c, r) = affine.undo(x, y);
            // A double holds a northing to 1e-9 m.
            let off = 1e-8 / size + 1e-6;
            prop_assert!((c - column).abs() < off && (r - row).abs() < off, "{c} {r}");
        }
    }
}
