//! Why the font is carried along and measured: a label that was guessed to fit does not,
//! and a sheet must look the same on a machine without any fonts.
//! Inter is licensed under the SIL Open Font License 1.1, see `assets/OFL.txt`.

use std::sync::{Arc, LazyLock};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use resvg::usvg::fontdb;

const REGULAR: &[u8] = include_bytes!("../assets/Inter-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../assets/Inter-Bold.ttf");

// The same two, packed for browsers; the drawing library does not read this form.
const REGULAR_WEB: &[u8] = include_bytes!("../assets/Inter-Regular.woff2");
const BOLD_WEB: &[u8] = include_bytes!("../assets/Inter-Bold.woff2");

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

/// A style rule that hands the font to browsers, which seldom have it.
pub(crate) fn style_rule() -> String {
    let rule = |weight: u16, data: &[u8]| {
        format!(
            "@font-face{{font-family:Inter;font-weight:{weight};src:url(data:font/woff2;base64,{}) format('woff2')}}",
            STANDARD.encode(data)
        )
    };
    format!("<style>{}{}</style>\n", rule(400, REGULAR_WEB), rule(700, BOLD_WEB))
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
            for sign in "·…×≤≥→−°²½µ“”’–—éñüß".chars() {
                assert!(face.glyph_index(sign).is_some(), "{sign}");
            }
        }
    }
}
