//! A calendar read back by somebody else's library.

use icalendar::parser::{read_calendar, unfold};
use jiff::Timestamp;
use jiff::civil::date;
use turfplat_season::{CalendarEvent, calendar};

fn events() -> Vec<CalendarEvent> {
    let event = |round: usize, day, summary: &str, description: &str| CalendarEvent {
        about: vec!["12 Main St".to_owned(), "Growth".to_owned(), round.to_string()],
        day,
        summary: summary.to_owned(),
        description: description.to_owned(),
        location: "12 Main St; rear, left".to_owned(),
    };
    vec![
        event(1, date(2026, 4, 15), "Growth 1: Front, Back", "0.6 fl oz/1000 sq ft\n\tC:\\season"),
        event(2, date(2026, 5, 13), &"Größe – długa nazwa é".repeat(9), ""),
        event(3, date(2026, 12, 31), "", "ends in a back slash \\"),
    ]
}

fn stamp() -> Timestamp {
    "2026-03-01T12:30:05Z".parse().expect("a time")
}

#[test]
fn another_library_reads_what_was_written() {
    let (events, written) = (events(), calendar("Season, 2026", &events(), stamp()));
    let unfolded = unfold(&written);
    let read = read_calendar(&unfolded).expect("it reads it");
    let of_calendar = |name: &str| {
        let found = read.properties.iter().find(|it| it.name == name);
        found.map(|it| it.val.to_string())
    };
    assert_eq!(of_calendar("VERSION").as_deref(), Some("2.0"));
    assert!(of_calendar("PRODID").is_some());
    // Of properties that are newer than the standard the library leaves escapes in.
    assert_eq!(of_calendar("NAME").as_deref(), Some(r"Season\, 2026"));
    assert_eq!(read.components.len(), events.len());
    for (component, event) in read.components.iter().zip(&events) {
        assert_eq!(component.name, "VEVENT");
        // The library takes escapes out itself.
        let raw = |name: &str| component.find_prop(name).map(|it| it.val.to_string());
        let text = |name: &str| raw(name).unwrap_or_default();
        assert_eq!(text("SUMMARY"), event.summary);
        assert_eq!(text("DESCRIPTION"), event.description);
        assert_eq!(text("LOCATION"), event.location);
        assert_eq!(
            raw("DTSTART").as_deref(),
            Some(event.day.strftime("%Y%m%d").to_string().as_str())
        );
        let of_date = component.find_prop("DTSTART").expect("it has one");
        assert!(of_date.params.iter().any(|it| it.key == "VALUE"));
        // RFC 5545 §3.8.7.2: in UTC.
        assert_eq!(raw("DTSTAMP").as_deref(), Some("20260301T123005Z"));
    }
}

#[test]
fn lines_are_short_and_end_as_the_standard_says() {
    let written = calendar("Season", &events(), stamp());
    assert!(written.ends_with("END:VCALENDAR\r\n"));
    assert!(!written.replace("\r\n", "").contains(['\r', '\n']));
    for line in written.split("\r\n") {
        assert!(line.len() <= 75, "{} bytes: {line}", line.len());
    }
}

#[test]
fn an_event_keeps_its_name_when_its_day_changes() {
    let uids = |events: &[CalendarEvent], stamp| -> Vec<String> {
        let written = calendar("Season", events, stamp);
        written.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect()
    };
    let (before, mut moved) = (events(), events());
    for event in &mut moved {
        event.day = event.day.yesterday().expect("a day");
        event.summary.push('!');
    }
    let later = "2026-04-01T00:00:00Z".parse().expect("a time");
    let names = uids(&before, stamp());
    assert_eq!(names, uids(&moved, later));
    let mut unique = names.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), names.len());
    moved[0].about[0] = "14 Main St".to_owned();
    assert_ne!(names[0], uids(&moved, later)[0]);
}
