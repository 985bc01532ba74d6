//! The way back: from degrees to the coordinates of a system, for what is laid under a map.

use geo_types::Coord;

use crate::crs::{CoordinateSystem, Frame};

/// From longitude and latitude on WGS 84 to the coordinates of a system. Belongs to one thread.
pub struct ToSystem {
    name: String,
    metres_per_unit: Option<f64>,
    way: Way,
}

enum Way {
    Degrees,
    #[cfg(feature = "proj")]
    Projected(proj::Proj),
}

/// A system that cannot be used, and what to say instead.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("coordinate system {name}: {reason}")]
pub struct UnknownSystem {
    /// What the system was called.
    pub name: String,
    /// Why it cannot be used, with the change to make.
    pub reason: String,
}

impl ToSystem {
    /// The way to a system, by its code, such as `EPSG:26848`, or by well-known text.
    ///
    /// # Errors
    ///
    /// [`UnknownSystem`], for what is no system of two coordinates on the earth.
    pub fn of(definition: &str) -> Result<ToSystem, UnknownSystem> {
        let asked = CoordinateSystem::Code(definition.to_owned());
        let frame = Frame::choose(&asked, None)
            .map_err(|unknown| UnknownSystem { name: unknown.crs, reason: unknown.reason })?;
        let Some(system) = frame.system() else {
            let name = "longitude and latitude".to_owned();
            return Ok(ToSystem { name, metres_per_unit: None, way: Way::Degrees });
        };
        let (name, metres_per_unit) = (system.name.clone(), system.metres_per_unit);
        #[cfg(feature = "proj")]
        {
            let way = proj::Proj::new_known_crs("EPSG:4326", &system.definition, None);
            let way = way.map_err(|error| UnknownSystem {
                name: name.clone(),
                reason: format!(
                    "PROJ knows no way to it ({error}); name another with --crs EPSG:n"
                ),
            })?;
            Ok(ToSystem { name, metres_per_unit, way: Way::Projected(way) })
        }
        #[cfg(not(feature = "proj"))]
        Ok(ToSystem { name, metres_per_unit, way: Way::Degrees })
    }

    /// What the system is called: its code, or the name in its text.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Meters in one unit of its coordinates; `None` of degrees.
    pub fn metres_per_unit(&self) -> Option<f64> {
        self.metres_per_unit
    }

    /// The coordinates of a place in degrees, x or longitude first; `None` where it has none.
    pub fn place(&self, degrees: Coord<f64>) -> Option<Coord<f64>> {
        match &self.way {
            Way::Degrees => Some(degrees),
            #[cfg(feature = "proj")]
            Way::Projected(way) => {
                let (x, y) = way.convert((degrees.x, degrees.y)).ok()?;
                Some(Coord { x, y }).filter(|place| place.x.is_finite() && place.y.is_finite())
            }
        }
    }
}
