use geo_types::{Coord, LineString, Polygon};
use geojson::{GeometryValue, Position};

use crate::crs::ToFrame;
use crate::error::MapError;
use crate::feature::{FeatureRef, Outline};

/// Takes a geometry apart into points, lines and polygons in the map's frame.
pub(crate) struct OutlineReader<'a> {
    pub(crate) at: &'a FeatureRef,
    pub(crate) to_frame: &'a ToFrame,
    pub(crate) outline: &'a mut Outline,
    pub(crate) remarks: &'a mut Vec<(&'static str, String)>,
}

impl OutlineReader<'_> {
    /// Adds a geometry to the outline; collections are taken apart.
    pub(crate) fn take(&mut self, geometry: GeometryValue, depth: usize) -> Result<(), MapError> {
        match geometry {
            GeometryValue::Point { coordinates } => self.point(&coordinates)?,
            GeometryValue::MultiPoint { coordinates } => {
                coordinates.iter().try_for_each(|position| self.point(position))?;
            }
            GeometryValue::LineString { coordinates } => self.line(&coordinates)?,
            GeometryValue::MultiLineString { coordinates } => {
                coordinates.iter().try_for_each(|line| self.line(line))?;
            }
            GeometryValue::Polygon { coordinates } => self.polygon(&coordinates)?,
            GeometryValue::MultiPolygon { coordinates } => {
                coordinates.iter().try_for_each(|rings| self.polygon(rings))?;
            }
            GeometryValue::GeometryCollection { geometries } => {
                if depth > 32 {
                    return Err(self.bad("collections inside collections, more than 32 deep"));
                }
                geometries
                    .into_iter()
                    .try_for_each(|geometry| self.take(geometry.value, depth + 1))?;
            }
        }
        Ok(())
    }

    fn bad(&self, reason: &str) -> MapError {
        MapError::BadGeometry { at: self.at.clone(), reason: reason.into() }
    }

    fn point(&mut self, position: &Position) -> Result<(), MapError> {
        // An empty position is how some programs write an empty point.
        if !position.is_empty() {
            let place = self.coordinate(position)?;
            self.outline.points.push(place);
        }
        Ok(())
    }

    fn line(&mut self, positions: &[Position]) -> Result<(), MapError> {
        let places = self.coordinates(positions)?;
        if !places.is_empty() {
            self.outline.lines.push(LineString(places));
        }
        Ok(())
    }

    fn polygon(&mut self, rings: &[Vec<Position>]) -> Result<(), MapError> {
        let mut closed = Vec::with_capacity(rings.len());
        for ring in rings {
            let mut places = self.coordinates(ring)?;
            if let (Some(&first), Some(&last)) = (places.first(), places.last())
                && first != last
            {
                places.push(first);
                self.remarks.push((
                    "ring-closed",
                    "ring did not end where it starts; closed by a straight edge".into(),
                ));
            }
            closed.push(LineString(places));
        }
        let mut rings = closed.into_iter().filter(|ring| !ring.0.is_empty());
        if let Some(shell) = rings.next() {
            self.outline.polygons.push(Polygon::new(shell, rings.collect()));
        }
        Ok(())
    }

    fn coordinates(&mut self, positions: &[Position]) -> Result<Vec<Coord<f64>>, MapError> {
        positions.iter().map(|position| self.coordinate(position)).collect()
    }

    fn coordinate(&mut self, position: &Position) -> Result<Coord<f64>, MapError> {
        let &[x, y, ref rest @ ..] = position.as_slice() else {
            return Err(self.bad("a position has fewer than two numbers"));
        };
        if !rest.is_empty() && !self.remarks.iter().any(|(code, _)| *code == "height-ignored") {
            self.remarks.push((
                "height-ignored",
                "carries heights; areas and distances are taken on the level".into(),
            ));
        }
        if !x.is_finite() || !y.is_finite() {
            return Err(self.bad("a coordinate is infinite or not a number"));
        }
        let place = self.to_frame.bring(Coord { x, y }).map_err(|(crs, reason)| {
            MapError::NotPlaced { at: self.at.clone(), x, y, crs, reason }
        })?;
        if self.to_frame.is_degrees() { self.plausible(place) } else { self.on_plane(place) }
    }

    fn plausible(&self, Coord { x, y }: Coord<f64>) -> Result<Coord<f64>, MapError> {
        let at = || self.at.clone();
        if x.abs() > 180.0 + 1e-9 && (x.abs() > 360.0 || y.abs() > 90.0) {
            return Err(MapError::NotDegrees { at: at(), x, y });
        }
        if y.abs() > 180.0 {
            return Err(MapError::NotDegrees { at: at(), x, y });
        }
        if y.abs() > 90.0 {
            return Err(MapError::LatitudeOutOfRange { at: at(), latitude: y });
        }
        if y < -60.0 {
            return Err(MapError::Antarctic { at: at(), longitude: x, latitude: y });
        }
        Ok(Coord { x, y })
    }

    fn on_plane(&self, place: Coord<f64>) -> Result<Coord<f64>, MapError> {
        // Beyond this a double no longer tells a tenth of a millimetre apart.
        if place.x.abs() > 1e11 || place.y.abs() > 1e11 {
            return Err(self.bad("a coordinate is beyond 1e11 m"));
        }
        Ok(place)
    }
}
