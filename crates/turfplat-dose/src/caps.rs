use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::WrittenRate;

use crate::provenance::Provenance;
use crate::strength::share;

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
    /// At least such a share of the nitrogen must be slow release, as a ratio.
    pub least_slow_share: Option<f64>,
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
    min_slow_share: String,
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
        let least_slow_share = match self.min_slow_share.as_str() {
            "" => None,
            written => {
                text.push_str(&format!(", at least {written} of it slow release"));
                Some(share(written)?)
            }
        };
        text.push_str(&format!(" ({provenance})."));
        Some(NitrogenCap {
            total: self.max_total_n.parse().ok()?,
            soluble,
            least_slow_share,
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
