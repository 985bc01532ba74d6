//! Why limits are told in few lines: whoever reads them at six in the morning wants to see what
//! is not kept, then what is, then what nobody states. Zones that agree share a line.

use turfplat::dose::{Checked, LimitBy, LimitVerdict};
use turfplat::units::UnitSystem;
use turfplat::{ApplicationPlan, Print, PropertyPlan};

/// What has been put down already, one line a treatment; nothing where nothing is told.
pub(crate) fn history(plan: &PropertyPlan<'_>, units: UnitSystem) -> String {
    let print = Print(units);
    let lines: Vec<String> = (plan.history.iter())
        .map(|laid| {
            let rate = print.product_rate(laid.rate);
            let assumed = laid.assumed_area.map_or_else(String::new, |area| {
                format!(" (its amount on the {} treated there today)", area.print(units))
            });
            let note =
                laid.treatment.note.as_ref().map_or_else(String::new, |note| format!("; {note}"));
            let record = laid.treatment.told_by.record();
            let record = record.map_or_else(String::new, |id| format!(" (record {id})"));
            format!(
                "  {} {}: {rate} on {}{assumed}{record}{note}\n",
                laid.treatment.day,
                laid.treatment.product.name,
                laid.zone_names.join(", ")
            )
        })
        .collect();
    if lines.is_empty() { String::new() } else { format!("Put down before\n{}", lines.concat()) }
}

/// The zones that get nothing for a limit, those with one reason together.
pub(crate) fn refused(application: &ApplicationPlan<'_>) -> String {
    let mut by_reason: Vec<(&str, Vec<&str>)> = Vec::new();
    for zone in application.skipped.iter().filter(|zone| zone.refused) {
        match by_reason.iter_mut().find(|(reason, _)| *reason == zone.reason) {
            Some((_, zones)) => zones.push(&zone.zone),
            None => by_reason.push((&zone.reason, vec![&zone.zone])),
        }
    }
    let lines = by_reason
        .iter()
        .map(|(reason, zones)| format!("Refused, no dose: {}: {reason}.\n", zones.join(", ")));
    lines.collect()
}

/// The limits of an application.
pub(crate) fn told(application: &ApplicationPlan<'_>) -> String {
    let mut zones: Vec<&str> = Vec::new();
    for checked in &application.limits {
        if !zones.contains(&checked.zone.as_str()) {
            zones.push(&checked.zone);
        }
    }
    if application.limits.is_empty() {
        return String::new();
    }
    let several_products = application.products.len() > 1;
    let mut text = String::new();
    let is_short = |it: &&Checked| it.verdict == LimitVerdict::NotStated || is_elsewhere(it);
    for verdict in [
        LimitVerdict::Exceeded,
        LimitVerdict::NotChecked,
        LimitVerdict::AboveAdvice,
        LimitVerdict::Kept,
    ] {
        for alike in
            grouped(application.limits.iter().filter(|it| it.verdict == verdict && !is_short(it)))
        {
            text.push_str(&line(&alike, zones.len(), several_products));
        }
    }
    if !text.is_empty() {
        text.insert_str(0, "Limits\n");
    }
    text.push_str(&not_stated(application, several_products));
    text
}

/// Limits that differ by their zones alone; of those that are kept the fullest stands for all.
fn grouped<'c>(checked: impl Iterator<Item = &'c Checked>) -> Vec<Vec<&'c Checked>> {
    let mut groups: Vec<Vec<&Checked>> = Vec::new();
    for one in checked {
        let is_alike = |group: &&mut Vec<&Checked>| {
            group.first().is_some_and(|other| {
                // What is not counted on one zone is not the least of what is on another.
                let kept = one.verdict == LimitVerdict::Kept
                    && one.asked.is_some() == other.asked.is_some();
                let same = one.asked == other.asked && one.remark == other.remark;
                (&one.product, one.limit, &one.name, &one.source)
                    == (&other.product, other.limit, &other.name, &other.source)
                    && (kept || same)
            })
        };
        match groups.iter_mut().find(is_alike) {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
}

/// `  kept        most in a year: 2.1 of 5 fl oz/1000 sq ft in 12 months from 2026-05-02 (label)`.
fn line(alike: &[&Checked], zones: usize, several_products: bool) -> String {
    let nearness = |checked: &Checked| {
        let value = checked.asked.as_ref().map(|figure| figure.value);
        value.map_or(f64::NEG_INFINITY, |value| if checked.is_a_least() { -value } else { value })
    };
    let nearest = alike.iter().reduce(|a, b| if nearness(b) > nearness(a) { b } else { a });
    let Some(one) = nearest else { return String::new() };
    let product = if several_products { format!(" [{}]", one.product) } else { String::new() };
    let differ = alike.iter().any(|it| it.asked != one.asked);
    let bound = match (&one.asked, differ) {
        (Some(_), true) if one.limit == "min_interval" => "at least ",
        (Some(_), true) => "up to ",
        _ => "",
    };
    let figures = one.figures().map_or_else(String::new, |figures| format!(": {bound}{figures}"));
    let remark = one.remark.as_ref().map_or_else(String::new, |remark| format!("; {remark}"));
    let names: Vec<&str> = alike.iter().map(|checked| checked.zone.as_str()).collect();
    let of =
        if names.len() == zones { String::new() } else { format!(" – {}", names.join(", ")) };
    format!(
        "  {:<12} {}{product}{figures}{remark} ({}){of}\n",
        one.verdict.word(),
        one.name,
        one.source
    )
}

/// Advice that is in print for other places alone.
fn is_elsewhere(checked: &Checked) -> bool {
    checked.verdict == LimitVerdict::NotChecked && checked.by == LimitBy::Species
}

/// What nobody states: advice by line, and what is missing of a label in a block of its own.
fn not_stated(application: &ApplicationPlan<'_>, several_products: bool) -> String {
    const MISSING: &str =
        "Not in the product file – read these on the label before you put it down";
    let mut groups: Vec<((LimitVerdict, String), Vec<&str>)> = Vec::new();
    let is_short = |it: &&Checked| it.verdict == LimitVerdict::NotStated || is_elsewhere(it);
    for one in application.limits.iter().filter(is_short) {
        let who = match &one.remark {
            Some(remark) => remark.clone(),
            None if several_products => format!("{MISSING} [{}]", one.product),
            None => MISSING.to_owned(),
        };
        let who = (one.verdict, who);
        match groups.iter_mut().find(|(known, _)| *known == who) {
            Some((_, names)) if names.contains(&one.name.as_str()) => {}
            Some((_, names)) => names.push(&one.name),
            None => groups.push((who, vec![&one.name])),
        }
    }
    let (missing, advice): (Vec<_>, Vec<_>) =
        groups.iter().partition(|((_, who), _)| who.starts_with(MISSING));
    let lines = advice.iter().map(|((verdict, who), names)| {
        format!("  {:<12} {} ({who})\n", verdict.word(), names.join(", "))
    });
    let blocks =
        missing.iter().map(|((_, who), names)| format!("{who}:\n  {}.\n", names.join("; ")));
    lines.chain(blocks).collect()
}
