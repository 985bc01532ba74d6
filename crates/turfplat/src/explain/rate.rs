//! What grows there, and from the rate as it was written to one of what comes in the container.

use turfplat_dose::{Condition, PublishedRate, Species, WorkedStep, plan_rate_unit};
use turfplat_units::{AreaUnit, Of, Rate, RateUnit, WrittenRate, significant};

use super::ExplainedStep;
use super::scene::{Scene, put, step};
use crate::job::WrittenRates;
use crate::join::{SettledBy, settled_by, to_treat};

impl Scene<'_> {
    pub(super) fn grass_steps(&self) -> Vec<ExplainedStep> {
        let zone = &self.zone().feature;
        let grass = self.grass();
        let listed = |all: &[&Species]| -> String {
            let names: Vec<String> =
                all.iter().map(|it| format!("{} ({})", it.common_name, it.id)).collect();
            names.join(" and ")
        };
        let mut what = step("What grows there");
        if !grass.species.is_empty() {
            what = what.said(listed(&grass.species));
        }
        for name in &grass.unlisted {
            what = what.said(format!("{name:?} is not in the species list"));
        }
        what = what.said(match settled_by(zone, self.job) {
            SettledBy::Job => "settled by the job: [site.species]".to_owned(),
            SettledBy::Map => "settled by the map; the job says nothing of this zone".to_owned(),
            SettledBy::Default => {
                "settled by the job: default_species, for neither [site.species] nor the map speaks"
                    .to_owned()
            }
            SettledBy::Nobody => {
                "nobody says what grows here: not the map, not [site.species], not default_species"
                    .to_owned()
            }
        });
        if settled_by(zone, self.job) == SettledBy::Job && !zone.species.is_empty() {
            what = what.said(format!("the map says {:?}", zone.species.join(", ")));
        }
        let condition = to_treat(zone, &grass, self.treated).condition;
        let mut state = step("How it stands").said(match condition {
            Condition::Good if zone.condition.is_none() => {
                "no condition given, taken for good".to_owned()
            }
            other => format!("condition {other}, as the map says"),
        });
        for chosen in &self.application.products {
            let product = &chosen.product;
            if product.says_nothing_of(condition) {
                state = state.said(format!(
                    "the product file of {} does not say whether {condition} turf may be treated; read the label",
                    product.name
                ));
            }
            for unfit in product.unfit.iter().filter(|unfit| unfit.condition == condition) {
                state = state.said_by(
                    format!("unfit for {}: {}", product.name, unfit.because),
                    format!("{}: {}", unfit.basis, unfit.provenance),
                );
            }
        }
        vec![what, state]
    }

    pub(super) fn rate_steps(&self) -> Vec<ExplainedStep> {
        let chosen = self.chosen();
        let mut label = step("Label");
        label = match &chosen.label_checked {
            Some(day) => label.said(format!("rate taken from the label on {day}, as the job or the product file says")),
            None => label.said("no label_checked: nobody says that the rate is the label's, and only a label doses"),
        };
        let grass = self.grass().species;
        for species in &grass {
            if chosen.rates.of(species).is_none() {
                label = label.said(format!("no rate for {}", species.common_name));
            }
        }
        let mut steps = vec![label];
        let Some(rate) = self.rate() else { return steps };
        let of_grass = |species: &&&Species| {
            chosen
                .rates
                .of(species)
                .and_then(|it| it.over(rate))
                .is_some_and(|it| (it - 1.0).abs() < 1e-12)
        };
        let Some(governing) = grass.iter().find(of_grass) else { return steps };
        steps.extend(self.written_steps(governing, rate));
        if grass.len() > 1 {
            steps.push(self.lowest(&grass, rate));
        }
        steps
    }

    fn unit(&self, rate: Rate) -> RateUnit {
        plan_rate_unit(rate.on(AreaUnit::SquareMetre.area()), self.units)
    }

    fn written_steps(&self, species: &Species, rate: Rate) -> Vec<ExplainedStep> {
        let product = &self.chosen().product;
        let (written, whose) = match &self.application.written[self.place] {
            WrittenRates::One(written) => (Some(written), "in the job, for every grass".to_owned()),
            WrittenRates::BySpecies(rates) => {
                (rates.get(&species.id), format!("in the job, for {}", species.common_name))
            }
            WrittenRates::OfProductFile => {
                let mut of_species = product
                    .label_rates()
                    .filter(|it| it.species.iter().any(|of| of.id == species.id));
                let is_it = |row: &&PublishedRate| {
                    row.rate
                        .as_ref()
                        .and_then(|written| product.rate_of(written).ok())
                        .and_then(|it| it.over(rate))
                        .is_some_and(|it| (it - 1.0).abs() < 1e-12)
                };
                let row = of_species.find(is_it);
                let site = row.and_then(|row| row.site.as_deref());
                let height = row.and_then(|row| row.mowing_height.as_deref());
                (
                    row.and_then(|row| row.rate.as_ref()),
                    format!(
                        "a label rate of the product file, for {}{}{}",
                        species.common_name,
                        site.map(|site| format!(", {site}")).unwrap_or_default(),
                        height.map(|height| format!(", cut at {height}")).unwrap_or_default()
                    ),
                )
            }
        };
        let Some(written) = written else { return Vec::new() };
        let counts = match &written.of {
            Of::Product => String::new(),
            of @ (Of::ActiveIngredient | Of::AcidEquivalent) => {
                let contents: Vec<String> = product
                    .active_ingredients
                    .iter()
                    .map(|it| {
                        format!(
                            "{} {}",
                            it.name,
                            it.content_text.as_deref().unwrap_or("(content not given)")
                        )
                    })
                    .collect();
                let part =
                    if *of == Of::AcidEquivalent { "acid equivalent" } else { "active ingredient" };
                format!("counts {part}: {}", contents.join(", "))
            }
            Of::Nutrient(name) => match product.analysis {
                Some(analysis) => format!("counts {name}; the analysis is {}", analysis.grade()),
                None => format!("counts {name}"),
            },
        };
        let mut as_written = step("Rate as written").said(format!("{} {whose}", in_words(written)));
        if !counts.is_empty() {
            as_written = as_written.said(counts);
        }
        let mut steps = vec![as_written];
        if let Ok(worked) = product.worked_rate(written, self.units) {
            let ways = worked.steps.into_iter().map(|way| {
                let what = match way.formula.split(" = ").next() {
                    Some(unit) if unit.contains("product") => "As product",
                    Some(_) | None => "In the units of the plan",
                };
                step(what).worked(way)
            });
            steps.extend(ways);
        }
        steps
    }

    /// A mixed stand takes the lowest rate of its grasses.
    fn lowest(&self, grass: &[&Species], rate: Rate) -> ExplainedStep {
        let unit = self.unit(rate);
        let rates: Vec<(&Species, f64)> = grass
            .iter()
            .filter_map(|species| Some((*species, self.chosen().rates.of(species)?.in_unit(unit)?)))
            .collect();
        let numbers: Vec<String> = rates.iter().map(|(_, rate)| put(*rate)).collect();
        let mut lowest = step("Mixed stand").worked(WorkedStep {
            formula: "rate = lowest of the grasses' rates".into(),
            numbers: format!("lowest of {}", numbers.join("; ")),
            result: format!("{} {unit}", put(rate.in_unit(unit).unwrap_or_default())),
            source: "a rate that one of the grasses does not bear is too much for the stand: rule of this tool".into(),
        });
        for (species, rate) in rates {
            lowest = lowest.said(format!("{}: {} {unit}", species.common_name, put(rate)));
        }
        lowest
    }
}

fn in_words(written: &WrittenRate) -> String {
    let of = match written.of {
        Of::Product => String::new(),
        Of::ActiveIngredient => " a.i.".to_owned(),
        Of::AcidEquivalent => " a.e.".to_owned(),
        Of::Nutrient(name) => format!(" {name}"),
    };
    let RateUnit { amount, area } = written.unit;
    format!("{} {}{of}/{}", significant(written.value, 6), amount.name(), area.name())
}
