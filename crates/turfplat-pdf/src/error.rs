/// Why no paper came of a template and its data.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum PdfError {
    /// The template cannot be set. Line and column count from 1, as editors do.
    #[error("{file}, line {line}, column {column}: {reason}")]
    Template { file: String, line: usize, column: usize, reason: String },

    /// What is wrong has no place in the template.
    #[error("{file}: {reason}")]
    Paper { file: String, reason: String },

    /// The engine's paths take no such name.
    #[error(
        "{name:?} cannot be the name of a file for a template: {reason}; use letters, digits and a dot"
    )]
    FileName { name: String, reason: String },
}
