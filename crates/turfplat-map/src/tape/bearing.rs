//! Directions as deeds and compasses give them.

use super::Reason;
use super::fields::shortened;
use super::given::Given;

const CURE: &str =
    r#"give a bearing such as "N 45-30-15 E", or an azimuth from 0 to 360, clockwise from north"#;

/// Degrees clockwise from north, from 0 to 360, of an azimuth or a bearing from north or south.
pub(super) fn azimuth(given: &Given) -> Result<f64, Reason> {
    let degrees = match given {
        Given::Number(number) => Some(*number),
        Given::Text(text) => azimuth_of(text),
        _ => None,
    };
    degrees
        .filter(|degrees| (0.0..=360.0).contains(degrees))
        .ok_or_else(|| format!("{} is no direction; {CURE}", given.shown()))
}

fn azimuth_of(text: &str) -> Option<f64> {
    let text = shortened(text).trim().to_uppercase();
    let text = text.strip_prefix("DUE").unwrap_or(&text);
    let text = ["NORTH", "SOUTH", "EAST", "WEST"]
        .iter()
        .fold(text.to_owned(), |text, word| text.replace(word, &word[..1]));
    let text = text.trim().trim_end_matches('.').trim_end();
    match text {
        "N" => return Some(0.0),
        "E" => return Some(90.0),
        "S" => return Some(180.0),
        "W" => return Some(270.0),
        _ => {}
    }
    let Some(rest) = text.strip_prefix(['N', 'S']) else { return angle(text) };
    let from_north = text.starts_with('N');
    let to_east = rest.ends_with('E');
    let within = angle(rest.strip_suffix(['E', 'W'])?).filter(|degrees| *degrees <= 90.0)?;
    Some(match (from_north, to_east) {
        (true, true) => within,
        (false, true) => 180.0 - within,
        (false, false) => 180.0 + within,
        (true, false) => 360.0 - within,
    })
}

/// Degrees of `45°30'15"`, `45-30-15`, `45d30m15s`, `45 30 15` or `45.504`.
fn angle(text: &str) -> Option<f64> {
    /// What may stand after degrees, minutes and seconds.
    const SIGNS: [&[char]; 3] = [
        &['°', 'º', 'D', '-', '–', ':'],
        &['\'', '′', '’', 'M', '-', '–', ':'],
        &['"', '″', '”', 'S'],
    ];
    let mut rest = text.trim();
    let (mut degrees, mut size, mut has_fraction) = (0.0, 1.0, false);
    for signs in SIGNS {
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
        let (number, after) = rest.split_at(end);
        let part: f64 = number.parse().ok()?;
        // Only the last part may be broken, and there are 60 of the others in one.
        if has_fraction || (size < 1.0 && part >= 60.0) {
            return None;
        }
        has_fraction = number.contains('.');
        degrees += part * size;
        size /= 60.0;
        rest = after.trim_start();
        rest = rest.strip_prefix(signs).unwrap_or(rest).trim_start();
        if rest.is_empty() {
            return Some(degrees);
        }
    }
    None
}

/// Sine and cosine of an angle in degrees; those of quarter turns are exact, so that a square
/// stays one.
pub(super) fn sine_and_cosine(degrees: f64) -> (f64, f64) {
    let quarters = (degrees / 90.0).floor();
    let (sine, cosine) = (degrees - 90.0 * quarters).to_radians().sin_cos();
    match quarters.rem_euclid(4.0) as u8 {
        0 => (sine, cosine),
        1 => (cosine, -sine),
        2 => (-sine, -cosine),
        _ => (-cosine, sine),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_as_deeds_write_them() {
        let seconds = 30.0 / 60.0 + 15.0 / 3600.0;
        for (text, degrees) in [
            ("N 45°30'15\" E", 45.0 + seconds),
            ("n45-30-15e", 45.0 + seconds),
            ("N 45d30m15s E", 45.0 + seconds),
            ("North 45° 30′ 15″ East", 45.0 + seconds),
            ("S 45 30 15 E", 135.0 - seconds),
            ("S 45:30:15 W", 225.0 + seconds),
            ("N 45.5 W", 314.5),
            ("S 10d30m W", 190.5),
            ("due south", 180.0),
            ("W", 270.0),
            ("N 90° E", 90.0),
            ("225.5", 225.5),
            ("225°30'", 225.5),
            ("226°54'23\"", 226.0 + 54.0 / 60.0 + 23.0 / 3600.0),
            ("225d30m00s", 225.5),
        ] {
            let read = azimuth(&Given::Text(text.to_owned())).unwrap_or_else(|e| panic!("{e}"));
            assert!((read - degrees).abs() < 1e-12, "{text}: {read}");
        }
    }

    #[test]
    fn what_is_no_direction_is_refused() {
        for text in [
            "N 95 E",
            "N 45 60 E",
            "N 45 30 60 E",
            "E 45 N",
            "N 45 30 S",
            "N E",
            "",
            "N 45.5 30 E",
            "361",
            "-10",
            "N 1 2 3 4 E",
            "45 x",
            "nan",
            "1e2",
            "45 S",
            "№",
            "N45°30'15\"",
        ] {
            assert!(azimuth(&Given::Text(text.to_owned())).is_err(), "{text}");
        }
        assert!(azimuth(&Given::Number(f64::NAN)).is_err());
        assert!(azimuth(&Given::Number(-1.0)).is_err());
    }

    #[test]
    fn quarter_turns_are_exact() {
        for (degrees, expected) in [
            (0.0, (0.0, 1.0)),
            (90.0, (1.0, 0.0)),
            (-90.0, (-1.0, 0.0)),
            (180.0, (0.0, -1.0)),
            (360.0, (0.0, 1.0)),
        ] {
            assert_eq!(sine_and_cosine(degrees), expected, "{degrees}");
        }
        assert!((sine_and_cosine(30.0).0 - 0.5).abs() < 1e-15);
    }
}
