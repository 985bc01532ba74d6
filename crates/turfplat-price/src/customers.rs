//! Why customers stand in a file of their own: a map is handed on, and what a neighbor's telephone
//! number is is nobody's business but the office's.

use std::collections::BTreeMap;

use serde::Deserialize;
use toml::Spanned;
use turfplat_money::{Decimal, read_decimal};

use crate::error::{PriceError, did_you_mean, line_at, meant_field};
use crate::list_file::{Price, Words, Written};

/// Whose property it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Customer {
    /// Their name.
    pub name: String,
    /// Line by line.
    pub address: Vec<String>,
    /// Telephone, mail and the like, each on its own.
    pub contact: Vec<String>,
    /// How far one visit is driven, and in which unit: `mile` or `km`.
    pub distance: Option<(Decimal, &'static str)>,
}

/// Customers by the id of their property.
#[derive(Clone, Debug, Default)]
pub struct Customers {
    by_property: BTreeMap<String, Customer>,
    /// Columns of the file that mean nothing here and were passed over.
    pub not_read: Vec<String>,
}

/// What is read of a customer.
const COLUMNS: [&str; 6] = ["property", "name", "address", "contact", "miles", "km"];

impl Customers {
    /// Reads a customers file: TOML where its name ends in `.toml`, else a table parted by commas with
    /// the columns property, name, address, contact, miles and km. Lines of an address and several
    /// contacts are parted by semicolons or line breaks there, and stand in arrays of TOML.
    ///
    /// # Errors
    ///
    /// [`PriceError::NotCustomers`] of what is no such file, and [`PriceError::CustomerRow`] with the
    /// line and the cure.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Customers, PriceError> {
        let not = |reason: String| PriceError::NotCustomers { file: file.to_owned(), reason };
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let line = bytes.iter().take(error.valid_up_to()).filter(|b| **b == b'\n').count() + 1;
            not(format!("line {line} is not UTF-8; save the file as UTF-8"))
        })?;
        let text = text.trim_start_matches('\u{feff}');
        if file.to_lowercase().ends_with(".toml") {
            Customers::of_toml(file, text)
        } else {
            Customers::of_table(file, text)
        }
    }

    /// The customer of a property.
    pub fn of(&self, property: &str) -> Option<&Customer> {
        self.by_property.get(property)
    }

    /// The ids of all properties in the file, in their order.
    pub fn properties(&self) -> impl Iterator<Item = &str> {
        self.by_property.keys().map(String::as_str)
    }

    fn add(
        &mut self,
        file: &str,
        line: impl Fn() -> usize,
        property: &str,
        customer: Customer,
    ) -> Result<(), PriceError> {
        let wrong = |reason: String| {
            let (file, line) = (file.to_owned(), line());
            PriceError::CustomerRow { file, line, reason }
        };
        if property.is_empty() {
            return Err(wrong("property is empty; write the property's id on the map".to_owned()));
        }
        if self.by_property.insert(property.to_owned(), customer).is_some() {
            return Err(wrong(format!(
                "property {property:?} stands here again; keep one row of it"
            )));
        }
        Ok(())
    }

    fn of_table(file: &str, text: &str) -> Result<Customers, PriceError> {
        let not = |reason: String| PriceError::NotCustomers { file: file.to_owned(), reason };
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
        let header = reader.headers().map_err(|error| not(error.to_string()))?.clone();
        let columns: Vec<String> =
            header.iter().map(|column| column.trim().to_lowercase()).collect();
        if !columns.iter().any(|column| column == "property") {
            let meant = columns.iter().map(|column| did_you_mean(column, ["property"]));
            let meant = meant.zip(header.iter()).find(|(meant, _)| !meant.is_empty());
            let meant =
                meant.map_or_else(String::new, |(_, column)| format!("; {column:?} may be meant"));
            let parted = if text.lines().next().is_some_and(|first| first.contains(';')) {
                "; the columns seem to be parted by semicolons, and commas are read"
            } else {
                ""
            };
            return Err(not(format!(
                "line 1: no column \"property\"{meant}{parted}; the columns are {}",
                COLUMNS.join(", ")
            )));
        }
        let mut customers = Customers::default();
        for (place, column) in columns.iter().enumerate() {
            let row =
                |reason: String| PriceError::CustomerRow { file: file.to_owned(), line: 1, reason };
            if columns.iter().take(place).any(|other| other == column) && !column.is_empty() {
                return Err(row(format!("column {column:?} stands here twice; keep one")));
            }
            if !COLUMNS.contains(&column.as_str()) {
                let meant = did_you_mean(column, COLUMNS);
                if !meant.is_empty() {
                    return Err(row(format!(
                        "column {column:?} is not known{meant}; rename it, also where another is meant"
                    )));
                }
                customers.not_read.extend(header.get(place).map(str::to_owned));
            }
        }
        for record in reader.records() {
            let record = record.map_err(|error| not(error.to_string()))?;
            let line = record.position().map_or(0, |at| usize::try_from(at.line()).unwrap_or(0));
            let row =
                |reason: String| PriceError::CustomerRow { file: file.to_owned(), line, reason };
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if record.len() > columns.len() {
                return Err(row(format!(
                    "{} cells under {} columns; put a cell that has a comma in quotes",
                    record.len(),
                    columns.len()
                )));
            }
            let cell = |name: &str| {
                let place = columns.iter().position(|column| column == name);
                place.and_then(|place| record.get(place)).unwrap_or_default().trim()
            };
            let customer = Customer {
                name: cell("name").to_owned(),
                address: parted(cell("address")),
                contact: parted(cell("contact")),
                distance: distance(cell("miles"), cell("km")).map_err(row)?,
            };
            customers.add(file, || line, cell("property"), customer)?;
        }
        Ok(customers)
    }

    fn of_toml(file: &str, text: &str) -> Result<Customers, PriceError> {
        let table: CustomersFile = toml::from_str(text).map_err(|error| {
            let reason =
                format!("{}{}", error.to_string().trim_end(), meant_field(error.message()));
            PriceError::NotCustomers { file: file.to_owned(), reason }
        })?;
        let mut customers = Customers::default();
        for said in table.customer {
            let start = said.span().start;
            // Counted for a refusal only: from the file's start for each row, thousands take minutes.
            let line = || line_at(text, start);
            let said = said.into_inner();
            let written = |price: Option<Price>| price.map_or_else(String::new, |it| it.written());
            let (miles, km) = (written(said.miles), written(said.km));
            let distance = distance(miles.trim(), km.trim()).map_err(|reason| {
                PriceError::CustomerRow { file: file.to_owned(), line: line(), reason }
            })?;
            let customer = Customer {
                name: said.name.unwrap_or_default(),
                address: said.address.into_vec(),
                contact: said.contact.into_vec(),
                distance,
            };
            customers.add(file, line, said.property.trim(), customer)?;
        }
        Ok(customers)
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CustomersFile {
    #[serde(default)]
    customer: Vec<Spanned<CustomerTable>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CustomerTable {
    property: String,
    name: Option<String>,
    #[serde(default)]
    address: Words,
    #[serde(default)]
    contact: Words,
    miles: Option<Price>,
    km: Option<Price>,
}

/// The parts of a cell.
fn parted(cell: &str) -> Vec<String> {
    let parts = cell.split([';', '\n']).map(str::trim).filter(|part| !part.is_empty());
    parts.map(str::to_owned).collect()
}

fn distance(miles: &str, km: &str) -> Result<Option<(Decimal, &'static str)>, String> {
    let (text, unit) = match (miles, km) {
        ("", "") => return Ok(None),
        (miles, "") => (miles, "mile"),
        ("", km) => (km, "km"),
        _ => return Err("miles and km are both given; keep one".to_owned()),
    };
    let most = Decimal::from(10_000);
    let read = read_decimal(text).filter(|it| *it <= most && it.scale() <= 3);
    let word = if unit == "mile" { "miles" } else { "km" };
    let read = read.ok_or_else(|| {
        format!("{word}: {text:?} is no distance up to {most}; write what one visit is driven, such as 12.5")
    })?;
    Ok(Some((read.normalize(), unit)))
}
