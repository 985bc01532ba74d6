//! Why which fields a record must have is a table: each place asks for others, laws change, and a user
//! must see who asks. A field that nobody asks for may stay open; one that is asked for and open keeps
//! a record a draft.

use std::sync::LazyLock;

use jiff::ToSpan;
use jiff::civil::Date;
use serde::Deserialize;
use turfplat_units::nearest;

use crate::error::LedgerError;
use crate::record::Record;

/// A thing that a record says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // The words below say it.
pub enum Field {
    Date,
    Time,
    TimeCompleted,
    Location,
    Site,
    ProductName,
    Registration,
    Amount,
    Area,
    Rate,
    Applicator,
    License,
    Uncertified,
    Company,
    CompanyAddress,
    CustomerName,
    CustomerAddress,
    Operator,
    Purpose,
    Method,
    Temperature,
    Wind,
    WindFrom,
    Incidents,
}

impl Field {
    /// Each with its name in the table, the key of a form that gives it, and words.
    #[rustfmt::skip]
    const ALL: [(Field, &'static str, &'static str, &'static str); 24] = [
        (Field::Date, "date", "date", "day of the application"),
        (Field::Time, "time", "started", "time of day"),
        (Field::TimeCompleted, "time-completed", "ended", "time when the application was completed"),
        (Field::Location, "location", "location", "where it is"),
        (Field::Site, "site", "site", "what was treated"),
        (Field::ProductName, "product-name", "name", "name of the product"),
        (Field::Registration, "registration", "registration", "registration number of the product (\"none\" if it has none)"),
        (Field::Amount, "amount", "amount", "amount of the product"),
        (Field::Area, "area", "area", "area treated"),
        (Field::Rate, "rate", "amount and area", "rate"),
        (Field::Applicator, "applicator", "applicator", "name of the certified applicator"),
        (Field::License, "license", "license", "number of license or certificate"),
        (Field::Uncertified, "uncertified", "uncertified", "who applied under supervision (\"none\" if nobody did)"),
        (Field::Company, "company", "company", "name of the company"),
        (Field::CompanyAddress, "company-address", "company_address", "address of the company"),
        (Field::CustomerName, "customer-name", "customer", "name of the customer"),
        (Field::CustomerAddress, "customer-address", "customer_address", "address of the customer"),
        (Field::Operator, "operator", "customer", "operator of the property"),
        (Field::Purpose, "purpose", "purpose", "target pest or purpose"),
        (Field::Method, "method", "method", "method or equipment"),
        (Field::Temperature, "temperature", "temperature", "temperature"),
        (Field::Wind, "wind", "wind", "wind speed"),
        (Field::WindFrom, "wind-from", "wind_from", "wind direction"),
        (Field::Incidents, "incidents", "incidents", "incidents (\"none\" if there were none)"),
    ];

    fn row(self) -> (&'static str, &'static str, &'static str) {
        let row = Field::ALL.iter().find(|(field, ..)| *field == self);
        row.map_or(("", "", ""), |(_, name, key, words)| (name, key, words))
    }

    /// Its name in the table, such as `wind-from`.
    pub fn name(self) -> &'static str {
        self.row().0
    }

    /// The key of a form that gives it, such as `wind_from`.
    pub fn key(self) -> &'static str {
        self.row().1
    }

    /// The same in words.
    pub fn words(self) -> &'static str {
        self.row().2
    }

    fn named(name: &str) -> Option<Field> {
        Field::ALL.iter().find(|(_, of_row, ..)| *of_row == name).map(|(field, ..)| *field)
    }

    /// Of what `record` leaves open of this field: one text for each product or load, else one.
    fn open_in(self, record: &Record) -> Vec<String> {
        let whole = |is_open: bool| if is_open { vec![String::new()] } else { Vec::new() };
        let products = |is_open: &dyn Fn(&crate::record::Product) -> bool| {
            let open = record.products.iter().filter(|product| is_open(product));
            open.map(|product| product.id.clone()).collect()
        };
        let loads = || record.loads.iter().enumerate();
        let amounts = || {
            let of_load = |(place, load): (usize, &crate::record::Load)| {
                let open = load.products.iter().filter(|put| put.amount.is_none());
                open.map(|put| format!("{} in load {}", put.product, place + 1)).collect::<Vec<_>>()
            };
            let open: Vec<String> = loads().flat_map(of_load).collect();
            let unsaid = |product: &&crate::record::Product| {
                !record.loads.iter().flat_map(|it| &it.products).any(|it| it.product == product.id)
            };
            let none = record.products.iter().filter(unsaid).map(|product| product.id.clone());
            open.into_iter().chain(none).collect::<Vec<_>>()
        };
        let areas = || {
            let of_load = |(place, load): (usize, &crate::record::Load)| {
                let open = load.done.iter().filter(|done| done.area.is_none());
                let mut open: Vec<String> =
                    open.map(|done| format!("{} in load {}", done.zone, place + 1)).collect();
                if load.done.is_empty() {
                    open.push(format!("load {}", place + 1));
                }
                open
            };
            let none = record.loads.is_empty().then(String::new);
            loads().flat_map(of_load).chain(none).collect::<Vec<_>>()
        };
        match self {
            Field::Date => Vec::new(),
            Field::Time => whole(record.started.is_none() && record.ended.is_none()),
            Field::TimeCompleted => whole(record.ended.is_none()),
            Field::Location => whole(record.location.is_none()),
            Field::Site => whole(record.site.is_none()),
            Field::ProductName => products(&|product| product.name.is_none()),
            Field::Registration => products(&|product| product.registration.is_none()),
            Field::Amount => amounts(),
            Field::Area => areas(),
            Field::Rate => amounts().into_iter().chain(areas()).collect(),
            Field::Applicator => whole(record.applicator.name.is_none()),
            Field::License => whole(record.applicator.license.is_none()),
            Field::Uncertified => whole(record.applicator.uncertified.is_none()),
            Field::Company => whole(record.applicator.company.is_none()),
            Field::CompanyAddress => whole(record.applicator.company_address.is_none()),
            Field::CustomerName | Field::Operator => {
                whole(record.customer.as_ref().is_none_or(|it| it.name.is_none()))
            }
            Field::CustomerAddress => {
                whole(record.customer.as_ref().is_none_or(|it| it.address.is_none()))
            }
            Field::Purpose => whole(record.purpose.is_none()),
            Field::Method => whole(record.method.is_none()),
            Field::Temperature => whole(record.weather.temperature.is_none()),
            Field::Wind => whole(record.weather.wind.is_none()),
            Field::WindFrom => whole(record.weather.wind_from.is_none()),
            Field::Incidents => whole(record.incidents.is_none()),
        }
    }
}

/// Whose records a list is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Applies {
    /// Everybody's.
    Always,
    /// Those of work for hire, and of work of which nobody says whether it is.
    Hired,
    /// Those of its place.
    Place,
}

/// The fields that one law asks for.
#[derive(Clone, Debug)]
pub struct FieldList {
    /// Its id, such as `minnesota`.
    pub id: String,
    /// Its name in words.
    pub name: String,
    /// Whose records it is for.
    pub applies: Applies,
    /// What it asks for.
    pub fields: Vec<Field>,
    /// How many years a record is kept from the day of the application.
    pub years_kept: i16,
    /// `V` read in the named source, `V2` in a secondary one, `M` from memory.
    pub years_status: String,
    /// Conditions to be read, not weighed here.
    pub conditions: Option<String>,
    /// Where it stands.
    pub source: String,
    /// When it was read.
    pub read: String,
    /// As `years_status`, of the fields.
    pub status: String,
}

#[derive(Deserialize)]
struct Row {
    id: String,
    name: String,
    applies: Applies,
    fields: String,
    years_kept: i16,
    years_status: String,
    conditions: Option<String>,
    source: String,
    read: String,
    status: String,
}

static LISTS: LazyLock<Vec<FieldList>> = LazyLock::new(|| {
    let text = include_str!("../../../data/record-fields.csv");
    let rows = csv::Reader::from_reader(text.as_bytes()).into_deserialize::<Row>();
    let list = |row: Row| FieldList {
        id: row.id,
        name: row.name,
        applies: row.applies,
        fields: row.fields.split("; ").filter_map(Field::named).collect(),
        years_kept: row.years_kept,
        years_status: row.years_status,
        conditions: row.conditions,
        source: row.source,
        read: row.read,
        status: row.status,
    };
    // The table is ours; a test reads every row and every field of it.
    rows.filter_map(Result::ok).map(list).collect()
});

/// The letters of states that have a list: USPS Publication 28, Appendix B (from memory).
const LETTERS: [(&str, &str); 6] = [
    ("mn", "minnesota"),
    ("ny", "new-york"),
    ("ca", "california"),
    ("nc", "north-carolina"),
    ("ga", "georgia"),
    ("fl", "florida"),
];

impl FieldList {
    /// All that are known.
    pub fn all() -> &'static [FieldList] {
        &LISTS
    }

    /// Those that a record of `places` is held to: of each place that has one, and the federal ones.
    pub fn of(places: &[String], hired: Option<bool>) -> Vec<&'static FieldList> {
        let applies = |list: &&FieldList| match list.applies {
            Applies::Always => true,
            Applies::Hired => hired != Some(false),
            Applies::Place => places.contains(&list.id),
        };
        LISTS.iter().filter(applies).collect()
    }

    /// The id of the place of which a user speaks by id or name.
    ///
    /// # Errors
    ///
    /// [`LedgerError::NoPlace`] of one that has no list here, with the nearest name.
    pub fn place(word: &str) -> Result<&'static str, LedgerError> {
        let folded = word.trim().to_lowercase().replace([' ', '_'], "-");
        let places = || LISTS.iter().filter(|list| list.applies == Applies::Place);
        let by_letters = LETTERS.iter().find(|(letters, _)| *letters == folded).map(|(_, id)| *id);
        let found = places().find(|list| Some(list.id.as_str()) == by_letters || list.id == folded);
        found.map(|list| list.id.as_str()).ok_or_else(|| {
            let known: Vec<&str> = places().map(|list| list.id.as_str()).collect();
            let hint = match nearest(&folded, known.iter().copied()) {
                Some(near) => format!("did you mean {near:?}?"),
                None => format!(
                    "known are {}; of another place ask there what a record needs",
                    known.join(", ")
                ),
            };
            LedgerError::NoPlace { name: word.to_owned(), hint }
        })
    }

    /// The list that holds in a place of a job: its own, or of one below a state, such as
    /// `neptune-beach-fl`, the state's.
    pub fn of_jurisdiction(id: &str) -> Option<&'static str> {
        let state = || FieldList::place(id.rsplit_once('-')?.1).ok();
        FieldList::place(id).ok().or_else(state)
    }

    /// Until when a record of `date` is kept after this list.
    pub fn keep_until(&self, date: Date) -> Date {
        date.saturating_add(i32::from(self.years_kept).years())
    }
}

/// A field that is asked for and left open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Missing {
    /// Which.
    pub field: Field,
    /// Of which product, load or zone, where it is not of the record as a whole.
    pub of: Vec<String>,
    /// Ids of the lists that ask for it.
    pub asked_by: Vec<&'static str>,
}

/// What `record` leaves open of what the lists of its places ask for; nothing of a complete one.
pub fn missing(record: &Record) -> Vec<Missing> {
    let lists = FieldList::of(&record.places, record.hired);
    let one = |field: Field| {
        let asks = lists.iter().filter(|list| list.fields.contains(&field));
        let asked_by: Vec<&'static str> = asks.map(|list| list.id.as_str()).collect();
        let mut of = if asked_by.is_empty() { Vec::new() } else { field.open_in(record) };
        if of.is_empty() {
            return None;
        }
        of.retain(|it| !it.is_empty());
        Some(Missing { field, of, asked_by })
    };
    Field::ALL.iter().filter_map(|(field, ..)| one(*field)).collect()
}

/// Until when a record is kept: the longest of its lists.
pub fn keep_until(record: &Record) -> Date {
    let lists = FieldList::of(&record.places, record.hired);
    lists.iter().map(|list| list.keep_until(record.date)).max().unwrap_or(record.date)
}

/// Takes out of `record` what of the customer no list asks for: a name may be asked for without an address.
pub(crate) fn forget_unasked(record: &mut Record) {
    let lists = FieldList::of(&record.places, record.hired);
    let is_asked = |field: Field| lists.iter().any(|list| list.fields.contains(&field));
    let name = is_asked(Field::CustomerName) || is_asked(Field::Operator);
    let address = is_asked(Field::CustomerAddress);
    if let Some(mut customer) = record.customer.take() {
        customer.name = customer.name.filter(|_| name);
        customer.address = customer.address.filter(|_| address);
        let is_left = customer.name.is_some() || customer.address.is_some();
        record.customer = is_left.then_some(customer);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_and_field_of_the_table_is_read() {
        let text = include_str!("../../../data/record-fields.csv");
        assert_eq!(LISTS.len(), text.lines().count() - 1);
        for (list, line) in LISTS.iter().zip(text.lines().skip(1)) {
            let semicolons = line.matches("; ").count();
            assert_eq!(list.fields.len(), semicolons + 1, "{}: a field of no name", list.id);
            assert!(!list.source.is_empty() && !list.read.is_empty(), "{}", list.id);
        }
    }

    #[test]
    fn the_longest_time_counts() {
        // 7 CFR 110.3 and 40 CFR 171.303: two years; New York three (secondary).
        let record = |places: &[&str]| {
            let mut record = crate::record::tests::record();
            record.places = places.iter().map(|&it| it.to_owned()).collect();
            keep_until(&record).to_string()
        };
        assert_eq!(record(&[]), "2028-06-08");
        assert_eq!(record(&["florida"]), "2028-06-08");
        assert_eq!(record(&["florida", "new-york"]), "2029-06-08");
        assert_eq!(record(&["minnesota"]), "2031-06-08");
    }

    #[test]
    fn a_place_is_asked_for_by_its_nearest_name() {
        assert_eq!(FieldList::place("New York").expect("known"), "new-york");
        for (letters, id) in LETTERS {
            assert_eq!(FieldList::place(&letters.to_uppercase()).expect(letters), id);
        }
        assert_eq!(FieldList::of_jurisdiction("neptune-beach-fl"), Some("florida"));
        assert_eq!(FieldList::of_jurisdiction("maine"), None);
        assert_eq!(FieldList::of_jurisdiction("suffolk-county-me"), None);
        let error = FieldList::place("minesota").expect_err("a slip").to_string();
        assert!(error.contains("did you mean \"minnesota\"?"), "{error}");
        assert!(FieldList::place("federal").is_err(), "is no place");
        assert!(FieldList::place("maine").is_err(), "has no list here");
    }

    #[test]
    fn what_is_open_is_named_with_who_asks() {
        let mut record = crate::record::tests::record();
        assert_eq!(missing(&record), []);
        record.weather.wind = None;
        record.hired = Some(true);
        record.loads[0].products[0].amount = None;
        let open = missing(&record);
        let told: Vec<_> = open.iter().map(|it| (it.field, it.of.join(", "))).collect();
        // Minnesota asks for the rate, the federal lists for the amount.
        let amount = "trinexapac-ethyl-1-ec in load 1".to_owned();
        assert_eq!(
            told,
            [(Field::Amount, amount.clone()), (Field::Rate, amount), (Field::Wind, String::new())]
        );
        assert_eq!(open[2].asked_by, ["minnesota"]);
        assert_eq!(open[0].asked_by, ["federal", "federal-hired"]);
    }
}
