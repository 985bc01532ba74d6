//! The JSON Schema of job files: what of it the types of [`crate::job_file`] do not say by
//! themselves. Its lists of words are those of the readers.

use schemars::{Schema, SchemaGenerator, json_schema};
use serde_json::{Value, json};
use turfplat_dose::{EquipmentKind, LoadPlan, Reduction};

use crate::job::hazard_kinds;
use crate::job_file::JobFile;
use crate::season::AT_LIMIT;

/// The JSON Schema (draft 2020-12) of a job file, as `data/job.schema.json`. An editor that knows
/// it offers the keys and underlines what is not one.
///
/// It is as strict as the reader in all that can be seen of one table alone, and stricter in one:
/// words such as `backpack` are to be written small. What hangs on other tables or on the data of
/// this tool (equipment that is not there, an unknown grass or product) only the reader sees.
pub fn job_schema() -> String {
    let schema = SchemaGenerator::default().into_root_schema_for::<JobFile>();
    format!("{:#}\n", schema.to_value())
}

fn listed(known: &str) -> Vec<&str> {
    known.split(", ").collect()
}

pub(crate) fn equipment_kinds() -> Value {
    json!(listed(EquipmentKind::KNOWN))
}

pub(crate) fn load_plans() -> Value {
    json!(listed(LoadPlan::KNOWN))
}

/// Of the names of keys.
pub(crate) fn hazards() -> Value {
    json!({ "enum": listed(&hazard_kinds()) })
}

pub(crate) fn hazard_kinds_listed() -> Value {
    json!(listed(&hazard_kinds()))
}

pub(crate) fn both(one: &str, other: &str) -> Value {
    json!({ "required": [one, other] })
}

/// Keys that say nothing without a swath.
pub(crate) fn with_swath() -> Value {
    json!({ "edge_first": ["swath"], "turning": ["swath"] })
}

pub(crate) fn reductions(_: &mut SchemaGenerator) -> Schema {
    let word = json!({ "type": "string", "enum": listed(Reduction::KNOWN) });
    json_schema!({ "anyOf": [word, { "type": "array", "items": word }] })
}

pub(crate) fn one_or_more(_: &mut SchemaGenerator) -> Schema {
    let some = json!({ "type": "array", "items": { "type": "string" }, "minItems": 1 });
    json_schema!({ "anyOf": [{ "type": "string" }, some] })
}

/// What a season does where a limit leaves less than the rate.
pub(crate) fn at_limit() -> Value {
    json!(listed(AT_LIMIT))
}

/// The two ways to tell green-up.
pub(crate) fn green_up() -> Value {
    let way = |with: [&str; 2], without: [&str; 2]| {
        let not = without.map(|key| json!({ "required": [key] }));
        json!({ "required": with, "not": { "anyOf": not } })
    };
    let (soil, warmth) = (["soil", "days"], ["degree_days", "base"]);
    json!([way(soil, warmth), way(warmth, soil)])
}

/// Pairs of days.
pub(crate) fn pauses(generator: &mut SchemaGenerator) -> Schema {
    let pair = json!({ "type": "array", "items": day(generator), "minItems": 2, "maxItems": 2 });
    json_schema!({ "type": "array", "items": pair })
}

/// TOML's own date comes to a validator as the text that it is written as.
pub(crate) fn day(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_schema_in_the_data_folder_is_current() {
        let committed = include_str!("../../../data/job.schema.json");
        assert!(committed == job_schema(), "run: turfplat job schema > data/job.schema.json");
        assert!(committed.contains("https://json-schema.org/draft/2020-12/schema"));
    }
}
