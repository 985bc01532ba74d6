use jiff::{ToSpan, civil};
use toml::Spanned;
use turfplat_money::{Currency, Decimal, Halves, Money, quantity, read_decimal};
use turfplat_units::{Area, AreaUnit};

use crate::error::{Place, PriceError, did_you_mean, line_at, meant_field};
use crate::list_file::{
    BusinessTable, ListFile, Percent, PrepayTable, Price, ServiceTable, TaxTable, TierTable,
    Written,
};
use crate::quote::{Line, LineKind, border_words};
use crate::tax::{Tax, TaxPer};
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
    pub(crate) applications: Vec<String>,
    pub(crate) products: Vec<String>,
    pub(crate) tiers: Vec<Tier>,
    pub(crate) tiers_are: TiersAre,
    pub(crate) per_application: Option<Decimal>,
    pub(crate) product: Option<ProductPrice>,
    pub(crate) labor: bool,
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
    const ALL: [Basis; 4] = [Basis::Treated, Basis::Net, Basis::Gross, Basis::Lot];

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
    due: Due,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Due {
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
            let reason =
                format!("{}{}", error.to_string().trim_end(), meant_field(error.message()));
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
        let total_to = total_to.filter(|step| !step.is_zero());
        let valid_days = match &table.valid_days {
            None => DEFAULT_VALID_DAYS,
            Some(days) => reader.days("valid_days", days)?,
        };
        let minimum_per_visit = reader.payable("minimum_per_visit", &table.minimum_per_visit)?;
        let travel = match &table.travel {
            None => Travel::default(),
            Some(travel) => Travel {
                per_visit: reader.optional_price("travel.per_visit", &travel.per_visit)?,
                per_distance: match (&travel.per_mile, &travel.per_km) {
                    (None, None) => None,
                    (Some(mile), None) => Some((reader.price("travel.per_mile", mile)?, "mile")),
                    (None, Some(km)) => Some((reader.price("travel.per_km", km)?, "km")),
                    (Some(_), Some(km)) => {
                        let at = reader.place("travel", km);
                        return Err(PriceError::OneOfTwo { at, one: "per_mile", other: "per_km" });
                    }
                },
            },
        };
        let per_hour = table.labor.as_ref();
        let per_hour =
            per_hour.map(|labor| reader.price("labor.per_hour", &labor.per_hour)).transpose()?;
        let prepay = table.prepay.as_ref().map(|prepay| reader.prepay(prepay)).transpose()?;
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
    /// [`PriceError::NotAQuoteDay`], and [`PriceError::DueBefore`] where the day for paying ahead is
    /// over.
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
        Ok(QuoteDay {
            day: read.to_string(),
            valid_until: valid_until.to_string(),
            prepay_due: due.map(|due| due.to_string()),
        })
    }

    /// The service of an application: the one that names it, else the one that names a product of
    /// it, else the one that names nothing.
    pub fn service_of(&self, application: &str, products: &[&str]) -> Option<&Service> {
        let is = |one: &str, other: &str| one.to_lowercase() == other.to_lowercase();
        let by_name =
            |service: &&Service| service.applications.iter().any(|named| is(named, application));
        let by_product = |service: &&Service| {
            service.products.iter().any(|named| products.iter().any(|product| is(named, product)))
        };
        let services = || self.services.iter();
        services()
            .find(by_name)
            .or_else(|| services().find(by_product))
            .or_else(|| services().find(|service| service.is_default()))
    }

    /// The taxes that are on a line, each as `Sales tax 5.5 %`.
    pub fn taxes_on(&self, line: &Line) -> Vec<String> {
        let on = self.taxes.iter().filter(|tax| tax.is_on(line));
        on.map(|tax| format!("{} {} %", tax.name, tax.percent)).collect()
    }

    /// A service in a line: what it is for, by which area, and its prices.
    pub fn describe(&self, service: &Service) -> String {
        let print = |price: Decimal| self.currency.print(price);
        let per = self.per.name();
        let named: Vec<&str> =
            service.applications.iter().chain(&service.products).map(String::as_str).collect();
        let of = match named.as_slice() {
            [] => "all other applications".to_owned(),
            named => named.join(", "),
        };
        let tiers = service.tiers.iter().map(|tier| match tier.up_to {
            Some(border) => {
                format!("{} / {per} up to {}", print(tier.price), border_words(border, self.per))
            }
            None if service.tiers.len() > 1 => format!("{} beyond", print(tier.price)),
            None => format!("{} / {per}", print(tier.price)),
        });
        let mut parts: Vec<String> = tiers.collect();
        if service.tiers.len() > 1 {
            parts.push(match service.tiers_are {
                TiersAre::Marginal => "each its own part".to_owned(),
                TiersAre::Whole => "one for the whole area".to_owned(),
            });
        }
        parts.extend(service.per_application.map(|it| format!("{} an application", print(it))));
        parts.extend(service.product.map(|product| match product.by {
            ProductBy::Share => format!("product by share + {} %", product.margin),
            ProductBy::Container => format!("product by container + {} %", product.margin),
        }));
        let per_hour = self.per_hour.filter(|_| service.labor);
        parts.extend(per_hour.map(|it| format!("labor {} an hour", print(it))));
        let basis = service.basis.meaning();
        format!("{} ({of}), by {basis}: {}", service.name, parts.join(", "))
    }

    /// How amounts come about, for whoever adds them up; each a sentence.
    pub fn how_it_is_counted(&self) -> Vec<String> {
        let currency = self.currency;
        let step = Decimal::new(1, self.decimals_of_area());
        let mut said = vec![
            format!(
                "areas are counted to {step} × {}, hours to 0.01; every line is quantity × unit price, rounded once to {} ({})",
                self.per.name(),
                currency.print(currency.smallest()),
                self.halves.words(),
            ),
            "subtotals are sums of rounded lines".to_owned(),
        ];
        said.extend(self.taxes.iter().map(Tax::how_it_is_counted));
        if let Some(step) = self.total_to {
            let (step, halves) = (currency.print(step), self.halves.words());
            said.push(format!("totals are rounded to {step} ({halves})"));
        }
        if self.services.iter().any(|service| service.tiers.len() > 1) {
            let both = |are: TiersAre| {
                self.services.iter().any(|one| one.tiers.len() > 1 && one.tiers_are == are)
            };
            if both(TiersAre::Marginal) {
                said.push("each tier prices its own part of the area of a service on a visit, zone after zone".to_owned());
            }
            if both(TiersAre::Whole) {
                said.push("of tiers for the whole area, the one into which all zones together fall prices all of them".to_owned());
            }
        }
        if self.services.iter().any(|service| service.product.is_some()) {
            said.push("products are charged at what they cost and a margin, by what goes on the turf or by the container, as the line says".to_owned());
        }
        if self.minimum_per_visit.is_some() {
            said.push("the minimum of a visit holds before travel and tax".to_owned());
        }
        if self.prepay.is_some() {
            said.push("the discount for paying ahead is taken off the season's subtotal, and taxes are counted on what is left, once".to_owned());
        }
        said
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

fn decimals_of(per: AreaUnit) -> u32 {
    match per {
        AreaUnit::Acre | AreaUnit::Hectare => 4,
        _ => 3,
    }
}

fn read_day(text: &str) -> Option<civil::Date> {
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

struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    currency: Currency,
}

impl Reader<'_> {
    fn place<T>(&self, key: &str, said: &Spanned<T>) -> Place {
        let line = line_at(self.text, said.span().start);
        Place { file: self.file.to_owned(), line, key: key.to_owned() }
    }

    fn price(&self, key: &str, said: &Spanned<Price>) -> Result<Decimal, PriceError> {
        let text = said.get_ref().written();
        let not_money = || PriceError::NotMoney { at: self.place(key, said), text: text.clone() };
        let money = Money::read(&text).ok_or_else(not_money)?;
        let currency = money.currency();
        let same = currency.is_empty()
            || currency == self.currency.code()
            || self.currency.has_sign(&currency);
        if !same {
            let (at, currency) = (self.place(key, said), self.currency.code());
            return Err(PriceError::OtherCurrency { at, text, currency });
        }
        Ok(money.value().normalize())
    }

    fn optional_price(
        &self,
        key: &str,
        said: &Option<Spanned<Price>>,
    ) -> Result<Option<Decimal>, PriceError> {
        said.as_ref().map(|said| self.price(key, said)).transpose()
    }

    /// A price that is an amount of its own, and not multiplied before it is paid.
    fn payable(
        &self,
        key: &str,
        said: &Option<Spanned<Price>>,
    ) -> Result<Option<Decimal>, PriceError> {
        let Some(said) = said else { return Ok(None) };
        let price = self.price(key, said)?;
        if self.currency.round(price, Halves::Up) != price {
            return Err(PriceError::NotPayable {
                at: self.place(key, said),
                text: said.get_ref().written(),
                currency: self.currency.code(),
                smallest: self.currency.smallest().to_string(),
            });
        }
        Ok(Some(price))
    }

    /// Reads `8.25 %` as 8.25.
    fn percent(
        &self,
        key: &str,
        said: &Spanned<Percent>,
        most: u32,
    ) -> Result<Decimal, PriceError> {
        let text = said.get_ref().written();
        let figure = text.trim().strip_suffix('%').and_then(|figure| read_decimal(figure.trim()));
        let figure = figure.filter(|it| *it <= Decimal::from(most) && it.scale() <= 6);
        figure.map(|it| it.normalize()).ok_or_else(|| PriceError::NotAPercentage {
            at: self.place(key, said),
            text,
            most,
        })
    }

    fn word<T: Copy, const N: usize>(
        &self,
        key: &str,
        said: &Spanned<String>,
        known: [(&'static str, T); N],
    ) -> Result<T, PriceError> {
        let text = said.get_ref();
        let found = known.iter().find(|(word, _)| word == text);
        found.map(|(_, what)| *what).ok_or_else(|| PriceError::UnknownWord {
            at: self.place(key, said),
            text: text.clone(),
            meant: did_you_mean(text, known.iter().map(|(word, _)| *word)),
            known: known.map(|(word, _)| word).join(", "),
        })
    }

    fn days(&self, key: &str, said: &Spanned<i64>) -> Result<u32, PriceError> {
        const MOST: i64 = 3650;
        let days = *said.get_ref();
        let fits = u32::try_from(days).ok().filter(|_| (1..=MOST).contains(&days));
        let at = self.place(key, said);
        fits.ok_or(PriceError::DaysOutOfRange { at, days, least: 1, most: MOST })
    }

    fn name(&self, key: &str, said: &Spanned<String>) -> Result<String, PriceError> {
        let name = said.get_ref().trim();
        if name.is_empty() {
            let at = self.place(key, said);
            return Err(PriceError::Empty { at, write: "what is to be printed" });
        }
        Ok(name.to_owned())
    }

    fn prepay(&self, said: &Spanned<PrepayTable>) -> Result<Prepay, PriceError> {
        let table = said.get_ref();
        let discount = self.percent("prepay.discount", &table.discount, 100)?;
        let due = match (&table.due, &table.due_days) {
            (None, None) => Due::WhileValid,
            (Some(due), None) => {
                let text = due.get_ref().written();
                Due::On(read_day(&text).ok_or_else(|| PriceError::NotADay {
                    at: self.place("prepay.due", due),
                    text: text.clone(),
                })?)
            }
            (None, Some(days)) => Due::After(self.days("prepay.due_days", days)?),
            (Some(due), Some(_)) => {
                let at = self.place("prepay", due);
                return Err(PriceError::OneOfTwo { at, one: "due", other: "due_days" });
            }
        };
        Ok(Prepay { discount, due })
    }

    fn tax(&self, table: &TaxTable) -> Result<Tax, PriceError> {
        let name = self.name("tax.name", &table.name)?;
        let key = |part: &str| format!("tax {name:?}, {part}");
        let percent = self.percent(&key("rate"), &table.rate, 100)?;
        let per = match &table.per {
            None => TaxPer::Visit,
            Some(said) => self.word(
                &key("per"),
                said,
                [("visit", TaxPer::Visit), ("line", TaxPer::Line), ("quote", TaxPer::Quote)],
            )?,
        };
        let on = match &table.on {
            None => LineKind::ALL.to_vec(),
            Some(kinds) => kinds
                .iter()
                .map(|said| {
                    self.word(&key("on"), said, LineKind::ALL.map(|kind| (kind.word(), kind)))
                })
                .collect::<Result<_, _>>()?,
        };
        Ok(Tax { name, percent, on, per })
    }

    fn services(
        &self,
        tables: &[Spanned<ServiceTable>],
        per: AreaUnit,
        per_hour: Option<Decimal>,
    ) -> Result<Vec<Service>, PriceError> {
        let mut services: Vec<Service> = Vec::new();
        for said in tables {
            let table = said.get_ref();
            let service = self.service(table, said, per, per_hour)?;
            let folded = |text: &str| text.to_lowercase();
            if services.iter().any(|other| folded(&other.name) == folded(&service.name)) {
                let at = self.place("service.name", &table.name);
                return Err(PriceError::SameName { at, what: "service" });
            }
            if service.is_default()
                && let Some(other) = services.iter().find(|other| other.is_default())
            {
                let at = self.place(&format!("service {:?}", service.name), &table.name);
                return Err(PriceError::TwoDefaults { at, other: other.name.clone() });
            }
            // The first would speak, and nobody would see that the second does not.
            let names = [("applications", &table.applications), ("products", &table.products)];
            for (key, named) in names {
                for text in named {
                    let other = services.iter().find(|other| {
                        let theirs =
                            if key == "products" { &other.products } else { &other.applications };
                        theirs.iter().any(|name| folded(name) == folded(text.get_ref()))
                    });
                    if let Some(other) = other {
                        return Err(PriceError::SameApplication {
                            at: self.place(&format!("service {:?}, {key}", service.name), text),
                            text: text.get_ref().clone(),
                            other: other.name.clone(),
                        });
                    }
                }
            }
            services.push(service);
        }
        if services.is_empty() {
            return Err(PriceError::NoService { file: self.file.to_owned() });
        }
        Ok(services)
    }

    fn service(
        &self,
        table: &ServiceTable,
        whole: &Spanned<ServiceTable>,
        per: AreaUnit,
        per_hour: Option<Decimal>,
    ) -> Result<Service, PriceError> {
        let name = self.name("service.name", &table.name)?;
        let key = |part: &str| format!("service {name:?}, {part}");
        let basis = match &table.basis {
            None => Basis::Treated,
            Some(said) => {
                self.word(&key("basis"), said, Basis::ALL.map(|basis| (basis.word(), basis)))?
            }
        };
        let tiers = match (&table.price, &table.tiers) {
            (None, None) => Vec::new(),
            (Some(price), None) => {
                vec![Tier { up_to: None, price: self.price(&key("price"), price)? }]
            }
            (None, Some(tiers)) => self.tiers(&key("tiers"), tiers, per)?,
            (Some(price), Some(_)) => {
                let at = self.place(&format!("service {name:?}"), price);
                return Err(PriceError::OneOfTwo { at, one: "price", other: "tiers" });
            }
        };
        let tiers_are = match &table.tiers_are {
            None => TiersAre::Marginal,
            Some(said) => self.word(
                &key("tiers_are"),
                said,
                [("marginal", TiersAre::Marginal), ("whole", TiersAre::Whole)],
            )?,
        };
        let product = match &table.product {
            None => None,
            Some(product) => Some(ProductPrice {
                by: match &product.by {
                    None => ProductBy::Share,
                    Some(said) => self.word(
                        &key("product.by"),
                        said,
                        [("share", ProductBy::Share), ("container", ProductBy::Container)],
                    )?,
                },
                margin: match &product.margin {
                    None => Decimal::ZERO,
                    Some(said) => self.percent(&key("product.margin"), said, 1000)?,
                },
            }),
        };
        let labor = table.labor.as_ref().filter(|said| *said.get_ref());
        if let Some(said) = labor.filter(|_| per_hour.is_none()) {
            return Err(PriceError::NoLaborPrice { at: self.place(&key("labor"), said) });
        }
        let per_application =
            self.optional_price(&key("per_application"), &table.per_application)?;
        if tiers.is_empty() && per_application.is_none() && product.is_none() && labor.is_none() {
            let at = self.place(&format!("service {name:?}"), whole);
            return Err(PriceError::NoPrice { at });
        }
        let visits = match &table.visits {
            None => 1,
            Some(said) => {
                let count = *said.get_ref();
                u32::try_from(count).ok().filter(|count| (1..=100).contains(count)).ok_or_else(
                    || PriceError::VisitsOutOfRange { at: self.place(&key("visits"), said), count },
                )?
            }
        };
        let names = |part: &str, said: &[Spanned<String>]| -> Result<Vec<String>, PriceError> {
            said.iter().map(|one| self.name(&key(part), one)).collect()
        };
        Ok(Service {
            basis,
            visits,
            applications: names("applications", &table.applications)?,
            products: names("products", &table.products)?,
            tiers,
            tiers_are,
            per_application,
            product,
            labor: labor.is_some(),
            name,
        })
    }

    fn tiers(
        &self,
        key: &str,
        said: &Spanned<Vec<Spanned<TierTable>>>,
        per: AreaUnit,
    ) -> Result<Vec<Tier>, PriceError> {
        let tables = said.get_ref();
        let mut tiers: Vec<Tier> = Vec::new();
        for (place, table) in tables.iter().enumerate() {
            let key = format!("{key}, tier {}", place + 1);
            let TierTable { up_to, price } = table.get_ref();
            let is_last = place + 1 == tables.len();
            let up_to = match up_to {
                None if !is_last => {
                    return Err(PriceError::OpenTierFirst { at: self.place(&key, table) });
                }
                None => None,
                Some(said) => Some(self.border(&key, said, per)?),
            };
            if let (Some(border), Some(said)) = (up_to, table.get_ref().up_to.as_ref()) {
                let before = tiers.last().and_then(|tier| tier.up_to).unwrap_or(Decimal::ZERO);
                if border <= before {
                    let text = said.get_ref().clone();
                    return Err(PriceError::TierOrder { at: self.place(&key, said), text });
                }
            }
            tiers.push(Tier { up_to, price: self.price(&key, price)? });
        }
        match tiers.last() {
            Some(Tier { up_to: None, .. }) => Ok(tiers),
            _ => Err(PriceError::NoOpenTier { at: self.place(key, said) }),
        }
    }

    fn border(
        &self,
        key: &str,
        said: &Spanned<String>,
        per: AreaUnit,
    ) -> Result<Decimal, PriceError> {
        let text = said.get_ref().clone();
        let not_an_area = |reason: String| PriceError::NotAnArea {
            at: self.place(key, said),
            text: text.clone(),
            reason,
        };
        let area: Area = text
            .parse()
            .map_err(|error: turfplat_units::UnitError| not_an_area(error.to_string()))?;
        let exact = area.square_metres() / per.area().square_metres();
        let decimals = decimals_of(per);
        let rounded = quantity(exact, decimals)
            .ok_or_else(|| not_an_area("is beyond all measure".to_owned()))?;
        // What is left of a border that was meant is rounding of its unit.
        let is_meant = rounded
            .to_string()
            .parse::<f64>()
            .is_ok_and(|rounded| (rounded - exact).abs() <= 1e-9 * exact.max(1.0));
        if !is_meant {
            return Err(PriceError::BorderTooFine {
                at: self.place(key, said),
                text,
                step: Decimal::new(1, decimals).to_string(),
                per: per.name(),
            });
        }
        Ok(rounded)
    }
}
