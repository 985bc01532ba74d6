//! Why spelling is judged in the lowest room: units, grasses, columns and tape sheets are all asked
//! by name, people write them with a letter too many, and each of the rooms above answers with what
//! may have been meant. How near two words are must not differ from room to room.

/// How many letters must be put in, taken out or changed to make one word of the other; two
/// neighbors that are swapped count once. Case counts: fold the words first where it should not.
///
/// * Takes time in the product of the lengths: cut what strangers write.
/// * Source: the optimal string alignment distance, after Damerau (1964), "A technique for computer
///   detection and correction of spelling errors", CACM 7(3).
///
/// ```
/// use turfplat_units::letters_apart;
/// assert_eq!(letters_apart("fescue", "fecsue"), 1);
/// ```
pub fn letters_apart(from: &str, to: &str) -> usize {
    let from: Vec<char> = from.chars().collect();
    let to: Vec<char> = to.chars().collect();
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (i, a) in from.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in to.iter().enumerate() {
            let mut least = (last[j] + usize::from(a != b)).min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *a == to[j - 1] && from[i - 1] == *b {
                least = least.min(before_last[j - 1] + 1);
            }
            row.push(least);
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[to.len()]
}

/// True where so many slips are still the same word: a third of its letters wrong is another.
pub fn is_near(letters_apart: usize, word: &str) -> bool {
    letters_apart * 3 <= word.chars().count().max(3)
}

/// What a word may have meant: the nearest of `known`, if it is near; of several as near the first
/// by the alphabet.
///
/// * Case does not count. What is longer than 64 letters is no slip of the pen and meant nothing.
///
/// ```
/// use turfplat_units::nearest;
/// assert_eq!(nearest("Setbakc", ["species", "setback"]), Some("setback"));
/// assert_eq!(nearest("pond", ["species", "setback"]), None);
/// ```
pub fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    const LONGEST: usize = 64;
    let is_short = |text: &str| text.chars().nth(LONGEST).is_none();
    if !is_short(word) {
        return None;
    }
    let word = word.to_lowercase();
    let apart = |known: &'k str| (letters_apart(&word, &known.to_lowercase()), known);
    let nearest = known.into_iter().filter(|known| is_short(known)).map(apart).min();
    nearest.filter(|(apart, _)| is_near(*apart, &word)).map(|(_, known)| known)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen_are_counted() {
        #[rustfmt::skip]
        let table = [
            // one word, the other, and how far apart
            ("fescue",    "fescue",     0),
            ("fescue",    "fecsue",     1),
            ("fescue",    "fescu",      1),
            ("rye",       "oak",        3),
            ("condition", "conditon",   1),
            ("setback",   "setbakc",    1),
            ("species",   "speces",     1),
            ("kind",      "kindd",      1),
            ("property",  "prpoerty",   1),
            ("property",  "properties", 3),
            ("name",      "lane",       2),
            ("",          "turf",       4),
            ("",          "",           0),
        ];
        for (a, b, expected) in table {
            assert_eq!(letters_apart(a, b), expected, "{a} {b}");
            assert_eq!(letters_apart(b, a), expected, "{b} {a}");
        }
    }

    #[test]
    fn a_third_of_the_letters_wrong_is_another_word() {
        assert!(is_near(1, "rye") && !is_near(2, "rye"));
        assert!(is_near(2, "fescue") && !is_near(3, "fescue"));
    }

    #[test]
    fn the_nearest_is_what_was_meant_or_nothing_is() {
        let long = "a".repeat(65);
        let longest = "a".repeat(64);
        #[rustfmt::skip]
        let table: [(&str, &[&str], Option<&str>); 8] = [
            // what was written, what there is, what was meant
            ("fecsue",  &["rye", "fescue"],          Some("fescue")),
            ("FESCUE",  &["rye", "Fescue"],          Some("Fescue")),
            ("lot-12",  &["lot-13", "lot-11"],       Some("lot-11")),
            ("lot-12",  &["lot-100", "lot-22"],      Some("lot-22")),
            ("oak",     &["rye", "fescue"],          None),
            ("rye",     &[],                         None),
            (&long,     &[&longest],                 None),
            (&longest,  &[&long, &longest],          Some(&longest)),
        ];
        for (word, known, expected) in table {
            assert_eq!(nearest(word, known.iter().copied()), expected, "{word}");
        }
    }
}
