//! Why a well far from all turf is asked about: with a wrong digit in its longitude it lies in the next
//! township, no distance is kept from it, and nothing else of the map looks amiss. A bed out there is
//! found missing from the lawn; a well takes nothing and is missed by nobody.

use std::collections::BTreeMap;

use turfplat_map::{Feature, Kind};
use turfplat_units::Length;

use crate::finding::Finding;
use crate::neighbourhood::Reach;

/// Whoever maps a property maps no water or well beyond this, in feet: a quarter of a mile, six times
/// the farthest distance of any rule in the tables, and several lots away. A choice of this tool.
const FAR_FEET: f64 = 1_320.0;

/// What of the features out of reach of a property's turf was hardly meant to lie there: of each file
/// the nearest, with how many others there are. A county's register is one slip at most.
pub(crate) fn far_hazards(out_of_reach: &[Feature], turf: &Reach, on_plane: bool) -> Vec<Finding> {
    let mut of_files: BTreeMap<u32, (usize, &Feature, Length)> = BTreeMap::new();
    for feature in out_of_reach {
        // Beds, gardens and hives are told already.
        let is_missed = matches!(feature.kind, Kind::Water | Kind::Drain | Kind::Well);
        let Some(drawn) = Reach::around(feature).filter(|_| is_missed && !feature.left_as_area)
        else {
            continue;
        };
        let away = turf.turns(on_plane).map(|turf| turf.away_from(&drawn, on_plane));
        let Some(away) = away.reduce(|a, b| if b < a { b } else { a }) else { continue };
        if away.feet() <= FAR_FEET {
            continue;
        }
        let known = of_files.entry(feature.at.order().0).or_insert((0, feature, away));
        let nearest = if away < known.2 { (feature, away) } else { (known.1, known.2) };
        *known = (known.0 + 1, nearest.0, nearest.1);
    }
    of_files.into_values().map(|(count, nearest, away)| told(count, nearest, away)).collect()
}

/// A register reaches beyond the map; what was drawn for it does not.
const SEVERAL: &str = "of a register that is as it should be; of what belongs to this map, is a digit or the system wrong?";

fn told(count: usize, nearest: &Feature, away: Length) -> Finding {
    let (others, question) = match count {
        1 => (String::new(), "is a digit of its place wrong?"),
        2 => (" and 1 other hazard of its file farther still".to_owned(), SEVERAL),
        _ => (format!(" and {} other hazards of its file farther still", count - 1), SEVERAL),
    };
    let message = format!(
        "{} lies {:.0} ft ({:.1} km) from all turf{others}, so that no distance is kept from {}; {question}",
        nearest.kind,
        away.feet(),
        away.metres() / 1000.0,
        if count == 1 { "it" } else { "them" }
    );
    Finding::of(nearest, "far-hazard", message, 0.0)
}
