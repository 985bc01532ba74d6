//! A kinds file as it is written down: what its words may be, and which of them are no kinds.

use std::collections::HashMap;

use serde_json::Value;

use super::{Meaning, SKIP, Source};
use crate::attribute_names::READ;
use crate::kind::Kind;

/// Why a kinds file cannot be used.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum ColumnsError {
    /// Not TOML.
    #[error("{file}: {reason}")]
    NotToml { file: String, reason: String },

    /// A property that is not read.
    #[error("{file}: {property:?} is no property of a map; use one of: {}", READ.join(", "))]
    UnknownProperty { file: String, property: String },

    /// A kind that there is not.
    #[error("{file}: {column} {value:?} is to be {kind:?}, which is no kind; use \"skip\" or one of: {}", Kind::ALL.map(Kind::name).join(", "))]
    UnknownKind { file: String, column: String, value: String, kind: String },

    /// Two spellings of one value, which are told apart by nobody.
    #[error(
        "{file}: {column} {value:?} stands there twice, in other letters, with another meaning; keep one"
    )]
    Contradiction { file: String, column: String, value: String },

    /// A column that no map has.
    #[error("no map has a column {column:?}; {}", match near {
        Some(near) => format!("is {near:?} meant?"),
        None if known.is_empty() => "its features have no columns but those that are read anyway".to_owned(),
        None => format!("use one of those that are there: {}", known.join(", ")),
    })]
    NoColumn { column: String, near: Option<String>, known: Vec<String> },

    /// Columns of kinds none of which any map has.
    #[error(
        "no map has any of the columns by which the kinds file says kinds ({}); {}",
        columns.join(", "),
        if known.is_empty() { "its features have none".to_owned() } else { format!("those that are there: {}", known.join(", ")) }
    )]
    NoColumns { columns: Vec<String>, known: Vec<String> },

    /// Something else than a column, a table of values or a constant.
    #[error(
        "{file}: {property} must be a column's name, a number for every feature, or tables such as [{property}.COLUMN] with value = meaning"
    )]
    NoSource { file: String, property: String },
}

/// What a kinds file says of one property.
pub(super) fn sources(
    file: &str,
    property: &'static str,
    said: &toml::Value,
) -> Result<Vec<Source>, ColumnsError> {
    let no_source =
        || ColumnsError::NoSource { file: file.to_owned(), property: property.to_owned() };
    match said {
        toml::Value::String(column) => Ok(vec![Source::Column(column.clone())]),
        toml::Value::Integer(number) => Ok(vec![Source::Always((*number).into())]),
        toml::Value::Float(number) => Ok(vec![Source::Always((*number).into())]),
        toml::Value::Table(columns) => columns
            .iter()
            .map(|(column, values)| {
                let values = values.as_table().ok_or_else(no_source)?;
                let mut means: HashMap<String, Meaning> = HashMap::new();
                for (value, meaning) in values {
                    let meaning = meaning_of(meaning).ok_or_else(no_source)?;
                    check_kind(file, property, column, value, &meaning)?;
                    let said = Meaning { spelled: value.trim().to_owned(), value: meaning.clone() };
                    // What is still to be filled in contradicts nothing.
                    let key = value.trim().to_lowercase();
                    let known = means.get(&key).map(|known| known.value.clone());
                    if known.as_ref().is_none_or(|known| meaning != "" || *known == "") {
                        means.insert(key, said);
                    }
                    if known.is_some_and(|known| known != meaning && known != "" && meaning != "") {
                        let (file, column) = (file.to_owned(), column.clone());
                        let value = value.clone();
                        return Err(ColumnsError::Contradiction { file, column, value });
                    }
                }
                Ok(Source::Values { column: column.clone(), means })
            })
            .collect(),
        _ => Err(no_source()),
    }
}

fn meaning_of(said: &toml::Value) -> Option<Value> {
    match said {
        toml::Value::String(text) => Some(text.as_str().into()),
        toml::Value::Integer(number) => Some((*number).into()),
        toml::Value::Float(number) => Some((*number).into()),
        _ => None,
    }
}

fn check_kind(
    file: &str,
    property: &str,
    column: &str,
    value: &str,
    meaning: &Value,
) -> Result<(), ColumnsError> {
    let kind = meaning.as_str().unwrap_or_default();
    // A value that is still to be filled in is as good as not listed: the feature will be refused.
    if property != "kind" || kind == SKIP || kind.is_empty() || kind.parse::<Kind>().is_ok() {
        return Ok(());
    }
    Err(ColumnsError::UnknownKind {
        file: file.to_owned(),
        column: column.to_owned(),
        value: value.to_owned(),
        kind: kind.to_owned(),
    })
}
