//! What stands in a tape sheet, before anything is made of it. Entries are taken one by one, so
//! that a slip in one of them does not hide those in others.

use serde_json::Value;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Reason;
use super::entry::Entry;
use super::fields::{meant, shortened};
use super::measure::Unit;

/// A value as it was written.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Given {
    Number(f64),
    Text(String),
    List(Vec<Given>),
    Table(Vec<(String, Given)>),
    /// A truth or a date, as written.
    Other(String),
}

impl Given {
    /// The value, short enough to stand in a message.
    pub(super) fn shown(&self) -> String {
        match self {
            Given::Number(number) => number.to_string(),
            Given::Text(text) => format!("{:?}", shortened(text)),
            Given::List(_) => "a list".to_owned(),
            Given::Table(_) => "a table".to_owned(),
            Given::Other(text) => shortened(text),
        }
    }

    pub(super) fn text(&self) -> Option<&str> {
        match self {
            Given::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The value as JSON; whole numbers stay whole, for an id of 12 is not one of 12.0.
    pub(super) fn json(&self) -> Value {
        /// Up to here a double tells all whole numbers apart.
        const WHOLE: f64 = 9e15;
        match self {
            Given::Number(number) if number.fract() == 0.0 && number.abs() < WHOLE => {
                (*number as i64).into()
            }
            Given::Number(number) => (*number).into(),
            Given::Text(text) | Given::Other(text) => text.as_str().into(),
            Given::List(list) => list.iter().map(Given::json).collect(),
            Given::Table(table) => {
                let members = table.iter().map(|(name, given)| (name.clone(), given.json()));
                Value::Object(members.collect())
            }
        }
    }

    /// Nested no deeper than the TOML parser allows, which is 80 levels.
    fn of(value: &DeValue<'_>) -> Given {
        match value {
            DeValue::String(text) => Given::Text(text.to_string()),
            DeValue::Integer(number) => {
                let whole = i64::from_str_radix(number.as_str(), number.radix());
                // Beyond 2^63 no measure is meant; the bounds of lengths will say so.
                Given::Number(whole.map_or(f64::INFINITY, |whole| whole as f64))
            }
            DeValue::Float(number) => Given::Number(number.as_str().parse().unwrap_or(f64::NAN)),
            DeValue::Boolean(truth) => Given::Other(truth.to_string()),
            DeValue::Datetime(date) => Given::Other(date.to_string()),
            DeValue::Array(list) => {
                Given::List(list.iter().map(|value| Given::of(value.get_ref())).collect())
            }
            DeValue::Table(table) => Given::Table(members(table)),
        }
    }
}

fn members(table: &DeTable<'_>) -> Vec<(String, Given)> {
    let member = |(name, value): (&Spanned<_>, &Spanned<DeValue<'_>>)| {
        let name: &std::borrow::Cow<'_, str> = name.get_ref();
        (name.to_string(), Given::of(value.get_ref()))
    };
    table.iter().map(member).collect()
}

/// The shapes of a sheet in TOML.
pub(super) fn entries(text: &str) -> Result<Vec<Entry>, Reason> {
    const SHEET: &str =
        r#"a tape sheet has unit = "ft" at its top and a [[shape]] for each thing measured"#;
    let text = text.trim_start_matches('\u{feff}');
    let lines = Lines::of(text);
    let sheet = DeTable::parse(text).map_err(|error| {
        let line = lines.of_byte(error.span().map_or(0, |span| span.start));
        let reason = shortened(error.message().lines().next().unwrap_or_default());
        format!("line {line}: not TOML: {reason}; correct it there")
    })?;
    let sheet = sheet.get_ref();
    if let Some((name, _)) = sheet.iter().find(|(name, _)| !TOP.contains(&name.get_ref().as_ref()))
    {
        let (line, name) = (lines.of_byte(name.span().start), name.get_ref());
        let cure = meant(name, &TOP).unwrap_or_else(|| SHEET.to_owned());
        return Err(format!("line {line}: {:?} is not known here; {cure}", shortened(name)));
    }
    let unit = match sheet.get("unit") {
        None => None,
        Some(unit) => Some(Unit::named(&Given::of(unit.get_ref())).map_err(|reason| {
            format!("line {}: unit {reason}", lines.of_byte(unit.span().start))
        })?),
    };
    let Some(DeValue::Array(shapes)) = sheet.get("shape").map(Spanned::get_ref) else {
        return Err(format!("has no [[shape]]; {SHEET}"));
    };
    let entry = |shape: &Spanned<DeValue<'_>>| {
        let line = lines.of_byte(shape.span().start);
        match shape.get_ref() {
            DeValue::Table(table) => Ok(Entry::of(line, &members(table), unit)),
            _ => Err(format!("line {line}: a shape is a table: start it with [[shape]]")),
        }
    };
    shapes.iter().map(entry).collect()
}

const TOP: [&str; 2] = ["unit", "shape"];

/// Where lines start.
struct Lines(Vec<usize>);

impl Lines {
    fn of(text: &str) -> Lines {
        Lines(text.match_indices('\n').map(|(place, _)| place).collect())
    }

    /// The line of a byte, from 1.
    fn of_byte(&self, byte: usize) -> usize {
        self.0.partition_point(|end| *end < byte) + 1
    }
}
