//! Why mixing, trial and rinsing are put in words apart from the order: a day's sheet tells them too. Fills that are done alike stand beside each
//! other, so that a page holds a day's.

use serde::Serialize;
use turfplat_dose::{Batch, Equipment, FillSteps, Product, Step};
use turfplat_units::Amount;

use crate::plan::ApplicationPlan;
use crate::print::Print;

/// Steps at the tank, with the amounts of each fill beside each other.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct MixingSheet {
    /// Of each column of amounts its loads.
    pub heads: Vec<String>,
    pub steps: Vec<MixingStep>,
}

/// One thing to do at the tank.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[allow(missing_docs)] // The names say it.
pub struct MixingStep {
    pub number: String,
    pub what: String,
    /// What only the label knows.
    pub note: Option<String>,
    /// In the order of the heads; empty of what is only done.
    pub amounts: Vec<String>,
}

/// So many fills stand beside each other on a page.
const FILLS_ABREAST: usize = 5;

/// The steps of all batches; those that are done alike share a sheet.
pub(crate) fn mixing(application: &ApplicationPlan<'_>, print: Print) -> Vec<MixingSheet> {
    let several = application.batches.len() > 1;
    let mut sheets: Vec<MixingSheet> = Vec::new();
    for batch in &application.batches {
        for fill in batch.mixing(&application.products) {
            let head = match several {
                true => format!("batch {}, {}", batch.number, Print::loads(&fill.loads)),
                false => Print::loads(&fill.loads),
            };
            let alike = sheets
                .iter_mut()
                .find(|it| it.heads.len() < FILLS_ABREAST && does_the_same(it, &fill));
            match alike {
                Some(sheet) => {
                    sheet.heads.push(head);
                    for (known, step) in sheet.steps.iter_mut().zip(&fill.steps) {
                        known.amounts.push(print.step(step, application.equipment));
                    }
                }
                None => sheets.push(sheet_of(head, &fill, application.equipment, print)),
            }
        }
    }
    sheets
}

fn does_the_same(sheet: &MixingSheet, fill: &FillSteps) -> bool {
    let steps = sheet.steps.iter().map(|step| step.what.as_str());
    steps.eq(fill.steps.iter().map(|step| step.what.as_str()))
}

fn sheet_of(head: String, fill: &FillSteps, with: &Equipment, print: Print) -> MixingSheet {
    let step = |step: &Step| MixingStep {
        number: step.number.to_string(),
        what: step.what.clone(),
        note: for_the_label(step),
        amounts: vec![print.step(step, with)],
    };
    MixingSheet { heads: vec![head], steps: fill.steps.iter().map(step).collect() }
}

/// Who says otherwise is the planner's; what must be asked of the label is said at the tank.
fn for_the_label(step: &Step) -> Option<String> {
    step.otherwise.clone().filter(|text| text.contains("label"))
}

/// One product in water needs no trial.
pub(crate) fn jar_test(
    application: &ApplicationPlan<'_>,
    jar: Amount,
    print: Print,
) -> Vec<String> {
    let products: &[&Product] = &application.products;
    let first = application.batches.first().filter(|_| products.len() > 1);
    let test = first.and_then(|batch| batch.jar_test(products, jar));
    let told = |step: &Step| in_words(step, print);
    test.map_or_else(Vec::new, |test| test.steps.iter().map(told).collect())
}

fn in_words(step: &Step, print: Print) -> String {
    match print.step_in_jar(step) {
        amount if amount.is_empty() => step.what.clone(),
        amount => format!("{}: {amount}", step.what),
    }
}

/// The steps at the tank without amounts, those of all batches each once; empty of a spreader.
pub(crate) fn order_of_mixing(batches: &[Batch], products: &[&Product]) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    let fills = batches.iter().filter_map(|batch| batch.mixing(products).into_iter().next());
    for step in fills.flat_map(|fill| fill.steps) {
        let note = for_the_label(&step).map_or_else(String::new, |note| format!("; {note}"));
        let text = format!("{}{note}", step.what);
        if !told.contains(&text) {
            told.push(text);
        }
    }
    told
}

/// What to do with a rest, and how to rinse, of all batches: each step once, numbered through. A step that
/// not all batches share names those that it is for; `batch` is what they are called.
pub fn rest_and_rinsing(batches: &[Batch], batch: &str) -> Vec<Step> {
    let mut told: Vec<(Step, Vec<usize>)> = Vec::new();
    for (of, step) in batches.iter().flat_map(|it| it.rinsing.iter().map(move |step| (it, step))) {
        let known = told
            .iter_mut()
            .find(|(known, _)| known.what == step.what && known.otherwise == step.otherwise);
        match known {
            Some((_, numbers)) => numbers.push(of.number),
            None => told.push((step.clone(), vec![of.number])),
        }
    }
    let rinsed = batches.iter().filter(|it| !it.rinsing.is_empty()).count();
    let named = told.into_iter().enumerate().map(|(place, (step, numbers))| {
        let what = match (numbers.len() == rinsed, &numbers[..]) {
            (true, _) => step.what,
            (false, [only]) => format!("{batch} {only}: {}", step.what),
            (false, some) => format!("{batch}{} {}: {}", plural(batch), in_a_row(some), step.what),
        };
        Step { number: place + 1, what, ..step }
    });
    named.collect()
}

fn plural(word: &str) -> &'static str {
    if word.ends_with(['h', 'x']) { "es" } else { "s" }
}

/// `1`, `1, 2`, `3 to 5`.
pub(crate) fn in_a_row(numbers: &[usize]) -> String {
    match numbers {
        [first, _, .., last] if last - first + 1 == numbers.len() => format!("{first} to {last}"),
        some => some.iter().map(usize::to_string).collect::<Vec<_>>().join(", "),
    }
}

/// The same as finished text.
pub(crate) fn rinsing(batches: &[Batch], batch: &str) -> Vec<String> {
    let told = |step: &Step| {
        let note = for_the_label(step).map_or_else(String::new, |note| format!("; {note}"));
        format!("{}{note}", step.what)
    };
    rest_and_rinsing(batches, batch).iter().map(told).collect()
}
