//! What was measured as layers for other map programs: what is left of the zones, the strips that
//! are kept free, and the places of what should be seen.

use geo::Geometry;
use serde_json::Value;
use turfplat_map::{Column, Form, Holds, Row, Table};
use turfplat_measure::grown_outline;

use crate::plat::Plat;
use crate::setbacks::kept_from;
use crate::site::Laid;

const fn text(name: &'static str) -> Column {
    Column { name, holds: Holds::Text }
}

const fn number(name: &'static str) -> Column {
    Column { name, holds: Holds::Number }
}

/// The layers `zones`, `setbacks` and `findings`, still empty.
pub fn export_layers() -> [Table; 3] {
    let table = |name, form, columns: &[Column]| Table {
        name,
        form,
        columns: columns.to_vec(),
        rows: Vec::new(),
    };
    [
        table(
            "zones",
            Form::Polygons,
            &[
                text("property"),
                text("name"),
                text("species"),
                number("gross_m2"),
                number("net_m2"),
                number("outline_m"),
            ],
        ),
        table(
            "setbacks",
            Form::Polygons,
            &[text("property"), text("kind"), text("name"), number("distance_m"), text("rule")],
        ),
        table(
            "findings",
            Form::Points,
            &[text("property"), text("code"), text("feature"), text("message"), number("area_m2")],
        ),
    ]
}

impl Plat {
    /// Adds what was measured to the layers of [`export_layers`], in degrees of WGS 84. Outlines err
    /// towards less turf by up to 5 mm; the areas beside them are exact.
    pub fn add_to_layers(&self, [zones, setbacks, findings]: &mut [Table; 3]) {
        zones.rows.extend(self.zones.iter().enumerate().filter_map(|(index, zone)| {
            let shape = self.outline(index).lifted(&self.site.plane);
            let values = vec![
                self.property.clone().into(),
                zone.name.clone().into(),
                zone.species.join(", ").into(),
                zone.gross.square_metres().into(),
                zone.net.square_metres().into(),
                zone.perimeter.metres().into(),
            ];
            (!shape.0.is_empty()).then(|| Row { shape: Geometry::MultiPolygon(shape), values })
        }));
        setbacks.rows.extend(self.site.features.iter().zip(&self.setbacks).filter_map(
            |(laid, setback)| {
                let setback = setback.as_ref()?;
                let by = kept_from(&laid.feature, setback.distance);
                let shape = grown_outline(&laid.shape, by).lifted(&self.site.plane);
                let values = vec![
                    self.property.clone().into(),
                    laid.feature.kind.name().into(),
                    laid.feature.name.clone().into(),
                    by.metres().into(),
                    setback.rule.clone().into(),
                ];
                (!shape.0.is_empty()).then(|| Row { shape: Geometry::MultiPolygon(shape), values })
            },
        ));
        findings.rows.extend(self.findings.iter().filter_map(|finding| {
            let values: Vec<Value> = vec![
                self.property.clone().into(),
                finding.code.into(),
                finding.feature.clone().into(),
                finding.message.clone().into(),
                finding.area_m2.into(),
            ];
            let all = || self.site.zones.iter().chain(&self.site.features);
            let is_it = |laid: &&Laid| laid.feature.at.to_string() == finding.feature;
            // What is said of something that is not near any lawn is shown on the first one.
            let laid = all().find(is_it).or_else(|| all().next())?;
            let place = self.site.plane.lift(*laid.shape.points().first()?);
            Some(Row { shape: Geometry::Point(place.into()), values })
        }));
    }
}
