//! One pair of numbers that are no degrees among many that are: a register marks an unknown place with
//! nines, a hand types a digit twice. To name a projected system for them would be the wrong cure.

use geo_types::Coord;

use crate::crs::{Frame, ToFrame};
use crate::error::{MapError, Odd};
use crate::feature::FeatureRef;
use crate::feature_text::read_feature;
use crate::outline::OutlineReader;
use crate::splitter::Piece;

/// What a pair of numbers that are no degrees are by themselves. `is_by_rule` is true where the file's
/// format, or the names of its columns, say that they are degrees.
pub(crate) fn by_itself(x: f64, y: f64, is_by_rule: bool) -> Odd {
    let is_nines = |value: f64| {
        let digits = value.abs().to_string();
        digits.len() > 2 && digits.bytes().all(|digit| digit == b'9')
    };
    if is_nines(x) && is_nines(y) {
        return Odd::Unknown;
    }
    match (run_together(x), run_together(y)) {
        (Some(longitude), Some(latitude)) if is_by_rule && latitude.abs() <= 90.0 => {
            Odd::RunTogether { longitude, latitude }
        }
        _ => Odd::LikeTheFile,
    }
}

/// The degrees of a number such as 441425.62, which may be 44° 14' 25.62".
fn run_together(value: f64) -> Option<f64> {
    let size = value.abs();
    let degrees = (size / 1e4).floor();
    let minutes = ((size - degrees * 1e4) / 100.0).floor();
    let seconds = size - degrees * 1e4 - minutes * 100.0;
    let is_angle = (1.0..=180.0).contains(&degrees) && minutes < 60.0 && seconds < 60.0;
    is_angle.then(|| (degrees + minutes / 60.0 + seconds / 3600.0).copysign(value))
}

/// True if most of a feature's places are degrees, as far as its geometry can be read at all.
pub(crate) fn is_mostly_degrees(text: &str, piece: &Piece, mut at: FeatureRef) -> bool {
    let as_they_are: ToFrame = Frame::Scaled(1.0).here();
    let mut reader = OutlineReader::new(&as_they_are);
    if read_feature(text, piece, &mut at, &mut reader).is_err() {
        return false;
    }
    let is_degrees = |place: &Coord<f64>| place.x.abs() <= 180.0 && place.y.abs() <= 90.0;
    let places = reader.outline.coordinates();
    let (degrees, others): (Vec<_>, Vec<_>) = places.partition(is_degrees);
    degrees.len() > others.len()
}

/// Says of each odd pair of a file that it is alone so.
pub(crate) fn are_alone<'e>(errors: impl Iterator<Item = &'e mut MapError>) {
    for error in errors {
        if let MapError::NotDegrees { odd: odd @ Odd::LikeTheFile, .. } = error {
            *odd = Odd::Alone;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_numbers_are_by_themselves() {
        assert_eq!(by_itself(-9999.0, -9999.0, false), Odd::Unknown);
        assert_eq!(by_itself(999.0, 99_999.0, false), Odd::Unknown);
        assert_eq!(by_itself(2_379_540.2, 820_882.6, true), Odd::LikeTheFile);
        // 88° 25' 46.4" W, 44° 14' 25.62" N.
        let Odd::RunTogether { longitude, latitude } = by_itself(-882_546.4, 441_425.62, true)
        else {
            panic!("run together")
        };
        assert!((longitude + 88.429_555_56).abs() < 1e-8, "{longitude}");
        assert!((latitude - 44.240_45).abs() < 1e-8, "{latitude}");
        assert_eq!(by_itself(-882_546.4, 441_425.62, false), Odd::LikeTheFile);
    }
}
