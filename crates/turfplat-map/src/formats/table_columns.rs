//! Why a column of a table stays behind: parcel tables carry owners' names, and what nobody asks
//! for must not travel. What is read, and what the caller maps to it, is carried over.

use crate::attributes::read_as;
use crate::columns::Columns;

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
            let carried = match read_as(name, usize::MAX) {
                Some(read) => read.to_owned(),
                None if columns.keeps(name) => (*name).to_owned(),
                None => {
                    sorted.left_out.push((*name).to_owned());
                    continue;
                }
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
