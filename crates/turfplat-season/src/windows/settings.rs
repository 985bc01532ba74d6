use std::fmt;
use std::str::FromStr;

use serde::Deserialize;
use turfplat_units::{Length, Speed, Time, nearest};

use super::plausible::{self, Implausible};
use crate::hourly::Celsius;

/// The limits of this tool for whatever neither a label nor a job speaks of, each with its source.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // The rows of data/spray-weather.csv say it.
pub struct Settings {
    pub wind_at_least: Setting<Speed>,
    pub wind_at_most: Setting<Speed>,
    pub gust_at_most: Setting<Speed>,
    pub inversion_before_sunset: Setting<Time>,
    pub inversion_after_sunrise: Setting<Time>,
    pub inversion_wind_under: Setting<Speed>,
    pub rain_free: Setting<Time>,
    /// Of what is spread and not sprayed.
    pub rain_free_spread: Setting<Time>,
    /// A share from 0 to 1.
    pub rain_chance_at_most: Setting<f64>,
    pub rain_under: Setting<Length>,
    pub temperature_at_most: Setting<Celsius>,
    pub temperature_warm: Setting<Celsius>,
    pub temperature_cool: Setting<Celsius>,
    pub temperature_at_least: Setting<Celsius>,
    /// Degrees Celsius between dry and wet bulb.
    pub delta_t_at_least: Setting<f64>,
    /// Degrees Celsius between dry and wet bulb.
    pub delta_t_at_most: Setting<f64>,
    /// Degrees Celsius.
    pub delta_t_uncertain_by: Setting<f64>,
    /// Degrees Celsius between temperature and dew point.
    pub dew_spread: Setting<f64>,
    pub dew_after_sunrise: Setting<Time>,
    pub wet_after_rain: Setting<Time>,
    pub daylight: Setting<()>,
}

/// One row: a limit, how it weighs, and who says so.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting<T> {
    /// Its name in the table, such as `wind-at-most`.
    pub rule: &'static str,
    /// The limit.
    pub limit: T,
    /// As the table writes it.
    pub text: String,
    /// Whether it binds.
    pub weight: Weight,
    /// Of which products.
    pub products: Scope,
    /// Author, year and place of publication; or that there is none.
    pub source: String,
    /// When the source was read, as `2026-11`.
    pub read: String,
    /// How it was come by, as the data files mark it: `V`, `V2`, `M`, `default` and so on.
    pub status: String,
    /// True of a row of somebody's own.
    pub is_own: bool,
}

/// Whether an hour is held to a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// What is beyond it is not fit; where nothing is known, neither is the hour.
    Binding,
    /// What is beyond it is not fit; a forecast that says nothing of it is remarked on.
    WhereGiven,
    /// What is beyond it is remarked on.
    Advisory,
}

/// Which products a limit is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// Every one.
    Any,
    /// What is sprayed; granules are spread.
    Sprayed,
    /// Weed killers.
    Herbicide,
}

impl fmt::Display for Weight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Binding => "binding",
            Self::WhereGiven => "binding where given",
            Self::Advisory => "advisory",
        })
    }
}

impl FromStr for Weight {
    type Err = ();

    fn from_str(text: &str) -> Result<Weight, ()> {
        [Self::Binding, Self::WhereGiven, Self::Advisory]
            .into_iter()
            .find(|weight| weight.to_string() == text)
            .ok_or(())
    }
}

impl FromStr for Scope {
    type Err = ();

    fn from_str(text: &str) -> Result<Scope, ()> {
        match text {
            "any" => Ok(Self::Any),
            "sprayed" => Ok(Self::Sprayed),
            "herbicide" => Ok(Self::Herbicide),
            _ => Err(()),
        }
    }
}

/// Why a table of limits cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum SettingsError {
    #[error("limits of spray weather: not a table: {reason}")]
    NotATable { reason: String },

    #[error("limits of spray weather: no row {rule:?}; add it")]
    Missing { rule: &'static str },

    #[error("limits of spray weather: {rule}, {column}: {text:?}; write {write}")]
    Value { rule: String, column: &'static str, text: String, write: &'static str },

    /// `meant` is what may have been meant, or all that there are.
    #[error("limits of spray weather: no rule {rule:?}; {meant}")]
    UnknownRule { rule: String, meant: String },

    #[error("limits of spray weather: {rule} stands there twice; keep one")]
    Twice { rule: String },

    #[error("limits of spray weather: {rule}: no source; say where the limit stands")]
    NoSource { rule: String },

    #[error(transparent)]
    Implausible(#[from] Implausible),

    #[error(
        "limits of spray weather: {rule}: {text:?} is less than {least}, and still air in the hours of inversions is never fit; write {least} or more"
    )]
    Looser { rule: String, text: String, least: String },
}

#[derive(Clone, Deserialize)]
struct Row {
    rule: String,
    limit: String,
    #[serde(default)]
    weight: String,
    #[serde(default)]
    products: String,
    source: String,
    #[serde(default)]
    read: String,
    #[serde(default)]
    status: String,
    #[serde(skip)]
    is_own: bool,
}

struct Rows(Vec<Row>);

impl Rows {
    fn take<T>(
        &self,
        rule: &'static str,
        write: &'static str,
        read: impl Fn(&str) -> Option<T>,
    ) -> Result<Setting<T>, SettingsError> {
        let row = self.0.iter().find(|row| row.rule == rule);
        let row = row.cloned().ok_or(SettingsError::Missing { rule })?;
        let wrong = |column, text: &str, write| SettingsError::Value {
            rule: rule.to_owned(),
            column,
            text: text.to_owned(),
            write,
        };
        let weights = "binding, binding where given or advisory";
        let products = "any, sprayed or herbicide";
        Ok(Setting {
            rule,
            limit: read(&row.limit).ok_or_else(|| wrong("limit", &row.limit, write))?,
            weight: row.weight.parse().map_err(|()| wrong("weight", &row.weight, weights))?,
            products: row
                .products
                .parse()
                .map_err(|()| wrong("products", &row.products, products))?,
            text: row.limit,
            source: row.source,
            read: row.read,
            status: row.status,
            is_own: row.is_own,
        })
    }
}

fn rows(text: &str) -> Result<Vec<Row>, SettingsError> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let rows: Result<Vec<Row>, csv::Error> = reader.deserialize().collect();
    rows.map_err(|error| SettingsError::NotATable { reason: error.to_string() })
}

/// The table, as it is embedded.
const TABLE: &str = include_str!("../../../../data/spray-weather.csv");

impl Settings {
    /// The limits of `data/spray-weather.csv`.
    ///
    /// # Errors
    ///
    /// Never, as a test reads the table.
    pub fn of_this_tool() -> Result<Settings, SettingsError> {
        Settings::of(&Rows(rows(TABLE)?))
    }

    /// The limits of `data/spray-weather.csv`, with rows of somebody's own instead of those of the same
    /// rule. A row needs `rule`, `limit` and `source`; `weight` and `products` are ours where it leaves
    /// them out.
    ///
    /// # Errors
    ///
    /// [`SettingsError`]: the first row that cannot be used, and any that would loosen what is never
    /// fit, still air in the hours of inversions.
    pub fn with_own(text: &str) -> Result<Settings, SettingsError> {
        let ours = Settings::of_this_tool()?;
        let mut all = rows(TABLE)?;
        let mut seen: Vec<String> = Vec::new();
        for own in rows(text)? {
            let rule = own.rule.clone();
            if own.source.is_empty() {
                return Err(SettingsError::NoSource { rule });
            }
            if seen.contains(&rule) {
                return Err(SettingsError::Twice { rule });
            }
            let Some(place) = all.iter().position(|row| row.rule == rule) else {
                let known = || all.iter().map(|row| row.rule.as_str());
                let meant = match nearest(&rule, known()) {
                    Some(near) => format!("{near:?} may be meant"),
                    None => format!("use one of: {}", known().collect::<Vec<_>>().join(", ")),
                };
                return Err(SettingsError::UnknownRule { rule, meant });
            };
            let or_ours =
                |own: String, ours: &str| if own.is_empty() { ours.to_owned() } else { own };
            let row = &all[place];
            let (weight, products) =
                (or_ours(own.weight, &row.weight), or_ours(own.products, &row.products));
            all[place] = Row { weight, products, is_own: true, ..own };
            seen.push(rule);
        }
        let settings = Settings::of(&Rows(all))?;
        settings.plausible()?;
        let looser = |own: &str, text: &str, ours: &str| SettingsError::Looser {
            rule: own.to_owned(),
            text: text.to_owned(),
            least: ours.to_owned(),
        };
        for (own, ours) in [
            (&settings.inversion_before_sunset, &ours.inversion_before_sunset),
            (&settings.inversion_after_sunrise, &ours.inversion_after_sunrise),
        ] {
            if own.limit < ours.limit || own.weight != ours.weight {
                return Err(looser(own.rule, &own.text, &ours.text));
            }
        }
        let (own, ours) = (&settings.inversion_wind_under, &ours.inversion_wind_under);
        if own.limit < ours.limit || own.weight != ours.weight {
            return Err(looser(own.rule, &own.text, &ours.text));
        }
        Ok(settings)
    }

    fn plausible(&self) -> Result<(), Implausible> {
        for setting in [&self.wind_at_least, &self.wind_at_most] {
            plausible::wind(setting.rule, &setting.text, setting.limit)?;
        }
        plausible::gust(self.gust_at_most.rule, &self.gust_at_most.text, self.gust_at_most.limit)?;
        for setting in [&self.rain_free, &self.rain_free_spread] {
            plausible::rain_free(setting.rule, &setting.text, setting.limit)?;
        }
        for setting in [&self.temperature_at_least, &self.temperature_at_most] {
            plausible::temperature(setting.rule, &setting.text, setting.limit)?;
        }
        Ok(())
    }

    fn of(rows: &Rows) -> Result<Settings, SettingsError> {
        let speed = |rule| rows.take(rule, "a speed, such as \"8 mph\"", |it| it.parse().ok());
        let time = |rule| rows.take(rule, "a time, such as \"4 h\"", |it| it.parse().ok());
        let degrees = |rule| rows.take(rule, "a temperature, such as \"90 F\"", Celsius::read);
        let difference = |rule| {
            rows.take(rule, "a difference in degrees Celsius, such as \"2 C\"", |text| {
                let degrees: f64 = text.strip_suffix('C')?.trim().parse().ok()?;
                (degrees.is_finite() && degrees >= 0.0).then_some(degrees)
            })
        };
        Ok(Settings {
            wind_at_least: speed("wind-at-least")?,
            wind_at_most: speed("wind-at-most")?,
            gust_at_most: speed("gust-at-most")?,
            inversion_before_sunset: time("inversion-before-sunset")?,
            inversion_after_sunrise: time("inversion-after-sunrise")?,
            inversion_wind_under: speed("inversion-wind-under")?,
            rain_free: time("rain-free")?,
            rain_free_spread: time("rain-free-spread")?,
            rain_chance_at_most: rows.take(
                "rain-chance-at-most",
                "a percentage, such as \"20 %\"",
                share,
            )?,
            rain_under: rows
                .take("rain-under", "a depth, such as \"0.01 in\"", |it| it.parse().ok())?,
            temperature_at_most: degrees("temperature-at-most")?,
            temperature_warm: degrees("temperature-warm")?,
            temperature_cool: degrees("temperature-cool")?,
            temperature_at_least: degrees("temperature-at-least")?,
            delta_t_at_least: difference("delta-t-at-least")?,
            delta_t_at_most: difference("delta-t-at-most")?,
            delta_t_uncertain_by: difference("delta-t-uncertain-by")?,
            dew_spread: difference("dew-spread")?,
            dew_after_sunrise: time("dew-after-sunrise")?,
            wet_after_rain: time("wet-after-rain")?,
            daylight: rows.take("daylight", "\"sunrise to sunset\"", |text| {
                (text == "sunrise to sunset").then_some(())
            })?,
        })
    }
}

/// Reads `20 %` as a share from 0 to 1.
pub(super) fn share(text: &str) -> Option<f64> {
    let percent: f64 = text.trim().strip_suffix('%')?.trim().parse().ok()?;
    (0.0..=100.0).contains(&percent).then_some(percent / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_table_is_read_and_says_its_source() {
        let settings = Settings::of_this_tool().expect("the table");
        // Each rule is taken by its name, so as many rows as fields are all of them.
        let taken = format!("{settings:?}").matches("Setting {").count();
        assert_eq!(taken, TABLE.trim_end().lines().count() - 1);
        for line in TABLE.trim_end().lines().skip(1) {
            assert_eq!(line.matches(",2026-").count(), 1, "{line}: when it was read");
        }
        assert_eq!(settings.wind_at_most.limit, "8 mph".parse().expect("a speed"));
        assert!((settings.rain_chance_at_most.limit - 0.2).abs() < 1e-12);
    }

    #[test]
    fn a_row_of_ones_own_stands_instead_of_ours_and_says_its_source() {
        let own =
            "rule,limit,source\nwind-at-most, 10 mph ,our county\ngust-at-most,12 mph,our county\n";
        let settings = Settings::with_own(own).expect("two rows");
        assert_eq!(settings.wind_at_most.limit, "10 mph".parse().expect("a speed"));
        assert_eq!(settings.wind_at_most.source, "our county");
        assert!(settings.wind_at_most.is_own && !settings.wind_at_least.is_own);
        assert_eq!(settings.gust_at_most.weight, Weight::WhereGiven, "as ours");
        let binding = "rule,limit,weight,source\ngust-at-most,12 mph,binding,our county\n";
        let binding = Settings::with_own(binding).expect("a row");
        assert_eq!(binding.gust_at_most.weight, Weight::Binding);
        #[rustfmt::skip]
        let table = [
            ("wind-at-mots,8 mph,x",           "no rule \"wind-at-mots\"; \"wind-at-most\" may be meant"),
            ("wind-at-most,8,x",               "wind-at-most, limit: \"8\"; write a speed"),
            ("wind-at-most,8 mph,",            "wind-at-most: no source"),
            ("rain-free,1 h,x\nrain-free,2 h,x", "rain-free stands there twice"),
            ("rain-free,1 h",                  "not a table"),
            ("inversion-wind-under,2 mph,x",   "inversion-wind-under: \"2 mph\" is less than 3 mph"),
            ("inversion-before-sunset,1 h,x",  "inversion-before-sunset: \"1 h\" is less than 4 h"),
        ];
        for (row, told) in table {
            let error = Settings::with_own(&format!("rule,limit,source\n{row}\n")).expect_err(told);
            let error = error.to_string();
            assert!(error.starts_with(&format!("limits of spray weather: {told}")), "{error}");
        }
    }

    #[test]
    fn a_row_that_is_missing_or_unclear_is_told() {
        let read = |text: &str| Settings::of(&Rows(rows(text).expect("a table")));
        let without = TABLE.replace("wind-at-most", "wind-most");
        let error = read(&without).expect_err("a row is missing");
        assert_eq!(error.to_string(), "limits of spray weather: no row \"wind-at-most\"; add it");
        let error = read(&TABLE.replace("8 mph,", "8,")).expect_err("no unit").to_string();
        assert!(error.contains("wind-at-most, limit: \"8\"; write a speed"), "{error}");
    }
}
