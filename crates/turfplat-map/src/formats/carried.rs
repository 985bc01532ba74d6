//! Why names are looked at before values: who owns a lot stands beside its lawn in many a file, and
//! must not travel with it. So what is neither read nor asked for is left at the door, by name.

use serde_json::{Map, Value};

use crate::attributes::READ;
use crate::columns::Columns;

/// Which attributes of a file are carried over, and the names of those that are not.
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
        if so_far.len() < MOST_CARRIED {
            if let Some(read) = READ.iter().find(|read| read.eq_ignore_ascii_case(name)) {
                return Some((*read).to_owned());
            }
            if self.columns.keeps(name) {
                return Some(name.to_owned());
            }
        }
        self.leave_out(name);
        None
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
