//! What stands beside the map, in the order of a morning: mix, know the dangers, find
//! your way, read the rest.

use crate::flow::{Row, Sign, Writer};
use crate::legend;
use crate::map::SprayMap;
use crate::seen::Seen;
use crate::style::Styles;
use crate::text::shorten;

/// What may give way when a page is too small, and how many of each are kept.
/// Cautions are not among it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    batches: usize,
    loads: usize,
    notes: usize,
    legend: usize,
    /// Letters of one text, cautions excepted.
    letters: usize,
}

impl Limits {
    /// From everything down to the bare minimum.
    #[rustfmt::skip]
    pub(crate) const LADDER: [Limits; 6] = [
        Limits { batches: usize::MAX, loads: usize::MAX, notes: usize::MAX, legend: usize::MAX, letters: 600 },
        Limits { batches: 40, loads: 12, notes: 12, legend: 48, letters: 240 },
        Limits { batches: 16, loads: 6, notes: 6, legend: 48, letters: 160 },
        Limits { batches: 8, loads: 3, notes: 4, legend: 48, letters: 120 },
        Limits { batches: 4, loads: 1, notes: 2, legend: 48, letters: 80 },
        Limits { batches: 1, loads: 0, notes: 0, legend: 48, letters: 70 },
    ];
}

/// Where the numbers on a map are explained: all of them in one place, for a key that ends in the
/// middle is no key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Explained {
    /// Beside the map.
    Here,
    /// On the sheet of that number.
    On(usize),
    /// In whatever lists the zones, in their order.
    ByList,
}

/// The key's type is no smaller than this, in points.
pub(crate) const KEY_TYPE: f64 = 8.0;

/// Letters of one line of the key.
const KEY_LETTERS: usize = 600;

/// Letters of a strength, a total, or a line of the legend: these are not shortened to make room.
const WHOLE: usize = 240;

/// Where all that has no room on a sheet is told.
const ELSEWHERE: &str = "see the work order";

/// The rows of the panel. `keyed` lists the zones that stand on the map as a number.
pub(crate) fn rows(
    (map, styles): (&SprayMap, &Styles),
    seen: &Seen,
    keyed: (&[usize], Explained),
    (size, width): (f64, f64),
    limits: Limits,
) -> Vec<Row> {
    let mut out = Writer::new(size, width);
    let text = |text: &str| shorten(text, limits.letters);

    if !map.batches.is_empty() {
        out.heading(match map.batches.len() {
            _ if map.is_dry() => "Loads",
            1 => "Mix and loads",
            _ => "Mixes and loads",
        });
        for batch in map.batches.iter().take(limits.batches) {
            let first = out.rows.len();
            let zones = listed(&batch.zones, limits.letters);
            out.item(Sign::Nothing, &format!("Batch {}: {zones}", batch.number), true);
            out.bind();
            for line in &batch.mix {
                out.item(Sign::Nothing, &shorten(line, WHOLE), false);
            }
            for load in batch.loads.iter().take(limits.loads) {
                out.item(Sign::Tick, &load_in(load, &batch.zones, limits.letters), false);
            }
            more(&mut out, batch.loads.len(), limits.loads, "load");
            out.bind_if_short(first);
            out.gap(0.35);
        }
        more(&mut out, map.batches.len(), limits.batches, "batch");
    }
    // Zones that got no amounts either: a treated zone too small to draw is not nothing.
    if map.zones.iter().all(|zone| legend::is_skipped(zone) && zone.amounts.is_empty()) {
        out.heading("In all");
        out.item(Sign::Nothing, "nothing to treat", true);
    } else if !map.totals.is_empty() {
        out.heading("In all");
        for total in map.totals.iter().take(limits.batches.saturating_mul(8)) {
            out.item(Sign::Nothing, &shorten(total, WHOLE), true);
            if map.totals.len() <= 6 {
                out.bind();
            }
        }
        more(&mut out, map.totals.len(), limits.batches.saturating_mul(8), "total");
    }
    if !map.cautions.is_empty() {
        out.heading("Before you start");
        for caution in &map.cautions {
            out.item(Sign::Bar, caution, false);
        }
    }
    on_this_map(&mut out, (map, styles), seen, limits);
    by_number(&mut out, (map, styles), keyed);
    if !map.notes.is_empty() && limits.notes > 0 {
        out.heading("Notes");
        for note in map.notes.iter().take(limits.notes) {
            out.item(Sign::Nothing, &text(note), false);
        }
        more(&mut out, map.notes.len(), limits.notes, "note");
    }
    out.rows
}

/// The legend and the key of numbers alone, for a map that stands among other texts; of a `short`
/// one only what no label on the map says.
pub(crate) fn legend_rows(
    (map, styles): (&SprayMap, &Styles),
    seen: &Seen,
    keyed: (&[usize], Explained),
    (size, width): (f64, f64),
    limits: Limits,
    is_short: bool,
) -> Vec<Row> {
    let mut out = Writer::new(size, width);
    if is_short {
        for (key, words) in legend::short_entries(map, styles, seen) {
            out.item(Sign::Sample(key.clone()), &legend_words(&key, &words), false);
        }
    } else {
        on_this_map(&mut out, (map, styles), seen, limits);
        by_number(&mut out, (map, styles), keyed);
    }
    out.rows
}

/// What stands beside a part of the map; all else is said on the first sheet.
pub(crate) fn part_rows(
    (map, styles): (&SprayMap, &Styles),
    seen: &Seen,
    keyed: (&[usize], Explained),
    (size, width): (f64, f64),
    limits: Limits,
) -> Vec<Row> {
    let mut out = Writer::new(size, width);
    if !map.cautions.is_empty() {
        out.item(Sign::Bar, "Read the cautions on sheet 1 before you start.", true);
    }
    let amounts = "An amount is for the whole zone, also where this sheet shows a part of it.";
    out.item(Sign::Nothing, amounts, false);
    on_this_map(&mut out, (map, styles), seen, limits);
    by_number(&mut out, (map, styles), keyed);
    out.rows
}

/// What the signs on the map mean.
fn on_this_map(out: &mut Writer, (map, styles): (&SprayMap, &Styles), seen: &Seen, limits: Limits) {
    let entries = legend::entries(map, styles, seen);
    if entries.is_empty() {
        return;
    }
    out.heading("On this map");
    for (index, (key, words)) in entries.iter().take(limits.legend).enumerate() {
        out.item(Sign::Sample(key.clone()), &legend_words(key, words), false);
        // Never a heading with one lonely sample at the foot of a column.
        if index < 3.min(entries.len().saturating_sub(1)) {
            out.bind();
        }
    }
    more(out, entries.len(), limits.legend, "sign");
}

/// A line of the legend. What is kept out of is said to the last word, and wrapped.
fn legend_words(key: &legend::Key, words: &str) -> String {
    if matches!(key, legend::Key::Strip) { words.to_owned() } else { shorten(words, WHOLE) }
}

/// A load in about so many letters: what is filled in whole, and of the zones that it covers as many
/// as there is room for, each with its whole name.
fn load_in(load: &str, zones: &[String], letters: usize) -> String {
    const COVERS: &str = "; covers ";
    if load.chars().count() <= letters {
        return load.to_owned();
    }
    let Some((fill, covers)) = load.split_once(COVERS) else { return shorten(load, WHOLE) };
    let mut starts: Vec<usize> = zones
        .iter()
        .flat_map(|zone| {
            let start = format!(", {zone}: ");
            covers.match_indices(&start).map(|(at, _)| at).collect::<Vec<_>>()
        })
        .collect();
    starts.sort_unstable();
    starts.dedup();
    let room = letters.saturating_sub(fill.chars().count() + COVERS.len());
    let kept = starts.iter().rposition(|&at| covers[..at].chars().count() <= room);
    let fill = shorten(fill, WHOLE.max(letters));
    match kept {
        Some(last) => {
            let left = starts.len() - last;
            format!("{fill}{COVERS}{} and {left} more: {ELSEWHERE}", &covers[..starts[last]])
        }
        None => format!("{fill}; what it covers: {ELSEWHERE}"),
    }
}

/// What the numbers on the map stand for.
fn by_number(
    out: &mut Writer,
    (map, styles): (&SprayMap, &Styles),
    (keyed, explained): (&[usize], Explained),
) {
    if keyed.is_empty() {
        return;
    }
    out.heading("Zones by number");
    match explained {
        Explained::Here => {
            for &zone in keyed {
                key_row(out, (map, styles), zone, None);
            }
        }
        Explained::On(sheet) => {
            out.item(Sign::Nothing, &format!("All numbers are explained on sheet {sheet}."), true);
        }
        Explained::ByList => {
            let words = "A number is the zone's place in the list of zones.";
            out.item(Sign::Nothing, words, true);
        }
    }
}

/// One zone of the key; `sheet` is the one on which it is seen best.
pub(crate) fn key_row(
    out: &mut Writer,
    (map, styles): (&SprayMap, &Styles),
    zone: usize,
    sheet: Option<usize>,
) {
    let Some(its) = map.zones.get(zone) else { return };
    let letter = styles.letter(its).map(|letter| format!(" ({letter})"));
    let mut facts = crate::label::facts(its, map);
    facts.extend(sheet.map(|sheet| format!("sheet {sheet}")));
    let words = format!("{}{}: {}", its.name, letter.unwrap_or_default(), facts.join(", "));
    out.item(Sign::Number((zone + 1).to_string()), &shorten(&words, KEY_LETTERS), false);
}

/// How many of a kind were left out, if any.
fn more(out: &mut Writer, all: usize, kept: usize, what: &str) {
    if all > kept {
        let plural = match (all - kept, what) {
            (1, _) => "",
            (_, "batch") => "es",
            _ => "s",
        };
        let rest = format!("… and {} more {what}{plural}: {ELSEWHERE}", all - kept);
        out.item(Sign::Nothing, &rest, false);
    }
}

/// Names with commas, as many as stand in `letters`, and how many more there are.
fn listed(names: &[String], letters: usize) -> String {
    let mut text = String::new();
    for (index, name) in names.iter().enumerate() {
        let name = shorten(name, WHOLE);
        if index > 0 && text.chars().count() + name.chars().count() > letters {
            return format!("{text} and {} more", names.len() - index);
        }
        if index > 0 {
            text.push_str(", ");
        }
        text.push_str(&name);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_load_that_is_too_long_ends_after_a_whole_name() {
        let zones =
            ["North lawn", "Bank, steep", "East, by the gate", "South lawn"].map(String::from);
        let load = "load 1: 3 gal = 0.75 fl oz + 2.99 gal water; covers North lawn: 4,000 sq ft, \
                    Bank, steep: 12 sq ft, East, by the gate: 1,200 sq ft, South lawn: 9 sq ft";
        assert_eq!(load_in(load, &zones, 600), load);
        let fill = "load 1: 3 gal = 0.75 fl oz + 2.99 gal water";
        let table = [
            (
                115,
                "; covers North lawn: 4,000 sq ft, Bank, steep: 12 sq ft and 2 more: see the work order",
            ),
            (90, "; covers North lawn: 4,000 sq ft and 3 more: see the work order"),
            (60, "; what it covers: see the work order"),
        ];
        for (letters, rest) in table {
            assert_eq!(load_in(load, &zones, letters), format!("{fill}{rest}"), "{letters}");
        }
    }
}
