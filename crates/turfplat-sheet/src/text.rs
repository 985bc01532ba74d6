//! Texts come from maps and job files of strangers: any length, any sign. Here they are
//! made printable and broken into lines by their measured width.

use std::borrow::Cow;

use crate::font;

/// The longest text that is printed whole, in letters; longer ones end in an ellipsis.
const LONGEST: usize = 600;

/// One line without signs that XML or a printer cannot take, at most [`LONGEST`] letters long.
pub(crate) fn plain(text: &str) -> String {
    shorten(&whole(text), LONGEST)
}

/// Like [`plain`], but never shortened: for what must be printed to the last word.
///
/// Letters that the font lacks become [`font::MISSING`]. So no text of right-to-left scripts is
/// left, nor any sign that turns the reading direction: numbers stay where they were put.
pub(crate) fn whole(text: &str) -> String {
    let mut visible = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            c if c.is_control() || c.is_whitespace() => visible.push(' '),
            '\u{200B}' | '\u{FFFE}' | '\u{FFFF}' => visible.push(' '),
            c if is_invisible(c) => {}
            c if font::has(c) => visible.push(c),
            // An accent alone may go; what it stood on is there.
            c if is_attached(c) && !visible.is_empty() && !visible.ends_with(' ') => {}
            _ => visible.push(font::MISSING),
        }
    }
    visible.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The letters of a text that the font lacks, each once: on a sheet stands □ for them.
pub fn lacking(text: &str) -> String {
    let mut letters = String::new();
    let is_blank = |c: char| {
        c.is_control() || c.is_whitespace() || matches!(c, '\u{200B}' | '\u{FFFE}' | '\u{FFFF}')
    };
    for c in text.chars() {
        let is_drawn = is_blank(c) || is_invisible(c) || is_attached(c) || font::has(c);
        if !is_drawn && !letters.contains(c) {
            letters.push(c);
        }
    }
    letters
}

/// Signs that take no room: directions, joiners, variants, tags, the soft hyphen.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{AD}' | '\u{61C}' | '\u{180E}' | '\u{200C}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{E0000}'..='\u{E0FFF}')
}

/// Signs that are drawn on the letter before them: accents, vowel points, shades of emoji.
fn is_attached(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36F}' | '\u{483}'..='\u{489}' | '\u{591}'..='\u{5BD}' | '\u{64B}'..='\u{65F}'
        | '\u{1AB0}'..='\u{1AFF}' | '\u{1DC0}'..='\u{1DFF}' | '\u{20D0}'..='\u{20FF}' | '\u{FE20}'..='\u{FE2F}'
        | '\u{1F3FB}'..='\u{1F3FF}')
}

/// At most `most` letters, the last an ellipsis if any were cut.
pub(crate) fn shorten(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Cut with an ellipsis so that it is no wider than `room`.
pub(crate) fn fit(text: &str, size: f64, bold: bool, room: f64) -> String {
    if font::width(text, size, bold) <= room {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = font::width("…", size, bold);
    for c in text.chars() {
        used += font::width(c.encode_utf8(&mut [0; 4]), size, bold);
        if used > room {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

/// Lines no wider than `room`. Words wider than a line are broken within.
pub(crate) fn wrap(text: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
    let space = font::width(" ", size, bold);
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut used = 0.0;
    for word in bound(text) {
        for (index, piece) in pieces(&word, size, bold, room).into_iter().enumerate() {
            let wide = font::width(&piece, size, bold);
            let fits = used + space + wide <= room && index == 0;
            if line.is_empty() {
                used = wide;
            } else if fits {
                line.push(' ');
                used += space + wide;
            } else {
                lines.push(std::mem::take(&mut line));
                used = wide;
            }
            line.push_str(&piece);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Words, with a number and its unit taken as one: `2.99 gal` never ends a line at `2.99`.
fn bound(text: &str) -> Vec<String> {
    const UNITS: [&str; 14] =
        ["sq", "ft", "fl", "oz", "gal", "lb", "mL", "L", "m", "m²", "kg", "g", "acre", "ha"];
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let unit = word.split(['/', ',', ';', '.', ')']).next().unwrap_or_default();
        let is_unit = UNITS.contains(&unit);
        match words.last_mut() {
            Some(last)
                if last.ends_with("batch") && word.starts_with(|c: char| c.is_ascii_digit()) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            Some(last)
                if is_unit
                    && (last.ends_with(|c: char| c.is_ascii_digit())
                        || last.ends_with("sq")
                        || last.ends_with("fl")) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn pieces(word: &str, size: f64, bold: bool, room: f64) -> Vec<String> {
    if font::width(word, size, bold) <= room {
        return vec![word.to_owned()];
    }
    let mut pieces = vec![String::new()];
    let mut used = 0.0;
    for c in word.chars() {
        let wide = font::width(c.encode_utf8(&mut [0; 4]), size, bold);
        if used + wide > room && used > 0.0 {
            pieces.push(String::new());
            used = 0.0;
        }
        used += wide;
        if let Some(piece) = pieces.last_mut() {
            piece.push(c);
        }
    }
    pieces
}

/// Text as XML content or attribute value.
pub(crate) fn escaped(text: &str) -> Cow<'_, str> {
    if !text.contains(['&', '<', '>', '"', '\'']) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_its_room() {
        let text =
            "load 1: 3 gal = 0.75 fl oz + 2.99 gal water, Donaudampfschifffahrtsgesellschaft";
        for room in [20.0, 50.0, 120.0, 400.0] {
            for line in wrap(text, 8.0, false, room) {
                assert!(font::width(&line, 8.0, false) <= room + 1e-9, "{line}");
            }
        }
        assert_eq!(wrap(text, 8.0, false, 1e4), vec![text]);
        assert!(wrap("", 8.0, false, 50.0).is_empty());
        // A room of nothing still ends.
        assert_eq!(wrap("abc", 8.0, false, 0.0), vec!["a", "b", "c"]);
    }

    #[test]
    fn letters_that_the_font_lacks_are_seen_to_be_lacking() {
        #[rustfmt::skip]
        let table = [
            ("Газон Ґ7 Қ", "Газон Ґ7 Қ"), ("Αυλή", "Αυλή"), ("中文 2", "□□ 2"),
            ("🌱🏽\u{fe0f} bed", "□ bed"), ("מדשאה: 4,000 sq ft", "□□□□□: 4,000 sq ft"),
            ("\u{20dd}", "□"), ("x\u{20dd}", "x"), ("i\u{306}", "i\u{306}"),
        ];
        for (given, printed) in table {
            assert_eq!(plain(given), printed);
            assert_eq!(plain(printed), printed, "twice");
        }
    }

    #[test]
    fn letters_that_are_lacking_are_named_once() {
        for (text, letters) in
            [("中文中 2", "中文"), ("Rasen Ґ \u{202e}é\u{301}", ""), ("🌱🏽\u{fe0f} bed", "🌱")]
        {
            assert_eq!(lacking(text), letters, "{text}");
            assert_eq!(plain(text).contains(font::MISSING), !letters.is_empty(), "{text}");
        }
    }

    #[test]
    fn strange_signs_become_spaces() {
        assert_eq!(plain("a\u{0}b\n\tc\u{7}\u{FFFF}"), "a b c");
        assert_eq!(plain("\u{202e}Lawn\u{202c} \u{200f}4,000 sq ft\u{ad}"), "Lawn 4,000 sq ft");
        assert_eq!(plain("x".repeat(9_999).as_str()).chars().count(), LONGEST);
        assert_eq!(escaped(r#"<&>"'"#), "&lt;&amp;&gt;&quot;&#39;");
    }
}
