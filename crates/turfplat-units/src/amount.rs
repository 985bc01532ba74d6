use crate::number::{UnitError, leading_number, significant};

/// A volume of liquid, stored in millilitres; never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Volume(f64);

impl Volume {
    /// Millilitres in one US gallon: exact, 231 cubic inches of 2.54 cm.
    /// Source: NIST Handbook 44, Appendix C.
    pub const MILLILITRES_PER_GALLON: f64 = 3_785.411_784;

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_millilitres(value: f64) -> Option<Volume> {
        (value.is_finite() && value >= 0.0).then_some(Volume(value))
    }

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_gallons(value: f64) -> Option<Volume> {
        Self::from_millilitres(value * Self::MILLILITRES_PER_GALLON)
    }

    /// The volume in millilitres.
    pub fn millilitres(self) -> f64 {
        self.0
    }
}

/// A mass, stored in grams; never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Mass(f64);

impl Mass {
    /// Grams in one avoirdupois pound: exact.
    /// Source: NIST Handbook 44, Appendix C.
    pub const GRAMS_PER_POUND: f64 = 453.592_37;

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_grams(value: f64) -> Option<Mass> {
        (value.is_finite() && value >= 0.0).then_some(Mass(value))
    }

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_pounds(value: f64) -> Option<Mass> {
        Self::from_grams(value * Self::GRAMS_PER_POUND)
    }

    /// The mass in grams.
    pub fn grams(self) -> f64 {
        self.0
    }
}

/// How much of something, by volume or by mass; the two never mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// So much liquid.
    Volume(Volume),
    /// So much weight.
    Mass(Mass),
}

impl Amount {
    /// This amount in `unit`, or `None` if one is a volume and the other a mass.
    pub fn in_unit(self, unit: AmountUnit) -> Option<f64> {
        match (self, unit.base()?) {
            (Amount::Volume(volume), Base::Millilitres(each)) => Some(volume.0 / each),
            (Amount::Mass(mass), Base::Grams(each)) => Some(mass.0 / each),
            _ => None,
        }
    }

    /// This amount times `factor`; a factor below zero or not a number gives nothing.
    pub fn times(self, factor: f64) -> Amount {
        let scale = |value: f64| {
            let product = value * factor;
            if product.is_finite() && product > 0.0 { product } else { 0.0 }
        };
        match self {
            Amount::Volume(volume) => Amount::Volume(Volume(scale(volume.0))),
            Amount::Mass(mass) => Amount::Mass(Mass(scale(mass.0))),
        }
    }

    /// The sum, or `None` of a volume and a mass.
    pub fn plus(self, other: Amount) -> Option<Amount> {
        match (self, other) {
            (Amount::Volume(a), Amount::Volume(b)) => Some(Amount::Volume(Volume(a.0 + b.0))),
            (Amount::Mass(a), Amount::Mass(b)) => Some(Amount::Mass(Mass(a.0 + b.0))),
            _ => None,
        }
    }

    /// How many times `other` fits into this, or `None` of a volume and a mass, or of nothing.
    pub fn over(self, other: Amount) -> Option<f64> {
        let ratio = match (self, other) {
            (Amount::Volume(a), Amount::Volume(b)) => a.0 / b.0,
            (Amount::Mass(a), Amount::Mass(b)) => a.0 / b.0,
            _ => return None,
        };
        ratio.is_finite().then_some(ratio)
    }

    /// `2.46 fl oz`: at least three digits, in `unit`; in the base unit if that does not fit.
    pub fn print(self, unit: AmountUnit) -> String {
        match (self.in_unit(unit), self) {
            (Some(value), _) => format!("{} {}", significant(value, 3), unit.name()),
            (None, Amount::Volume(volume)) => format!("{} mL", significant(volume.0, 3)),
            (None, Amount::Mass(mass)) => format!("{} g", significant(mass.0, 3)),
        }
    }
}

/// A unit that an amount is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // The names say it.
pub enum AmountUnit {
    FluidOunce,
    Teaspoon,
    Tablespoon,
    Cup,
    Pint,
    Quart,
    Gallon,
    Millilitre,
    Litre,
    /// `oz` alone: volume or weight, not yet said which.
    Ounce,
    WeightOunce,
    Pound,
    Gram,
    Kilogram,
    Tonne,
    /// 2,000 lb, the US or short ton.
    Ton,
}

enum Base {
    Millilitres(f64),
    Grams(f64),
}

impl AmountUnit {
    /// All names that are read, longest first where one starts another.
    pub(crate) const NAMES: [(&'static str, AmountUnit); 104] = [
        ("fluid ounces", Self::FluidOunce),
        ("fluid ounce", Self::FluidOunce),
        ("fluid oz.", Self::FluidOunce),
        ("fluid oz", Self::FluidOunce),
        ("fl ounces", Self::FluidOunce),
        ("fl ounce", Self::FluidOunce),
        ("liquid ounces", Self::FluidOunce),
        ("liquid ounce", Self::FluidOunce),
        ("liquid oz", Self::FluidOunce),
        ("fl. oz.", Self::FluidOunce),
        ("fl. oz", Self::FluidOunce),
        ("fl oz.", Self::FluidOunce),
        ("fl ozs", Self::FluidOunce),
        ("fl oz", Self::FluidOunce),
        ("fl.oz.", Self::FluidOunce),
        ("fl.oz", Self::FluidOunce),
        ("floz", Self::FluidOunce),
        ("oz. fl.", Self::FluidOunce),
        ("oz fl", Self::FluidOunce),
        ("ounces of weight", Self::WeightOunce),
        ("ounces by weight", Self::WeightOunce),
        ("weight ounces", Self::WeightOunce),
        ("weight ounce", Self::WeightOunce),
        ("dry ounces", Self::WeightOunce),
        ("dry ounce", Self::WeightOunce),
        ("oz by weight", Self::WeightOunce),
        ("oz wt.", Self::WeightOunce),
        ("oz wt", Self::WeightOunce),
        ("oz. wt.", Self::WeightOunce),
        ("oz. wt", Self::WeightOunce),
        ("oz (wt)", Self::WeightOunce),
        ("wt. oz.", Self::WeightOunce),
        ("wt oz", Self::WeightOunce),
        ("dry oz.", Self::WeightOunce),
        ("dry oz", Self::WeightOunce),
        ("ounces", Self::Ounce),
        ("ounce", Self::Ounce),
        ("ozs", Self::Ounce),
        ("oz.", Self::Ounce),
        ("oz", Self::Ounce),
        ("teaspoons", Self::Teaspoon),
        ("teaspoon", Self::Teaspoon),
        ("tsps", Self::Teaspoon),
        ("tsp.", Self::Teaspoon),
        ("tsp", Self::Teaspoon),
        ("tablespoons", Self::Tablespoon),
        ("tablespoon", Self::Tablespoon),
        ("tbsps", Self::Tablespoon),
        ("tbsp.", Self::Tablespoon),
        ("tbsp", Self::Tablespoon),
        ("cups", Self::Cup),
        ("cup", Self::Cup),
        ("pints", Self::Pint),
        ("pint", Self::Pint),
        ("pts", Self::Pint),
        ("pt.", Self::Pint),
        ("pt", Self::Pint),
        ("quarts", Self::Quart),
        ("quart", Self::Quart),
        ("qts", Self::Quart),
        ("qt.", Self::Quart),
        ("qt", Self::Quart),
        ("gallons", Self::Gallon),
        ("gallon", Self::Gallon),
        ("gals", Self::Gallon),
        ("gal.", Self::Gallon),
        ("gal", Self::Gallon),
        ("millilitres", Self::Millilitre),
        ("milliliters", Self::Millilitre),
        ("millilitre", Self::Millilitre),
        ("milliliter", Self::Millilitre),
        ("mls", Self::Millilitre),
        ("ml", Self::Millilitre),
        ("cc", Self::Millilitre),
        ("litres", Self::Litre),
        ("liters", Self::Litre),
        ("litre", Self::Litre),
        ("liter", Self::Litre),
        ("pounds", Self::Pound),
        ("pound", Self::Pound),
        ("lbs.", Self::Pound),
        ("lbs", Self::Pound),
        ("lb.", Self::Pound),
        ("lb", Self::Pound),
        ("kilograms", Self::Kilogram),
        ("kilogram", Self::Kilogram),
        ("kilos", Self::Kilogram),
        ("kilo", Self::Kilogram),
        ("kgs", Self::Kilogram),
        ("kg", Self::Kilogram),
        ("grams", Self::Gram),
        ("gram", Self::Gram),
        ("gm", Self::Gram),
        ("metric tons", Self::Tonne),
        ("metric ton", Self::Tonne),
        ("tonnes", Self::Tonne),
        ("tonne", Self::Tonne),
        ("short tons", Self::Ton),
        ("short ton", Self::Ton),
        ("tons", Self::Ton),
        ("ton", Self::Ton),
        ("l", Self::Litre),
        ("g", Self::Gram),
        ("t", Self::Tonne),
    ];

    /// The unit at the front of `text`, and what follows it, trimmed.
    pub(crate) fn leading(text: &str) -> Option<(AmountUnit, &str)> {
        let text = text.trim_start();
        let us = ["us ", "u.s. "]
            .into_iter()
            .find(|us| text.get(..us.len()).is_some_and(|head| head.eq_ignore_ascii_case(us)));
        if let Some(us) = us {
            // Said where the imperial measure of that name would be another; these are the US ones.
            let is_us = |unit: &AmountUnit| {
                matches!(unit.base(), Some(Base::Millilitres(_))) && !unit.is_metric()
            };
            return Self::leading(&text[us.len()..]).filter(|(unit, _)| is_us(unit));
        }
        Self::NAMES.iter().find_map(|(name, unit)| {
            let head = text.get(..name.len())?;
            let tail = &text[name.len()..];
            let ends = !tail.starts_with(|c: char| c.is_alphanumeric());
            (head.eq_ignore_ascii_case(name) && ends).then(|| (*unit, tail.trim_start()))
        })
    }

    /// True where `text` begins with a capital `T` alone: in US use the short ton, on a kitchen's
    /// spoon the tablespoon. A small `t` is the tonne (SI Brochure, 9th ed., table 8).
    pub(crate) fn is_capital_t(text: &str) -> bool {
        let behind = text.trim_start().strip_prefix('T');
        behind.is_some_and(|tail| !tail.starts_with(|c: char| c.is_alphanumeric()))
    }

    /// The name as printed.
    pub fn name(self) -> &'static str {
        match self {
            Self::FluidOunce => "fl oz",
            Self::Teaspoon => "tsp",
            Self::Tablespoon => "tbsp",
            Self::Cup => "cup",
            Self::Pint => "pt",
            Self::Quart => "qt",
            Self::Gallon => "gal",
            Self::Millilitre => "mL",
            Self::Litre => "L",
            Self::Ounce => "oz",
            Self::WeightOunce => "oz wt",
            Self::Pound => "lb",
            Self::Gram => "g",
            Self::Kilogram => "kg",
            Self::Tonne => "t",
            Self::Ton => "ton",
        }
    }

    /// What one of the unit is; `None` of `oz`, which does not say.
    fn base(self) -> Option<Base> {
        // All exact parts of the gallon and the pound (NIST Handbook 44, Appendix C).
        let gallon = Volume::MILLILITRES_PER_GALLON;
        Some(match self {
            Self::FluidOunce => Base::Millilitres(gallon / 128.0),
            Self::Teaspoon => Base::Millilitres(gallon / 768.0),
            Self::Tablespoon => Base::Millilitres(gallon / 256.0),
            Self::Cup => Base::Millilitres(gallon / 16.0),
            Self::Pint => Base::Millilitres(gallon / 8.0),
            Self::Quart => Base::Millilitres(gallon / 4.0),
            Self::Gallon => Base::Millilitres(gallon),
            Self::Millilitre => Base::Millilitres(1.0),
            Self::Litre => Base::Millilitres(1000.0),
            Self::Ounce => return None,
            Self::WeightOunce => Base::Grams(Mass::GRAMS_PER_POUND / 16.0),
            Self::Pound => Base::Grams(Mass::GRAMS_PER_POUND),
            Self::Gram => Base::Grams(1.0),
            Self::Kilogram => Base::Grams(1000.0),
            Self::Tonne => Base::Grams(1_000_000.0),
            Self::Ton => Base::Grams(2000.0 * Mass::GRAMS_PER_POUND),
        })
    }

    /// True of the units of the metric system.
    pub(crate) fn is_metric(self) -> bool {
        use AmountUnit::{Gram, Kilogram, Litre, Millilitre, Tonne};
        matches!(self, Millilitre | Litre | Gram | Kilogram | Tonne)
    }

    /// `value` of this unit; `None` if the unit is a bare `oz` or the value is no amount.
    pub fn of(self, value: f64) -> Option<Amount> {
        match self.base()? {
            Base::Millilitres(each) => Volume::from_millilitres(value * each).map(Amount::Volume),
            Base::Grams(each) => Mass::from_grams(value * each).map(Amount::Mass),
        }
    }
}

/// An amount as somebody wrote it, such as `0.25 fl oz` or `3 gal`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WrittenAmount {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: AmountUnit,
}

impl WrittenAmount {
    pub(crate) const KNOWN: &'static str =
        "fl oz, oz wt, tsp, tbsp, cup, pt, qt, gal, mL, L, lb, ton (2,000 lb), g, kg, t";

    /// The amount meant.
    ///
    /// # Errors
    ///
    /// [`UnitError::WhichOunce`] where only `oz` is written.
    pub fn amount(self) -> Result<Amount, UnitError> {
        self.unit
            .of(self.value)
            .ok_or_else(|| UnitError::WhichOunce(format!("{} {}", self.value, self.unit.name())))
    }
}

impl std::str::FromStr for WrittenAmount {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<WrittenAmount, UnitError> {
        let (value, rest) = leading_number(text)?;
        if rest.is_empty() {
            return Err(UnitError::NoUnit(text.trim().into(), "3 gal"));
        }
        if AmountUnit::is_capital_t(rest) {
            return Err(UnitError::WhichTon(text.trim().into()));
        }
        match AmountUnit::leading(rest) {
            Some((unit, "")) => Ok(WrittenAmount { value, unit }),
            _ => Err(UnitError::UnknownUnit(rest.into(), Self::KNOWN)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // unit, millilitres or grams, and where it is published
            (AmountUnit::Gallon,      3_785.411_784,        "231 in³ (NIST HB 44 App. C)"),
            (AmountUnit::Quart,       946.352_946,          "1/4 gal (NIST HB 44 App. C)"),
            (AmountUnit::Pint,        473.176_473,          "1/8 gal (NIST HB 44 App. C)"),
            (AmountUnit::Cup,         236.588_236_5,        "1/16 gal (NIST HB 44 App. C)"),
            (AmountUnit::FluidOunce,  29.573_529_562_5,     "1/128 gal (NIST HB 44 App. C)"),
            (AmountUnit::Tablespoon,  14.786_764_781_25,    "1/2 fl oz (NIST HB 44 App. C)"),
            (AmountUnit::Teaspoon,    4.928_921_593_75,     "1/6 fl oz (NIST HB 44 App. C)"),
            (AmountUnit::Litre,       1000.0,               "SI Brochure, 9th ed., table 8"),
            (AmountUnit::Millilitre,  1.0,                  "SI Brochure, 9th ed., table 8"),
            (AmountUnit::Pound,       453.592_37,           "definition (NIST HB 44 App. C)"),
            (AmountUnit::WeightOunce, 28.349_523_125,       "1/16 lb (NIST HB 44 App. C)"),
            (AmountUnit::Gram,        1.0,                  "SI"),
            (AmountUnit::Kilogram,    1000.0,               "SI"),
            (AmountUnit::Tonne,       1_000_000.0,          "SI Brochure, 9th ed., table 8"),
            (AmountUnit::Ton,         907_184.74,           "2000 lb (NIST HB 44 App. C)"),
        ];
        // A name without a row is a unit that nobody checked. A bare ounce says no size.
        for (name, unit) in AmountUnit::NAMES {
            let row = table.iter().any(|(of_row, ..)| *of_row == unit);
            assert!(row || unit == AmountUnit::Ounce, "{name} has no row");
            let read: WrittenAmount = format!("1 {name}").parse().unwrap();
            assert_eq!(read.unit, unit, "{name}");
        }
        for (unit, published, source) in table {
            let ours = match unit.of(1.0).unwrap() {
                Amount::Volume(volume) => volume.millilitres(),
                Amount::Mass(mass) => mass.grams(),
            };
            let rounding = 4.0 * f64::EPSILON * published;
            assert!(
                (ours - published).abs() <= rounding,
                "{}: {ours} ≠ {published}, {source}",
                unit.name()
            );
        }
    }

    #[test]
    fn amounts_as_people_write_them() {
        for (text, value, unit) in [
            ("0.25 fl oz", 0.25, AmountUnit::FluidOunce),
            ("3 gal", 3.0, AmountUnit::Gallon),
            ("15 L", 15.0, AmountUnit::Litre),
            ("5 mL", 5.0, AmountUnit::Millilitre),
            ("1/2 oz wt", 0.5, AmountUnit::WeightOunce),
            ("50 lbs", 50.0, AmountUnit::Pound),
            ("2 Fl. Oz.", 2.0, AmountUnit::FluidOunce),
        ] {
            assert_eq!(text.parse::<WrittenAmount>(), Ok(WrittenAmount { value, unit }), "{text}");
        }
        let bare: WrittenAmount = "3 oz".parse().unwrap();
        assert!(matches!(bare.amount(), Err(UnitError::WhichOunce(_))));
        for capital in ["1 T", "2 T.", "1/2 T"] {
            let told = capital.parse::<WrittenAmount>();
            assert_eq!(told, Err(UnitError::WhichTon(capital.into())));
        }
        assert_eq!("1 t".parse::<WrittenAmount>().map(|read| read.unit), Ok(AmountUnit::Tonne));
        assert!("3 glugs".parse::<WrittenAmount>().is_err());
        assert!("3 gal of it".parse::<WrittenAmount>().is_err());
    }

    #[test]
    fn what_is_printed_is_read_again() {
        for (_, unit) in AmountUnit::NAMES {
            let read: WrittenAmount = format!("2 {}", unit.name()).parse().unwrap();
            assert_eq!(read.unit, unit);
        }
    }

    #[test]
    fn a_volume_is_no_mass() {
        let pint = AmountUnit::Pint.of(1.0).unwrap();
        let pound = AmountUnit::Pound.of(1.0).unwrap();
        assert_eq!(pint.plus(pound), None);
        assert_eq!(pint.in_unit(AmountUnit::Pound), None);
        assert_eq!(pint.over(pound), None);
    }
}
