//! Why a writer is killed a thousand times: an acknowledged record is evidence from that moment on. The
//! test starts itself as the writer, which says each number once its record is kept, and kills it
//! (SIGKILL on Unix) at a moment that a seeded generator chooses.
//!
//! What this cannot show is a power cut: the system lives on and writes what it was handed. That each
//! record is on the disk before it is acknowledged is read from the calls of a writer, where the command
//! `strace` is there and may watch.

mod common;

use std::collections::HashSet;
use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::sync::mpsc::{Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use jiff::Timestamp;
use rusqlite::Connection;
use turfplat_ledger::{Ledger, Query, Step};

const LIVES: u32 = 1000;
const SEED: u64 = 0x7475_7266;
const PLACE: &str = "TURFPLAT_TEST_LEDGER";
const NAME: &str = "TURFPLAT_TEST_WRITER";

/// What a life does: records until somebody ends it. Run by the other tests alone.
#[test]
#[ignore = "is started by the tests beside it"]
fn writer() {
    let (Some(place), Ok(name)) = (std::env::var_os(PLACE), std::env::var(NAME)) else { return };
    let most: u32 = name.rsplit_once('*').map_or(u32::MAX, |(_, it)| it.parse().expect("a count"));
    let mut out = std::io::stdout();
    let mut ledger = Ledger::open_or_begin(place.as_ref()).expect("a ledger");
    for number in 0..most {
        let note = format!("{name}/{number}");
        let record = common::record("14-alder-lane", "2026-06-08", 2.0, &note);
        ledger.append(record, &Step::New, Timestamp::now()).expect("kept");
        writeln!(out, "kept {note}").and_then(|()| out.flush()).expect("told");
    }
}

fn start(place: &std::path::Path, name: &str) -> std::process::Child {
    Command::new(std::env::current_exe().expect("this test"))
        .args(["--exact", "writer", "--ignored", "--nocapture", "--test-threads=1"])
        .env(PLACE, place)
        .env(NAME, name)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("a writer")
}

/// The notes of records that a writer acknowledged; half a line is no acknowledgment. Says once when the
/// first was read.
fn acknowledged(out: impl std::io::Read, first: &Sender<()>) -> Vec<String> {
    let mut out = BufReader::new(out);
    let mut all = Vec::new();
    loop {
        // A killed writer may have left half a letter.
        let mut line = Vec::new();
        let length = out.read_until(b'\n', &mut line).expect("what it said");
        if length == 0 || line.pop() != Some(b'\n') {
            return all;
        }
        // The harness writes its own words before the first on the same line.
        let line = String::from_utf8_lossy(&line);
        if let Some((_, note)) = line.split_once("kept ") {
            all.push(note.to_owned());
            if all.len() == 1 {
                // Nobody may be waiting.
                let _ = first.send(());
            }
        }
    }
}

/// A generator whose numbers are the same everywhere (splitmix64, Steele, Lea and Flood 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
}

#[test]
fn a_thousand_killed_writers_lose_nothing_that_was_acknowledged() {
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("records.sqlite");
    let mut chance = Chance(SEED);
    let mut all: HashSet<String> = HashSet::new();
    let (mut half_done, mut silent) = (0, 0);
    for life in 0..LIVES {
        let mut child = start(&place, &life.to_string());
        let out = child.stdout.take().expect("its words");
        let (first, first_said) = channel();
        let reader = thread::spawn(move || acknowledged(out, &first));
        // Every second dies somewhere between its start and some records later; the others once they
        // have acknowledged one, so that a busy machine does not leave all of them without any.
        let moment = Duration::from_micros(chance.next() % 8_000);
        if life % 2 == 0 {
            // One that says nothing dies all the same.
            let _ = first_said.recv_timeout(Duration::from_secs(10));
        }
        let begun = Instant::now();
        while begun.elapsed() < moment {
            thread::sleep(Duration::from_micros(50));
        }
        child.kill().expect("killed");
        child.wait().expect("gone");
        let said = reader.join().expect("read");
        silent += u32::from(said.is_empty());
        // A journal that is not empty: it died in the middle of a transaction.
        let journal = folder.path().join("records.sqlite-journal");
        half_done += u32::from(journal.metadata().is_ok_and(|it| it.len() > 0));
        all.extend(said);
        // The next life finds the file as this one left it; a look now would repair it before.
        if life % 100 == 99 {
            look(&place, &all, life);
        }
    }
    look(&place, &all, LIVES);
    // A test in which nobody dies at work shows nothing.
    assert!(all.len() > 300, "only {} records were acknowledged", all.len());
    assert!(half_done > 20, "only {half_done} died in a transaction");
    assert!(silent < LIVES * 9 / 10, "{silent} died before the first record");
}

/// Holds the ledger to all that was ever acknowledged.
fn look(place: &std::path::Path, all: &HashSet<String>, life: u32) {
    if !place.exists() {
        assert!(all.is_empty(), "life {life}: the ledger is gone");
        return;
    }
    let ledger = Ledger::open_or_begin(place).expect("a ledger");
    let kept = ledger.find(&Query { all: true, ..Query::default() }).expect("records");
    let notes: HashSet<&str> = kept.iter().filter_map(|it| it.record.note.as_deref()).collect();
    assert_eq!(notes.len(), kept.len(), "life {life}: a record is there twice");
    let lost: Vec<&String> = all.iter().filter(|note| !notes.contains(note.as_str())).collect();
    assert!(lost.is_empty(), "life {life}: lost {lost:?}");
    let checked = ledger.check().expect("a check");
    assert!(checked.problems.is_empty(), "life {life}: {:?}", checked.problems);
    assert_eq!(checked.records, kept.len());
    // And by SQLite alone.
    let plain = Connection::open(place).expect("a database");
    let said: String =
        plain.query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("a check");
    assert_eq!(said, "ok", "life {life}");
}

#[test]
fn two_processes_at_once_lose_nothing() {
    const EACH: usize = 200;
    let folder = tempfile::tempdir().expect("a folder");
    let place = folder.path().join("records.sqlite");
    // Both begin the file too.
    let mut children: Vec<_> =
        ["a", "b"].map(|name| start(&place, &format!("{name}*{EACH}"))).into();
    let readers: Vec<_> = children
        .iter_mut()
        .map(|child| child.stdout.take().expect("its words"))
        .map(|out| thread::spawn(move || acknowledged(out, &channel().0)))
        .collect();
    let mut all = HashSet::new();
    for (child, reader) in children.iter_mut().zip(readers) {
        assert!(child.wait().expect("an end").success());
        let said = reader.join().expect("read");
        assert_eq!(said.len(), EACH);
        all.extend(said);
    }
    look(&place, &all, 0);
    let ledger = Ledger::open(&place).expect("a ledger");
    let kept = ledger.find(&Query::default()).expect("records");
    assert_eq!(kept.len(), 2 * EACH);
    let turns = kept
        .windows(2)
        .filter(|two| {
            two[0].record.note.as_ref().map(|it| it.as_bytes()[0])
                != two[1].record.note.as_ref().map(|it| it.as_bytes()[0])
        })
        .count();
    assert!(turns > 0, "they never wrote at once");
}

#[test]
fn every_record_is_synced_before_it_is_acknowledged() {
    const EACH: usize = 5;
    let folder = tempfile::tempdir().expect("a folder");
    let (place, calls) = (folder.path().join("records.sqlite"), folder.path().join("calls"));
    let watched = Command::new("strace")
        .args(["-f", "-y", "-e", "trace=pwrite64,ftruncate,fsync,fdatasync,write", "-o"])
        .arg(&calls)
        .arg(std::env::current_exe().expect("this test"))
        .args(["--exact", "writer", "--ignored", "--nocapture", "--test-threads=1"])
        .env(PLACE, &place)
        .env(NAME, format!("watched*{EACH}"))
        .output();
    let watched = watched.is_ok_and(|ran| ran.status.success());
    let Some(calls) = std::fs::read_to_string(&calls).ok().filter(|_| watched) else { return };
    // Of ledger and journal what was written and not synced since.
    let (mut ledger, mut journal) = (false, false);
    let mut acknowledged = 0;
    for call in calls.lines() {
        let of_journal = call.contains("records.sqlite-journal>");
        let of_ledger = call.contains("records.sqlite>");
        let is_sync = call.contains("fsync(") || call.contains("fdatasync(");
        let is_change = call.contains("pwrite64(") || call.contains("ftruncate(");
        for (is_of_it, open) in [(of_journal, &mut journal), (of_ledger, &mut ledger)] {
            if is_of_it && (is_sync || is_change) {
                *open = is_change;
            }
        }
        if call.contains("write(1") && call.contains("kept watched") {
            assert!(!ledger && !journal, "acknowledged before it was synced: {call}");
            acknowledged += 1;
        }
    }
    assert_eq!(acknowledged, EACH, "{calls}");
}
