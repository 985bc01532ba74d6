//! Why the font is carried along and measured: a label that was guessed to fit does not,
//! and a sheet must look the same on a machine without any fonts.
//! Inter is licensed under the SIL Open Font License 1.1, see `assets/OFL.txt`. It is cut
//! down to Latin, Greek and Cyrillic: the whole of it weighs ten times as much, and no
//! single font has every script. What it lacks is printed as [`MISSING`].

use std::sync::{Arc, LazyLock};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use resvg::usvg::fontdb;

const REGULAR: &[u8] = include_bytes!("../assets/Inter-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../assets/Inter-Bold.ttf");

// The same two, packed for browsers; the drawing library does not read this form. Greek,
// Cyrillic and accents by themselves stand in a second file, which few sheets need.
const REGULAR_WEB: &[u8] = include_bytes!("../assets/Inter-Regular.woff2");
const BOLD_WEB: &[u8] = include_bytes!("../assets/Inter-Bold.woff2");

const REGULAR_MORE: &[u8] = include_bytes!("../assets/Inter-Regular-more.woff2");
const BOLD_MORE: &[u8] = include_bytes!("../assets/Inter-Bold-more.woff2");

/// What is in the second file for browsers, and the same as CSS has it.
const MORE: [(char, char); 4] =
    [('\u{218}', '\u{21b}'), ('\u{300}', '\u{4ff}'), ('\u{2116}', '\u{2116}'), (MISSING, MISSING)];
const MORE_RANGE: &str = "U+218-21B,U+300-4FF,U+2116,U+25A1";

/// Stands for every letter that the font lacks, so that no label is silently empty.
pub(crate) const MISSING: char = '□';

struct Face {
    face: ttf_parser::Face<'static>,
    /// Advances of the first letters, which nearly every text is made of.
    advances: Vec<u16>,
}

static FACES: LazyLock<[Option<Face>; 2]> = LazyLock::new(|| {
    [REGULAR, BOLD].map(|data| {
        let face = ttf_parser::Face::parse(data, 0).ok()?;
        let advances = ('\0'..'\u{180}').map(|c| advance(&face, c)).collect();
        Some(Face { face, advances })
    })
});

fn advance(face: &ttf_parser::Face<'_>, c: char) -> u16 {
    let glyph = face.glyph_index(c).unwrap_or_default();
    face.glyph_hor_advance(glyph).unwrap_or_default()
}

/// Whether the font can draw `c`.
pub(crate) fn has(c: char) -> bool {
    let [Some(face), _] = &*FACES else { return true };
    c.is_ascii_graphic() || c == ' ' || face.face.glyph_index(c).is_some()
}

/// Height of a capital letter, as a part of the font size.
pub(crate) const CAP_HEIGHT: f64 = 0.727;

/// Width of `text` set in `size`; kerning is left out, which errs by a hair on the wide side.
pub(crate) fn width(text: &str, size: f64, bold: bool) -> f64 {
    let Some(face) = &FACES[usize::from(bold)] else {
        // Wide enough for any text, should the embedded font ever be unreadable.
        return text.chars().count() as f64 * size;
    };
    let units: u32 = text
        .chars()
        .map(|c| match face.advances.get(c as usize) {
            Some(&units) => u32::from(units),
            None => u32::from(advance(&face.face, c)),
        })
        .sum();
    f64::from(units) * size / f64::from(face.face.units_per_em())
}

/// The fonts that pictures are drawn with: only ours, so that no machine draws another.
pub(crate) fn database() -> Arc<fontdb::Database> {
    static DATABASE: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
        let mut fonts = fontdb::Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        fonts.set_sans_serif_family("Inter");
        Arc::new(fonts)
    });
    Arc::clone(&DATABASE)
}

/// A style rule that hands the font to browsers, which seldom have it; as much of it as
/// `drawn` needs.
pub(crate) fn style_rule(drawn: &str) -> String {
    let rule = |weight: u16, data: &[u8], range: &str| {
        format!(
            "@font-face{{font-family:Inter;font-weight:{weight};{range}src:url(data:font/woff2;base64,{}) format('woff2')}}",
            STANDARD.encode(data)
        )
    };
    let mut rules = rule(400, REGULAR_WEB, "") + &rule(700, BOLD_WEB, "");
    if drawn.chars().any(|c| MORE.iter().any(|&(from, to)| (from..=to).contains(&c))) {
        let range = format!("unicode-range:{MORE_RANGE};");
        rules += &rule(400, REGULAR_MORE, &range);
        rules += &rule(700, BOLD_MORE, &range);
    }
    format!("<style>{rules}</style>\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn advances_come_from_the_font_and_grow_with_size() {
        assert!(width("iii", 10.0, false) < width("WWW", 10.0, false));
        assert!(width("Front lawn", 10.0, false) < width("Front lawn", 10.0, true));
        let once = width("4,812 sq ft", 6.0, false);
        assert!((width("4,812 sq ft", 12.0, false) - 2.0 * once).abs() < 1e-9);
        assert!(width("\u{4e2d}\u{6587}", 10.0, false) > 0.0);
    }

    #[test]
    fn every_sign_the_sheet_prints_is_in_the_font() {
        for face in FACES.iter() {
            let face = &face.as_ref().unwrap().face;
            for sign in "·…×≤≥→−°²½µ“”’–—éñüßșΑωέЖяїґқ№□".chars()
            {
                assert!(face.glyph_index(sign).is_some(), "{sign}");
            }
        }
    }
}
