//! Why the order of mixing is a table and not a rule: published orders disagree, and the label
//! outranks them all. So each step names who puts it there and who says otherwise, and a product
//! that no source read here places goes in with a note to ask its label. A wrong order does not
//! change a dose; it makes curds that stop nozzles, and then the dose is wrong as well.

use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::{Amount, Volume};

use crate::batch::{Batch, Load};
use crate::error::DoseError;
use crate::product::{Form, Formulation, Product};

/// One thing to do at the tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// From 1.
    pub number: usize,
    /// What to do, in plain words.
    pub what: String,
    /// The id of the product that goes in; `None` of water and of what is only done.
    pub product: Option<String>,
    /// How much of the product or water; `None` of what is only done.
    pub amount: Option<Amount>,
    /// Who says so.
    pub source: String,
    /// Who says otherwise, and what to do where nobody says.
    pub otherwise: Option<String>,
}

/// The steps of fills that are mixed alike.
#[derive(Clone, Debug, PartialEq)]
pub struct FillSteps {
    /// The numbers of the loads.
    pub loads: Vec<usize>,
    /// What to do for each of them.
    pub steps: Vec<Step>,
}

/// A trial of the mix in a jar, before a tank is spoilt.
#[derive(Clone, Debug, PartialEq)]
pub struct JarTest {
    /// What the jar holds once all is in.
    pub jar: Amount,
    /// What goes in, in the order of mixing; as strong as the load.
    pub steps: Vec<Step>,
}

/// A row of `data/mixing-order.csv`.
#[derive(Deserialize)]
struct Row {
    step: String,
    formulations: String,
    source: String,
    status: String,
    classes: String,
    otherwise: String,
}

pub(crate) const ORDER_CSV: &str = include_str!("../../../data/mixing-order.csv");

static ORDER: LazyLock<Vec<Row>> = LazyLock::new(|| {
    // A row that cannot be read would be missing; a test counts them.
    csv::Reader::from_reader(ORDER_CSV.as_bytes()).deserialize().filter_map(Result::ok).collect()
});

const PRACTICE: &str = "common practice, no source";
const RINSING: &str = "40 CFR 156.146 (from memory, check it)";
const EXCESS: &str = "Pesticide Environmental Stewardship, Excess mixture and water";
const RINSE_WATER: &str = "Pesticide Environmental Stewardship, Reduce the need for disposal";
const LABEL: &str = "label";

impl Row {
    fn places(&self, product: &Product) -> bool {
        // A granule that is dissolved bears a class of spreaders, which no order of mixing knows.
        let formulation = product.formulation.map(Formulation::word);
        self.classes.split(';').any(|class| Some(class) == formulation)
    }

    fn otherwise(&self) -> Option<String> {
        (!self.otherwise.is_empty()).then(|| self.otherwise.clone())
    }

    fn source(&self) -> String {
        match self.status.as_str() {
            "M" => format!("{} (from memory, check it)", self.source),
            _ => self.source.clone(),
        }
    }
}

fn row(step: &str) -> Option<&'static Row> {
    ORDER.iter().find(|row| row.step == step)
}

fn source_of(step: &str) -> String {
    row(step).map_or_else(|| PRACTICE.to_owned(), Row::source)
}

/// Where a product that no source places goes in: with the dry ones, which need the most water and
/// time. Such products are soluble powders, granules that are dissolved, and what does not say its formulation.
const UNPLACED: usize = 2;

/// The products in the order in which they go in, each with its row if a source places it.
/// Products of one class keep the order of the job.
fn in_order<'a>(
    products: &[(&'a Product, Amount)],
) -> Vec<(&'a Product, Amount, Option<&'static Row>)> {
    let mut ordered: Vec<(usize, &Product, Amount, Option<&'static Row>)> = products
        .iter()
        .map(|&(product, amount)| {
            let row = ORDER.iter().find(|row| row.places(product));
            let place = row.and_then(|row| row.step.parse().ok()).unwrap_or(UNPLACED);
            (place, product, amount, row)
        })
        .collect();
    ordered.sort_by_key(|(place, ..)| *place); // Stable.
    ordered.into_iter().map(|(_, product, amount, row)| (product, amount, row)).collect()
}

fn formulation_of(product: &Product) -> &'static str {
    product.formulation.map_or("formulation not given", Formulation::word)
}

fn product_step(product: &Product, amount: Amount, row: Option<&Row>) -> Step {
    let ask = || {
        format!(
            "no source read here says when {} goes in: ask the label",
            match product.formulation {
                None => "a product of unknown formulation",
                Some(formulation) if formulation.form() == Form::Granule => "a dissolved granule",
                Some(formulation) => formulation.word(),
            }
        )
    };
    Step {
        number: 0,
        what: format!("add {} ({}), keep agitating", product.name, formulation_of(product)),
        product: Some(product.id.clone()),
        amount: Some(amount),
        source: row.map_or_else(|| PRACTICE.to_owned(), Row::source),
        otherwise: row.map_or_else(|| Some(ask()), Row::otherwise),
    }
}

fn done(what: impl Into<String>, amount: Option<Amount>, source: impl Into<String>) -> Step {
    Step {
        number: 0,
        what: what.into(),
        product: None,
        amount,
        source: source.into(),
        otherwise: None,
    }
}

fn numbered(mut steps: Vec<Step>) -> Vec<Step> {
    for (place, step) in steps.iter_mut().enumerate() {
        step.number = place + 1;
    }
    steps
}

/// What the products leave of `volume` for water; dry products are taken to add no volume.
fn water_in(products: &[(&Product, Amount)], volume: Amount) -> Amount {
    let liquid: f64 = products.iter().filter_map(|(_, amount)| amount.over(volume)).sum();
    volume.times(1.0 - liquid)
}

/// How to mix `products` to `volume` of spray, in the order of `data/mixing-order.csv`.
///
/// * Half of the volume is water first, or half of the water where the products leave less.
/// * Products of one class keep their order; the amounts and both waters add up to the volume,
///   dry products taken to add none.
/// * Nothing for a volume by weight: a hopper is not mixed.
pub fn mixing_steps(products: &[(&Product, Amount)], volume: Amount) -> Vec<Step> {
    if matches!(volume, Amount::Mass(_)) {
        return Vec::new();
    }
    let water = water_in(products, volume);
    let half = volume.times(0.5);
    let enough = water.over(half).is_some_and(|times| times >= 1.0);
    let (first, rest) = if enough {
        (half, volume.times((water.over(volume).unwrap_or(0.0) - 0.5).max(0.0)))
    } else {
        (water.times(0.5), water.times(0.5))
    };
    let half_full = "fill to half with clean water (to three quarters where the label says so)";
    let mut steps = vec![
        Step {
            otherwise: row("0").and_then(Row::otherwise),
            ..done(half_full, Some(first), source_of("0"))
        },
        done("start agitation and keep it going until the tank is empty", None, source_of("0")),
    ];
    let last = |row: Option<&Row>| row.is_some_and(|row| row.step == "9");
    let (defoamers, others): (Vec<_>, Vec<_>) =
        in_order(products).into_iter().partition(|(_, _, row)| last(*row));
    steps.extend(
        others.into_iter().map(|(product, amount, row)| product_step(product, amount, row)),
    );
    steps.push(done(
        "rinse each emptied container three times (a quarter full, shake, drain until it drips) \
         and pour the rinsings into the tank as part of the water",
        None,
        RINSING,
    ));
    let mut top_up = done("top up with water to the full volume", Some(rest), source_of("9"));
    top_up.otherwise = Some("the label wins over every order in print".to_owned());
    steps.push(top_up);
    // With the rest of the water.
    steps.extend(
        defoamers.into_iter().map(|(product, amount, row)| product_step(product, amount, row)),
    );
    numbered(steps)
}

/// The mix in a jar, as strong as in the load that holds `products` in `volume`.
///
/// # Errors
///
/// [`DoseError::NothingInJar`] where nothing is liquid or to be dissolved.
pub fn jar_test(
    products: &[(&Product, Amount)],
    volume: Amount,
    jar: Amount,
) -> Result<JarTest, DoseError> {
    let dissolves = products.iter().any(|(product, _)| product.form != Form::Granule);
    let share = jar.over(volume).filter(|_| dissolves && matches!(jar, Amount::Volume(_)));
    let Some(share) = share else {
        return Err(DoseError::NothingInJar {
            products: products
                .iter()
                .map(|(product, _)| product.id.as_str())
                .collect::<Vec<_>>()
                .join(", "),
        });
    };
    let scaled: Vec<(&Product, Amount)> =
        products.iter().map(|(product, amount)| (*product, amount.times(share))).collect();
    // The strength is arithmetic; nobody in print asks for it, spoonfuls are what is printed.
    let strength = "amounts by the load's strength: common practice, no source";
    let spoons =
        row("jar").map(|row| format!("{} takes instead: {}", row.source, row.formulations));
    let mut water =
        done("put the water of the tank into the jar", Some(water_in(&scaled, jar)), strength);
    water.otherwise = spoons;
    let mut steps = vec![water];
    steps.extend(in_order(&scaled).into_iter().map(|(product, amount, row)| Step {
        what: format!("add {} ({}), close and shake", product.name, formulation_of(product)),
        ..product_step(product, amount, row)
    }));
    steps.push(done(
        "let it stand 15 minutes; heat, clumps or layers mean: do not mix these in the tank",
        None,
        source_of("jar"),
    ));
    steps.push(done(
        "pour the jar into the tank if it passed, as part of the first load",
        None,
        PRACTICE,
    ));
    Ok(JarTest { jar, steps: numbered(steps) })
}

/// What to do with a rest, and how to rinse; `dead_share` is the dead volume over the batch's spray
/// volume, and `headroom` how many times the rate the label allows at once, where it says so.
pub(crate) fn rinsing_steps(dead_share: Option<f64>, headroom: Option<f64>) -> Vec<Step> {
    let mut steps = vec![
        done(
            "mix the last load only for the ground that is left, as this plan does; where a rest \
             stays all the same, put it on ground that the label allows and that has not had its \
             rate yet, never again on ground that has",
            None,
            format!("{LABEL}; {EXCESS}"),
        ),
        done("keep no mix in the sprayer", None, EXCESS),
    ];
    let rinse = "before the next batch and at the end rinse tank, hose and nozzles with clean water \
                 three times and spray the rinsings \
                 thinly over treated ground";
    let (limit, otherwise) = match (dead_share, headroom) {
        (Some(share), Some(times)) if 1.0 + share <= times => (
            format!(
                "; with the dead volume in them they raise the rate by {:.1} % if spread over all of it, within the label's maximum",
                100.0 * share
            ),
            None,
        ),
        (None, Some(times)) if times > 1.0 => (
            format!(
                "; by the label's maximum they may raise the rate by {:.1} % at most",
                100.0 * (times - 1.0)
            ),
            Some("give the equipment's dead_volume, and by how much they raise it is worked out".to_owned()),
        ),
        (_, Some(_)) => (
            "; the rate is at the label's maximum or too near to it, so keep ground of this label untreated for them"
                .to_owned(),
            None,
        ),
        (_, None) => (
            ", within the label's maximum".to_owned(),
            Some("the product file gives no maximum: ask the label, and keep some ground untreated for the rinsings where the rate is at it".to_owned()),
        ),
    };
    steps.push(Step {
        otherwise,
        ..done(format!("{rinse}{limit}"), None, format!("{LABEL}; {RINSE_WATER}"))
    });
    numbered(steps)
}

impl Batch {
    /// How to mix its loads, loads that are mixed alike together; `products` are the
    /// application's, in its order. Amounts are as measured, the dead volume in the first fill.
    pub fn mixing(&self, products: &[&Product]) -> Vec<FillSteps> {
        let mut fills: Vec<(&Load, Vec<usize>)> = Vec::new();
        for load in &self.loads {
            let alike = fills.iter_mut().find(|(known, _)| {
                known.mixed_spray() == load.mixed_spray()
                    && known.mixed_products() == load.mixed_products()
            });
            match alike {
                Some((_, numbers)) => numbers.push(load.number),
                None => fills.push((load, vec![load.number])),
            }
        }
        fills
            .into_iter()
            .filter_map(|(load, loads)| {
                let steps = mixing_steps(&load.measured_of(products), load.mixed_spray()?);
                Some(FillSteps { loads, steps })
            })
            .collect()
    }

    /// A trial in a jar of its mix; `None` of a spreader and of nothing to treat.
    pub fn jar_test(&self, products: &[&Product], jar: Amount) -> Option<JarTest> {
        let load = self.loads.first()?;
        let exact: Vec<(&Product, Amount)> = products
            .iter()
            .copied()
            .zip(load.products.iter().map(|product| product.exact))
            .collect();
        jar_test(&exact, load.spray_volume?, jar).ok()
    }
}

/// A US quart.
pub fn quart_jar() -> Amount {
    Amount::Volume(Volume::from_gallons(0.25).unwrap_or_default())
}

/// A litre.
pub fn litre_jar() -> Amount {
    Amount::Volume(Volume::from_millilitres(1000.0).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::product::Formulation;

    #[test]
    fn no_row_of_the_order_is_lost_and_each_class_stands_in_one() {
        assert_eq!(ORDER.len(), ORDER_CSV.trim_end().lines().count() - 1);
        for class in ORDER.iter().flat_map(|row| row.classes.split(';')).filter(|c| !c.is_empty()) {
            assert!(class.parse::<Formulation>().is_ok(), "{class}");
            let rows = ORDER.iter().filter(|row| row.classes.split(';').any(|one| one == class));
            assert_eq!(rows.count(), 1, "{class}");
        }
    }
}
