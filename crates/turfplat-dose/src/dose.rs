use turfplat_units::{Amount, Area, Mass, Rate, Volume};

use crate::batch::Batch;
use crate::bounds::doubt_spray_volume;
use crate::chosen::{ChosenProduct, RateChoice};
use crate::convert::{on_a_square_metre, usual_unit};
use crate::date::is_date;
use crate::equipment::{Equipment, EquipmentKind};
use crate::error::DoseError;
use crate::held::{Held, held};
use crate::limit::{Checked, Occasion};
use crate::loads::{Mix, total};
use crate::product::{Form, Product};
use crate::skip::{Skipped, skip};
use crate::species::find_species;
use crate::zone::ZoneToTreat;

/// What an application takes: per zone, in all, and fill by fill.
#[derive(Clone, Debug, PartialEq)]
pub struct Dose {
    /// The zones treated, in the order given.
    pub zones: Vec<DosedZone>,
    /// The zones that get nothing, with the reason.
    pub skipped: Vec<Skipped>,
    /// Every limit that was asked for, zone by zone.
    pub limits: Vec<Checked>,
    /// Of each product in all, in the order of the products.
    pub totals: Vec<Amount>,
    /// Water and products in all; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// Water in all; `None` of a spreader.
    pub water: Option<Amount>,
    /// One for each strength of mix.
    pub batches: Vec<Batch>,
}

/// What one zone takes.
#[derive(Clone, Debug, PartialEq)]
pub struct DosedZone {
    /// Its place in the list of zones, from 0.
    pub index: usize,
    /// Its name.
    pub zone: String,
    /// The area treated.
    pub area: Area,
    /// The batch that treats it, from 1.
    pub batch: usize,
    /// Water and products on it; `None` of a spreader.
    pub spray_volume: Option<Amount>,
    /// Of each product, in the order of the products.
    pub products: Vec<DosedProduct>,
    /// By product, how many times its rate the limits of this zone allow; `None` where nobody
    /// states one.
    pub(crate) headroom: Vec<Option<f64>>,
}

/// What one zone takes of one product.
#[derive(Clone, Debug, PartialEq)]
pub struct DosedProduct {
    /// The product's id.
    pub product: String,
    /// The rate: of a mixed stand the lowest of its grasses'.
    pub rate: Rate,
    /// Rate × area.
    pub amount: Amount,
}

/// Doses `products` on `zones` with `equipment`.
///
/// * Zones at one ratio of every rate to the spray volume (equal to 1 part in 10⁹) are
///   one batch; no load covers two.
/// * A zone that cannot be dosed is skipped, and the rest are dosed.
/// * Accuracy: the loads add up to the totals, and the covers to the areas, to 1 part in 10⁹.
///
/// # Errors
///
/// Equipment that cannot do it, a rate that cannot be meant, an amount that cannot be
/// measured: the first found, with what to change.
pub fn dose(
    zones: &[ZoneToTreat],
    products: &[ChosenProduct],
    equipment: &Equipment,
) -> Result<Dose, DoseError> {
    dose_on(&Occasion::default(), zones, products, equipment)
}

/// As [`dose`], on a day and in places, with what else the zones get: a zone on which a limit would
/// be exceeded is refused, and the rest are dosed.
///
/// # Errors
///
/// As [`dose`].
pub fn dose_on(
    occasion: &Occasion<'_>,
    zones: &[ZoneToTreat],
    products: &[ChosenProduct],
    equipment: &Equipment,
) -> Result<Dose, DoseError> {
    let spray_volume = checked(products, equipment)?;

    let mut skipped = Vec::new();
    let mut treated: Vec<DosedZone> = Vec::new();
    let mut limits: Vec<Checked> = Vec::new();
    for (index, zone) in zones.iter().enumerate() {
        if let Some(skip) = skip(index, zone, products)? {
            skipped.push(skip);
            continue;
        }
        let mut dosed = dosed(index, zone, products, spray_volume);
        let mix: Vec<(&Product, Rate)> = products
            .iter()
            .zip(&dosed.products)
            .map(|(chosen, dosed)| (&chosen.product, dosed.rate))
            .collect();
        let Held { checked, headroom, .. } = held(index, zone, &mix, spray_volume, occasion);
        let most = products.iter().zip(&dosed.products).map(|(chosen, dosed)| {
            chosen.most_on(&zone.species).and_then(|most| most.over(dosed.rate))
        });
        dosed.headroom = headroom.into_iter().zip(most).map(tighter).collect();
        match Skipped::refused(index, zone, &checked)
            .or_else(|| Skipped::unusual(index, zone, &mix))
        {
            Some(refused) => skipped.push(refused),
            None => treated.push(dosed),
        }
        limits.extend(checked);
    }

    // All zones have one spray volume, so one strength is one set of rates.
    let mut strengths: Vec<Vec<Rate>> = Vec::new();
    for zone in &mut treated {
        let rates: Vec<Rate> = zone.products.iter().map(|one| one.rate).collect();
        let known = strengths.iter().position(|strength| same(strength, &rates));
        zone.batch = known.unwrap_or(strengths.len()) + 1;
        if known.is_none() {
            strengths.push(rates);
        }
    }
    let batches = (1..=strengths.len())
        .map(|number| {
            let zones = treated.iter().filter(|zone| zone.batch == number).collect();
            Mix { number, zones }.filled(products, equipment, spray_volume)
        })
        .collect::<Result<Vec<_>, _>>()?;

    let of_product = |place: usize| {
        let amounts = treated.iter().filter_map(|zone| Some(zone.products.get(place)?.amount));
        total(amounts)
    };
    let totals = products
        .iter()
        .enumerate()
        .map(|(place, chosen)| of_product(place).unwrap_or(nothing(chosen.product.form)))
        .collect();
    let of_all = |of: fn(&crate::batch::Load) -> Option<Amount>| {
        let loads = batches.iter().flat_map(|batch| &batch.loads);
        spray_volume.map(|_| total(loads.filter_map(of)).unwrap_or(nothing(Form::Liquid)))
    };
    Ok(Dose {
        totals,
        spray_volume: of_all(|load| load.spray_volume),
        water: of_all(|load| load.water),
        zones: treated,
        skipped,
        limits,
        batches,
    })
}

/// By product, how many times its rate the limits of a year still allow on one zone, the one at
/// `place` of the occasion's, with all that lies there already; `None` where nobody states a limit or
/// the zone has no rate. What is still to come is not kept back.
pub fn left_of_year(
    occasion: &Occasion<'_>,
    place: usize,
    zone: &ZoneToTreat,
    products: &[ChosenProduct],
) -> Vec<Option<f64>> {
    let rates = products.iter().map(|it| Some((&it.product, it.rate_on(&zone.species)?)));
    let Some(mix) = rates.collect::<Option<Vec<(&Product, Rate)>>>() else {
        return vec![None; products.len()];
    };
    held(place, zone, &mix, None, occasion).left_of_year
}

/// Fills for zones that one tank treats one after the other, of one property or of a day's: those
/// that follow each other at one strength are one batch, so that no tank is left half full when the
/// mix changes. Sets the batch of each zone, and its index to its place in `zones`, by which the
/// covers of the loads tell it.
///
/// * Out: batch by batch, in order; one that cannot be measured out or filled says why and leaves the
///   others as they are.
///
/// # Errors
///
/// As [`check_equipment`].
pub fn batches_in_turn(
    zones: &mut [DosedZone],
    products: &[ChosenProduct],
    equipment: &Equipment,
) -> Result<Vec<Result<Batch, DoseError>>, DoseError> {
    let spray_volume = checked(products, equipment)?;
    let mut number = 0;
    for place in 0..zones.len() {
        let goes_on = place > 0 && zones[place].is_of_one_strength_with(&zones[place - 1]);
        number += usize::from(!goes_on);
        (zones[place].index, zones[place].batch) = (place, number);
    }
    let batches = zones.chunk_by(|one, next| one.batch == next.batch).map(|zones| {
        let number = zones.first().map_or(0, |zone| zone.batch);
        Mix { number, zones: zones.iter().collect() }.filled(products, equipment, spray_volume)
    });
    Ok(batches.collect())
}

/// Refuses what no zone could change: products that the equipment cannot put down, rates that cannot
/// be meant, a tank or a spray volume that is missing or cannot be.
///
/// # Errors
///
/// The first found, with what to change.
pub fn check_equipment(products: &[ChosenProduct], equipment: &Equipment) -> Result<(), DoseError> {
    checked(products, equipment).map(|_| ())
}

/// As [`check_equipment`], with what is sprayed on an area; `None` of a spreader.
fn checked(products: &[ChosenProduct], equipment: &Equipment) -> Result<Option<Rate>, DoseError> {
    check_products(products, equipment)?;
    checked_spray_volume(products, equipment)
}

fn dosed(
    index: usize,
    zone: &ZoneToTreat,
    products: &[ChosenProduct],
    spray_volume: Option<Rate>,
) -> DosedZone {
    let products = products
        .iter()
        .filter_map(|chosen| {
            let rate = chosen.rate_on(&zone.species)?;
            let product = chosen.product.id.clone();
            Some(DosedProduct { product, rate, amount: rate.on(zone.area) })
        })
        .collect();
    DosedZone {
        index,
        zone: zone.name.clone(),
        area: zone.area,
        batch: 0,
        spray_volume: spray_volume.map(|rate| rate.on(zone.area)),
        products,
        headroom: Vec::new(),
    }
}

impl DosedZone {
    /// True of zones that one load may treat: equal rates, to 1 part in 10⁹.
    pub fn is_of_one_strength_with(&self, other: &DosedZone) -> bool {
        let rates = |zone: &DosedZone| zone.products.iter().map(|one| one.rate).collect::<Vec<_>>();
        same(&rates(self), &rates(other))
    }
}

impl Dose {
    /// The most that any part of a zone gets of each product, in the order of the products: its
    /// rate, or what measuring makes of it where that is more.
    pub fn at_most_on(&self, zone: &DosedZone) -> Vec<Rate> {
        let batch = self.batches.iter().find(|batch| batch.number == zone.batch);
        let loads = || {
            let loads = batch.into_iter().flat_map(|batch| &batch.loads);
            loads.filter(|load| load.covers.iter().any(|cover| cover.index == zone.index))
        };
        let times = |place: usize| {
            let measured = loads()
                .flat_map(|load| [load.products.get(place), load.mixed_products().get(place)]);
            measured.flatten().map(|one| 1.0 + one.error).fold(1.0, f64::max)
        };
        let products = zone.products.iter().enumerate();
        products.map(|(place, dosed)| dosed.rate.times(times(place))).collect()
    }
}

/// Of two that say how many times a rate is allowed the stricter, as far as they say.
fn tighter((a, b): (Option<f64>, Option<f64>)) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::min)
}

/// Equal to 1 part in 10⁹: the same rate written in two units.
fn same(a: &[Rate], b: &[Rate]) -> bool {
    let close =
        |(a, b): (&Rate, &Rate)| a.over(*b).is_some_and(|ratio| (ratio - 1.0).abs() <= 1e-9);
    a.len() == b.len() && a.iter().zip(b).all(close)
}

fn nothing(form: Form) -> Amount {
    match form {
        Form::Liquid => Amount::Volume(Volume::default()),
        Form::DrySoluble | Form::Granule => Amount::Mass(Mass::default()),
    }
}

fn check_products(products: &[ChosenProduct], equipment: &Equipment) -> Result<(), DoseError> {
    if products.is_empty() {
        return Err(DoseError::NoProduct);
    }
    let spreads = equipment.kind == EquipmentKind::Spreader;
    for (place, ChosenProduct { product, rates, label_checked }) in products.iter().enumerate() {
        let id = || product.id.clone();
        if products[..place].iter().any(|earlier| earlier.product.id == product.id) {
            return Err(DoseError::ProductTwice { product: id() });
        }
        if let Some(text) = label_checked
            && !is_date(text)
        {
            return Err(DoseError::LabelCheckedNotADate { product: id(), text: text.clone() });
        }
        let cure = match (spreads, product.form) {
            (true, Form::Liquid) => Some("use a backpack, hand-gun or boom"),
            (true, Form::DrySoluble) => {
                Some("use a backpack, hand-gun or boom, or a granule of it")
            }
            (false, Form::Granule) => Some(
                "use a spreader, or a product file with form = \"dry soluble\" if its label allows dissolving it",
            ),
            _ => None,
        };
        if let Some(cure) = cure {
            return Err(DoseError::WrongEquipment {
                equipment: equipment.name.clone(),
                kind: equipment.kind.word(),
                form: product.form.word(),
                product: id(),
                cure,
            });
        }
        if let RateChoice::BySpecies(rates) = rates {
            // A rate under a name that is no id would silently dose nothing.
            for name in rates.keys() {
                let known = find_species(name).map_err(|reason| DoseError::ProductSpecies {
                    product: id(),
                    key: "rates".into(),
                    reason: Box::new(reason),
                })?;
                if known.id != *name {
                    return Err(DoseError::RateByName {
                        product: id(),
                        name: name.clone(),
                        id: known.id.clone(),
                    });
                }
            }
        }
        for rate in rates.all() {
            let fits = on_a_square_metre(rate).plus(nothing(product.form)).is_some();
            if !fits {
                return Err(DoseError::RateOfOtherForm {
                    product: id(),
                    rate: rate.print(usual_unit(rate)),
                    form: product.form.word(),
                });
            }
            product.check_rate(rate, None)?;
        }
    }
    let marks = [equipment.smallest_measure, equipment.smallest_weight];
    if marks.into_iter().flatten().any(is_nothing) {
        return Err(DoseError::NoMeasure { equipment: equipment.name.clone() });
    }
    check_tank(equipment)?;
    check_dead_volume(equipment)
}

fn check_tank(equipment: &Equipment) -> Result<(), DoseError> {
    let name = || equipment.name.clone();
    let spreads = equipment.kind == EquipmentKind::Spreader;
    let such_as = if spreads { "50 lb" } else { "3 gal" };
    match equipment.tank {
        // Nobody has to say what a hopper holds: it is refilled when it runs low.
        None if spreads => Ok(()),
        None => Err(DoseError::NoTank { equipment: name() }),
        Some(tank) if is_nothing(tank) => Err(DoseError::EmptyTank { equipment: name(), such_as }),
        Some(tank) if matches!(tank, Amount::Mass(_)) != spreads => {
            Err(DoseError::TankOfOtherKind {
                equipment: name(),
                kind: equipment.kind.word(),
                tank: match tank {
                    Amount::Volume(_) => tank.print(turfplat_units::AmountUnit::Gallon),
                    Amount::Mass(_) => tank.print(turfplat_units::AmountUnit::Pound),
                },
                such_as,
            })
        }
        Some(_) => Ok(()),
    }
}

fn check_dead_volume(equipment: &Equipment) -> Result<(), DoseError> {
    let Some(dead) = equipment.dead_volume else { return Ok(()) };
    let refuse =
        |what: String| Err(DoseError::DeadVolume { equipment: equipment.name.clone(), what });
    if equipment.kind == EquipmentKind::Spreader {
        return refuse("cannot be: a spreader has no hose or sump; leave dead_volume out".into());
    }
    let print = |amount: Amount| amount.print(turfplat_units::AmountUnit::Gallon);
    match (dead, equipment.tank) {
        (Amount::Mass(_), _) => refuse("is a weight; write it like \"0.1 gal\"".into()),
        (_, Some(tank)) if dead.over(tank).is_none_or(|share| share >= 1.0) => refuse(format!(
            "of {} leaves nothing to spray of a tank of {}; measure what stays when the pump draws air",
            print(dead),
            print(tank)
        )),
        _ => Ok(()),
    }
}

fn checked_spray_volume(
    products: &[ChosenProduct],
    equipment: &Equipment,
) -> Result<Option<Rate>, DoseError> {
    // What a label asks for itself, such as a drench, is no slip.
    let is_the_labels = |rate: Rate| {
        let asked = products.iter().filter_map(|it| it.product.label.spray_volume.as_ref());
        asked.into_iter().any(|volume| volume.admits(rate))
    };
    let equipment_name = || equipment.name.clone();
    let missing = |what| Err(DoseError::NoSprayVolume { equipment: equipment_name(), what });
    match (equipment.kind, equipment.spray_volume) {
        (EquipmentKind::Spreader, None) => Ok(None),
        (EquipmentKind::Spreader, Some(_)) => {
            Err(DoseError::SpreaderWithSpray { equipment: equipment_name() })
        }
        (_, None) => missing("not given"),
        (_, Some(rate)) => match on_a_square_metre(rate) {
            Amount::Mass(_) => missing("a weight"),
            amount if is_nothing(amount) => missing("nothing"),
            _ => match doubt_spray_volume(rate).filter(|_| !is_the_labels(rate)) {
                Some(what) => {
                    Err(DoseError::SprayVolumeBeyond { equipment: equipment_name(), what })
                }
                None => Ok(Some(rate)),
            },
        },
    }
}

fn is_nothing(amount: Amount) -> bool {
    amount == amount.times(0.0)
}
