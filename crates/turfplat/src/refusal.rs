//! Why one bad feature may stop a neighbour: a pond whose setback cannot be read still keeps
//! its distance from every lawn in reach. A lawn measured as if it were not there would be
//! sprayed to its edge.

use std::collections::HashSet;

use turfplat_map::{Kind, Problem, PropertyMap, Scope, Unused};
use turfplat_units::Length;

use crate::neighbourhood::Reach;

/// A property that was not done, and everything that stands against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The property's id; `None` where the whole map, or turf that is nobody's, is meant.
    pub property: Option<String>,
    /// Each with its place and its cure.
    pub reasons: Vec<String>,
}

/// What of a map must not be used, first what stops all of it. Lawns that are stopped by a
/// neighbour's hazard are listed by [`crate::measure`] and [`crate::plan`] too.
pub fn refusals(map: &PropertyMap) -> Vec<Refusal> {
    let mut refusals: Vec<Refusal> = Vec::new();
    let mut place_of = std::collections::HashMap::new();
    for problem in map.problems() {
        let property = property_of(problem);
        let place = *place_of.entry(property).or_insert_with(|| {
            refusals.push(Refusal { property: property.map(str::to_owned), reasons: Vec::new() });
            refusals.len() - 1
        });
        refusals[place].reasons.push(problem.error.to_string());
    }
    refusals.sort_by_key(|refusal| refusal.property.is_some());
    refusals
}

fn property_of(problem: &Problem) -> Option<&str> {
    match &problem.scope {
        Scope::Property(property) => Some(property),
        Scope::Map | Scope::Unclaimed => None,
    }
}

/// Which properties a map's problems stop.
pub(crate) struct Stops<'a> {
    /// True where nothing of the map may be used.
    pub(crate) everything: bool,
    properties: HashSet<&'a str>,
    unused: Vec<(&'a Problem, Reach)>,
    on_plane: bool,
}

impl<'a> Stops<'a> {
    /// Setbacks are drawn and tested up to this distance; no rule in the tables asks for half of it.
    const HAZARD_FEET: f64 = 400.0;
    /// Of what no distance is usually kept from; wider than any walk whose width is missing.
    const OTHER_FEET: f64 = 50.0;

    pub(crate) fn of(map: &'a PropertyMap) -> Stops<'a> {
        let unused = map.problems().iter().filter_map(|problem| {
            let Unused { corners: (min, max), kind } = problem.unused?;
            let feet =
                if kind.is_none_or(Kind::is_hazard) { Self::HAZARD_FEET } else { Self::OTHER_FEET };
            let by = Length::from_feet(feet).unwrap_or_default();
            Some((problem, Reach { min, max }.grown(by, map.is_on_plane())))
        });
        Stops {
            everything: map.problems().iter().any(|problem| problem.scope == Scope::Map),
            properties: map.problems().iter().filter_map(property_of).collect(),
            unused: unused.collect(),
            on_plane: map.is_on_plane(),
        }
    }

    /// True of a property with a problem of its own, which [`refusals`] lists.
    pub(crate) fn stops(&self, property: Option<&str>) -> bool {
        property.is_some_and(|property| self.properties.contains(property))
    }

    /// Why a lawn with this box is stopped by a neighbour's hazard.
    pub(crate) fn by_a_neighbour(&self, turf: &Reach) -> Option<Vec<String>> {
        let reasons: Vec<String> = self
            .unused
            .iter()
            .filter(|(_, reach)| turf.turns(self.on_plane).any(|turf| turf.touches(reach)))
            .map(|(problem, _)| {
                format!(
                    "a neighbor's feature that may set back this lawn cannot be used: {}",
                    problem.error
                )
            })
            .collect();
        (!reasons.is_empty()).then_some(reasons)
    }
}
