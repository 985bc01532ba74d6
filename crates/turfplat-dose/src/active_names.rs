//! Why names of active ingredients are compared without their salts and esters: one bag says
//! "2,4-D dimethylamine salt" and the next "2,4-D amine", and both count towards one limit. Which
//! words name a salt is common practice, no source. A word like methyl may tell two substances
//! apart (chlorpyrifos and chlorpyrifos-methyl), so it is not left out: such names are asked about,
//! never taken for one nor for two.

use crate::names::folded;
use crate::product::Product;

/// Words that name the salt or ester of an acid, or nothing at all.
const SALTS: &str = "salt salts ester esters amine amines dimethylamine trimethylamine triethylamine \
    diethanolamine triethanolamine isopropylamine triisopropanolamine dimethylammonium \
    isopropylammonium ammonium monoammonium diammonium potassium dipotassium monopotassium sodium \
    disodium monosodium lithium choline butoxyethyl butotyl isooctyl ethylhexyl meptyl dma dmas ipa \
    bee ehe tea tipa acid equivalent of the and as mono di technical tech";

/// Words that many substances share.
const COMMON: &str = "hydroxide oxide sulfate sulphate acetate chloride carbonate bicarbonate \
    phosphate nitrate methyl ethyl butyl propyl extract lambda gamma alpha beta zeta";

/// Whether two names mean one substance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sameness {
    Same,
    /// They share a name and differ in a word that may mean something.
    Doubtful,
    Different,
}

impl Product {
    /// True where an active ingredient of that name is in it, under any of its salts' names.
    pub fn has_active(&self, name: &str) -> bool {
        self.active_ingredients.iter().any(|it| compare(&it.name, name) == Sameness::Same)
    }
}

/// Compares two names of active ingredients.
pub(crate) fn compare(a: &str, b: &str) -> Sameness {
    let (bare_a, bare_b) = (bare(a), bare(b));
    if folded(a) == folded(b) || bare_a == bare_b {
        return Sameness::Same;
    }
    let (words_a, words_b) = (telling_words(a), telling_words(b));
    let shares = words_a.iter().any(|word| words_b.contains(word));
    if shares { Sameness::Doubtful } else { Sameness::Different }
}

/// The question that a doubt is told with.
pub(crate) fn question(a: &str, b: &str) -> String {
    format!("is {a:?} the same as {b:?}? write one name in both product files")
}

fn is_in(list: &str, word: &str) -> bool {
    list.split_whitespace().any(|one| one == word)
}

/// Words between blanks, hyphens and brackets; a comma or a number stands inside a name (2,4-D).
fn words(name: &str) -> Vec<String> {
    let parts = name.split(|c: char| c.is_whitespace() || "-()[]/;–".contains(c));
    let letters = |part: &str| part.to_lowercase().trim_matches([',', '.']).to_owned();
    parts.map(letters).filter(|part| !part.is_empty()).collect()
}

/// The name without words of salts, folded; the whole where nothing else is in it.
fn bare(name: &str) -> String {
    let kept: Vec<String> = words(name).into_iter().filter(|word| !is_in(SALTS, word)).collect();
    // 2-ethylhexyl ester: the place of the chain is no name either.
    let numbers_alone = kept.iter().all(|word| word.chars().all(|c| c.is_ascii_digit()));
    if kept.is_empty() || numbers_alone {
        return folded(name);
    }
    let end = kept.iter().rposition(|word| word.chars().any(char::is_alphabetic));
    folded(&kept[..end.map_or(kept.len(), |end| end + 1)].concat())
}

/// The words that a name is known by: its first as it stands between blanks, and long ones.
fn telling_words(name: &str) -> Vec<String> {
    let first = name.split_whitespace().map(folded).find(|word| !is_in(SALTS, word));
    let long = words(name)
        .into_iter()
        .filter(|word| word.chars().filter(|c| c.is_alphabetic()).count() >= 4);
    let telling = long.filter(|word| !is_in(SALTS, word) && !is_in(COMMON, word));
    first.into_iter().chain(telling.map(|word| folded(&word))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_without_their_salts() {
        use Sameness::{Different, Doubtful, Same};
        #[rustfmt::skip]
        let table = [
            // Whether they are one: common practice, no source, where nothing else is said.
            ("2,4-D dimethylamine salt", "2,4-D amine", Same),
            ("2,4-D, dimethylamine salt", "2,4-D", Same),
            ("2,4-D, 2-ethylhexyl ester", "2,4-D", Same),
            ("2,4-D choline salt", "2,4-d", Same),
            ("Trinexapac ethyl", "trinexapac-ethyl", Same),
            ("triclopyr butoxyethyl ester", "Triclopyr", Same),
            ("glyphosate, isopropylamine salt", "potassium salt of glyphosate", Same),
            ("dicamba (DMA salt)", "dicamba", Same),
            ("trinexapac", "trinexapac-ethyl", Doubtful),
            ("mecoprop-p", "mecoprop", Doubtful),
            ("S-metolachlor", "metolachlor", Doubtful),
            ("copper hydroxide", "copper sulfate", Doubtful),
            ("2,4-D something", "2,4-D", Doubtful),
            ("chlorpyrifos", "chlorpyrifos-methyl", Doubtful),
            ("2,4-D", "2,4-DB", Different),
            ("2,4-D", "2,4-DP", Different),
            ("copper hydroxide", "calcium hydroxide", Different),
            ("trinexapac-ethyl", "fluazifop-p-butyl", Different),
            ("thiophanate-methyl", "metsulfuron-methyl", Different),
            ("dicamba", "dimethenamid", Different),
        ];
        for (a, b, same) in table {
            assert_eq!(compare(a, b), same, "{a} and {b}");
            assert_eq!(compare(b, a), same, "{b} and {a}");
        }
    }
}
