use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::WrittenRate;

use crate::chosen::ChosenProduct;
use crate::error::{DoseError, OverNitrogenCap};
use crate::provenance::Provenance;

/// The most nitrogen that a place allows at once, as in `data/nitrogen-caps.csv`. Shown as a
/// caution with every product that holds nitrogen, and binding where the place is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct NitrogenCap {
    /// The id of the place, as in the setback rules.
    pub jurisdiction: String,
    /// The place in words.
    pub jurisdiction_name: String,
    /// Of nitrogen in all.
    pub total: WrittenRate,
    /// Of quickly soluble nitrogen, where it has a cap of its own.
    pub soluble: Option<WrittenRate>,
    /// The caution in plain words.
    pub text: String,
    /// Who says so.
    pub provenance: Provenance,
}

#[derive(Deserialize)]
struct Row {
    jurisdiction: String,
    jurisdiction_name: String,
    max_total_n: String,
    max_soluble_n: String,
    conditions: String,
    source: String,
    status: String,
    read: String,
}

impl Row {
    fn cap(self) -> Option<NitrogenCap> {
        let provenance = Provenance {
            source: Some(self.source),
            status: Some(self.status.parse().ok()?),
            read: Some(self.read),
        };
        let mut text =
            format!("{} allows at most {} at once", self.jurisdiction_name, self.max_total_n);
        let soluble = match self.max_soluble_n.as_str() {
            "" => None,
            written => {
                text.push_str(&format!(", of it {written} quickly soluble"));
                Some(written.parse().ok()?)
            }
        };
        if !self.conditions.is_empty() {
            text.push_str(&format!(", {}", self.conditions));
        }
        text.push_str(&format!(" ({provenance})."));
        Some(NitrogenCap {
            total: self.max_total_n.parse().ok()?,
            soluble,
            text,
            jurisdiction: self.jurisdiction,
            jurisdiction_name: self.jurisdiction_name,
            provenance,
        })
    }
}

pub(crate) const CAPS_CSV: &str = include_str!("../../../data/nitrogen-caps.csv");

static CAPS: LazyLock<Vec<NitrogenCap>> = LazyLock::new(|| {
    // A row that cannot be read would be missing; a test counts them.
    csv::Reader::from_reader(CAPS_CSV.as_bytes())
        .deserialize()
        .filter_map(|row: Result<Row, csv::Error>| row.ok()?.cap())
        .collect()
});

/// The caps on nitrogen known here.
pub fn nitrogen_caps() -> &'static [NitrogenCap] {
    &CAPS
}

impl ChosenProduct {
    /// What of the rates exceeds the nitrogen caps of the places chosen. Where the soluble
    /// share is not given, all of the nitrogen counts as soluble: that errs towards the law.
    pub fn over_nitrogen_caps(&self, jurisdictions: &[String]) -> Vec<DoseError> {
        let Some(analysis) = self.product.analysis.filter(|analysis| analysis.n > 0.0) else {
            return Vec::new();
        };
        let share = analysis.soluble_n_share;
        let soluble = if share.is_some() {
            "quickly soluble N"
        } else {
            "quickly soluble N (its share is not given, so all counts)"
        };
        let caps = nitrogen_caps().iter().filter(|cap| jurisdictions.contains(&cap.jurisdiction));
        let limits = caps.flat_map(|cap| {
            let total = (cap, &cap.total, analysis.n, "N");
            let soluble = cap
                .soluble
                .as_ref()
                .map(|limit| (cap, limit, analysis.n * share.unwrap_or(1.0), soluble));
            [Some(total), soluble].into_iter().flatten()
        });
        let mut over = Vec::new();
        for (cap, limit, content, what) in limits {
            let Ok(allowed) = limit.rate() else { continue };
            let rates = self.rates.all().into_iter().map(|rate| rate.times(content));
            // A rate at the cap but for rounding is at the cap.
            let worst = rates
                .filter(|rate| rate.over(allowed).is_some_and(|times| times > 1.0 + 1e-9))
                .reduce(|worst, rate| {
                    if rate.over(worst).is_some_and(|times| times > 1.0) { rate } else { worst }
                });
            if let Some(rate) = worst {
                over.push(DoseError::OverNitrogenCap(Box::new(OverNitrogenCap {
                    product: self.product.id.clone(),
                    what,
                    asked: rate.print(limit.unit),
                    allowed: allowed.print(limit.unit),
                    place: cap.jurisdiction_name.clone(),
                    law: cap.provenance.to_string(),
                })));
            }
        }
        over
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_of_the_table_is_lost_and_each_says_all() {
        assert_eq!(nitrogen_caps().len(), CAPS_CSV.trim_end().lines().count() - 1);
        assert_eq!(
            nitrogen_caps()[0].text,
            "Maryland allows at most 0.9 lb N/1000 sq ft at once, of it 0.7 lb N/1000 sq ft \
             quickly soluble (Md. Code Agric. 6-224)."
        );
    }
}
