//! Why the history is read with the job and laid on the ground only with the map: what an
//! amount did to a lawn depends on how much lawn there is. Whoever knows the ground that it went
//! on says so; else the smallest ground that the plan would treat of these zones is taken, for
//! on less ground the same amount is more.

use std::fmt;

use turfplat_dose::{Day, Product, Put};
use turfplat_units::{Amount, Area, Rate, UnitSystem, WrittenAmount, WrittenRate};

use crate::finding::Finding;
use crate::job::{Application, Job, Reader};
use crate::job_error::JobError;
use crate::job_file::HistoryTable;
use crate::plat::PlatZone;

/// A treatment of the past.
#[derive(Clone, Debug)]
pub struct Treatment {
    /// Where it stands.
    pub told_by: ToldBy,
    /// The day.
    pub day: Day,
    /// What.
    pub product: Product,
    /// Names of its zones; `None` is every zone.
    pub zones: Option<Vec<String>>,
    /// How much.
    pub put_down: PutDown,
    /// The ground that an amount went on, where the job says it.
    pub area: Option<Area>,
    /// A remark for people.
    pub note: Option<String>,
}

/// Who tells of a treatment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ToldBy {
    /// The job, by its place there, from 1.
    Job(usize),
    /// A record of the ledger, by its number.
    Record(i64),
}

impl ToldBy {
    /// Its place in the job, from 1.
    pub fn place_in_job(&self) -> Option<usize> {
        match self {
            ToldBy::Job(place) => Some(*place),
            ToldBy::Record(_) => None,
        }
    }

    /// Its number in the ledger.
    pub fn record(&self) -> Option<i64> {
        match self {
            ToldBy::Job(_) => None,
            ToldBy::Record(number) => Some(*number),
        }
    }
}

impl fmt::Display for ToldBy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ToldBy::Job(place) => write!(f, "[[history]] {place}"),
            ToldBy::Record(number) => write!(f, "record {number}"),
        }
    }
}

/// How much of a product was put down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PutDown {
    /// So much on an area.
    Rate(Rate),
    /// So much on all of its zones together, on what is treated of them today.
    Amount(Amount),
    /// So much on the one zone in all, and so much where it lies thickest.
    Counted(Rate, Amount),
}

/// A treatment of the past as it lies on one property.
#[derive(Clone, Debug)]
pub struct LaidTreatment<'a> {
    /// The treatment.
    pub treatment: &'a Treatment,
    /// How much lies on the ground.
    pub rate: Rate,
    /// The ground that an amount was laid on, where the job does not say it.
    pub assumed_area: Option<Area>,
    /// The places of its zones.
    pub(crate) zones: Vec<usize>,
    /// Their names.
    pub zone_names: Vec<String>,
}

impl LaidTreatment<'_> {
    /// What it is to the limits of a zone.
    pub(crate) fn put(&self) -> Put<'_> {
        let Treatment { told_by, day, product, .. } = self.treatment;
        Put { day: Some(*day), product, rate: self.rate, what: told_by.to_string() }
    }
}

impl Reader<'_> {
    /// One treatment of the past; its product may be named by the id that a product file of the
    /// job's `applications` gives itself.
    pub(crate) fn treatment(
        &self,
        number: usize,
        table: HistoryTable,
        applications: &[Application],
    ) -> Result<Treatment, JobError> {
        let key = |part: &str| format!("[[history]] {number}, {part}");
        let file = || self.file.to_owned();
        let text = table.date.into_text();
        let day = Day::read(text.trim()).ok_or_else(|| JobError::NotADate {
            file: file(),
            key: key("date"),
            text,
        })?;
        let own = applications.iter().flat_map(|one| &one.products).map(|chosen| &chosen.product);
        let product = match own.into_iter().find(|product| product.id == table.product) {
            Some(product) => product.clone(),
            None => self.find_product(&table.product, &key("product"))?,
        };
        let zones = match (table.zone, table.zones) {
            (Some(_), Some(_)) => {
                return Err(JobError::OneOfTwo {
                    file: file(),
                    key: key("zones"),
                    keep: "zone or zones",
                });
            }
            (zone, zones) => zone.or(zones).map(|words| words.into_vec()),
        };
        if zones.as_ref().is_some_and(Vec::is_empty) {
            return Err(JobError::NoZonesInHistory { file: file(), key: key("zones") });
        }
        let area = table.area.map(|text| {
            let area: Area = text.parse().map_err(|error| self.unit(key("area"), error))?;
            match area > Area::ZERO {
                true => Ok(area),
                false => Err(JobError::NothingInHistory { file: file(), key: key("area"), text }),
            }
        });
        let area = area.transpose()?;
        let put_down = match (table.amount, table.rate) {
            (Some(_), Some(_)) => {
                return Err(JobError::OneOfTwo {
                    file: file(),
                    key: key("rate"),
                    keep: "amount or rate",
                });
            }
            (None, None) => {
                return Err(JobError::NoAmountInHistory { file: file(), key: key("amount") });
            }
            (None, Some(_)) if area.is_some() => {
                return Err(JobError::OneOfTwo {
                    file: file(),
                    key: key("area"),
                    keep: "rate or amount with area",
                });
            }
            (None, Some(text)) => {
                let written: WrittenRate =
                    text.parse().map_err(|error| self.unit(key("rate"), error))?;
                let rate = product
                    .rate_put_down(&written)
                    .map_err(|error| self.dose(key("rate"), error))?;
                if rate == rate.times(0.0) {
                    return Err(JobError::NothingInHistory {
                        file: file(),
                        key: key("rate"),
                        text,
                    });
                }
                PutDown::Rate(rate)
            }
            (Some(text), None) => {
                let written: WrittenAmount =
                    text.parse().map_err(|error| self.unit(key("amount"), error))?;
                let amount =
                    product.amount_of(&written).map_err(|error| self.dose(key("amount"), error))?;
                if amount == amount.times(0.0) {
                    return Err(JobError::NothingInHistory {
                        file: file(),
                        key: key("amount"),
                        text,
                    });
                }
                match area.and_then(|area| Rate::of(amount, area)) {
                    Some(rate) => PutDown::Rate(rate),
                    None => PutDown::Amount(amount),
                }
            }
        };
        let told_by = ToldBy::Job(number);
        Ok(Treatment { told_by, day, product, zones, put_down, area, note: table.note })
    }
}

/// So many times the drawn ground an area may be for the drawing: the trade's ±5 %.
const DRAWN_TIMES: f64 = 1.05;

/// Beyond so many times it is other ground or another unit. A choice of this tool.
const MOST_DRAWN_TIMES: f64 = 2.0;

/// The treatments of the past that lie on a property, whose zones are measured as each
/// application treats them, and what should be seen of it. One that left nothing here is left out.
/// On a map of `several` properties an area may be that of all of them.
///
/// # Errors
///
/// Treatments that went on far more ground than is drawn, each with both figures: thinned out so,
/// an amount would hardly count.
pub(crate) fn laid<'a>(
    job: &'a Job,
    property: &str,
    plan_day: Option<Day>,
    measured: &[Vec<PlatZone>],
    several: bool,
) -> Result<(Vec<LaidTreatment<'a>>, Vec<Finding>), Vec<String>> {
    let mut all = Vec::new();
    let mut findings = Vec::new();
    let mut refused = Vec::new();
    let Some(names) = measured.first() else { return Ok((all, findings)) };
    if let Some(ledger) = &job.ledger {
        let (found, unusable) = ledger.about(property);
        findings.extend(found);
        refused.extend(unusable);
    }
    for treatment in job.history_of(property) {
        let told_by = &treatment.told_by;
        let file = match (told_by, &job.ledger) {
            (ToldBy::Record(_), Some(ledger)) => &ledger.file,
            _ => &job.file,
        };
        let is_later = plan_day.is_some_and(|day| treatment.day > day);
        if let (ToldBy::Record(_), true, Some(day)) = (told_by, is_later, plan_day) {
            let reason = format!(
                "{file}, {told_by}: of {}, after the day of the plan, {day}; plan for a later day with --date, or correct the record",
                treatment.day
            );
            // A record is a treatment for each zone and product.
            if !refused.contains(&reason) {
                refused.push(reason);
            }
            continue;
        }
        let is_meant =
            |name: &String| treatment.zones.as_ref().is_none_or(|zones| zones.contains(name));
        let zones: Vec<usize> =
            (0..names.len()).filter(|&index| is_meant(&names[index].name)).collect();
        let zone_names: Vec<String> =
            zones.iter().map(|&index| names[index].name.clone()).collect();
        let (rate, assumed_area) = match treatment.put_down {
            PutDown::Rate(rate) => (Some(rate), None),
            PutDown::Amount(amount) => {
                let ground = measured
                    .iter()
                    .map(|accounts| zones.iter().map(|&index| accounts[index].net).sum());
                let least = ground
                    .filter(|area| *area > Area::ZERO)
                    .reduce(|a: Area, b| if b < a { b } else { a });
                (least.and_then(|area| Rate::of(amount, area)), least)
            }
            PutDown::Counted(thickest, amount) => {
                // More ground than is drawn was gone over twice.
                let drawn = zones.first().map(|&index| names[index].gross);
                let spread = drawn.and_then(|area| Rate::of(amount, area));
                let thicker =
                    spread.filter(|rate| rate.over(thickest).is_some_and(|times| times > 1.0));
                (Some(thicker.unwrap_or(thickest)), None)
            }
        };
        if let (ToldBy::Record(_), Some(named), true) =
            (told_by, &treatment.zones, zones.is_empty())
        {
            let known: Vec<&str> = names.iter().map(|zone| zone.name.as_str()).collect();
            let reason = format!(
                "{file}, {told_by}: is of zone {:?}, which the map has not (zones there: {}); what lies there cannot be counted: name the zone on the map as it was; or, of a record, take it back and add it anew from a plan of this map",
                named.join(", "),
                known.join(", ")
            );
            if !refused.contains(&reason) {
                refused.push(reason);
            }
            continue;
        }
        let Some(rate) = rate.filter(|_| !zones.is_empty()) else { continue };
        let mut tell = |code, message, area_m2| {
            let feature = format!("{file} {told_by}");
            findings.push(Finding { code, feature, message, area_m2 });
        };
        let drawn: Area = zones.iter().map(|&index| names[index].gross).sum();
        let times = |area: Area| area.square_metres() / drawn.square_metres();
        if let Some(area) = treatment.area.filter(|area| !several && times(*area) > DRAWN_TIMES) {
            let figures = format!(
                "area is {}, and {} {} drawn with {}",
                area.print(UnitSystem::Us),
                zone_names.join(", "),
                if zone_names.len() == 1 { "is" } else { "are" },
                drawn.print(UnitSystem::Us)
            );
            if times(area) > MOST_DRAWN_TIMES {
                refused.push(format!(
                    "{file}, {told_by}: {figures}; write the ground of these zones that the amount went on, or the rate"
                ));
                continue;
            }
            let beyond = area.square_metres() - drawn.square_metres();
            tell(
                "history-area",
                format!("{figures}; the amount is counted as so much thinner"),
                beyond,
            );
        }
        if let Some(doubt) = treatment.product.doubt_put_down(rate) {
            let message = format!("{doubt}; it counts as it is written: look whether it is meant");
            tell("history-rate", message, 0.0);
        }
        if let Some(area) = assumed_area {
            let message = format!(
                "does not say on how much ground its amount went; it is counted on the {} of {} that today's setbacks leave: write area or rate if it was other ground",
                area.print(UnitSystem::Us),
                zone_names.join(", "),
            );
            tell("history-area", message, 0.0);
        }
        all.push(LaidTreatment { treatment, rate, assumed_area, zones, zone_names });
    }
    findings.extend(told_twice(&all, job));
    if refused.is_empty() { Ok((all, findings)) } else { Err(refused) }
}

/// Of job and ledger what tells of one product on one day and zone: it may be the same treatment.
fn told_twice(all: &[LaidTreatment<'_>], job: &Job) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    let of_job = all.iter().filter(|laid| laid.treatment.told_by.place_in_job().is_some());
    for told in of_job {
        let is_same = |laid: &&LaidTreatment<'_>| {
            laid.treatment.told_by.record().is_some()
                && laid.treatment.day == told.treatment.day
                && laid.treatment.product.id == told.treatment.product.id
                && laid.zones.iter().any(|zone| told.zones.contains(zone))
        };
        if let Some(record) = all.iter().find(is_same) {
            findings.push(Finding {
                code: "told-twice",
                feature: format!("{} {}", job.file, told.treatment.told_by),
                message: format!(
                    "is of the product, day and zone of {}; both count: if it is the same treatment, take it out of the job",
                    record.treatment.told_by
                ),
                area_m2: 0.0,
            });
        }
    }
    findings
}
