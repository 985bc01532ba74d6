//! Why a job is edited and not written anew: it is the user's own text, with notes in the
//! margin and an order that means something to them. One value changes; all else stays.

use std::path::Path;

use anyhow::Context;
use toml_edit::{DocumentMut, Item, TableLike, Value};

use crate::files;

/// Why a job was left as it is, and what to change.
pub(crate) type Refused = String;

/// What is written: a key of equipment and its text.
pub(crate) struct Written {
    pub(crate) key: &'static str,
    pub(crate) value: String,
}

/// Writes values of one piece of equipment into a job file, all or none. A spray volume holds at the
/// speed that it was found at: a new one without its speed takes the old speed out, and a speed alone
/// is not put beside a volume of another. Gives the keys that were taken out.
/// The outer error is of a file that cannot be used, the inner one of a job that is refused.
pub(crate) fn write(
    job: &Path,
    equipment: &str,
    values: &[Written],
) -> anyhow::Result<Result<Vec<&'static str>, Refused>> {
    let file = job.display();
    let text = std::fs::read_to_string(job).with_context(|| format!("cannot read {file}"))?;
    match with_values(&text, equipment, values).with_context(|| format!("{file}"))? {
        Ok((edited, taken_out)) => {
            files::write(job, edited.as_bytes())?;
            Ok(Ok(taken_out))
        }
        Err(reason) => Ok(Err(format!("{file}: {reason}"))),
    }
}

fn with_values(
    text: &str,
    equipment: &str,
    values: &[Written],
) -> anyhow::Result<Result<(String, Vec<&'static str>), Refused>> {
    let mut document: DocumentMut = text.trim_start_matches(MARK).parse().context("is not TOML")?;
    let done = set(&mut document, equipment, values);
    Ok(done.map(|taken_out| (as_before(text, &document.to_string()), taken_out)))
}

fn set(
    document: &mut DocumentMut,
    name: &str,
    values: &[Written],
) -> Result<Vec<&'static str>, Refused> {
    let all = document.get_mut("equipment").and_then(Item::as_table_like_mut);
    let known = all.as_deref().map_or_else(String::new, names);
    let known = if known.is_empty() { "none".to_owned() } else { known };
    let table = all.and_then(|all| all.get_mut(name)).and_then(Item::as_table_like_mut);
    let table = table.ok_or_else(|| {
        format!("there is no equipment {name:?} (equipment there: {known}); add [equipment.{name}] or write one of these")
    })?;
    let gives = |wanted: &str| values.iter().find(|written| written.key == wanted);
    if let (Some(speed), None, true) =
        (gives("speed"), gives("spray_volume"), table.get("spray_volume").is_some())
        && table.get("speed").and_then(Item::as_str) != Some(speed.value.as_str())
    {
        return Err(format!(
            "the spray_volume of equipment {name:?} was not found at {}; at another speed it is another: calibrate it anew at this speed (boom, catch or area), or take spray_volume out",
            speed.value
        ));
    }
    for written in values {
        set_one(table, name, written)?;
    }
    let is_stale = gives("spray_volume").is_some() && gives("speed").is_none();
    Ok(if is_stale && table.remove("speed").is_some() { vec!["speed"] } else { Vec::new() })
}

fn set_one(table: &mut dyn TableLike, name: &str, written: &Written) -> Result<(), Refused> {
    let Written { key, value } = written;
    let spreads = table.get("kind").and_then(Item::as_str).is_some_and(is_spreader);
    match (*key, spreads) {
        ("spray_volume", true) => {
            return Err(format!(
                "equipment {name:?} is a spreader and has no spray_volume; write a sprayer's name"
            ));
        }
        ("setting", false) => {
            return Err(format!(
                "equipment {name:?} is no spreader, whose setting this is; write a spreader's name"
            ));
        }
        _ => {}
    }
    let mut value = Value::from(value);
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            // What stands around the old value, such as a note behind it.
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
    Ok(())
}

/// The line of the key that a message names, such as `equipment.knapsack.tank` or
/// `application "June", product "urea-46-0-0", rate`; of a key that is not there, its table's.
pub(crate) fn line_of(text: &str, key: &str) -> Option<usize> {
    let text = text.trim_start_matches(MARK);
    let document = toml_edit::Document::parse(text).ok()?;
    let mut item: &Item = document.as_item();
    let mut at = 0;
    for word in words(key) {
        let Some((start, inner)) = found(item, &word) else { break };
        (at, item) = (start, inner);
    }
    (at > 0).then(|| text.get(..at).map_or(0, |before| before.matches('\n').count()) + 1)
}

/// One step on the way to a key: a key of a table, or the entry of an array that has the name.
enum Word {
    Key(String),
    Entry { array: &'static str, by: &'static str, name: String },
}

/// The steps of `application "June", product "x", rates."y"`, or of `equipment.knapsack.tank`.
fn words(key: &str) -> Vec<Word> {
    let parted = |text: &str| -> Vec<Word> {
        // Points and commas in quotes belong to names.
        let pieces = text.split('"').enumerate();
        let keys = pieces.flat_map(|(place, piece)| match place % 2 {
            1 => vec![piece.to_owned()],
            _ => piece
                .split('.')
                .map(|it| it.trim().to_owned())
                .filter(|it| !it.is_empty())
                .collect(),
        });
        keys.map(Word::Key).collect()
    };
    let mut rest = key;
    let mut words = Vec::new();
    for (array, by) in [("application", "name"), ("product", "product")] {
        let Some(after) = rest.strip_prefix(array).and_then(|it| it.strip_prefix(" \"")) else {
            break;
        };
        let Some((name, after)) = after.split_once('"') else { break };
        words.push(Word::Entry { array, by, name: name.to_owned() });
        rest = after.trim_start_matches([',', ' ']);
    }
    words.extend(parted(rest));
    words
}

/// Where it starts in the text, and what stands there.
fn found<'i>(item: &'i Item, word: &Word) -> Option<(usize, &'i Item)> {
    match word {
        Word::Key(key) => {
            let (key, inner) = item.as_table_like()?.get_key_value(key)?;
            let start = key.span().or_else(|| inner.span())?.start;
            Some((start, inner))
        }
        Word::Entry { array, by, name } => {
            let entries = item.as_table_like()?.get(array)?;
            let many = entries.as_array_of_tables()?;
            let place =
                many.iter().position(|table| table.get(by).and_then(Item::as_str) == Some(name))?;
            let start = many.get(place)?.span()?.start;
            // An entry is no item of its own to go on from, but its index is.
            Some((start, entries.get(place)?))
        }
    }
}

fn names(table: &dyn TableLike) -> String {
    table.iter().map(|(name, _)| name).collect::<Vec<_>>().join(", ")
}

fn is_spreader(kind: &str) -> bool {
    kind.trim().eq_ignore_ascii_case("spreader")
}

/// Some editors begin a file with it.
const MARK: char = '\u{feff}';

/// With the line ends and the mark of the text as it was: the writer knows but one line end.
fn as_before(before: &str, edited: &str) -> String {
    let edited = edited.replace("\r\n", "\n");
    let edited = if before.contains("\r\n") { edited.replace('\n', "\r\n") } else { edited };
    if before.starts_with(MARK) { format!("{MARK}{edited}") } else { edited }
}

#[cfg(test)]
mod tests {
    use super::*;

    const JOB: &str = "# Ours.\n[equipment.knapsack]  # the old one\nkind = \"backpack\"\ntank = \"4 gal\"\n\
        spray_volume = \"1 gal/1000 sq ft\"   # May\n# last line of it\n\n[equipment.\"big boom\"]\n\
        kind = \"boom\"\n\n[equipment.rotary]\nkind = \"spreader\"\n\n[[application]]\nname = \"June\"\n";

    fn spray_volume(text: &str) -> [Written; 1] {
        [Written { key: "spray_volume", value: text.to_owned() }]
    }

    fn edited(text: &str, name: &str) -> Result<String, Refused> {
        let done = with_values(text, name, &spray_volume("1.2 gal/1000 sq ft")).unwrap();
        done.map(|(text, _)| text)
    }

    #[test]
    fn one_value_changes_and_all_else_stays() {
        let expected = JOB.replace("\"1 gal/1000 sq ft\"", "\"1.2 gal/1000 sq ft\"");
        assert_eq!(edited(JOB, "knapsack").unwrap(), expected);
    }

    #[test]
    fn a_missing_value_is_added_in_its_own_table() {
        let expected =
            JOB.replace("\"boom\"\n", "\"boom\"\nspray_volume = \"1.2 gal/1000 sq ft\"\n");
        assert_eq!(edited(JOB, "big boom").unwrap(), expected);
    }

    #[test]
    fn tables_in_a_line_and_dotted_names_are_equipment_too() {
        let line = "[equipment]\nknapsack = { kind = \"backpack\", tank = \"4 gal\" } # a\n";
        assert!(
            edited(line, "knapsack")
                .unwrap()
                .contains("spray_volume = \"1.2 gal/1000 sq ft\" } # a\n")
        );
        let dotted = "equipment.knapsack.kind = \"backpack\"\nequipment.knapsack.spray_volume = \"1 gal/A\"\n";
        assert_eq!(
            edited(dotted, "knapsack").unwrap(),
            dotted.replace("1 gal/A", "1.2 gal/1000 sq ft")
        );
    }

    #[test]
    fn line_ends_and_mark_stay_as_they_were() {
        let windows = format!("\u{feff}{}", JOB.replace('\n', "\r\n"));
        let expected = windows.replace("\"1 gal/1000 sq ft\"", "\"1.2 gal/1000 sq ft\"");
        assert_eq!(edited(&windows, "knapsack").unwrap(), expected);
        let open_end = JOB.trim_end();
        assert!(edited(open_end, "knapsack").is_ok());
    }

    #[test]
    fn a_speed_stays_with_the_spray_volume_that_was_found_at_it() {
        let speed = |text: &str| [Written { key: "speed", value: text.to_owned() }];
        let alone = with_values(JOB, "knapsack", &speed("3 mph")).unwrap().unwrap_err();
        assert!(alone.contains("calibrate it anew at this speed"), "{alone}");
        // Without a spray volume nothing is wrong with it.
        let (boom, _) = with_values(JOB, "big boom", &speed("3 mph")).unwrap().unwrap();
        assert!(boom.contains("speed = \"3 mph\""));
        let same = JOB.replace("tank = \"4 gal\"\n", "tank = \"4 gal\"\nspeed = \"3 mph\"\n");
        assert!(with_values(&same, "knapsack", &speed("3 mph")).unwrap().is_ok());
        let new = spray_volume("1.2 gal/1000 sq ft");
        let (edited, taken_out) = with_values(&same, "knapsack", &new).unwrap().unwrap();
        assert_eq!(taken_out, ["speed"]);
        assert!(!edited.contains("speed"), "{edited}");
    }

    #[test]
    fn equipment_that_is_not_there_or_does_not_spray_is_refused() {
        let reason = edited(JOB, "Knapsack").unwrap_err();
        assert!(reason.contains("knapsack, big boom, rotary"), "{reason}");
        assert!(edited(JOB, "rotary").unwrap_err().contains("spreader"));
        assert!(edited("", "knapsack").unwrap_err().contains("none"));
        assert!(with_values("a = ", "knapsack", &spray_volume("1 gal/A")).is_err());
        let setting = [Written { key: "setting", value: "4.5".into() }];
        let reason = with_values(JOB, "knapsack", &setting).unwrap().unwrap_err();
        assert!(reason.contains("is no spreader"), "{reason}");
        let (set, _) = with_values(JOB, "rotary", &setting).unwrap().unwrap();
        assert_eq!(set, JOB.replace("\"spreader\"\n", "\"spreader\"\nsetting = \"4.5\"\n"));
    }
}
