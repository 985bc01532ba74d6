//! Why records are sealed in a chain: triggers keep programs from changing a record, not somebody who
//! takes the triggers away and puts them back. A seal is over the seal before it and the whole record, so
//! one that was changed, taken out or slipped in shows, unless all later seals were made anew too, and
//! whoever knows how may do that; against it helps a seal on paper or in a backup.

use std::fmt::Write;

use rusqlite::{Connection, OptionalExtension, types::ValueRef};
use sha2::{Digest, Sha256};

/// What stands before the first record.
const NOTHING: &str = "0000000000000000000000000000000000000000000000000000000000000000";

const COLUMNS: &str =
    "id, follows, why, state, written, property, application, day, keep_until, document";

/// The seal of record `id`, whose row is there, after the seal `before`.
pub(crate) fn of(connection: &Connection, id: i64, before: &str) -> rusqlite::Result<String> {
    let sql = format!("SELECT {COLUMNS} FROM records WHERE id = ?1");
    let mut statement = connection.prepare_cached(&sql)?;
    let columns = COLUMNS.split(", ").count();
    statement.query_row([id], |row| {
        let mut hash = Sha256::new();
        hash.update(before);
        for place in 0..columns {
            // With its length before it, so that no text runs into the next.
            let text = match row.get_ref(place)? {
                ValueRef::Null => None,
                ValueRef::Integer(number) => Some(number.to_string().into_bytes()),
                ValueRef::Real(number) => Some(number.to_string().into_bytes()),
                ValueRef::Text(text) | ValueRef::Blob(text) => Some(text.to_vec()),
            };
            match text {
                None => hash.update("-"),
                Some(text) => {
                    hash.update(format!("{}:", text.len()));
                    hash.update(&text);
                }
            }
        }
        Ok(hash.finalize().iter().fold(String::new(), |mut hex, byte| {
            // Writing to a text fails never.
            let _ = write!(hex, "{byte:02x}");
            hex
        }))
    })
}

/// Seals the record that was written last, and returns its seal.
pub(crate) fn put(connection: &Connection, id: i64) -> rusqlite::Result<String> {
    let last = "SELECT sha256 FROM seals ORDER BY record DESC LIMIT 1";
    let before: Option<String> = connection.query_row(last, [], |row| row.get(0)).optional()?;
    let seal = of(connection, id, before.as_deref().unwrap_or(NOTHING))?;
    connection.execute("INSERT INTO seals (record, sha256) VALUES (?1, ?2)", (id, &seal))?;
    Ok(seal)
}

/// Seals all records of a ledger that had no seals yet.
pub(crate) fn put_all(connection: &Connection) -> rusqlite::Result<()> {
    ids(connection)?.into_iter().try_for_each(|id| put(connection, id).map(|_| ()))
}

/// What does not hold of the chain, the first of it: all later seals hang on it.
pub(crate) fn broken(connection: &Connection) -> rusqlite::Result<Option<String>> {
    let mut statement = connection.prepare("SELECT record, sha256 FROM seals ORDER BY record")?;
    let seals: Vec<(i64, String)> =
        statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
    let records = ids(connection)?;
    // Numbers are given one after the other, and SQLite keeps the last that it gave.
    let last = "SELECT seq FROM sqlite_sequence WHERE name = 'records'";
    let last: i64 = connection.query_row(last, [], |row| row.get(0)).optional()?.unwrap_or(0);
    if let Some(gone) = (1..=last)
        .zip(records.iter().copied().map(Some).chain(std::iter::repeat(None)))
        .find_map(|(number, id)| (id != Some(number)).then_some(number))
    {
        return Ok(Some(format!("record {gone} is gone")));
    }
    let mut before = NOTHING.to_owned();
    for (place, id) in records.iter().enumerate() {
        match seals.get(place) {
            Some((of_it, seal)) if of_it == id => {
                if of(connection, *id, &before)? != *seal {
                    return Ok(Some(format!("record {id} is not what was sealed")));
                }
                before.clone_from(seal);
            }
            _ => {
                return Ok(Some(format!(
                    "the seal of record {id} is not there, or one before it was removed"
                )));
            }
        }
    }
    Ok((seals.len() > records.len()).then(|| "a record that was sealed is gone".to_owned()))
}

fn ids(connection: &Connection) -> rusqlite::Result<Vec<i64>> {
    connection
        .prepare("SELECT id FROM records ORDER BY id")?
        .query_map([], |row| row.get(0))?
        .collect()
}
