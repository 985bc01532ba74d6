//! The models of degree-days as `degree-days --models` lists them, each with where it holds and who says so.

use comfy_table::Cell;
use serde_json::{Value, json};
use turfplat::timing::{HeatModel, Temperature};

use crate::degree_days::sum_json;
use crate::rows::csv_text;
use crate::table;

pub(crate) fn model_json(model: &HeatModel) -> Value {
    json!({
        "id": model.id,
        "species": model.species,
        "site": model.site,
        "active_ingredient": model.active_ingredient,
        "base_c": model.base.map(Temperature::celsius),
        "threshold": sum_json(model.threshold),
        "predicts": model.predicts,
        "source": model.source,
        "status": model.status,
        "read": model.read,
        "note": model.note,
    })
}

pub(crate) fn models_json(models: &[HeatModel]) -> Vec<Value> {
    models.iter().map(model_json).collect()
}

fn base_in_words(model: &HeatModel) -> String {
    model.base.map_or_else(|| "not found: cannot be used".to_owned(), |base| base.to_string())
}

pub(crate) fn models_table(models: &[HeatModel]) -> String {
    let mut rows = table::ruled(["model", "for", "base", "sum", "tells"]);
    let mut sources = String::new();
    for model in models {
        let HeatModel { id, source, status, read, note, .. } = model;
        rows.add_row(vec![
            Cell::new(id),
            Cell::new(format!("{}\n({})", model.species.join("\n"), model.site)),
            Cell::new(base_in_words(model)),
            Cell::new(model.threshold),
            Cell::new(format!("{}\nof {}", model.predicts, model.active_ingredient)),
        ]);
        let note = if note.is_empty() { String::new() } else { format!("; {note}") };
        sources.push_str(&format!("  {id}: {source} ({status}, read {read}){note}\n"));
    }
    format!(
        "{}\n{sources}No model in print is for a home lawn: there the label's interval holds.\n",
        rows.trim_fmt()
    )
}

pub(crate) fn models_records(models: &[HeatModel]) -> anyhow::Result<String> {
    csv_text(|rows| {
        rows.write_record([
            "id",
            "species",
            "site",
            "active_ingredient",
            "base_c",
            "threshold_c_days",
            "predicts",
            "source",
            "status",
            "read",
            "note",
        ])?;
        for model in models {
            rows.write_record([
                model.id.as_str(),
                &model.species.join("; "),
                &model.site,
                &model.active_ingredient,
                &model.base.map_or_else(String::new, |base| base.celsius().to_string()),
                &model.threshold.celsius_days().to_string(),
                &model.predicts,
                &model.source,
                &model.status,
                &model.read,
                &model.note,
            ])?;
        }
        Ok(())
    })
}
