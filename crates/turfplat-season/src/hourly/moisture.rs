//! Why moisture is worked out here: a service gives the dew point, another the humidity, and the
//! difference of dry and wet bulb hangs on both. The formulas are approximations, and each says how
//! far it is off.

use super::celsius::Celsius;

/// Coefficients of the vapor pressure of water over a plane of it. Source: Bolton (1980), "The
/// computation of equivalent potential temperature", Mon. Wea. Rev. 108, eq. 10; within 0.3 % of the
/// tables from −35 to 35 °C.
const STEEPNESS: f64 = 17.67;
const SHIFT: f64 = 243.5;

/// The exponent of the vapor pressure at a temperature.
fn exponent(temperature: Celsius) -> f64 {
    STEEPNESS * temperature.degrees() / (temperature.degrees() + SHIFT)
}

/// The relative humidity, as a share from 0 to 1, of air of that temperature and dew point.
///
/// * A dew point above the temperature, as rounding brings about, is air that is full.
/// * Source: Bolton (1980), eq. 10.
pub fn relative_humidity(temperature: Celsius, dew_point: Celsius) -> f64 {
    (exponent(dew_point) - exponent(temperature)).exp().min(1.0)
}

/// The dew point of air of that temperature and relative humidity, a share from 0 to 1; `None` of air
/// without any moisture.
///
/// * Source: Bolton (1980), eq. 11, the inverse of eq. 10.
pub fn dew_point(temperature: Celsius, humidity: f64) -> Option<Celsius> {
    let exponent = exponent(temperature) + humidity.min(1.0).ln();
    Celsius::new(SHIFT * exponent / (STEEPNESS - exponent))
}

/// What a wet bulb shows in air of that temperature and relative humidity, a share from 0 to 1.
///
/// * Accuracy: −1 to +0.65 °C, on average within 0.3 °C, near sea level.
/// * `None` beyond what it was fitted to, −20 to 50 °C and 5 to 99 %; air that is fuller is taken for
///   99 %, where the two bulbs are within a tenth or two of each other.
/// * Source: Stull (2011), J. Appl. Meteor. Climatol. 50, 2267–2269, eq. 1.
pub fn wet_bulb(temperature: Celsius, humidity: f64) -> Option<Celsius> {
    let (t, percent) = (temperature.degrees(), (humidity * 100.0).min(99.0));
    if !(-20.0..=50.0).contains(&t) || percent < 5.0 {
        return None;
    }
    Celsius::new(
        t * (0.151_977 * (percent + 8.313_659).sqrt()).atan() + (t + percent).atan()
            - (percent - 1.676_331).atan()
            + 0.003_918_38 * percent.powf(1.5) * (0.023_101 * percent).atan()
            - 4.686_035,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn celsius(degrees: f64) -> Celsius {
        Celsius::new(degrees).expect("finite")
    }

    #[test]
    fn the_wet_bulb_is_that_of_the_paper() {
        #[rustfmt::skip]
        let table = [
            // °C, %, wet bulb °C, to how much, and where it is published
            (20.0, 50.0, 13.7,   0.05,   "Stull (2011), the paper's worked example"),
            (20.0, 50.0, 13.699, 0.0005, "eq. 1 worked out by hand, arctangents in radians"),
            (30.0, 50.0, 22.297, 0.0005, "the same"),
            (25.0, 60.0, 19.503, 0.0005, "the same"),
            (10.0, 90.0, 8.920,  0.0005, "the same"),
            (15.0, 80.0, 12.729, 0.0005, "the same"),
            (35.0, 20.0, 19.302, 0.0005, "the same"),
            (28.0, 40.0, 18.823, 0.0005, "the same"),
            // The psychrometer equation itself at 1013.25 hPa, A = 0.000665: another road to the
            // same, which the paper's error of 0.65 °C must span.
            (20.0, 50.0, 13.856, 0.65,   "psychrometer equation"),
            (30.0, 50.0, 22.083, 0.65,   "psychrometer equation"),
            (25.0, 60.0, 19.527, 0.65,   "psychrometer equation"),
            (10.0, 90.0, 9.168,  0.65,   "psychrometer equation"),
            (15.0, 80.0, 13.008, 0.65,   "psychrometer equation"),
            (35.0, 20.0, 19.041, 0.65,   "psychrometer equation"),
        ];
        for (t, percent, published, within, source) in table {
            let ours = wet_bulb(celsius(t), percent / 100.0).expect("in its range").degrees();
            let apart = (ours - published).abs();
            assert!(apart <= within, "{t} °C, {percent} %: {ours} ≠ {published}, {source}");
        }
        assert_eq!(wet_bulb(celsius(20.0), 0.04), None, "drier than it was fitted to");
        assert_eq!(wet_bulb(celsius(-21.0), 0.5), None, "colder than it was fitted to");
        let full = celsius(15.0).degrees() - wet_bulb(celsius(15.0), 1.0).expect("full").degrees();
        assert!((0.0..0.3).contains(&full), "{full}");
    }

    #[test]
    fn humidity_and_dew_point_are_each_others_inverse() {
        // Vapor pressures over water: 23.4 hPa at 20 °C and 12.3 hPa at 10 °C, so 52.5 %. Source:
        // Smithsonian Meteorological Tables, 6th ed., table 94 (from memory).
        let share = relative_humidity(celsius(20.0), celsius(10.0));
        assert!((share - 12.27 / 23.37).abs() < 0.002, "{share}");
        let back = dew_point(celsius(20.0), share).expect("moist").degrees();
        assert!((back - 10.0).abs() < 1e-9, "{back}");
        assert_eq!(relative_humidity(celsius(20.0), celsius(20.4)), 1.0);
        assert_eq!(dew_point(celsius(20.0), 0.0), None);
    }
}
