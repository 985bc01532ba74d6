use std::sync::LazyLock;

use serde::Deserialize;
use turfplat_units::nearest;

use super::days::DegreeDays;
use crate::daily::Temperature;

/// A published sum of degree-days: on which grass, for what, and what it tells.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatModel {
    /// Its id, such as `bentgrass-green`.
    pub id: String,
    /// Ids of the grasses that it was found on; it holds for no other.
    pub species: Vec<String>,
    /// How they were kept, such as `putting green`; it holds for no other.
    pub site: String,
    /// The active ingredient whose effect it follows.
    pub active_ingredient: String,
    /// From which temperature warmth counts; `None` where that was not found, and it cannot be used.
    pub base: Option<Temperature>,
    /// The sum.
    pub threshold: DegreeDays,
    /// What the sum tells.
    pub predicts: String,
    /// Who says so.
    pub source: String,
    /// How sure that is: `V` read in the source, `gap` incomplete; of one's own what one writes.
    pub status: String,
    /// When it was read.
    pub read: String,
    /// What else to know.
    pub note: String,
}

/// Why a table of models, or a name of one, cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ModelError {
    #[error("{file}: not a table of models: {reason}")]
    NotATable { file: String, reason: String },

    #[error("{file}: line {line}: {key} is {text:?}; {cure}")]
    Value { file: String, line: u64, key: &'static str, text: String, cure: &'static str },

    #[error("{file}: line {line}: model {id:?} stands there twice; keep one of them")]
    Twice { file: String, line: u64, id: String },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    species: String,
    #[serde(default)]
    site: String,
    active_ingredient: String,
    base_c: String,
    threshold_c_days: String,
    #[serde(default)]
    predicts: String,
    source: String,
    #[serde(default)]
    status: String,
    #[serde(default)]
    read: String,
    #[serde(default)]
    note: String,
}

const MODELS_CSV: &str = include_str!("../../../../data/degree-day-models.csv");

// A table that cannot be read would be empty; a test counts its rows.
static MODELS: LazyLock<Vec<HeatModel>> =
    LazyLock::new(|| read_heat_models("degree-day-models.csv", MODELS_CSV).unwrap_or_default());

/// The models in print that are known here.
pub fn heat_models() -> &'static [HeatModel] {
    &MODELS
}

/// Reads a table of models of one's own, in the columns of the one that is built in: `id`, `species`
/// (ids, parted by `;`), `site`, `active_ingredient`, `base_c`, `threshold_c_days`, `predicts`,
/// `source`, `status`, `read`, `note`.
///
/// # Errors
///
/// [`ModelError`] with the line, for a figure that is none, a model without a source, and two of one id.
pub fn read_heat_models(file: &str, text: &str) -> Result<Vec<HeatModel>, ModelError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut table = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let not_a_table =
        |error: &csv::Error| ModelError::NotATable { file: file.into(), reason: error.to_string() };
    let header = table.headers().map_err(|error| not_a_table(&error))?.clone();
    let mut models: Vec<HeatModel> = Vec::new();
    for record in table.records() {
        let record = record.map_err(|error| not_a_table(&error))?;
        let line = record.position().map_or(0, csv::Position::line);
        let row: Row = record.deserialize(Some(&header)).map_err(|error| not_a_table(&error))?;
        let wrong = |key, text: &str, cure| ModelError::Value {
            file: file.into(),
            line,
            key,
            text: text.into(),
            cure,
        };
        for (key, text) in [("id", &row.id), ("species", &row.species), ("source", &row.source)] {
            if text.is_empty() {
                return Err(wrong(key, text, "a model without it can be used by nobody"));
            }
        }
        if models.iter().any(|known| known.id == row.id) {
            return Err(ModelError::Twice { file: file.into(), line, id: row.id });
        }
        let base = match row.base_c.as_str() {
            "" => None,
            text => Some(
                text.parse()
                    .ok()
                    .and_then(Temperature::from_celsius)
                    .filter(|base| base.is_possible())
                    .ok_or_else(|| wrong("base_c", text, "write degrees Celsius, such as 10"))?,
            ),
        };
        let threshold = row.threshold_c_days.parse().ok().and_then(DegreeDays::from_celsius_days);
        let threshold = threshold.filter(|sum| *sum > DegreeDays::ZERO).ok_or_else(|| {
            let cure = "write degrees Celsius times days, such as 200";
            wrong("threshold_c_days", &row.threshold_c_days, cure)
        })?;
        let species = row.species.split(';').map(str::trim).filter(|id| !id.is_empty());
        models.push(HeatModel {
            id: row.id,
            species: species.map(str::to_owned).collect(),
            site: row.site,
            active_ingredient: row.active_ingredient,
            base,
            threshold,
            predicts: row.predicts,
            source: row.source,
            status: row.status,
            read: row.read,
            note: row.note,
        });
    }
    Ok(models)
}

impl HeatModel {
    /// The model of that id among `models`, or the ids that there are, the nearest first.
    ///
    /// # Errors
    ///
    /// What may have been meant and what there is, in words.
    pub fn find<'m>(
        id: &str,
        models: impl IntoIterator<Item = &'m HeatModel> + Clone,
    ) -> Result<&'m HeatModel, String> {
        if let Some(found) = models.clone().into_iter().find(|it| it.id.eq_ignore_ascii_case(id)) {
            return Ok(found);
        }
        let ids: Vec<&str> = models.into_iter().map(|model| model.id.as_str()).collect();
        let meant = nearest(id, ids.iter().copied());
        let meant = meant.map_or_else(String::new, |near| format!("; did you mean {near:?}?"));
        Err(format!("no model {id:?} (there is: {}){meant}", ids.join(", ")))
    }

    /// True of a grass that it was found on. A mixed stand is none of them unless all its grasses are.
    pub fn is_for(&self, stand: &[&str]) -> bool {
        !stand.is_empty() && stand.iter().all(|grass| self.species.iter().any(|it| it == grass))
    }
}
