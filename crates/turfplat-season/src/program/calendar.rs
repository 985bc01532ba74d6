//! Dates for other people's calendars: iCalendar, RFC 5545. A program that is reckoned anew replaces
//! its earlier dates there and does not double them, so each event's UID hangs on what it is about,
//! never on its day or on the clock.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

/// One day of a calendar.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarEvent {
    /// What it is about, such as property, application and round: two events of one calendar that are
    /// about the same would be one.
    pub about: Vec<String>,
    /// The day; the event lasts all of it.
    pub day: Date,
    /// In one line.
    pub summary: String,
    /// What else to know, in lines.
    pub description: String,
    /// Where; empty where nobody says.
    pub location: String,
}

/// No line is longer, in bytes, its end left out. Source: RFC 5545 §3.1.
const LONGEST_LINE: usize = 75;

/// The calendar as text, its lines ended by CR and LF.
///
/// * `stamp`: when it was made (DTSTAMP, RFC 5545 §3.8.7.2). It is handed in, so that the same program
///   is the same text.
pub fn calendar(name: &str, events: &[CalendarEvent], stamp: Timestamp) -> String {
    let stamp = stamp.to_zoned_datetime(TimeZone::UTC).strftime("%Y%m%dT%H%M%SZ").to_string();
    let mut text = String::new();
    let mut add = |line: &str| fold(line, &mut text);
    add("BEGIN:VCALENDAR");
    add("VERSION:2.0");
    add("PRODID:-//turfplat//season//EN");
    add("CALSCALE:GREGORIAN");
    // RFC 7986 §5.1.
    add(&format!("NAME:{}", escaped(name)));
    for event in events {
        add("BEGIN:VEVENT");
        add(&format!("UID:{}", uid(&event.about)));
        add(&format!("DTSTAMP:{stamp}"));
        // An event of a date without an end lasts that day (RFC 5545 §3.6.1).
        add(&format!("DTSTART;VALUE=DATE:{}", event.day.strftime("%Y%m%d")));
        add(&format!("SUMMARY:{}", escaped(&event.summary)));
        if !event.description.is_empty() {
            add(&format!("DESCRIPTION:{}", escaped(&event.description)));
        }
        if !event.location.is_empty() {
            add(&format!("LOCATION:{}", escaped(&event.location)));
        }
        // The day stays free for other things.
        add("TRANSP:TRANSPARENT");
        add("END:VEVENT");
    }
    add("END:VCALENDAR");
    text
}

/// A text as a value: RFC 5545 §3.3.11. Signs that no text may hold are left out.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for sign in text.replace("\r\n", "\n").chars() {
        match sign {
            '\\' => escaped.push_str("\\\\"),
            ';' => escaped.push_str("\\;"),
            ',' => escaped.push_str("\\,"),
            '\n' => escaped.push_str("\\n"),
            '\t' => escaped.push(sign),
            sign if sign.is_control() => {}
            sign => escaped.push(sign),
        }
    }
    escaped
}

/// Adds a line, folded: what goes on begins with a blank, which counts towards its length.
fn fold(line: &str, text: &mut String) {
    let mut length = 0;
    for sign in line.chars() {
        // Letters are never cut apart.
        if length + sign.len_utf8() > LONGEST_LINE {
            text.push_str("\r\n ");
            length = 1;
        }
        text.push(sign);
        length += sign.len_utf8();
    }
    text.push_str("\r\n");
}

/// A name of 128 bits for what an event is about: the same on every machine and in every run.
/// Source: FNV-1a, 128 bits (Fowler, Noll, Vo; draft-eastlake-fnv).
fn uid(about: &[String]) -> String {
    const OFFSET: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
    const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
    // A zero after each part: "a", "bc" is not "ab", "c".
    let bytes = about.iter().flat_map(|part| part.bytes().chain([0]));
    let hash = bytes.fold(OFFSET, |hash, byte| (hash ^ u128::from(byte)).wrapping_mul(PRIME));
    format!("{hash:032x}-turfplat-season")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_folded_between_letters() {
        let fold_of = |line: &str| {
            let mut text = String::new();
            fold(line, &mut text);
            text
        };
        assert_eq!(fold_of(&"a".repeat(75)), format!("{}\r\n", "a".repeat(75)));
        assert_eq!(fold_of(&"a".repeat(76)), format!("{}\r\n a\r\n", "a".repeat(75)));
        // 74 bytes and a letter of two: it goes on the next line whole.
        let line = format!("{}é", "a".repeat(74));
        assert_eq!(fold_of(&line), format!("{}\r\n é\r\n", "a".repeat(74)));
        // What goes on has room for 74 after its blank.
        let text = fold_of(&"a".repeat(75 + 74 + 1));
        let lengths: Vec<usize> = text.lines().map(str::len).collect();
        assert_eq!(lengths, [75, 75, 2]);
    }

    #[test]
    fn texts_are_escaped_as_the_standard_says() {
        // RFC 5545 §3.3.11 gives the description of a project of three lines with a comma so.
        let text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared, please; C:\\";
        let printed =
            "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared\\, please\\; C:\\\\";
        assert_eq!(escaped(text), printed);
        assert_eq!(escaped("a\r\nb\u{7}\u{1b}c"), "a\\nbc");
    }

    #[test]
    fn the_hash_is_the_published_one() {
        // draft-eastlake-fnv: of nothing the offset; of a byte 0 it is offset × prime.
        assert_eq!(uid(&[]), "6c62272e07bb014262b821756295c58d-turfplat-season");
        let (a, b) = (vec!["a".to_owned(), "bc".to_owned()], vec!["ab".to_owned(), "c".to_owned()]);
        assert_ne!(uid(&a), uid(&b));
    }
}
