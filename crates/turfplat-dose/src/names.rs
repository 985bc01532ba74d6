//! Why names are compared loosely and never guessed: people write `Tall Fescue`,
//! `tall-fescue` and `St Augustine grass`, and mean one thing. A slip of the pen is
//! answered with what it may have meant, not silently taken for it: the wrong grass
//! takes three times the rate.

use turfplat_units::{is_near, letters_apart};

/// `text` without case, spacing, hyphens and points, and without a plural s at its end.
pub(crate) fn folded(text: &str) -> String {
    let mut folded: String = text
        .chars()
        .flat_map(char::to_lowercase)
        .map(|c| if c == '×' { 'x' } else { c })
        .filter(|c| c.is_alphanumeric())
        .collect();
    if let Some(rest) = folded.strip_prefix("saint") {
        folded = format!("st{rest}");
    }
    if folded.ends_with('s') && !folded.ends_with("ss") {
        folded.pop();
    }
    folded
}

/// At most four of `names` that `text` may have meant, the closest first.
pub(crate) fn close<'a>(text: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let text = folded(text);
    let mut found: Vec<(usize, &str)> = names
        .into_iter()
        .filter_map(|name| {
            let folded = folded(name);
            let part = text.len() >= 4 && (folded.contains(&text) || text.contains(&folded));
            let distance = letters_apart(&text, &folded);
            let near = is_near(distance, &text);
            (part || near).then_some((if part { distance.min(2) } else { distance }, name))
        })
        .collect();
    found.sort();
    found.dedup_by_key(|(_, name)| *name);
    found.into_iter().take(4).map(|(_, name)| name.to_owned()).collect()
}

/// `did you mean "a" or "b"?` as the middle of a message, or `otherwise` where nothing is close.
pub(crate) fn did_you_mean(close: &[String], otherwise: &str) -> String {
    if close.is_empty() {
        return otherwise.to_owned();
    }
    let quoted: Vec<String> = close.iter().map(|name| format!("{name:?}")).collect();
    format!("did you mean {}?", either(&quoted))
}

/// `a, b or c`.
pub(crate) fn either(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_name_written_several_ways_is_one_name() {
        for (a, b) in [
            ("Tall Fescue", "tall-fescue"),
            ("St. Augustinegrass", "st augustine grass"),
            ("Saint Augustinegrass", "St. Augustinegrass"),
            ("fine fescues", "Fine Fescue"),
            ("Cynodon dactylon × C. transvaalensis", "cynodon dactylon x c transvaalensis"),
        ] {
            assert_eq!(folded(a), folded(b), "{a} and {b}");
        }
        assert_ne!(folded("bluegrass"), folded("bluegras"));
    }

    #[test]
    fn a_slip_of_the_pen_is_answered() {
        assert_eq!(close("tal fescue", ["tall fescue", "zoysiagrass"]), ["tall fescue"]);
    }
}
