use turfplat_map::{PropertyMap, Scope};

/// A property that was not done, and everything that stands against it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The property's id; `None` where the whole map, or turf that is nobody's, is meant.
    pub property: Option<String>,
    /// Each with its place and its cure.
    pub reasons: Vec<String>,
}

/// What of a map must not be used, first what stops all of it.
pub fn refusals(map: &PropertyMap) -> Vec<Refusal> {
    let mut refusals: Vec<Refusal> = Vec::new();
    let mut add = |property: Option<&String>, reason: String| match refusals
        .iter_mut()
        .find(|refusal| refusal.property.as_ref() == property)
    {
        Some(refusal) => refusal.reasons.push(reason),
        None => refusals.push(Refusal { property: property.cloned(), reasons: vec![reason] }),
    };
    for problem in &map.problems {
        let property = match &problem.scope {
            Scope::Property(property) => Some(property),
            Scope::Map | Scope::Unclaimed => None,
        };
        add(property, problem.error.to_string());
    }
    refusals.sort_by_key(|refusal| refusal.property.is_some());
    refusals
}

/// True if nothing of the map may be used.
pub(crate) fn stops_everything(map: &PropertyMap) -> bool {
    map.problems.iter().any(|problem| problem.scope == Scope::Map)
}

/// True if this property must not be used.
pub(crate) fn stops(map: &PropertyMap, property: Option<&str>) -> bool {
    map.problems.iter().any(|problem| matches!(&problem.scope, Scope::Property(stopped) if Some(stopped.as_str()) == property))
}
