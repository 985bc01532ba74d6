//! `turfplat species`, `products`, `rules`: the reference data, every value with its source.

use serde_json::{Value, json};
use turfplat::dose::{
    Activity, Binds, Product, Provenance, Rule, Species, all_species, products as all_products,
    rules as all_rules,
};
use turfplat::units::UnitSystem;

use crate::{Output, Verdict, table};

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum Format {
    #[default]
    Table,
    Json,
}

/// List the grasses that are known, with their names and sources
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat species")]
pub(crate) struct SpeciesArgs {
    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// List the products that are known, and the rates in print for each grass
///
/// Rates from research, practice or memory are shown and never dosed: a dose needs the rate of
/// your label, with the date on which you read it.
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat products trinexapac-ethyl-1-ec")]
pub(crate) struct ProductsArgs {
    /// Only this product, by its id, with all that is known of it
    product: Option<String>,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// List the setback rules that are known, with the law or label they stand in
#[derive(clap::Args)]
#[command(after_help = "Example:\n  turfplat rules maine")]
pub(crate) struct RulesArgs {
    /// Only this place, by its id
    jurisdiction: Option<String>,

    /// Form of the answer
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

pub(crate) fn species(args: &SpeciesArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    match args.format {
        Format::Json => writeln!(
            output.out,
            "{:#}",
            json!({ "species": all_species().iter().map(species_json).collect::<Vec<_>>() })
        )?,
        Format::Table => {
            let mut rows = table::new([
                "id",
                "common name",
                "scientific name",
                "season",
                "other names",
                "source",
            ]);
            for species in all_species() {
                rows.add_row([
                    species.id.clone(),
                    species.common_name.clone(),
                    species.scientific_name.clone(),
                    species.season.to_string(),
                    species.other_names.join("; "),
                    species.provenance.to_string(),
                ]);
            }
            writeln!(output.out, "{}", rows.trim_fmt())?;
        }
    }
    Ok(Verdict::Done)
}

fn species_json(species: &Species) -> Value {
    json!({
        "id": species.id,
        "common_name": species.common_name,
        "scientific_name": species.scientific_name,
        "season": species.season.to_string(),
        "other_names": species.other_names,
        "provenance": provenance_json(&species.provenance),
    })
}

fn provenance_json(provenance: &Provenance) -> Value {
    json!({ "source": provenance.source, "status": provenance.status.map(|status| status.mark()), "read": provenance.read })
}

pub(crate) fn products(args: &ProductsArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let chosen: Vec<&Product> = match &args.product {
        None => all_products().iter().collect(),
        Some(id) => vec![turfplat::dose::find_product(id)?],
    };
    if matches!(args.format, Format::Json) {
        writeln!(
            output.out,
            "{:#}",
            json!({ "products": chosen.iter().map(|product| product_json(product)).collect::<Vec<_>>() })
        )?;
        return Ok(Verdict::Done);
    }
    for product in chosen {
        writeln!(
            output.out,
            "{}\n  {}, {}, {}, {}",
            product.id, product.name, product.class, product.form, product.formulation
        )?;
        for active in &product.active_ingredients {
            writeln!(
                output.out,
                "  active ingredient: {} {}",
                active.name,
                active.content_text.as_deref().unwrap_or("(content not given)")
            )?;
        }
        if let Some(analysis) = &product.analysis {
            writeln!(output.out, "  analysis: {}", analysis.grade())?;
        }
        for (what, limit) in limits(product) {
            writeln!(
                output.out,
                "  {what}: {}",
                limit.unwrap_or_else(|| "not given: see the label".to_owned())
            )?;
        }
        writeln!(output.out, "  source: {}", product.provenance)?;
        let mut rows =
            table::new(["grass", "rate in print", "where, how often", "basis", "source"]);
        for rate in &product.rates {
            let place = [&rate.site, &rate.interval]
                .into_iter()
                .flatten()
                .cloned()
                .collect::<Vec<_>>()
                .join(", ");
            let source = format!(
                "{}{}",
                rate.provenance,
                rate.note.as_ref().map_or_else(String::new, |note| format!(" [{note}]"))
            );
            rows.add_row([
                rate.printed_species.clone(),
                rate.text.clone().unwrap_or_else(|| "none found".to_owned()),
                place,
                rate.basis.to_string(),
                source,
            ]);
        }
        writeln!(
            output.out,
            "{}\nShown, not dosed: a dose needs the rate of your label, with label_checked.\n",
            rows.trim_fmt()
        )?;
    }
    Ok(Verdict::Done)
}

fn limits(product: &Product) -> [(&'static str, Option<String>); 3] {
    let limits = &product.limits;
    [
        (
            "at most per application",
            limits
                .max_per_application
                .as_ref()
                .map(|limit| format!("{} ({})", limit.text, limit.provenance)),
        ),
        (
            "at most per year",
            limits
                .max_per_year
                .as_ref()
                .map(|limit| format!("{} ({})", limit.text, limit.provenance)),
        ),
        (
            "shortest interval",
            limits
                .min_interval
                .as_ref()
                .map(|interval| format!("{} days ({})", interval.days, interval.provenance)),
        ),
    ]
}

fn product_json(product: &Product) -> Value {
    let active = product
        .active_ingredients
        .iter()
        .map(|active| json!({ "name": active.name, "content": active.content_text }));
    let rates = product.rates.iter().map(|rate| {
        json!({
            "species": rate.species.iter().map(|species| species.id.as_str()).collect::<Vec<_>>(),
            "printed_species": rate.printed_species,
            "rate": rate.text,
            "site": rate.site,
            "interval": rate.interval,
            "basis": rate.basis.word(),
            "provenance": provenance_json(&rate.provenance),
            "note": rate.note,
        })
    });
    let limits: serde_json::Map<String, Value> = limits(product)
        .into_iter()
        .map(|(what, limit)| (what.replace(' ', "_"), limit.into()))
        .collect();
    json!({
        "id": product.id,
        "name": product.name,
        "class": product.class.word(),
        "form": product.form.word(),
        "formulation": product.formulation.word(),
        "active_ingredients": active.collect::<Vec<_>>(),
        "analysis": product.analysis.as_ref().map(|analysis| analysis.grade()),
        "limits": limits,
        "rates": rates.collect::<Vec<_>>(),
        "cautions": product.cautions.iter().map(|caution| caution.text.as_str()).collect::<Vec<_>>(),
        "provenance": provenance_json(&product.provenance),
    })
}

pub(crate) fn rules(args: &RulesArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let wanted = args.jurisdiction.as_deref().map(str::to_lowercase);
    let chosen: Vec<&Rule> = all_rules()
        .iter()
        .filter(|rule| wanted.as_ref().is_none_or(|wanted| rule.jurisdiction == *wanted))
        .collect();
    if chosen.is_empty() {
        let mut known: Vec<&str> = Vec::new();
        for rule in all_rules() {
            if !known.contains(&rule.jurisdiction.as_str()) {
                known.push(&rule.jurisdiction);
            }
        }
        anyhow::bail!(
            "no rules of {:?} are known; known are: {}",
            args.jurisdiction.as_deref().unwrap_or_default(),
            known.join(", ")
        );
    }
    if matches!(args.format, Format::Json) {
        writeln!(
            output.out,
            "{:#}",
            json!({ "rules": chosen.iter().map(|rule| rule_json(rule)).collect::<Vec<_>>() })
        )?;
        return Ok(Verdict::Done);
    }
    let mut rows = table::new([
        "rule",
        "place",
        "from",
        "distance",
        "smaller if",
        "binds",
        "source, date read",
    ]);
    for rule in chosen {
        let activity = if rule.activity == Activity::Mix { "mixing" } else { "applying" };
        let mut smaller = Vec::new();
        if let Some(reduced) = rule.reduced {
            let means: Vec<&str> = rule.reduced_by.iter().map(|means| means.words()).collect();
            smaller.push(format!("{} with {}", reduced.print(UnitSystem::Us), means.join(" or ")));
        }
        if let Some(strip) = rule.waived_behind {
            smaller.push(format!(
                "waived behind a vegetated strip of {}",
                strip.print(UnitSystem::Us)
            ));
        }
        smaller.extend(rule.conditions.clone());
        let read = rule.provenance.read.as_deref().unwrap_or("not given");
        rows.add_row([
            rule.id.clone(),
            rule.jurisdiction_name.clone(),
            format!("{}, {activity} {}", rule.kind, rule.products),
            rule.base.print(UnitSystem::Us),
            smaller.join("; "),
            if rule.binds == Binds::Hired { "for hire".to_owned() } else { "everyone".to_owned() },
            format!("{}, {read}", rule.provenance),
        ]);
    }
    writeln!(
        output.out,
        "{}\nLaws change and local codes may be stricter: check before you rely on a row.",
        rows.trim_fmt()
    )?;
    Ok(Verdict::Done)
}

fn rule_json(rule: &Rule) -> Value {
    json!({
        "id": rule.id,
        "jurisdiction": rule.jurisdiction,
        "kind": rule.kind,
        "activity": if rule.activity == Activity::Mix { "mix" } else { "apply" },
        "products": rule.products.to_string(),
        "base_m": rule.base.metres(),
        "reduced_m": rule.reduced.map(|reduced| reduced.metres()),
        "reduced_by": rule.reduced_by.iter().map(|means| means.words()).collect::<Vec<_>>(),
        "waived_behind_m": rule.waived_behind.map(|strip| strip.metres()),
        "binds": if rule.binds == Binds::Hired { "hired" } else { "everyone" },
        "measured_from": rule.measured_from,
        "conditions": rule.conditions,
        "provenance": provenance_json(&rule.provenance),
    })
}
