//! What a GeoTIFF says of its system. Source: OGC 19-008r4, GeoTIFF 1.1 (2019), ch. 7 and annex C.

use crate::aerial::PictureSystem;

const MODEL_TYPE: u16 = 1024;
const RASTER_TYPE: u16 = 1025;
const GEOGRAPHIC: u16 = 2048;
const ANGULAR_UNIT: u16 = 2054;
const PROJECTED: u16 = 3072;
const LINEAR_UNIT: u16 = 3076;
/// A system without a number.
const USER_DEFINED: u16 = 32_767;
const DEGREE: u16 = 9102;

/// The keys that stand in the directory itself.
pub(crate) struct GeoKeys<'d>(&'d [u16]);

impl<'d> GeoKeys<'d> {
    pub(crate) fn new(directory: &'d [u16]) -> GeoKeys<'d> {
        GeoKeys(directory)
    }

    fn key(&self, wanted: u16) -> Option<u16> {
        self.0.chunks_exact(4).skip(1).find_map(|entry| match entry {
            [key, 0, _, value] if *key == wanted => Some(*value),
            _ => None,
        })
    }

    /// True where coordinates are those of pixel centres.
    pub(crate) fn is_point(&self) -> bool {
        self.key(RASTER_TYPE) == Some(2)
    }

    /// The system by its number; `None` where it has none.
    pub(crate) fn system(&self) -> Option<PictureSystem> {
        let code = |key: u16| self.key(key).filter(|code| !matches!(*code, 0 | USER_DEFINED));
        let system = |code: u16, metres_per_unit: Option<f64>| PictureSystem {
            definition: format!("EPSG:{code}"),
            metres_per_unit,
        };
        match self.key(MODEL_TYPE) {
            Some(2) => code(GEOGRAPHIC).map(|code| system(code, None)),
            Some(1) | None => {
                let unit = self.key(LINEAR_UNIT).and_then(metres);
                code(PROJECTED).map(|code| system(code, unit))
            }
            _ => None,
        }
    }

    /// True of degrees that are none: a picture in radians or grads.
    pub(crate) fn is_of_other_angles(&self) -> bool {
        self.key(MODEL_TYPE) == Some(2)
            && self.key(ANGULAR_UNIT).is_some_and(|unit| !matches!(unit, 0 | DEGREE | USER_DEFINED))
    }
}

/// Meters in one unit of length by its EPSG code.
fn metres(unit: u16) -> Option<f64> {
    match unit {
        9001 => Some(1.0),
        // The foot of 1959, exact.
        9002 => Some(0.3048),
        // The US survey foot, 1200/3937 m, exact.
        9003 => Some(1200.0 / 3937.0),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_found_by_their_number() {
        let directory =
            [1, 1, 0, 4, 1024, 0, 1, 1, 1025, 0, 1, 2, 3072, 0, 1, 26_848, 3076, 0, 1, 9003];
        let keys = GeoKeys::new(&directory);
        assert!(keys.is_point());
        let system = keys.system().unwrap();
        assert_eq!(
            (system.definition.as_str(), system.metres_per_unit),
            ("EPSG:26848", Some(1200.0 / 3937.0))
        );
        assert!(GeoKeys::new(&[1, 1, 0, 1, 3072, 0, 1, 32_767]).system().is_none());
        assert!(GeoKeys::new(&[1, 1]).system().is_none());
    }
}
