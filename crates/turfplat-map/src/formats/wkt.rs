//! Well-known text (OGC 06-103r4 §7.2), read without trust and to its end. A general reader would
//! do for good text, but one that passes over what follows the last bracket loses the second half
//! of a pond where a bracket was set wrong, and one that nests as deep as the text says can be
//! brought down by a line of brackets. Extended text (`SRID=26916;POINT (…)`) and heights without
//! a `Z`, both of which databases write, are known.

use geo_types::{Coord, Geometry};

use super::parts::{DEEPEST, Sort, line, not_plain, place, polygon, together, too_deep};

/// What a text holds.
#[derive(Debug, PartialEq)]
pub(super) struct Wkt {
    /// Nothing where all of it is empty.
    pub(super) geometry: Option<Geometry<f64>>,
    /// The system that extended text names.
    pub(super) srid: Option<u32>,
}

/// Reads a text; heights and measures are dropped.
///
/// # Errors
///
/// What is wrong, and the cure.
pub(super) fn geometry(text: &str) -> Result<Wkt, String> {
    let (srid, text) = srid(text.trim())?;
    let mut reader = Reader { rest: text };
    let geometry = reader.geometry(0)?;
    match reader.next() {
        None => Ok(Wkt { geometry, srid }),
        Some(_) => Err(reader.unexpected("the end")),
    }
}

/// The number of `SRID=26916;`, and the rest.
fn srid(text: &str) -> Result<(Option<u32>, &str), String> {
    let Some(("SRID=" | "srid=", named)) = text.split_at_checked(5) else {
        return Ok((None, text));
    };
    let parts = named.split_once(';');
    let read = parts.and_then(|(number, rest)| Some((number.trim().parse().ok()?, rest)));
    let (number, rest) = read.ok_or(r#"its SRID is no number; write it like "SRID=26916;""#)?;
    Ok((Some(number), rest))
}

struct Reader<'t> {
    rest: &'t str,
}

impl<'t> Reader<'t> {
    fn geometry(&mut self, depth: usize) -> Result<Option<Geometry<f64>>, String> {
        if depth > DEEPEST {
            return Err(too_deep());
        }
        let sort = self.sort()?;
        if self.is_empty() {
            return Ok(None);
        }
        match sort {
            Sort::Point => {
                let mut places = self.places()?.into_iter();
                match (places.next(), places.next()) {
                    (Some(place), None) => Ok(Some(Geometry::Point(place.into()))),
                    _ => Err("a point has one place; write POINT (x y)".into()),
                }
            }
            Sort::Line => Ok(line(self.places()?)),
            Sort::Polygon => self.polygon(),
            Sort::Points => {
                let points = self.list(|reader| {
                    // Both `((1 2), (3 4))` and `(1 2, 3 4)` are in use.
                    let places = match reader.next() {
                        _ if reader.is_empty() => Vec::new(),
                        Some('(') => reader.places()?,
                        _ => vec![reader.place()?],
                    };
                    Ok(places.into_iter().map(|place| Geometry::Point(place.into())).collect())
                })?;
                together(sort, points.into_iter().flat_map(|points: Vec<_>| points).collect())
            }
            Sort::Lines => {
                let lines = self.list(|reader| Ok(line(reader.places_or_empty()?)))?;
                together(sort, lines.into_iter().flatten().collect())
            }
            Sort::Polygons => {
                let polygons = self.list(|reader| match reader.is_empty() {
                    true => Ok(None),
                    false => reader.polygon(),
                })?;
                together(sort, polygons.into_iter().flatten().collect())
            }
            Sort::Collection => {
                let parts = self.list(|reader| reader.geometry(depth + 1))?;
                together(sort, parts.into_iter().flatten().collect())
            }
        }
    }

    /// The first words: what it is, and Z or M, joined to it or apart.
    fn sort(&mut self) -> Result<Sort, String> {
        let word = self.word();
        let upper = word.to_ascii_uppercase();
        let name = ["ZM", "Z", "M"].iter().find_map(|suffix| upper.strip_suffix(suffix));
        let sort = match name.filter(|name| known(name).is_some()).unwrap_or(&upper) {
            "" => {
                return Err(format!(
                    "{} is no well-known text; write it like POLYGON ((x y, …))",
                    quoted(self.rest)
                ));
            }
            name => known(name).ok_or_else(|| not_known(name))?,
        };
        let before = self.rest;
        let letters = self.word();
        if !["Z", "M", "ZM"].iter().any(|known| letters.eq_ignore_ascii_case(known)) {
            self.rest = before;
        }
        Ok(sort)
    }

    fn polygon(&mut self) -> Result<Option<Geometry<f64>>, String> {
        polygon(self.list(Reader::places_or_empty)?)
    }

    fn places_or_empty(&mut self) -> Result<Vec<Coord<f64>>, String> {
        if self.is_empty() { Ok(Vec::new()) } else { self.places() }
    }

    fn places(&mut self) -> Result<Vec<Coord<f64>>, String> {
        self.list(Reader::place)
    }

    /// Two to four numbers, of which the first two count.
    fn place(&mut self) -> Result<Coord<f64>, String> {
        let place = place(self.number()?, self.number()?)?;
        for _ in 2..4 {
            if matches!(self.next(), Some(',' | ')') | None) {
                break;
            }
            self.number()?;
        }
        Ok(place)
    }

    /// Elements in brackets, commas between them.
    fn list<T>(
        &mut self,
        mut element: impl FnMut(&mut Reader<'t>) -> Result<T, String>,
    ) -> Result<Vec<T>, String> {
        self.expect('(')?;
        let mut elements = vec![element(self)?];
        while self.next() == Some(',') {
            self.expect(',')?;
            elements.push(element(self)?);
        }
        self.expect(')')?;
        Ok(elements)
    }

    /// The next character that is no blank, at which the rest then starts.
    fn next(&mut self) -> Option<char> {
        self.rest = self.rest.trim_start();
        self.rest.chars().next()
    }

    fn expect(&mut self, expected: char) -> Result<(), String> {
        self.next();
        let rest = self.rest.strip_prefix(expected);
        self.rest = rest.ok_or_else(|| self.unexpected(&format!("`{expected}`")))?;
        Ok(())
    }

    /// Letters that stand here; none if there are none.
    fn word(&mut self) -> &'t str {
        self.next();
        let end = self.rest.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        word
    }

    /// True, and past it, at the word EMPTY.
    fn is_empty(&mut self) -> bool {
        let before = self.rest;
        let is_empty = self.word().eq_ignore_ascii_case("EMPTY");
        if !is_empty {
            self.rest = before;
        }
        is_empty
    }

    fn number(&mut self) -> Result<f64, String> {
        self.next();
        let is_part = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | 'e' | 'E');
        let end = self.rest.find(|c| !is_part(c)).unwrap_or(self.rest.len());
        let (number, rest) = self.rest.split_at(end);
        let number = number.parse().map_err(|_| self.unexpected("a number"))?;
        self.rest = rest;
        Ok(number)
    }

    fn unexpected(&self, expected: &str) -> String {
        match self.rest.trim() {
            "" => format!("its text ends where {expected} should be; it seems cut off"),
            rest => format!("{} stands where {expected} should be; correct it there", quoted(rest)),
        }
    }
}

fn known(name: &str) -> Option<Sort> {
    Some(match name {
        "POINT" => Sort::Point,
        "LINESTRING" | "LINEARRING" => Sort::Line,
        "POLYGON" => Sort::Polygon,
        "MULTIPOINT" => Sort::Points,
        "MULTILINESTRING" => Sort::Lines,
        "MULTIPOLYGON" => Sort::Polygons,
        "GEOMETRYCOLLECTION" => Sort::Collection,
        _ => return None,
    })
}

fn not_known(name: &str) -> String {
    const CURVES: [&str; 9] = [
        "CIRCULARSTRING",
        "COMPOUNDCURVE",
        "CURVEPOLYGON",
        "MULTICURVE",
        "MULTISURFACE",
        "POLYHEDRALSURFACE",
        "TIN",
        "TRIANGLE",
        "CIRCLE",
    ];
    match CURVES.iter().find(|curve| name.starts_with(*curve)) {
        Some(curve) => not_plain(curve),
        None => format!("{} is no geometry; write it like POLYGON ((x y, …))", quoted(name)),
    }
}

/// The start of a text, as it can stand in a message.
pub(super) fn quoted(text: &str) -> String {
    let text = text.trim();
    let start: String = text.chars().take(24).collect();
    format!("{start:?}{}", if start.len() < text.len() { "…" } else { "" })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use geo_types::{LineString, MultiPolygon, point};
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> Result<Option<Geometry<f64>>, String> {
        geometry(text).map(|read| read.geometry)
    }

    #[test]
    fn a_point_is_read_however_it_is_written() {
        for text in [
            "POINT (1 2)",
            " point(1 2) ",
            "POINT Z (1 2 3)",
            "POINTZ(1 2 3)",
            "POINT(1 2 3)",
            "POINT M (1 2 3)",
            "POINT ZM (1 2 3 4)",
            "POINT\n(1e0\t+2.0)",
        ] {
            assert_eq!(read(text), Ok(Some(point!(x: 1.0, y: 2.0).into())), "{text}");
        }
        assert_eq!(geometry("SRID=26916;POINT (1 2)").unwrap().srid, Some(26916));
    }

    #[test]
    fn parts_and_holes_stay_and_empty_ones_go() {
        let text = "MULTIPOLYGON (((0 0, 9 0, 9 9, 0 0), (1 1, 2 1, 2 2, 1 1), EMPTY), EMPTY, ((5 5, 6 5, 6 6, 5 5)))";
        let Ok(Some(Geometry::MultiPolygon(MultiPolygon(polygons)))) = read(text) else { panic!() };
        assert_eq!(
            polygons.iter().map(|polygon| polygon.interiors().len()).collect::<Vec<_>>(),
            [1, 0]
        );
        let points = Ok(Some(
            geo_types::MultiPoint(vec![point!(x: 1.0, y: 2.0), point!(x: 3.0, y: 4.0)]).into(),
        ));
        assert_eq!(read("MULTIPOINT (1 2, 3 4)"), points);
        assert_eq!(read("MULTIPOINT ((1 2), EMPTY, (3 4))"), points);
        let lines = read("MULTILINESTRING ((1 2, 3 4), EMPTY)").unwrap().unwrap();
        let line = LineString::from(vec![(1.0, 2.0), (3.0, 4.0)]);
        assert_eq!(lines, Geometry::MultiLineString(geo_types::MultiLineString(vec![line])));
        for text in
            ["POINT EMPTY", "POLYGON Z EMPTY", "GEOMETRYCOLLECTION (POINT EMPTY, POLYGON EMPTY)"]
        {
            assert_eq!(read(text), Ok(None), "{text}");
        }
        let both =
            read("GEOMETRYCOLLECTION (POINT (1 2), LINESTRING (1 2, 3 4))").unwrap().unwrap();
        assert!(matches!(both, Geometry::GeometryCollection(parts) if parts.len() == 2));
    }

    #[test]
    fn what_cannot_be_read_says_what_to_do() {
        let deep = "GEOMETRYCOLLECTION(".repeat(100_000);
        let brackets = format!("POLYGON {}", "(".repeat(100_000));
        for (text, reason) in [
            (
                "POLYGON ((0 0, 9 0, 9 9, 0 0)), ((1 1, 2 1, 2 2, 1 1))",
                "stands where the end should be",
            ),
            ("POLYGON ((0 0, 9 0, 9 9", "ends where `)` should be; it seems cut off"),
            ("CURVEPOLYGON ((0 0, 1 1))", "convert to plain polygons"),
            ("TIN Z (((0 0 0)))", "convert to plain polygons"),
            ("LAWN (1 2)", "\"LAWN\" is no geometry"),
            ("12 7", "is no well-known text"),
            ("", "is no well-known text"),
            ("POINT (1)", "stands where a number should be"),
            ("POINT (1 2 3 4 5)", "stands where `)` should be"),
            ("POINT (1 2, 3 4)", "a point has one place"),
            ("POINT (NaN 2)", "stands where a number should be"),
            ("POINT (1e999 2)", "infinite or not a number"),
            ("POINT (1,5 2)", "stands where a number should be"),
            ("POINT (1 2\0)", "stands where"),
            ("SRID=x;POINT (1 2)", "its SRID is no number"),
            (&deep, "more than 32 deep"),
            (&brackets, "stands where a number should be"),
        ] {
            let error = read(text).unwrap_err();
            assert!(error.contains(reason), "{text:.40}: {error}");
            assert!(error.len() < 120, "{error}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Whatever stands there, it is read or refused.
        #[test]
        fn any_text_is_read_or_refused(text in "(SRID=[0-9];)?(MULTI)?(POINT|POLYGON|LINESTRING|GEOMETRYCOLLECTION|é) ?Z?[(),0-9 .eE+-]{0,60}\\PC{0,4}") {
            let _ = read(&text);
        }
    }
}
