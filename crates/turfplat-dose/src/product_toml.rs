//! Why the file has types of its own: here a misspelt key is caught by name and line,
//! before any text is taken for a quantity.

use std::collections::BTreeMap;
use std::fmt;

use schemars::JsonSchema;
use serde::de::value::{MapAccessDeserializer, SeqAccessDeserializer};
use serde::de::{MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};

use crate::label::SignalWord;
use crate::product::{Form, Formulation, ProductClass};
use crate::provenance::{Basis, Status};
use crate::year::LabelYear;
use crate::zone::Condition;

/// The words of a key as the schema lists them: those that the reader lists.
fn words(known: &str) -> Vec<String> {
    known.split(", ").map(str::to_owned).collect()
}

/// What the label or the bag says of one product. Only id, name and form are needed; what is
/// left out is "not given", never zero and never allowed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "turfplat product file")]
pub(crate) struct File {
    /// Name in jobs: small letters, digits and hyphens, such as "urea-46-0-0".
    pub(crate) id: String,
    /// Name in print.
    pub(crate) name: String,
    /// How it is measured.
    #[schemars(extend("enum" = words(Form::KNOWN)))]
    pub(crate) form: String,
    /// What it is for.
    #[schemars(extend("enum" = words(ProductClass::KNOWN)))]
    pub(crate) class: Option<String>,
    /// How it is made up, which decides when it goes into the tank.
    #[schemars(extend("enum" = words(Formulation::KNOWN)))]
    pub(crate) formulation: Option<String>,
    /// What acts, and how much of it there is.
    #[serde(default)]
    pub(crate) active_ingredients: Vec<IngredientEntry>,
    /// Weight in a volume of the product itself, such as "9.1 lb/gal".
    pub(crate) density: Option<String>,
    /// The nutrients of a fertilizer.
    pub(crate) analysis: Option<AnalysisEntry>,
    /// Rates by species; only those of basis "label" are dosed.
    #[serde(default)]
    pub(crate) rates: Vec<RateEntry>,
    /// Spray volume: one figure, which is the least, or the least and the most, such as
    /// ["1 gal/1000 sq ft", "2 gal/1000 sq ft"].
    pub(crate) spray_volume: Option<OneOrMore>,
    /// What the label caps.
    #[serde(default)]
    pub(crate) limits: LimitsEntry,
    /// Time without rain after it, such as "6 h".
    pub(crate) rain_free: Option<String>,
    /// Air temperatures between which it may go down.
    #[serde(default)]
    pub(crate) temperature: TemperatureEntry,
    /// Winds between which it may go down, and gusts.
    #[serde(default)]
    pub(crate) wind: WindEntry,
    /// Whether and how it is watered in, in the label's words.
    pub(crate) watering_in: Option<String>,
    /// Distances kept always and in all directions, by kind of feature, such as water = "25 ft".
    #[serde(default)]
    pub(crate) setbacks: BTreeMap<String, String>,
    /// Distances kept downwind only, by kind of feature.
    #[serde(default)]
    pub(crate) drift_buffers: BTreeMap<String, String>,
    /// States of turf that must not be treated.
    #[serde(default)]
    pub(crate) unfit: Vec<UnfitEntry>,
    /// What to mind.
    #[serde(default)]
    pub(crate) cautions: Vec<CautionEntry>,
    /// Signal word of the label.
    #[schemars(extend("enum" = words(SignalWord::KNOWN)))]
    pub(crate) signal_word: Option<String>,
    /// What to wear, each piece in the label's words.
    #[serde(default)]
    pub(crate) ppe: Vec<String>,
    /// When people may go back, in the label's words.
    pub(crate) reentry: Option<String>,
    /// EPA registration number, such as "12345-678".
    pub(crate) epa_registration: Option<String>,
    /// What it is sold in, with prices, by which a plan says what to buy.
    #[serde(default)]
    pub(crate) containers: Vec<ContainerEntry>,
    /// The day on which you read the label, such as "2026-05-02". Without it no rate is dosed.
    #[serde(default, deserialize_with = "day")]
    #[schemars(with = "Option<String>")]
    pub(crate) label_checked: Option<String>,
    /// Where on the label a rate stands that this tool takes for a slip, being far from all that is
    /// usual: it lifts the bounds of this tool and no maximum.
    pub(crate) rate_is_right: Option<String>,
    /// What the values rest on, unless [sources] says otherwise.
    #[schemars(extend("enum" = words(Basis::KNOWN)))]
    pub(crate) basis: Option<String>,
    /// Where the values come from, unless [sources] says otherwise.
    pub(crate) source: Option<String>,
    /// How the source was come by.
    #[schemars(extend("enum" = words(Status::KNOWN)))]
    pub(crate) status: Option<String>,
    /// When the source was read.
    pub(crate) read: Option<String>,
    /// Sources of single keys of this file, such as [sources.density].
    #[serde(default)]
    pub(crate) sources: BTreeMap<String, SourceEntry>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct SourceEntry {
    #[schemars(extend("enum" = words(Basis::KNOWN)))]
    pub(crate) basis: Option<String>,
    pub(crate) source: Option<String>,
    #[schemars(extend("enum" = words(Status::KNOWN)))]
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ContainerEntry {
    /// What is in it, such as "1 gal" or "50 lb".
    pub(crate) size: String,
    /// What it costs, in quotes, such as "39.95" or "$39.95".
    pub(crate) price: Option<Price>,
}

/// Money is counted in decimals; a bare 39.95 of TOML would be a binary fraction.
#[derive(Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a price in quotes, such as \"39.95\"")]
pub(crate) enum Price {
    Whole(u32),
    Text(String),
}

impl Price {
    pub(crate) fn into_text(self) -> String {
        match self {
            Price::Whole(whole) => whole.to_string(),
            Price::Text(text) => text,
        }
    }
}

#[derive(Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TemperatureEntry {
    /// Such as "50 F" or "10 C".
    pub(crate) at_least: Option<String>,
    /// Such as "90 F" or "32 C".
    pub(crate) at_most: Option<String>,
}

#[derive(Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct WindEntry {
    /// Such as "3 mph" or "5 km/h".
    pub(crate) at_least: Option<String>,
    /// Such as "10 mph" or "16 km/h".
    pub(crate) at_most: Option<String>,
    /// Of gusts, such as "15 mph" or "24 km/h".
    pub(crate) gust_at_most: Option<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct IngredientEntry {
    /// Common name.
    pub(crate) name: String,
    /// Such as "1 lb/gal", "120 g/L" or "65 %"; "3.8 lb a.e./gal" where the label counts the acid
    /// equivalent.
    pub(crate) content: Option<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a percentage, such as \"46 %\" or 46")]
pub(crate) enum Percent {
    // A bare share of 1 is refused: 0.7 may be 70 % or 0.7 %.
    Number(#[schemars(extend("anyOf" = [{"const": 0}, {"minimum": 1, "maximum": 100}]))] f64),
    Text(String),
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct AnalysisEntry {
    pub(crate) n: Percent,
    pub(crate) p2o5: Percent,
    pub(crate) k2o: Percent,
    /// Which share of the nitrogen is quickly soluble, such as "70 %".
    pub(crate) soluble_n_share: Option<Percent>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a text or a list of texts in quotes")]
pub(crate) enum OneOrMore {
    One(String),
    More(Vec<String>),
}

impl OneOrMore {
    pub(crate) fn all(self) -> Vec<String> {
        match self {
            OneOrMore::One(one) => vec![one],
            OneOrMore::More(all) => all,
        }
    }
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct RateEntry {
    pub(crate) species: OneOrMore,
    /// One rate, or the lowest and the highest; a job chooses inside a range.
    pub(crate) rate: Option<OneOrMore>,
    #[schemars(extend("enum" = words(Basis::KNOWN)))]
    pub(crate) basis: String,
    /// Where, such as "lawn" or "fairway".
    pub(crate) r#use: Option<String>,
    /// Height of cut that the rate is for, or the lowest and the highest.
    pub(crate) mowing_height: Option<OneOrMore>,
    pub(crate) interval: Option<String>,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
    pub(crate) note: Option<String>,
}

#[derive(Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct LimitsEntry {
    /// Of product, as "0.5 fl oz/1000 sq ft".
    #[serde(default, deserialize_with = "limit")]
    #[schemars(with = "Option<LimitText>")]
    pub(crate) max_per_application: Option<LimitEntry>,
    /// Of active ingredient, as "0.5 lb a.i./A"; where the product has several, with its name, as
    /// { limit = "1 lb a.e./A", of = "2,4-D" }, or a list of such.
    #[serde(default, deserialize_with = "limits")]
    #[schemars(with = "Option<LimitTexts>")]
    pub(crate) max_active_per_application: Vec<LimitEntry>,
    /// Of nitrogen, as "0.9 lb N/1000 sq ft".
    #[serde(default, deserialize_with = "limit")]
    #[schemars(with = "Option<LimitText>")]
    pub(crate) max_nitrogen_per_application: Option<LimitEntry>,
    #[serde(default, deserialize_with = "limit")]
    #[schemars(with = "Option<LimitText>")]
    pub(crate) max_per_year: Option<LimitEntry>,
    #[serde(default, deserialize_with = "limits")]
    #[schemars(with = "Option<LimitTexts>")]
    pub(crate) max_active_per_year: Vec<LimitEntry>,
    #[serde(default, deserialize_with = "limit")]
    #[schemars(with = "Option<LimitText>")]
    pub(crate) max_nitrogen_per_year: Option<LimitEntry>,
    /// What the label means by a year: any "12 months" (where nothing is said, the stricter
    /// reading), the "calendar year", or a "season", which is counted as any 12 months.
    #[schemars(extend("enum" = words(LabelYear::KNOWN)))]
    pub(crate) year: Option<String>,
    /// Whole days, as "28 days".
    #[serde(default, deserialize_with = "limit")]
    #[schemars(with = "Option<LimitText>")]
    pub(crate) min_interval: Option<LimitEntry>,
}

/// How a limit may be written: by itself, or with who says it.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[allow(dead_code)] // The schema is made of it.
enum LimitText {
    Alone(String),
    Sourced(LimitEntry),
}

/// One limit, or one for each active ingredient.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[allow(dead_code)] // The schema is made of it.
enum LimitTexts {
    One(LimitText),
    Each(Vec<LimitEntry>),
}

/// Reads what [`limit`] reads, and a list of such.
fn limits<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<LimitEntry>, D::Error> {
    struct Each;
    impl<'de> Visitor<'de> for Each {
        type Value = Vec<LimitEntry>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str(
                "a limit in quotes with its unit, { limit = \"1 lb a.e./A\", of = \"2,4-D\" }, or a list of such",
            )
        }

        fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<Vec<LimitEntry>, E> {
            Ok(vec![LimitEntry::of_text(text)])
        }

        fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Vec<LimitEntry>, A::Error> {
            Ok(vec![LimitEntry::deserialize(MapAccessDeserializer::new(map))?])
        }

        fn visit_seq<A: SeqAccess<'de>>(self, list: A) -> Result<Vec<LimitEntry>, A::Error> {
            Vec::deserialize(SeqAccessDeserializer::new(list))
        }
    }
    from.deserialize_any(Each)
}

/// Reads both ways of [`LimitText`], and still tells a misspelt key by name.
fn limit<'de, D: Deserializer<'de>>(from: D) -> Result<Option<LimitEntry>, D::Error> {
    struct Both;
    impl<'de> Visitor<'de> for Both {
        type Value = LimitEntry;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str(
                "a limit in quotes with its unit, or { limit = \"28 days\", source = \"the label\" }",
            )
        }

        fn visit_str<E: serde::de::Error>(self, text: &str) -> Result<LimitEntry, E> {
            Ok(LimitEntry::of_text(text))
        }

        fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<LimitEntry, A::Error> {
            LimitEntry::deserialize(MapAccessDeserializer::new(map))
        }
    }
    from.deserialize_any(Both).map(Some)
}

/// A day as text or as TOML's own date.
fn day<'de, D: Deserializer<'de>>(from: D) -> Result<Option<String>, D::Error> {
    #[derive(Deserialize)]
    #[serde(untagged, expecting = "expected a date, such as \"2026-05-02\"")]
    enum Day {
        Text(String),
        Date(toml::value::Datetime),
    }
    Ok(Some(match Day::deserialize(from)? {
        Day::Text(text) => text,
        Day::Date(date) => date.to_string(),
    }))
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct LimitEntry {
    pub(crate) limit: String,
    /// Of which active ingredient, where the product has several.
    pub(crate) of: Option<String>,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

impl LimitEntry {
    fn of_text(text: &str) -> LimitEntry {
        LimitEntry { limit: text.to_owned(), of: None, source: None, status: None, read: None }
    }
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct UnfitEntry {
    #[schemars(extend("enum" = words(Condition::KNOWN)))]
    pub(crate) condition: String,
    pub(crate) because: String,
    #[schemars(extend("enum" = words(Basis::KNOWN)))]
    pub(crate) basis: String,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct CautionEntry {
    pub(crate) text: String,
    pub(crate) source: Option<String>,
    pub(crate) status: Option<String>,
    pub(crate) read: Option<String>,
}

/// The JSON Schema (draft 2020-12) of a product file, as `data/product.schema.json`. An editor
/// that knows it offers the keys and underlines what is not one.
pub fn product_schema() -> String {
    let schema = schemars::SchemaGenerator::default().into_root_schema_for::<File>();
    format!("{:#}\n", schema.to_value())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_schema_in_the_data_folder_is_current() {
        let committed = include_str!("../../../data/product.schema.json");
        assert!(
            committed == product_schema(),
            "run: turfplat product schema > data/product.schema.json"
        );
        assert!(committed.contains("https://json-schema.org/draft/2020-12/schema"));
    }
}
