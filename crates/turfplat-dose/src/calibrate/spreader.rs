//! Why a spreader's setting is looked up in the user's own table: the dial's numbers mean
//! nothing from one spreader, or one product, to the next. What was caught counts, and only
//! between what was caught is a setting told.

use turfplat_units::{Amount, Area, AreaUnit, Mass, Rate, UnitSystem, significant};

use crate::loads::RATE_TOLERANCE;

use super::{CalibrateError, Step, Worked, put, some, spread_rate_unit, told};

const UMASS: &str = "UMass Extension, Rotary spreader calibration procedures";

/// A setting of the user's spreader and what was caught at it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpreaderSetting {
    /// The number on the dial.
    pub setting: f64,
    /// What it put down.
    pub rate: Rate,
}

/// How a spreader does against a wanted rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpreaderCheck {
    /// How far off, in percent of the wanted rate; above zero is too much.
    pub percent_off: f64,
    /// The least that is accepted.
    pub least: Rate,
    /// The most that is accepted.
    pub most: Rate,
    /// Whether it lies between the two.
    pub accepted: bool,
}

/// The rate of a catch test: weight caught on a course of the effective width.
///
/// # Errors
///
/// A weight or course of nothing.
pub fn spread_rate(
    caught: Mass,
    course: Area,
    units: UnitSystem,
) -> Result<Worked<Rate>, CalibrateError> {
    some("what was caught", caught.grams())?;
    some("the course", course.square_metres())?;
    let rate = Rate::of(Amount::Mass(caught), course)
        .ok_or(CalibrateError::Nothing { what: "the course" })?;
    let unit = spread_rate_unit(units);
    let weight = put(Amount::Mass(caught).in_unit(unit.amount).unwrap_or(0.0));
    let (formula, numbers) = match units {
        UnitSystem::Us => (
            "lb/1000 sq ft = lb caught ÷ sq ft × 1,000",
            format!("{weight} ÷ {} × 1,000", put(course.square_feet())),
        ),
        UnitSystem::Metric => (
            "kg/100 m2 = kg caught ÷ m² × 100",
            format!("{weight} ÷ {} × 100", put(course.square_metres())),
        ),
    };
    let step = Step {
        formula: formula.into(),
        numbers,
        result: told(rate, &[unit]),
        source: UMASS.into(),
    };
    Ok(Worked::new(rate, step))
}

/// How far a rate is off a wanted one, and whether that is accepted (±5 %).
///
/// # Errors
///
/// A wanted rate of nothing, or by volume.
pub fn check_spreader(
    rate: Rate,
    wanted: Rate,
    units: UnitSystem,
) -> Result<Worked<SpreaderCheck>, CalibrateError> {
    weight_of("the rate", rate)?;
    some("the wanted rate", weight_of("the wanted rate", wanted)?)?;
    let ratio = rate.over(wanted).ok_or(CalibrateError::Nothing { what: "the wanted rate" })?;
    let check = SpreaderCheck {
        percent_off: (ratio - 1.0) * 100.0,
        least: wanted.times(1.0 - RATE_TOLERANCE),
        most: wanted.times(1.0 + RATE_TOLERANCE),
        // The limits themselves are accepted, whatever rounding does.
        accepted: (ratio - 1.0).abs() <= RATE_TOLERANCE + 1e-12,
    };
    let unit = spread_rate_unit(units);
    let step = Step {
        formula: "percent off = (rate ÷ wanted rate − 1) × 100".into(),
        numbers: format!("({} ÷ {} − 1) × 100", told(rate, &[unit]), told(wanted, &[unit])),
        result: format!(
            "{} %; accepted is {} to {}",
            significant(check.percent_off, 3),
            told(check.least, &[unit]),
            told(check.most, &[unit])
        ),
        source: UMASS.into(),
    };
    let mut worked = Worked::new(check, step);
    if !check.accepted {
        let way = if check.percent_off > 0.0 { "down" } else { "up" };
        worked.remarks.push(format!("beyond ±5 %: set it {way} and catch again ({UMASS})"));
    }
    Ok(worked)
}

/// The rate of each of two passes, at right angles, that make up a wanted rate.
///
/// # Errors
///
/// A wanted rate of nothing, or by volume.
pub fn half_rate(wanted: Rate, units: UnitSystem) -> Result<Worked<Rate>, CalibrateError> {
    some("the wanted rate", weight_of("the wanted rate", wanted)?)?;
    let half = wanted.times(0.5);
    let unit = spread_rate_unit(units);
    let step = Step {
        formula: "rate of each pass = wanted rate ÷ 2".into(),
        numbers: format!("{} ÷ 2", told(wanted, &[unit])),
        result: told(half, &[unit]),
        source: "two passes at right angles: common practice, no source".into(),
    };
    Ok(Worked::new(half, step))
}

/// The setting for a wanted rate, on the straight line between its neighbors in the user's table.
///
/// # Errors
///
/// Fewer than two rows, a setting twice, rates that rise and fall, a rate by volume, a wanted
/// rate outside of what was caught.
pub fn setting_for(
    table: &[SpreaderSetting],
    wanted: Rate,
    units: UnitSystem,
) -> Result<Worked<f64>, CalibrateError> {
    let rows = sorted(table)?;
    let goal = weight_of("the wanted rate", wanted)?;
    some("the wanted rate", goal)?;
    let unit = spread_rate_unit(units);
    let between = rows.iter().zip(rows.iter().skip(1)).find(|(low, high)| {
        let (first, second) = (low.1.min(high.1), low.1.max(high.1));
        (first..=second).contains(&goal)
    });
    let Some(((low, low_rate), (high, high_rate))) = between else {
        return Err(outside(table, wanted, units));
    };
    let setting = low + (high - low) * (goal - low_rate) / (high_rate - low_rate);
    let told_of = |grams: f64| {
        let mass = Mass::from_grams(grams).unwrap_or_default();
        Rate::of(Amount::Mass(mass), AreaUnit::SquareMetre.area())
            .and_then(|rate| rate.in_unit(unit))
            .map_or_else(String::new, put)
    };
    let step = Step {
        formula: "setting = s1 + (s2 − s1) × (wanted − r1) ÷ (r2 − r1)".into(),
        numbers: format!(
            "{} + ({} − {}) × ({} − {}) ÷ ({} − {})",
            put(*low),
            put(*high),
            put(*low),
            told_of(goal),
            told_of(*low_rate),
            told_of(*high_rate),
            told_of(*low_rate)
        ),
        result: format!("setting {}", put(setting)),
        source: "straight line between two catches of your own".into(),
    };
    let mut worked = Worked::new(setting, step);
    worked.remarks.push(
        "a setting between two catches is a start: catch again at it (common practice, no source)"
            .to_owned(),
    );
    Ok(worked)
}

/// Settings with grams per square metre, by setting; rates only rise or only fall.
fn sorted(table: &[SpreaderSetting]) -> Result<Vec<(f64, f64)>, CalibrateError> {
    if table.len() < 2 {
        let rows = if table.is_empty() { "no rows" } else { "one row" };
        return Err(CalibrateError::TooFewSettings { rows: rows.to_owned() });
    }
    let mut rows = Vec::with_capacity(table.len());
    for SpreaderSetting { setting, rate } in table {
        if !setting.is_finite() || *setting < 0.0 {
            return Err(CalibrateError::NotASetting { setting: setting.to_string() });
        }
        rows.push((*setting, weight_of("a rate in the table", *rate)?));
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rises = rows.last().map(|row| row.1) > rows.first().map(|row| row.1);
    for (low, high) in rows.iter().zip(rows.iter().skip(1)) {
        if low.0 == high.0 {
            return Err(CalibrateError::SettingTwice { setting: put(low.0) });
        }
        let turns = match (high.1 > low.1, high.1 < low.1) {
            (true, _) if rises => continue,
            (_, true) if !rises => continue,
            (true, _) => "rises",
            (_, true) => "falls",
            _ => "stays",
        };
        let (first, second) = (put(low.0), put(high.0));
        return Err(CalibrateError::NotMonotone { turns, first, second });
    }
    Ok(rows)
}

fn outside(table: &[SpreaderSetting], wanted: Rate, units: UnitSystem) -> CalibrateError {
    let unit = spread_rate_unit(units);
    let rates = || table.iter().filter_map(|row| row.rate.in_unit(unit));
    let told_of = |value: f64| format!("{} {unit}", put(value));
    CalibrateError::OutsideTable {
        wanted: told(wanted, &[unit]),
        least: told_of(rates().fold(f64::INFINITY, f64::min)),
        most: told_of(rates().fold(0.0, f64::max)),
    }
}

/// Grams per square metre.
fn weight_of(what: &'static str, rate: Rate) -> Result<f64, CalibrateError> {
    match rate.on(AreaUnit::SquareMetre.area()) {
        Amount::Mass(mass) => Ok(mass.grams()),
        Amount::Volume(_) => Err(CalibrateError::NotAWeight { what, such_as: "5 lb/1000 sq ft" }),
    }
}
