//! Figures whose area is a line of school geometry. Sources of examples stand beside the tests.

use geo_types::Coord;

use super::Reason;
use super::fields::{Fields, of};
use super::figure::{Edge, Figure, Use};
use super::given::Given;
use super::ground::{self, Outline, Round, round};
use super::measure::{self, Unit};

/// As far as a map feature may have a radius, in metres.
const LONGEST_RADIUS: f64 = 10_000.0;

pub(super) fn rectangle(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["length", "width"])?;
    let (length, width) = (fields.needed("length")?, fields.needed("width")?);
    Ok(Figure::measured(Outline::rectangle(length, width), length * width))
}

/// By base and height or by three sides. Only sides, or where the height stands on the base, say
/// where the third corner is.
pub(super) fn triangle(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["base", "height", "foot", "a", "b", "c"])?;
    let has = |name| fields.get(name).is_some();
    match (has("base") || has("height") || has("foot"), has("a") || has("b") || has("c")) {
        (true, true) => {
            Err("triangle has a base or height and sides too; keep base and height, or a, b and c"
                .into())
        }
        (false, true) => by_sides(fields),
        (_, false) => by_height(fields),
    }
}

fn by_height(fields: &Fields<'_>) -> Result<Figure, Reason> {
    let (base, height) = (fields.needed("base")?, fields.needed("height")?);
    let foot = fields.signed("foot")?;
    let outline = corners([(0.0, 0.0), (base, 0.0), (foot.unwrap_or(base / 2.0), height)]);
    Ok(Figure { edge: by_foot(foot), ..Figure::measured(outline, base * height / 2.0) })
}

/// Where what stands opposite the base begins is known or not.
fn by_foot(foot: Option<f64>) -> Edge {
    const CURE: &str =
        "give foot = how far along the base, from its first corner, the opposite corner stands";
    foot.map_or(Edge::Unknown { cure: CURE }, |_| Edge::Measured)
}

fn by_sides(fields: &Fields<'_>) -> Result<Figure, Reason> {
    let (a, b, c) = (fields.needed("a")?, fields.needed("b")?, fields.needed("c")?);
    let mut sides = [a, b, c];
    sides.sort_by(f64::total_cmp);
    let [short, middle, long] = sides;
    // Heron's formula in the order of operations that loses no digits on slivers.
    // Source: Kahan, Miscalculating Area and Angles of a Needle-like Triangle (2014), section 2.
    let product = (long + (middle + short))
        * (short - (long - middle))
        * (short + (long - middle))
        * (long + (middle - short));
    // Less than a billionth of its length is what rounding of feet to metres leaves.
    if middle + short - long <= 1e-9 * long || product <= 0.0 {
        return Err("triangle a, b and c close no triangle: the longest side must be shorter than the other two together; measure them again".into());
    }
    let area = product.sqrt() / 4.0;
    // a lies on the base line, b goes on from its end, c comes back to its start.
    let along = ((a - b) * (a + b) + c * c) / (2.0 * a);
    let outline = corners([(0.0, 0.0), (a, 0.0), (along, 2.0 * area / a)]);
    Ok(Figure::measured(outline, area))
}

pub(super) fn trapezoid(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["a", "b", "height", "foot"])?;
    let (a, b, height) = (fields.needed("a")?, fields.needed("b")?, fields.needed("height")?);
    let foot = fields.signed("foot")?;
    let start = foot.unwrap_or((a - b) / 2.0);
    let outline = corners([(0.0, 0.0), (a, 0.0), (start + b, height), (start, height)]);
    Ok(Figure { edge: by_foot(foot), ..Figure::measured(outline, (a + b) / 2.0 * height) })
}

pub(super) fn circle(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["radius", "diameter"])?;
    let radius = match (fields.length("radius")?, fields.length("diameter")?) {
        (Some(radius), None) => radius,
        (None, Some(diameter)) => diameter / 2.0,
        (Some(_), Some(_)) => return Err("circle has a radius and a diameter; keep one".into()),
        (None, None) => return Err(fields.missing("radius or diameter")),
    };
    disc(Some(radius))
}

/// A disc or, without a radius, a bare point.
fn disc(radius: Option<f64>) -> Result<Figure, Reason> {
    if radius.is_some_and(|radius| radius >= LONGEST_RADIUS) {
        return Err("circle has a radius of 10 km or more; correct it".into());
    }
    let area = radius.map_or(0.0, |radius| std::f64::consts::PI * radius * radius);
    Ok(Figure::measured(Outline::Disc { centre: Coord { x: 0.0, y: 0.0 }, radius }, area))
}

/// By its whole axes, as a tape measures them.
pub(super) fn ellipse(fields: &Fields<'_>, is_for: Use) -> Result<Figure, Reason> {
    fields.only(&["length", "width"])?;
    let (length, width) = (fields.needed("length")?, fields.needed("width")?);
    let how = if is_for.keeps_away { Round::Containing } else { Round::SameArea };
    let ring = round(Coord { x: length / 2.0, y: width / 2.0 }, how);
    let area = std::f64::consts::FRAC_PI_4 * length * width;
    Ok(Figure::measured(Outline::Rings(vec![ring]), area))
}

/// A strip along a straight line or along points, or that line alone.
pub(super) fn line(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["length", "points", "width"])?;
    let width = fields.length("width")?;
    if width.is_some_and(|width| width >= LONGEST_RADIUS) {
        return Err("line has a width of 10 km or more; correct it".into());
    }
    let path = match (fields.length("length")?, fields.get("points")) {
        (Some(length), None) => vec![Coord { x: 0.0, y: 0.0 }, Coord { x: length, y: 0.0 }],
        (None, Some(_)) => points(fields)?,
        (Some(_), Some(_)) => return Err("line has a length and points; keep one".into()),
        (None, None) => return Err(fields.missing("length or points")),
    };
    let area = match (path.as_slice(), width) {
        ([start, end], Some(width)) => (end.x - start.x).hypot(end.y - start.y) * width,
        _ => 0.0,
    };
    Ok(Figure::measured(Outline::Strip { path, width }, area))
}

/// Places east and north, each a pair.
fn points(fields: &Fields<'_>) -> Result<Vec<Coord<f64>>, Reason> {
    let place = |(given, number): (&Given, usize)| {
        let Given::List(pair) = given else {
            return Err(format!("line point {number} is {}; give [east, north]", given.shown()));
        };
        let [east, north] = pair.as_slice() else {
            return Err(format!(
                "line point {number} has {} numbers; give [east, north]",
                pair.len()
            ));
        };
        let read = |given| {
            measure::signed_length(given, fields.unit)
                .map_err(|reason| of(&format!("line point {number}"), &reason))
        };
        Ok(Coord { x: read(east)?, y: read(north)? })
    };
    let mut places =
        fields.list("points")?.iter().zip(1..).map(place).collect::<Result<Vec<_>, _>>()?;
    places.dedup();
    match places.len() {
        0 | 1 => Err("line has fewer than two points; give its bends and ends".into()),
        _ => Ok(places),
    }
}

pub(super) fn point(fields: &Fields<'_>, _: Use) -> Result<Figure, Reason> {
    fields.only(&["radius"])?;
    disc(fields.length("radius")?)
}

/// An area that somebody else measured: nothing is known of its edge.
pub(super) fn area(given: &Given, unit: Option<Unit>) -> Result<Figure, Reason> {
    const CURE: &str = "give the figure that it has";
    let area = measure::area(given, unit)?;
    let side = area.sqrt();
    let outline = Outline::Rings(vec![ground::rectangle(0.0, side, area / side)]);
    Ok(Figure { edge: Edge::Unknown { cure: CURE }, ..Figure::measured(outline, area) })
}

fn corners<const N: usize>(corners: [(f64, f64); N]) -> Outline {
    Outline::Rings(vec![corners.map(Coord::from).to_vec()])
}
