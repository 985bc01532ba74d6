//! Why files stand beside a picture: they say where on the Earth it lies, so that another map
//! program opens the spray map over an aerial picture without being told anything.

use turfplat_sheet::Placement;

use crate::plan::PropertyPlan;

/// What says where a picture lies, to be written beside it under its name.
#[derive(Clone, Debug, PartialEq)]
pub struct InPlace {
    /// For `.pgw`: size of a dot and the middle of the upper left one, in metres, six numbers a line
    /// each. Source: Esri, "World files for raster datasets".
    pub world_file: String,
    /// For `.prj`: the plane as well-known text of the first kind, as Esri writes it (OGC 01-009).
    /// `None` of a map on a plane of its own, which lies nowhere on the Earth that anybody has said.
    pub prj: Option<String>,
    /// For `.png.aux.xml`: the same plane for programs that read no `.prj` beside a picture.
    /// Source: GDAL, "PAM .aux.xml format"; `None` together with `prj`.
    pub aux: Option<String>,
}

/// Where a sheet's picture lies.
///
/// * Out: metres of the property's plane; of a map on a plane of its own the map's coordinates in
///   metres.
/// * Accuracy: that of the drawing, far less than a dot.
pub fn in_place(plan: &PropertyPlan<'_>, placement: Placement) -> InPlace {
    let Placement { metres_per_dot, east, north } = placement;
    let on_plane = geo::Coord { x: east, y: north };
    let corner = match plan.site.centre {
        Some(_) => on_plane,
        // The plane only moved the map's own coordinates.
        None => plan.site.plane.lift(on_plane),
    };
    let world_file =
        format!("{metres_per_dot}\n0\n0\n-{metres_per_dot}\n{}\n{}\n", corner.x, corner.y);
    let prj = plan.site.centre.map(|centre| {
        format!(
            r#"PROJCS["property_plane",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Azimuthal_Equal_Area"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",{}],PARAMETER["Latitude_Of_Origin",{}],UNIT["Meter",1.0]]"#,
            centre.x, centre.y
        )
    });
    let aux = prj.as_ref().map(|prj| {
        format!("<PAMDataset>\n  <SRS>{}</SRS>\n</PAMDataset>\n", prj.replace('"', "&quot;"))
    });
    InPlace { world_file, prj, aux }
}
