//! Why texts are made here: the sheet prints the very numbers that it is handed, so rounding
//! for print happens once, in one place, from the numbers of the plan.

use geo::{LineString, MultiPolygon};
use turfplat_dose::{Batch, Checked, Load, Species, caution_for_the_crew};
use turfplat_map::Kind;
use turfplat_sheet as sheet;
use turfplat_units::{Area, UnitSystem};

use crate::plan::{ApplicationPlan, PropertyPlan, SkippedZone};
use crate::print::Print;
use crate::site::Laid;
use crate::site_map::{as_drawn, drift_strips, features, lot, marks, neighbour_lots, strips};
use crate::walking::ZoneWalk;

/// The spray map of one application of a plan, ready to be drawn.
///
/// * `date` is printed as given; `None` leaves a line to fill in by hand.
pub fn spray_map(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    date: Option<&str>,
    units: UnitSystem,
) -> sheet::SprayMap {
    let print = Printer { application, print: Print(units) };
    sheet::SprayMap {
        property: plan.property.clone(),
        application: application.name.to_owned(),
        products: application.products.iter().map(|product| product.name.clone()).collect(),
        equipment: print.print.equipment(application.equipment),
        date: date.map(str::to_owned),
        units,
        zones: zones(plan, application, &print),
        features: features(&plan.site),
        strips: [
            strips(&plan.site, &application.setbacks, units),
            drift_strips(&plan.site, &application.drifts, units),
        ]
        .concat(),
        marks: marks(&plan.site),
        trail: trail(application),
        lot: lot(&plan.site),
        neighbour_lots: neighbour_lots(&plan.site),
        batches: application.batches.iter().map(|batch| print.batch(batch)).collect(),
        totals: print.totals(),
        notes: notes(plan, application, units),
        cautions: cautions(application),
        underlay: None,
    }
}

/// False of a name of which the fonts of maps and papers have no letter and no digit: of several such
/// lawns nobody could tell which is which, so each bears its number.
pub fn is_readable(name: &str) -> bool {
    let lacking = sheet::lacking(name);
    let mut telling = name.chars().filter(|it| it.is_alphanumeric()).peekable();
    telling.peek().is_none() || telling.any(|letter| !lacking.contains(letter))
}

fn zones(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    print: &Printer<'_, '_>,
) -> Vec<sheet::Zone> {
    let names = |species: &[&'static Species]| {
        species.iter().map(|species| species.common_name.clone()).collect()
    };
    let zone = |(index, laid): (usize, &Laid)| {
        let blank = sheet::Zone {
            name: match is_readable(&laid.feature.name) {
                true => laid.feature.name.clone(),
                false => format!("zone {} ({})", index + 1, laid.feature.name),
            },
            species: Vec::new(),
            treated: MultiPolygon(Vec::new()),
            drawn: as_drawn(&laid.shape),
            area: String::new(),
            amounts: Vec::new(),
            batch: None,
            skipped: None,
        };
        if let Some(treated) = application.zones.iter().find(|zone| zone.index == index) {
            let amounts = treated.products.iter().enumerate();
            return sheet::Zone {
                species: names(&treated.species),
                treated: plan.outline(application, treated).polygons().clone(),
                area: treated.treated.print(print.print.0),
                amounts: amounts
                    .map(|(place, dosed)| print.named(place, print.print.product(dosed.amount)))
                    .collect(),
                batch: Some(treated.batch),
                ..blank
            };
        }
        match application.skipped.iter().find(|zone| zone.index == index) {
            Some(skipped) => sheet::Zone {
                species: names(&skipped.species),
                skipped: Some(in_short(application, skipped)),
                ..blank
            },
            None => sheet::Zone { skipped: Some("not in this application".to_owned()), ..blank },
        }
    };
    plan.site.zones.iter().enumerate().map(zone).collect()
}

/// Why a zone gets nothing; of a limit its name alone, for the numbers stand in the plan.
fn in_short(application: &ApplicationPlan<'_>, skipped: &SkippedZone) -> String {
    if !skipped.refused {
        return skipped.reason.clone();
    }
    let stops = |checked: &&Checked| checked.zone == skipped.zone && checked.refusal().is_some();
    let names: Vec<&str> =
        application.limits.iter().filter(stops).map(|checked| checked.name.as_str()).collect();
    format!("refused: {}", names.join(", "))
}

/// Passes, and where loads run out; whoever draws the map says whether the passes show.
fn trail(application: &ApplicationPlan<'_>) -> sheet::Trail {
    let lines = |laid: &ZoneWalk| {
        laid.walk.passes.iter().map(|pass| LineString(pass.path.clone())).collect()
    };
    let ends = application.walks.iter().flat_map(|laid| &laid.load_ends);
    let ends = ends.map(|mark| sheet::LoadEnd {
        load: application.flag(mark),
        x: mark.end.at.x,
        y: mark.end.at.y,
    });
    sheet::Trail {
        ways: application.walks.iter().map(lines).collect(),
        swath: application.walking.map_or(0.0, |walking| walking.swath.metres()),
        shows_passes: false,
        ends: ends.collect(),
    }
}

/// What a reader must know of setbacks: those that nobody chose, zone by zone, and what widens one.
fn notes(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    units: UnitSystem,
) -> Vec<String> {
    let by_default = application.kept().filter_map(|(zone, setbacks)| {
        let mut kinds: Vec<String> = Vec::new();
        for setback in setbacks.iter().filter(|setback| setback.is_default) {
            let kind = format!("{} ({})", setback.to, setback.distance.print(units));
            if !kinds.contains(&kind) {
                kinds.push(kind);
            }
        }
        (!kinds.is_empty()).then(|| {
            format!(
                "{zone}: no setback was chosen for {}; this tool's default was kept.",
                kinds.join(", ")
            )
        })
    });
    let without = application
        .without_setback
        .iter()
        .map(|hazard| format!("No setback was chosen for {hazard}; none was kept."));
    let uncertain =
        plan.site.features.iter().filter(|laid| laid.feature.kind == Kind::Well).filter_map(
            |laid| {
                let off = laid.feature.radius?;
                Some(format!(
                    "{}: its position may be off by {}, which is added to its setback.",
                    laid.feature.name,
                    off.print(units)
                ))
            },
        );
    // What a crew must know of a lawn that was measured and not mapped.
    let of_tape =
        plan.findings.iter().filter(|it| matches!(it.code, "not-placed" | "left-as-area"));
    let of_tape = of_tape.map(|finding| {
        let item = finding.feature.rsplit(' ').next().unwrap_or_default();
        format!("Item {item} {}.", finding.message)
    });
    // The label's words first: of long notes a small sheet keeps the first.
    label_notes(application, units)
        .into_iter()
        .chain(by_default)
        .chain(without)
        .chain(uncertain)
        .chain(of_tape)
        .collect()
}

/// What is printed whole, whatever else must give way; first what the marks on the paper hang on.
pub(crate) fn cautions(application: &ApplicationPlan<'_>) -> Vec<String> {
    let crossed = application.crossed_caution().map(str::to_owned);
    let all = application.cautions.iter().map(|text| caution_for_the_crew(text));
    crossed.into_iter().chain(all).collect()
}

/// What binds whoever carries the map: clothes, wind, rain, re-entry, a line each where they are
/// stated.
fn label_notes(application: &ApplicationPlan<'_>, units: UnitSystem) -> Vec<String> {
    const ON_PAPER: [&str; 4] = ["ppe", "drift_buffers", "rain_free", "reentry"];
    let mut notes = Vec::new();
    for product in &application.products {
        let of = match application.products.len() {
            1 => String::new(),
            _ => format!("{}, ", product.name),
        };
        let lines = product.label_card(units).said.into_iter();
        let lines = lines.filter(|line| ON_PAPER.contains(&line.key));
        notes.extend(lines.map(|line| format!("Label, {of}{}.", line.sentence())));
    }
    notes
}

/// Numbers as they stand on paper.
pub(crate) struct Printer<'a, 'b> {
    pub(crate) application: &'a ApplicationPlan<'b>,
    pub(crate) print: Print,
}

impl Printer<'_, '_> {
    /// Of a mix of several products, each amount with its product's name.
    pub(crate) fn named(&self, place: usize, amount: String) -> String {
        match &self.application.products[..] {
            [_] => amount,
            products => products
                .get(place)
                .map_or(amount.clone(), |product| format!("{amount} {}", product.name)),
        }
    }

    fn batch(&self, batch: &Batch) -> sheet::Batch {
        let zone = self.application.zones.iter().find(|zone| zone.batch == batch.number);
        let mut mix: Vec<String> = zone.map_or_else(Vec::new, |zone| {
            let rates = zone.products.iter().enumerate();
            rates
                .map(|(place, dosed)| self.named(place, self.print.product_rate(dosed.rate)))
                .collect()
        });
        if let (Some(last), Some(volume)) =
            (mix.last_mut(), self.application.equipment.spray_volume)
        {
            last.push_str(&format!(" in {}", self.print.spray_rate(volume)));
        }
        sheet::Batch {
            number: batch.number,
            zones: batch.zones.clone(),
            mix,
            loads: self.loads(batch),
        }
    }

    /// A line a load, to be ticked off; many that are alike and follow each other are one line.
    fn loads(&self, batch: &Batch) -> Vec<String> {
        const MANY: usize = 5;
        let texts: Vec<(usize, String)> =
            batch.loads.iter().map(|load| (load.number, self.load(batch, load))).collect();
        let alike = texts.chunk_by(|(_, one), (_, next)| one == next);
        alike
            .flat_map(|alike| match alike {
                [(first, text), .., (last, _)] if alike.len() >= MANY => {
                    vec![format!("loads {first} to {last}, each: {text}")]
                }
                few => few.iter().map(|(number, text)| format!("load {number}: {text}")).collect(),
            })
            .collect()
    }

    fn load(&self, batch: &Batch, load: &Load) -> String {
        let products = load.mixed_products().iter().enumerate().map(|(place, product)| {
            let amount = self
                .named(place, self.print.to_measure(product.measured, self.application.equipment));
            format!("{amount}{}", self.print.measuring_error(product.error))
        });
        let water = load.mixed_water().map(|water| format!("{} water", self.print.spray(water)));
        let parts: Vec<String> = products.chain(water).collect();
        let covers: Vec<String> = load
            .covers
            .iter()
            .map(|cover| format!("{}: {}", cover.zone, cover.area.print(self.print.0)))
            .collect();
        let fill = match load.mixed_spray() {
            Some(volume) => format!("{} = {}", self.print.spray(volume), parts.join(" + ")),
            None => parts.join(" + "),
        };
        // What is mixed for hose and sump is in the amounts, and covers nothing.
        let dead = batch.dead_volume.as_ref().filter(|_| load.first_fill.is_some());
        let dead = dead.map_or_else(String::new, |dead| {
            format!(", of it {} for hose and sump", self.print.spray(dead.spray_volume))
        });
        format!("{fill}{dead}; covers {}", covers.join(", "))
    }

    fn totals(&self) -> Vec<String> {
        let products = self.application.products.iter().zip(&self.application.totals);
        let mut totals: Vec<String> = products
            .map(|(product, total)| format!("{}: {}", product.name, self.print.product(*total)))
            .collect();
        if let (Some(spray), Some(water)) = (self.application.spray_volume, self.application.water)
        {
            totals.push(format!(
                "spray: {}, of it water {}",
                self.print.spray(spray),
                self.print.spray(water)
            ));
        }
        let treated: Area = self.application.zones.iter().map(|zone| zone.treated).sum();
        totals.push(format!("treated: {}", treated.print(self.print.0)));
        totals
    }
}
