//! Records on a screen.

use std::io::Write;

use comfy_table::Cell;
use turfplat::ledger::{Kept, by_product};
use turfplat::units::UnitSystem;
use turfplat::{Print, RecordSheet};

use crate::table::{self, number};

/// Records, one line for each.
pub(crate) fn list(records: &[Kept], units: UnitSystem) -> String {
    let mut rows = table::new([
        "record",
        "date",
        "property",
        "application",
        "put down",
        "state",
        "keep until",
    ]);
    let print = Print(units);
    for kept in records {
        let record = &kept.record;
        let sums = by_product(record).into_iter().map(|(id, sum)| {
            let amount = sum.amount.map_or("amount not given".to_owned(), |it| print.product(it));
            format!("{id}: {amount}")
        });
        let state = match kept.replaced_by {
            Some(by) => format!("{}, replaced by {by}", kept.state.word()),
            None => kept.state.word().to_owned(),
        };
        rows.add_row([
            number(kept.id),
            Cell::new(record.date),
            Cell::new(&record.property),
            Cell::new(&record.application),
            Cell::new(sums.collect::<Vec<_>>().join("\n")),
            Cell::new(state),
            Cell::new(kept.keep_until),
        ]);
    }
    format!("{}\n", rows.trim_fmt())
}

/// All of one record.
pub(crate) fn show(sheet: &RecordSheet, out: &mut dyn Write) -> anyhow::Result<()> {
    let replaced = sheet.replaced.as_ref().map_or_else(String::new, |it| format!("{it}\n"));
    writeln!(
        out,
        "Record {}: {}, {}, {}\n{replaced}{}; written {}; keep until {}\nseal {}\n",
        sheet.record,
        sheet.property,
        sheet.application,
        sheet.date,
        sheet.state,
        sheet.written,
        sheet.keep_until,
        sheet.seal
    )?;
    let mut facts = table::new(["what", "as told"]);
    for (what, text) in &sheet.facts {
        facts.add_row([*what, text]);
    }
    writeln!(out, "{}\n", facts.trim_fmt())?;
    let mut products = table::new([
        "product",
        "registration",
        "lots",
        "amount",
        "on",
        "rate",
        "planned rate",
        "off",
    ]);
    for it in &sheet.products {
        let cells = [
            &it.name,
            &it.registration,
            &it.lots,
            &it.amount,
            &it.area,
            &it.rate,
            &it.planned_rate,
            &it.off,
        ];
        products.add_row(cells.map(String::as_str));
    }
    writeln!(out, "{}", products.trim_fmt())?;
    if let Some(spray) = &sheet.spray {
        writeln!(out, "Spray: {spray}")?;
    }
    writeln!(out)?;
    let mut loads = table::new(["load", "time", "spray", "put in", "ground"]);
    for it in &sheet.loads {
        let cells = [
            it.load.clone(),
            it.time.clone(),
            it.spray.clone(),
            it.products.join("\n"),
            it.ground.join("\n"),
        ];
        loads.add_row(cells);
    }
    writeln!(out, "{}\n", loads.trim_fmt())?;
    let mut zones =
        table::new(["zone", "product", "on", "amount", "rate where thickest", "planned rate"]);
    for it in &sheet.zones {
        zones.add_row(
            [&it.zone, &it.product, &it.area, &it.amount, &it.rate, &it.planned_rate]
                .map(String::as_str),
        );
    }
    writeln!(out, "{}", zones.trim_fmt())?;
    for (title, lines) in [
        ("To be seen", &sheet.remarks),
        ("Missing", &sheet.missing),
        ("Lists of fields", &sheet.lists),
        ("Made from", &sheet.made_from),
    ] {
        if !lines.is_empty() {
            writeln!(out, "\n{title}")?;
            lines.iter().try_for_each(|line| writeln!(out, "  {line}"))?;
        }
    }
    if !sheet.trail.is_empty() {
        writeln!(out, "\nInstead of")?;
        for it in &sheet.trail {
            writeln!(
                out,
                "  record {} ({}, written {}): {}",
                it.record, it.state, it.written, it.why
            )?;
        }
    }
    writeln!(out)?;
    sheet.cautions.iter().try_for_each(|line| writeln!(out, "{line}"))?;
    Ok(())
}
