//! Why names are looked at before values: who owns a lot stands beside its lawn in many a file, and
//! must not travel with it. So what is neither read nor asked for is left at the door, by name.

use serde_json::{Map, Value};

use crate::attribute_names::in_any_case;
use crate::columns::Columns;

/// Under what name what stands under `name` in a file is carried over: under that by which it is
/// read, whatever its case, or, where `columns` ask for it, under its own; `None` of what is left out.
fn carried_as(name: &str, columns: &Columns) -> Option<String> {
    let name = name.trim();
    let read = in_any_case(name).map(str::to_owned);
    read.or_else(|| columns.keeps(name).then(|| name.to_owned()))
}

/// Which attributes of a file are carried over whose names come by one at a time, and the names of
/// those that are not.
pub(crate) struct Carried<'c> {
    columns: &'c Columns,
    left_out: Vec<String>,
}

/// No more names are listed: a file may have as many as it has features.
const MOST_LISTED: usize = 200;
/// No feature has more attributes.
const MOST_CARRIED: usize = 1000;

impl<'c> Carried<'c> {
    pub(crate) fn new(columns: &'c Columns) -> Carried<'c> {
        Carried { columns, left_out: Vec::new() }
    }

    /// Under what name an attribute is carried over: under that by which it is read, whatever its
    /// case, or under its own; `None` of one that is left out.
    pub(crate) fn carried(&mut self, name: &str, so_far: &Map<String, Value>) -> Option<String> {
        let name = name.trim();
        let carried = carried_as(name, self.columns).filter(|_| so_far.len() < MOST_CARRIED);
        if carried.is_none() {
            self.leave_out(name);
        }
        carried
    }

    /// True where what the format itself says is to be carried under this name.
    pub(crate) fn asks_for(&self, name: &str) -> bool {
        self.columns.keeps(name)
    }

    /// True of a feature that says how wide it is, by a word of its own or of the kinds file.
    pub(crate) fn gives_a_width(&self, properties: &Map<String, Value>) -> bool {
        let settled = self.columns.settle(properties.clone(), true).unwrap_or_default();
        ["width_ft", "width_m"].iter().any(|name| settled.contains_key(*name))
    }

    /// Notes a name as left out.
    pub(crate) fn leave_out(&mut self, name: &str) {
        if self.left_out.len() < MOST_LISTED && !name.is_empty() {
            let name: String = name.chars().take(60).collect();
            if !self.left_out.contains(&name) {
                self.left_out.push(name);
            }
        }
    }

    /// The names that were left out, in the order of the file.
    pub(crate) fn left_out(self) -> Vec<String> {
        self.left_out
    }
}

/// Adds what a feature says under a name; an empty text says nothing. Of two under one name the
/// last counts, as in GeoJSON.
pub(crate) fn add(properties: &mut Map<String, Value>, name: String, text: &str) {
    let text = text.trim();
    if !text.is_empty() {
        properties.insert(name, Value::from(text));
    }
}

/// The columns of a table that are carried over.
#[derive(Debug, Default, PartialEq)]
pub(super) struct TableColumns {
    /// The place of each in the table, and under what name it is carried.
    pub(super) carried: Vec<(usize, String)>,
    /// The names of all others.
    pub(super) left_out: Vec<String>,
}

impl TableColumns {
    /// Sorts the columns of a table by their names, those in `shape` being its geometry. One that
    /// is read by turfplat is carried under the name that is read, whatever its case; one that
    /// `columns` asks for under its own.
    ///
    /// # Errors
    ///
    /// A name that is there twice: one of the two would be lost.
    pub(super) fn of(
        names: &[&str],
        shape: &[usize],
        columns: &Columns,
    ) -> Result<TableColumns, String> {
        let mut sorted = TableColumns::default();
        for (place, name) in names.iter().enumerate().filter(|(place, _)| !shape.contains(place)) {
            let Some(carried) = carried_as(name, columns) else {
                sorted.left_out.push((*name).to_owned());
                continue;
            };
            if sorted.carried.iter().any(|(_, other)| *other == carried) {
                return Err(format!("has two columns {carried:?}; leave one of them"));
            }
            sorted.carried.push((place, carried));
        }
        Ok(sorted)
    }

    /// True if one of them is carried under this name.
    pub(super) fn has(&self, name: &str) -> bool {
        self.carried.iter().any(|(_, carried)| carried == name)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn what_is_read_is_carried_in_any_case_and_owners_stay() {
        let names = ["geom", "KIND", "OWNER", "Width_Ft", "class", "Specie"];
        let columns =
            TableColumns::of(&names, &[0], &Columns::default().with_kind_from("class")).unwrap();
        let carried: Vec<&str> = columns.carried.iter().map(|(_, name)| name.as_str()).collect();
        assert_eq!(carried, ["kind", "width_ft", "class"]);
        assert_eq!(columns.left_out, ["OWNER", "Specie"]);
        assert!(columns.has("kind") && !columns.has("name"));
    }

    #[test]
    fn two_columns_of_one_name_are_refused() {
        let error = TableColumns::of(&["kind", "Kind"], &[], &Columns::default()).unwrap_err();
        assert_eq!(error, r#"has two columns "kind"; leave one of them"#);
    }
}
