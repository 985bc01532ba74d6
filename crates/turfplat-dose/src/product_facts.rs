//! Why what is not given is listed as carefully as what is: a blank on a label card reads as
//! "no limit". So every fact has a line of its own, and a missing one says "not given".

use turfplat_units::{AmountUnit, AreaUnit, RateUnit, Speed, UnitSystem, significant};

use crate::bounds::{DENSEST_CONTENT, DENSITIES, THINNEST_CONTENT};
use crate::label::{Hours, LabelFacts, Sourced, Temperature};
use crate::label_use::differ;
use crate::product::{Form, Interval, LabelSetback, Product, RateLimit};
use crate::provenance::{Basis, Provenance};
use crate::published::PublishedRate;
use crate::strength::{Content, Density};

/// One thing that a label says or leaves unsaid.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// Where it stands in the product file, such as `limits.max_per_year`.
    pub key: &'static str,
    /// What it is, in plain words.
    pub what: &'static str,
    /// What is given; `None` where nothing is.
    pub given: Option<String>,
    /// Who says so, and what it rests on.
    pub from: Sourced,
}

impl Fact {
    /// What is given, or `not given`.
    pub fn text(&self) -> &str {
        self.given.as_deref().unwrap_or("not given")
    }
}

impl Product {
    /// Everything that a product file can say, in the order of a label, given or not.
    pub fn facts(&self) -> Vec<Fact> {
        let plain = |key: &'static str, what, given| Fact {
            key,
            what,
            given,
            from: self.source_of(key.split('.').next().unwrap_or(key)),
        };
        let caps = |key, what, limits: Vec<&RateLimit>| {
            let from = limits.first().map(|limit| limit.provenance.clone()).unwrap_or_default();
            let each = limits.iter().map(|limit| match &limit.of {
                Some(of) => format!("{} of {of}", limit.text),
                None => limit.text.clone(),
            });
            let each: Vec<String> = each.collect();
            let given = (!each.is_empty()).then(|| each.join("; "));
            Fact { key, what, given, from: Sourced { basis: None, provenance: from } }
        };
        let cap = |key, what, limit: &Option<RateLimit>| caps(key, what, limit.iter().collect());
        let LabelFacts { drift_buffers, ppe, .. } = &self.label;
        let (label, limits) = (&self.label, &self.limits);
        vec![
            plain("class", "what it is for", self.class.map(|class| class.to_string())),
            plain("form", "how it is measured", Some(self.form.to_string())),
            plain("formulation", "formulation", self.formulation.map(|one| one.to_string())),
            plain("active_ingredients", "active ingredient", self.ingredients()),
            plain("density", "density", self.density.map(|density| density.to_string())),
            plain("analysis", "analysis (N-P2O5-K2O)", self.analysis.map(|a| a.grade())),
            plain("analysis.soluble_n_share", "soluble share of N", self.soluble_share()),
            self.label_rates_fact(),
            plain(
                "spray_volume",
                "spray volume",
                label.spray_volume.as_ref().map(|volume| volume.text.clone()),
            ),
            cap("limits.max_per_application", "most at once", &limits.max_per_application),
            caps(
                "limits.max_active_per_application",
                "most a.i. at once",
                limits.max_active_per_application.iter().collect(),
            ),
            cap(
                "limits.max_nitrogen_per_application",
                "most N at once",
                &limits.max_nitrogen_per_application,
            ),
            cap("limits.max_per_year", "most in a year", &limits.max_per_year),
            caps(
                "limits.max_active_per_year",
                "most a.i. in a year",
                limits.max_active_per_year.iter().collect(),
            ),
            cap("limits.max_nitrogen_per_year", "most N in a year", &limits.max_nitrogen_per_year),
            plain(
                "limits.year",
                "what counts as a year",
                limits.per_year().next().map(|_| limits.year.to_string()),
            ),
            interval(&limits.min_interval),
            plain("rain_free", "time without rain", label.rain_free.map(|time| time.to_string())),
            plain("temperature.at_least", "not when cooler than", degrees(label.coolest)),
            plain("temperature.at_most", "not when hotter than", degrees(label.hottest)),
            plain("wind.at_least", "not in less wind than", wind(label.wind_at_least)),
            plain("wind.at_most", "not in more wind than", wind(label.wind_at_most)),
            plain("wind.gust_at_most", "not in gusts above", wind(label.gust_at_most)),
            self.unfit_fact(),
            plain("watering_in", "watering in", label.watering_in.clone()),
            plain("setbacks", "setbacks, all round", distances(&self.setbacks)),
            plain("drift_buffers", "drift buffers, downwind", distances(drift_buffers)),
            plain("signal_word", "signal word", label.signal_word.map(|word| word.to_string())),
            plain("ppe", "what to wear", (!ppe.is_empty()).then(|| ppe.join("; "))),
            plain("reentry", "people may go back", label.reentry.clone()),
            plain("epa_registration", "EPA Reg. No.", label.epa_registration.clone()),
            plain("containers", "sold in", self.sold_in()),
            plain("label_checked", "label read on", self.label_checked.clone()),
        ]
    }

    fn ingredients(&self) -> Option<String> {
        let each: Vec<String> = (self.active_ingredients.iter())
            .map(|one| {
                let content = one.content_text.as_deref().unwrap_or("(content not given)");
                format!("{} {content}", one.name)
            })
            .collect();
        (!each.is_empty()).then(|| each.join("; "))
    }

    /// `1 qt at $39.95; 1 gal`.
    fn sold_in(&self) -> Option<String> {
        let each = self.containers.iter().map(|one| {
            let price = one.price.as_ref().map_or_else(String::new, |price| format!(" at {price}"));
            format!("{}{price}", one.size.print(one.unit))
        });
        let each: Vec<String> = each.collect();
        (!each.is_empty()).then(|| each.join("; "))
    }

    fn soluble_share(&self) -> Option<String> {
        let share = self.analysis?.soluble_n_share?;
        Some(format!("{} %", significant(share * 100.0, 3)))
    }

    fn label_rates_fact(&self) -> Fact {
        let each: Vec<String> = self
            .label_rates()
            .map(|rate| {
                let text = rate.text.as_deref().unwrap_or_default();
                let place =
                    [rate.site.clone(), rate.mowing_height.as_ref().map(|h| format!("cut at {h}"))];
                let place: Vec<String> = place.into_iter().flatten().collect();
                let place = if place.is_empty() {
                    String::new()
                } else {
                    format!(" ({})", place.join(", "))
                };
                format!("{}{place}: {text}", rate.printed_species)
            })
            .collect();
        Fact {
            key: "rates",
            what: "label rates",
            given: (!each.is_empty()).then(|| each.join("; ")),
            from: Sourced { basis: Some(Basis::Label), provenance: Provenance::default() },
        }
    }

    fn unfit_fact(&self) -> Fact {
        let each: Vec<&str> = self.unfit.iter().map(|unfit| unfit.condition.word()).collect();
        let first = self.unfit.first();
        Fact {
            key: "unfit",
            what: "not on turf that is",
            given: (!each.is_empty()).then(|| each.join(", ")),
            from: Sourced {
                basis: first.map(|unfit| unfit.basis),
                provenance: first.map(|unfit| unfit.provenance.clone()).unwrap_or_default(),
            },
        }
    }

    /// What of the file can hardly be meant: each with its key and what to look up. Nothing here
    /// is refused, for a label may say what no rule of thumb expects.
    ///
    /// * In: the day of today, as `2026-06-08`.
    pub fn doubts(&self, today: &str) -> Vec<String> {
        let mut doubts = Vec::new();
        self.doubt_strength(&mut doubts);
        self.doubt_limits(&mut doubts);
        self.doubt_rows(&mut doubts);
        self.doubt_conditions(&mut doubts);
        self.doubt_dates(today, &mut doubts);
        doubts
    }

    fn doubt_strength(&self, doubts: &mut Vec<String>) {
        if let Some(density) = self.density
            && !DENSITIES.contains(&density.grams_per_millilitre())
        {
            doubts.push(format!(
                "density: {density} is far from that of water (1 kg/L); look up the unit"
            ));
        }
        let mut shares = 0.0;
        for one in &self.active_ingredients {
            let text = one.content_text.as_deref().unwrap_or_default();
            match &one.content {
                Some(Content::Share(share)) => {
                    shares += share;
                    // A percentage of a liquid says nothing by volume without its density.
                    if self.form == Form::Liquid && self.density.is_none() {
                        doubts.push(format!(
                            "active_ingredients: {} {text} of a liquid is by weight, and its density \
                             is not given: rates of a.i. cannot be read; add density or the content in lb/gal",
                            one.name
                        ));
                    }
                }
                Some(Content::InVolume(content)) => {
                    let most = self.density.map_or(DENSEST_CONTENT, Density::grams_per_millilitre);
                    if content.grams_per_millilitre() < THINNEST_CONTENT {
                        doubts.push(format!(
                            "active_ingredients: {} {text} is less than 0.02 lb/gal, which no concentrate is; look up the unit",
                            one.name
                        ));
                    }
                    if content.grams_per_millilitre() > most {
                        doubts.push(format!(
                            "active_ingredients: {} {text} is more than the product can weigh; look up the unit",
                            one.name
                        ));
                    }
                    if self.form != Form::Liquid {
                        doubts.push(format!(
                            "active_ingredients: {} {text} is a content of liquids, and this is a {} product; write a percentage",
                            one.name, self.form
                        ));
                    }
                }
                None => {}
            }
        }
        if shares > 1.0 {
            doubts.push("active_ingredients: they come to more than 100 % together".into());
        }
    }

    fn doubt_limits(&self, doubts: &mut Vec<String>) {
        let limits = &self.limits;
        let pair = |key, once: &Option<RateLimit>, year: &Option<RateLimit>| {
            once.clone().zip(year.clone()).map(|(once, year)| (key, once, year))
        };
        let of_actives = limits.max_active_per_application.iter().flat_map(|once| {
            let years = limits.max_active_per_year.iter().filter(|year| year.of == once.of);
            years.map(|year| ("max_active_per_year", once.clone(), year.clone()))
        });
        let pairs = [
            pair("max_per_year", &limits.max_per_application, &limits.max_per_year),
            pair(
                "max_nitrogen_per_year",
                &limits.max_nitrogen_per_application,
                &limits.max_nitrogen_per_year,
            ),
        ];
        for (key, once, year) in pairs.into_iter().flatten().chain(of_actives) {
            // Of one ingredient among several both weigh what they weigh.
            let rate = |limit: &RateLimit| match limit.of {
                Some(_) => limit.rate.rate_by_weight().ok(),
                None => self.rate_of_product(&limit.rate).ok(),
            };
            if rate(&once)
                .zip(rate(&year))
                .and_then(|(once, year)| once.over(year))
                .is_some_and(|times| times > 1.0 + 1e-9)
            {
                doubts.push(format!(
                    "limits.{key}: {} in a year is less than {} at once; look which is which",
                    year.text, once.text
                ));
            }
        }
        if let Some(Interval { days, .. }) = limits.min_interval
            && (days == 0 || days > 365)
        {
            doubts.push(format!("limits.min_interval: {days} days; look up the unit"));
        }
        for rate in self.label_rates() {
            let (Some(low), Some(high)) = (&rate.rate, &rate.highest) else { continue };
            let rates = self.rate_of_product(high).ok().zip(self.rate_of_product(low).ok());
            if let Some(times) = rates.and_then(|(high, low)| high.over(low)).filter(|t| *t > 5.0) {
                doubts.push(format!(
                    "rates: {} spans {} times for {}; look whether one end slipped",
                    rate.text.as_deref().unwrap_or_default(),
                    significant(times, 2),
                    rate.printed_species
                ));
            }
        }
    }

    /// Rows that speak of one grass, and do not say by what they differ: the lower is taken.
    fn doubt_rows(&self, doubts: &mut Vec<String>) {
        let rows: Vec<&PublishedRate> = self.label_rates().collect();
        for (place, row) in rows.iter().enumerate() {
            for earlier in rows[..place].iter().filter(|earlier| !differ(earlier, row)) {
                let both = row.species.iter().find(|it| earlier.species.contains(it));
                let figures = [earlier, row].map(|it| it.text.as_deref().unwrap_or_default());
                let Some(both) = both.filter(|_| figures[0] != figures[1]) else { continue };
                doubts.push(format!(
                    "rates: {} and {} are both for {}, and no use or mowing_height tells them apart; say what each is for, or keep one: the lower is taken",
                    figures[0], figures[1], both.common_name
                ));
            }
        }
    }

    fn doubt_conditions(&self, doubts: &mut Vec<String>) {
        let label = &self.label;
        let hours = label.rain_free.map(Hours::hours);
        if let Some(hours) = hours.filter(|hours| *hours > 72.0) {
            doubts.push(format!(
                "rain_free: {} h is more than three days; look up the unit",
                significant(hours, 3)
            ));
        }
        for (key, limit) in [("at_least", label.coolest), ("at_most", label.hottest)] {
            let celsius = limit.map(Temperature::celsius);
            if celsius.is_some_and(|degrees| !(-5.0..=45.0).contains(&degrees)) {
                doubts.push(format!(
                    "temperature.{key}: {} is no weather for turf; look up whether F or C is meant",
                    limit.map(|limit| limit.to_string()).unwrap_or_default()
                ));
            }
        }
        for (key, limit) in [
            ("at_least", label.wind_at_least),
            ("at_most", label.wind_at_most),
            ("gust_at_most", label.gust_at_most),
        ] {
            // 40 mph breaks twigs; nobody sprays in it (Beaufort 8).
            if let Some(limit) = limit.filter(|limit| limit.mph() > 40.0) {
                doubts.push(format!(
                    "wind.{key}: {} is a gale; look up the unit",
                    limit.print(UnitSystem::Us)
                ));
            }
        }
        let unit = RateUnit { amount: AmountUnit::Gallon, area: AreaUnit::ThousandSquareFeet };
        if let Some(volume) = &label.spray_volume {
            for end in [Some(&volume.least), volume.most.as_ref()].into_iter().flatten() {
                let gallons = end.rate().ok().and_then(|rate| rate.in_unit(unit));
                // Booms put down 10 gal/A (0.23 gal/1000 sq ft), hand-guns a few gallons.
                if gallons.is_some_and(|gallons| !(0.1..=20.0).contains(&gallons)) {
                    doubts.push(format!(
                        "spray_volume: {} is {} gal/1000 sq ft; look whether the label says per acre",
                        volume.text,
                        significant(gallons.unwrap_or_default(), 2)
                    ));
                    break;
                }
            }
        }
        if label.spray_volume.is_some() && self.form == Form::Granule {
            doubts.push("spray_volume: a granule is spread, not sprayed; look up the form".into());
        }
    }

    fn doubt_dates(&self, today: &str, doubts: &mut Vec<String>) {
        let Some(checked) = self.label_checked.as_deref() else { return };
        // Days written year first sort as they follow each other.
        if checked > today {
            doubts.push(format!("label_checked: {checked} is still to come"));
        }
        let year = |day: &str| day.get(..4).and_then(|year| year.parse::<i32>().ok());
        if year(today).zip(year(checked)).is_some_and(|(now, then)| now - then > 2) {
            doubts.push(format!(
                "label_checked: {checked} is years ago, and labels change; read the label again"
            ));
        }
    }
}

fn interval(interval: &Option<Interval>) -> Fact {
    let from = interval.as_ref().map(|interval| interval.provenance.clone()).unwrap_or_default();
    Fact {
        key: "limits.min_interval",
        what: "shortest interval",
        given: interval.as_ref().map(|interval| format!("{} days", interval.days)),
        from: Sourced { basis: None, provenance: from },
    }
}

fn degrees(limit: Option<Temperature>) -> Option<String> {
    limit.map(|limit| limit.to_string())
}

/// `10 mph (16.1 km/h)`.
fn wind(limit: Option<Speed>) -> Option<String> {
    let limit = limit?;
    let (us, metric) = (limit.print(UnitSystem::Us), limit.print(UnitSystem::Metric));
    Some(format!("{us} ({metric})"))
}

fn distances(setbacks: &[LabelSetback]) -> Option<String> {
    let each: Vec<String> = setbacks
        .iter()
        .map(|one| format!("{} {}", one.kind, one.distance.print(UnitSystem::Us)))
        .collect();
    (!each.is_empty()).then(|| each.join(", "))
}
