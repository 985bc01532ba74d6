//! Well-known binary (OGC 06-103r4 §8.2, ISO 13249-3), read without trust: every count is held
//! against the bytes that are left before anything is made for it, and nothing is nested deeper
//! than a map can mean. Besides the ISO numbers of Z and M (1000 apart) the older flags of extended
//! WKB are known, since databases write them to this day.

use geo_types::{Coord, Geometry};

use super::parts::{DEEPEST, Sort, line, not_plain, place, polygon, together, too_deep};

/// What WKB holds.
#[derive(Debug, PartialEq)]
pub(super) struct Wkb {
    /// Nothing where all of it is empty.
    pub(super) geometry: Option<Geometry<f64>>,
    /// The system that extended WKB names.
    pub(super) srid: Option<u32>,
}

/// Reads WKB; it must end with its geometry. Heights and measures are dropped.
///
/// # Errors
///
/// What is wrong, and the cure.
pub(super) fn geometry(bytes: &[u8]) -> Result<Wkb, String> {
    let mut reader = Reader { rest: bytes, srid: None };
    let geometry = reader.geometry(0)?;
    match reader.rest.len() {
        0 => Ok(Wkb { geometry, srid: reader.srid }),
        left => Err(format!("{left} bytes follow its end; export it again")),
    }
}

struct Reader<'b> {
    rest: &'b [u8],
    srid: Option<u32>,
}

/// What stands before the numbers of a geometry.
#[derive(Clone, Copy)]
struct Head {
    sort: Sort,
    is_little_endian: bool,
    /// Numbers in one coordinate: 2 to 4.
    dimensions: usize,
}

/// The smallest geometry: byte order, type and a count of 0.
const LEAST_GEOMETRY: usize = 9;
const COUNT: usize = 4;
const NUMBER: usize = 8;

impl Reader<'_> {
    fn geometry(&mut self, depth: usize) -> Result<Option<Geometry<f64>>, String> {
        let head = self.head()?;
        match head.sort {
            Sort::Point => Ok(self.point(head)?.map(|place| Geometry::Point(place.into()))),
            Sort::Line => Ok(line(self.places(head)?)),
            Sort::Polygon => {
                let count = self.count(head, COUNT)?;
                polygon((0..count).map(|_| self.places(head)).collect::<Result<_, _>>()?)
            }
            Sort::Points | Sort::Lines | Sort::Polygons | Sort::Collection => {
                if depth > DEEPEST {
                    return Err(too_deep());
                }
                let count = self.count(head, LEAST_GEOMETRY)?;
                let parts = (0..count).filter_map(|_| self.geometry(depth + 1).transpose());
                together(head.sort, parts.collect::<Result<_, _>>()?)
            }
        }
    }

    fn head(&mut self) -> Result<Head, String> {
        let [order] = self.take()?;
        let is_little_endian = match order {
            0 => false,
            1 => true,
            other => {
                return Err(format!("byte order {other} is neither 0 nor 1; export it again"));
            }
        };
        let code = self.integer(is_little_endian)?;
        const Z: u32 = 0x8000_0000;
        const M: u32 = 0x4000_0000;
        const SRID: u32 = 0x2000_0000;
        if code & SRID != 0 {
            self.srid = Some(self.integer(is_little_endian)?);
        }
        let plain = code & !(Z | M | SRID);
        let (has_z, has_m) = match plain / 1000 {
            0 => (false, false),
            1 => (true, false),
            2 => (false, true),
            3 => (true, true),
            _ => return Err(unknown(plain)),
        };
        let sort = match plain % 1000 {
            1 => Sort::Point,
            2 => Sort::Line,
            3 => Sort::Polygon,
            4 => Sort::Points,
            5 => Sort::Lines,
            6 => Sort::Polygons,
            7 => Sort::Collection,
            curve @ 8..=17 => {
                const NAMES: [&str; 10] = [
                    "CircularString",
                    "CompoundCurve",
                    "CurvePolygon",
                    "MultiCurve",
                    "MultiSurface",
                    "Curve",
                    "Surface",
                    "PolyhedralSurface",
                    "TIN",
                    "Triangle",
                ];
                let name = NAMES.get(curve as usize - 8).copied().unwrap_or_default();
                return Err(not_plain(name));
            }
            _ => return Err(unknown(plain)),
        };
        let further = usize::from(has_z || code & Z != 0) + usize::from(has_m || code & M != 0);
        Ok(Head { sort, is_little_endian, dimensions: 2 + further })
    }

    /// A point; one of NaN is empty (OGC 12-128r18, requirement 152, as PostGIS and GDAL write it).
    fn point(&mut self, head: Head) -> Result<Option<Coord<f64>>, String> {
        let [x, y] = self.coordinate(head)?;
        if x.is_nan() && y.is_nan() { Ok(None) } else { place(x, y).map(Some) }
    }

    fn places(&mut self, head: Head) -> Result<Vec<Coord<f64>>, String> {
        let count = self.count(head, head.dimensions * NUMBER)?;
        let places = (0..count).map(|_| self.coordinate(head).and_then(|[x, y]| place(x, y)));
        places.collect()
    }

    fn coordinate(&mut self, head: Head) -> Result<[f64; 2], String> {
        let (x, y) = (self.number(head)?, self.number(head)?);
        for _ in 2..head.dimensions {
            self.number(head)?;
        }
        Ok([x, y])
    }

    fn number(&mut self, head: Head) -> Result<f64, String> {
        let bytes = self.take()?;
        Ok(if head.is_little_endian {
            f64::from_le_bytes(bytes)
        } else {
            f64::from_be_bytes(bytes)
        })
    }

    fn integer(&mut self, is_little_endian: bool) -> Result<u32, String> {
        let bytes = self.take()?;
        Ok(if is_little_endian { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    /// How many parts follow, each of at least so many bytes, which must be there.
    fn count(&mut self, head: Head, least: usize) -> Result<usize, String> {
        let count = self.integer(head.is_little_endian)? as usize;
        if count > self.rest.len() / least { Err(cut_off()) } else { Ok(count) }
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], String> {
        let (taken, rest) = self.rest.split_first_chunk().ok_or_else(cut_off)?;
        self.rest = rest;
        Ok(*taken)
    }
}

fn cut_off() -> String {
    "it ends too soon; export it again".into()
}

fn unknown(code: u32) -> String {
    format!("geometry type {code} is not known; convert to plain polygons and export it again")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use geo_types::point;
    use proptest::prelude::*;

    use super::*;

    fn little(code: u32, numbers: &[f64]) -> Vec<u8> {
        let mut bytes = vec![1];
        bytes.extend(code.to_le_bytes());
        bytes.extend(numbers.iter().flat_map(|number| number.to_le_bytes()));
        bytes
    }

    fn counted(code: u32, parts: &[Vec<u8>]) -> Vec<u8> {
        let mut bytes = little(code, &[]);
        bytes.extend((parts.len() as u32).to_le_bytes());
        bytes.extend(parts.concat());
        bytes
    }

    fn ring(corners: &[[f64; 2]]) -> Vec<u8> {
        let mut bytes = (corners.len() as u32).to_le_bytes().to_vec();
        bytes.extend(corners.iter().flatten().flat_map(|number| number.to_le_bytes()));
        bytes
    }

    const SQUARE: [[f64; 2]; 5] = [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0], [0.0, 0.0]];
    const HOLE: [[f64; 2]; 5] = [[1.0, 1.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0], [1.0, 1.0]];

    fn read(bytes: &[u8]) -> Result<Option<Geometry<f64>>, String> {
        geometry(bytes).map(|read| read.geometry)
    }

    #[test]
    fn both_byte_orders_may_stand_in_one_geometry() {
        let mut big = vec![0, 0, 0, 0, 1];
        big.extend([3.0_f64, 4.0].iter().flat_map(|number| number.to_be_bytes()));
        let points = counted(4, &[little(1, &[1.0, 2.0]), big]);
        let expected = vec![point!(x: 1.0, y: 2.0), point!(x: 3.0, y: 4.0)];
        assert_eq!(read(&points), Ok(Some(geo_types::MultiPoint(expected).into())));
    }

    #[test]
    fn heights_and_measures_are_dropped_in_both_numberings() {
        let place = Ok(Some(point!(x: 1.0, y: 2.0).into()));
        for (code, numbers) in [
            (1001, &[1.0, 2.0, 3.0][..]),
            (2001, &[1.0, 2.0, f64::NAN]),
            (3001, &[1.0, 2.0, 3.0, 4.0]),
            (0x8000_0001, &[1.0, 2.0, 3.0]),
            (0x4000_0001, &[1.0, 2.0, 3.0]),
            (0xC000_0001, &[1.0, 2.0, 3.0, 4.0]),
        ] {
            assert_eq!(read(&little(code, numbers)), place, "{code}");
        }
        let mut extended = little(0x2000_0001, &[]);
        extended.extend(26916_u32.to_le_bytes());
        extended.extend([1.0_f64, 2.0].iter().flat_map(|number| number.to_le_bytes()));
        assert_eq!(geometry(&extended).unwrap().srid, Some(26916));
    }

    #[test]
    fn holes_stay_and_what_is_empty_is_nothing() {
        let lot = counted(3, &[ring(&SQUARE), ring(&[]), ring(&HOLE)]);
        let corner = |[x, y]: [f64; 2]| Coord { x, y };
        let hole = geo_types::LineString(HOLE.map(corner).to_vec());
        let expected = Geometry::Polygon(geo_types::Polygon::new(
            geo_types::LineString(SQUARE.map(corner).to_vec()),
            vec![hole],
        ));
        assert_eq!(read(&lot), Ok(Some(expected)));
        for empty in [
            little(1, &[f64::NAN, f64::NAN]),
            counted(3, &[]),
            counted(3, &[ring(&[])]),
            counted(6, &[counted(3, &[])]),
            counted(7, &[counted(7, &[])]),
        ] {
            assert_eq!(read(&empty), Ok(None), "{empty:?}");
        }
    }

    #[test]
    fn what_cannot_be_read_says_what_to_do() {
        let mut long = little(2, &[]);
        long.extend(u32::MAX.to_le_bytes());
        let deep = (0..40).fold(counted(7, &[]), |inner, _| counted(7, &[inner]));
        let mut more = little(1, &[1.0, 2.0]);
        more.push(7);
        for (bytes, reason) in [
            (counted(10, &[]), "CurvePolygon has curves"),
            (counted(1016, &[]), "TIN has curves or is a mesh; convert to plain polygons"),
            (counted(0, &[]), "geometry type 0 is not known"),
            (counted(99_001, &[]), "geometry type 99001 is not known"),
            (vec![7, 1, 0, 0, 0], "byte order 7"),
            (long, "ends too soon"),
            (vec![], "ends too soon"),
            (deep, "more than 32 deep"),
            (more, "1 bytes follow its end"),
            (little(1, &[1.0, f64::INFINITY]), "infinite or not a number"),
            (little(1, &[1.0, f64::NAN]), "infinite or not a number"),
            (counted(6, &[little(1, &[1.0, 2.0])]), "not all of the sort"),
            (counted(3, &[ring(&[]), ring(&HOLE)]), "holes but no outer ring"),
        ] {
            let error = read(&bytes).unwrap_err();
            assert!(error.contains(reason), "{error}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Damaged anywhere and cut anywhere it is read or refused, and makes no more than it has.
        #[test]
        fn damage_is_no_disaster(changes in prop::collection::vec((0..400_usize, any::<u8>()), 0..6), length in 0..400_usize) {
            let lot = counted(3, &[ring(&SQUARE), ring(&HOLE)]);
            let mut bytes = counted(7, &[counted(6, &[lot.clone(), lot]), little(1001, &[1.0, 2.0, 3.0])]);
            for (at, byte) in changes {
                if let Some(place) = bytes.get_mut(at) {
                    *place = byte;
                }
            }
            bytes.truncate(length);
            let _ = read(&bytes);
        }
    }
}
