//! What the dose is held against: the plan's own verdicts, each worked out.

use turfplat_dose::{Checked, plan_rate_unit};
use turfplat_units::AreaUnit;

use super::ExplainedStep;
use super::scene::{Scene, step};

impl Scene<'_> {
    /// The limits that bear on this product on this zone; none where the property is refused.
    pub(super) fn limits(&self) -> Vec<Checked> {
        let zone = &self.zone().feature.name;
        let id = &self.chosen().product.id;
        let bears =
            |it: &&Checked| it.zone == *zone && it.product.split(" + ").any(|one| one == id);
        let all = self.planned.map_or(&[][..], |planned| &planned.limits);
        all.iter().filter(bears).cloned().collect()
    }

    pub(super) fn limit_steps(&self, limits: &[Checked]) -> Vec<ExplainedStep> {
        let mut steps: Vec<ExplainedStep> = Vec::new();
        if let Some(rate) = self.rate() {
            let unit = plan_rate_unit(rate.on(AreaUnit::SquareMetre.area()), self.units);
            let product = &self.chosen().product;
            let grass = self.grass().species;
            let holds = match (product.lifted_doubt(&grass, rate), &product.rate_is_right) {
                (Some(_), Some(reason)) => {
                    format!("does not hold; dosed all the same, for rate_is_right says: {reason:?}")
                }
                _ => "holds".to_owned(),
            };
            let mut is_told = false;
            for species in &grass {
                if let Some((what, worked)) = product.plausible(species, rate, unit) {
                    steps.push(step(first_large(&what)).worked(worked).said(holds.clone()));
                    is_told = true;
                }
            }
            if !is_told {
                let none = "no rate of it is in print here: only this tool's bounds by class and form speak";
                steps.push(step("Can be meant").said(none).said(holds));
            }
        }
        // What nobody states stands in one step, after all verdicts.
        let mut open = step("Not held against anything");
        for limit in limits {
            let remark = limit.remark.as_ref();
            let Some(worked) = limit.step() else {
                let why = remark.map_or("not in the product file; read your label", |it| it);
                let allowed = limit.allowed.as_ref();
                let allowed = allowed.map_or_else(String::new, |it| format!(", {it}"));
                open = open.said(format!("{}{allowed}: {why}", limit.name));
                continue;
            };
            let counted = if limit.of == "product" || limit.of == "days" {
                String::new()
            } else {
                format!(", counting {}", limit.of)
            };
            let mut told = step(format!("{}{counted}", first_large(&limit.name))).worked(worked);
            told = told.said(match remark {
                Some(remark) => format!("{}; {remark}", limit.verdict.word()),
                None => limit.verdict.word().to_owned(),
            });
            steps.push(told);
        }
        if !open.said.is_empty() {
            steps.push(open);
        }
        steps
    }
}

fn first_large(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
