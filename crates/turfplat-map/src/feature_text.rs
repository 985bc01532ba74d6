//! One feature out of its piece of the text: straight into numbers where it is of the usual form,
//! member by member where it is not, so that a geometry that cannot be read still says whose it is.

use std::borrow::Cow;

use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor, value};
use serde_json::Value;

use crate::attribute_names::is_read;
use crate::error::MapError;
use crate::feature::FeatureRef;
use crate::outline::{GeometrySeed, OutlineReader};
use crate::scan::value_end;
use crate::splitter::Piece;
use crate::walk::usual_feature;

/// One property of a feature: a name and what the file says.
pub(crate) type Attribute<'a> = (Cow<'a, str>, Answer<'a>);

/// What a file says under a name.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Answer<'a> {
    Text(Cow<'a, str>),
    /// A number, a truth, nothing, or something nested.
    Other(Value),
}

impl Answer<'_> {
    pub(crate) fn is_null(&self) -> bool {
        matches!(self, Answer::Other(Value::Null))
    }

    /// False of nothing and of blanks.
    pub(crate) fn says_something(&self) -> bool {
        match self {
            Answer::Text(text) => !text.trim().is_empty(),
            Answer::Other(value) => !value.is_null(),
        }
    }

    /// A text or a number as text, trimmed; `None` of anything else and of nothing.
    pub(crate) fn text(&self) -> Option<Cow<'_, str>> {
        let text = match self {
            // Line breaks and the like would reach terminals and file names.
            Answer::Text(text) if text.contains(char::is_control) => {
                Cow::Owned(text.replace(char::is_control, " ").trim().to_owned())
            }
            Answer::Text(text) => Cow::Borrowed(text.trim()),
            Answer::Other(Value::Number(number)) => Cow::Owned(number.to_string()),
            Answer::Other(_) => return None,
        };
        (!text.is_empty()).then_some(text)
    }

    /// The answer short enough to stand in a message, as JSON writes it.
    pub(crate) fn shortened(&self) -> String {
        let text = match self {
            Answer::Text(text) => Value::from(text.as_ref()).to_string(),
            Answer::Other(value) => value.to_string(),
        };
        if text.chars().count() <= 40 {
            text
        } else {
            text.chars().take(37).chain("…".chars()).collect()
        }
    }
}

/// A feature as it stands in the file; its geometry went to the reader that was handed in.
#[derive(Debug)]
pub(crate) struct Drawn<'a> {
    pub(crate) attributes: Vec<Attribute<'a>>,
    /// False of a null geometry, an error of one that cannot be read.
    pub(crate) geometry: Result<bool, MapError>,
}

/// Reads a feature (RFC 7946 §3.2) whose text is `piece`; names it in `at`.
pub(crate) fn read_feature<'a>(
    text: &'a str,
    piece: &Piece,
    at: &mut FeatureRef,
    reader: &mut OutlineReader<'_>,
) -> Result<Drawn<'a>, MapError> {
    if let Some((attributes, id, has_geometry)) = usual_feature(text, reader) {
        at.label = label(&attributes, id);
        return Ok(Drawn { attributes, geometry: Ok(has_geometry) });
    }
    reader.start_anew();
    by_members(text, piece, at, reader)
}

fn label(attributes: &[Attribute<'_>], id: Option<Answer<'_>>) -> Option<Box<str>> {
    let exact = attributes.iter().rfind(|(name, _)| name == "name");
    let in_any_case = || attributes.iter().rfind(|(name, _)| name.eq_ignore_ascii_case("name"));
    let named = [exact, in_any_case()].into_iter().flatten().find_map(|(_, answer)| answer.text());
    named.or_else(|| id.as_ref().and_then(|id| id.text())).map(Box::from)
}

/// Reads what can be read of a feature of which something cannot.
fn by_members<'a>(
    text: &'a str,
    piece: &Piece,
    at: &mut FeatureRef,
    reader: &mut OutlineReader<'_>,
) -> Result<Drawn<'a>, MapError> {
    let syntax = serde_json::from_str::<IgnoredAny>(text).err();
    let not_json = |at: &FeatureRef| {
        syntax.as_ref().map(|error| {
            let (line, column) = (error.line(), error.column());
            let first_line_starts = if line <= 1 { piece.column - 1 } else { 0 };
            let line = piece.line + line.saturating_sub(1);
            let reason = plain(error);
            MapError::NotJson { at: at.clone(), line, column: column + first_line_starts, reason }
        })
    };
    let no_feature = |at: &FeatureRef, reason: String| {
        not_json(at).unwrap_or_else(|| MapError::NotAFeature { at: at.clone(), reason })
    };
    let members = match members(text) {
        Some(members) => members,
        None => return Err(no_feature(at, format!("it starts with {:?}", shortened(text)))),
    };
    let member = |name: &str| members.iter().rfind(|(key, _)| key == name).map(|(_, value)| *value);
    let answer =
        |name: &str| member(name).and_then(|value| serde_json::from_str::<Answer<'_>>(value).ok());
    let properties = member("properties").unwrap_or("null");
    let attributes = match serde_json::from_str(properties).map(|Properties(read)| read) {
        Ok(attributes) => attributes,
        Err(error) => match readable(properties) {
            Some(attributes) if syntax.is_none() => attributes,
            Some(_) | None => {
                let reason = format!(r#"its "properties": {}"#, plain(&error));
                return Err(no_feature(at, reason));
            }
        },
    };
    at.label = label(&attributes, answer("id"));
    match answer("type") {
        Some(Answer::Text(kind)) if kind == "Feature" => {}
        Some(other) => {
            return Err(no_feature(at, format!(r#"its "type" is {}"#, other.shortened())));
        }
        None => return Err(no_feature(at, r#"it has no "type""#.into())),
    }
    reader.at = Some(at.clone());
    let geometry = match member("geometry") {
        None => Ok(false),
        Some(geometry) => {
            let mut json = serde_json::Deserializer::from_str(geometry);
            let read = GeometrySeed { reader: &mut *reader, depth: 0 }.deserialize(&mut json);
            read.map_err(|error| {
                let bad = || MapError::BadGeometry { at: at.clone(), reason: plain(&error) };
                reader.slip.take().or_else(|| not_json(at)).unwrap_or_else(bad)
            })
        }
    };
    match (geometry, not_json(at)) {
        // What is no JSON is neither in the properties nor in the geometry: nobody knows what it says.
        (Ok(_), Some(error)) => Err(error),
        (geometry, _) => Ok(Drawn { attributes, geometry }),
    }
}

/// The properties of an object, but those that nobody asks for and that cannot be read, such as a
/// number beyond all doubles; `None` where one that is asked for is among them.
fn readable(properties: &str) -> Option<Vec<Attribute<'_>>> {
    let mut attributes = Vec::new();
    for (name, value) in members(properties)? {
        match serde_json::from_str(value) {
            Ok(answer) => attributes.push((name, answer)),
            Err(_) if is_read(&name) => return None,
            Err(_) => {}
        }
    }
    Some(attributes)
}

/// Reads a file that is one bare geometry. It cannot say what it is; a lawn is what people trace.
pub(crate) fn read_geometry<'a>(
    text: &str,
    at: &FeatureRef,
    reader: &mut OutlineReader<'_>,
) -> Drawn<'a> {
    reader.at = Some(at.clone());
    let mut json = serde_json::Deserializer::from_str(text);
    let read = GeometrySeed { reader: &mut *reader, depth: 0 }.deserialize(&mut json);
    let geometry = read.map_err(|error| {
        let bad = || MapError::BadGeometry { at: at.clone(), reason: plain(&error) };
        reader.slip.take().unwrap_or_else(bad)
    });
    let turf = ("kind".into(), Answer::Text("turf".into()));
    Drawn { attributes: vec![turf], geometry }
}

/// The reason without the place, which counts from the piece and not from the file.
pub(crate) fn plain(error: &serde_json::Error) -> String {
    let reason = error.to_string();
    reason.split(" at line ").next().unwrap_or_default().to_owned()
}

fn shortened(text: &str) -> String {
    text.chars().take(20).collect()
}

/// The members of the object that a text is, as far as its brackets match.
fn members(text: &str) -> Option<Vec<(Cow<'_, str>, &str)>> {
    let bytes = text.as_bytes();
    let skip_blanks = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_whitespace) {
            at += 1;
        }
        at
    };
    let mut at = skip_blanks(0);
    if bytes.get(at) != Some(&b'{') {
        return None;
    }
    let mut members = Vec::new();
    loop {
        let key_start = skip_blanks(at + 1);
        let Some(key_end) = value_end(bytes, key_start) else { break };
        let Ok(Answer::Text(key)) = serde_json::from_str(&text[key_start..key_end]) else { break };
        let colon = skip_blanks(key_end);
        if bytes.get(colon) != Some(&b':') {
            break;
        }
        let start = skip_blanks(colon + 1);
        let Some(end) = value_end(bytes, start) else { break };
        members.push((key, &text[start..end]));
        at = skip_blanks(end);
        if bytes.get(at) != Some(&b',') {
            break;
        }
    }
    Some(members)
}

/// A text, borrowed where it holds no escapes.
pub(crate) struct Text<'a>(pub(crate) Cow<'a, str>);

impl<'de> Deserialize<'de> for Text<'de> {
    fn deserialize<D: Deserializer<'de>>(json: D) -> Result<Self, D::Error> {
        match Answer::deserialize(json)? {
            Answer::Text(text) => Ok(Text(text)),
            Answer::Other(_) => Err(serde::de::Error::custom("expected a text")),
        }
    }
}

/// The properties of a feature in file order; none of `null`.
pub(crate) struct Properties<'a>(pub(crate) Vec<Attribute<'a>>);

impl<'de> Deserialize<'de> for Properties<'de> {
    fn deserialize<D: Deserializer<'de>>(json: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Properties<'de>;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("an object, or null")
            }

            fn visit_unit<E>(self) -> Result<Self::Value, E> {
                Ok(Properties(Vec::new()))
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut attributes = Vec::with_capacity(4);
                while let Some(Text(name)) = map.next_key()? {
                    attributes.push((name, map.next_value()?));
                }
                Ok(Properties(attributes))
            }
        }
        json.deserialize_any(Reader)
    }
}

impl<'de> Deserialize<'de> for Answer<'de> {
    fn deserialize<D: Deserializer<'de>>(json: D) -> Result<Self, D::Error> {
        struct Reader;
        impl<'de> Visitor<'de> for Reader {
            type Value = Answer<'de>;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a value")
            }

            fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Self::Value, E> {
                Ok(Answer::Text(Cow::Borrowed(text)))
            }

            fn visit_str<E>(self, text: &str) -> Result<Self::Value, E> {
                Ok(Answer::Text(Cow::Owned(text.to_owned())))
            }

            fn visit_unit<E>(self) -> Result<Self::Value, E> {
                Ok(Answer::Other(Value::Null))
            }

            fn visit_bool<E>(self, truth: bool) -> Result<Self::Value, E> {
                Ok(Answer::Other(truth.into()))
            }

            fn visit_i64<E>(self, number: i64) -> Result<Self::Value, E> {
                Ok(Answer::Other(number.into()))
            }

            fn visit_u64<E>(self, number: u64) -> Result<Self::Value, E> {
                Ok(Answer::Other(number.into()))
            }

            fn visit_f64<E>(self, number: f64) -> Result<Self::Value, E> {
                Ok(Answer::Other(number.into()))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, seq: A) -> Result<Self::Value, A::Error> {
                Value::deserialize(value::SeqAccessDeserializer::new(seq)).map(Answer::Other)
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
                Value::deserialize(value::MapAccessDeserializer::new(map)).map(Answer::Other)
            }
        }
        json.deserialize_any(Reader)
    }
}
