use toml::Spanned;
use turfplat_money::{Currency, Decimal, quantity, read_decimal};
use turfplat_units::{Area, AreaUnit};

use crate::error::{Place, PriceError, did_you_mean, line_at};
use crate::list::{
    Basis, Due, Named, Prepay, ProductBy, ProductPrice, Service, Travel, decimals_of, read_day,
};
use crate::list_file::{
    Names, PrepayTable, ServiceTable, TaxTable, TierTable, TravelTable, Written,
};
use crate::quote::LineKind;
use crate::tax::{Tax, TaxPer};
use crate::tiers::{Tier, TiersAre};

/// A price list's text on the way to its meaning.
pub(crate) struct Reader<'a> {
    pub(crate) file: &'a str,
    pub(crate) text: &'a str,
    pub(crate) currency: Currency,
}

impl Reader<'_> {
    pub(crate) fn place<T>(&self, key: &str, said: &Spanned<T>) -> Place {
        let line = line_at(self.text, said.span().start);
        Place { file: self.file.to_owned(), line, key: key.to_owned() }
    }

    pub(crate) fn travel(&self, said: &Spanned<TravelTable>) -> Result<Travel, PriceError> {
        let table = said.get_ref();
        let per_visit = self.payable("travel.per_visit", &table.per_visit)?;
        let per_distance = match (&table.per_mile, &table.per_km) {
            (None, None) if per_visit.is_none() => {
                return Err(PriceError::NoTravelPrice { at: self.place("travel", said) });
            }
            (None, None) => None,
            (Some(mile), None) => Some((self.price("travel.per_mile", mile)?, "mile")),
            (None, Some(km)) => Some((self.price("travel.per_km", km)?, "km")),
            (Some(_), Some(km)) => {
                let at = self.place("travel", km);
                return Err(PriceError::OneOfTwo { at, one: "per_mile", other: "per_km" });
            }
        };
        Ok(Travel { per_visit, per_distance })
    }

    pub(crate) fn word<T: Copy, const N: usize>(
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
            known: format!(
                "{}; use one of: {}",
                did_you_mean(text, known.iter().map(|(word, _)| *word)),
                known.map(|(word, _)| word).join(", ")
            ),
        })
    }

    pub(crate) fn days(&self, key: &str, said: &Spanned<i64>) -> Result<u32, PriceError> {
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

    pub(crate) fn prepay(
        &self,
        said: &Spanned<PrepayTable>,
        valid_days: u32,
    ) -> Result<Prepay, PriceError> {
        let table = said.get_ref();
        let text = table.discount.get_ref().written();
        let figure = text.trim().strip_suffix('%').and_then(|it| read_decimal(it.trim()));
        if figure.is_some_and(|figure| figure >= Decimal::ONE_HUNDRED) {
            return Err(PriceError::NothingLeft {
                at: self.place("prepay.discount", &table.discount),
                text,
            });
        }
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
            (None, Some(said)) => {
                let days = self.days("prepay.due_days", said)?;
                if days > valid_days {
                    let at = self.place("prepay.due_days", said);
                    return Err(PriceError::DueDaysAfter { at, days, valid_days });
                }
                Due::After(days)
            }
            (Some(due), Some(_)) => {
                let at = self.place("prepay", due);
                return Err(PriceError::OneOfTwo { at, one: "due", other: "due_days" });
            }
        };
        Ok(Prepay { discount, due })
    }

    pub(crate) fn tax(&self, table: &TaxTable) -> Result<Tax, PriceError> {
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
            Some(said) if said.get_ref().is_empty() => {
                let known = LineKind::ALL.map(LineKind::word).join(", ");
                return Err(PriceError::OnNothing { at: self.place(&key("on"), said), known });
            }
            Some(kinds) => kinds
                .get_ref()
                .iter()
                .map(|said| {
                    self.word(&key("on"), said, LineKind::ALL.map(|kind| (kind.word(), kind)))
                })
                .collect::<Result<_, _>>()?,
        };
        Ok(Tax { name, percent, on, per })
    }

    pub(crate) fn services(
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
                for text in named.iter().flat_map(|named| named.get_ref()) {
                    let other = services.iter().find(|other| {
                        let theirs =
                            if key == "products" { &other.products } else { &other.applications };
                        theirs.iter().any(|named| named.is(text.get_ref()))
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
        let per_application = self.payable(&key("per_application"), &table.per_application)?;
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
        let names = |part: &str, said: &Option<Names>| -> Result<Vec<Named>, PriceError> {
            let Some(said) = said else { return Ok(Vec::new()) };
            if said.get_ref().is_empty() {
                // It would be the service of all that no other names.
                let at = self.place(&key(part), said);
                return Err(PriceError::Empty { at, write: "the names that it is for" });
            }
            let named = |one: &Spanned<String>| {
                let name = self.name(&key(part), one)?;
                Ok(Named { name, at: self.place(&key(part), one) })
            };
            said.get_ref().iter().map(named).collect()
        };
        Ok(Service {
            basis,
            visits,
            line: line_at(self.text, whole.span().start),
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
                step: format!("{} × {}", Decimal::new(1, decimals), per.name()),
            });
        }
        Ok(rounded)
    }
}
