//! The document of `explain`: the steps as they are printed, and beside them the plan's own numbers
//! in full precision.

use serde_json::{Value, json};
use turfplat_dose::plan_rate_unit;
use turfplat_units::{Amount, AmountUnit};

use super::{ExplainedStep, Explanation, Stopped};
use crate::json::limit;
use crate::print::Print;

impl Explanation {
    /// The explanation as a JSON document; amounts and rates in its units, areas by their key.
    pub fn json(&self) -> Value {
        let mut number = 0;
        let parts: Vec<Value> = self
            .parts
            .iter()
            .map(|part| {
                let steps: Vec<Value> = part
                    .steps
                    .iter()
                    .map(|step| {
                        number += 1;
                        step_json(number, step)
                    })
                    .collect();
                json!({ "part": part.title, "steps": steps })
            })
            .collect();
        let rate = self.rate.map(|rate| {
            let unit =
                plan_rate_unit(rate.on(turfplat_units::AreaUnit::SquareMetre.area()), self.units);
            json!({ "value": rate.in_unit(unit), "unit": unit.to_string() })
        });
        let print = Print(self.units);
        let amount = |amount: Amount, unit: AmountUnit| json!({ "value": amount.in_unit(unit), "unit": unit.name() });
        let corners: Vec<Vec<[f64; 2]>> =
            self.corners.iter().map(|ring| ring.iter().map(|it| [it.x, it.y]).collect()).collect();
        json!({
            "property": self.property,
            "application": self.application,
            "equipment": self.equipment,
            "zone": self.zone,
            "product": self.product,
            "product_name": self.product_name,
            "treated_area_m2": self.treated.square_metres(),
            "rate": rate,
            "amount": self.amount.map(|it| amount(it, print.product_unit(it))),
            "spray_volume": self.spray_volume.map(|it| amount(it, print.spray_unit())),
            "corners_m": corners,
            "limits": self.limits.iter().map(limit).collect::<Vec<_>>(),
            "parts": parts,
            "stopped": self.stopped.as_ref().map(stopped_json),
        })
    }
}

fn step_json(number: usize, step: &ExplainedStep) -> Value {
    let worked = step.worked.as_ref();
    let said: Vec<Value> =
        step.said.iter().map(|said| json!({ "text": said.text, "source": said.source })).collect();
    json!({
        "step": number,
        "what": step.what,
        "formula": worked.map(|it| &it.formula),
        "numbers": worked.map(|it| &it.numbers),
        "result": worked.map(|it| &it.result),
        "source": worked.map(|it| &it.source),
        "said": said,
    })
}

fn stopped_json(stopped: &Stopped) -> Value {
    json!({
        "refused": stopped.is_refusal,
        "reasons": stopped.reasons,
        "cure": stopped.cure,
    })
}
