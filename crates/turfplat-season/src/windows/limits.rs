//! Which limit governs: a label outranks this tool, for better or worse, and a job may only tighten. Of
//! all that are left the strictest counts, and is named.

use std::fmt;

use turfplat_units::{Length, Speed, Time, UnitSystem, significant};

use super::settings::{Scope, Setting, Settings, Weight};
use super::verdict::Rule;
use crate::hourly::Celsius;

/// What one product asks of the weather; `None` is what its label's file does not say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ProductLimits {
    /// Its id.
    pub product: String,
    /// Sprayed, not spread.
    pub is_sprayed: bool,
    /// A weed killer.
    pub is_herbicide: bool,
    /// Not in less wind.
    pub wind_at_least: Option<Speed>,
    /// Not in more wind.
    pub wind_at_most: Option<Speed>,
    /// Not in stronger gusts.
    pub gust_at_most: Option<Speed>,
    /// How long it must stay dry.
    pub rain_free: Option<Time>,
    /// Not when it is cooler.
    pub temperature_at_least: Option<Celsius>,
    /// Not when it is hotter.
    pub temperature_at_most: Option<Celsius>,
}

/// What somebody asks of the weather on their own account; it never loosens.
#[derive(Clone, Debug, Default, PartialEq)]
#[allow(missing_docs)] // As in `ProductLimits`.
pub struct OwnLimits {
    pub wind_at_least: Option<Speed>,
    pub wind_at_most: Option<Speed>,
    pub gust_at_most: Option<Speed>,
    pub rain_free: Option<Time>,
    /// A share from 0 to 1.
    pub rain_chance_at_most: Option<f64>,
    pub temperature_at_least: Option<Celsius>,
    pub temperature_at_most: Option<Celsius>,
    /// A leaf that is likely wet with dew is not fit, instead of remarked on.
    pub dry_leaf: bool,
}

/// Who asks for a limit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum By {
    /// This tool, for want of anybody else: where it stands.
    Default(String),
    /// A row of somebody's own instead of this tool's: where it stands.
    OwnDefault(String),
    /// The label of the product of that id.
    Label(String),
    /// The job.
    Job,
}

impl fmt::Display for By {
    /// `default`, `label of my-product` or `job`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            By::Default(_) => f.write_str("default"),
            By::OwnDefault(_) => f.write_str("own default"),
            By::Label(product) => write!(f, "label of {product}"),
            By::Job => f.write_str("job"),
        }
    }
}

/// A limit, who asks for it, and how it weighs.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit<T> {
    /// What is not to be passed.
    pub limit: T,
    /// Who asks for it.
    pub by: By,
    /// Whether it binds.
    pub weight: Weight,
}

/// The limits that govern an application.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // As in `Settings`.
pub struct Limits {
    pub wind_at_least: Limit<Speed>,
    pub wind_at_most: Limit<Speed>,
    pub gust_at_most: Limit<Speed>,
    pub inversion_before_sunset: Limit<Time>,
    pub inversion_after_sunrise: Limit<Time>,
    pub inversion_wind_under: Limit<Speed>,
    pub rain_free: Limit<Time>,
    pub rain_chance_at_most: Limit<f64>,
    pub rain_under: Limit<Length>,
    pub temperature_at_least: Limit<Celsius>,
    pub temperature_at_most: Limit<Celsius>,
    /// Warmer is remarked on; `None` where no product is sensitive.
    pub temperature_warm: Option<Limit<Celsius>>,
    /// Cooler is remarked on; `None` where no product is sensitive.
    pub temperature_cool: Option<Limit<Celsius>>,
    /// Least, most and how uncertain, in degrees Celsius; `None` where nothing is sprayed.
    pub delta_t: Option<(Limit<f64>, Limit<f64>, f64)>,
    /// `None` where nothing is sprayed.
    pub dry_leaf: Option<DryLeaf>,
    pub daylight: Limit<()>,
}

/// When a leaf is taken for wet.
#[derive(Clone, Debug, PartialEq)]
pub struct DryLeaf {
    /// The dew point is no more than this below the air, in degrees Celsius.
    pub spread: Limit<f64>,
    /// So long after sunrise.
    pub after_sunrise: Time,
    /// So long after rain.
    pub after_rain: Limit<Time>,
}

/// One limit in words: which, how much, who asks for it, where that stands, and how it weighs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// Its name, as in `data/spray-weather.csv`.
    pub rule: &'static str,
    /// With its unit.
    pub limit: String,
    /// Who asks for it.
    pub by: By,
    /// How it weighs.
    pub weight: Weight,
}

impl<T: Clone> Setting<T> {
    fn by_default(&self) -> Limit<T> {
        Limit {
            limit: self.limit.clone(),
            by: if self.is_own {
                By::OwnDefault(self.source.clone())
            } else {
                By::Default(self.source.clone())
            },
            weight: self.weight,
        }
    }
}

impl<T: Copy> Setting<T> {
    /// The strictest of what products ask (this row for each that says nothing) and the job's own.
    fn governing(
        &self,
        products: &[ProductLimits],
        of_label: impl Fn(&ProductLimits) -> Option<T>,
        own: Option<T>,
        is_stricter: impl Fn(T, T) -> bool,
    ) -> Limit<T> {
        strictest(products, of_label, |_| self.by_default(), own, is_stricter)
            .unwrap_or_else(|| self.by_default())
    }

    /// The row, if it is for any of the products.
    fn for_any_of(&self, products: &[ProductLimits]) -> Option<Limit<T>> {
        let speaks = |product: &ProductLimits| match self.products {
            Scope::Any => true,
            Scope::Sprayed => product.is_sprayed,
            Scope::Herbicide => product.is_herbicide,
        };
        products.iter().any(speaks).then(|| self.by_default())
    }
}

/// Of what products ask (or `default` for one that says nothing) and the job's own the strictest; `None`
/// where there is neither product nor job.
fn strictest<T: Copy>(
    products: &[ProductLimits],
    of_label: impl Fn(&ProductLimits) -> Option<T>,
    default: impl Fn(&ProductLimits) -> Limit<T>,
    own: Option<T>,
    is_stricter: impl Fn(T, T) -> bool,
) -> Option<Limit<T>> {
    let said = |product: &ProductLimits| match of_label(product) {
        Some(limit) => {
            let by = By::Label(product.product.clone());
            Limit { limit, by, weight: Weight::Binding }
        }
        None => default(product),
    };
    let own = own.map(|limit| Limit { limit, by: By::Job, weight: Weight::Binding });
    let mut all: Vec<Limit<T>> = products.iter().map(said).chain(own).collect();
    // Advice to all is silent where anybody asks, however much stricter it is; and where anybody's limit
    // binds, the strictest of them does.
    if all.iter().any(|limit| limit.weight != Weight::Advisory) {
        all.retain(|limit| limit.weight != Weight::Advisory);
    }
    let binds = all.iter().any(|limit| limit.weight == Weight::Binding);
    let strictest = all.into_iter().reduce(|strictest, other| {
        if is_stricter(other.limit, strictest.limit) { other } else { strictest }
    })?;
    let weight = if binds { Weight::Binding } else { strictest.weight };
    Some(Limit { weight, ..strictest })
}

impl Limits {
    /// The limits of a tank mix: of each product its label's, or this tool's where the label's file
    /// says nothing; and the job's own. The strictest governs.
    pub fn of(settings: &Settings, products: &[ProductLimits], own: &OwnLimits) -> Limits {
        let s = settings;
        let floor = |a: f64, b: f64| a > b;
        let ceiling = |a: f64, b: f64| a < b;
        let wind_floor = |a: Speed, b: Speed| floor(a.metres_per_second(), b.metres_per_second());
        let wind_ceiling =
            |a: Speed, b: Speed| ceiling(a.metres_per_second(), b.metres_per_second());
        let delta_t =
            s.delta_t_at_least.for_any_of(products).zip(s.delta_t_at_most.for_any_of(products));
        let mut dry_leaf = s.dew_spread.for_any_of(products);
        if own.dry_leaf {
            let limit = s.dew_spread.limit;
            dry_leaf = Some(Limit { limit, by: By::Job, weight: Weight::Binding });
        }
        // A label's own figure speaks louder than advice to all.
        let says =
            |of: fn(&ProductLimits) -> Option<Celsius>| products.iter().any(|it| of(it).is_some());
        let warm =
            (!says(|it| it.temperature_at_most)).then(|| s.temperature_warm.for_any_of(products));
        let cool =
            (!says(|it| it.temperature_at_least)).then(|| s.temperature_cool.for_any_of(products));
        let of_its_kind = |product: &ProductLimits| {
            let setting = if product.is_sprayed { &s.rain_free } else { &s.rain_free_spread };
            setting.by_default()
        };
        let longer = |a: Time, b: Time| floor(a.seconds(), b.seconds());
        let rain_free = strictest(products, |it| it.rain_free, of_its_kind, own.rain_free, longer);
        Limits {
            wind_at_least: s.wind_at_least.governing(
                products,
                |it| it.wind_at_least,
                own.wind_at_least,
                wind_floor,
            ),
            wind_at_most: s.wind_at_most.governing(
                products,
                |it| it.wind_at_most,
                own.wind_at_most,
                wind_ceiling,
            ),
            gust_at_most: s.gust_at_most.governing(
                products,
                |it| it.gust_at_most,
                own.gust_at_most,
                wind_ceiling,
            ),
            inversion_before_sunset: s.inversion_before_sunset.by_default(),
            inversion_after_sunrise: s.inversion_after_sunrise.by_default(),
            inversion_wind_under: s.inversion_wind_under.by_default(),
            rain_free: rain_free.unwrap_or_else(|| s.rain_free.by_default()),
            rain_chance_at_most: s.rain_chance_at_most.governing(
                products,
                |_| None,
                own.rain_chance_at_most,
                ceiling,
            ),
            rain_under: s.rain_under.by_default(),
            temperature_at_least: s.temperature_at_least.governing(
                products,
                |it| it.temperature_at_least,
                own.temperature_at_least,
                |a, b| floor(a.degrees(), b.degrees()),
            ),
            temperature_at_most: s.temperature_at_most.governing(
                products,
                |it| it.temperature_at_most,
                own.temperature_at_most,
                |a, b| ceiling(a.degrees(), b.degrees()),
            ),
            temperature_warm: warm.flatten(),
            temperature_cool: cool.flatten(),
            delta_t: delta_t.map(|(least, most)| (least, most, s.delta_t_uncertain_by.limit)),
            dry_leaf: dry_leaf.map(|spread| DryLeaf {
                after_rain: Limit { weight: spread.weight, ..s.wet_after_rain.by_default() },
                after_sunrise: s.dew_after_sunrise.limit,
                spread,
            }),
            daylight: s.daylight.by_default(),
        }
    }
}

impl Limits {
    /// Every limit that governs, in words.
    pub fn asked(&self, units: UnitSystem) -> Vec<Asked> {
        fn one<T>(rule: &'static str, limit: &Limit<T>, text: String) -> Asked {
            Asked { rule, limit: text, by: limit.by.clone(), weight: limit.weight }
        }
        let speed = |rule, limit: &Limit<Speed>| one(rule, limit, limit.limit.print(units));
        let time = |rule, limit: &Limit<Time>| one(rule, limit, hours(limit.limit));
        let degrees = |rule, limit: &Limit<Celsius>| one(rule, limit, limit.limit.print(units));
        let apart = |rule, limit: &Limit<f64>| {
            one(rule, limit, format!("{} °C", significant(limit.limit, 2)))
        };
        let mut all = vec![
            speed("wind-at-least", &self.wind_at_least),
            speed("wind-at-most", &self.wind_at_most),
            speed("gust-at-most", &self.gust_at_most),
            time("inversion-before-sunset", &self.inversion_before_sunset),
            time("inversion-after-sunrise", &self.inversion_after_sunrise),
            speed("inversion-wind-under", &self.inversion_wind_under),
            time("rain-free", &self.rain_free),
            one("rain-chance-at-most", &self.rain_chance_at_most, self.chance()),
            one("rain-under", &self.rain_under, depth(self.rain_under.limit, units)),
            degrees("temperature-at-least", &self.temperature_at_least),
            degrees("temperature-at-most", &self.temperature_at_most),
        ];
        all.extend(self.temperature_warm.iter().map(|it| degrees("temperature-warm", it)));
        all.extend(self.temperature_cool.iter().map(|it| degrees("temperature-cool", it)));
        if let Some((least, most, _)) = &self.delta_t {
            all.extend([apart("delta-t-at-least", least), apart("delta-t-at-most", most)]);
        }
        all.extend(self.dry_leaf.iter().flat_map(|leaf| {
            [apart("dew-spread", &leaf.spread), time("wet-after-rain", &leaf.after_rain)]
        }));
        all.push(one("daylight", &self.daylight, "sunrise to sunset".to_owned()));
        all
    }

    /// What a rule asks for, in a few words: `3 to 8 mph (default)`.
    pub fn in_short(&self, rule: Rule, units: UnitSystem) -> String {
        fn both<T, U>(least: (&Limit<T>, String), most: (&Limit<U>, String)) -> String {
            let ((least, from), (most, to)) = (least, most);
            if least.by.to_string() == most.by.to_string() {
                format!("{from} to {to} ({})", least.by)
            } else {
                format!("{from} ({}) to {to} ({})", least.by, most.by)
            }
        }
        let (floor, ceiling) = (&self.temperature_at_least, &self.temperature_at_most);
        match rule {
            Rule::Wind => both(
                (&self.wind_at_least, self.wind_at_least.limit.print(units)),
                (&self.wind_at_most, self.wind_at_most.limit.print(units)),
            ),
            Rule::Gusts => {
                let gusts = &self.gust_at_most;
                let open = if gusts.weight == Weight::WhereGiven { ", where given" } else { "" };
                format!("at most {} ({}){open}", gusts.limit.print(units), gusts.by)
            }
            Rule::Inversion => format!(
                "{} before sunset to {} after sunrise: at least {}",
                hours(self.inversion_before_sunset.limit),
                hours(self.inversion_after_sunrise.limit),
                self.inversion_wind_under.limit.print(units)
            ),
            Rule::DryAhead => format!(
                "{} ({}), chance at most {}",
                hours(self.rain_free.limit),
                self.rain_free.by,
                self.chance()
            ),
            Rule::Temperature => {
                both((floor, floor.limit.print(units)), (ceiling, ceiling.limit.print(units)))
            }
            Rule::DeltaT => match &self.delta_t {
                Some((least, most, _)) => {
                    let degrees = |limit: f64| significant(limit, 2);
                    format!("advisory: {} to {} °C", degrees(least.limit), degrees(most.limit))
                }
                None => "not asked of what is spread".to_owned(),
            },
            Rule::DryLeaf => match &self.dry_leaf {
                Some(leaf) if leaf.spread.weight == Weight::Binding => {
                    format!("an estimate ({})", leaf.spread.by)
                }
                Some(_) => "advisory: an estimate of dew and rain".to_owned(),
                None => "not asked of what is spread".to_owned(),
            },
            Rule::Daylight => "sunrise to sunset".to_owned(),
        }
    }

    fn chance(&self) -> String {
        format!("{} %", significant(self.rain_chance_at_most.limit * 100.0, 2))
    }
}

/// `1.5 h`.
pub(super) fn hours(time: Time) -> String {
    format!("{} h", significant(time.seconds() / Time::SECONDS_PER_HOUR, 3))
}

/// `0.01 in` or `0.25 mm`.
pub(super) fn depth(rain: Length, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => {
            format!("{} in", significant(rain.metres() / Length::METRES_PER_FOOT * 12.0, 2))
        }
        UnitSystem::Metric => format!("{} mm", significant(rain.metres() * 1000.0, 2)),
    }
}
