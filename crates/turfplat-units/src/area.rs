use std::iter::Sum;
use std::ops::Add;
use std::str::FromStr;

use crate::UnitSystem;
use crate::length::Length;
use crate::number::{UnitError, decimal, leading_number, sure_of_grouping};
use crate::rate::area_unit;

/// A ground area, stored in square metres; never negative, never infinite.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Area(f64);

impl Area {
    /// Square metres in one square foot: exact, since one foot is exactly 0.3048 m.
    /// Source: NIST and NOAA, 85 FR 62698 (5 October 2020), in force since 2023.
    pub const SQUARE_METRES_PER_SQUARE_FOOT: f64 = 0.092_903_04;

    /// Square feet in one acre: exact (66 ft × 660 ft), so 4 046.856 422 4 m².
    /// A table that prints 4 046.873 m² means the retired survey acre; do not copy it.
    /// Source: NIST Handbook 44 (2023 on), Appendix C.
    pub const SQUARE_FEET_PER_ACRE: f64 = 43_560.0;

    /// No area at all.
    pub const ZERO: Area = Area(0.0);

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_square_metres(value: f64) -> Option<Area> {
        (value.is_finite() && value >= 0.0).then_some(Area(value))
    }

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_square_feet(value: f64) -> Option<Area> {
        Self::from_square_metres(value * Self::SQUARE_METRES_PER_SQUARE_FOOT)
    }

    /// Returns `None` if `value` is negative, infinite or not a number.
    pub fn from_acres(value: f64) -> Option<Area> {
        Self::from_square_feet(value * Self::SQUARE_FEET_PER_ACRE)
    }

    /// A rectangle; `None` only of one too large to be stored.
    pub fn of_rectangle(length: Length, width: Length) -> Option<Area> {
        Self::from_square_metres(length.metres() * width.metres())
    }

    /// The area in square metres.
    pub fn square_metres(self) -> f64 {
        self.0
    }

    /// The area in square feet.
    pub fn square_feet(self) -> f64 {
        self.0 / Self::SQUARE_METRES_PER_SQUARE_FOOT
    }

    /// The area in acres.
    pub fn acres(self) -> f64 {
        self.square_feet() / Self::SQUARE_FEET_PER_ACRE
    }

    /// `4,800 sq ft` or `445.9 m²`.
    pub fn print(self, units: UnitSystem) -> String {
        match units {
            UnitSystem::Us => format!("{} sq ft", decimal(self.square_feet(), 0)),
            UnitSystem::Metric => format!("{} m²", decimal(self.0, 1)),
        }
    }
}

impl FromStr for Area {
    type Err = UnitError;

    /// Reads an area, `340 sq ft`, or a rectangle, `18.5 x 18.5 ft` or `20 ft x 6 m`.
    fn from_str(text: &str) -> Result<Area, UnitError> {
        let parted = text.split_once(['x', 'X', '×']);
        if let Some((length, width)) = parted {
            return rectangle(text, length.trim(), width.trim());
        }
        let (value, unit) = leading_number(text)?;
        if unit.is_empty() {
            return Err(UnitError::NoUnit(text.trim().into(), "340 sq ft"));
        }
        let unit = area_unit(&unit.to_lowercase()).ok_or_else(|| {
            UnitError::UnknownUnit(
                unit.into(),
                "sq ft, A, m2, ha, or a rectangle such as 20 x 17 ft",
            )
        })?;
        if matches!(unit, AreaUnit::SquareFoot | AreaUnit::SquareMetre) {
            sure_of_grouping(text)?;
        }
        Area::from_square_metres(value * unit.area().0)
            .ok_or_else(|| UnitError::OutOfRange(text.into()))
    }
}

/// Two sides; a side without a unit takes that of the other.
fn rectangle(whole: &str, length: &str, width: &str) -> Result<Area, UnitError> {
    let width_read: Length = width.parse()?;
    let length_read = match length.parse() {
        Err(UnitError::NoUnit(..)) => {
            let (_, unit) = leading_number(width)?;
            format!("{length} {unit}").parse()
        }
        read => read,
    }?;
    Area::of_rectangle(length_read, width_read).ok_or_else(|| UnitError::OutOfRange(whole.into()))
}

impl Add for Area {
    type Output = Area;

    fn add(self, other: Area) -> Area {
        Area(self.0 + other.0)
    }
}

impl Sum for Area {
    fn sum<I: Iterator<Item = Area>>(areas: I) -> Area {
        areas.fold(Area::ZERO, Add::add)
    }
}

/// The area that a rate is per.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AreaUnit {
    /// 1,000 square feet, the trade's `M`.
    ThousandSquareFeet,
    /// One square foot.
    SquareFoot,
    /// One acre of 43,560 square feet.
    Acre,
    /// One square metre.
    SquareMetre,
    /// 100 square metres, an are.
    HundredSquareMetres,
    /// One hectare.
    Hectare,
}

impl AreaUnit {
    /// The size of the unit.
    pub fn area(self) -> Area {
        Area(match self {
            Self::ThousandSquareFeet => 1000.0 * Area::SQUARE_METRES_PER_SQUARE_FOOT,
            Self::SquareFoot => Area::SQUARE_METRES_PER_SQUARE_FOOT,
            Self::Acre => Area::SQUARE_FEET_PER_ACRE * Area::SQUARE_METRES_PER_SQUARE_FOOT,
            Self::SquareMetre => 1.0,
            Self::HundredSquareMetres => 100.0,
            Self::Hectare => 10_000.0,
        })
    }

    /// The name under a rate's stroke, as printed: `1000 sq ft`, `A`, `ha`.
    pub fn name(self) -> &'static str {
        match self {
            Self::ThousandSquareFeet => "1000 sq ft",
            Self::SquareFoot => "sq ft",
            Self::Acre => "A",
            Self::SquareMetre => "m2",
            Self::HundredSquareMetres => "100 m2",
            Self::Hectare => "ha",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_agree_with_published_tables() {
        #[rustfmt::skip]
        let table = [
            // what, ours, published, and where it is published
            ("1 ft²",        Area::from_square_feet(1.0).unwrap().0, 0.092_903_04,      "1 ft = 0.3048 m (85 FR 62698)"),
            ("1 acre",       Area::from_acres(1.0).unwrap().0,       4_046.856_422_4,   "43 560 ft² (NIST HB 44 App. C)"),
            ("1000 sq ft",   AreaUnit::ThousandSquareFeet.area().0,  92.903_04,         "1000 × 0.3048² (85 FR 62698)"),
            ("sq ft",        AreaUnit::SquareFoot.area().0,          0.092_903_04,      "0.3048² (85 FR 62698)"),
            ("A",            AreaUnit::Acre.area().0,                4_046.856_422_4,   "43 560 ft² (NIST HB 44 App. C)"),
            ("m2",           AreaUnit::SquareMetre.area().0,         1.0,               "definition"),
            ("100 m2",       AreaUnit::HundredSquareMetres.area().0, 100.0,             "definition"),
            ("ha",           AreaUnit::Hectare.area().0,             10_000.0,          "SI Brochure, 9th ed., table 8"),
        ];
        for (what, ours, published, source) in table {
            let rounding = 4.0 * f64::EPSILON * published; // All that is left: the factors are exact.
            assert!((ours - published).abs() <= rounding, "{what}: {ours} ≠ {published}, {source}");
        }
    }

    #[test]
    fn every_name_of_an_area_has_a_row() {
        #[rustfmt::skip]
        let table = [
            // unit, square metres, and where it is published
            (AreaUnit::SquareFoot,  0.092_903_04,    "0.3048² (85 FR 62698)"),
            (AreaUnit::ThousandSquareFeet, 92.903_04, "1000 × 0.3048² (85 FR 62698)"),
            (AreaUnit::Acre,        4_046.856_422_4, "43 560 ft² (NIST HB 44 App. C); 4 046.873 is the retired survey acre"),
            (AreaUnit::SquareMetre, 1.0,             "definition"),
            (AreaUnit::Hectare,     10_000.0,        "SI Brochure, 9th ed., table 8"),
        ];
        for (name, unit) in crate::rate::AREA_NAMES {
            let row = table.iter().find(|(of_row, ..)| *of_row == unit);
            let (_, published, source) = row.unwrap_or_else(|| panic!("{name} has no row"));
            let ours = format!("1 {name}").parse::<Area>().unwrap().0;
            let rounding = 4.0 * f64::EPSILON * published;
            assert!((ours - published).abs() <= rounding, "{name}: {ours} ≠ {published}, {source}");
        }
    }

    #[test]
    fn areas_as_people_write_them() {
        for (text, square_feet) in [
            ("340 sq ft", 340.0),
            ("1,000 ft²", 1000.0),
            ("1/128 acre", 340.3125),
            ("18.5 x 18.5 ft", 342.25),
            ("20 ft × 204 in", 340.0),
            ("0.3048 m x 1 ft", 1.0),
        ] {
            let read = text.parse::<Area>().unwrap().square_feet();
            assert!((read - square_feet).abs() < 1e-9 * square_feet, "{text}: {read}");
        }
        for text in ["340", "340 ft", "18.5 x 18.5", "18.5 x 18.5 sq ft", "x 3 ft"] {
            assert!(text.parse::<Area>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_slip_of_grouping_is_asked_back_with_both_readings() {
        for (text, point, joined) in [
            ("1,00 sq ft", "1.00", "100"),
            ("10,00 sq ft", "10.00", "1000"),
            ("1.000 sq ft", "1.000", "1000"),
            ("12.500 m2", "12.500", "12500"),
        ] {
            let told = text.parse::<Area>().unwrap_err();
            let readings = format!("{point} or {joined}");
            assert_eq!(told, UnitError::Grouped(text.into(), readings), "{text}");
        }
        for fine in
            ["0.125 sq ft", "1.125 acres", "7,5 m2", "0,250 ha", "1,000 sq ft", "4800.125 sq ft"]
        {
            assert!(fine.parse::<Area>().is_ok(), "{fine}");
        }
    }

    #[test]
    fn nonsense_is_not_an_area() {
        assert_eq!(Area::from_square_metres(-1.0), None);
        assert_eq!(Area::from_square_metres(f64::NAN), None);
        assert_eq!(Area::from_acres(f64::INFINITY), None);
    }
}
