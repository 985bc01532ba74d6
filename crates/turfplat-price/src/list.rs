use jiff::{ToSpan, civil};
use turfplat_money::{Currency, Decimal, Halves};
use turfplat_units::AreaUnit;

use crate::error::{Place, PriceError, cure, did_you_mean, line_at, meant_field};
use crate::list_file::{BusinessTable, ListFile};
use crate::list_reader::Reader;
use crate::quote::Line;
use crate::tax::Tax;
use crate::tiers::{Tier, TiersAre};

/// What work costs, with all texts read.
#[derive(Clone, Debug)]
pub struct PriceList {
    /// The file's name, for messages.
    pub file: String,
    /// The one currency of all its prices.
    pub currency: Currency,
    /// Where half of the smallest amount goes when a line is rounded.
    pub halves: Halves,
    /// What of a prices per area are per.
    pub per: AreaUnit,
    /// Who quotes.
    pub business: Business,
    /// Printed as they are, line by line.
    pub terms: Vec<String>,
    /// In file order.
    pub services: Vec<Service>,
    pub(crate) valid_days: u32,
    pub(crate) total_to: Option<Decimal>,
    pub(crate) minimum_per_visit: Option<Decimal>,
    pub(crate) travel: Travel,
    pub(crate) per_hour: Option<Decimal>,
    pub(crate) prepay: Option<Prepay>,
    pub(crate) taxes: Vec<Tax>,
}

/// Who quotes, as the price list says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[allow(missing_docs)] // The field names say it.
pub struct Business {
    pub name: Option<String>,
    pub address: Vec<String>,
    pub contact: Vec<String>,
    /// The license to apply for hire.
    pub license: Option<String>,
}

/// What is done for a price.
#[derive(Clone, Debug, PartialEq)]
pub struct Service {
    /// As it is printed.
    pub name: String,
    /// The area that it prices.
    pub basis: Basis,
    /// How often it is done where no job says so.
    pub visits: u32,
    /// The line of the list, from 1, on which it begins.
    pub(crate) line: usize,
    pub(crate) applications: Vec<Named>,
    pub(crate) products: Vec<Named>,
    pub(crate) tiers: Vec<Tier>,
    pub(crate) tiers_are: TiersAre,
    pub(crate) per_application: Option<Decimal>,
    pub(crate) product: Option<ProductPrice>,
    pub(crate) labor: bool,
}

/// An application or a product that a service is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Named {
    pub(crate) name: String,
    /// Where the list names it.
    pub(crate) at: Place,
}

impl Named {
    pub(crate) fn is(&self, other: &str) -> bool {
        self.name.to_lowercase() == other.to_lowercase()
    }
}

/// Which area is priced.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Basis {
    /// What is left after setbacks.
    #[default]
    Treated,
    /// What is left after beds, buildings and the like, before any setback.
    Net,
    /// The turf as it is drawn.
    Gross,
    /// The whole lot, turf or not.
    Lot,
}

impl Basis {
    pub(crate) const ALL: [Basis; 4] = [Basis::Treated, Basis::Net, Basis::Gross, Basis::Lot];

    /// As a price list writes it.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Treated => "treated",
            Basis::Net => "net",
            Basis::Gross => "gross",
            Basis::Lot => "lot",
        }
    }

    /// For customers.
    pub fn meaning(self) -> &'static str {
        match self {
            Basis::Treated => "treated turf, less beds, buildings and setbacks",
            Basis::Net => "turf less beds and buildings",
            Basis::Gross => "turf as drawn",
            Basis::Lot => "the whole lot",
        }
    }
}

/// What of a product's cost is charged, and with which margin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ProductPrice {
    pub(crate) by: ProductBy,
    /// In per cent of the cost.
    pub(crate) margin: Decimal,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum ProductBy {
    /// What goes on the turf.
    #[default]
    Share,
    /// Every container that is bought for the season.
    Container,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Travel {
    pub(crate) per_visit: Option<Decimal>,
    /// A price per mile or kilometre.
    pub(crate) per_distance: Option<(Decimal, &'static str)>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Prepay {
    /// In per cent of the season.
    pub(crate) discount: Decimal,
    pub(crate) due: Due,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Due {
    On(civil::Date),
    After(u32),
    WhileValid,
}

/// The days that stand on a quote, as 2026-06-08.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuoteDay {
    /// On which it is made.
    pub day: String,
    /// The last on which it holds.
    pub valid_until: String,
    /// Until when the season must be paid for the discount; `None` where there is none.
    pub prepay_due: Option<String>,
}

impl PriceList {
    /// Quantities of area are counted in this step of `per`: a square foot, 4 square feet of acres, a
    /// tenth of a square metre, a square metre of hectares.
    pub(crate) fn decimals_of_area(&self) -> u32 {
        decimals_of(self.per)
    }

    /// Reads a price list.
    ///
    /// # Errors
    ///
    /// [`PriceError`]: the first thing that cannot be used, with its line, its key and the cure.
    pub fn read(file: &str, text: &str) -> Result<PriceList, PriceError> {
        let text = text.trim_start_matches('\u{feff}');
        let table: ListFile = toml::from_str(text).map_err(|error| {
            let meant = meant_field(error.message());
            let at = error.span().map_or(0, |span| line_at(text, span.start));
            let line = text.lines().nth(at.saturating_sub(1)).unwrap_or_default();
            let cure = cure(error.message(), line);
            let reason = format!("{}{meant}{cure}", error.to_string().trim_end());
            PriceError::NotAList { file: file.to_owned(), reason }
        })?;
        let missing = |key: &str, write| PriceError::Missing {
            file: file.to_owned(),
            key: key.to_owned(),
            write,
        };
        let code = table.currency.ok_or_else(|| missing("currency", "currency = \"USD\""))?;
        let place = |key: &str, at: usize| Place {
            file: file.to_owned(),
            line: line_at(text, at),
            key: key.to_owned(),
        };
        let currency = Currency::read(code.get_ref()).ok_or_else(|| PriceError::NotACurrency {
            at: place("currency", code.span().start),
            text: code.get_ref().clone(),
        })?;
        let reader = Reader { file, text, currency };
        let per = match &table.per {
            None => AreaUnit::ThousandSquareFeet,
            Some(said) => reader.word("per", said, PER.map(|unit| (unit.name(), unit)))?,
        };
        let halves = match &table.halves {
            None => Halves::Up,
            Some(said) => {
                reader.word("halves", said, [("up", Halves::Up), ("even", Halves::Even)])?
            }
        };
        let total_to = reader.payable("total_to", &table.total_to)?;
        if let (Some(step), Some(said)) = (total_to, &table.total_to)
            && step.is_zero()
        {
            return Err(PriceError::NoStep { at: reader.place("total_to", said) });
        }
        let valid_days = match &table.valid_days {
            None => DEFAULT_VALID_DAYS,
            Some(days) => reader.days("valid_days", days)?,
        };
        let minimum_per_visit = reader.payable("minimum_per_visit", &table.minimum_per_visit)?;
        let travel = table.travel.as_ref().map(|travel| reader.travel(travel)).transpose()?;
        let travel = travel.unwrap_or_default();
        let per_hour = table.labor.as_ref();
        let per_hour =
            per_hour.map(|labor| reader.price("labor.per_hour", &labor.per_hour)).transpose()?;
        let prepay = table.prepay.as_ref();
        let prepay = prepay.map(|prepay| reader.prepay(prepay, valid_days)).transpose()?;
        let mut taxes: Vec<Tax> = Vec::new();
        for table in &table.tax {
            let tax = reader.tax(table.get_ref())?;
            if taxes.iter().any(|other| other.name.to_lowercase() == tax.name.to_lowercase()) {
                let at = reader.place("tax.name", &table.get_ref().name);
                return Err(PriceError::SameName { at, what: "tax" });
            }
            taxes.push(tax);
        }
        let services = reader.services(&table.service, per, per_hour)?;
        Ok(PriceList {
            file: file.to_owned(),
            currency,
            halves,
            per,
            business: business(table.business),
            terms: table.terms.into_vec(),
            services,
            valid_days,
            total_to,
            minimum_per_visit,
            travel,
            per_hour,
            prepay,
            taxes,
        })
    }

    /// The days of a quote that is made on `day`, as 2026-06-08.
    ///
    /// # Errors
    ///
    /// [`PriceError::NotAQuoteDay`], [`PriceError::DueBefore`] where the day for paying ahead is over,
    /// and [`PriceError::DueAfter`] where the quote no longer holds on it.
    pub fn on(&self, day: &str) -> Result<QuoteDay, PriceError> {
        let read =
            read_day(day).ok_or_else(|| PriceError::NotAQuoteDay { text: day.to_owned() })?;
        let later = |days: u32| read.saturating_add(i64::from(days).days());
        let valid_until = later(self.valid_days);
        let due = self.prepay.as_ref().map(|prepay| match prepay.due {
            Due::On(due) => due,
            Due::After(days) => later(days),
            Due::WhileValid => valid_until,
        });
        if let Some(due) = due.filter(|due| *due < read) {
            let (due, day) = (due.to_string(), read.to_string());
            return Err(PriceError::DueBefore { file: self.file.clone(), due, day });
        }
        if let Some(due) = due.filter(|due| *due > valid_until) {
            let valid_days = read.until(due).map_or(0, |span| span.get_days());
            return Err(PriceError::DueAfter {
                file: self.file.clone(),
                due: due.to_string(),
                valid_until: valid_until.to_string(),
                valid_days,
            });
        }
        Ok(QuoteDay {
            day: read.to_string(),
            valid_until: valid_until.to_string(),
            prepay_due: due.map(|due| due.to_string()),
        })
    }

    /// The service of an application: the one that names it, else the one that names a product of
    /// it, else the one that names nothing.
    pub fn service_of(&self, application: &str, products: &[&str]) -> Option<&Service> {
        let by_name =
            |service: &&Service| service.applications.iter().any(|named| named.is(application));
        let by_product = |service: &&Service| {
            service.products.iter().any(|named| products.iter().any(|product| named.is(product)))
        };
        let services = || self.services.iter();
        services()
            .find(by_name)
            .or_else(|| services().find(by_product))
            .or_else(|| services().find(|service| service.is_default()))
    }

    /// What services name and nothing is called: products that are not among `known` ids, and with a
    /// job, of which the names of applications and ids of products are handed in, what it does not
    /// have. One list may serve many jobs, so each is a finding and no refusal.
    pub fn unmatched(&self, known: &[&str], job: Option<(&[&str], &[&str])>) -> Vec<PriceError> {
        let has = |all: &[&str], named: &Named| all.iter().any(|one| named.is(one));
        let mut found = Vec::new();
        for service in &self.services {
            for named in &service.applications {
                let Some((applications, _)) = job.filter(|(all, _)| !has(all, named)) else {
                    continue;
                };
                let (at, text) = (named.at.clone(), named.name.clone());
                let meant = did_you_mean(&text, applications.iter().copied());
                found.push(PriceError::UnknownApplication { at, text, meant });
            }
            for named in &service.products {
                let (at, text) = (named.at.clone(), named.name.clone());
                let of_job = job.map(|(_, products)| products);
                if of_job.is_some_and(|products| has(products, named)) {
                    continue;
                }
                let meant = |all: &[&str]| did_you_mean(&text, all.iter().copied());
                if has(known, named) {
                    let Some(products) = of_job else { continue };
                    let meant = meant(products);
                    found.push(PriceError::NotInTheJob { at, text, meant });
                } else {
                    let all = [of_job.unwrap_or_default(), known].concat();
                    let meant = meant(&all);
                    found.push(PriceError::UnknownProduct { at, text, meant });
                }
            }
        }
        found
    }

    /// The taxes that are on a line, each as `Sales tax 5.5 %`.
    pub fn taxes_on(&self, line: &Line) -> Vec<String> {
        let on = self.taxes.iter().filter(|tax| tax.is_on(line));
        on.map(|tax| format!("{} {} %", tax.name, tax.percent)).collect()
    }
}

impl Service {
    /// True of the service of all applications that no other names.
    pub fn is_default(&self) -> bool {
        self.applications.is_empty() && self.products.is_empty()
    }
}

/// So long a quote holds where the list does not say; a choice of this tool.
const DEFAULT_VALID_DAYS: u32 = 30;

/// What prices per area may be per.
const PER: [AreaUnit; 4] = [
    AreaUnit::ThousandSquareFeet,
    AreaUnit::Acre,
    AreaUnit::HundredSquareMetres,
    AreaUnit::Hectare,
];

pub(crate) fn decimals_of(per: AreaUnit) -> u32 {
    match per {
        AreaUnit::Acre | AreaUnit::Hectare => 4,
        _ => 3,
    }
}

pub(crate) fn read_day(text: &str) -> Option<civil::Date> {
    let bytes = text.as_bytes();
    let shaped = bytes.len() == 10
        && bytes.iter().enumerate().all(|(at, byte)| match at {
            4 | 7 => *byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    text.parse::<civil::Date>().ok().filter(|day| shaped && day.year() > 0)
}

fn business(table: BusinessTable) -> Business {
    Business {
        name: table.name,
        address: table.address.into_vec(),
        contact: table.contact.into_vec(),
        license: table.license,
    }
}
