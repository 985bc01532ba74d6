//! Which limit governs: a label outranks this tool, for better or worse, and a job may only tighten. Of
//! all that are left the strictest counts, and is named.

use std::fmt;

use turfplat_units::{Length, Speed, Time};

use super::settings::{Scope, Setting, Settings, Weight};
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
    /// Spread in degrees Celsius, and hours after sunrise; `None` where nothing is sprayed.
    pub dry_leaf: Option<(Limit<f64>, Time)>,
    pub daylight: Limit<()>,
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
            by: By::Default(self.source.clone()),
            weight: self.weight,
        }
    }
}

impl<T: Copy> Setting<T> {
    /// The strictest of what products ask (the default for each that says nothing) and the job's own.
    fn governing(
        &self,
        products: &[ProductLimits],
        of_label: impl Fn(&ProductLimits) -> Option<T>,
        own: Option<T>,
        is_stricter: impl Fn(T, T) -> bool,
    ) -> Limit<T> {
        let said = |product: &ProductLimits| match of_label(product) {
            Some(limit) => {
                let by = By::Label(product.product.clone());
                Limit { limit, by, weight: Weight::Binding }
            }
            None => self.by_default(),
        };
        let own = own.map(|limit| Limit { limit, by: By::Job, weight: Weight::Binding });
        let all = products.iter().map(said).chain(own);
        let strictest = all.reduce(|strictest, other| {
            // Of two that are alike the one that binds is named, and of these the first.
            let binds_more = strictest.weight != Weight::Binding && other.weight == Weight::Binding;
            let is_alike = !is_stricter(strictest.limit, other.limit);
            if is_stricter(other.limit, strictest.limit) || (is_alike && binds_more) {
                other
            } else {
                strictest
            }
        });
        strictest.unwrap_or_else(|| self.by_default())
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
            rain_free: s.rain_free.governing(
                products,
                |it| it.rain_free,
                own.rain_free,
                |a, b| floor(a.seconds(), b.seconds()),
            ),
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
            dry_leaf: dry_leaf.map(|spread| (spread, s.dew_after_sunrise.limit)),
            daylight: s.daylight.by_default(),
        }
    }
}
