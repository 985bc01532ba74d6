//! What a ledger keeps, refuses and tells; opened from outside by the `sqlite3` command where that is there.

mod common;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use common::record;
use jiff::Timestamp;
use rusqlite::Connection;
use tempfile::TempDir;
use turfplat_ledger::{Kept, Ledger, LedgerError, Query, State, Step};

fn begun() -> (TempDir, PathBuf, Ledger) {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("records.sqlite");
    let ledger = Ledger::open_or_begin(&place).expect("a ledger");
    (folder, place, ledger)
}

fn now() -> Timestamp {
    "2026-06-08T15:00:00Z".parse().expect("an instant")
}

fn added(ledger: &mut Ledger, property: &str, date: &str, fl_oz: f64) -> Kept {
    ledger.append(record(property, date, fl_oz, ""), &Step::New, now()).expect("kept")
}

/// What the command `sqlite3` says, or nothing where it is not installed.
fn outside(place: &Path, sql: &str) -> Option<Result<String, String>> {
    let ran = Command::new("sqlite3").arg(place).arg(sql).output().ok()?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).trim().to_owned();
    Some(match ran.status.success() {
        true => Ok(text(&ran.stdout)),
        false => Err(text(&ran.stderr)),
    })
}

#[test]
fn a_record_is_read_as_it_was_written() {
    let (_folder, place, mut ledger) = begun();
    let written = record("14-alder-lane", "2026-06-08", 2.4, "first");
    let kept = ledger.append(written.clone(), &Step::New, now()).expect("kept");
    drop(ledger);
    let again = Ledger::open(&place).expect("a ledger").record(kept.id).expect("there");
    assert_eq!(again, kept);
    assert_eq!(again.record, written);
    assert_eq!(again.state, State::Complete);
    assert_eq!(again.keep_until.to_string(), "2028-06-08");
}

#[test]
fn it_is_written_to_the_disk_before_it_is_acknowledged() {
    let (_folder, place, mut ledger) = begun();
    added(&mut ledger, "a", "2026-06-08", 1.0);
    // 2 is FULL (SQLite, "PRAGMA synchronous"); asked of the very connection by what it says of itself.
    assert_eq!(ledger.durability().expect("read"), (2, "truncate".to_owned()));
    // At rest the one file is all there is.
    let journal = place.with_file_name("records.sqlite-journal");
    assert!(journal.metadata().map_or(0, |it| it.len()) == 0);
}

#[test]
fn the_command_sqlite3_reads_it_and_finds_it_whole() {
    let (_folder, place, mut ledger) = begun();
    added(&mut ledger, "14-alder-lane", "2026-06-08", 2.4);
    added(&mut ledger, "14-alder-lane", "2026-07-06", 2.6);
    let Some(said) = outside(&place, "PRAGMA integrity_check; PRAGMA foreign_key_check") else {
        return;
    };
    assert_eq!(said, Ok("ok".to_owned()));
    // 2.4 + 2.6 fl oz of 29.5735295625 mL: 147.8676478125, worked by hand.
    let sum =
        "SELECT printf('%.10f', sum(milliliters)) FROM puts WHERE product = 'growth-regulator'";
    assert_eq!(outside(&place, sum), Some(Ok("147.8676478125".to_owned())));
    let row = "SELECT id, state, property, day, keep_until, json_extract(document, '$.applicator.license') FROM records WHERE id = 2";
    let told = "2|complete|14-alder-lane|2026-07-06|2028-07-06|X-0001";
    assert_eq!(outside(&place, row), Some(Ok(told.to_owned())));
    for change in [
        "UPDATE records SET day = '2026-01-01' WHERE id = 1",
        "DELETE FROM records",
        "UPDATE puts SET milliliters = 0",
        "DELETE FROM puts",
        "INSERT OR REPLACE INTO records SELECT id, follows, why, state, written, 'elsewhere', application, day, keep_until, document FROM records WHERE id = 1",
        "REPLACE INTO puts SELECT record, line, load, product, written, 0, grams FROM puts WHERE record = 2 AND line = 1",
        "INSERT INTO puts VALUES (1, 9, 1, 'late', NULL, NULL, NULL)",
        "DELETE FROM versions",
    ] {
        let said = outside(&place, change).expect("sqlite3");
        let error = said.expect_err(change);
        assert!(error.contains("are not"), "{change}: {error}");
    }
    let still = "SELECT count(*), min(day), sum(property = '14-alder-lane') FROM records";
    assert_eq!(outside(&place, still), Some(Ok("2|2026-06-08|2".to_owned())));
}

#[test]
fn a_correction_is_a_new_row_that_points_to_the_old() {
    let (_folder, _, mut ledger) = begun();
    let first = added(&mut ledger, "a", "2026-06-08", 2.0);
    let why = || "cup was read wrong".to_owned();
    let corrected = record("a", "2026-06-08", 2.5, "");
    let second = ledger.append(corrected.clone(), &Step::Corrects(first.id, why()), now());
    let second = second.expect("kept");
    assert_eq!((second.follows, second.why.clone()), (Some(first.id), Some(why())));
    // The old one stands as it was, and says what replaced it.
    let old = ledger.record(first.id).expect("there");
    assert_eq!((old.record.clone(), old.replaced_by), (first.record.clone(), Some(second.id)));
    assert_eq!(ledger.newest(first.id).expect("there").id, second.id);
    let trail: Vec<i64> =
        ledger.trail(second.id).expect("a trail").iter().map(|it| it.id).collect();
    assert_eq!(trail, [second.id, first.id]);
    let found: Vec<i64> =
        ledger.find(&Query::default()).expect("found").iter().map(|it| it.id).collect();
    assert_eq!(found, [second.id]);

    // One record is corrected once; the next correction is of the correction.
    let again = ledger.append(corrected.clone(), &Step::Corrects(first.id, why()), now());
    assert!(matches!(again, Err(LedgerError::Replaced { id: 1, by: 2 })), "{again:?}");
    let mute = ledger.append(corrected.clone(), &Step::Corrects(second.id, "  ".to_owned()), now());
    assert!(matches!(mute, Err(LedgerError::NoReason(2))), "{mute:?}");
    let nobody = ledger.append(corrected.clone(), &Step::Corrects(9, why()), now());
    assert!(matches!(nobody, Err(LedgerError::NoRecord(9))), "{nobody:?}");
    let elsewhere = record("b", "2026-06-08", 2.5, "");
    let other = ledger.append(elsewhere, &Step::Corrects(second.id, why()), now());
    assert!(matches!(other, Err(LedgerError::OtherProperty { .. })), "{other:?}");
    // What was taken back stays so.
    let back = ledger.append(corrected.clone(), &Step::TakesBack(second.id, why()), now());
    let back = back.expect("kept");
    assert_eq!(back.state, State::TakenBack);
    let risen = ledger.append(corrected, &Step::Corrects(back.id, why()), now());
    assert!(matches!(risen, Err(LedgerError::TakenBack(3))), "{risen:?}");
}

#[test]
fn an_incomplete_record_is_a_draft_until_it_is_completed() {
    let (_folder, _, mut ledger) = begun();
    let mut open = record("a", "2026-06-08", 2.0, "");
    open.applicator.license = None;
    let draft = ledger.append(open.clone(), &Step::New, now()).expect("kept");
    assert_eq!(draft.state, State::Draft);
    let asked: Vec<&str> = draft.missing().iter().map(|it| it.field.name()).collect();
    assert_eq!(asked, ["license"]);
    open.applicator.license = Some("X-0001".to_owned());
    let whole = ledger.append(open.clone(), &Step::Completes(draft.id), now()).expect("kept");
    assert_eq!((whole.state, whole.follows), (State::Complete, Some(draft.id)));
    let twice = ledger.append(open, &Step::Completes(whole.id), now());
    assert!(matches!(twice, Err(LedgerError::NotADraft(2))), "{twice:?}");
}

#[test]
fn a_customer_is_kept_only_where_a_list_asks() {
    let (_folder, _, mut ledger) = begun();
    let customer = turfplat_ledger::Customer { name: Some("A. Sample".to_owned()), address: None };
    let mut own = record("a", "2026-06-08", 2.0, "");
    own.customer = Some(customer);
    let mut hired = own.clone();
    hired.hired = Some(true);
    let own = ledger.append(own, &Step::New, now()).expect("kept");
    assert_eq!(own.record.customer, None);
    let hired = ledger.append(hired, &Step::New, now()).expect("kept");
    assert!(hired.record.customer.is_some());
    // Georgia asks for the name alone.
    let mut georgia = record("a", "2026-06-08", 2.0, "");
    georgia.places = vec!["georgia".to_owned()];
    georgia.customer = Some(turfplat_ledger::Customer {
        name: Some("A. Sample".to_owned()),
        address: Some("14 Alder Lane".to_owned()),
    });
    let georgia = ledger.append(georgia, &Step::New, now()).expect("kept").record.customer;
    let georgia = georgia.expect("a name");
    assert_eq!((georgia.name.as_deref(), georgia.address), (Some("A. Sample"), None));
}

#[test]
fn records_are_found_by_property_date_and_product() {
    let (_folder, _, mut ledger) = begun();
    added(&mut ledger, "b", "2026-07-06", 1.0);
    added(&mut ledger, "a", "2026-06-08", 1.0);
    added(&mut ledger, "a", "2026-08-03", 1.0);
    let mut other = record("a", "2026-06-20", 1.0, "");
    other.loads[0].products.remove(0);
    ledger.append(other, &Step::New, now()).expect("kept");
    let day = |text: &str| Some(text.parse().expect("a day"));
    let ids = |query: Query| -> Vec<i64> {
        ledger.find(&query).expect("found").iter().map(|kept| kept.id).collect()
    };
    let some = |text: &str| Some(text.to_owned());
    assert_eq!(ids(Query::default()), [2, 4, 1, 3]);
    assert_eq!(ids(Query { property: some("a"), ..Query::default() }), [2, 4, 3]);
    assert_eq!(ids(Query { product: some("growth-regulator"), ..Query::default() }), [2, 1, 3]);
    assert_eq!(
        ids(Query { from: day("2026-06-20"), to: day("2026-07-06"), ..Query::default() }),
        [4, 1]
    );
    assert!(ids(Query { property: some("a' OR '1'='1"), ..Query::default() }).is_empty());
    let (properties, products) = ledger.known_ids().expect("ids");
    assert_eq!(properties, ["a", "b"]);
    assert_eq!(products, ["growth-regulator", "iron"]);
}

#[test]
fn what_is_no_ledger_is_refused_and_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("records.sqlite");
    let missing = Ledger::open(&place).expect_err("nothing is there");
    assert!(matches!(missing, LedgerError::NotThere(_)), "{missing}");
    assert!(!place.exists(), "reading begins no file");

    fs::write(&place, "date,product\n2026-06-08,iron\n".repeat(200)).expect("written");
    let text = fs::read(&place).expect("read");
    let error = Ledger::open_or_begin(&place).expect_err("a table");
    assert!(matches!(error, LedgerError::NoDatabase(_)), "{error}");
    assert_eq!(fs::read(&place).expect("read"), text);

    fs::remove_file(&place).expect("removed");
    Connection::open(&place)
        .and_then(|it| it.execute_batch("CREATE TABLE songs (name)"))
        .expect("made");
    let error = Ledger::open_or_begin(&place).expect_err("another program's");
    assert!(matches!(error, LedgerError::Foreign(_)), "{error}");
    assert!(Ledger::open_or_begin(folder.path()).is_err(), "a folder");
    assert!(Ledger::open_or_begin(&folder.path().join("no/such/records.sqlite")).is_err());
    // SQLite takes these for databases without a file.
    for name in ["", ":memory:"] {
        assert!(Ledger::open(Path::new(name)).is_err(), "{name:?}");
    }
}

#[test]
fn a_later_altered_or_damaged_ledger_is_refused() {
    let (folder, place, mut ledger) = begun();
    for number in 0..60 {
        added(&mut ledger, &format!("property-{number}"), "2026-06-08", 1.0);
    }
    drop(ledger);
    let copy = |name: &str| {
        let copy = folder.path().join(name);
        fs::copy(&place, &copy).expect("copied");
        copy
    };
    let later = copy("later.sqlite");
    Connection::open(&later)
        .and_then(|it| it.pragma_update(None, "user_version", 99))
        .expect("set");
    let error = Ledger::open(&later).expect_err("later").to_string();
    assert!(error.contains("form 99") && error.contains("up to date"), "{error}");

    for (name, sql, told) in [
        ("gone.sqlite", "DROP TRIGGER records_are_not_changed", "records_are_not_changed is gone"),
        (
            "new.sqlite",
            "CREATE TRIGGER mine AFTER INSERT ON records BEGIN SELECT 1; END",
            "trigger mine was added",
        ),
        (
            "weak.sqlite",
            "DROP TRIGGER puts_are_not_changed; CREATE TRIGGER puts_are_not_changed BEFORE UPDATE ON puts WHEN 0 BEGIN SELECT 1; END",
            "puts_are_not_changed is not as it was written",
        ),
    ] {
        let altered = copy(name);
        Connection::open(&altered).and_then(|it| it.execute_batch(sql)).expect("altered");
        let error = Ledger::open(&altered).expect_err(name).to_string();
        assert!(error.contains(told) && error.contains("backup"), "{error}");
    }

    // Every page in turn is written over: it is refused or found by the check, and never a panic.
    let whole = fs::read(&place).expect("read");
    let pages = whole.len() / 4096;
    assert!(pages > 8, "{pages}");
    for page in 0..pages {
        let mut bytes = whole.clone();
        bytes[page * 4096..(page + 1) * 4096].fill(0xA5);
        let damaged = copy("damaged.sqlite");
        fs::write(&damaged, bytes).expect("written");
        let found = Ledger::open(&damaged).and_then(|ledger| ledger.check());
        let is_seen = found.as_ref().map_or(true, |checked| !checked.problems.is_empty());
        assert!(is_seen, "page {page}: {found:?}");
    }
}

#[test]
fn a_backup_is_whole_and_writes_over_nothing() {
    let (folder, place, mut ledger) = begun();
    added(&mut ledger, "a", "2026-06-08", 1.0);
    added(&mut ledger, "a", "2026-07-06", 1.0);
    let backup = folder.path().join("backup.sqlite");
    assert_eq!(ledger.back_up(&backup).expect("a backup"), 2);
    let all = Query { all: true, ..Query::default() };
    let copied = Ledger::open(&backup).expect("a ledger").find(&all).expect("records");
    assert_eq!(copied, ledger.find(&all).expect("records"));
    let before = fs::read(&place).expect("read");
    let error = ledger.back_up(&place).expect_err("onto itself");
    assert!(matches!(error, LedgerError::IsThere(_)), "{error}");
    assert_eq!(fs::read(&place).expect("read"), before);
    let names: Vec<String> = fs::read_dir(folder.path())
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .filter(|name| name.starts_with('.'))
        .collect();
    assert!(names.is_empty(), "left beside it: {names:?}");
}

#[test]
fn what_is_written_anew_must_be_allowed() {
    let (_folder, _, mut ledger) = begun();
    let nowhere = ledger.append(record(" ", "2026-06-08", 1.0, ""), &Step::New, now());
    assert!(matches!(nowhere, Err(LedgerError::CannotKeep { .. })), "{nowhere:?}");
    let mut backward = record("a", "2026-06-08", 1.0, "");
    backward.started = "2026-06-08T10:00[America/Chicago]".parse().ok();
    backward.ended = "2026-06-08T09:00[America/Chicago]".parse().ok();
    assert!(backward.ended.is_some());
    let backward = ledger.append(backward, &Step::New, now());
    assert!(matches!(backward, Err(LedgerError::CannotKeep { .. })), "{backward:?}");
    assert_eq!(ledger.find(&Query::default()).expect("found"), []);
}

#[test]
fn a_ledger_of_the_first_form_is_brought_to_this_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("records.sqlite");
    let old = include_str!("data/form-1.sql");
    Connection::open(&place).and_then(|it| it.execute_batch(old)).expect("made");
    let ledger = Ledger::open(&place).expect("a ledger");
    let checked = ledger.check().expect("a check");
    assert!(checked.problems.is_empty(), "{:?}", checked.problems);
    assert_eq!(checked.records, 6);
    let forms: Vec<i64> = checked.versions.iter().map(|(form, ..)| *form).collect();
    assert_eq!(forms, [1, 2]);
    // What was written is there as it was: two that stand, one taken back.
    let kept = ledger.find(&Query::default()).expect("found");
    let told: Vec<_> = kept.iter().map(|it| (it.id, it.state, it.follows)).collect();
    assert_eq!(
        told,
        [
            (3, State::Complete, Some(1)),
            (4, State::Complete, Some(2)),
            (6, State::TakenBack, Some(5))
        ]
    );
    let amount = kept[1].record.loads[0].products[0].amount.as_ref().expect("an amount");
    assert_eq!(amount.written, "1.25 fl oz");
    // And it is gone on with, by this form.
    drop(ledger);
    let mut ledger = Ledger::open_or_begin(&place).expect("a ledger");
    assert_eq!(added(&mut ledger, "a", "2026-06-08", 1.0).id, 7);
    assert!(ledger.check().expect("a check").problems.is_empty());
}

#[test]
fn two_that_open_an_old_ledger_at_once_raise_it_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("records.sqlite");
    let old = include_str!("data/form-1.sql");
    Connection::open(&place).and_then(|it| it.execute_batch(old)).expect("made");
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| Ledger::open(&place).expect("a ledger"));
        }
    });
    let checked = Ledger::open(&place).and_then(|ledger| ledger.check()).expect("a check");
    assert!(checked.problems.is_empty(), "{:?}", checked.problems);
    assert_eq!(checked.versions.len(), 2);
}

#[test]
fn a_record_changed_past_the_triggers_breaks_its_seal() {
    let (folder, place, mut ledger) = begun();
    for _ in 0..3 {
        added(&mut ledger, "a", "2026-06-08", 1.0);
    }
    drop(ledger);
    // As somebody would who knows SQL: the triggers come back as they were.
    let trigger = |name: &str| format!("SELECT sql FROM sqlite_schema WHERE name = '{name}'");
    for (what, names, change, told) in [
        (
            "a day",
            &["records_are_not_changed"][..],
            "UPDATE records SET day = '2026-01-01' WHERE id = 2",
            "record 2 is not what was sealed",
        ),
        (
            "the last, gone",
            &["records_are_not_removed", "puts_are_not_removed"],
            "DELETE FROM puts WHERE record = 3; DELETE FROM records WHERE id = 3",
            "row 3 points to no record",
        ),
        (
            "the last, gone with its seal",
            &["records_are_not_removed", "puts_are_not_removed", "seals_are_not_removed"],
            "DELETE FROM puts WHERE record = 3; DELETE FROM seals WHERE record = 3; DELETE FROM records WHERE id = 3",
            "record 3 is gone",
        ),
        (
            "one of the middle, gone with its seal",
            &["records_are_not_removed", "puts_are_not_removed", "seals_are_not_removed"],
            "DELETE FROM puts WHERE record = 2; DELETE FROM seals WHERE record = 2; DELETE FROM records WHERE id = 2",
            "record 2 is gone",
        ),
        (
            "an amount",
            &["puts_are_not_changed"],
            "UPDATE puts SET milliliters = 1 WHERE record = 1 AND line = 1",
            "record 1: its amounts are not those it was written with",
        ),
    ] {
        let changed = folder.path().join("changed.sqlite");
        fs::copy(&place, &changed).expect("copied");
        let plain = Connection::open(&changed).expect("a database");
        plain.pragma_update(None, "foreign_keys", false).expect("set");
        let sql: Vec<String> = names
            .iter()
            .map(|name| plain.query_row(&trigger(name), [], |row| row.get(0)).expect("a trigger"))
            .collect();
        names.iter().for_each(|name| {
            plain.execute_batch(&format!("DROP TRIGGER {name}")).expect("dropped");
        });
        plain.execute_batch(change).expect("changed");
        sql.iter().for_each(|sql| plain.execute_batch(sql).expect("put back"));
        drop(plain);
        let checked = Ledger::open(&changed).and_then(|ledger| ledger.check()).expect(what);
        assert!(checked.problems[0].contains(told), "{what}: {:?}", checked.problems);
    }
}

#[test]
fn seals_can_be_computed_from_outside() {
    let (_folder, place, mut ledger) = begun();
    let kept = added(&mut ledger, "a", "2026-06-08", 1.0);
    // The command sha256sum over what is sealed: 64 zeros, then each column with its length.
    let sql = "SELECT '1:' || id || '-' || '-' || length(CAST(state AS BLOB)) || ':' || state || length(written) || ':' || written || length(property) || ':' || property || length(application) || ':' || application || length(day) || ':' || day || length(keep_until) || ':' || keep_until || length(CAST(document AS BLOB)) || ':' || document FROM records";
    let Some(Ok(columns)) = outside(&place, sql) else { return };
    let text = format!("{}{columns}", "0".repeat(64));
    let mut child = match Command::new("sha256sum")
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
    {
        Ok(child) => child,
        Err(_) => return,
    };
    std::io::Write::write_all(&mut child.stdin.take().expect("its input"), text.as_bytes())
        .expect("handed");
    let said = child.wait_with_output().expect("a sum").stdout;
    assert_eq!(String::from_utf8_lossy(&said).split(' ').next(), Some(kept.seal.as_str()));
}
