//! Why a job is begun for the user: a zone's name copied wrong from the map leaves turf out, and an
//! empty page is not begun at six in the morning. What is not known is left blank, never filled
//! with a likely figure: a tank or a rate that nobody wrote would be dosed. Each answer is checked by the reader
//! of jobs itself, so that there is no second opinion on what is right.

mod text;

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use turfplat_dose::{EquipmentKind, Species, find_species, is_date};
use turfplat_map::PropertyMap;
use turfplat_units::{Area, UnitSystem};

use crate::job::Job;
use crate::job_error::JobError;
use crate::plat::{MeasureOptions, Plat, measure_each};

/// A job file in the making: the zones of a map, and what was answered so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobDraft {
    units: UnitSystem,
    /// The name of a map that is one property.
    name: Option<String>,
    /// `None` without a map.
    map: Option<OnMap>,
    answers: BTreeMap<Ask, String>,
    asked: BTreeSet<Ask>,
}

/// What is listed of a map.
#[derive(Clone, Debug, Default, PartialEq)]
struct OnMap {
    properties: usize,
    zones: Vec<DraftZone>,
    /// Zones beyond [`MOST_ZONES`], which are not listed.
    more: usize,
    /// Kinds of hazards from which the map alone keeps no distance, with the first few names.
    hazards: BTreeMap<&'static str, Vec<String>>,
}

/// All zones of one name.
#[derive(Clone, Debug, PartialEq)]
struct DraftZone {
    name: String,
    /// What is left of them without features, before any setback of a job.
    area: Area,
    properties: usize,
    /// As the map writes it; empty where it says nothing.
    species: Vec<String>,
}

/// More names than this nobody reads through; the map has them.
const MOST_ZONES: usize = 200;
/// Nobody answers more questions about zones than this; the file has a line for each.
const MOST_ASKED: usize = 40;

/// What is asked, in this order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Ask {
    Species(usize),
    DefaultSpecies,
    Jurisdiction,
    Hired,
    Kind,
    Tank,
    SprayVolume,
    SmallestMeasure,
    Application,
    Product,
    /// For the grass of that id.
    RateOf(String),
    Rate,
    LabelChecked,
}

/// A question for somebody at a terminal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobQuestion {
    ask: Ask,
    /// The question.
    pub text: String,
    /// An answer that is read.
    pub example: String,
}

impl JobQuestion {
    /// `What the tank holds, such as "4 gal" (empty: left blank): `.
    pub fn prompt(&self) -> String {
        format!("{}, such as \"{}\" (empty: left blank): ", self.text, self.example)
    }
}

impl JobDraft {
    /// A draft without a map.
    pub fn blank() -> JobDraft {
        JobDraft::default()
    }

    /// A draft that lists the zones of a map, with areas in `units`. What of the map is refused is
    /// left out.
    pub fn of_map(map: &PropertyMap, units: UnitSystem) -> JobDraft {
        let mut draft = JobDraft { units, ..JobDraft::default() };
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        let mut listed = OnMap::default();
        let has_ids = map.properties().iter().any(|property| map.id(*property).is_some());
        let Ok(()) = measure_each(
            map,
            &MeasureOptions::default(),
            |plat| plat,
            |done| {
                if let Ok(plat) = done {
                    if !has_ids {
                        draft.name = Some(plat.property.clone());
                    }
                    listed.add(&plat, &mut known);
                }
                Ok::<(), std::convert::Infallible>(())
            },
        );
        draft.map = Some(listed);
        draft
    }

    /// The next question that was not asked yet and whose answer can be used.
    pub fn next_question(&self) -> Option<JobQuestion> {
        self.questions().into_iter().find(|question| !self.asked.contains(&question.ask))
    }

    /// Takes an answer that the reader of jobs takes, and leaves the draft as it was otherwise; an
    /// empty one leaves the line blank. `load` gives the text of a product file by its path.
    ///
    /// # Errors
    ///
    /// What must be changed in the answer.
    pub fn answer(
        &mut self,
        question: &JobQuestion,
        text: &str,
        load: &dyn Fn(&str) -> io::Result<String>,
    ) -> Result<(), JobError> {
        let text = text.trim();
        if !text.is_empty() {
            check(&question.ask, text)?;
            let mut tried = self.clone();
            tried.answers.insert(question.ask.clone(), text.to_owned());
            Job::read("job", &tried.to_toml(), load)?;
            *self = tried;
        }
        self.asked.insert(question.ask.clone());
        Ok(())
    }

    /// What is still to be filled in before anything is dosed, each by its key in the file.
    pub fn left(&self) -> Vec<String> {
        let missing =
            |ask: Ask, key: &str| (!self.answers.contains_key(&ask)).then(|| key.to_owned());
        let mut left: Vec<Option<String>> = Vec::new();
        let zones = self.map.iter().flat_map(|map| map.zones.iter().enumerate());
        let without: Vec<String> = zones
            .filter(|(place, zone)| {
                zone.grass().is_none() && !self.answers.contains_key(&Ask::Species(*place))
            })
            .map(|(_, zone)| format!("{:?}", zone.name))
            .collect();
        if !without.is_empty() && !self.answers.contains_key(&Ask::DefaultSpecies) {
            const MOST: usize = 6;
            let more = match without.len().saturating_sub(MOST) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let some: Vec<&str> = without.iter().take(MOST).map(String::as_str).collect();
            left.push(Some(format!("site.species of {}{more}", some.join(", "))));
        }
        if self.map.is_none() {
            left.push(missing(
                Ask::DefaultSpecies,
                "site.default_species, where the map does not say what grows",
            ));
        }
        left.push(missing(Ask::Kind, "equipment.kind"));
        left.push(missing(Ask::Tank, "equipment.tank").filter(|_| !self.spreads()));
        left.push(missing(Ask::SprayVolume, "equipment.spray_volume").filter(|_| !self.spreads()));
        left.push(missing(Ask::Product, "application.product.product"));
        let rates = self
            .grasses()
            .iter()
            .any(|grass| self.answers.contains_key(&Ask::RateOf(grass.id.clone())));
        left.push(missing(Ask::Rate, "application.product.rate").filter(|_| !rates));
        left.push(missing(Ask::LabelChecked, "application.product.label_checked"));
        left.into_iter().flatten().collect()
    }

    fn spreads(&self) -> bool {
        self.answers.get(&Ask::Kind).and_then(|kind| kind.parse().ok())
            == Some(EquipmentKind::Spreader)
    }

    /// Every grass that the draft knows of, in the order of the zones.
    fn grasses(&self) -> Vec<&'static Species> {
        let mut grasses: Vec<&'static Species> = Vec::new();
        let zones = self.map.iter().flat_map(|map| map.zones.iter().enumerate());
        let names = zones.flat_map(|(place, zone)| match self.answers.get(&Ask::Species(place)) {
            Some(answer) => answer.split(',').map(str::to_owned).collect(),
            None => zone.species.clone(),
        });
        let default = self.answers.get(&Ask::DefaultSpecies).into_iter();
        let default = default.flat_map(|answer| answer.split(',').map(str::to_owned));
        for grass in names.chain(default).filter_map(|name| find_species(&name).ok()) {
            if !grasses.contains(&grass) {
                grasses.push(grass);
            }
        }
        grasses
    }

    fn questions(&self) -> Vec<JobQuestion> {
        let ask = |ask: Ask, text: &str, example: &str| JobQuestion {
            ask,
            text: text.to_owned(),
            example: example.to_owned(),
        };
        let mut questions = Vec::new();
        if let Some(map) = &self.map {
            let zones = map.zones.iter().enumerate().filter(|(_, zone)| zone.grass().is_none());
            questions.extend(zones.take(MOST_ASKED).map(|(place, zone)| {
                let text = format!("Grass of {:?} ({})", zone.name, zone.area.print(self.units));
                ask(Ask::Species(place), &text, "tall-fescue")
            }));
        } else {
            questions.push(ask(
                Ask::DefaultSpecies,
                "Grass of zones where the map does not say",
                "tall-fescue",
            ));
        }
        questions.extend([
            ask(Ask::Jurisdiction, "Place whose rules apply (see turfplat rules)", "maine"),
            ask(Ask::Hired, "Applied for hire, yes or no", "yes"),
            ask(Ask::Kind, "Equipment: backpack, hand-gun, boom or spreader", "backpack"),
        ]);
        if self.spreads() {
            questions.push(ask(Ask::Tank, "What the hopper holds", "40 lb"));
        } else {
            questions.push(ask(Ask::Tank, "What the tank holds", "4 gal"));
            questions.push(ask(
                Ask::SprayVolume,
                "Spray per area from your calibration (see turfplat calibrate)",
                "1 gal/1000 sq ft",
            ));
        }
        let mark = if self.spreads() { "1 oz wt" } else { "0.25 fl oz" };
        questions.extend([
            ask(Ask::SmallestMeasure, "Smallest mark of your cup or scale", mark),
            ask(Ask::Application, "Name of the application", "June"),
            ask(
                Ask::Product,
                "Product: an id from turfplat products, or the path of a product file",
                PRODUCT,
            ),
        ]);
        let grasses = self.grasses();
        if grasses.len() > 1 {
            questions.extend(grasses.iter().map(|grass| {
                let text = format!("Your label's rate for {}", grass.common_name);
                ask(Ask::RateOf(grass.id.clone()), &text, "0.3 fl oz/1000 sq ft")
            }));
        } else {
            questions.push(ask(Ask::Rate, "Your label's rate", "0.3 fl oz/1000 sq ft"));
        }
        questions.push(ask(
            Ask::LabelChecked,
            "Day on which you read the rate on your label (without it nothing is dosed)",
            "2026-05-02",
        ));
        questions
    }
}

/// Refuses what the reader of jobs leaves to others, or would never see.
fn check(ask: &Ask, text: &str) -> Result<(), JobError> {
    let (key, known) = match ask {
        Ask::Hired if !matches!(text.to_lowercase().as_str(), "yes" | "y" | "no" | "n") => {
            ("site.hired", "yes, no")
        }
        Ask::LabelChecked if !is_date(text) => ("label_checked", "a day, such as 2026-05-02"),
        _ => return Ok(()),
    };
    Err(JobError::UnknownWord {
        file: "job".into(),
        key: key.into(),
        word: text.into(),
        known: known.into(),
    })
}

/// Stands in the file until somebody names another; without a rate of the label it is not dosed.
const PRODUCT: &str = "trinexapac-ethyl-1-ec";

impl DraftZone {
    /// What the map says of its grass, where that can be read.
    fn grass(&self) -> Option<Vec<&'static Species>> {
        let all: Option<Vec<_>> = self.species.iter().map(|name| find_species(name).ok()).collect();
        all.filter(|all| !all.is_empty())
    }
}

impl OnMap {
    fn add(&mut self, plat: &Plat, known: &mut BTreeMap<String, usize>) {
        self.properties += 1;
        for zone in &plat.zones {
            match known.get(&zone.name) {
                Some(&place) => {
                    let listed = &mut self.zones[place];
                    listed.area = listed.area + zone.net;
                    listed.properties += 1;
                    if listed.species != zone.species {
                        // One line of the job would decide for all of them.
                        listed.species.clear();
                    }
                }
                None if self.zones.len() < MOST_ZONES => {
                    known.insert(zone.name.clone(), self.zones.len());
                    self.zones.push(DraftZone {
                        name: zone.name.clone(),
                        area: zone.net,
                        properties: 1,
                        species: zone.species.clone(),
                    });
                }
                None => self.more += 1,
            }
        }
        const MOST_NAMES: usize = 4;
        for unkept in &plat.without_setback {
            let names = self.hazards.entry(unkept.kind.name()).or_default();
            if names.len() < MOST_NAMES && !names.contains(&unkept.feature) {
                names.push(unkept.feature.clone());
            }
        }
    }
}
