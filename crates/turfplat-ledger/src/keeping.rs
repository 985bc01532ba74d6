use std::fs::{self, File};
use std::path::Path;

use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use crate::error::LedgerError;
use crate::ledger::{Ledger, Query};
use crate::{schema, seal};

/// Product, milliliters and grams of a row of `puts`.
type PutRow = (String, Option<f64>, Option<f64>);

/// What a check of a ledger found.
#[derive(Clone, Debug, Default)]
pub struct Checked {
    /// How many records it holds, replaced ones included.
    pub records: usize,
    /// What is wrong; nothing of a ledger that is whole.
    pub problems: Vec<String>,
    /// When the ledger was brought to each form: number, instant, by which release.
    pub versions: Vec<(i64, String, String)>,
}

impl Ledger {
    /// Reads every page and every record: SQLite's `integrity_check` and `foreign_key_check`, whether
    /// the seals hold, and whether amounts in columns are those of the documents.
    ///
    /// # Errors
    ///
    /// A file that cannot be read at all.
    pub fn check(&self) -> Result<Checked, LedgerError> {
        let says = |error| self.says(error);
        let texts = |sql: &str| -> rusqlite::Result<Vec<String>> {
            self.connection.prepare(sql)?.query_map([], |row| row.get(0))?.collect()
        };
        let mut problems = texts("PRAGMA integrity_check").map_err(says)?;
        problems.retain(|line| line != "ok");
        let strays = texts(
            "SELECT \"table\" || ' row ' || coalesce(rowid, '?') || ' points to no record' FROM pragma_foreign_key_check",
        );
        problems.extend(strays.map_err(says)?);
        let versions = schema::versions(&self.connection).map_err(says)?;
        let mut checked = Checked { records: 0, problems, versions };
        if !checked.problems.is_empty() {
            return Ok(checked);
        }
        if let Some(problem) = seal::broken(&self.connection).map_err(says)? {
            checked.problems.push(problem);
            return Ok(checked);
        }
        let all = self.find(&Query { all: true, ..Query::default() })?;
        checked.records = all.len();
        for kept in &all {
            let sql =
                "SELECT product, milliliters, grams FROM puts WHERE record = ?1 ORDER BY line";
            let columns = || -> rusqlite::Result<Vec<PutRow>> {
                let mut statement = self.connection.prepare_cached(sql)?;
                let read = |row: &rusqlite::Row<'_>| Ok((row.get(0)?, row.get(1)?, row.get(2)?));
                statement.query_map([kept.id], read)?.collect()
            };
            let columns = columns().map_err(says)?;
            let puts = kept.record.loads.iter().flat_map(|load| &load.products);
            let document = puts.map(|put| {
                let amount = put.amount.as_ref();
                let value = |of: fn(&crate::Quantity) -> Option<f64>| amount.and_then(of);
                (put.product.clone(), value(|it| it.milliliters()), value(|it| it.grams()))
            });
            if !columns.into_iter().eq(document) {
                let problem =
                    format!("record {}: its amounts are not those it was written with", kept.id);
                checked.problems.push(problem);
            }
        }
        Ok(checked)
    }

    /// Writes a copy to `to`, whole or not at all, while others may go on adding; checks the copy before
    /// it is put there.
    ///
    /// # Errors
    ///
    /// A file of that name is there; the place cannot be written; the copy is not whole.
    pub fn back_up(&self, to: &Path) -> Result<usize, LedgerError> {
        if fs::symlink_metadata(to).is_ok() {
            return Err(LedgerError::IsThere(to.to_owned()));
        }
        let unwritable = |error: std::io::Error| LedgerError::NotWritable {
            file: to.to_owned(),
            reason: error.to_string(),
        };
        let name = to.file_name().ok_or_else(|| LedgerError::NoDatabase(to.to_owned()))?;
        let beside =
            to.with_file_name(format!(".{}.{}", name.to_string_lossy(), std::process::id()));
        let copied = self.copy(&beside, to).and_then(|records| {
            File::open(&beside).and_then(|file| file.sync_all()).map_err(unwritable)?;
            // A link is refused where something is there by now; a rename would put itself over it.
            // Where there are no links, as on most sticks, it is looked for once more.
            let linked = fs::hard_link(&beside, to);
            if linked.is_err() && fs::symlink_metadata(to).is_ok() {
                return Err(LedgerError::IsThere(to.to_owned()));
            }
            linked.or_else(|_| fs::rename(&beside, to)).map_err(unwritable)?;
            Ok(records)
        });
        // The copy has its name now, or is of no use.
        let _ = fs::remove_file(&beside);
        let journal = beside.with_file_name(format!(
            "{}-journal",
            beside.file_name().unwrap_or_default().to_string_lossy()
        ));
        let _ = fs::remove_file(journal);
        if let Some(folder) = to.parent().filter(|it| !it.as_os_str().is_empty()) {
            // Some systems open no folders; the file itself is on the disk.
            let _ = File::open(folder).and_then(|folder| folder.sync_all());
        }
        copied
    }

    /// Copies to the file `beside`, which is to be `to`.
    fn copy(&self, beside: &Path, to: &Path) -> Result<usize, LedgerError> {
        let says = |error| schema::told(to, error);
        let mut copy = Connection::open(beside).map_err(says)?;
        {
            let backup = Backup::new(&self.connection, &mut copy).map_err(says)?;
            // All at once: under one lock, so that no other writer makes it begin anew.
            match backup.step(-1).map_err(says)? {
                StepResult::Done => {}
                _ => {
                    let seconds = schema::PATIENCE.as_secs();
                    return Err(LedgerError::Busy { file: self.path.clone(), seconds });
                }
            }
        }
        drop(copy);
        let checked = Ledger::open(beside)?.check()?;
        match checked.problems.first() {
            None => Ok(checked.records),
            Some(problem) => {
                Err(LedgerError::Damaged { file: self.path.clone(), reason: problem.clone() })
            }
        }
    }
}
