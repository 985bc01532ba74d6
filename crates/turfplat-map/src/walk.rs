//! Why there is a second reader of features beside serde's: nine tenths of a map are coordinates,
//! and a general reader of JSON takes them apart three times slower than one that expects
//! numbers. This one knows the usual form of a feature alone. Whatever is not of it, be it wrong
//! or only unusual, it leaves to the other, which also knows what to say of it.

use geo_types::Polygon;
use serde::de::IgnoredAny;

use crate::feature_text::{Answer, Attribute, Properties};
use crate::outline::{Form, Level, OutlineReader};
use crate::scan::value_end;

/// Attributes, id, and whether there is a geometry.
pub(crate) type Parts<'a> = (Vec<Attribute<'a>>, Option<Answer<'a>>, bool);

/// Reads a feature of the usual form, its geometry into `reader`; `None` of any other.
pub(crate) fn usual_feature<'a>(
    text: &'a str,
    reader: &mut OutlineReader<'_>,
) -> Option<Parts<'a>> {
    let mut walk = Walk { text, bytes: text.as_bytes(), at: 0 };
    let (mut is_feature, mut attributes, mut id, mut geometry) = (false, None, None, None);
    walk.members(|walk, key| {
        match key {
            "type" => is_feature = walk.plain_text()? == "Feature",
            "properties" if attributes.is_none() => {
                let Properties(read) = serde_json::from_str(walk.value()?).ok()?;
                attributes = Some(read);
            }
            "geometry" if geometry.is_none() => geometry = Some(walk.geometry(reader)?),
            "id" if id.is_none() => id = Some(serde_json::from_str(walk.value()?).ok()?),
            "properties" | "geometry" | "id" => return None,
            _ => drop(serde_json::from_str::<IgnoredAny>(walk.value()?).ok()?),
        }
        Some(())
    })?;
    let is_whole = is_feature && walk.at == walk.bytes.len();
    is_whole.then(|| (attributes.unwrap_or_default(), id, geometry.unwrap_or(false)))
}

struct Walk<'a> {
    text: &'a str,
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Walk<'a> {
    /// The next byte that is no blank, with `at` on it.
    #[inline]
    fn next(&mut self) -> Option<u8> {
        loop {
            match *self.bytes.get(self.at)? {
                b' ' | b'\n' | b'\r' | b'\t' => self.at += 1,
                byte => return Some(byte),
            }
        }
    }

    #[inline]
    fn expect(&mut self, byte: u8) -> Option<()> {
        (self.next()? == byte).then(|| self.at += 1)
    }

    /// Each member of an object, `at` on its value; `each` goes past it.
    fn members(&mut self, mut each: impl FnMut(&mut Walk<'a>, &str) -> Option<()>) -> Option<()> {
        self.expect(b'{')?;
        if self.next()? == b'}' {
            self.at += 1;
            return Some(());
        }
        loop {
            let key = self.plain_text()?;
            self.expect(b':')?;
            self.next()?;
            each(self, key)?;
            match self.next()? {
                b',' => self.at += 1,
                b'}' => {
                    self.at += 1;
                    return Some(());
                }
                _ => return None,
            }
        }
    }

    /// A short text without escapes.
    fn plain_text(&mut self) -> Option<&'a str> {
        self.expect(b'"')?;
        let rest = &self.bytes[self.at..];
        let length = rest.iter().take(64).position(|byte| matches!(byte, b'"' | b'\\' | ..b' '))?;
        let text = self.text.get(self.at..self.at + length)?;
        self.at += length;
        // Here and not after a blank: a control character is none.
        (self.bytes.get(self.at)? == &b'"').then(|| {
            self.at += 1;
            text
        })
    }

    /// The text of a value, whatever it is; it may not be JSON.
    fn value(&mut self) -> Option<&'a str> {
        let end = value_end(self.bytes, self.at)?;
        let value = self.text.get(self.at..end)?;
        self.at = end;
        Some(value)
    }

    /// A geometry whose type stands before its coordinates.
    fn geometry(&mut self, reader: &mut OutlineReader<'_>) -> Option<bool> {
        if self.next()? == b'n' {
            return (self.value()? == "null").then_some(false);
        }
        let (mut level, mut has_coordinates) = (None, false);
        self.members(|walk, key| {
            match key {
                "type" if level.is_none() => match Form::of(walk.plain_text()?)? {
                    Form::Nested(nested) => level = Some(nested),
                    Form::Collection => return None,
                },
                "coordinates" if !has_coordinates => {
                    walk.coordinates(level?, reader)?;
                    has_coordinates = true;
                }
                "type" | "coordinates" | "geometries" => return None,
                _ => drop(serde_json::from_str::<IgnoredAny>(walk.value()?).ok()?),
            }
            Some(())
        })?;
        has_coordinates.then_some(true)
    }

    fn coordinates(&mut self, level: Level, reader: &mut OutlineReader<'_>) -> Option<()> {
        match level {
            Level::Point => {
                reader.places.clear();
                self.position(reader)?;
                reader.outline.points.append(&mut reader.places);
                Some(())
            }
            Level::Line => {
                self.places(reader)?;
                reader.end_line();
                Some(())
            }
            Level::Polygon => {
                let (mut shell, mut holes) = (None, Vec::new());
                self.elements(|walk| {
                    walk.places(reader)?;
                    let ring = reader.end_ring();
                    if shell.is_none() {
                        shell = Some(ring)
                    } else {
                        holes.push(ring)
                    }
                    Some(())
                })?;
                reader.outline.polygons.push(Polygon::new(shell?, holes));
                Some(())
            }
            Level::Points => self.elements(|walk| walk.coordinates(Level::Point, reader)),
            Level::Lines => self.elements(|walk| walk.coordinates(Level::Line, reader)),
            Level::Polygons => self.elements(|walk| walk.coordinates(Level::Polygon, reader)),
        }
    }

    /// Each element of an array that has one or more.
    #[inline]
    fn elements(&mut self, mut each: impl FnMut(&mut Walk<'a>) -> Option<()>) -> Option<()> {
        self.expect(b'[')?;
        loop {
            each(self)?;
            match self.next()? {
                b',' => self.at += 1,
                b']' => {
                    self.at += 1;
                    return Some(());
                }
                _ => return None,
            }
        }
    }

    fn places(&mut self, reader: &mut OutlineReader<'_>) -> Option<()> {
        reader.places.clear();
        self.elements(|walk| walk.position(reader))
    }

    #[inline]
    fn position(&mut self, reader: &mut OutlineReader<'_>) -> Option<()> {
        self.expect(b'[')?;
        let x = self.number()?;
        self.expect(b',')?;
        let y = self.number()?;
        self.expect(b']')?;
        let place = reader.place(x, y).ok()?;
        reader.places.push(place);
        Some(())
    }

    /// A number as RFC 8259 §6 writes it, without an exponent.
    #[inline]
    fn number(&mut self) -> Option<f64> {
        let is_negative = self.next()? == b'-';
        let start = self.at;
        self.at += usize::from(is_negative);
        let first = self.at;
        let mut digits = 0_u64;
        let whole = self.digits(&mut digits);
        if whole == 0 || (whole > 1 && self.bytes[first] == b'0') {
            return None;
        }
        let mut decimals = 0;
        if self.bytes.get(self.at) == Some(&b'.') {
            self.at += 1;
            decimals = self.eights(&mut digits) + self.digits(&mut digits);
            if decimals == 0 {
                return None;
            }
        }
        if matches!(self.bytes.get(self.at), Some(b'e' | b'E')) {
            return None;
        }
        // Both are doubles exactly, so the quotient is the double nearest to the number
        // (Clinger 1990); longer ones are left to the standard library.
        if whole + decimals < 19 && digits <= 1 << 53 {
            let value = digits as f64 / POWERS_OF_TEN.get(decimals)?;
            return Some(if is_negative { -value } else { value });
        }
        self.text.get(start..self.at)?.parse().ok()
    }

    /// Goes past eight digits at once, where there are as many: coordinates have eight decimals or so.
    #[inline]
    fn eights(&mut self, sum: &mut u64) -> usize {
        let Some(eight) = self.bytes.get(self.at..self.at + 8).and_then(eight_digits) else {
            return 0;
        };
        *sum = sum.wrapping_mul(100_000_000).wrapping_add(eight);
        self.at += 8;
        8
    }

    /// Goes past digits and adds them on; how many there were. Beyond 19 the sum means nothing.
    #[inline]
    fn digits(&mut self, sum: &mut u64) -> usize {
        let start = self.at;
        while let Some(digit) = self.bytes.get(self.at).map(|byte| byte.wrapping_sub(b'0'))
            && digit < 10
        {
            *sum = sum.wrapping_mul(10).wrapping_add(digit.into());
            self.at += 1;
        }
        self.at - start
    }
}

/// The number that eight digits are, all worked out at once (Lemire 2021, "Number parsing at a
/// gigabyte per second", §6); `None` where one is no digit.
#[inline]
fn eight_digits(text: &[u8]) -> Option<u64> {
    let bytes = u64::from_le_bytes(text.try_into().ok()?);
    let digits = bytes.wrapping_sub(0x3030_3030_3030_3030);
    let beyond_nine = digits.wrapping_add(0x7676_7676_7676_7676);
    if (digits | beyond_nine) & 0x8080_8080_8080_8080 != 0 {
        return None;
    }
    // What overflows is masked away or shifted out.
    let pairs = digits.wrapping_mul(10).wrapping_add(digits >> 8);
    let fours = (pairs & 0x0000_00FF_0000_00FF).wrapping_mul(100 + (1_000_000 << 32));
    let others = ((pairs >> 16) & 0x0000_00FF_0000_00FF).wrapping_mul(1 + (10_000 << 32));
    Some(fours.wrapping_add(others) >> 32)
}

const POWERS_OF_TEN: [f64; 20] = [
    1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19,
];

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn number(text: &str) -> Option<f64> {
        let mut walk = Walk { text, bytes: text.as_bytes(), at: 0 };
        walk.number().filter(|_| walk.at == text.len())
    }

    #[test]
    fn what_is_no_number_is_none() {
        for text in ["", "-", "01", "-01", "1.", ".5", "+1", "1e5", "NaN", "0x1", "1.2.3", "--1"] {
            assert_eq!(number(text), None, "{text}");
        }
        assert_eq!(number("-0"), Some(-0.0));
        assert_eq!(number("0.10"), Some(0.1));
    }

    #[test]
    fn a_text_ends_at_its_quote_and_not_after_a_line_break() {
        let text = |text: &'static str| Walk { text, bytes: text.as_bytes(), at: 0 }.plain_text();
        assert_eq!(text(" \"kind\" "), Some("kind"));
        for other in ["\"kind\n\"", "\"ki\tnd\"", "\"kind", "\"ki\\u006ed\"", "kind"] {
            assert_eq!(text(other), None, "{other:?}");
        }
    }

    #[test]
    fn eight_digits_are_their_number() {
        assert_eq!(eight_digits(b"12345678"), Some(12_345_678));
        assert_eq!(eight_digits(b"99999999"), Some(99_999_999));
        for other in [b'0' - 1, b'9' + 1, b'.', b'-', b' ', b'e', 0, 0x80, 0xb5, 0xff] {
            for place in 0..8 {
                let mut text = *b"90909090";
                text[place] = other;
                assert_eq!(eight_digits(&text), None, "{text:?}");
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// To the last bit, however many digits there are.
        #[test]
        fn numbers_are_those_of_the_standard_library(text in "-?(0|[1-9][0-9]{0,12})(\\.[0-9]{1,22})?") {
            prop_assert_eq!(number(&text).map(f64::to_bits), text.parse().ok().map(f64::to_bits));
        }
    }
}
