use comfy_table::{Cell, CellAlignment, ContentArrangement, Table, presets};
use turfplat::Finding;
use turfplat::units::{Area, UnitSystem};

use crate::Output;

/// Wide enough for a zone's losses, narrow enough for a laptop in a truck.
const WIDTH: u16 = 120;

/// A table with a rule under its header and nothing else.
pub(crate) fn new<'a>(header: impl IntoIterator<Item = &'a str>) -> Table {
    let mut table = Table::new();
    table
        .load_style(presets::UTF8_HORIZONTAL_ONLY)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH);
    table.set_header(header.into_iter().map(Cell::new).collect::<Vec<_>>());
    table
}

/// A number, right-aligned.
pub(crate) fn number(text: impl ToString) -> Cell {
    Cell::new(text).set_alignment(CellAlignment::Right)
}

/// An area to one decimal of the finer unit.
pub(crate) fn area(area: Area, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => turfplat::units::decimal(area.square_feet(), 1),
        UnitSystem::Metric => turfplat::units::decimal(area.square_metres(), 2),
    }
}

/// The unit of [`area`], for headers.
pub(crate) fn area_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => "sq ft",
        UnitSystem::Metric => "m²",
    }
}

/// Findings as remarks, the first few of each code and a count of the rest.
pub(crate) fn tell_findings<'f>(
    findings: impl Iterator<Item = &'f Finding>,
    units: UnitSystem,
    output: &mut Output<'_>,
) -> anyhow::Result<()> {
    const OF_EACH: usize = 5;
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for finding in findings {
        let place =
            counts.iter().position(|(code, _)| *code == finding.code).unwrap_or_else(|| {
                counts.push((finding.code, 0));
                counts.len() - 1
            });
        counts[place].1 += 1;
        if counts[place].1 <= OF_EACH {
            let area = Area::from_square_metres(finding.area_m2).filter(|area| *area > Area::ZERO);
            let area = area.map_or_else(String::new, |area| format!(" [{}]", area.print(units)));
            writeln!(
                output.remarks,
                "note {}: {}: {}{area}",
                finding.code, finding.feature, finding.message
            )?;
        }
    }
    for (code, count) in counts.iter().filter(|(_, count)| *count > OF_EACH) {
        writeln!(
            output.remarks,
            "note {code}: {} more like these; see turfplat check",
            count - OF_EACH
        )?;
    }
    Ok(())
}
