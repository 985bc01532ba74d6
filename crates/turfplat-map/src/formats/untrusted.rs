//! Why a SQLite file is not simply opened: it is a program as much as a table. Its views and
//! computed columns are SQL of the file's maker, which runs endlessly or takes all memory before it
//! has run at all; its rows can share one another's pages, so that a megabyte is read as a terabyte;
//! and opened for writing it runs triggers. So it is opened to be read only, trusting nothing in
//! its schema (<https://www.sqlite.org/security.html>, "Untrusted SQLite Database Files"), of its
//! tables only those are read that are plain, and with so many steps and bytes as its size explains.

use std::ffi::c_int;
use std::fmt::Write;
use std::io;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use rusqlite::config::DbConfig;
use rusqlite::limits::Limit;
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, Row};
use tempfile::NamedTempFile;

use crate::bytes::Bytes;

/// A SQLite file open to be read. Its methods say in their errors what was found and what to do.
pub(super) struct Untrusted {
    pub(super) connection: Connection,
    steps_left: Arc<AtomicU64>,
    bytes_left: AtomicU64,
    /// Goes when this does.
    _copy: Option<NamedTempFile>,
}

/// What stands under a name in a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stands {
    Nothing,
    Table,
    /// SQL that makes rows.
    View,
    /// A table that code and not the file holds.
    VirtualTable,
}

/// A column of a table.
pub(super) struct Column {
    pub(super) name: String,
    /// True where SQL of the file's maker makes it whenever it is read.
    pub(super) is_computed: bool,
}

/// Steps of SQLite's machine: reading a plain row takes one or two for each of its bytes at most.
const STEPS: u64 = 20_000_000;
const STEPS_PER_BYTE: u64 = 32;
/// How often they are counted.
const AT_ONCE: c_int = 10_000;
/// Bytes of values: a plain table gives back what the file holds.
const BYTES: u64 = 16 << 20;
const BYTES_PER_BYTE: u64 = 4;
/// Writing a row down costs something even where it is empty.
const BYTES_PER_ROW: u64 = 32;
/// No value is longer: four million corners.
const LONGEST_VALUE: i32 = 64 << 20;

impl Untrusted {
    /// Opens the file at `path`, or a copy of `bytes` where they are no file of their own.
    pub(super) fn open(path: Option<&Path>, bytes: &Bytes) -> Result<Untrusted, String> {
        check_start(bytes)?;
        let not_kept = |error: io::Error| format!("cannot be copied to be read: {error}");
        let path = path.filter(|path| path.is_file());
        let copy = match path {
            Some(_) => None,
            None => Some(copy_of(bytes).map_err(not_kept)?),
        };
        let place = match (&copy, path) {
            (Some(copy), _) => uri(copy.path(), true),
            (None, Some(path)) => uri(path, !has_log(path)?),
            (None, None) => None,
        };
        let place = place.ok_or("its path is no text; rename it")?;
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
            | OpenFlags::SQLITE_OPEN_URI
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(place, flags).map_err(|e| reason(&e))?;
        let steps_left = Arc::new(AtomicU64::new(
            bytes.length().saturating_mul(STEPS_PER_BYTE).saturating_add(STEPS),
        ));
        restrain(&connection, &steps_left, bytes.length()).map_err(|error| reason(&error))?;
        let bytes_left = bytes.length().saturating_mul(BYTES_PER_BYTE).saturating_add(BYTES);
        Ok(Untrusted { connection, steps_left, bytes_left: bytes_left.into(), _copy: copy })
    }

    /// What stands under a name.
    pub(super) fn stands(&self, name: &str) -> Result<Stands, String> {
        const LOOK: &str = "SELECT type, coalesce(rootpage, 0) > 0, sql FROM sqlite_schema \
                            WHERE type IN ('table', 'view') AND name = ?1 COLLATE NOCASE";
        let read = |row: &Row<'_>| {
            let (sort, has_page): (String, bool) = (row.get(0)?, row.get(1)?);
            let sql = row.get_ref(2)?.as_bytes().unwrap_or_default();
            Ok((sort, has_page, String::from_utf8_lossy(sql).into_owned()))
        };
        let found = self.connection.query_row(LOOK, [name], read).optional();
        Ok(match found.map_err(|error| self.reason(&error))? {
            None => Stands::Nothing,
            Some((sort, ..)) if sort == "view" => Stands::View,
            Some((_, false, _)) => Stands::VirtualTable,
            Some((_, true, sql)) if declares(&sql, name) => Stands::Table,
            // Under the name of a table the file hides something else.
            Some(_) => return Err(damaged()),
        })
    }

    /// The columns of a table. Their names are asked for as values: rusqlite panics over a column
    /// of a statement whose name is no UTF-8.
    pub(super) fn columns(&self, table: &str) -> Result<Vec<Column>, String> {
        // <https://www.sqlite.org/pragma.html#pragma_table_xinfo>
        const COMPUTED_WHEN_READ: i64 = 2;
        let look = || {
            let sql = "SELECT name, hidden FROM pragma_table_xinfo(?1)";
            let mut list = self.connection.prepare(sql)?;
            let columns = list.query_map([table], |row| {
                let is_computed = row.get::<_, i64>(1)? == COMPUTED_WHEN_READ;
                let name = row.get_ref(0)?.as_bytes().ok();
                let name = name.and_then(|name| std::str::from_utf8(name).ok());
                Ok(name.map(|name| Column { name: name.to_owned(), is_computed }))
            })?;
            columns.collect::<rusqlite::Result<Option<Vec<Column>>>>()
        };
        let columns = look().map_err(|error| self.reason(&error))?;
        columns.ok_or_else(|| "has a column whose name is not UTF-8 text; rename it".into())
    }

    /// Counts a row with values of so many bytes.
    pub(super) fn count_row(&self, bytes: usize) -> Result<(), String> {
        let bytes = (bytes as u64).saturating_add(BYTES_PER_ROW);
        let left = self.bytes_left.load(Ordering::Relaxed).checked_sub(bytes);
        self.bytes_left.store(left.ok_or_else(endless)?, Ordering::Relaxed);
        Ok(())
    }

    /// Why SQLite gave up, and what to do.
    pub(super) fn reason(&self, error: &rusqlite::Error) -> String {
        match error.sqlite_error_code() {
            _ if self.steps_left.load(Ordering::Relaxed) == 0 => endless(),
            _ => reason(error),
        }
    }
}

/// True if a statement of a schema makes a table of this name: the name beside it is not what counts.
/// SQLite writes these words and nothing between them (<https://www.sqlite.org/schematab.html>).
fn declares(sql: &str, name: &str) -> bool {
    let Some(rest) = sql.strip_prefix("CREATE TABLE ") else { return false };
    let after = |form: &str| {
        let (start, after) = rest.split_at_checked(form.len())?;
        start.eq_ignore_ascii_case(form).then_some(after)
    };
    let doubled = ['"', '`', '\''].map(|quote| {
        let inner = name.replace(quote, &[quote, quote].iter().collect::<String>());
        format!("{quote}{inner}{quote}")
    });
    let is_word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '$') || !c.is_ascii();
    after(name).is_some_and(|after| !after.starts_with(is_word))
        || doubled.iter().any(|form| after(form).is_some())
        || after(&format!("[{name}]")).is_some()
}

/// A name in SQL: quoted, whatever it is (<https://www.sqlite.org/lang_keywords.html>).
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// Refuses what is no SQLite file (<https://www.sqlite.org/fileformat.html> §1.3.1).
fn check_start(bytes: &Bytes) -> Result<(), String> {
    const MAGIC: &[u8; 16] = b"SQLite format 3\0";
    const HEADER: u64 = 100;
    let mut start = Vec::new();
    let length = bytes.length();
    bytes.read(0, length.min(16), &mut start).map_err(|error| error.to_string())?;
    if start != MAGIC {
        return Err(match start.as_slice() {
            [] => "is empty; export it again".into(),
            _ => format!(
                "not a GeoPackage: it starts with {:?} and not with \"SQLite format 3\"; export it again as GeoPackage",
                String::from_utf8_lossy(&start)
            ),
        });
    }
    if length < HEADER { Err(damaged()) } else { Ok(()) }
}

fn copy_of(bytes: &Bytes) -> io::Result<NamedTempFile> {
    let mut copy = NamedTempFile::new()?;
    io::copy(&mut bytes.stream(), copy.as_file_mut())?;
    Ok(copy)
}

/// True of a file some of whose last changes stand beside it, in SQLite's write-ahead log: a program
/// has it open. One that was being written when its program ended cannot be read as it is.
fn has_log(path: &Path) -> Result<bool, String> {
    let beside = |ending: &str| {
        let mut name = path.as_os_str().to_owned();
        name.push(ending);
        std::fs::metadata(name).is_ok_and(|about| about.len() > 0)
    };
    if beside("-journal") {
        return Err("half of a change is in it (there is a -journal file beside it): open and close it once in the program that wrote it".into());
    }
    Ok(beside("-wal"))
}

/// A path as SQLite wants it (<https://www.sqlite.org/uri.html>), so that none of its characters
/// means anything. Unless a log stands beside it, the file is said not to change: then no lock is
/// asked for, which a folder that cannot be written to could not give.
fn uri(path: &Path, is_immutable: bool) -> Option<String> {
    let path = std::path::absolute(path).ok()?;
    #[cfg(unix)]
    let bytes = std::os::unix::ffi::OsStrExt::as_bytes(path.as_os_str()).to_vec();
    #[cfg(not(unix))]
    let bytes = format!("/{}", path.to_str()?.replace('\\', "/")).into_bytes();
    let mut uri = "file:".to_owned();
    for byte in bytes {
        match byte {
            b'/' | b'.' | b'-' | b'_' | b':' => uri.push(byte.into()),
            _ if byte.is_ascii_alphanumeric() => uri.push(byte.into()),
            _ => write!(uri, "%{byte:02x}").ok()?,
        }
    }
    uri.push_str(if is_immutable { "?mode=ro&immutable=1" } else { "?mode=ro" });
    Some(uri)
}

fn restrain(
    connection: &Connection,
    steps_left: &Arc<AtomicU64>,
    length: u64,
) -> rusqlite::Result<()> {
    for (setting, is_on) in [
        (DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true),
        (DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false),
        (DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false),
        (DbConfig::SQLITE_DBCONFIG_ENABLE_VIEW, false),
        // A name in quotes that is no column is a mistake and no text.
        (DbConfig::SQLITE_DBCONFIG_DQS_DML, false),
    ] {
        connection.set_db_config(setting, is_on)?;
    }
    // A text may be twice as long as it stands in the file: UTF-16 becomes UTF-8.
    let longest = i32::try_from(length.saturating_mul(2)).unwrap_or(LONGEST_VALUE);
    for (limit, most) in [
        (Limit::SQLITE_LIMIT_LENGTH, longest.clamp(100_000, LONGEST_VALUE)),
        (Limit::SQLITE_LIMIT_SQL_LENGTH, 1_000_000),
        (Limit::SQLITE_LIMIT_EXPR_DEPTH, 100),
        (Limit::SQLITE_LIMIT_COMPOUND_SELECT, 100),
        (Limit::SQLITE_LIMIT_VDBE_OP, 25_000),
        (Limit::SQLITE_LIMIT_FUNCTION_ARG, 16),
        (Limit::SQLITE_LIMIT_ATTACHED, 0),
        (Limit::SQLITE_LIMIT_LIKE_PATTERN_LENGTH, 100),
        (Limit::SQLITE_LIMIT_TRIGGER_DEPTH, 1),
        (Limit::SQLITE_LIMIT_WORKER_THREADS, 0),
    ] {
        connection.set_limit(limit, most)?;
    }
    let steps = Arc::clone(steps_left);
    let count = move || {
        let left = steps.load(Ordering::Relaxed).saturating_sub(AT_ONCE.unsigned_abs().into());
        steps.store(left, Ordering::Relaxed);
        left == 0
    };
    connection.progress_handler(AT_ONCE, Some(count));
    connection
        .execute_batch("PRAGMA query_only = ON; PRAGMA cell_size_check = ON; PRAGMA mmap_size = 0;")
}

fn endless() -> String {
    "gives more than it can hold; it is damaged: export it again".into()
}

fn damaged() -> String {
    "is damaged or cut off; copy or export it again".into()
}

/// Why SQLite gave up, and what to do.
fn reason(error: &rusqlite::Error) -> String {
    match error.sqlite_error_code() {
        Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => damaged(),
        Some(ErrorCode::TooBig | ErrorCode::OutOfMemory) => {
            "holds a value that is too long to be read; export it again, or split the shape".into()
        }
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::CannotOpen) => {
            "cannot be opened while another program has it open; close it there".into()
        }
        _ => {
            let said = error.to_string().replace(char::is_control, " ");
            let said: String = said.chars().take(160).collect();
            format!("cannot be read ({said}); export it again")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_declared_by_its_statement() {
        for (sql, name, expected) in [
            ("CREATE TABLE turf (geom)", "Turf", true),
            ("CREATE TABLE turf(geom)", "turf", true),
            ("CREATE TABLE \"a\"\"b c\"(geom)", "a\"b c", true),
            ("CREATE TABLE [turf](geom)", "turf", true),
            ("CREATE TABLE `turf`(geom)", "turf", true),
            ("CREATE TABLE 'turf'(geom)", "turf", true),
            ("CREATE TABLE turfs(geom)", "turf", false),
            ("CREATE TABLE turf_2(geom)", "turf", false),
            ("CREATE VIEW turf AS SELECT 1", "turf", false),
            ("CREATE VIRTUAL TABLE turf USING fts5(geom)", "turf", false),
        ] {
            assert_eq!(declares(sql, name), expected, "{sql}");
        }
    }
}
