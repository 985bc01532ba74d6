use std::sync::LazyLock;

use serde::Deserialize;

use crate::error::DoseError;
use crate::names::{close, folded};
use crate::provenance::Provenance;

/// A turfgrass, as in `data/species.csv`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Species {
    /// Name in maps and jobs, such as `tall-fescue`.
    pub id: String,
    /// The trade's name.
    pub common_name: String,
    /// Genus and species.
    pub scientific_name: String,
    /// When it grows.
    pub season: Season,
    /// When it grows, and at which temperatures of the air fastest.
    pub growth_window: String,
    /// Where the growth window comes from.
    pub growth_provenance: Provenance,
    /// Further names that are read.
    pub other_names: Vec<String>,
    /// Where the names come from.
    pub provenance: Provenance,
}

/// Whether a grass grows in warmth or in coolness.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Season {
    /// Grows in summer, dormant in winter.
    Warm,
    /// Grows in spring and autumn.
    Cool,
}

impl std::fmt::Display for Season {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Warm => "warm",
            Self::Cool => "cool",
        })
    }
}

impl Species {
    fn names(&self) -> impl Iterator<Item = &str> {
        [&self.id, &self.common_name, &self.scientific_name]
            .into_iter()
            .chain(&self.other_names)
            .map(String::as_str)
    }
}

#[derive(Deserialize)]
struct Row {
    id: String,
    common_name: String,
    scientific_name: String,
    season: Season,
    other_names: String,
    source: String,
    status: String,
    read: String,
    growth_window: String,
    growth_source: String,
    growth_status: String,
    growth_read: String,
}

pub(crate) const SPECIES_CSV: &str = include_str!("../../../data/species.csv");

static SPECIES: LazyLock<Vec<Species>> = LazyLock::new(|| {
    // A row that cannot be read would be missing; a test counts them.
    csv::Reader::from_reader(SPECIES_CSV.as_bytes())
        .deserialize()
        .filter_map(|row: Result<Row, csv::Error>| row.ok())
        .map(|row| Species {
            id: row.id,
            common_name: row.common_name,
            scientific_name: row.scientific_name,
            season: row.season,
            growth_window: row.growth_window,
            growth_provenance: Provenance {
                source: Some(row.growth_source),
                status: row.growth_status.parse().ok(),
                read: Some(row.growth_read),
            },
            other_names: listed(&row.other_names),
            provenance: Provenance {
                source: Some(row.source),
                status: row.status.parse().ok(),
                read: Some(row.read),
            },
        })
        .collect()
});

/// The parts of `a; b; c`.
pub(crate) fn listed(text: &str) -> Vec<String> {
    text.split(';').map(str::trim).filter(|part| !part.is_empty()).map(str::to_owned).collect()
}

/// Every turfgrass known here, in the order of the table.
pub fn all_species() -> &'static [Species] {
    &SPECIES
}

/// The grass meant by an id, a common, a scientific or another name; case, spacing and
/// hyphens do not matter.
///
/// # Errors
///
/// [`DoseError::AmbiguousSpecies`] where several grasses bear the name (`bermudagrass`),
/// [`DoseError::UnknownSpecies`] with close names where none does.
pub fn find_species(text: &str) -> Result<&'static Species, DoseError> {
    let wanted = folded(text);
    let named =
        |species: &&Species| !wanted.is_empty() && species.names().any(|n| folded(n) == wanted);
    if let Some(species) = all_species().iter().find(named) {
        return Ok(species);
    }
    if let Some((_, ids)) = SHORT.iter().find(|(short, _)| *short == wanted) {
        let ids: Vec<String> = ids.iter().map(|id| (*id).to_owned()).collect();
        let text = text.trim().to_owned();
        return Err(match ids.len() {
            1 => DoseError::UnknownSpecies { text, close: ids },
            _ => DoseError::AmbiguousSpecies { text, ids },
        });
    }
    let partly: Vec<&Species> = all_species()
        .iter()
        .filter(|species| wanted.len() >= 4 && folded(&species.common_name).contains(&wanted))
        .collect();
    if partly.len() > 1 {
        return Err(DoseError::AmbiguousSpecies {
            text: text.trim().to_owned(),
            ids: partly.iter().map(|species| species.id.clone()).collect(),
        });
    }
    // A close other name is answered with the id, which is what to write.
    let mut ids: Vec<String> = Vec::new();
    for name in close(text, all_species().iter().flat_map(Species::names)) {
        let owner = all_species().iter().find(|species| species.names().any(|n| n == name));
        if let Some(species) = owner
            && !ids.contains(&species.id)
        {
            ids.push(species.id.clone());
        }
    }
    Err(DoseError::UnknownSpecies { text: text.trim().to_owned(), close: ids })
}

/// Short names of the trade, folded, and what each may mean: offered, never taken, for "rye" is an
/// annual to one and a perennial to another. Common practice, no source.
const SHORT: [(&str, &[&str]); 7] = [
    ("kbg", &["kentucky-bluegrass"]),
    ("tttf", &["tall-fescue"]),
    ("ttf", &["tall-fescue"]),
    ("prg", &["perennial-ryegrass"]),
    ("prye", &["perennial-ryegrass"]),
    ("rye", &["perennial-ryegrass", "annual-ryegrass"]),
    ("poa", &["kentucky-bluegrass", "annual-bluegrass"]),
];

/// The names in a text that is no name itself: those of a mixed stand, however they are parted.
/// A name that holds such a sign, as `Festuca rubra and relatives`, is one name.
pub fn species_names(text: &str) -> Vec<&str> {
    let trimmed = text.trim();
    if find_species(trimmed).is_ok() {
        return vec![trimmed];
    }
    let parts = trimmed.split([',', ';', '/', '+', '&']).flat_map(|part| part.split(" and "));
    parts.map(str::trim).filter(|part| !part.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_row_of_the_table_is_lost() {
        assert_eq!(all_species().len(), SPECIES_CSV.trim_end().lines().count() - 1);
        assert!(all_species().iter().all(|species| species.provenance.status.is_some()));
    }

    #[test]
    fn every_grass_has_a_growth_window_that_fits_its_season() {
        for species in all_species() {
            let season = match species.season {
                Season::Warm => "80 to 95 F",
                Season::Cool => "60 to 75 F",
            };
            assert!(species.growth_window.contains(season), "{}", species.id);
            assert!(species.growth_provenance.status.is_some(), "{}", species.id);
        }
    }

    #[test]
    fn nitrogen_stands_by_region_and_a_gap_stays_one() {
        let places = |id: &str| -> Vec<&str> {
            let species = find_species(id).unwrap();
            crate::nitrogen_for(species).filter_map(|rate| rate.site.as_deref()).collect()
        };
        assert_eq!(places("zoysiagrass"), ["Illinois", "Central Florida", "Virginia"]);
        assert_eq!(places("tall-fescue"), ["Illinois", "Virginia"]);
        // Nothing was found for these: nothing is said.
        for id in ["kikuyugrass", "seashore-paspalum", "annual-ryegrass", "annual-bluegrass"] {
            assert!(places(id).is_empty(), "{id}");
        }
    }

    #[test]
    fn every_name_finds_its_grass_and_no_two_share_one() {
        for species in all_species() {
            for name in species.names() {
                assert_eq!(find_species(name).map(|s| &s.id), Ok(&species.id), "{name}");
            }
        }
    }

    #[test]
    fn names_as_people_write_them() {
        for (text, id) in [
            ("Tall Fescue", "tall-fescue"),
            ("tall_fescue", "tall-fescue"),
            ("KENTUCKY BLUEGRASS", "kentucky-bluegrass"),
            ("St Augustine grass", "st-augustinegrass"),
            ("Saint Augustinegrass", "st-augustinegrass"),
            ("bermudagrass (hybrid)", "bermudagrass-hybrid"),
            ("poa annua", "annual-bluegrass"),
            ("fine fescue", "fine-fescue"),
            (" zoysia ", "zoysiagrass"),
        ] {
            assert_eq!(find_species(text).map(|s| s.id.as_str()), Ok(id), "{text}");
        }
    }

    #[test]
    fn names_of_a_mixed_stand_are_parted_however_they_are_written() {
        let two = ["Kentucky bluegrass", "tall fescue"];
        for sign in ["; ", ", ", " / ", "+", " & ", " and "] {
            assert_eq!(species_names(&two.join(sign)), two, "{sign}");
        }
        for one in ["Festuca rubra and relatives", "Zoysia japonica and Z. matrella", "moonmoss"] {
            assert_eq!(species_names(one), [one]);
        }
        assert!(all_species().iter().flat_map(Species::names).all(|n| species_names(n) == [n]));
    }

    #[test]
    fn what_is_not_clear_is_asked_back() {
        for (text, message) in [
            (
                "bermudagrass",
                r#""bermudagrass" may be bermudagrass-common or bermudagrass-hybrid; write the one that grows here"#,
            ),
            (
                "fescue",
                r#""fescue" may be tall-fescue or fine-fescue; write the one that grows here"#,
            ),
            (
                "tal fescue",
                r#""tal fescue" is not a grass known here; did you mean "tall-fescue" or "fine-fescue"?"#,
            ),
            (
                "rye",
                r#""rye" may be perennial-ryegrass or annual-ryegrass; write the one that grows here"#,
            ),
            ("KBG", r#""KBG" is not a grass known here; did you mean "kentucky-bluegrass"?"#),
            (
                "moonmoss",
                r#""moonmoss" is not a grass known here; write an id or name from the species list"#,
            ),
            ("", r#""" is not a grass known here; write an id or name from the species list"#),
        ] {
            assert_eq!(find_species(text).unwrap_err().to_string(), message);
        }
    }
}
