//! Why a state's time and a label's are both kept on a notice: the longer of the two governs where a clock
//! can tell which that is. A day's end and some hours can be compared only from a time of day on, and
//! "until dry" with nothing: then all are printed, and whoever stands there keeps the last of them.

use jiff::{ToSpan, civil};

use crate::date::Day;
use crate::label::Hours;
use crate::posting::{KeepOff, PostingRule};
use crate::product::Product;

/// A day and a time of it, by the clock of the place. A clock that is put on or back meanwhile is not
/// known here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(civil::DateTime);

impl Moment {
    /// A day, and a time written `10:30`; `None` of any other text.
    pub fn read(day: Day, time: &str) -> Option<Moment> {
        let (hour, minute) = time.split_once(':')?;
        let is_two = |text: &str| text.len() == 2 && text.bytes().all(|it| it.is_ascii_digit());
        let at = (is_two(hour) && is_two(minute))
            .then(|| civil::Time::new(hour.parse().ok()?, minute.parse().ok()?, 0, 0).ok())??;
        Some(Moment(day.date().to_datetime(at)))
    }

    /// The first moment of a day.
    fn start_of(day: Day) -> Moment {
        Moment(day.date().to_datetime(civil::Time::midnight()))
    }

    /// So much later, to the next whole minute; the last moment of the year 9999 beyond it.
    fn after(self, hours: Hours) -> Moment {
        // More minutes than there are in the calendar, and fewer than a span may hold.
        let minutes = (60.0 * hours.hours()).ceil().clamp(0.0, 5e9) as i64;
        Moment(self.0.saturating_add(minutes.minutes()))
    }

    /// As `2026-06-08T10:30` (ISO 8601).
    pub fn iso(self) -> String {
        self.0.strftime("%Y-%m-%dT%H:%M").to_string()
    }
}

impl std::fmt::Display for Moment {
    /// `2026-06-08 10:30`; the start of a day is the day alone.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let pattern =
            if self.0.time() == civil::Time::midnight() { "%Y-%m-%d" } else { "%Y-%m-%d %H:%M" };
        write!(f, "{}", self.0.strftime(pattern))
    }
}

/// When a treatment ends, as far as it is known.
#[derive(Clone, Copy, Debug, Default)]
pub struct TreatedAt {
    /// The day.
    pub day: Option<Day>,
    /// The moment on that day.
    pub end: Option<Moment>,
}

/// What one source says of how long people keep off.
#[derive(Clone, Debug, PartialEq)]
pub struct KeepOffSaid {
    /// `New York, ECL 33-1003`, or `the product file of` a product.
    pub by: String,
    /// What it says.
    pub time: KeepOff,
    /// Until when that is, where the treatment's day or end is known.
    pub until: Option<Moment>,
}

/// How long people keep off treated turf.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KeptOff {
    /// What is said, the state first, then the products in order.
    pub said: Vec<KeepOffSaid>,
    /// Which of `said` is the longest; `None` where that cannot be told.
    pub governs: Option<usize>,
    /// Names of pesticides whose product file does not say when people may go back.
    pub not_given: Vec<String>,
}

impl KeptOff {
    /// What a rule and the labels of some products say, and which of it governs.
    pub fn of(rule: Option<&PostingRule>, products: &[&Product], treated: TreatedAt) -> KeptOff {
        let of_rule = rule.and_then(|rule| {
            let source = rule.provenance.source.as_deref().unwrap_or("source not given");
            Some((format!("{}, {source}", rule.state_name), rule.keep_off.clone()?))
        });
        let of_products = products.iter().filter_map(|product| {
            let time = KeepOff::read(product.label.reentry.as_deref()?)?;
            Some((format!("the product file of {}", product.name), time))
        });
        let said = of_rule.into_iter().chain(of_products).map(|(by, time)| {
            let until = match &time {
                KeepOff::Hours(hours) => treated.end.map(|end| end.after(*hours)),
                KeepOff::NextDay => treated.day.map(|day| Moment::start_of(day.plus_days(1))),
                KeepOff::Words(_) => None,
            };
            KeepOffSaid { by, time, until }
        });
        let said: Vec<KeepOffSaid> = said.collect();
        let silent = products.iter().filter(|it| it.is_pesticide() && it.label.reentry.is_none());
        KeptOff {
            governs: longest(&said),
            said,
            not_given: silent.map(|product| product.name.clone()).collect(),
        }
    }

    /// Until when people keep off by the clock, where that is known.
    pub fn until(&self) -> Option<Moment> {
        self.said.get(self.governs?)?.until
    }

    /// For a notice: `until 2026-06-09 10:30`, or `24 h from the end of the treatment`; with all that no
    /// clock can tell behind it. `None` where nobody says anything.
    pub fn words(&self) -> Option<String> {
        self.in_words(" from the end of the treatment")
    }

    /// As [`KeptOff::words`], where it is known that hours are counted from the end: `24 h`.
    pub fn short_words(&self) -> Option<String> {
        self.in_words("")
    }

    fn in_words(&self, from: &str) -> Option<String> {
        let clocked = |it: &KeepOffSaid| match (&it.time, it.until) {
            (_, Some(until)) => format!("until {until}"),
            (KeepOff::Hours(hours), None) => format!("{hours}{from}"),
            (time, None) => time.to_string(),
        };
        let mut parts: Vec<String> = match self.governs.and_then(|place| self.said.get(place)) {
            Some(governs) => vec![clocked(governs)],
            None => self.said.iter().filter(|it| it.is_clocked()).map(clocked).collect(),
        };
        for words in self.said.iter().filter(|it| !it.is_clocked()) {
            let words = words.time.to_string();
            if !parts.contains(&words) {
                parts.push(words);
            }
        }
        let which = if parts.len() > 1 { ", whichever is last" } else { "" };
        (!parts.is_empty()).then(|| format!("{}{which}", parts.join(", and ")))
    }
}

impl KeepOffSaid {
    fn is_clocked(&self) -> bool {
        !matches!(self.time, KeepOff::Words(_))
    }
}

/// The place of the longest time; `None` where there is none or where nothing tells.
fn longest(said: &[KeepOffSaid]) -> Option<usize> {
    let clocked = || said.iter().enumerate().filter(|(_, it)| it.is_clocked());
    if clocked().all(|(_, it)| it.until.is_some()) {
        return first_of_most(clocked().map(|(place, it)| (place, it.until)));
    }
    let hours = |it: &KeepOffSaid| match it.time {
        KeepOff::Hours(hours) => Some(hours.hours()),
        KeepOff::NextDay | KeepOff::Words(_) => None,
    };
    let most = first_of_most(clocked().filter_map(|(place, it)| Some((place, hours(it)?))));
    let next_day = clocked().find(|(_, it)| it.time == KeepOff::NextDay).map(|(place, _)| place);
    match (most, next_day) {
        (most, None) => most,
        (None, next_day) => next_day,
        // Whenever a treatment ends, 24 h later it is the next day.
        (Some(place), Some(_)) => {
            said.get(place).and_then(hours).filter(|it| *it >= 24.0).map(|_| place)
        }
    }
}

fn first_of_most<T: PartialOrd>(all: impl Iterator<Item = (usize, T)>) -> Option<usize> {
    let most = all.reduce(|most, next| if next.1 > most.1 { next } else { most });
    most.map(|(place, _)| place)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::products;
    use crate::posting::find_posting_rule;

    fn product(reentry: Option<&str>) -> Product {
        let mut product = products()
            .iter()
            .find(|it| it.is_pesticide())
            .expect("a pesticide in the catalogue")
            .clone();
        product.label.reentry = reentry.map(str::to_owned);
        product.name = "Mine".to_owned();
        product
    }

    fn kept(state: &str, reentry: Option<&str>, day: Option<&str>, time: Option<&str>) -> KeptOff {
        let day = day.map(|day| Day::read(day).expect("a day"));
        let end = day.zip(time).map(|(day, time)| Moment::read(day, time).expect("a time"));
        let product = product(reentry);
        let rule = find_posting_rule(state).expect("a known state");
        KeptOff::of(Some(rule), &[&product], TreatedAt { day, end })
    }

    #[test]
    fn the_longer_governs_where_a_clock_can_tell() {
        // Worked by hand. The state of the row, the label, day and end of the treatment; what is printed.
        #[rustfmt::skip]
        let table = [
            ("NY", Some("12 h"), Some("2026-06-08"), Some("10:30"), "until 2026-06-09 10:30"),
            ("NY", Some("2 days"), Some("2026-06-08"), Some("10:30"), "until 2026-06-10 10:30"),
            ("NY", Some("12 h"), None, None, "24 h from the end of the treatment"),
            ("NY", Some("48 hours"), Some("2026-06-08"), None, "48 h from the end of the treatment"),
            // Of 14:00 twelve hours are beyond midnight; of 10:00 they are not.
            ("IN", Some("12 h"), Some("2026-06-08"), Some("14:00"), "until 2026-06-09 02:00"),
            ("IN", Some("12 h"), Some("2026-06-08"), Some("10:00"), "until 2026-06-09"),
            ("IN", Some("24 h"), Some("2026-06-08"), None, "24 h from the end of the treatment"),
            ("IN", Some("12 h"), None, None, "until the next day, and 12 h from the end of the treatment, whichever is last"),
            ("IN", None, Some("2026-12-31"), None, "until 2027-01-01"),
            ("IL", Some("4 h"), Some("2028-02-28"), Some("22:15"), "until 2028-02-29 02:15, and until dry, whichever is last"),
            ("NY", Some("when the spray has dried"), Some("2026-06-08"), Some("00:00"), "until 2026-06-09, and when the spray has dried, whichever is last"),
            ("IL", Some("until dry"), None, None, "until dry"),
        ];
        for (state, label, day, time, printed) in table {
            let kept = kept(state, label, day, time);
            assert_eq!(
                kept.words().as_deref(),
                Some(printed),
                "{state} {label:?} {day:?} {time:?}"
            );
        }
    }

    #[test]
    fn silence_is_told_and_is_no_permission() {
        let silent = kept("WI", None, Some("2026-06-08"), Some("10:30"));
        assert_eq!((silent.words(), silent.until()), (None, None));
        assert_eq!(silent.not_given, ["Mine"]);
    }

    #[test]
    fn times_of_a_day_are_as_clocks_show_them() {
        let day = Day::read("2026-06-08").expect("a day");
        for wrong in ["24:00", "10:60", "9:30", "10.30", "10:30:00", "+1:30", ""] {
            assert_eq!(Moment::read(day, wrong), None, "{wrong}");
        }
        assert_eq!(
            Moment::read(day, "09:05").map(Moment::iso).as_deref(),
            Some("2026-06-08T09:05")
        );
    }
}
