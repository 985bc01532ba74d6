use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, Row, ToSql, TransactionBehavior, params_from_iter};

use crate::error::LedgerError;
use crate::fields::{Missing, forget_unasked, keep_until, missing};
use crate::record::Record;
use crate::{schema, seal};

/// The records of what was applied, in one file.
#[derive(Debug)]
pub struct Ledger {
    pub(crate) path: PathBuf,
    pub(crate) connection: Connection,
}

/// Whether a record says all that is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Fields that a list asks for are open.
    Draft,
    /// It says all that its lists ask for.
    Complete,
    /// It was written by mistake: nothing was applied.
    TakenBack,
}

impl State {
    /// `draft`, `complete` or `taken back`.
    pub fn word(self) -> &'static str {
        match self {
            State::Draft => "draft",
            State::Complete => "complete",
            State::TakenBack => "taken back",
        }
    }

    fn of(word: &str) -> State {
        match word {
            "complete" => State::Complete,
            "taken back" => State::TakenBack,
            _ => State::Draft,
        }
    }
}

/// How a record stands to those before it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// A new application.
    New,
    /// Fills in what a draft left open.
    Completes(i64),
    /// Says what was wrong in a record, and why.
    Corrects(i64, String),
    /// Says that a record was written by mistake, and why.
    TakesBack(i64, String),
}

impl Step {
    fn follows(&self) -> Option<i64> {
        match self {
            Step::New => None,
            Step::Completes(id) | Step::Corrects(id, _) | Step::TakesBack(id, _) => Some(*id),
        }
    }
}

/// A record as it is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Its number in the ledger.
    pub id: i64,
    /// The record that it completes, corrects or takes back.
    pub follows: Option<i64>,
    /// Why.
    pub why: Option<String>,
    /// The record that replaced it, if one did.
    pub replaced_by: Option<i64>,
    /// Whether it says all that is asked for.
    pub state: State,
    /// When it was written.
    pub written: Timestamp,
    /// Until when it is kept.
    pub keep_until: Date,
    /// Over all that is written of it and the seal before it (SHA-256, hexadecimal).
    pub seal: String,
    /// What was put down.
    pub record: Record,
}

impl Kept {
    /// What it leaves open.
    pub fn missing(&self) -> Vec<Missing> {
        match self.state {
            State::TakenBack => Vec::new(),
            State::Draft | State::Complete => missing(&self.record),
        }
    }
}

/// Which records are looked for; those that were replaced only with `all`.
#[derive(Clone, Debug, Default)]
#[allow(missing_docs)] // The field names say it.
pub struct Query {
    pub property: Option<String>,
    /// Id of a product.
    pub product: Option<String>,
    /// First day.
    pub from: Option<Date>,
    /// Last day.
    pub to: Option<Date>,
    pub state: Option<State>,
    pub all: bool,
}

const COLUMNS: &str = "records.id, records.follows, records.why, next.id, records.state, records.written, records.keep_until, records.document, seals.sha256 FROM records JOIN seals ON seals.record = records.id LEFT JOIN records AS next ON next.follows = records.id";

impl Ledger {
    /// Opens the ledger at `path`; an earlier form is brought to the present one.
    ///
    /// # Errors
    ///
    /// No file, no ledger, one of a later release, one that was altered or is damaged.
    pub fn open(path: &Path) -> Result<Ledger, LedgerError> {
        let connection = schema::open(path, false).map_err(|error| match error {
            // Nobody wanted to write.
            LedgerError::NotWritable { file, reason } => LedgerError::NotReadable { file, reason },
            error => error,
        })?;
        Ok(Ledger { path: path.to_owned(), connection })
    }

    /// Opens the ledger at `path`, or begins one where nothing is.
    ///
    /// # Errors
    ///
    /// As [`Ledger::open`], or the place cannot be written.
    pub fn open_or_begin(path: &Path) -> Result<Ledger, LedgerError> {
        Ok(Ledger { path: path.to_owned(), connection: schema::open(path, true)? })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    pub(crate) fn says(&self, error: rusqlite::Error) -> LedgerError {
        schema::told(&self.path, error)
    }

    /// Adds a record, at the instant `written`. When this returns it is on the disk.
    ///
    /// A record that leaves open what a list asks for is kept as a draft. Name and address of the
    /// customer are kept only where a list asks for them.
    ///
    /// # Errors
    ///
    /// Of a record that follows another: there is none, it was replaced already, it is no draft, no reason
    /// is given. Else what keeps the file from being written. Nothing is recorded then.
    pub fn append(
        &mut self,
        mut record: Record,
        step: &Step,
        written: Timestamp,
    ) -> Result<Kept, LedgerError> {
        check(&record)?;
        forget_unasked(&mut record);
        let path = self.path.clone();
        let says = |error| schema::told(&path, error);
        let change = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(says)?;
        let why = match step {
            Step::New => None,
            Step::Completes(_) => Some("completed".to_owned()),
            Step::Corrects(_, why) | Step::TakesBack(_, why) => Some(why.trim().to_owned()),
        };
        if let Some(id) = step.follows() {
            let before = one(&change, id).map_err(says)?.ok_or(LedgerError::NoRecord(id))?;
            if let Some(by) = before.replaced_by {
                return Err(LedgerError::Replaced { id, by });
            }
            if before.state == State::TakenBack {
                return Err(LedgerError::TakenBack(id));
            }
            if matches!(step, Step::Completes(_)) && before.state != State::Draft {
                return Err(LedgerError::NotADraft(id));
            }
            if why.as_ref().is_some_and(String::is_empty) {
                return Err(LedgerError::NoReason(id));
            }
            if before.record.property != record.property {
                let (was, given) = (before.record.property, record.property);
                return Err(LedgerError::OtherProperty { id, was, given });
            }
        }
        let state = match step {
            Step::TakesBack(..) => State::TakenBack,
            _ if missing(&record).is_empty() => State::Complete,
            _ => State::Draft,
        };
        let keep_until = keep_until(&record);
        let cannot = |error: serde_json::Error| LedgerError::CannotKeep {
            what: "record".to_owned(),
            problem: error.to_string(),
        };
        let document = serde_json::to_string(&record).map_err(cannot)?;
        let row: [&dyn ToSql; 9] = [
            &step.follows(),
            &why,
            &state.word(),
            &written.to_string(),
            &record.property,
            &record.application,
            &record.date.to_string(),
            &keep_until.to_string(),
            &document,
        ];
        let sql = "INSERT INTO records (follows, why, state, written, property, application, day, keep_until, document) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)";
        change.execute(sql, row).map_err(says)?;
        let id = change.last_insert_rowid();
        let puts = record.loads.iter().zip(1_i64..);
        let puts = puts.flat_map(|(load, number)| load.products.iter().map(move |it| (it, number)));
        for ((put, load), line) in puts.zip(1_i64..) {
            let amount = put.amount.as_ref();
            let row: [&dyn ToSql; 7] = [
                &id,
                &line,
                &load,
                &put.product,
                &amount.map(|it| it.written.as_str()),
                &amount.and_then(|it| it.milliliters()),
                &amount.and_then(|it| it.grams()),
            ];
            let sql = "INSERT INTO puts (record, line, load, product, written, milliliters, grams) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)";
            change.execute(sql, row).map_err(says)?;
        }
        let seal = seal::put(&change, id).map_err(says)?;
        change.commit().map_err(says)?;
        let follows = step.follows();
        Ok(Kept { id, follows, why, replaced_by: None, state, written, keep_until, seal, record })
    }

    /// The record of that number.
    ///
    /// # Errors
    ///
    /// [`LedgerError::NoRecord`] where there is none; a file that cannot be read.
    pub fn record(&self, id: i64) -> Result<Kept, LedgerError> {
        let found = one(&self.connection, id).map_err(|error| self.says(error))?;
        found.ok_or(LedgerError::NoRecord(id))
    }

    /// The record that stands today in place of `id`: the last of those that complete and correct it.
    ///
    /// # Errors
    ///
    /// As [`Ledger::record`].
    pub fn newest(&self, id: i64) -> Result<Kept, LedgerError> {
        let mut kept = self.record(id)?;
        while let Some(next) = kept.replaced_by {
            kept = self.record(next)?;
        }
        Ok(kept)
    }

    /// A record and all that it follows, the newest first.
    ///
    /// # Errors
    ///
    /// As [`Ledger::record`].
    pub fn trail(&self, id: i64) -> Result<Vec<Kept>, LedgerError> {
        let mut trail = vec![self.record(id)?];
        while let Some(before) = trail.last().and_then(|kept| kept.follows) {
            trail.push(self.record(before)?);
        }
        Ok(trail)
    }

    /// What is looked for, by day and then in the order in which it was written.
    ///
    /// # Errors
    ///
    /// A file that cannot be read.
    pub fn find(&self, query: &Query) -> Result<Vec<Kept>, LedgerError> {
        let mut wanted: Vec<&str> = Vec::new();
        let mut values: Vec<String> = Vec::new();
        let mut want = |condition, value: Option<String>| {
            if let Some(value) = value {
                wanted.push(condition);
                values.push(value);
            }
        };
        want("records.property = ?", query.property.clone());
        want(
            "EXISTS (SELECT 1 FROM puts WHERE puts.record = records.id AND puts.product = ?)",
            query.product.clone(),
        );
        want("records.day >= ?", query.from.map(|day| day.to_string()));
        want("records.day <= ?", query.to.map(|day| day.to_string()));
        want("records.state = ?", query.state.map(|state| state.word().to_owned()));
        if !query.all {
            wanted.push("next.id IS NULL");
        }
        let conditions = match wanted.is_empty() {
            true => String::new(),
            false => format!(" WHERE {}", wanted.join(" AND ")),
        };
        let sql = format!("SELECT {COLUMNS}{conditions} ORDER BY records.day, records.id");
        let found = || -> rusqlite::Result<Vec<Kept>> {
            let mut statement = self.connection.prepare(&sql)?;
            let rows = statement.query_map(params_from_iter(&values), kept)?;
            rows.collect()
        };
        found().map_err(|error| self.says(error))
    }

    /// How SQLite writes it: the number of `synchronous` (2 is `FULL`) and the kind of journal.
    ///
    /// # Errors
    ///
    /// A file that cannot be read.
    pub fn durability(&self) -> Result<(i64, String), LedgerError> {
        let says = |error| self.says(error);
        let level = self.connection.pragma_query_value(None, "synchronous", |row| row.get(0));
        let journal = self.connection.pragma_query_value(None, "journal_mode", |row| row.get(0));
        Ok((level.map_err(says)?, journal.map_err(says)?))
    }

    /// The ids that records speak of: of properties, and of products.
    ///
    /// # Errors
    ///
    /// A file that cannot be read.
    pub fn known_ids(&self) -> Result<(Vec<String>, Vec<String>), LedgerError> {
        let ids = |sql: &str| -> rusqlite::Result<Vec<String>> {
            self.connection.prepare(sql)?.query_map([], |row| row.get(0))?.collect()
        };
        let properties = ids("SELECT DISTINCT property FROM records ORDER BY property");
        let products = ids("SELECT DISTINCT product FROM puts ORDER BY product");
        let says = |error| self.says(error);
        Ok((properties.map_err(says)?, products.map_err(says)?))
    }
}

/// What no record can do without.
fn check(record: &Record) -> Result<(), LedgerError> {
    let cannot = |what: &str, problem: &str| {
        Err(LedgerError::CannotKeep { what: what.to_owned(), problem: problem.to_owned() })
    };
    if record.property.trim().is_empty() {
        return cannot("property", "name the property that was treated");
    }
    if record.date.year() < 1900 {
        return cannot("date", "is not of this age; write it as 2026-06-08");
    }
    if let (Some(started), Some(ended)) = (&record.started, &record.ended)
        && ended < started
    {
        return cannot("ended", "lies before started");
    }
    Ok(())
}

fn one(connection: &Connection, id: i64) -> rusqlite::Result<Option<Kept>> {
    use rusqlite::OptionalExtension;
    let sql = format!("SELECT {COLUMNS} WHERE records.id = ?1");
    connection.query_row(&sql, [id], kept).optional()
}

/// Reads a column as a text that must parse.
fn parsed<T: std::str::FromStr>(row: &Row<'_>, place: usize) -> rusqlite::Result<T>
where
    T::Err: std::error::Error + Send + Sync + 'static,
{
    let text: String = row.get(place)?;
    let unread = |error: T::Err| {
        let kind = rusqlite::types::Type::Text;
        rusqlite::Error::FromSqlConversionFailure(place, kind, Box::new(error))
    };
    text.parse().map_err(unread)
}

fn kept(row: &Row<'_>) -> rusqlite::Result<Kept> {
    let document: String = row.get(7)?;
    let unread = |error: serde_json::Error| {
        let kind = rusqlite::types::Type::Text;
        rusqlite::Error::FromSqlConversionFailure(7, kind, Box::new(error))
    };
    Ok(Kept {
        id: row.get(0)?,
        follows: row.get(1)?,
        why: row.get(2)?,
        replaced_by: row.get(3)?,
        state: State::of(&row.get::<_, String>(4)?),
        written: parsed(row, 5)?,
        keep_until: parsed(row, 6)?,
        seal: row.get(8)?,
        record: serde_json::from_str(&document).map_err(unread)?,
    })
}
