//! Why strength has its own types: `1 lb/gal` and `46 %` are both "content", and taking
//! one for the other is an overdose that no later step can see.

use std::fmt;

use turfplat_units::{Amount, Mass, Volume, WrittenAmount};

/// How much active ingredient is in a product.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    /// So much weight in so much liquid, as `1 lb/gal`.
    InVolume(Density),
    /// A share of the weight, as `46 %`; a ratio from 0 to 1, never 0.
    Share(f64),
}

impl Content {
    /// Reads `1 lb/gal`, `120 g/L` or `46 %`; `None` of anything else and of nothing.
    pub fn read(text: &str) -> Option<Content> {
        match share(text) {
            Some(share) => (share > 0.0).then_some(Content::Share(share)),
            None => Density::read(text).map(Content::InVolume),
        }
    }
}

/// A weight in a volume, stored in grams per millilitre; never nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Density(f64);

impl Density {
    /// Reads `9.1 lb/gal`, `1.05 kg/L` or `120 g/L`.
    pub fn read(text: &str) -> Option<Density> {
        let (above, below) = text.split_once('/').or_else(|| text.split_once(" per "))?;
        let weight = above.parse::<WrittenAmount>().ok()?.amount().ok()?;
        let volume = format!("1 {below}").parse::<WrittenAmount>().ok()?.amount().ok()?;
        let (Amount::Mass(weight), Amount::Volume(volume)) = (weight, volume) else { return None };
        let density = weight.grams() / volume.millilitres();
        (density.is_finite() && density > 0.0).then_some(Density(density))
    }

    /// Grams in a millilitre, which are kilograms in a liter.
    pub fn grams_per_millilitre(self) -> f64 {
        self.0
    }

    /// The volume that weighs `mass`; `None` if it is beyond all measure.
    pub fn volume_of(self, mass: Mass) -> Option<Volume> {
        Volume::from_millilitres(mass.grams() / self.0)
    }
}

impl fmt::Display for Density {
    /// `9.1 lb/gal (1.09 kg/L)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // 453.59237 g in a pound, 3 785.411 784 mL in a gallon (NIST HB 44, App. C).
        let pounds = self.0 * 3_785.411_784 / 453.592_37;
        let print = |value| turfplat_units::significant(value, 3);
        write!(f, "{} lb/gal ({} kg/L)", print(pounds), print(self.0))
    }
}

/// The guaranteed analysis of a fertilizer, as shares of its weight from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Analysis {
    /// Total nitrogen.
    pub n: f64,
    /// Phosphate, P2O5.
    pub p2o5: f64,
    /// Potash, K2O.
    pub k2o: f64,
    /// Which share of the nitrogen is quickly soluble; `None` where it is not given.
    pub soluble_n_share: Option<f64>,
}

impl Analysis {
    /// The share of a nutrient by its name in a rate; `None` of a name not known here.
    pub fn share_of(&self, nutrient: &str) -> Option<f64> {
        match nutrient {
            "N" => Some(self.n),
            "P2O5" => Some(self.p2o5),
            "K2O" => Some(self.k2o),
            _ => None,
        }
    }

    /// `24-2-12`: percent of N, P2O5 and K2O.
    pub fn grade(&self) -> String {
        let percent = |share: f64| turfplat_units::significant(share * 100.0, 3);
        format!("{}-{}-{}", percent(self.n), percent(self.p2o5), percent(self.k2o))
    }
}

/// `46 %` or `46 percent` as a ratio; `None` outside 0 to 100 %.
pub(crate) fn share(text: &str) -> Option<f64> {
    let text = text.trim();
    let number = text.strip_suffix('%').or_else(|| text.strip_suffix("percent"))?;
    percent(number.trim().parse().ok()?)
}

/// Percent as a ratio; `None` outside 0 to 100.
pub(crate) fn percent(percent: f64) -> Option<f64> {
    (0.0..=100.0).contains(&percent).then_some(percent / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn content_as_labels_write_it() {
        let grams_per_ml = |text: &str| match Content::read(text) {
            Some(Content::InVolume(density)) => density.0,
            other => panic!("{text}: {other:?}"),
        };
        // Worked by hand: 453.59237 g / 3785.411784 mL.
        assert!((grams_per_ml("1 lb/gal") - 0.119_826_427_3).abs() < 1e-10);
        assert!((grams_per_ml("120 g/L") - 0.12).abs() < 1e-15);
        assert_eq!(Content::read("80 %"), Some(Content::Share(0.8)));
        for unclear in ["1 gal/lb", "0 %", "101 %", "46", "1 lb", "lb/gal", "-3 %", "0 lb/gal"] {
            assert_eq!(Content::read(unclear), None, "{unclear}");
        }
    }

    /// Every weight in every volume that a content or a density may be written in.
    #[test]
    fn every_weight_in_every_volume_is_a_density() {
        #[rustfmt::skip]
        let weights = [
            ("lb", 453.592_37,     "exact (NIST SP 811 App. B.8: 4.535 924 E-01 kg, from memory)"),
            ("oz wt", 28.349_523_125, "1/16 lb (NIST SP 811 App. B.8: 2.834 952 E-02 kg, from memory)"),
            ("g",  1.0,            "SI"),
            ("kg", 1000.0,         "SI"),
        ];
        #[rustfmt::skip]
        let volumes = [
            ("gal",   3_785.411_784,    "231 × 2.54³ (NIST SP 811 App. B.8: 3.785 412 E-03 m³, from memory)"),
            ("qt",    946.352_946,      "1/4 gal"),
            ("pt",    473.176_473,      "1/8 gal"),
            ("fl oz", 29.573_529_562_5, "1/128 gal"),
            ("L",     1000.0,           "SI Brochure, 9th ed., table 8"),
            ("mL",    1.0,              "SI Brochure, 9th ed., table 8"),
        ];
        for (weight, grams, of_weight) in weights {
            for (volume, millilitres, of_volume) in volumes {
                for text in [format!("1 {weight}/{volume}"), format!("1 {weight} per {volume}")] {
                    let ours = Density::read(&text).unwrap_or_else(|| panic!("{text}")).0;
                    let published: f64 = grams / millilitres;
                    let rounding = 4.0 * f64::EPSILON * published;
                    let source = format!("{of_weight}, {of_volume}");
                    assert!((ours - published).abs() <= rounding, "{text}: {ours}, {source}");
                }
            }
        }
        // As printed whole in NIST SP 811 App. B.8 (from memory), in kg/m³, the last digit rounded.
        for (text, published, half_a_digit) in
            [("1 lb/gal", 119.8264, 5e-5), ("1 oz wt/gal", 7.489_152, 5e-7)]
        {
            let ours = Density::read(text).unwrap().0 * 1000.0;
            assert!((ours - published).abs() <= half_a_digit, "{text}: {ours} ≠ {published}");
        }
        assert_eq!(Density::read("1 oz/gal"), None, "an ounce of what");
    }

    #[test]
    fn a_grade_prints_as_the_bag_does() {
        let analysis = Analysis { n: 0.24, p2o5: 0.02, k2o: 0.12, soluble_n_share: None };
        assert_eq!(analysis.grade(), "24-2-12");
    }
}
