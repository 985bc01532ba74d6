//! What a label says, from the fullest wording to the shortest.

use geo::Coord;

use crate::canvas::{Anchor, Canvas, GREY, INK, Type, number};
use crate::font;
use crate::map::{SprayMap, Strip, Zone};
use crate::shape::Bounds;
use crate::style::Styles;
use crate::text::{shorten, wrap};

/// Letters of a zone's name on the map; the rest stands in the lists.
const NAME: usize = 44;

/// Size of a grass's letter, as a part of the label's.
const TAG: f64 = 0.95;

/// Lines of text, and the letter of the grass before the first.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Wording {
    pub(crate) lines: Vec<(String, bool)>,
    pub(crate) tag: Option<String>,
    /// The name stands in two lines.
    pub(crate) broken: bool,
    pub(crate) ink: Option<&'static str>,
}

impl Wording {
    pub(crate) fn new(lines: Vec<(String, bool)>) -> Wording {
        Wording {
            lines: lines.into_iter().filter(|(text, _)| !text.is_empty()).collect(),
            tag: None,
            broken: false,
            ink: None,
        }
    }

    /// Width and height of the box, its margin included.
    pub(crate) fn size(&self, size: f64) -> (f64, f64) {
        let widest = self
            .lines
            .iter()
            .enumerate()
            .map(|(index, (text, bold))| {
                let tag = if index == 0 { self.tag_room(size) } else { 0.0 };
                font::width(text, size, *bold) + tag
            })
            .fold(0.0, f64::max);
        (widest + 0.6 * size, (self.lines.len() as f64 * 1.16 + 0.3) * size)
    }

    fn tag_room(&self, size: f64) -> f64 {
        self.tag.as_ref().map_or(0.0, |tag| tag_width(tag, size) + 0.35 * size)
    }

    pub(crate) fn draw(&self, canvas: &mut Canvas, b: Bounds, size: f64) {
        let middle = b.centre().x;
        let base_of = |index: usize| b.y0 + (index as f64 * 1.16 + 1.02) * size;
        let room_of = |index: usize| if index == 0 { self.tag_room(size) } else { 0.0 };
        let ink = self.ink.unwrap_or(INK);
        let set = |bold: bool| Type::new(size).bold(bold).ink(ink).anchor(Anchor::Middle);
        // All halos first, or that of a line would lie on the one above.
        for (index, (text, bold)) in self.lines.iter().enumerate() {
            canvas.halo(middle + room_of(index) / 2.0, base_of(index), set(*bold), text);
        }
        for (index, (text, bold)) in self.lines.iter().enumerate() {
            let (base, tag_room) = (base_of(index), room_of(index));
            canvas.text(middle + tag_room / 2.0, base, set(*bold), text);
            if let (0, Some(tag)) = (index, &self.tag) {
                let whole = font::width(text, size, *bold) + tag_room;
                let wide = tag_width(tag, size);
                let (x, y) = (middle - whole / 2.0, base - size * 0.86);
                let plate = Bounds::new(x, y, wide, size);
                canvas.rect(plate, &format!(r#"rx="{}" fill="{INK}""#, number(size * 0.15)));
                let set = Type::new(size * TAG).bold(true).ink("#fff").anchor(Anchor::Middle);
                canvas.text(x + wide / 2.0, base - size * 0.02, set, tag);
            }
        }
    }
}

fn tag_width(tag: &str, size: f64) -> f64 {
    font::width(tag, size * TAG, true) + size * 0.5
}

/// The zone's amounts in one text.
fn amounts(zone: &Zone) -> String {
    zone.amounts.join(" + ")
}

/// Why nothing is treated, or `None`.
fn reason(zone: &Zone) -> Option<String> {
    match &zone.skipped {
        Some(reason) => Some(format!("not treated: {}", reason)),
        None if zone.treated.0.is_empty() => Some("not treated: nothing left to treat".to_owned()),
        None => None,
    }
}

/// Everything a zone has to say besides its name, for lists.
pub(crate) fn facts(zone: &Zone, map: &SprayMap) -> Vec<String> {
    if let Some(reason) = reason(zone) {
        return vec![reason];
    }
    let mut facts = vec![zone.area.clone(), amounts(zone)];
    if let Some(batch) = zone.batch.filter(|_| map.batches.len() > 1) {
        facts.push(format!("batch {batch}"));
    }
    facts.retain(|fact| !fact.is_empty());
    facts
}

/// Wordings to try on the zone, best first.
/// With `names_do` the name alone is the last: what the zone gets is listed beside the map.
pub(crate) fn wordings(
    zone: &Zone,
    map: &SprayMap,
    styles: &Styles,
    names_do: bool,
) -> Vec<Wording> {
    let name = shorten(&zone.name, NAME);
    if let Some(reason) = reason(zone) {
        // Three breadths of the same words.
        return [16.0, 11.0, 26.0]
            .map(|breadth| {
                let lines = wrap(&shorten(&reason, 120), 1.0, false, breadth);
                Wording::new(
                    std::iter::once((name.clone(), true))
                        .chain(lines.into_iter().map(|l| (l, false)))
                        .collect(),
                )
            })
            .to_vec();
    }
    let batch = zone.batch.filter(|_| map.batches.len() > 1).map(|n| format!("batch {n}"));
    let area = zone.area.clone();
    let area_and_batch = match &batch {
        Some(batch) => format!("{area} · {batch}"),
        None => area.clone(),
    };
    let amount = amounts(zone);
    let each: Vec<(String, bool)> =
        zone.amounts.iter().take(5).map(|a| (a.clone(), false)).collect();
    let broken = in_two(&name);
    let name = vec![(name, true)];
    let in_pieces = broken.len() > 1;
    let mut all =
        vec![[name.clone(), vec![(area_and_batch, false)], vec![(amount.clone(), false)]].concat()];
    let stacked = |name: &[(String, bool)]| {
        let batch: Vec<_> = batch.iter().map(|b| (b.clone(), false)).collect();
        [name, &[(area.clone(), false)], &batch, &each].concat()
    };
    all.push(stacked(&name));
    if batch.is_none() {
        all.push([name.clone(), vec![(format!("{area} · {amount}"), false)]].concat());
    }
    let with_batch = batch.as_ref().map(|batch| format!("{amount} · {batch}"));
    all.push([name.clone(), vec![(with_batch.unwrap_or_else(|| amount.clone()), false)]].concat());
    let tag = styles.letter(zone);
    let mut all: Vec<Wording> = all.into_iter().map(Wording::new).collect();
    if in_pieces {
        all.insert(2, Wording { broken: true, ..Wording::new(stacked(&broken)) });
    }
    if names_do {
        all.push(Wording::new(name));
        all.extend(in_pieces.then(|| Wording { broken: true, ..Wording::new(broken) }));
    }
    all.into_iter().map(|wording| Wording { tag: tag.clone(), ..wording }).collect()
}

/// A name in two lines about equally long.
fn in_two(name: &str) -> Vec<(String, bool)> {
    let middle = name.len() / 2;
    let split = name.match_indices(' ').map(|(at, _)| at).min_by_key(|at| at.abs_diff(middle));
    match split {
        Some(at) if name.len() > 9 => {
            vec![(name[..at].to_owned(), true), (name[at + 1..].to_owned(), true)]
        }
        _ => vec![(name.to_owned(), true)],
    }
}

/// `25 ft from water` in one line and in more, whole: a distance without its end is none.
pub(crate) fn strip_wordings(strip: &Strip) -> Vec<Wording> {
    let distance = shorten(&strip.distance, 60);
    let to = format!("from {}", shorten(&strip.to, 60));
    let mut all = vec![vec![format!("{distance} {}", strip.from())]];
    match &strip.wind {
        Some(wind) => {
            all.push(vec![format!("{distance} {to}"), wind.words()]);
            all.push(vec![distance, to, wind.words()]);
        }
        None => all.push(vec![distance, to]),
    }
    let ink = Some(crate::motif::STRIP_INK);
    let bold = |lines: Vec<String>| lines.into_iter().map(|line| (line, true)).collect();
    all.into_iter().map(|lines| Wording { ink, ..Wording::new(bold(lines)) }).collect()
}

/// A quiet name, in one line or in two.
pub(crate) fn quiet_wordings(name: &str) -> Vec<Wording> {
    let name = shorten(name, NAME);
    let pieces = in_two(&name).into_iter().map(|(line, _)| (line, false)).collect();
    [(vec![(name, false)], false), (pieces, true)]
        .map(|(lines, broken)| Wording { ink: Some(GREY), broken, ..Wording::new(lines) })
        .to_vec()
}

/// A zone's name once more, on another of its pieces.
pub(crate) fn repeat_wordings(name: &str) -> Vec<Wording> {
    let name = shorten(name, NAME);
    let pieces = in_two(&name).into_iter().map(|(line, _)| (line, false)).collect();
    [(vec![(name, false)], false), (pieces, true)]
        .map(|(lines, broken)| Wording { broken, ..Wording::new(lines) })
        .to_vec()
}

/// Line to a label that stands elsewhere, with a dot on the ground it speaks of.
pub(crate) fn leader(canvas: &mut Canvas, from: Coord, to: Coord) {
    canvas.line(from, to, r##"stroke="#fff" stroke-width="2""##);
    canvas.line(from, to, &format!(r#"stroke="{INK}" stroke-width=".7""#));
    canvas.circle(from, 1.5, &format!(r##"fill="{INK}" stroke="#fff" stroke-width=".5""##));
}
