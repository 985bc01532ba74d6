//! What a map shows of a site whatever it is for: an order and a quote must not draw one pond in two
//! ways.

use geo::{Coord, MultiLineString, MultiPolygon};
use turfplat_dose::Setback;
use turfplat_map::Kind;
use turfplat_measure::{Shape, grown_outline};
use turfplat_sheet as sheet;
use turfplat_units::{Length, UnitSystem};

use crate::setback_words::distance_and_position;
use crate::setbacks::{kept_from, position_error};
use crate::site::{Laid, Site};
use crate::wind::Drift;

/// A stream that is only a line is drawn this wide, so that it can be seen.
const THIN_LINE_METRES: f64 = 0.15;

/// An outline as it was drawn.
pub(crate) fn as_drawn(shape: &Shape) -> MultiPolygon<f64> {
    grown_outline(shape, Length::ZERO).polygons().clone()
}

/// What is not turf.
pub(crate) fn features(site: &Site) -> Vec<sheet::Feature> {
    site.features.iter().filter_map(|laid| feature(site, laid)).collect()
}

/// Points with a symbol.
pub(crate) fn marks(site: &Site) -> Vec<sheet::Mark> {
    site.features.iter().flat_map(|laid| marks_of(site, laid)).collect()
}

/// The lot line; empty where none is drawn.
pub(crate) fn lot(site: &Site) -> MultiPolygon<f64> {
    site.lot.as_ref().map_or_else(|| MultiPolygon(Vec::new()), as_drawn)
}

/// True of what belongs to another property; common ground belongs to nobody.
fn is_neighbours(site: &Site, laid: &Laid) -> bool {
    let own = site.zones.first().and_then(|zone| zone.feature.property.as_ref());
    laid.feature.property.is_some() && laid.feature.property.as_ref() != own
}

/// Lots of other properties that touch the box of the turf. One that nobody can lay is left out:
/// it is a picture's background.
pub(crate) fn neighbour_lots(site: &Site) -> MultiPolygon<f64> {
    let lots = site.neighbour_lots.iter();
    let laid = lots.filter_map(|lot| Laid::on(&site.plane, lot.clone()).ok());
    MultiPolygon(laid.flat_map(|laid| as_drawn(&laid.shape)).collect())
}

fn feature(site: &Site, laid: &Laid) -> Option<sheet::Feature> {
    let kind = match laid.feature.kind {
        Kind::Building => sheet::Kind::Building,
        Kind::Hardscape => sheet::Kind::Hardscape,
        Kind::Water => sheet::Kind::Water,
        Kind::Bed => sheet::Kind::Bed,
        Kind::Garden => sheet::Kind::Garden,
        Kind::Play => sheet::Kind::Play,
        Kind::Apiary => sheet::Kind::Apiary,
        Kind::KeepOut => sheet::Kind::KeepOut,
        Kind::Drain => sheet::Kind::Drain,
        Kind::VegStrip => sheet::Kind::VegStrip,
        Kind::Turf | Kind::Well | Kind::MixSite | Kind::Parcel => return None,
    };
    let mut shape = as_drawn(&laid.shape);
    if shape.0.is_empty() && !laid.feature.outline.lines.is_empty() {
        let thin = Length::from_metres(THIN_LINE_METRES).unwrap_or_default();
        shape = grown_outline(&laid.shape, thin).polygons().clone();
    }
    // A name that was made up for want of one is no news on paper.
    let name = if laid.feature.is_named { laid.feature.name.clone() } else { String::new() };
    let is_neighbours = is_neighbours(site, laid);
    (!shape.0.is_empty()).then_some(sheet::Feature { kind, name, shape, is_neighbours })
}

fn marks_of<'l>(site: &Site, laid: &'l Laid) -> impl Iterator<Item = sheet::Mark> + use<'l> {
    let is_neighbours = is_neighbours(site, laid);
    let kind = match laid.feature.kind {
        Kind::Well => Some(sheet::MarkKind::Well),
        Kind::Drain => Some(sheet::MarkKind::Drain),
        Kind::Apiary => Some(sheet::MarkKind::Apiary),
        Kind::MixSite => Some(sheet::MarkKind::MixSite),
        _ => None,
    };
    let places = kind.map(|kind| {
        let mark = move |Coord { x, y }: Coord<f64>| sheet::Mark {
            kind,
            name: laid.feature.name.clone(),
            x,
            y,
            is_neighbours,
        };
        laid.shape.points().into_iter().map(mark)
    });
    places.into_iter().flatten()
}

/// The strips from which a distance is kept.
pub(crate) fn strips(
    site: &Site,
    setbacks: &[Option<Setback>],
    units: UnitSystem,
) -> Vec<sheet::Strip> {
    let strips = site.features.iter().zip(setbacks).filter_map(|(laid, setback)| {
        let setback = setback.as_ref().filter(|setback| setback.distance > Length::ZERO)?;
        let off = position_error(&laid.feature);
        let distance = distance_and_position(setback.distance, off, units);
        let kept = kept_from(&laid.feature, setback.distance);
        let shape = grown_outline(&laid.shape, kept).polygons().clone();
        let to = laid.feature.kind.name().to_owned();
        let edge = edge_of(&laid.shape);
        Some(sheet::Strip { to, distance, metres: kept.metres(), edge, shape, wind: None })
    });
    strips.collect()
}

/// From where a distance is kept: the rings of what was drawn, a line with as little breadth as
/// can be laid, or points.
fn edge_of(shape: &Shape) -> MultiLineString<f64> {
    let mut ground = as_drawn(shape);
    if ground.0.is_empty() {
        let hair = Length::from_metres(0.001).unwrap_or_default();
        let points: Vec<_> = shape.points().into_iter().map(|at| vec![at].into()).collect();
        if !points.is_empty() {
            return MultiLineString(points);
        }
        ground = grown_outline(shape, hair).polygons().clone();
    }
    MultiLineString(ground.iter().map(|polygon| polygon.exterior().clone()).collect())
}

/// The ground from which spray would drift, in the wind of the hour.
pub(crate) fn drift_strips(
    site: &Site,
    drifts: &[Option<Drift>],
    units: UnitSystem,
) -> Vec<sheet::Strip> {
    let strips = site.features.iter().zip(drifts).filter_map(|(laid, drift)| {
        let drift = drift.as_ref()?;
        let off = position_error(&laid.feature);
        let wind = drift.from.map_or(sheet::Wind::Light, |it| sheet::Wind::From {
            point: it.point().to_owned(),
            degrees: it.degrees(),
        });
        let shape = grown_outline(&laid.shape, drift.kept_from(&laid.feature)).polygons().clone();
        Some(sheet::Strip {
            to: laid.feature.kind.name().to_owned(),
            distance: distance_and_position(drift.distance, off, units),
            // As wide as that where it faces the wind, narrower elsewhere.
            metres: kept_from(&laid.feature, drift.distance).metres(),
            edge: edge_of(&laid.shape),
            shape,
            wind: Some(wind),
        })
    });
    strips.collect()
}
