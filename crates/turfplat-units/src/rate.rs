use std::fmt;
use std::str::FromStr;

use crate::amount::{Amount, AmountUnit, WrittenAmount};
use crate::area::{Area, AreaUnit};
use crate::number::{UnitError, leading_number, significant, sure_of_grouping};

/// An amount on an area, such as 0.25 fl oz on 1,000 sq ft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    per_square_metre: Amount,
}

impl Rate {
    /// So much on so much ground; `None` if the area is nothing.
    pub fn of(amount: Amount, on: Area) -> Option<Rate> {
        (on > Area::ZERO).then(|| Rate { per_square_metre: amount.times(1.0 / on.square_metres()) })
    }

    /// What `area` takes at this rate.
    pub fn on(self, area: Area) -> Amount {
        self.per_square_metre.times(area.square_metres())
    }

    /// This rate in `unit`, or `None` if one is a volume and the other a mass.
    pub fn in_unit(self, unit: RateUnit) -> Option<f64> {
        self.on(unit.area.area()).in_unit(unit.amount)
    }

    /// How many times `other` this is, or `None` of a volume and a mass, or of nothing.
    pub fn over(self, other: Rate) -> Option<f64> {
        self.per_square_metre.over(other.per_square_metre)
    }

    /// This rate times `factor`.
    pub fn times(self, factor: f64) -> Rate {
        Rate { per_square_metre: self.per_square_metre.times(factor) }
    }

    /// `0.3 fl oz/1000 sq ft`: at least three digits, in `unit`.
    pub fn print(self, unit: RateUnit) -> String {
        match self.in_unit(unit) {
            Some(value) => format!("{} {unit}", significant(value, 3)),
            None => format!("{}/m2", self.per_square_metre.print(unit.amount)),
        }
    }
}

/// The unit that a rate is written in: an amount over an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RateUnit {
    /// What is put down.
    pub amount: AmountUnit,
    /// On how much ground.
    pub area: AreaUnit,
}

impl fmt::Display for RateUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.amount.name(), self.area.name())
    }
}

/// What a rate counts: the product in the container, or a part of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Of {
    /// What comes in the container.
    Product,
    /// The active ingredient.
    ActiveIngredient,
    /// The acid that a salt or ester of an active ingredient comes from; less of it weighs the same.
    AcidEquivalent,
    /// A nutrient by the name in an analysis: `N`, `P2O5` or `K2O`.
    Nutrient(&'static str),
}

/// A rate as somebody wrote it, such as `1/4 fl oz per 1,000 ft²` or `1 lb N/M`.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenRate {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: RateUnit,
    /// What it counts.
    pub of: Of,
}

impl WrittenRate {
    /// The rate meant.
    ///
    /// # Errors
    ///
    /// [`UnitError::WhichOunce`] where only `oz` is written.
    pub fn rate(&self) -> Result<Rate, UnitError> {
        let amount = WrittenAmount { value: self.value, unit: self.unit.amount }
            .amount()
            .map_err(|_| UnitError::WhichOunce(format!("{} {}", self.value, self.unit)))?;
        // A unit of area is never nothing.
        Ok(Rate { per_square_metre: amount.times(1.0 / self.unit.area.area().square_metres()) })
    }

    /// The rate meant where a bare `oz` can only be weight, as of a granule.
    pub fn rate_by_weight(&self) -> Result<Rate, UnitError> {
        let mut by_weight = self.clone();
        if by_weight.unit.amount == AmountUnit::Ounce {
            by_weight.unit.amount = AmountUnit::WeightOunce;
        }
        by_weight.rate()
    }
}

impl FromStr for RateUnit {
    type Err = UnitError;

    /// Reads `mL/100 m2` or `fl oz per 1,000 sq ft`.
    fn from_str(text: &str) -> Result<RateUnit, UnitError> {
        let Unit { amount, of, area, count } = unit_of_rate(text, text)?;
        if of != Of::Product || count != 1.0 {
            return Err(UnitError::UnknownUnit(
                text.into(),
                "an amount over an area, such as mL/100 m2",
            ));
        }
        Ok(RateUnit { amount, area })
    }
}

impl FromStr for WrittenRate {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<WrittenRate, UnitError> {
        let (value, rest) = leading_number(text)?;
        if rest.is_empty() {
            return Err(UnitError::NoUnit(text.trim().into(), "0.25 fl oz/1000 sq ft"));
        }
        if ["%", "percent", "v/v"].into_iter().any(|share| rest.to_lowercase().starts_with(share)) {
            return Err(UnitError::ShareOfSpray(text.trim().into()));
        }
        let Unit { amount, of, area, count } = unit_of_rate(rest, text)?;
        Ok(WrittenRate { value: value / count, unit: RateUnit { amount, area }, of })
    }
}

/// The unit of a rate: the unit above, what it counts, the area below and how many of it.
struct Unit {
    amount: AmountUnit,
    of: Of,
    area: AreaUnit,
    count: f64,
}

/// `fl oz/1000 sq ft`, `lb N per M` or `GPA`.
fn unit_of_rate(unit: &str, whole: &str) -> Result<Unit, UnitError> {
    let lower = unit.to_ascii_lowercase();
    if lower.trim() == "gpa" {
        let (amount, area) = (AmountUnit::Gallon, AreaUnit::Acre);
        return Ok(Unit { amount, of: Of::Product, area, count: 1.0 });
    }
    // `0.8 L ha-1`, as papers write it.
    let whole_below =
        POWERS.iter().find_map(|(power, area)| Some((lower.strip_suffix(power)?, area)));
    if let Some((above, area)) = whole_below.filter(|(above, _)| above.ends_with([' ', '\u{b7}'])) {
        let above = unit[..above.len()].trim_end_matches([' ', '\u{b7}']);
        return unit_of_rate(&format!("{above}/{area}"), whole);
    }
    let stroke = lower.find('/').map(|at| (at, at + 1));
    let word = lower.find(" per ").map(|at| (at, at + 5));
    let Some((end, start)) = stroke.or(word) else {
        return Err(UnitError::NoArea(whole.trim().into()));
    };
    let (above, below) = (unit[..end].trim(), unit[start..].trim());
    if AmountUnit::is_capital_t(above) {
        return Err(UnitError::WhichTon(whole.trim().into()));
    }
    let Some((amount, counted)) = AmountUnit::leading(above) else {
        return Err(UnitError::UnknownUnit(above.into(), WrittenAmount::KNOWN));
    };
    let lower = counted.to_lowercase();
    let name = lower.strip_prefix("of ").unwrap_or(&lower).trim();
    let Some((_, of)) = PARTS.iter().find(|(known, _)| *known == name) else {
        let what = format!("{} {counted}", amount.name());
        return Err(if amount.of(1.0).is_some_and(|one| matches!(one, Amount::Mass(_))) {
            UnitError::WhatPart(what)
        } else {
            UnitError::UnknownUnit(above.into(), WrittenAmount::KNOWN)
        });
    };
    if below.parse::<WrittenAmount>().is_ok() {
        return Err(UnitError::ShareOfSpray(whole.trim().into()));
    }
    // Ingredients and nutrients are weighed, never poured.
    let amount = match (amount, of) {
        (AmountUnit::Ounce, Of::ActiveIngredient | Of::AcidEquivalent | Of::Nutrient(_)) => {
            AmountUnit::WeightOunce
        }
        (amount, _) => amount,
    };
    let (area, count) = area_below(below, amount)?;
    Ok(Unit { amount, of: of.clone(), area, count })
}

/// Areas as powers behind the amount, and how they are written below a stroke.
const POWERS: [(&str, &str); 6] = [
    ("ha-1", "ha"),
    ("ha^-1", "ha"),
    ("ha\u{207b}\u{b9}", "ha"),
    ("m-2", "m2"),
    ("m^-2", "m2"),
    ("m\u{207b}\u{b2}", "m2"),
];

/// What a rate may count, by the names that are read behind the unit.
const PARTS: [(&str, Of); 23] = [
    ("", Of::Product),
    ("product", Of::Product),
    ("a.i.", Of::ActiveIngredient),
    ("a.i", Of::ActiveIngredient),
    ("ai", Of::ActiveIngredient),
    ("active ingredient", Of::ActiveIngredient),
    ("active", Of::ActiveIngredient),
    ("a.e.", Of::AcidEquivalent),
    ("ae", Of::AcidEquivalent),
    ("acid equivalent", Of::AcidEquivalent),
    ("n", Of::Nutrient("N")),
    ("nitrogen", Of::Nutrient("N")),
    ("actual n", Of::Nutrient("N")),
    ("actual nitrogen", Of::Nutrient("N")),
    ("total n", Of::Nutrient("N")),
    ("p2o5", Of::Nutrient("P2O5")),
    ("p₂o₅", Of::Nutrient("P2O5")),
    ("phosphate", Of::Nutrient("P2O5")),
    ("available phosphate", Of::Nutrient("P2O5")),
    ("k2o", Of::Nutrient("K2O")),
    ("k₂o", Of::Nutrient("K2O")),
    ("potash", Of::Nutrient("K2O")),
    ("soluble potash", Of::Nutrient("K2O")),
];

/// The area, and how many of it: `500 sq ft` is half of 1000.
fn area_below(text: &str, amount: AmountUnit) -> Result<(AreaUnit, f64), UnitError> {
    const KNOWN: &str = "1000 sq ft, M (1000 sq ft), sq ft, A, m2, 100 m2, ha";
    let unknown = || UnitError::UnknownUnit(text.into(), KNOWN);
    // The trade's thousand and acre go with the trade's units; elsewhere they may be something else.
    let which = |one, other| {
        let text = format!("{}/{text}", amount.name());
        Err(UnitError::WhichArea(text, one, other))
    };
    match text {
        // Capital M is the trade's thousand; a small m is a metre and no area.
        "M" => return Ok((AreaUnit::ThousandSquareFeet, 1.0)),
        "a" if amount.is_metric() => return which("an acre (\"A\")", "an are (\"100 m2\")"),
        "1000" | "1,000" | "thousand" | "Thousand" if amount.is_metric() => {
            return which("\"1000 sq ft\"", "\"1000 m2\"");
        }
        "1000" | "1,000" | "thousand" | "Thousand" => {
            return Ok((AreaUnit::ThousandSquareFeet, 1.0));
        }
        _ => {}
    }
    let (count, unit) = match leading_number(text) {
        Ok((count, unit)) => (count, unit.to_lowercase()),
        Err(UnitError::NoNumber(_)) => match text.to_lowercase().strip_prefix("thousand ") {
            Some(unit) => (1000.0, unit.trim().to_owned()),
            None => (1.0, text.to_lowercase()),
        },
        Err(error) => return Err(error),
    };
    // Nine square feet, and nothing to print in.
    let (count, one) = match YARDS.contains(&unit.as_str()) {
        true => (9.0 * count, AreaUnit::SquareFoot),
        false => (count, area_unit(&unit).ok_or_else(unknown)?),
    };
    if matches!(one, AreaUnit::SquareFoot | AreaUnit::SquareMetre) {
        sure_of_grouping(text)?;
    }
    match (count, one) {
        (10_000.0, AreaUnit::SquareMetre) => Ok((AreaUnit::Hectare, 1.0)),
        (1.0, one) => Ok((one, 1.0)),
        (count, AreaUnit::SquareFoot) if count > 1.0 => {
            Ok((AreaUnit::ThousandSquareFeet, count / 1000.0))
        }
        (count, AreaUnit::SquareMetre) if count > 1.0 => {
            Ok((AreaUnit::HundredSquareMetres, count / 100.0))
        }
        (count, one) if count > 1.0 => Ok((one, count)),
        _ => Err(unknown()),
    }
}

/// The names of the square yard that are read, in small letters.
const YARDS: [&str; 7] =
    ["sq yd", "sq. yd.", "sq yards", "yd2", "yd\u{b2}", "square yard", "square yards"];

/// All names of areas that are read, in small letters.
pub(crate) const AREA_NAMES: [(&str, AreaUnit); 33] = [
    ("msf", AreaUnit::ThousandSquareFeet),
    ("ksf", AreaUnit::ThousandSquareFeet),
    ("sq ft", AreaUnit::SquareFoot),
    ("sq. ft.", AreaUnit::SquareFoot),
    ("sq. ft", AreaUnit::SquareFoot),
    ("sq.ft.", AreaUnit::SquareFoot),
    ("sq.ft", AreaUnit::SquareFoot),
    ("sq feet", AreaUnit::SquareFoot),
    ("sq. feet", AreaUnit::SquareFoot),
    ("sqft", AreaUnit::SquareFoot),
    ("sf", AreaUnit::SquareFoot),
    ("ft2", AreaUnit::SquareFoot),
    ("ft²", AreaUnit::SquareFoot),
    ("ft^2", AreaUnit::SquareFoot),
    ("square feet", AreaUnit::SquareFoot),
    ("square foot", AreaUnit::SquareFoot),
    ("acre", AreaUnit::Acre),
    ("acres", AreaUnit::Acre),
    ("ac", AreaUnit::Acre),
    ("ac.", AreaUnit::Acre),
    ("a", AreaUnit::Acre),
    ("m2", AreaUnit::SquareMetre),
    ("m²", AreaUnit::SquareMetre),
    ("m^2", AreaUnit::SquareMetre),
    ("sq m", AreaUnit::SquareMetre),
    ("sqm", AreaUnit::SquareMetre),
    ("square metre", AreaUnit::SquareMetre),
    ("square metres", AreaUnit::SquareMetre),
    ("square meter", AreaUnit::SquareMetre),
    ("square meters", AreaUnit::SquareMetre),
    ("ha", AreaUnit::Hectare),
    ("hectare", AreaUnit::Hectare),
    ("hectares", AreaUnit::Hectare),
];

/// The unit of area of that name, in small letters.
pub(crate) fn area_unit(name: &str) -> Option<AreaUnit> {
    AREA_NAMES.iter().find(|(known, _)| *known == name).map(|(_, unit)| *unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(text: &str) -> RateUnit {
        text.parse().unwrap()
    }

    #[test]
    fn rates_as_labels_and_people_write_them() {
        let us = RateUnit { amount: AmountUnit::FluidOunce, area: AreaUnit::ThousandSquareFeet };
        for (text, value, unit, of) in [
            ("0.25 fl oz/1000 sq ft", 0.25, us, Of::Product),
            ("1/4 fl oz per 1,000 ft²", 0.25, us, Of::Product),
            ("0.25 fl. oz. / 1,000 sq. ft.", 0.25, us, Of::Product),
            (
                "11 fl oz/A",
                11.0,
                RateUnit { amount: AmountUnit::FluidOunce, area: AreaUnit::Acre },
                Of::Product,
            ),
            (
                "0.8 L/ha",
                0.8,
                RateUnit { amount: AmountUnit::Litre, area: AreaUnit::Hectare },
                Of::Product,
            ),
            (
                "2 lb a.i./A",
                2.0,
                RateUnit { amount: AmountUnit::Pound, area: AreaUnit::Acre },
                Of::ActiveIngredient,
            ),
            (
                "1 lb N/M",
                1.0,
                RateUnit { amount: AmountUnit::Pound, area: AreaUnit::ThousandSquareFeet },
                Of::Nutrient("N"),
            ),
            (
                "50 mL/100 m2",
                50.0,
                RateUnit { amount: AmountUnit::Millilitre, area: AreaUnit::HundredSquareMetres },
                Of::Product,
            ),
        ] {
            assert_eq!(text.parse::<WrittenRate>(), Ok(WrittenRate { value, unit, of }), "{text}");
        }
    }

    #[test]
    fn more_rates_as_labels_and_people_write_them() {
        for (text, value, plain) in [
            ("1 1/2 pt per acre", 1.5, "pt/A"),
            ("1-1/2 pt/acre", 1.5, "pt/A"),
            ("3/8 oz/1,000 sq ft", 0.375, "oz/1000 sq ft"),
            ("0,8 L/ha", 0.8, "L/ha"),
            ("6.5 ml/100m²", 6.5, "mL/100 m2"),
            ("6.5 mL per 100 sq m", 6.5, "mL/100 m2"),
            ("2 kg/ha", 2.0, "kg/ha"),
            ("0.4 fl oz/1000", 0.4, "fl oz/1000 sq ft"),
            ("3 lbs per 1,000 square feet", 3.0, "lb/1000 sq ft"),
            ("3 lbs. / 1000 sf", 3.0, "lb/1000 sq ft"),
            ("3 pounds per thousand sq ft", 3.0, "lb/1000 sq ft"),
            ("1 ton/A", 1.0, "ton/A"),
            ("2 t/ha", 2.0, "t/ha"),
            ("½ cup/M", 0.5, "cup/1000 sq ft"),
            ("0.3 US fl oz/1000 sq. feet", 0.3, "fl oz/1000 sq ft"),
            ("3 fl oz/500 sq ft", 6.0, "fl oz/1000 sq ft"),
            ("2 mL/10 m2", 20.0, "mL/100 m2"),
            ("5 lb per 2 acres", 2.5, "lb/A"),
            ("0.4 fl oz/MSF", 0.4, "fl oz/1000 sq ft"),
            ("0.4 oz fl per ksf", 0.4, "fl oz/1000 sq ft"),
            ("0.4 fl oz per thousand", 0.4, "fl oz/1000 sq ft"),
            ("3 lb/1000 sq.ft.", 3.0, "lb/1000 sq ft"),
            ("3 lb/1 000 sq ft", 3.0, "lb/1000 sq ft"),
            ("2 kg/10\u{a0}000 m2", 2.0, "kg/ha"),
            ("0.8 L ha-1", 0.8, "L/ha"),
            ("0.8 L ha\u{207b}\u{b9}", 0.8, "L/ha"),
            ("5 g\u{b7}m-2", 5.0, "g/m2"),
            ("0.018 lb/sq yd", 2.0, "lb/1000 sq ft"),
            ("40 GPA", 40.0, "gal/A"),
        ] {
            let read: WrittenRate = text.parse().unwrap_or_else(|e| panic!("{text}: {e}"));
            assert_eq!((read.value, read.unit.to_string()), (value, plain.to_owned()), "{text}");
            assert_eq!(read.of, Of::Product, "{text}");
        }
        for (text, of) in [
            ("104 g a.i./ha", Of::ActiveIngredient),
            ("104 g a.i. ha-1", Of::ActiveIngredient),
            ("0.5 lbs ai per acre", Of::ActiveIngredient),
            ("0.75 lb a.e./A", Of::AcidEquivalent),
            ("840 g acid equivalent/ha", Of::AcidEquivalent),
            ("1 lb of N per 1000 sq ft", Of::Nutrient("N")),
            ("1 lb actual N/1000", Of::Nutrient("N")),
            ("0.5 lb P2O5/1000", Of::Nutrient("P2O5")),
            ("0.5 lb P₂O₅/1000", Of::Nutrient("P2O5")),
            ("50 kg K2O/ha", Of::Nutrient("K2O")),
        ] {
            assert_eq!(text.parse::<WrittenRate>().map(|read| read.of), Ok(of), "{text}");
        }
    }

    #[test]
    fn what_may_be_one_of_two_areas_is_asked_back() {
        for text in ["3 kg/a", "3 kg/1000", "3 mL per 1,000", "3 mL per thousand"] {
            let told = text.parse::<WrittenRate>();
            assert!(matches!(told, Err(UnitError::WhichArea(..))), "{text}: {told:?}");
        }
        assert_eq!("3 lb/a".parse::<WrittenRate>().unwrap().unit.area, AreaUnit::Acre);
        let elemental = "1 lb P/1000".parse::<WrittenRate>().unwrap_err();
        assert_eq!(elemental, UnitError::WhatPart("lb P".into()));
        assert!(elemental.to_string().contains("a.e. (acid equivalent"), "{elemental}");
    }

    #[test]
    fn a_capital_t_and_a_slip_of_grouping_are_asked_back() {
        for text in ["1 T/A", "1 T N/A", "2 T per acre"] {
            let told = text.parse::<WrittenRate>().unwrap_err();
            assert_eq!(told, UnitError::WhichTon(text.into()));
        }
        assert!(matches!("T/A".parse::<RateUnit>(), Err(UnitError::WhichTon(_))));
        for text in ["5 lb/1,00 sq ft", "5 lb/1.000 sq ft", "5 lb/10,00 sq ft", "5 mL/1.000 m2"] {
            let told = text.parse::<WrittenRate>();
            assert!(matches!(told, Err(UnitError::Grouped(..))), "{text}: {told:?}");
        }
        assert_eq!("5 lb/2.5 acres".parse::<WrittenRate>().map(|read| read.value), Ok(2.0));
    }

    #[test]
    fn ounces_of_a_part_are_weight() {
        for (text, plain) in [
            ("1.5 oz ai/A", "oz wt/A"),
            ("1.5 oz N/M", "oz wt/1000 sq ft"),
            ("1.5 oz a.e. per acre", "oz wt/A"),
            ("1.5 oz K2O/M", "oz wt/1000 sq ft"),
        ] {
            let read: WrittenRate = text.parse().unwrap();
            assert_eq!(read.unit.to_string(), plain, "{text}");
            assert!(read.rate().is_ok(), "{text}");
        }
        let product: WrittenRate = "1.5 oz product/A".parse().unwrap();
        assert!(matches!(product.rate(), Err(UnitError::WhichOunce(_))));
    }

    #[test]
    fn every_name_of_a_part_is_read() {
        for (name, of) in PARTS {
            let read: WrittenRate = format!("1 lb {name}/A").parse().unwrap();
            assert_eq!(read.of, of, "{name}");
        }
    }

    #[test]
    fn rates_that_do_not_say_enough_are_refused() {
        assert!(matches!("3 fl oz".parse::<WrittenRate>(), Err(UnitError::NoArea(_))));
        assert!(matches!("0.25".parse::<WrittenRate>(), Err(UnitError::NoUnit(..))));
        assert!(matches!("3 glug/A".parse::<WrittenRate>(), Err(UnitError::UnknownUnit(..))));
        for none in ["3 fl oz/0 sq ft", "3 fl oz/0.5 sq ft", "3 US kg/A", "3 US L/A"] {
            let told = none.parse::<WrittenRate>();
            assert!(matches!(told, Err(UnitError::UnknownUnit(..))), "{none}: {told:?}");
        }
        for over_zero in ["1/0 pt/A", "1 1/0 pt/A"] {
            let told = over_zero.parse::<WrittenRate>();
            assert!(matches!(told, Err(UnitError::OverZero(_))), "{over_zero}: {told:?}");
        }
        for share in ["0.25 %", "0.25 % v/v", "0.25 percent", "1 qt/100 gal"] {
            let told = share.parse::<WrittenRate>();
            assert!(matches!(told, Err(UnitError::ShareOfSpray(_))), "{share}: {told:?}");
        }
        assert!(matches!("3 fl oz/m".parse::<WrittenRate>(), Err(UnitError::UnknownUnit(..))));
        let ounces: WrittenRate = "3 oz/A".parse().unwrap();
        assert!(matches!(ounces.rate(), Err(UnitError::WhichOunce(_))));
        assert!(ounces.rate_by_weight().is_ok());
    }

    #[test]
    fn conversions_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // from, to, and what the source prints
            ("1 fl oz/1000 sq ft", "fl oz/A",     43.56,     1e-9,  "43 560 ft² an acre (NIST HB 44 App. C)"),
            ("1 fl oz/1000 sq ft", "mL/100 m2",   31.83,     5e-3,  "worked by hand: 29.5735 / 0.9290304"),
            ("1 gal/A",            "L/ha",        9.353_96,  5e-6,  "worked by hand: 3.785411784 / 0.40468564224"),
            ("1 lb/A",             "kg/ha",       1.120_85,  5e-6,  "worked by hand: 0.45359237 / 0.40468564224"),
            ("1 lb/1000 sq ft",    "kg/ha",       48.824_28, 5e-6,  "worked by hand: 0.45359237 × 10 000 / 92.90304"),
        ];
        for (from, to, printed, half_a_digit, source) in table {
            let ours =
                from.parse::<WrittenRate>().unwrap().rate().unwrap().in_unit(unit(to)).unwrap();
            assert!(
                (ours - printed).abs() <= half_a_digit,
                "{from} = {ours} {to}, not {printed}: {source}"
            );
        }
    }
}
