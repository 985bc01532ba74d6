//! Why map and job are joined here and once: what a zone's grass is may stand on the map, in
//! the job by zone, or in the job for all; later rooms see the answer only.

use turfplat_dose::{Condition, Species, ZoneToTreat, find_species, species_names};
use turfplat_map::Feature;
use turfplat_units::Area;

use crate::finding::Finding;
use crate::job::Job;

/// The grasses of a zone, as far as they are listed.
pub(crate) struct Grass {
    pub(crate) species: Vec<&'static Species>,
    pub(crate) unlisted: Vec<String>,
}

/// Who says what grows in a zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SettledBy {
    /// The job, for this zone.
    Job,
    Map,
    /// The job, for zones of which nobody speaks.
    Default,
    Nobody,
}

/// Who of those that may say it says what grows in a zone.
pub(crate) fn settled_by(zone: &Feature, job: &Job) -> SettledBy {
    if job.species.contains_key(&zone.name) {
        SettledBy::Job
    } else if !zone.species.is_empty() {
        SettledBy::Map
    } else if !job.default_species.is_empty() {
        SettledBy::Default
    } else {
        SettledBy::Nobody
    }
}

/// What grows in a zone: the job's word for it by name, else the map's, else the job's default.
pub(crate) fn grass(zone: &Feature, job: &Job, findings: &mut Vec<Finding>) -> Grass {
    let mut of_map = Grass { species: Vec::new(), unlisted: Vec::new() };
    for name in zone.species.iter().flat_map(|text| species_names(text)) {
        match find_species(name) {
            // Named twice, it is one grass.
            Ok(species) if of_map.species.contains(&species) => {}
            Ok(species) => of_map.species.push(species),
            Err(_) => of_map.unlisted.push(name.to_owned()),
        }
    }
    if let Some(species) = job.species.get(&zone.name) {
        let says_otherwise =
            !zone.species.is_empty() && (of_map.species != *species || !of_map.unlisted.is_empty());
        if says_otherwise {
            let message = format!(
                "species is {:?} on the map and {:?} in the job; the job's was taken",
                zone.species.join(", "),
                names(species)
            );
            findings.push(Finding::of(zone, "species-differs", message, 0.0));
        }
        return Grass { species: species.clone(), unlisted: Vec::new() };
    }
    match settled_by(zone, job) {
        SettledBy::Job | SettledBy::Map => of_map,
        SettledBy::Default | SettledBy::Nobody => {
            Grass { species: job.default_species.clone(), unlisted: Vec::new() }
        }
    }
}

fn names(species: &[&'static Species]) -> String {
    species.iter().map(|species| species.id.as_str()).collect::<Vec<_>>().join(", ")
}

/// The zone as the dose sees it.
pub(crate) fn to_treat(zone: &Feature, grass: &Grass, area: Area) -> ZoneToTreat {
    ZoneToTreat {
        name: zone.name.clone(),
        area,
        species: grass.species.clone(),
        unlisted_species: grass.unlisted.clone(),
        condition: condition(zone.condition.unwrap_or(turfplat_map::Condition::Good)),
    }
}

fn condition(of_map: turfplat_map::Condition) -> Condition {
    use turfplat_map::Condition as OfMap;
    match of_map {
        OfMap::Good => Condition::Good,
        OfMap::Thin => Condition::Thin,
        OfMap::Stressed => Condition::Stressed,
        OfMap::Dormant => Condition::Dormant,
        OfMap::New => Condition::New,
        OfMap::Greening => Condition::Greening,
    }
}
