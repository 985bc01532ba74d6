use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::Write;

use comfy_table::{Cell, CellAlignment, ContentArrangement, LineStyle, Table, TableStyle};
use turfplat::Finding;
use turfplat::units::{Area, UnitSystem};

/// Wide enough for a zone's losses, narrow enough for a laptop in a truck.
const WIDTH: u16 = 120;

/// Rows close together, so that a plan is short.
const STYLE: TableStyle = TableStyle::new()
    .header_separator(LineStyle::none().fill('═').junction('═'))
    .bottom_border(LineStyle::none().fill('─').junction('─'));

/// A table with a rule under its header and one at its end.
pub(crate) fn new<'a>(header: impl IntoIterator<Item = &'a str>) -> Table {
    let mut table = Table::new();
    table.load_style(STYLE).set_content_arrangement(ContentArrangement::Dynamic).set_width(WIDTH);
    table.set_header(header.into_iter().map(Cell::new).collect::<Vec<_>>());
    table
}

/// A table with a rule between its rows too: of texts that run over several lines.
pub(crate) fn ruled<'a>(header: impl IntoIterator<Item = &'a str>) -> Table {
    let mut table = new(header);
    table.load_style(STYLE.row_separator(LineStyle::none().fill('─').junction('─')));
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

/// Findings to be told as remarks: the first few of each code and a count of the rest.
#[derive(Default)]
pub(crate) struct Findings {
    first: Vec<Finding>,
    counts: Vec<(&'static str, usize)>,
    known: Known,
}

/// What was found already: a river between a hundred lots is one river.
#[derive(Default)]
pub(crate) struct Known(HashSet<u64>);

impl Known {
    /// True of a finding that was not seen before.
    pub(crate) fn is_news(&mut self, finding: &Finding) -> bool {
        let mut hasher = DefaultHasher::new();
        (finding.code, &finding.feature, &finding.message).hash(&mut hasher);
        self.0.insert(hasher.finish())
    }
}

impl Findings {
    /// So many of a code are told in full.
    const OF_EACH: usize = 5;

    pub(crate) fn add(&mut self, findings: impl IntoIterator<Item = Finding>) {
        for finding in findings {
            if !self.known.is_news(&finding) {
                continue;
            }
            let known = self.counts.iter().position(|(code, _)| *code == finding.code);
            let place = known.unwrap_or_else(|| {
                self.counts.push((finding.code, 0));
                self.counts.len() - 1
            });
            self.counts[place].1 += 1;
            if self.counts[place].1 <= Findings::OF_EACH {
                self.first.push(finding);
            }
        }
    }

    pub(crate) fn tell(self, units: UnitSystem, remarks: &mut dyn Write) -> anyhow::Result<()> {
        for Finding { code, feature, message, area_m2 } in &self.first {
            let area = Area::from_square_metres(*area_m2).filter(|area| *area > Area::ZERO);
            let area = area.map_or_else(String::new, |area| format!(" [{}]", area.print(units)));
            writeln!(remarks, "note {code}: {feature}: {message}{area}")?;
        }
        for (code, count) in self.counts.iter().filter(|(_, count)| *count > Findings::OF_EACH) {
            let more = count - Findings::OF_EACH;
            writeln!(remarks, "note {code}: {more} more like these; see turfplat check")?;
        }
        Ok(())
    }
}
