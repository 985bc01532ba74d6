use turfplat_money::{Decimal, Money, quantity};
use turfplat_units::Area;

use crate::list::{Basis, PriceList, ProductBy, ProductPrice, Service};
use crate::tax::{TaxPer, TaxSum, per_cent};
use crate::tiers::{price_zones, tier_words};
use crate::work::{Property, QuoteError, Visit, Work, ZoneWork};

/// What a property costs in a season, all money in the list's currency.
#[derive(Clone, Debug, PartialEq)]
pub struct Quote {
    /// In order; a visit on which no zone gets anything is not among them.
    pub visits: Vec<QuotedVisit>,
    /// All visits together, paid one by one.
    pub season: Sums,
    /// The season paid ahead, where the list gives a discount for it.
    pub prepaid: Option<Prepaid>,
}

/// One visit.
#[derive(Clone, Debug, PartialEq)]
pub struct QuotedVisit {
    /// The day, where it is known.
    pub day: Option<String>,
    /// What is done.
    pub applications: Vec<String>,
    /// What it is made up of, in order.
    pub lines: Vec<Line>,
    /// What it comes to; with a tax that is counted on the season alone, before that tax.
    pub sums: Sums,
}

/// One line: quantity × unit price, rounded, is its amount.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What is charged.
    pub kind: LineKind,
    /// The service; empty of travel and minimum.
    pub service: String,
    /// The application; empty of travel and minimum.
    pub application: String,
    /// The zone; `None` where it is for more than one.
    pub zone: Option<String>,
    /// The area that it prices.
    pub basis: Option<Basis>,
    /// That area of the zone, not rounded; where tiers part a zone, of all its lines together.
    pub area: Option<Area>,
    /// How many of `unit`.
    pub quantity: Decimal,
    /// `1000 sq ft`, `application`, `hour`, `visit`, `mile`, `zone`, or a container such as `1 gal`.
    pub unit: String,
    /// The price of one.
    pub unit_price: Decimal,
    /// What it comes to, in whole smallest units of the currency.
    pub amount: Decimal,
    /// What it is, ready to print.
    pub text: String,
    /// What else should be known.
    pub note: Option<String>,
}

/// What a line charges.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineKind {
    /// Treating an area.
    Area,
    /// One application, however large.
    Application,
    /// What is put down.
    Product,
    /// The time it takes.
    Labor,
    /// What is missing to the least that a visit costs.
    Minimum,
    /// Going there.
    Travel,
}

impl Line {
    /// True of containers, which are charged once for all their uses.
    fn is_for_the_season(&self) -> bool {
        self.kind == LineKind::Product && self.zone.is_none()
    }
}

impl LineKind {
    pub(crate) const ALL: [LineKind; 6] = [
        LineKind::Area,
        LineKind::Application,
        LineKind::Product,
        LineKind::Labor,
        LineKind::Minimum,
        LineKind::Travel,
    ];

    /// As price lists and quotes write it.
    pub fn word(self) -> &'static str {
        match self {
            LineKind::Area => "area",
            LineKind::Application => "application",
            LineKind::Product => "product",
            LineKind::Labor => "labor",
            LineKind::Minimum => "minimum",
            LineKind::Travel => "travel",
        }
    }
}

/// Sums of rounded lines: subtotal + taxes + rounding = total.
#[derive(Clone, Debug, PartialEq)]
pub struct Sums {
    /// The lines.
    pub subtotal: Decimal,
    /// In the order of the list.
    pub taxes: Vec<TaxSum>,
    /// What rounding the total adds.
    pub rounding: Decimal,
    /// What is to be paid.
    pub total: Decimal,
}

impl Sums {
    /// All taxes together.
    pub fn tax(&self) -> Decimal {
        self.taxes.iter().map(|tax| tax.amount).sum()
    }
}

impl Quote {
    /// Names of taxes that are counted on the season alone: a visit's sums stand before them.
    pub fn taxes_to_come(&self) -> Vec<&str> {
        let visits = || self.visits.iter().map(|visit| &visit.sums);
        let of_visit =
            |name: &str| visits().any(|sums| sums.taxes.iter().any(|it| it.name == name));
        let names = self.season.taxes.iter().map(|tax| tax.name.as_str());
        names.filter(|name| !of_visit(name)).collect()
    }

    /// What is counted on the season alone: taxes that are on no visit's bill, and what rounding adds
    /// beyond that of the visits. With all visits it comes to the season's total.
    pub fn on_the_season_alone(&self) -> (Vec<TaxSum>, Decimal) {
        let to_come = self.taxes_to_come();
        let taxes = self.season.taxes.iter();
        let taxes = taxes.filter(|tax| to_come.contains(&tax.name.as_str())).cloned();
        let rounded: Decimal = self.visits.iter().map(|visit| visit.sums.rounding).sum();
        (taxes.collect(), self.season.rounding - rounded)
    }
}

/// The season paid ahead: subtotal − discount + taxes + rounding = total.
#[derive(Clone, Debug, PartialEq)]
pub struct Prepaid {
    /// The discount in per cent.
    pub percent: Decimal,
    /// What it comes to.
    pub discount: Decimal,
    /// The season with what is left of it: its subtotal is the season's less the discount.
    pub sums: Sums,
}

impl PriceList {
    /// What a property costs by this list.
    ///
    /// # Errors
    ///
    /// [`QuoteError`]: the first thing that is asked for and not known, with the cure.
    pub fn quote(&self, property: &Property<'_>) -> Result<Quote, QuoteError> {
        self.check_charged_once(property)?;
        // Products of which containers are on a line already.
        let mut charged: Vec<&str> = Vec::new();
        let mut visits = Vec::new();
        for visit in &property.visits {
            visits.extend(self.visit(property, visit, &mut charged)?);
        }
        if visits.is_empty() {
            return Err(QuoteError::Nothing { why: String::new() });
        }
        let (season, prepaid) = self.season(&visits).ok_or(QuoteError::TooLarge)?;
        Ok(Quote { visits, season, prepaid })
    }

    pub(crate) fn service_for<'s>(&'s self, work: &Work<'s>) -> Option<&'s Service> {
        work.service.or_else(|| self.service_of(work.application, &work.products))
    }

    fn visit<'p>(
        &self,
        property: &'p Property<'_>,
        visit: &'p Visit<'_>,
        charged: &mut Vec<&'p str>,
    ) -> Result<Option<QuotedVisit>, QuoteError> {
        let mut lines: Vec<Line> = Vec::new();
        let mut applications: Vec<String> = Vec::new();
        let works = || visit.works.iter().filter(|work| !work.zones.is_empty());
        let is_several = works().nth(1).is_some();
        for work in works() {
            let service = self.service_for(work).ok_or_else(|| QuoteError::NoService {
                application: work.application.to_owned(),
                file: self.file.clone(),
            })?;
            applications.push(work.application.to_owned());
            let first = lines.len();
            lines.extend(self.area_lines(property, work, service)?);
            if let Some(price) = service.per_application {
                let text = format!("{}, one application", service.name);
                let line = Line { text, ..blank(LineKind::Application, work, service) };
                lines.push(self.priced(line, Decimal::ONE, "application", price)?);
            }
            if let Some(product) = service.product {
                lines.extend(self.product_lines(property, work, service, product, charged)?);
            }
            if service.labor {
                lines.extend(self.labor_lines(work, service)?);
            }
            // One service on one zone twice in a day: whoever reads must know which is which. Containers
            // are bought for all of them.
            if is_several && work.application != service.name {
                for line in lines.iter_mut().skip(first).filter(|line| !line.is_for_the_season()) {
                    line.text = format!("{} ({})", line.text, work.application);
                }
            }
        }
        if applications.is_empty() {
            return Ok(None);
        }
        let work = sum(&lines).ok_or(QuoteError::TooLarge)?;
        if let Some(minimum) = self.minimum_per_visit.filter(|minimum| work < *minimum) {
            let text = format!("to the minimum of {} a visit", self.currency.print(minimum));
            let line = Line { text, ..plain(LineKind::Minimum) };
            lines.push(self.priced(line, Decimal::ONE, "visit", minimum - work)?);
        }
        if let Some(price) = self.travel.per_visit {
            let line = Line { text: "travel".to_owned(), ..plain(LineKind::Travel) };
            lines.push(self.priced(line, Decimal::ONE, "visit", price)?);
        }
        if let Some((price, unit)) = self.travel.per_distance {
            let driven = property.distance.filter(|(_, of)| *of == unit);
            let column = if unit == "mile" { "miles" } else { "km" };
            let (driven, _) = driven.ok_or(QuoteError::NoDistance { unit, column })?;
            let line = Line { text: format!("travel, by the {unit}"), ..plain(LineKind::Travel) };
            lines.push(self.priced(line, driven, unit, price)?);
        }
        let sums = self.sums_of_visit(&lines).ok_or(QuoteError::TooLarge)?;
        Ok(Some(QuotedVisit { day: visit.day.clone(), applications, lines, sums }))
    }

    /// Fills in what a line comes to.
    fn priced(
        &self,
        line: Line,
        quantity: Decimal,
        unit: &str,
        unit_price: Decimal,
    ) -> Result<Line, QuoteError> {
        let exact = quantity.checked_mul(unit_price).ok_or(QuoteError::TooLarge)?;
        let amount = self.currency.round(exact, self.halves);
        Ok(Line { quantity, unit: unit.to_owned(), unit_price, amount, ..line })
    }

    fn area_lines(
        &self,
        property: &Property<'_>,
        work: &Work<'_>,
        service: &Service,
    ) -> Result<Vec<Line>, QuoteError> {
        if service.tiers.is_empty() {
            return Ok(Vec::new());
        }
        // Of each: whose zone, its area, and what is to be known of it.
        let mut areas: Vec<(Option<&ZoneWork<'_>>, Area)> = Vec::new();
        if service.basis == Basis::Lot {
            let no_lot = || QuoteError::NoLot { service: service.name.clone() };
            areas.push((None, property.lot.ok_or_else(no_lot)?));
        } else {
            areas.extend(work.zones.iter().map(|zone| {
                let area = match service.basis {
                    Basis::Treated => zone.treated,
                    Basis::Net => zone.net,
                    Basis::Gross | Basis::Lot => zone.gross,
                };
                (Some(zone), area)
            }));
        }
        let per = self.per.area().square_metres();
        let counted = |area: &Area| quantity(area.square_metres() / per, self.decimals_of_area());
        let quantities: Option<Vec<Decimal>> =
            areas.iter().map(|(_, area)| counted(area)).collect();
        let quantities = quantities.ok_or(QuoteError::TooLarge)?;
        let parts = price_zones(&service.tiers, service.tiers_are, &quantities);
        let parts = parts.ok_or(QuoteError::TooLarge)?;
        let mut lines = Vec::new();
        for ((zone, area), parts) in areas.iter().zip(parts) {
            for part in parts {
                let tier = part.tier.and_then(|place| {
                    tier_words(&service.tiers, service.tiers_are, place, self.per)
                });
                let said = zone.and_then(|zone| zone.note.clone());
                let note: Vec<String> = [tier, said].into_iter().flatten().collect();
                let line = Line {
                    zone: zone.map(|zone| zone.zone.to_owned()),
                    basis: Some(service.basis),
                    area: Some(*area),
                    text: match zone {
                        Some(zone) => format!("{}, {}", service.name, zone.zone),
                        None => format!("{}, the whole lot", service.name),
                    },
                    note: (!note.is_empty()).then(|| note.join("; ")),
                    ..blank(LineKind::Area, work, service)
                };
                lines.push(self.priced(line, part.quantity, self.per.name(), part.price)?);
            }
        }
        Ok(lines)
    }

    fn product_lines<'p>(
        &self,
        property: &'p Property<'_>,
        work: &'p Work<'_>,
        service: &Service,
        price: ProductPrice,
        charged: &mut Vec<&'p str>,
    ) -> Result<Vec<Line>, QuoteError> {
        let mut lines = Vec::new();
        for zone in &work.zones {
            let of_zone = || (work.application.to_owned(), zone.zone.to_owned());
            let uses = zone.products.as_ref().ok_or_else(|| {
                let (application, zone) = of_zone();
                QuoteError::NoDose { application, zone, service: service.name.clone() }
            })?;
            if price.by == ProductBy::Container {
                continue;
            }
            for used in uses {
                let cost = used.cost.as_ref().ok_or_else(|| no_price(&used.product, service))?;
                let charge = self.with_margin(cost, &used.product, price)?;
                let line = Line {
                    zone: Some(zone.zone.to_owned()),
                    text: format!("{}, {}: {}", used.name, zone.zone, used.amount),
                    ..blank(LineKind::Product, work, service)
                };
                lines.push(self.priced(line, Decimal::ONE, "zone", charge)?);
            }
        }
        if price.by == ProductBy::Share {
            return Ok(lines);
        }
        for &id in &work.products {
            if charged.contains(&id) {
                continue;
            }
            let bought: Vec<_> = property.containers.iter().filter(|it| it.product == id).collect();
            if bought.is_empty() {
                return Err(no_price(id, service));
            }
            for container in bought {
                let cost = container.price.as_ref().ok_or_else(|| no_price(id, service))?;
                let charge = self.with_margin(cost, id, price)?;
                let line = Line {
                    text: format!("{}, by the container", container.name),
                    note: Some("for all visits of the season".to_owned()),
                    ..blank(LineKind::Product, work, service)
                };
                let count = Decimal::from(container.count);
                lines.push(self.priced(line, count, &container.size, charge)?);
            }
            charged.push(id);
        }
        Ok(lines)
    }

    /// A cost and its margin, rounded to what can be paid.
    fn with_margin(
        &self,
        cost: &Money,
        product: &str,
        price: ProductPrice,
    ) -> Result<Decimal, QuoteError> {
        let written = cost.currency();
        let same = written.is_empty()
            || written == self.currency.code()
            || self.currency.has_sign(&written);
        if !same {
            return Err(QuoteError::OtherCurrency {
                product: product.to_owned(),
                other: written,
                file: self.file.clone(),
                currency: self.currency.code(),
            });
        }
        let margin = per_cent(cost.value(), price.margin);
        let charge = margin.and_then(|margin| cost.value().checked_add(margin));
        charge.map(|it| self.currency.round(it, self.halves)).ok_or(QuoteError::TooLarge)
    }

    fn labor_lines(&self, work: &Work<'_>, service: &Service) -> Result<Vec<Line>, QuoteError> {
        const SECONDS_PER_HOUR: f64 = turfplat_units::Time::SECONDS_PER_HOUR;
        let mut lines = Vec::new();
        for zone in &work.zones {
            let time = zone.time.ok_or_else(|| QuoteError::NoTime {
                application: work.application.to_owned(),
                zone: zone.zone.to_owned(),
                service: service.name.clone(),
            })?;
            let hours = quantity(time.seconds() / SECONDS_PER_HOUR, 2);
            let line = Line {
                zone: Some(zone.zone.to_owned()),
                text: format!("labor, {}", zone.zone),
                ..blank(LineKind::Labor, work, service)
            };
            // The list was refused if a service prices labor and nothing says at which price.
            let per_hour = self.per_hour.unwrap_or_default();
            lines.push(self.priced(line, hours.ok_or(QuoteError::TooLarge)?, "hour", per_hour)?);
        }
        Ok(lines)
    }

    fn sums_of_visit(&self, lines: &[Line]) -> Option<Sums> {
        let subtotal = sum(lines)?;
        let mut taxes = Vec::new();
        for tax in self.taxes.iter().filter(|tax| tax.per != TaxPer::Quote) {
            let taxed: Vec<&Line> = lines.iter().filter(|line| tax.is_on(line)).collect();
            let taxable = sum(taxed.iter().copied())?;
            let amount = match tax.per {
                TaxPer::Line => taxed.iter().try_fold(Decimal::ZERO, |sum, line| {
                    sum.checked_add(tax.of(line.amount, self.currency, self.halves)?)
                })?,
                TaxPer::Visit | TaxPer::Quote => tax.of(taxable, self.currency, self.halves)?,
            };
            taxes.push(tax.sum(taxable, amount));
        }
        // A visit is no bill of its own where a tax is counted on all of them.
        let is_bill = taxes.len() == self.taxes.len();
        self.sums(subtotal, taxes, is_bill)
    }

    /// The season, paid visit by visit and paid ahead.
    fn season(&self, visits: &[QuotedVisit]) -> Option<(Sums, Option<Prepaid>)> {
        let add = |sum: Decimal, one: Decimal| sum.checked_add(one);
        let zero = Decimal::ZERO;
        let subtotal = visits.iter().try_fold(zero, |sum, it| add(sum, it.sums.subtotal))?;
        let lines = || visits.iter().flat_map(|visit| &visit.lines);
        let mut taxes = Vec::new();
        for tax in &self.taxes {
            let taxable = sum(lines().filter(|line| tax.is_on(line)))?;
            let of_visits = visits.iter().flat_map(|visit| &visit.sums.taxes);
            let amount = match tax.per {
                TaxPer::Quote => tax.of(taxable, self.currency, self.halves)?,
                TaxPer::Line | TaxPer::Visit => of_visits
                    .filter(|of_visit| of_visit.name == tax.name)
                    .try_fold(zero, |sum, it| add(sum, it.amount))?,
            };
            taxes.push(tax.sum(taxable, amount));
        }
        let by_the_season = self.taxes.iter().any(|tax| tax.per == TaxPer::Quote);
        let season = if by_the_season {
            self.sums(subtotal, taxes.clone(), true)?
        } else {
            // Each visit is a bill, and the season is all bills.
            let rounding = visits.iter().try_fold(zero, |sum, it| add(sum, it.sums.rounding))?;
            let total = visits.iter().try_fold(zero, |sum, it| add(sum, it.sums.total))?;
            Sums { subtotal, taxes: taxes.clone(), rounding, total }
        };
        let Some(prepay) = &self.prepay else { return Some((season, None)) };
        let off = |amount: Decimal| {
            Some(self.currency.round(per_cent(amount, prepay.discount)?, self.halves))
        };
        let discount = off(subtotal)?;
        let mut discounted = Vec::new();
        for (tax, whole) in self.taxes.iter().zip(taxes) {
            let taxable = whole.taxable - off(whole.taxable)?;
            let amount = tax.of(taxable, self.currency, self.halves)?;
            discounted.push(tax.sum(taxable, amount));
        }
        let mut sums = self.sums(subtotal - discount, discounted, true)?;
        // The season's visits may each have been rounded down: who pays ahead pays no more for it.
        if sums.total > season.total {
            sums.rounding -= sums.total - season.total;
            sums.total = season.total;
        }
        Some((season, Some(Prepaid { percent: prepay.discount, discount, sums })))
    }

    fn sums(&self, subtotal: Decimal, taxes: Vec<TaxSum>, is_bill: bool) -> Option<Sums> {
        let exact = taxes.iter().try_fold(subtotal, |sum, tax| sum.checked_add(tax.amount))?;
        let total = match self.total_to.filter(|_| is_bill) {
            None => exact,
            Some(step) => {
                let rounded = self.halves.to_multiple(exact, step)?;
                self.currency.round(rounded, self.halves)
            }
        };
        let mut rounding = total - exact;
        rounding.rescale(self.currency.decimals());
        Some(Sums { subtotal, taxes, rounding, total })
    }
}

fn no_price(product: &str, service: &Service) -> QuoteError {
    QuoteError::NoProductPrice { product: product.to_owned(), service: service.name.clone() }
}

/// The sum of what some lines come to.
fn sum<'l>(lines: impl IntoIterator<Item = &'l Line>) -> Option<Decimal> {
    lines.into_iter().try_fold(Decimal::ZERO, |sum, line| sum.checked_add(line.amount))
}

/// A line of a service, before it is priced.
fn blank(kind: LineKind, work: &Work<'_>, service: &Service) -> Line {
    Line { service: service.name.clone(), application: work.application.to_owned(), ..plain(kind) }
}

/// A line of no service, before it is priced.
fn plain(kind: LineKind) -> Line {
    Line {
        kind,
        service: String::new(),
        application: String::new(),
        zone: None,
        basis: None,
        area: None,
        quantity: Decimal::ZERO,
        unit: String::new(),
        unit_price: Decimal::ZERO,
        amount: Decimal::ZERO,
        text: String::new(),
        note: None,
    }
}
