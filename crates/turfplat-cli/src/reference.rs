//! `turfplat species`, `products`, `rules`: the reference data, every value with its source.

use serde_json::{Value, json};
use turfplat::dose::{
    Activity, Binds, Product, Provenance, Rule, RuleSet, Species, all_species, nitrogen_for,
    products as all_products,
};
use turfplat::units::UnitSystem;

use crate::input::read_job;
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

    /// With the rules of one's own that this job has
    #[arg(long, value_name = "JOB")]
    job: Option<std::path::PathBuf>,

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
            let mut rows = table::ruled([
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
            writeln!(output.out, "{}\n\nWhen it grows, and nitrogen in print:", rows.trim_fmt())?;
            for species in all_species() {
                writeln!(
                    output.out,
                    "{}\n  grows: {} ({})\n  {}",
                    species.id,
                    species.growth_window,
                    species.growth_provenance,
                    nitrogen(species)
                )?;
            }
        }
    }
    Ok(Verdict::Done)
}

/// `Illinois: 1.0 lb N/1000 sq ft; 2-4 lb N/1000 sq ft a year`, region by region.
fn nitrogen(species: &Species) -> String {
    let regions: Vec<String> = nitrogen_for(species)
        .map(|rate| {
            let told = [&rate.text, &rate.interval].into_iter().flatten().cloned();
            let place = rate.site.as_deref().unwrap_or("anywhere");
            let told = told.collect::<Vec<_>>().join("; ");
            format!("nitrogen, {place}: {told} ({})", rate.provenance)
        })
        .collect();
    if regions.is_empty() { "nitrogen: not given".to_owned() } else { regions.join("\n  ") }
}

fn species_json(species: &Species) -> Value {
    json!({
        "id": species.id,
        "common_name": species.common_name,
        "scientific_name": species.scientific_name,
        "season": species.season.to_string(),
        "other_names": species.other_names,
        "growth_window": species.growth_window,
        "growth_provenance": provenance_json(&species.growth_provenance),
        "nitrogen": nitrogen_for(species).map(|rate| json!({
            "where": rate.site,
            "at_once": rate.text,
            "in_a_year": rate.interval,
            "provenance": provenance_json(&rate.provenance),
        })).collect::<Vec<_>>(),
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
    match &args.product {
        None => list_products(&chosen, output)?,
        Some(_) => chosen.into_iter().try_for_each(|product| show_product(product, output))?,
    }
    Ok(Verdict::Done)
}

/// One line for each product.
fn list_products(products: &[&Product], output: &mut Output<'_>) -> anyhow::Result<()> {
    let mut sources: Vec<&str> = Vec::new();
    let row = |cells: [&str; 5]| {
        let [id, class, form, inside, rates] = cells;
        format!("{id:<32}{class:<18}{form:<13}{inside:<35} {rates}")
    };
    let header = row(["id", "for", "measured as", "what is in it", "rates in print"]);
    writeln!(output.out, "{header}\n{}", "─".repeat(header.chars().count()))?;
    for product in products {
        let facts = product.facts();
        let fact =
            |key: &str| facts.iter().find(|one| one.key == key).and_then(|one| one.given.clone());
        let inside = fact("active_ingredients").or_else(|| fact("analysis"));
        let rates = product.rates.iter().filter(|rate| rate.rate.is_some());
        let count = rates.clone().count();
        for source in rates.filter_map(|rate| rate.provenance.source.as_deref()) {
            if !sources.contains(&source) {
                sources.push(source);
            }
        }
        let line = row([
            &product.id,
            &fact("class").unwrap_or_else(not_given),
            product.form.word(),
            &inside.unwrap_or_else(not_given),
            &if count == 0 { "none here".to_owned() } else { count.to_string() },
        ]);
        writeln!(output.out, "{line}")?;
    }
    writeln!(
        output.out,
        "\nContents and rates in print are shown, not dosed: a dose needs the rate of your label, with\n\
         label_checked. One product with all that is known of it: turfplat products ID.\n\
         Your own label as a file: turfplat product new FILE.\n\
         Rates in print are from: {}.",
        sources.join("; ")
    )?;
    Ok(())
}

fn not_given() -> String {
    "not given".to_owned()
}

/// Everything of one product, what is not given too.
fn show_product(product: &Product, output: &mut Output<'_>) -> anyhow::Result<()> {
    writeln!(output.out, "{}: {}\n", product.id, product.name)?;
    for fact in product.facts() {
        let from = &fact.from.provenance;
        let about: Vec<String> = [
            fact.from.basis.map(|basis| basis.to_string()),
            from.source.as_ref().map(|_| from.to_string()),
            from.read.as_ref().map(|read| format!("read {read}")),
        ]
        .into_iter()
        .flatten()
        .filter(|_| fact.given.is_some())
        .collect();
        let about =
            if about.is_empty() { String::new() } else { format!("  ({})", about.join("; ")) };
        writeln!(output.out, "  {:<24}{}{about}", fact.what, fact.text())?;
    }
    for caution in &product.cautions {
        writeln!(output.out, "  mind: {} ({})", caution.text, caution.provenance)?;
    }
    if product.rates.is_empty() {
        writeln!(output.out, "\nNo rate is in print here: take it from your label.")?;
        return Ok(());
    }
    let mut rows = table::ruled(["grass", "rate in print", "where, how often", "basis", "source"]);
    for rate in &product.rates {
        let place = [&rate.site, &rate.mowing_height, &rate.interval]
            .into_iter()
            .flatten()
            .cloned()
            .collect::<Vec<_>>()
            .join(", ");
        let note = rate.note.as_ref().map_or_else(String::new, |note| format!(" [{note}]"));
        rows.add_row([
            rate.printed_species.clone(),
            rate.text.clone().unwrap_or_else(|| "none found".to_owned()),
            place,
            rate.basis.to_string(),
            format!("{}{note}", rate.provenance),
        ]);
    }
    writeln!(
        output.out,
        "\n{}\nShown, not dosed: a dose needs the rate of your label, with label_checked.",
        rows.trim_fmt()
    )?;
    Ok(())
}

/// The day of today where the command runs, as product files write days: in the evening it is
/// tomorrow already in Greenwich, and an interval would end a day early.
pub(crate) fn today() -> String {
    jiff::ZonedDateTime::now().date().to_string()
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
        "class": product.class.map(|class| class.word()),
        "form": product.form.word(),
        "formulation": product.formulation.map(|formulation| formulation.word()),
        "active_ingredients": active.collect::<Vec<_>>(),
        "analysis": product.analysis.as_ref().map(|analysis| analysis.grade()),
        "limits": limits,
        "label": product.facts().iter().map(|fact| json!({
            "key": fact.key,
            "what": fact.what,
            "given": fact.given,
            "basis": fact.from.basis.map(|basis| basis.word()),
            "provenance": provenance_json(&fact.from.provenance),
        })).collect::<Vec<_>>(),
        "rates": rates.collect::<Vec<_>>(),
        "cautions": product.cautions.iter().map(|caution| caution.text.as_str()).collect::<Vec<_>>(),
        "provenance": provenance_json(&product.provenance),
    })
}

pub(crate) fn rules(args: &RulesArgs, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let wanted = args.jurisdiction.as_deref().map(str::to_lowercase);
    let rules = match &args.job {
        None => RuleSet::default(),
        Some(job) => match read_job(job, output)? {
            Some(job) => job.rules,
            None => return Ok(Verdict::Refused),
        },
    };
    let chosen: Vec<&Rule> = rules
        .all()
        .filter(|rule| wanted.as_ref().is_none_or(|wanted| rule.jurisdiction == *wanted))
        .collect();
    if chosen.is_empty() {
        let mut known: Vec<&str> = Vec::new();
        for rule in rules.all() {
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
    let mut rows = table::ruled([
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
        let read = rule.provenance.read.as_deref().unwrap_or("date not given");
        rows.add_row([
            rule.id.clone(),
            rule.jurisdiction_name.clone(),
            format!("{}, {activity} {}", rule.kind, rule.products),
            distance(rule),
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

/// `25 ft, measured from: mean high water mark`.
fn distance(rule: &Rule) -> String {
    let distance = rule.base.print(UnitSystem::Us);
    match rule.measured_from.as_str() {
        "" => distance,
        from => format!("{distance}, measured from: {from}"),
    }
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
