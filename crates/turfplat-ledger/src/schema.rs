//! Why a ledger is looked at before it is used: a file of that name may be anything, of an earlier or a
//! later release, or one from which somebody took the triggers that keep records as they were written.
//!
//! How it is written: a rollback journal that is emptied at the end of each transaction (`TRUNCATE`), with
//! `synchronous=FULL`. Then records, journal and the emptied journal are each on the disk before a record
//! is acknowledged (SQLite, `pager.c`, `pager_end_transaction`: of `FULL` the emptied journal is synced),
//! and at rest the one file is all there is: a copy of it is whole. With `DELETE`, `FULL` leaves open
//! whether the journal's name is gone from the folder after a power cut, which would take the last record
//! back (SQLite, "PRAGMA synchronous", of `EXTRA`); with a write-ahead log a copy of the one file may lack
//! the last records, and folders on other machines cannot be used (SQLite, "Write-Ahead Logging").

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

use jiff::Timestamp;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior};

use crate::error::LedgerError;
use crate::seal;

/// `TPLG` as SQLite's number of a program; `file` and `sqlite3` show it.
pub(crate) const APPLICATION_ID: i64 = 0x5450_4C47;

/// What each form adds to the one before it, the first from nothing.
const FORMS: [&str; 2] = [include_str!("schema-1.sql"), include_str!("schema-2.sql")];

/// The form that this release writes.
pub(crate) const VERSION: i64 = FORMS.len() as i64;

/// How long another process is waited for.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

/// Opens the ledger at `path`, brought to the form of this release; with `create` begins it where
/// nothing is.
pub(crate) fn open(path: &Path, create: bool) -> Result<Connection, LedgerError> {
    let says = |error| told(path, error);
    // By its whole name: SQLite takes some short ones for databases without a file.
    let folder = match path.parent() {
        Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
        Some(folder) => folder,
        None => return Err(LedgerError::NoDatabase(path.to_owned())),
    };
    let whole = folder.canonicalize().ok().zip(path.file_name()).map(|(it, name)| it.join(name));
    let unwritable = |reason: &str| LedgerError::NotWritable {
        file: path.to_owned(),
        reason: reason.to_owned(),
    };
    let whole = whole.ok_or_else(|| match create {
        true => unwritable("its folder is not there"),
        false => LedgerError::NotThere(path.to_owned()),
    })?;
    if whole.is_dir() {
        return Err(LedgerError::NoDatabase(path.to_owned()));
    }
    if !create && !whole.exists() {
        return Err(LedgerError::NotThere(path.to_owned()));
    }
    let mut flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    flags.set(OpenFlags::SQLITE_OPEN_CREATE, create);
    let mut connection = Connection::open_with_flags(&whole, flags).map_err(says)?;
    connection.busy_timeout(PATIENCE).map_err(says)?;
    settle(&connection).map_err(says)?;
    let found = look(path, &connection)?;
    if found == 0 && !create {
        return Err(LedgerError::NotThere(path.to_owned()));
    }
    if found < VERSION {
        raise(path, &mut connection)?;
    }
    check_rules(path, &connection)?;
    Ok(connection)
}

/// What every connection keeps to, whatever the file says.
fn settle(connection: &Connection) -> rusqlite::Result<()> {
    // A file from somewhere else runs nothing.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update_and_check(None, "journal_mode", "TRUNCATE", |_| Ok(()))
}

/// The form of what is there; 0 of a file without content.
fn look(path: &Path, connection: &Connection) -> Result<i64, LedgerError> {
    let says = |error| told(path, error);
    let number = |name: &str| {
        connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0)).map_err(says)
    };
    let tables: i64 = connection
        .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))
        .map_err(says)?;
    let (program, version) = (number("application_id")?, number("user_version")?);
    match (program, version) {
        (0, 0) if tables == 0 => Ok(0),
        (APPLICATION_ID, version) if version > VERSION => {
            Err(LedgerError::Later { file: path.to_owned(), found: version, known: VERSION })
        }
        (APPLICATION_ID, version) if version >= 1 => Ok(version),
        _ => Err(LedgerError::Foreign(path.to_owned())),
    }
}

/// Brings a ledger to the form of this release, all steps in one transaction.
fn raise(path: &Path, connection: &mut Connection) -> Result<(), LedgerError> {
    let says = |error| told(path, error);
    let change =
        connection.transaction_with_behavior(TransactionBehavior::Exclusive).map_err(says)?;
    // Another process may have been faster.
    let found = look(path, &change)?;
    for (version, sql) in (1..).zip(FORMS).filter(|(version, _)| *version > found) {
        change.execute_batch(sql).map_err(says)?;
        if version == 2 {
            seal::put_all(&change).map_err(says)?;
        }
        let by = concat!("turfplat ", env!("CARGO_PKG_VERSION"));
        let since = Timestamp::now().to_string();
        let row = (version, since, by);
        change
            .execute("INSERT INTO versions (version, since, written_by) VALUES (?1, ?2, ?3)", row)
            .map_err(says)?;
        change.pragma_update(None, "user_version", version).map_err(says)?;
    }
    change.pragma_update(None, "application_id", APPLICATION_ID).map_err(says)?;
    change.commit().map_err(says)
}

type Rules = BTreeMap<String, String>;

fn rules(connection: &Connection) -> rusqlite::Result<Rules> {
    let mut statement = connection.prepare(
        "SELECT type || ' ' || name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'",
    )?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    rows.collect()
}

/// Holds tables and triggers to those of this release, word for word.
fn check_rules(path: &Path, connection: &Connection) -> Result<(), LedgerError> {
    let says = |error| told(path, error);
    let found = rules(connection).map_err(says)?;
    let fresh = Connection::open_in_memory().map_err(says)?;
    FORMS.iter().try_for_each(|sql| fresh.execute_batch(sql)).map_err(says)?;
    let meant = rules(&fresh).map_err(says)?;
    let differs = meant.iter().find_map(|(name, sql)| match found.get(name) {
        None => Some(format!("{name} is gone")),
        Some(found) if found != sql => Some(format!("{name} is not as it was written")),
        Some(_) => None,
    });
    // Whoever adds tables of their own harms nothing; a trigger may.
    let added = || {
        let new =
            found.keys().find(|name| name.starts_with("trigger ") && !meant.contains_key(*name));
        new.map(|name| format!("{name} was added"))
    };
    match differs.or_else(added) {
        Some(what) => Err(LedgerError::Altered { file: path.to_owned(), what }),
        None => Ok(()),
    }
}

/// When the ledger was brought to each form: number, instant, by which release.
pub(crate) fn versions(connection: &Connection) -> rusqlite::Result<Vec<(i64, String, String)>> {
    let mut statement =
        connection.prepare("SELECT version, since, written_by FROM versions ORDER BY version")?;
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    rows.collect()
}

/// What SQLite says, in words that tell what to do.
pub(crate) fn told(path: &Path, error: rusqlite::Error) -> LedgerError {
    let file = path.to_owned();
    let reason = error.to_string();
    match error.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => LedgerError::NoDatabase(file),
        Some(ErrorCode::DatabaseCorrupt) => LedgerError::Damaged { file, reason },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            LedgerError::Busy { file, seconds: PATIENCE.as_secs() }
        }
        Some(
            ErrorCode::ReadOnly
            | ErrorCode::DiskFull
            | ErrorCode::CannotOpen
            | ErrorCode::PermissionDenied
            | ErrorCode::SystemIoFailure,
        ) => LedgerError::NotWritable { file, reason },
        _ => LedgerError::Sqlite { file, reason },
    }
}
