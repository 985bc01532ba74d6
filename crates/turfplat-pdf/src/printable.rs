//! Why texts are gone over before they are set: they come from maps and job files of strangers.
//! A letter that no font has would be an empty box without a trace, which an archive's PDF must
//! not hold; a word of two thousand letters would run off the paper.

use serde_json::Value;

use crate::fonts;

/// Stands for every letter that the fonts lack, so that nothing vanishes silently.
const MISSING: char = '□';

/// A break that is not seen, for words that are too long for a column.
const BREAK: char = '\u{200b}';

/// Longer words may be broken, after as many letters as fill a narrow column.
const LONG_WORD: usize = 24;
const PIECE: usize = 8;

/// The same data with every text printable: in keys nothing is changed, for templates ask by them.
pub(crate) fn printable(data: &Value) -> Value {
    match data {
        Value::String(text) => Value::String(line_of(text)),
        Value::Array(items) => items.iter().map(printable).collect(),
        Value::Object(members) => {
            members.iter().map(|(key, value)| (key.clone(), printable(value))).collect()
        }
        other => other.clone(),
    }
}

/// One line of letters that the fonts have.
fn line_of(text: &str) -> String {
    let mut visible = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            // A blank that holds a number and its unit together is meant.
            '\u{a0}' | '\u{202f}' => visible.push('\u{a0}'),
            c if c.is_control() || c.is_whitespace() => visible.push(' '),
            '\u{200b}' | '\u{fffe}' | '\u{ffff}' => visible.push(' '),
            c if is_invisible(c) => {}
            c if fonts::have(c) => visible.push(c),
            // An accent alone may go; what it stood on is there.
            c if is_attached(c) && !visible.is_empty() && !visible.ends_with(' ') => {}
            _ => visible.push(MISSING),
        }
    }
    let words = visible.split(' ').filter(|word| !word.is_empty());
    words.map(breakable).collect::<Vec<_>>().join(" ")
}

fn breakable(word: &str) -> String {
    if word.chars().count() <= LONG_WORD {
        return word.to_owned();
    }
    let mut broken = String::with_capacity(word.len() + word.len() / 2);
    for (place, c) in word.chars().enumerate() {
        if place > 0 && place % PIECE == 0 && !is_attached(c) {
            broken.push(BREAK);
        }
        broken.push(c);
    }
    broken
}

/// Signs that take no room: directions, joiners, variants, tags, the soft hyphen. Without those of
/// direction, numbers stay where they were put.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200c}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}')
}

/// Signs that are drawn on the letter before them: accents, vowel points, shades of emoji.
fn is_attached(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}' | '\u{483}'..='\u{489}' | '\u{591}'..='\u{5bd}' | '\u{64b}'..='\u{65f}'
        | '\u{1ab0}'..='\u{1aff}' | '\u{1dc0}'..='\u{1dff}' | '\u{20d0}'..='\u{20ff}' | '\u{fe20}'..='\u{fe2f}'
        | '\u{1f3fb}'..='\u{1f3ff}')
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn letters_that_the_fonts_lack_are_seen_to_be_lacking() {
        #[rustfmt::skip]
        let table = [
            ("Газон Ґ7", "Газон Ґ7"), ("中文 2", "□□ 2"), ("🌱🏽\u{fe0f} bed", "□ bed"),
            ("מדשאה: 4,000 sq ft", "□□□□□: 4,000 sq ft"), ("\u{20dd}", "□"),
            ("a\u{0}b\n\tc", "a b c"), ("\u{202e}Lawn\u{202c}", "Lawn"), ("5\u{a0}%", "5\u{a0}%"),
        ];
        for (given, printed) in table {
            assert_eq!(line_of(given), printed, "{given}");
        }
    }

    #[test]
    fn keys_stay_and_texts_of_any_depth_are_gone_over() {
        let data = serde_json::json!({ "文": [{ "a": "文" }, 5, null, true] });
        assert_eq!(printable(&data), serde_json::json!({ "文": [{ "a": "□" }, 5, null, true] }));
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

        /// Whatever is written, every letter of it can be drawn, and no word is too long for a column.
        #[test]
        fn nothing_is_left_that_cannot_be_set(text in "\\PC{0,60}|[a-z]{0,200}|[\\x00-\\u{10ffff}]{0,20}") {
            let line = line_of(&text);
            for c in line.chars().filter(|c| !matches!(*c, ' ' | '\u{a0}' | BREAK)) {
                prop_assert!(fonts::have(c), "{c:?}");
            }
            for piece in line.split([' ', BREAK]) {
                prop_assert!(piece.chars().filter(|c| !is_attached(*c)).count() <= LONG_WORD);
            }
            prop_assert_eq!(line_of(&line.replace(BREAK, "")), line);
        }
    }
}
