//! Why answers are written piece by piece: those of a county do not fit in memory. A file is still
//! written whole or not at all, and a map of which nothing can be done writes nothing.

use std::fs;
use std::io::Write;
use std::path::Path;

use anyhow::Context;

use crate::files::{Beside, is_device, place_of};

/// What stands before, between and after the pieces of an answer.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Form<'a> {
    pub(crate) head: &'a str,
    pub(crate) between: &'a str,
    pub(crate) tail: &'a str,
}

impl Form<'_> {
    /// Pieces one after the other.
    pub(crate) const PLAIN: Form<'static> = Form { head: "", between: "", tail: "" };
}

/// An answer on its way out.
pub(crate) struct Answer<'a> {
    form: Form<'a>,
    path: Option<&'a Path>,
    to: To<'a>,
}

enum To<'a> {
    /// Nothing was written yet.
    Waiting(&'a mut dyn Write),
    Screen(&'a mut dyn Write),
    File(Beside),
    Device(fs::File),
}

impl<'a> Answer<'a> {
    /// An answer to the file at `path`, or to `out`.
    pub(crate) fn new(
        form: Form<'a>,
        path: Option<&'a Path>,
        out: &'a mut dyn Write,
    ) -> Answer<'a> {
        Answer { form, path, to: To::Waiting(out) }
    }

    /// Adds a piece.
    pub(crate) fn add(self, piece: &str) -> anyhow::Result<Answer<'a>> {
        let Answer { form, path, to } = self;
        let (mut to, before) = match (to, path) {
            (To::Waiting(out), None) => (To::Screen(out), form.head),
            (To::Waiting(_), Some(path)) => {
                let place = place_of(path);
                let to = if is_device(&place) {
                    let file = fs::OpenOptions::new().append(true).open(&place);
                    To::Device(file.with_context(|| format!("cannot write {}", path.display()))?)
                } else {
                    To::File(Beside::open(&place)?)
                };
                (to, form.head)
            }
            (to, _) => (to, form.between),
        };
        to.write(before)?;
        to.write(piece)?;
        Ok(Answer { form, path, to })
    }

    /// Writes the end and puts a file in its place; `more` stands before the tail.
    pub(crate) fn finish(mut self, more: &str) -> anyhow::Result<()> {
        if matches!(self.to, To::Waiting(_)) {
            return Ok(());
        }
        self.to.write(more)?;
        self.to.write(self.form.tail)?;
        match self.to {
            To::File(beside) => beside.put_in_place(),
            To::Waiting(_) | To::Screen(_) | To::Device(_) => Ok(()),
        }
    }
}

impl To<'_> {
    fn write(&mut self, text: &str) -> anyhow::Result<()> {
        match self {
            To::Waiting(out) | To::Screen(out) => Ok(out.write_all(text.as_bytes())?),
            To::File(beside) => beside.write_all(text.as_bytes()),
            To::Device(file) => Ok(file.write_all(text.as_bytes())?),
        }
    }
}

/// A JSON document as one of the values of an array in another, two levels in.
pub(crate) fn indented(document: &serde_json::Value) -> String {
    format!("{document:#}").replace('\n', "\n    ")
}

/// The form of a document with an array of properties.
pub(crate) const PROPERTIES: Form<'static> =
    Form { head: "{\n  \"properties\": [\n    ", between: ",\n    ", tail: "\n}\n" };

/// What follows the array of [`PROPERTIES`]: its end and, where there are any, the refusals and what
/// to buy for all together.
pub(crate) fn after_properties(
    refused: &[turfplat::Refusal],
    buy: Option<&serde_json::Value>,
) -> String {
    let refused = (!refused.is_empty()).then(|| crate::check::refusals_json(refused));
    let mut text = "\n  ]".to_owned();
    for (key, value) in [("buy", buy), ("refused", refused.as_ref())] {
        if let Some(value) = value {
            let value = format!("{value:#}").replace('\n', "\n  ");
            text.push_str(&format!(",\n  \"{key}\": {value}"));
        }
    }
    text
}
