//! Why a work order is finished text: it is set on paper by an engine that knows no units, and must
//! say the very numbers of plan and spray map. So each is printed here, once, as those print it.

use serde::Serialize;
use turfplat_dose::{Batch, Cover, LabelCard, Load, litre_jar, quart_jar};
use turfplat_units::{Area, Length, UnitSystem, decimal};

use crate::finding::Finding;
use crate::mixing_words::{MixingSheet, jar_test, mixing, rinsing};
use crate::plan::{ApplicationPlan, AppliedSetback, PropertyPlan, TreatedZone};
use crate::posting::posting_line;
use crate::print::Print;
use crate::spray_map::{Printer, cautions};
use crate::walking_words::{OrderedWalk, ordered_walk};

/// What a crew is told of one application on one property, for paper.
///
/// * All amounts, areas and distances are text with their unit, as plan and spray map print them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WorkOrder {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// The application's name in the job.
    pub application: String,
    /// The day on which it is done, as 2026-06-08; `None` leaves a line to fill in.
    pub date: Option<String>,
    /// With what, set to what.
    pub equipment: String,
    /// The tank mix, with what is needed of each in all.
    pub products: Vec<OrderedProduct>,
    /// The treated area of all zones.
    pub treated: String,
    /// Water and products in all; `None` of a spreader.
    pub spray: Option<String>,
    /// Water in all; `None` of a spreader.
    pub water: Option<String>,
    /// What is treated, in walking order.
    pub zones: Vec<OrderedZone>,
    /// How they are walked; `None` where the equipment gives no swath.
    pub walk: Option<OrderedWalk>,
    /// What is not, and why.
    pub not_treated: Vec<LeftOut>,
    /// One for each strength of mix.
    pub batches: Vec<OrderedBatch>,
    /// How to mix; fills of the same steps together.
    pub mixing: Vec<MixingSheet>,
    /// What the jar of the jar test holds.
    pub jar: Option<String>,
    /// A trial of the mix; empty where one product goes in alone.
    pub jar_test: Vec<String>,
    /// What to do with a rest, and how to rinse; empty of a spreader.
    pub rinsing: Vec<String>,
    /// What the label of each product says of the day.
    pub label: Vec<LabelBlock>,
    /// What to know where the map shows no places, as of a tape sheet on which nothing is placed;
    /// `None` of a map.
    pub no_map: Option<String>,
    /// The distances kept, each once, and who asks for them.
    pub setbacks: Vec<KeptDistance>,
    /// Hazards near a zone from which no distance is kept.
    pub without_setback: Vec<String>,
    /// Where tanks are filled, or what to look for where the map does not say.
    pub mix_sites: Vec<String>,
    /// Why a tank must not be filled there.
    pub mix_warnings: Vec<String>,
    /// What else to mind on this property.
    pub notes: Vec<String>,
    /// These replace no label.
    pub cautions: Vec<String>,
}

/// One product of a tank mix.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct OrderedProduct {
    pub name: String,
    /// EPA Reg. No.; `None` where the product file gives none.
    pub registration: Option<String>,
    pub total: String,
}

/// One zone that is treated.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct OrderedZone {
    pub zone: String,
    pub grass: String,
    pub treated: String,
    /// What the drawing may do to the dose; `None` where nothing is said of it.
    pub drawn: Option<String>,
    pub batch: String,
    /// In the order of the products, as `amounts`.
    pub rates: Vec<String>,
    pub amounts: Vec<String>,
    pub spray: Option<String>,
}

/// One zone that gets nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct LeftOut {
    pub zone: String,
    pub reason: String,
    pub advice: String,
}

/// The fills of one strength of mix.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct OrderedBatch {
    pub number: String,
    pub zones: String,
    /// What is mixed on top of the first load, in words.
    pub dead: Option<String>,
    pub loads: Vec<OrderedLoad>,
}

/// One fill, to be ticked off.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct OrderedLoad {
    pub load: String,
    pub fill_to: Option<String>,
    pub water: Option<String>,
    /// Of each product what is measured out.
    pub measure: Vec<String>,
    /// In walking order.
    pub covers: Vec<CoveredGround>,
}

/// What of one zone a fill covers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct CoveredGround {
    pub zone: String,
    /// Its area, and what of the zone is left where the load ends in it.
    pub ground: String,
}

/// What one label says of the day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct LabelBlock {
    pub product: String,
    pub said: Vec<String>,
    /// What the product file leaves open, to be read on the label.
    pub not_given: Vec<String>,
}

/// A distance that is kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct KeptDistance {
    pub distance: String,
    pub from: String,
    pub rule: String,
}

/// Findings that whoever does the work should see; the rest is the planner's.
const FOR_THE_CREW: [&str; 9] = [
    "condition-not-stated",
    "drawing-error",
    "measuring-error",
    "rate-on-your-word",
    "no-size",
    "not-placed",
    "left-as-area",
    "sliver",
    "beyond-lot",
];

/// True of what whoever does the work should see.
pub(crate) fn for_the_crew(finding: &Finding) -> bool {
    FOR_THE_CREW.contains(&finding.code)
}

/// The work order of one application of a plan.
///
/// * `date` is printed as given; without it the application's own day, or a line to fill in.
pub fn work_order(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    date: Option<&str>,
    units: UnitSystem,
) -> WorkOrder {
    let printer = Printer { application, print: Print(units) };
    let print = Print(units);
    let treated: Area = application.zones.iter().map(|zone| zone.treated).sum();
    let products = application.products.iter().zip(&application.totals);
    let unmarked = application.without_mark().into_iter();
    let findings = plan.findings.iter().filter(|it| for_the_crew(it));
    let findings = findings.map(|it| format!("{}: {}", it.feature, it.message));
    let mix_warnings = plan.findings.iter().filter(|it| it.code == "mix-site-near");
    let jar = match units {
        UnitSystem::Us => quart_jar(),
        UnitSystem::Metric => litre_jar(),
    };
    let jar_test = jar_test(application, jar, print);
    WorkOrder {
        property: plan.property.clone(),
        application: application.name.to_owned(),
        date: date.map(str::to_owned).or_else(|| application.day.map(|day| day.to_string())),
        equipment: print.equipment(application.equipment),
        products: products
            .map(|(product, total)| OrderedProduct {
                name: product.name.clone(),
                registration: product.label.epa_registration.clone(),
                total: print.in_all(*total, application.equipment),
            })
            .collect(),
        treated: treated.print(units),
        spray: application.spray_volume.map(|volume| print.spray(volume)),
        water: application.water.map(|volume| print.spray(volume)),
        zones: application.zones.iter().map(|zone| ordered(zone, &printer)).collect(),
        walk: ordered_walk(application, units),
        not_treated: (application.skipped.iter())
            .map(|skipped| LeftOut {
                zone: skipped.zone.clone(),
                reason: skipped.reason.clone(),
                advice: skipped.advice.clone(),
            })
            .collect(),
        batches: application.batches.iter().map(|it| batch(it, &printer)).collect(),
        mixing: mixing(application, print),
        jar: (!jar_test.is_empty()).then(|| jar.print(print.spray_unit())),
        jar_test,
        rinsing: rinsing(&application.batches, "batch"),
        label: (application.products.iter())
            .map(|product| label_block(product.label_card(units)))
            .collect(),
        no_map: no_map(plan),
        setbacks: kept(application, units),
        without_setback: application.without_setback.clone(),
        mix_sites: mix_sites(plan),
        mix_warnings: mix_warnings.map(|it| it.message.clone()).collect(),
        notes: findings.chain(unmarked).chain(posting_line(plan, application)).collect(),
        cautions: cautions(application),
    }
}

fn ordered(zone: &TreatedZone, printer: &Printer<'_, '_>) -> OrderedZone {
    let print = printer.print;
    let products = || zone.products.iter().enumerate();
    let grasses: Vec<&str> = zone.species.iter().map(|it| it.common_name.as_str()).collect();
    OrderedZone {
        zone: zone.zone.clone(),
        grass: grasses.join(" + "),
        treated: zone.treated.print(print.0),
        drawn: (zone.dose_error())
            .map(|error| format!("±\u{a0}{}\u{a0}% as drawn", decimal(100.0 * error, 1))),
        batch: zone.batch.to_string(),
        rates: products()
            .map(|(place, dosed)| printer.named(place, print.product_rate(dosed.rate)))
            .collect(),
        amounts: products()
            .map(|(place, dosed)| printer.named(place, print.product(dosed.amount)))
            .collect(),
        spray: zone.spray_volume.map(|volume| print.spray(volume)),
    }
}

fn batch(batch: &Batch, printer: &Printer<'_, '_>) -> OrderedBatch {
    let dead = batch.dead_volume.as_ref().map(|dead| {
        format!(
            "the first load is mixed with {} more, which stays in hose and sump and covers nothing",
            printer.print.spray(dead.spray_volume)
        )
    });
    OrderedBatch {
        number: batch.number.to_string(),
        zones: batch.zones.join(", "),
        dead,
        loads: batch.loads.iter().map(|it| load(it, printer)).collect(),
    }
}

fn load(load: &Load, printer: &Printer<'_, '_>) -> OrderedLoad {
    let print = printer.print;
    let measure = load.mixed_products().iter().enumerate().map(|(place, product)| {
        let amount =
            printer.named(place, print.to_measure(product.measured, printer.application.equipment));
        format!("{amount}{}", print.measuring_error(product.error))
    });
    OrderedLoad {
        load: load.number.to_string(),
        fill_to: load.mixed_spray().map(|volume| print.spray(volume)),
        water: load.mixed_water().map(|volume| print.spray(volume)),
        measure: measure.collect(),
        covers: load.covers.iter().map(|cover| covered(cover, print.0)).collect(),
    }
}

fn covered(cover: &Cover, units: UnitSystem) -> CoveredGround {
    let ground = cover.area.print(units);
    CoveredGround {
        zone: cover.zone.clone(),
        ground: match cover.left > Area::ZERO {
            true => format!("{ground} ({} left)", cover.left.print(units)),
            false => ground,
        },
    }
}

pub(crate) fn label_block(card: LabelCard) -> LabelBlock {
    LabelBlock {
        product: card.name,
        said: card.said.iter().map(|line| line.sentence()).collect(),
        not_given: card.not_given.iter().map(|(_, what)| (*what).to_owned()).collect(),
    }
}

fn kept(application: &ApplicationPlan<'_>, units: UnitSystem) -> Vec<KeptDistance> {
    let mut kept: Vec<KeptDistance> = Vec::new();
    for setback in application.kept().flat_map(|(_, setbacks)| setbacks) {
        let distance = kept_distance(setback, units);
        if !kept.contains(&distance) {
            kept.push(distance);
        }
    }
    kept
}

fn kept_distance(setback: &AppliedSetback, units: UnitSystem) -> KeptDistance {
    let for_position = match setback.position > Length::ZERO {
        true => format!("; {} for its position", setback.position.print(units)),
        false => String::new(),
    };
    KeptDistance {
        distance: setback.distance_in_short(units),
        from: format!("{} \"{}\"", setback.to, setback.feature),
        // The distance stands beside it, and a default is no law that a crew could look up.
        rule: match setback.rule.strip_suffix(&format!(": {}", setback.distance.print(units))) {
            Some(_) if setback.is_default => "default of this tool".to_owned(),
            Some(rule) => rule.to_owned(),
            None => setback.rule.clone(),
        } + &for_position,
    }
}

/// What to do about distances where nothing is placed: that none is kept must not read as if none
/// were asked for.
fn no_map(plan: &PropertyPlan<'_>) -> Option<String> {
    plan.findings.iter().any(|it| it.code == "not-placed").then(|| {
        "No map was drawn: the lawns were measured and have no place; the picture shows their shapes, not how \
         they lie. Check each distance to water, wells, drains, beds and neighbors on the ground before you \
         start: the label and the law ask for it all the same."
            .to_owned()
    })
}

/// Where tanks are filled; where no place is drawn, what makes one fit.
fn mix_sites(plan: &PropertyPlan<'_>) -> Vec<String> {
    let sites = &plan.site.mix_sites;
    if sites.is_empty() {
        // Common practice, no source; a crew reads what to do and not who says so.
        return vec![
            "no place is drawn for it: level ground where a spill cannot reach a drain, a well or water"
                .to_owned(),
        ];
    }
    sites.iter().map(|site| site.feature.name.clone()).collect()
}
