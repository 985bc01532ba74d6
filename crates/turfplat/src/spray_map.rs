//! Why texts are made here: the sheet prints the very numbers that it is handed, so rounding
//! for print happens once, in one place, from the numbers of the plan.

use geo::{Coord, LineString, MultiLineString, MultiPolygon};
use turfplat_dose::{Batch, Checked, Load, Species, caution_for_the_crew};
use turfplat_map::Kind;
use turfplat_measure::{Shape, grown_outline};
use turfplat_sheet as sheet;
use turfplat_units::{Amount, Area, Length, UnitSystem};

use crate::plan::{ApplicationPlan, PropertyPlan, SkippedZone};
use crate::print::Print;
use crate::setbacks::kept_from;
use crate::site::Laid;
use crate::walking::{LoadMark, ZoneWalk};

/// A stream that is only a line is drawn this wide, so that it can be seen.
const THIN_LINE_METRES: f64 = 0.15;

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
        equipment: print.equipment(),
        date: date.map(str::to_owned),
        units,
        zones: zones(plan, application, &print),
        features: plan.site.features.iter().filter_map(|laid| feature(plan, laid)).collect(),
        strips: strips(plan, application, units),
        marks: plan.site.features.iter().flat_map(|laid| marks(plan, laid)).collect(),
        trail: trail(application),
        lot: plan.site.lot.as_ref().map_or_else(|| MultiPolygon(Vec::new()), as_drawn),
        neighbour_lots: neighbour_lots(plan),
        batches: application.batches.iter().map(|batch| print.batch(batch)).collect(),
        totals: print.totals(),
        notes: notes(plan, application, units),
        cautions: plan.cautions.iter().map(|text| caution_for_the_crew(text)).collect(),
        underlay: None,
    }
}

fn as_drawn(shape: &Shape) -> MultiPolygon<f64> {
    grown_outline(shape, Length::ZERO).polygons().clone()
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
            name: laid.feature.name.clone(),
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

/// True of what belongs to another property; common ground belongs to nobody.
fn is_neighbours(plan: &PropertyPlan<'_>, laid: &Laid) -> bool {
    let own = plan.site.zones.first().and_then(|zone| zone.feature.property.as_ref());
    laid.feature.property.is_some() && laid.feature.property.as_ref() != own
}

/// Lots of other properties that touch the box of the turf. One that nobody can lay is left out:
/// it is a picture's background.
fn neighbour_lots(plan: &PropertyPlan<'_>) -> MultiPolygon<f64> {
    let lots = plan.site.neighbour_lots.iter();
    let laid = lots.filter_map(|lot| Laid::on(&plan.site.plane, lot.clone()).ok());
    MultiPolygon(laid.flat_map(|laid| as_drawn(&laid.shape)).collect())
}

fn feature(plan: &PropertyPlan<'_>, laid: &Laid) -> Option<sheet::Feature> {
    let kind = match laid.feature.kind {
        Kind::Building => sheet::Kind::Building,
        Kind::Hardscape => sheet::Kind::Hardscape,
        Kind::Water => sheet::Kind::Water,
        Kind::Bed => sheet::Kind::Bed,
        Kind::Garden => sheet::Kind::Garden,
        Kind::Play => sheet::Kind::Play,
        Kind::Apiary => sheet::Kind::Apiary,
        Kind::KeepOut => sheet::Kind::KeepOut,
        Kind::Drain => sheet::Kind::Drain,
        Kind::VegStrip => sheet::Kind::VegStrip,
        Kind::Turf | Kind::Well | Kind::MixSite | Kind::Parcel => return None,
    };
    let mut shape = as_drawn(&laid.shape);
    if shape.0.is_empty() && !laid.feature.outline.lines.is_empty() {
        let thin = Length::from_metres(THIN_LINE_METRES).unwrap_or_default();
        shape = grown_outline(&laid.shape, thin).polygons().clone();
    }
    // A name that was made up for want of one is no news on paper.
    let name = if laid.feature.is_named { laid.feature.name.clone() } else { String::new() };
    let is_neighbours = is_neighbours(plan, laid);
    (!shape.0.is_empty()).then_some(sheet::Feature { kind, name, shape, is_neighbours })
}

fn marks<'l>(
    plan: &PropertyPlan<'_>,
    laid: &'l Laid,
) -> impl Iterator<Item = sheet::Mark> + use<'l> {
    let is_neighbours = is_neighbours(plan, laid);
    let kind = match laid.feature.kind {
        Kind::Well => Some(sheet::MarkKind::Well),
        Kind::Drain => Some(sheet::MarkKind::Drain),
        Kind::Apiary => Some(sheet::MarkKind::Apiary),
        Kind::MixSite => Some(sheet::MarkKind::MixSite),
        _ => None,
    };
    let places = kind.map(|kind| {
        let mark = move |Coord { x, y }: Coord<f64>| sheet::Mark {
            kind,
            name: laid.feature.name.clone(),
            x,
            y,
            is_neighbours,
        };
        laid.shape.points().into_iter().map(mark)
    });
    places.into_iter().flatten()
}

/// Passes, and where loads run out; whoever draws the map says whether the passes show.
fn trail(application: &ApplicationPlan<'_>) -> sheet::Trail {
    let lines = |laid: &ZoneWalk| {
        laid.walk.passes.iter().map(|pass| LineString(pass.path.clone())).collect()
    };
    let name = |mark: &LoadMark| match application.batches.len() {
        1 => mark.load.to_string(),
        _ => format!("{}-{}", mark.batch, mark.load),
    };
    let ends = application.walks.iter().flat_map(|laid| &laid.load_ends);
    let ends =
        ends.map(|mark| sheet::LoadEnd { load: name(mark), x: mark.end.at.x, y: mark.end.at.y });
    sheet::Trail {
        ways: application.walks.iter().map(lines).collect(),
        swath: application.walking.map_or(0.0, |walking| walking.swath.metres()),
        shows_passes: false,
        ends: ends.collect(),
    }
}

fn strips(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    units: UnitSystem,
) -> Vec<sheet::Strip> {
    let strips =
        plan.site.features.iter().zip(&application.setbacks).filter_map(|(laid, setback)| {
            let setback = setback.as_ref().filter(|setback| setback.distance > Length::ZERO)?;
            let mut distance = setback.distance.print(units);
            if laid.feature.kind == Kind::Well
                && let Some(off) = laid.feature.radius
            {
                distance = format!("{distance} + {}", off.print(units));
            }
            let kept = kept_from(&laid.feature, setback.distance);
            let shape = grown_outline(&laid.shape, kept).polygons().clone();
            let to = laid.feature.kind.name().to_owned();
            let edge = edge_of(&laid.shape);
            Some(sheet::Strip { to, distance, metres: kept.metres(), edge, shape })
        });
    strips.collect()
}

/// From where a distance is kept: the rings of what was drawn, a line with as little breadth as
/// can be laid, or points.
fn edge_of(shape: &Shape) -> MultiLineString<f64> {
    let mut ground = as_drawn(shape);
    if ground.0.is_empty() {
        let hair = Length::from_metres(0.001).unwrap_or_default();
        let points: Vec<_> = shape.points().into_iter().map(|at| vec![at].into()).collect();
        if !points.is_empty() {
            return MultiLineString(points);
        }
        ground = grown_outline(shape, hair).polygons().clone();
    }
    MultiLineString(ground.iter().map(|polygon| polygon.exterior().clone()).collect())
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
    // Where flags stand hangs on it, and so does the rate.
    let crossed = application.walks.iter().any(ZoneWalk::is_crossed).then(|| {
        "Go over each zone twice, the second time across the first, set for half of the rate; loads \
         are marked where they run out so."
            .to_owned()
    });
    // The label's words first: of long notes a small sheet keeps the first.
    label_notes(application, units)
        .into_iter()
        .chain(crossed)
        .chain(by_default)
        .chain(without)
        .chain(uncertain)
        .chain(of_tape)
        .collect()
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
    /// `knapsack: backpack, 4 gal tank, 1 gal/1000 sq ft`.
    pub(crate) fn equipment(&self) -> String {
        let equipment = self.application.equipment;
        let tank = equipment.tank.map(|tank| match tank {
            Amount::Volume(_) => format!("{} tank", self.print.spray(tank)),
            Amount::Mass(_) => format!("{} hopper", self.print.product(tank)),
        });
        let volume = equipment.spray_volume.map(|rate| self.print.spray_rate(rate));
        let parts = [Some(self.print.worked_with(equipment)), tank, volume];
        format!(
            "{}: {}",
            equipment.name,
            parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
        )
    }

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
            loads: self.loads(&batch.loads),
        }
    }

    /// A line a load, to be ticked off; many that are alike and follow each other are one line.
    fn loads(&self, loads: &[Load]) -> Vec<String> {
        const MANY: usize = 5;
        let texts: Vec<(usize, String)> =
            loads.iter().map(|load| (load.number, self.load(load))).collect();
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

    fn load(&self, load: &Load) -> String {
        let products = load.mixed_products().iter().enumerate().map(|(place, product)| {
            let amount = self.named(place, self.print.to_measure(product.measured));
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
        format!("{fill}; covers {}", covers.join(", "))
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
