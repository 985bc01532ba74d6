use serde_json::Value;
use typst::WorldExt;
use typst::diag::SourceDiagnostic;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp, pdf};

use crate::error::PdfError;
use crate::printable::printable;
use crate::template::Template;
use crate::world::Desk;

/// A finished paper.
#[derive(Clone, Debug)]
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// True where it is made for screen readers as PDF/UA-1 asks (ISO 14289-1), beside PDF/A-2b.
    pub accessible: bool,
}

/// How many papers ago what the engine remembers was last of use, before it is forgotten: fonts and
/// templates serve again, and the memory of a thousand papers stays that of some.
const REMEMBERED: usize = 4;

/// Sets data as a template says.
///
/// * In: data as JSON, whose texts are printed and never read as markup; of its `date`, such as
///   `2026-06-08`, the file's own date is made. Files by the names that the template calls them.
/// * Out: PDF/A-2b (ISO 19005-2), tagged; the same bytes for the same arguments. Letters that the
///   fonts lack are printed as `□`.
///
/// # Errors
///
/// [`PdfError::Template`] with the line of the template, [`PdfError::Paper`] where there is none.
pub fn render(template: &Template, data: &Value, files: &[(&str, &[u8])]) -> Result<Pdf, PdfError> {
    // The engine parts its work among the threads of a pool, and a thread that waits for its part
    // takes up whatever else the pool has to do. Where that is another paper, and so on, the stack
    // of one thread holds a hundred of them. So a paper has a thread of its own, which is a pool alone.
    std::thread::scope(|scope| {
        let alone = || -> Result<Pdf, PdfError> {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build();
            let _pool = pool.map_err(|error| PdfError::Paper {
                file: template.name.clone(),
                reason: error.to_string(),
            })?;
            set(template, data, files)
        };
        let thread = std::thread::Builder::new().stack_size(STACK).spawn_scoped(scope, alone);
        let paper = |reason: String| PdfError::Paper { file: template.name.clone(), reason };
        let done = thread.map_err(|error| paper(error.to_string()))?.join();
        done.unwrap_or_else(|_| Err(paper("the engine gave up on it".to_owned())))
    })
}

/// Of the thread that sets a paper, in bytes; a template may nest deeply.
const STACK: usize = 16 << 20;

fn set(template: &Template, data: &Value, files: &[(&str, &[u8])]) -> Result<Pdf, PdfError> {
    let desk = Desk::new(template, printable(data).to_string(), files)?;
    let told = |errors: &[SourceDiagnostic]| told(&desk, template, errors);
    let document = typst::compile::<PagedDocument>(&desk).output;
    let made = document.map_err(|errors| told(&errors)).and_then(|document| {
        let date = data.get("date").and_then(Value::as_str).and_then(date_of);
        let export = |standards: &[PdfStandard]| {
            let standards = PdfStandards::new(standards).map_err(|error| PdfError::Paper {
                file: template.name.clone(),
                reason: error.message().to_string(),
            })?;
            let options = PdfOptions {
                creator: Smart::Custom(Some("turfplat".to_owned())),
                timestamp: date.or_else(undated).map(Timestamp::new_utc),
                standards,
                ..PdfOptions::default()
            };
            pdf(&document, &options).map_err(|errors| told(&errors))
        };
        let made = |bytes, accessible| Pdf { bytes, pages: document.pages().len(), accessible };
        match export(&[PdfStandard::A_2b, PdfStandard::Ua_1]) {
            Ok(bytes) => Ok(made(bytes, true)),
            // A template of somebody's own need not say what a picture shows.
            Err(_) => export(&[PdfStandard::A_2b]).map(|bytes| made(bytes, false)),
        }
    });
    typst::comemo::evict(REMEMBERED);
    made
}

/// PDF/A asks for a date, and the clock is not asked: of a paper without one it is this.
fn undated() -> Option<Datetime> {
    Datetime::from_ymd_hms(2000, 1, 1, 0, 0, 0)
}

/// Noon, which is that day in nearly every place.
fn date_of(text: &str) -> Option<Datetime> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    Datetime::from_ymd_hms(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?, 12, 0, 0)
}

/// The first of the engine's complaints, with its place and what it would do about it.
fn told(desk: &Desk, template: &Template, errors: &[SourceDiagnostic]) -> PdfError {
    use typst::World;
    let file = template.name.clone();
    let Some(first) = errors.first() else {
        return PdfError::Paper { file, reason: "nothing came of it".to_owned() };
    };
    let hints = first.hints.iter().map(|hint| hint.v.as_str());
    let reason = [first.message.as_str()].into_iter().chain(hints).collect::<Vec<_>>().join("; ");
    // What is wrong in a picture or in what is shared was asked for by a line of the template.
    let asked = first.trace.iter().map(|trace| trace.span.into());
    let spans = [first.span].into_iter().chain(asked);
    let mut in_template = spans.filter(|span| span.id() == Some(desk.main()));
    let place = in_template.next().and_then(|span| {
        let source = desk.source(desk.main()).ok()?;
        source.lines().byte_to_line_column(desk.range(span)?.start)
    });
    match place {
        Some((line, column)) => {
            PdfError::Template { file, line: line + 1, column: column + 1, reason }
        }
        None => {
            let named = first.span.id().map(|id| id.vpath().get_without_slash().to_owned());
            let reason = named.map_or(reason.clone(), |name| format!("{name}: {reason}"));
            PdfError::Paper { file, reason }
        }
    }
}
