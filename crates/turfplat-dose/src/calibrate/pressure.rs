//! Why pressure is a poor throttle: flow grows with its square root, so twice the flow takes
//! four times the pressure, and drops and pattern change long before.

use turfplat_units::{Flow, Pressure, UnitSystem, significant};

use super::{CalibrateError, Step, Worked, put, some};

const SOURCE: &str =
    "flow ∝ √pressure: nozzle chart in a utility-sprayer manual; Missouri Extension G1270A";

/// Beyond this change of flow another nozzle is the better means.
/// Common practice, no source: no published limit was found.
const SMALL_CHANGE_OF_FLOW: f64 = 0.25;

/// The flow of the same nozzle at another pressure.
///
/// # Errors
///
/// A flow or pressure of nothing.
pub fn flow_at_pressure(
    flow: Flow,
    at: Pressure,
    wanted: Pressure,
    units: UnitSystem,
) -> Result<Worked<Flow>, CalibrateError> {
    some("the flow", flow.millilitres_per_minute())?;
    some("the pressure", at.pascals())?;
    some("the wanted pressure", wanted.pascals())?;
    let factor = (wanted.pascals() / at.pascals()).sqrt();
    let found = Flow::from_millilitres_per_minute(flow.millilitres_per_minute() * factor)
        .ok_or(CalibrateError::TooLarge { what: "the flow" })?;
    let step = Step {
        formula: "flow = flow × √(wanted pressure ÷ pressure)".into(),
        numbers: format!(
            "{} × √({} ÷ {})",
            put(in_units(flow, units)),
            put(of(wanted, units)),
            put(of(at, units))
        ),
        result: found.print(units),
        source: SOURCE.into(),
    };
    Ok(warned(Worked::new(found, step), factor))
}

/// The pressure at which the same nozzle gives a wanted flow.
///
/// # Errors
///
/// A flow or pressure of nothing.
pub fn pressure_for_flow(
    flow: Flow,
    at: Pressure,
    wanted: Flow,
    units: UnitSystem,
) -> Result<Worked<Pressure>, CalibrateError> {
    some("the flow", flow.millilitres_per_minute())?;
    some("the pressure", at.pascals())?;
    some("the wanted flow", wanted.millilitres_per_minute())?;
    let factor = wanted.millilitres_per_minute() / flow.millilitres_per_minute();
    let found = Pressure::from_pascals(at.pascals() * factor * factor)
        .ok_or(CalibrateError::TooLarge { what: "the pressure" })?;
    let step = Step {
        formula: "pressure = pressure × (wanted flow ÷ flow)²".into(),
        numbers: format!(
            "{} × ({} ÷ {})²",
            put(of(at, units)),
            put(in_units(wanted, units)),
            put(in_units(flow, units))
        ),
        result: found.print(units),
        source: SOURCE.into(),
    };
    Ok(warned(Worked::new(found, step), factor))
}

fn warned<T>(mut worked: Worked<T>, factor: f64) -> Worked<T> {
    // A hair above, so that 25 % itself is no matter of rounding.
    if (factor - 1.0).abs() > SMALL_CHANGE_OF_FLOW + 1e-9 {
        worked.remarks.push(format!(
            "the flow changes by {} %: beyond ±25 % change the nozzle instead, for drops and pattern change with the pressure (common practice, no source); keep within the pressures of the nozzle's own chart",
            significant((factor - 1.0) * 100.0, 2)
        ));
    }
    worked
}

fn in_units(flow: Flow, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => flow.gallons_per_minute(),
        UnitSystem::Metric => flow.litres_per_minute(),
    }
}

fn of(pressure: Pressure, units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => pressure.psi(),
        UnitSystem::Metric => pressure.bar(),
    }
}
