//! Rows of a table for other programs. Names of properties, zones, customers and services are other
//! people's texts: a spreadsheet would take one that begins with `=` for a formula and run it. Such a
//! cell gets an apostrophe before it, which spreadsheets show as text. Source: OWASP, "CSV
//! Injection". A figure is left alone, so that a discount may be below nothing.

use std::borrow::Cow;

/// Rows as they are written; no cell of them is a formula.
pub(crate) struct Rows(csv::Writer<Vec<u8>>);

impl Rows {
    /// Writes one row.
    pub(crate) fn write_record<C: AsRef<str>>(
        &mut self,
        cells: impl IntoIterator<Item = C>,
    ) -> anyhow::Result<()> {
        for cell in cells {
            let cell = cell.as_ref();
            let kept = if is_figure(cell) { Cow::Borrowed(cell) } else { text_cell(cell) };
            self.0.write_field(kept.as_ref())?;
        }
        Ok(self.0.write_record(None::<&[u8]>)?)
    }
}

/// The text of the rows that `write` writes.
pub(crate) fn csv_text(
    write: impl FnOnce(&mut Rows) -> anyhow::Result<()>,
) -> anyhow::Result<String> {
    let mut rows = Rows(csv::Writer::from_writer(Vec::new()));
    write(&mut rows)?;
    Ok(String::from_utf8(rows.0.into_inner().map_err(|error| error.into_error())?)?)
}

/// A text of somebody else's as it may stand in a cell, also one that looks like a figure.
pub(crate) fn text_cell(text: &str) -> Cow<'_, str> {
    // What stands before the sign is dropped by some of them.
    let first = text.trim_start_matches([' ', '\u{a0}', '\u{feff}']).chars().next();
    match first {
        // The wide signs are read as the narrow ones in some languages.
        Some('=' | '+' | '-' | '@' | '\t' | '\r' | '\n' | '＝' | '＋' | '－' | '＠') => {
            Cow::Owned(format!("'{text}"))
        }
        _ => Cow::Borrowed(text),
    }
}

/// True of what is a number and nothing else.
fn is_figure(cell: &str) -> bool {
    let is_of_numbers = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E');
    cell.chars().all(is_of_numbers) && cell.parse::<f64>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_of_somebody_else_is_a_formula() {
        // The signs are those that OWASP, "CSV Injection", lists.
        for text in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1"] {
            assert_eq!(text_cell(text), format!("'{text}"), "{text:?}");
        }
        for text in ["", "Alder Lane", "1-2", "a=b", "'quoted'"] {
            assert_eq!(text_cell(text), text, "{text:?}");
        }
    }

    #[test]
    fn a_row_keeps_its_figures_and_no_formula() {
        let rows = csv_text(|rows| rows.write_record(["-1.25", "-1+cmd", "-2e-3", "--1", "=2"]));
        assert_eq!(rows.unwrap(), "-1.25,'-1+cmd,-2e-3,'--1,'=2\n");
    }
}
