//! Why the law and the advice on nitrogen stand apart: a law stops the zone, advice is told beside
//! it, and where the tables have no row of a place, that is said and taken for no permission.

use turfplat_units::{Rate, significant};

use crate::caps::{NitrogenCap, nitrogen_caps};
use crate::counted::Counted;
use crate::held::{ROUNDING, Span, Stated, Zone};
use crate::limit::{Figure, LimitBy, LimitVerdict};
use crate::own_rules::RuleSet;
use crate::product::Product;
use crate::published::yearly_nitrogen_for;
use crate::year::LabelYear;

impl Zone<'_> {
    /// True where some product does not say how much of its nitrogen is quickly soluble.
    pub(crate) fn guesses_soluble(&self) -> bool {
        let analyses = self.mix.iter().filter_map(|(product, _)| product.analysis);
        analyses.into_iter().any(|analysis| analysis.n > 0.0 && analysis.soluble_n_share.is_none())
    }

    /// Ids of the products that hold nitrogen or do not say.
    fn feeding(&self) -> String {
        let nitrogen = Counted::Nutrient("N");
        let feeds = |(product, rate): &&(&Product, Rate)| {
            nitrogen.in_product(product, *rate).map_or(true, |much| much > 0.0)
        };
        let ids: Vec<&str> =
            self.mix.iter().filter(feeds).map(|(product, _)| product.id.as_str()).collect();
        ids.join(" + ")
    }

    pub(crate) fn places(&mut self) {
        let product = self.feeding();
        if product.is_empty() {
            return;
        }
        if self.occasion.places.is_empty() {
            let mut row = self.row(
                &product,
                "nitrogen_law",
                "state and local limits on nitrogen",
                LimitBy::Place,
            );
            row.verdict = LimitVerdict::NotChecked;
            row.remark = Some(
                "the job does not say in which state or place the turf lies; add jurisdiction under [site]"
                    .to_owned(),
            );
            row.source = "law of the place".to_owned();
            self.checked.push(row);
            return;
        }
        let rules = RuleSet::default();
        let known = rules.places();
        for place in self.occasion.places {
            let name =
                known.iter().find(|(id, _)| id == place).map_or(place.as_str(), |(_, name)| name);
            let cap = nitrogen_caps().iter().find(|cap| cap.jurisdiction == *place);
            match cap {
                Some(cap) => self.cap(cap, &product),
                None => {
                    let words = format!("nitrogen at once, {name}");
                    let mut row = self.row(
                        &product,
                        "place_max_nitrogen_per_application",
                        &words,
                        LimitBy::Place,
                    );
                    row.remark = Some("no row in the tables here; ask the place".to_owned());
                    self.checked.push(row);
                }
            }
            let words = format!("nitrogen in a year, seasons and phosphorus, {name}");
            let mut row = self.row(&product, "place_nutrient_rules", &words, LimitBy::Place);
            row.remark = Some("no row in the tables here; ask the place".to_owned());
            self.checked.push(row);
        }
    }

    fn cap(&mut self, cap: &'static NitrogenCap, product: &str) {
        let place = &cap.jurisdiction_name;
        let stated = |limit, name: String, rate, counted| Stated {
            product: product.to_owned(),
            limit,
            name,
            rate,
            counted,
            span: Span::Once,
            source: cap.provenance.to_string(),
            by: LimitBy::Place,
            place,
        };
        let total = stated(
            "place_max_nitrogen_per_application",
            format!("most N at once, {place}"),
            &cap.total,
            Counted::Nutrient("N"),
        );
        self.sum(&total);
        if let Some(soluble) = &cap.soluble {
            let name = format!("most soluble N at once, {place}");
            let limit = "place_max_soluble_nitrogen_per_application";
            self.sum(&stated(limit, name, soluble, Counted::SolubleNitrogen));
        }
        let Some(least) = cap.least_slow_share else { return };
        for (product, _) in self.mix {
            let Some(analysis) = product.analysis.filter(|analysis| analysis.n > 0.0) else {
                continue;
            };
            let words = format!("least slow-release share of N, {place}");
            let mut row =
                self.row(&product.id, "place_min_slow_release_share", &words, LimitBy::Place);
            row.of = "slow-release share of N".to_owned();
            row.source = cap.provenance.to_string();
            row.allowed = Some(Figure::of(100.0 * least, "%"));
            let law = format!(
                "{place} asks for at least {} % ({})",
                significant(100.0 * least, 3),
                cap.provenance
            );
            match analysis.soluble_n_share.map(|soluble| 1.0 - soluble) {
                None => {
                    row.verdict = LimitVerdict::NotChecked;
                    row.remark = Some("its soluble share is not given".to_owned());
                    row.refusal = Some(format!(
                        "{}: how much of its nitrogen is slow release is not given, and {law}; add soluble_n_share to its analysis",
                        product.id
                    ));
                }
                Some(slow) => {
                    row.asked = Some(Figure::of(100.0 * slow, "%"));
                    row.verdict = LimitVerdict::Kept;
                    if slow * ROUNDING < least {
                        row.verdict = LimitVerdict::Exceeded;
                        row.refusal = Some(format!(
                            "{}: {} % of its nitrogen is slow release, and {law}; take a slower product",
                            product.id,
                            significant(100.0 * slow, 3)
                        ));
                    }
                }
            }
            self.checked.push(row);
        }
    }

    /// What is advised for the grasses of the zone, where a row for a chosen place is in print.
    pub(crate) fn advice(&mut self) {
        let product = self.feeding();
        if product.is_empty() {
            return;
        }
        for species in &self.zone.species {
            let mut elsewhere: Vec<&str> = Vec::new();
            let mut found = false;
            for advice in yearly_nitrogen_for(species) {
                if !self.occasion.places.contains(&advice.place) {
                    elsewhere.push(&advice.place_name);
                    continue;
                }
                found = true;
                let stated = |limit, words: &str, rate, span| Stated {
                    product: product.clone(),
                    limit,
                    name: format!("{words} for {}, {}", species.common_name, advice.place_name),
                    rate,
                    counted: Counted::Nutrient("N"),
                    span,
                    source: advice.source.clone(),
                    by: LimitBy::Species,
                    place: &advice.place_name,
                };
                let words = "advised N at once";
                self.sum(&stated(
                    "species_nitrogen_per_application",
                    words,
                    &advice.at_once,
                    Span::Once,
                ));
                let year = Span::Year(LabelYear::TwelveMonths);
                let words = "advised N in a year";
                self.sum(&stated("species_nitrogen_per_year", words, &advice.most_in_a_year, year));
            }
            if !found && !elsewhere.is_empty() {
                let words = format!("advised N for {}", species.common_name);
                let mut row =
                    self.row(&product, "species_nitrogen_per_year", &words, LimitBy::Species);
                row.verdict = LimitVerdict::NotChecked;
                row.remark = Some(format!(
                    "it is in print for {}, and none of these places is chosen",
                    elsewhere.join(", ")
                ));
                self.checked.push(row);
            }
        }
    }
}
