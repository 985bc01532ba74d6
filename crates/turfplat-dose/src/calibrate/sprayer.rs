//! Why the constants are derived: 5940 and 600 are exact, but 136, 75 and the like, which stand
//! on the same cards, are rounded. All are one sentence: volume per area is flow over the ground
//! that is passed in the same time, speed times width.

use turfplat_units::{
    Amount, AmountUnit, Area, AreaUnit, Flow, Length, Rate, Speed, Time, UnitSystem, Volume,
};

use super::{CalibrateError, Step, Worked, put, some, spray_volume_units, told};

const US_SOURCE: &str = "Missouri Extension G1270A; 5940 = 43,560 sq ft/A × 12 in/ft × 60 min/h ÷ 5,280 ft/mile, exact (5940 ÷ 43.56 = 136.36 for gal/1000 sq ft, which cards round to 136)";
const METRIC_SOURCE: &str =
    "farm-press formula sheet; 600 = 10,000 m²/ha × 60 min/h ÷ 1,000 m/km, exact";
const BY_RULE: &str = "1/128-acre rule: one fl oz is 1/128 gal, so fl oz caught on 1/128 acre are gal/A; exact on 340.3125 sq ft";
const BY_AREA: &str = "by area: volume ÷ area, 43,560 sq ft/A and 128 fl oz/gal (NIST Handbook 44, Appendix C), exact";

/// Of what a flow was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FlowOf {
    /// One nozzle.
    Nozzle(Flow),
    /// All nozzles together.
    All(Flow),
}

/// Of what a width was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WidthOf {
    /// From one nozzle to the next.
    Spacing(Length),
    /// The swath that the whole boom, or a hand gun, treats in one pass.
    Boom(Length),
}

/// Flow and width of the same: one nozzle and its spacing, or all and the boom.
///
/// # Errors
///
/// The flow of one nozzle with the width of a boom, or the other way round, and no number of
/// nozzles: that would be off by their number.
pub fn extent(
    flow: FlowOf,
    width: WidthOf,
    nozzles: Option<u32>,
) -> Result<(Flow, Length), CalibrateError> {
    let too_large = |what| move || CalibrateError::TooLarge { what };
    match (flow, width, nozzles) {
        (FlowOf::Nozzle(flow), WidthOf::Spacing(width), None)
        | (FlowOf::All(flow), WidthOf::Boom(width), None) => Ok((flow, width)),
        (FlowOf::Nozzle(flow), WidthOf::Boom(width), Some(count)) => {
            some("the number of nozzles", f64::from(count))?;
            let all = flow.millilitres_per_minute() * f64::from(count);
            let all = Flow::from_millilitres_per_minute(all);
            Ok((all.ok_or_else(too_large("the flow"))?, width))
        }
        (FlowOf::All(flow), WidthOf::Spacing(spacing), Some(count)) => {
            some("the number of nozzles", f64::from(count))?;
            let boom = Length::from_metres(spacing.metres() * f64::from(count));
            Ok((flow, boom.ok_or_else(too_large("the width"))?))
        }
        (FlowOf::Nozzle(_), WidthOf::Boom(_), None) => Err(CalibrateError::FlowOfOther {
            flow: "the flow of one nozzle",
            width: "the width of the whole boom",
        }),
        (FlowOf::All(_), WidthOf::Spacing(_), None) => Err(CalibrateError::FlowOfOther {
            flow: "the flow of all nozzles",
            width: "the spacing of two",
        }),
        (_, _, Some(_)) => Err(CalibrateError::NozzlesNotNeeded),
    }
}

/// The spray volume of a flow, a speed and the width that the flow covers.
///
/// # Errors
///
/// [`CalibrateError::Nothing`] where one of the three is nothing.
pub fn boom_volume(
    flow: Flow,
    speed: Speed,
    width: Length,
    units: UnitSystem,
) -> Result<Worked<Rate>, CalibrateError> {
    some("the flow", flow.millilitres_per_minute())?;
    let ground = ground_a_minute(speed, width)?;
    let rate = rate_of(flow.millilitres_per_minute(), ground)?;
    let (formula, numbers, source) = match units {
        UnitSystem::Us => (
            "gal/A = 5940 × gal/min ÷ (mph × in)",
            format!(
                "5940 × {} ÷ ({} × {})",
                put(flow.gallons_per_minute()),
                put(speed.mph()),
                put(width.inches())
            ),
            US_SOURCE,
        ),
        UnitSystem::Metric => (
            "L/ha = 600 × L/min ÷ (km/h × m)",
            format!(
                "600 × {} ÷ ({} × {})",
                put(flow.litres_per_minute()),
                put(speed.kilometres_per_hour()),
                put(width.metres())
            ),
            METRIC_SOURCE,
        ),
    };
    Ok(Worked::new(
        rate,
        Step {
            formula: formula.into(),
            numbers,
            result: volume_told(rate, units),
            source: source.into(),
        },
    ))
}

/// The flow for a wanted spray volume at a speed, over the width that it covers.
///
/// # Errors
///
/// A volume, speed or width of nothing; a rate by weight.
pub fn boom_flow(
    volume: Rate,
    speed: Speed,
    width: Length,
    units: UnitSystem,
) -> Result<Worked<Flow>, CalibrateError> {
    let per_square_metre = millilitres_per_square_metre(volume)?;
    let ground = ground_a_minute(speed, width)?;
    let flow = Flow::from_millilitres_per_minute(per_square_metre * ground.square_metres())
        .ok_or(CalibrateError::TooLarge { what: "the flow" })?;
    let (formula, numbers) = match units {
        UnitSystem::Us => (
            "gal/min = gal/A × mph × in ÷ 5940",
            format!(
                "{} × {} × {} ÷ 5940",
                per_large(volume, units),
                put(speed.mph()),
                put(width.inches())
            ),
        ),
        UnitSystem::Metric => (
            "L/min = L/ha × km/h × m ÷ 600",
            format!(
                "{} × {} × {} ÷ 600",
                per_large(volume, units),
                put(speed.kilometres_per_hour()),
                put(width.metres())
            ),
        ),
    };
    let step = Step {
        formula: formula.into(),
        numbers,
        result: flow.print(units),
        source: source(units).into(),
    };
    Ok(Worked::new(flow, step))
}

/// The speed for a wanted spray volume from a flow, over the width that it covers.
///
/// # Errors
///
/// A volume, flow or width of nothing; a rate by weight.
pub fn boom_speed(
    volume: Rate,
    flow: Flow,
    width: Length,
    units: UnitSystem,
) -> Result<Worked<Speed>, CalibrateError> {
    let metres = metres_a_minute(volume, flow, "the width", width.metres())?;
    let speed = Speed::from_metres_per_second(metres / Time::SECONDS_PER_MINUTE)
        .ok_or(CalibrateError::TooLarge { what: "the speed" })?;
    let (formula, numbers) = match units {
        UnitSystem::Us => (
            "mph = 5940 × gal/min ÷ (gal/A × in)",
            format!(
                "5940 × {} ÷ ({} × {})",
                put(flow.gallons_per_minute()),
                per_large(volume, units),
                put(width.inches())
            ),
        ),
        UnitSystem::Metric => (
            "km/h = 600 × L/min ÷ (L/ha × m)",
            format!(
                "600 × {} ÷ ({} × {})",
                put(flow.litres_per_minute()),
                per_large(volume, units),
                put(width.metres())
            ),
        ),
    };
    let step = Step {
        formula: formula.into(),
        numbers,
        result: speed.print(units),
        source: source(units).into(),
    };
    Ok(Worked::new(speed, step))
}

/// The width that a flow may cover at a speed for a wanted spray volume.
///
/// # Errors
///
/// A volume, flow or speed of nothing; a rate by weight.
pub fn boom_width(
    volume: Rate,
    flow: Flow,
    speed: Speed,
    units: UnitSystem,
) -> Result<Worked<Length>, CalibrateError> {
    let a_minute = speed.metres_per_second() * Time::SECONDS_PER_MINUTE;
    let width = Length::from_metres(metres_a_minute(volume, flow, "the speed", a_minute)?)
        .ok_or(CalibrateError::TooLarge { what: "the width" })?;
    let (formula, numbers, result) = match units {
        UnitSystem::Us => (
            "in = 5940 × gal/min ÷ (gal/A × mph)",
            format!(
                "5940 × {} ÷ ({} × {})",
                put(flow.gallons_per_minute()),
                per_large(volume, units),
                put(speed.mph())
            ),
            format!("{} in", put(width.inches())),
        ),
        UnitSystem::Metric => (
            "m = 600 × L/min ÷ (L/ha × km/h)",
            format!(
                "600 × {} ÷ ({} × {})",
                put(flow.litres_per_minute()),
                per_large(volume, units),
                put(speed.kilometres_per_hour())
            ),
            format!("{} m", put(width.metres())),
        ),
    };
    Ok(Worked::new(
        width,
        Step { formula: formula.into(), numbers, result, source: source(units).into() },
    ))
}

/// How far one nozzle treats 1/128 acre.
///
/// # Errors
///
/// A spacing of nothing.
pub fn catch_course(spacing: Length, units: UnitSystem) -> Result<Worked<Length>, CalibrateError> {
    some("the spacing", spacing.metres())?;
    let course = Length::from_metres(one_128th_acre().square_metres() / spacing.metres())
        .ok_or(CalibrateError::TooLarge { what: "the course" })?;
    let (numbers, result) = match units {
        UnitSystem::Us => {
            (format!("340.3125 ÷ {}", put(spacing.feet())), format!("{} ft", put(course.feet())))
        }
        UnitSystem::Metric => (
            format!("31.616066 ÷ {}", put(spacing.metres())),
            format!("{} m", put(course.metres())),
        ),
    };
    let formula = "course = 1/128 acre ÷ spacing";
    let source = "1/128-acre rule; 43,560 sq ft ÷ 128 = 340.3125 sq ft = 31.616066 m², exact (often printed as 340)";
    Ok(Worked::new(
        course,
        Step { formula: formula.into(), numbers, result, source: source.into() },
    ))
}

/// What was caught from a nozzle or a hand gun in the time that a course takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Catch {
    /// The ground that the nozzle or gun treats on the course.
    pub course: Area,
    /// How long that took.
    pub course_time: Time,
    /// How long was caught.
    pub catch_time: Time,
    /// How much was caught.
    pub caught: Volume,
}

/// Spray volume by area, and what the 1/128-acre rule reads off in its place.
///
/// The value is the one by area; the rule's is in the second step and, where it differs by
/// more than a tenth of a percent, in the remarks.
///
/// # Errors
///
/// A course, time or catch of nothing.
pub fn catch_volume(catch: &Catch, units: UnitSystem) -> Result<Worked<Rate>, CalibrateError> {
    some("the time on the course", catch.course_time.seconds())?;
    some("the time of the catch", catch.catch_time.seconds())?;
    let share = catch.course_time.seconds() / catch.catch_time.seconds();
    let on_course = Volume::from_millilitres(catch.caught.millilitres() * share)
        .ok_or(CalibrateError::TooLarge { what: "what was caught" })?;
    let mut worked = by_area("what was caught", on_course, catch.course, units)?;
    let ounces = Amount::Volume(on_course).in_unit(AmountUnit::FluidOunce).unwrap_or(0.0);
    if catch.course_time != catch.catch_time {
        let (course, caught) = (catch.course_time.seconds(), catch.catch_time.seconds());
        let whole = Amount::Volume(catch.caught).in_unit(AmountUnit::FluidOunce).unwrap_or(0.0);
        worked.steps.insert(
            0,
            Step {
                formula: "fl oz on the course = fl oz caught × s on the course ÷ s caught".into(),
                numbers: format!("{} × {} ÷ {}", put(whole), put(course), put(caught)),
                result: format!("{} fl oz", put(ounces)),
                source: "a nozzle at one pressure flows evenly".into(),
            },
        );
    }
    let rule = rate_of(on_course.millilitres(), one_128th_acre())?;
    worked.steps.push(Step {
        formula: "gal/A = fl oz caught on 1/128 acre".into(),
        numbers: put(ounces),
        result: volume_told(rule, units),
        source: BY_RULE.into(),
    });
    let off = rule.over(worked.value).map_or(0.0, |ratio| (ratio - 1.0) * 100.0);
    if off.abs() > 0.1 {
        let course = catch.course.print(units);
        worked.remarks.push(format!(
            "the course of {course} is not 1/128 acre: the rule is {} % {}; the figure by area counts",
            put_percent(off.abs()),
            if off > 0.0 { "above" } else { "below" },
        ));
    }
    Ok(worked)
}

/// Spray volume from what a measured course used up.
///
/// # Errors
///
/// A volume or area of nothing.
pub fn used_on_area(
    used: Volume,
    course: Area,
    units: UnitSystem,
) -> Result<Worked<Rate>, CalibrateError> {
    by_area("what was used", used, course, units)
}

/// The ground that a tank covers at a spray volume.
///
/// # Errors
///
/// A tank or volume of nothing; a rate by weight.
pub fn tank_covers(
    tank: Volume,
    spray: Rate,
    units: UnitSystem,
) -> Result<Worked<Area>, CalibrateError> {
    some("the tank", tank.millilitres())?;
    let covers = tank.millilitres() / millilitres_per_square_metre(spray)?;
    let covers = Area::from_square_metres(covers)
        .ok_or(CalibrateError::TooLarge { what: "the ground that a tank covers" })?;
    let [unit, _] = spray_volume_units(units);
    let tank_in = Amount::Volume(tank).in_unit(unit.amount).unwrap_or(0.0);
    let step = Step {
        formula: "a tank covers = tank ÷ spray volume".into(),
        numbers: format!("{} {} ÷ {}", put(tank_in), unit.amount.name(), told(spray, &[unit])),
        result: match units {
            UnitSystem::Us => format!("{} sq ft", put(covers.square_feet())),
            UnitSystem::Metric => format!("{} m²", put(covers.square_metres())),
        },
        source: "what spray volume means".into(),
    };
    Ok(Worked::new(covers, step))
}

/// How much product goes into a volume of spray, at a rate of product.
///
/// # Errors
///
/// A volume of nothing; a spray volume by weight.
pub fn in_a_tank(
    tank: Volume,
    product: Rate,
    spray: Rate,
    units: UnitSystem,
) -> Result<Worked<Amount>, CalibrateError> {
    let mut worked = tank_covers(tank, spray, units)?;
    let amount = product.on(worked.value);
    let (fine, large) = match (amount, units) {
        (Amount::Volume(_), UnitSystem::Us) => (AmountUnit::FluidOunce, AreaUnit::Acre),
        (Amount::Volume(_), UnitSystem::Metric) => (AmountUnit::Millilitre, AreaUnit::Hectare),
        (Amount::Mass(_), UnitSystem::Us) => (AmountUnit::WeightOunce, AreaUnit::Acre),
        (Amount::Mass(_), UnitSystem::Metric) => (AmountUnit::Gram, AreaUnit::Hectare),
    };
    let unit = turfplat_units::RateUnit { amount: fine, area: large };
    worked.steps.push(Step {
        formula: "product in a tank = rate × ground that the tank covers".into(),
        numbers: format!(
            "{} × {} {}",
            told(product, &[unit]),
            put(worked.value.square_metres() / large.area().square_metres()),
            large.name()
        ),
        result: format!("{} {}", put(amount.in_unit(fine).unwrap_or(0.0)), fine.name()),
        source: "what a rate means; the rate is the label's".into(),
    });
    Ok(Worked { value: amount, steps: worked.steps, remarks: worked.remarks })
}

fn by_area(
    what: &'static str,
    volume: Volume,
    course: Area,
    units: UnitSystem,
) -> Result<Worked<Rate>, CalibrateError> {
    some(what, volume.millilitres())?;
    some("the course", course.square_metres())?;
    let rate = rate_of(volume.millilitres(), course)?;
    let (formula, numbers) = match units {
        UnitSystem::Us => (
            "gal/A = gal ÷ sq ft × 43,560",
            format!(
                "{} ÷ {} × 43,560",
                put(volume.millilitres() / Volume::MILLILITRES_PER_GALLON),
                put(course.square_feet())
            ),
        ),
        UnitSystem::Metric => (
            "L/ha = L ÷ m² × 10,000",
            format!(
                "{} ÷ {} × 10,000",
                put(volume.millilitres() / 1000.0),
                put(course.square_metres())
            ),
        ),
    };
    let step = Step {
        formula: formula.into(),
        numbers,
        result: volume_told(rate, units),
        source: BY_AREA.into(),
    };
    Ok(Worked::new(rate, step))
}

/// The ground passed in a minute.
fn ground_a_minute(speed: Speed, width: Length) -> Result<Area, CalibrateError> {
    some("the speed", speed.metres_per_second())?;
    some("the width", width.metres())?;
    let metres = speed.metres_per_second() * Time::SECONDS_PER_MINUTE;
    let ground = Area::from_square_metres(metres * width.metres());
    ground.ok_or(CalibrateError::TooLarge { what: "the ground passed in a minute" })
}

/// What is left of flow ÷ volume once the other side of the ground is divided out.
fn metres_a_minute(
    volume: Rate,
    flow: Flow,
    what: &'static str,
    other_side: f64,
) -> Result<f64, CalibrateError> {
    some("the flow", flow.millilitres_per_minute())?;
    some(what, other_side)?;
    let per_square_metre = millilitres_per_square_metre(volume)?;
    Ok(flow.millilitres_per_minute() / per_square_metre / other_side)
}

fn rate_of(millilitres: f64, ground: Area) -> Result<Rate, CalibrateError> {
    Volume::from_millilitres(millilitres)
        .and_then(|volume| Rate::of(Amount::Volume(volume), ground))
        .ok_or(CalibrateError::TooLarge { what: "the spray volume" })
}

fn millilitres_per_square_metre(rate: Rate) -> Result<f64, CalibrateError> {
    match rate.on(AreaUnit::SquareMetre.area()) {
        Amount::Volume(volume) => {
            some("the spray volume", volume.millilitres())?;
            Ok(volume.millilitres())
        }
        Amount::Mass(_) => {
            Err(CalibrateError::NotAVolume { what: "the spray volume", such_as: "40 gal/A" })
        }
    }
}

fn one_128th_acre() -> Area {
    let acre = AreaUnit::Acre.area().square_metres();
    // A 128th of an acre is an area.
    Area::from_square_metres(acre / 128.0).unwrap_or_default()
}

fn volume_told(rate: Rate, units: UnitSystem) -> String {
    let [small, large] = spray_volume_units(units);
    told(rate, &[large, small])
}

/// A spray volume per acre or hectare, as the formulas take it.
fn per_large(rate: Rate, units: UnitSystem) -> String {
    let [_, large] = spray_volume_units(units);
    put(rate.in_unit(large).unwrap_or(0.0))
}

fn source(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Us => US_SOURCE,
        UnitSystem::Metric => METRIC_SOURCE,
    }
}

fn put_percent(value: f64) -> String {
    turfplat_units::significant(value, 2)
}
