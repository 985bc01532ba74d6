//! Why a day's paper is finished text, as a work order's is: what sets it on paper knows no units. The
//! terminal's tables are made of the same texts, so both say one thing.

use serde::Serialize;
use turfplat_dose::{Batch, Bought, Load};
use turfplat_units::{UnitSystem, significant};

use crate::day_sheet::{DaySheet, Stop};
use crate::mixing_words::{in_a_row, order_of_mixing, rinsing};
use crate::print::Print;
use crate::setback_words::to_watch;
use crate::work_order::{LabelBlock, OrderedProduct, for_the_crew, label_block};

/// What a crew is told of one day, for paper.
///
/// * All amounts, areas and distances are text with their unit, as plans print them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DayOrder {
    /// The application's name in the job.
    pub application: String,
    /// The day, as 2026-06-08; `None` leaves a line to fill in.
    pub date: Option<String>,
    /// With what, set to what.
    pub equipment: String,
    /// The tank mix, with what all loads take of each.
    pub products: Vec<OrderedProduct>,
    /// The treated area of all stops.
    pub treated: String,
    /// Water and products in all; `None` of a spreader and where nothing is treated.
    pub spray: Option<String>,
    /// What to carry.
    pub carry: Vec<CarriedProduct>,
    /// What tells one strength from another: `Mixes 1, 3: 0.5 fl oz/1000 sq ft …`.
    pub mixes: Vec<String>,
    /// What to know before the loads are mixed.
    pub before_loads: Vec<String>,
    /// The loads in the order of the day.
    pub loads: Vec<DayLoad>,
    /// The stops in the order of the day.
    pub stops: Vec<DayStop>,
    /// How to mix, step by step; the amounts are those of the loads. Empty of a spreader.
    pub mixing: Vec<String>,
    /// What to do with a rest, and how to rinse; empty of a spreader.
    pub rinsing: Vec<String>,
    /// What the label of each product says of the day.
    pub label: Vec<LabelBlock>,
    /// What of the map is refused and belongs to no stop.
    pub refused: Vec<String>,
    /// These replace no label.
    pub cautions: Vec<String>,
}

/// One product to take along.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct CarriedProduct {
    pub product: String,
    pub needed: String,
    /// What of it stays in hose and sump; `None` where nothing is said of it.
    pub dead: Option<String>,
    /// The containers that hold it; empty where the product's are not given.
    pub containers: Vec<String>,
}

/// One fill, to be ticked off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct DayLoad {
    pub load: String,
    pub mix: String,
    pub fill_to: Option<String>,
    pub water: Option<String>,
    /// Of each product what is measured out.
    pub measure: Vec<String>,
    /// `stop 1, Front lawn: 5,000 sq ft`.
    pub serves: Vec<String>,
}

/// One property on the day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct DayStop {
    pub number: String,
    pub property: String,
    /// Its area, `nothing`, or `refused`.
    pub treated: String,
    /// In the order of the products; empty where nothing is treated.
    pub amounts: Vec<String>,
    pub spray: Option<String>,
    /// `1, 2`, `3 to 5`.
    pub loads: String,
    /// The distances to keep.
    pub watch: String,
    /// What is not treated, refused or to be minded there, each with its head.
    pub notes: Vec<(&'static str, String)>,
}

/// The day sheet in words.
///
/// * `date` is printed as given; `None` leaves a line to fill in.
pub fn day_order(sheet: &DaySheet<'_>, date: Option<&str>, units: UnitSystem) -> DayOrder {
    let words = Words { sheet, print: Print(units) };
    let print = words.print;
    let needed = |id: &str| sheet.carried.iter().find(|one| one.product == id);
    let sprayed = sheet.stops.iter().filter_map(|stop| stop.spray_volume);
    let sprayed = sprayed.reduce(|sum, one| sum.plus(one).unwrap_or(sum));
    DayOrder {
        application: sheet.application.to_owned(),
        date: date.map(str::to_owned),
        equipment: print.equipment(sheet.equipment),
        products: (sheet.products.iter())
            .map(|product| OrderedProduct {
                name: product.name.clone(),
                registration: product.label.epa_registration.clone(),
                total: needed(&product.id)
                    .map_or_else(String::new, |it| print.in_all(it.needed, sheet.equipment)),
            })
            .collect(),
        treated: sheet.treated().print(units),
        spray: sprayed.map(|volume| print.spray(volume)),
        carry: words.carry(),
        mixes: words.mixes(),
        before_loads: words.before_loads(),
        loads: sheet.loads().map(|(number, batch, it)| words.load(number, batch, it)).collect(),
        stops: sheet.stops.iter().map(|stop| words.stop(stop)).collect(),
        mixing: order_of_mixing(&sheet.batches, &sheet.products),
        rinsing: rinsing(&sheet.batches, "mix"),
        label: sheet.products.iter().map(|it| label_block(it.label_card(units))).collect(),
        refused: sheet.refusals.iter().flat_map(|it| it.reasons.clone()).collect(),
        cautions: sheet.cautions.clone(),
    }
}

impl DayOrder {
    /// True where the tank is sprayed out for another strength.
    pub fn is_of_several_mixes(&self) -> bool {
        self.loads.iter().any(|load| load.mix != "1")
    }
}

impl DayStop {
    /// The head of a note on what should be seen there.
    pub const MIND: &'static str = "Mind";
}

struct Words<'s, 'a> {
    sheet: &'s DaySheet<'a>,
    print: Print,
}

impl Words<'_, '_> {
    fn carry(&self) -> Vec<CarriedProduct> {
        let carried = self.sheet.carried.iter().map(|one| CarriedProduct {
            product: (self.sheet.products.iter())
                .find(|product| product.id == one.product)
                .map_or_else(|| one.product.clone(), |product| product.name.clone()),
            needed: self.print.in_all(one.needed, self.sheet.equipment),
            dead: (one.dead != one.dead.times(0.0)).then(|| self.print.product(one.dead)),
            containers: one.containers.iter().map(counted).collect(),
        });
        carried.collect()
    }

    /// `Mixes 1, 3: 0.45 fl oz/1000 sq ft in 1 gal/1000 sq ft`, a strength each.
    fn mixes(&self) -> Vec<String> {
        let mut strengths: Vec<(String, Vec<usize>)> = Vec::new();
        for batch in &self.sheet.batches {
            let strength = self.strength(batch);
            match strengths.iter_mut().find(|(known, _)| *known == strength) {
                Some((_, numbers)) => numbers.push(batch.number),
                None => strengths.push((strength, vec![batch.number])),
            }
        }
        let told = strengths.into_iter().map(|(strength, numbers)| {
            let word = if numbers.len() == 1 { "Mix" } else { "Mixes" };
            format!("{word} {}: {strength}", in_a_row(&numbers))
        });
        told.collect()
    }

    fn strength(&self, batch: &Batch) -> String {
        let Words { sheet, print } = self;
        let zone = sheet.zones.iter().find(|zone| zone.batch == batch.number);
        let rates = zone.into_iter().flat_map(|zone| zone.rates.iter().enumerate());
        let rates = rates.map(|(place, rate)| self.named(place, print.product_rate(*rate)));
        let volume = sheet.equipment.spray_volume.map(|rate| print.spray_rate(rate));
        let volume = volume.map_or_else(String::new, |volume| format!(" in {volume}"));
        let rates = rates.collect::<Vec<_>>().join(" + ");
        format!("{rates}{volume}")
    }

    fn before_loads(&self) -> Vec<String> {
        let batches = &self.sheet.batches;
        let several = (batches.len() > 1).then(|| {
            "A new mix is another strength: the tank is sprayed out, and rinsed as the label says, before it."
                .to_owned()
        });
        // What stays in hose and sump is the equipment's, and one for all.
        let dead = batches.iter().find_map(|batch| batch.dead_volume.as_ref()).map(|dead| {
            format!(
                "The first load of {} is mixed with {} more, which stays in hose and sump and covers nothing.",
                if batches.len() > 1 { "each mix" } else { "the mix" },
                self.print.spray(dead.spray_volume)
            )
        });
        several.into_iter().chain(dead).chain(self.sheet.without_mark()).collect()
    }

    fn load(&self, number: usize, batch: &Batch, load: &Load) -> DayLoad {
        let Words { sheet, print } = self;
        let measure = load.mixed_products().iter().enumerate().map(|(place, product)| {
            let amount = print.to_measure(product.measured, sheet.equipment);
            format!("{}{}", self.named(place, amount), print.measuring_error(product.error))
        });
        let serves = sheet.served(load).map(|(zone, area)| {
            format!("stop {}, {}: {}", zone.stop, zone.zone, area.print(print.0))
        });
        DayLoad {
            load: number.to_string(),
            mix: batch.number.to_string(),
            fill_to: load.mixed_spray().map(|volume| print.spray(volume)),
            water: load.mixed_water().map(|volume| print.spray(volume)),
            measure: measure.collect(),
            serves: serves.collect(),
        }
    }

    fn stop(&self, stop: &Stop) -> DayStop {
        let Words { sheet, print } = self;
        let skipped = stop.skipped.iter();
        let skipped = skipped.map(|(zone, reason)| ("Not treated", format!("{zone}: {reason}")));
        let refused = stop.refused.iter().map(|reason| ("Refused", reason.clone()));
        let unkept = (!stop.without_setback.is_empty())
            .then(|| ("No setback is kept from", stop.without_setback.join(", ")));
        let findings = sheet.findings.iter().filter(|(number, _)| *number == stop.number);
        let minded = findings.filter(|(_, finding)| for_the_crew(finding));
        let minded = minded.map(|(_, finding)| {
            (DayStop::MIND, format!("{}: {}", finding.feature, finding.message))
        });
        DayStop {
            number: stop.number.to_string(),
            property: stop.property.clone(),
            treated: match (stop.amounts.is_empty(), stop.refused.is_empty()) {
                (false, _) => stop.treated.print(print.0),
                (true, true) => "nothing".to_owned(),
                (true, false) => "refused".to_owned(),
            },
            amounts: (stop.amounts.iter().enumerate())
                .map(|(place, amount)| self.named(place, print.product(*amount)))
                .collect(),
            spray: stop.spray_volume.map(|volume| print.spray(volume)),
            loads: in_a_row(&sheet.loads_of(stop)),
            watch: to_watch(&stop.setbacks, print.0),
            notes: refused.chain(skipped).chain(unkept).chain(minded).collect(),
        }
    }

    /// Of a mix of several products, each amount with its product's name.
    fn named(&self, place: usize, amount: String) -> String {
        match (&self.sheet.products[..], self.sheet.products.get(place)) {
            ([_, _, ..], Some(product)) => format!("{amount} {}", product.name),
            _ => amount,
        }
    }
}

/// `3 × 1 gal`.
fn counted(bought: &Bought) -> String {
    let Bought { container, count } = bought;
    let size = container.size.in_unit(container.unit).unwrap_or_default();
    format!("{count} × {} {}", significant(size, 4), container.unit.name())
}
