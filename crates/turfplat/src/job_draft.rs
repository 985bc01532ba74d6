//! Why a job is begun for the user: a zone's name copied wrong from the map leaves turf out, and an
//! empty page is not begun at six in the morning. What is not known is left blank, never filled
//! with a likely figure: a tank or a rate that nobody wrote would be dosed. Each answer is checked by the reader
//! of jobs itself, so that there is no second opinion on what is right.

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use turfplat_dose::{EquipmentKind, RuleSet, Species, find_species, is_date};
use turfplat_map::PropertyMap;
use turfplat_units::{Area, UnitSystem};

use crate::job::{Job, JobError};
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

impl JobDraft {
    /// The job file. It can be read whatever was answered; a plan of it treats what is filled in.
    /// Blanks stand behind a `#` without a space, prose behind one with.
    pub fn to_toml(&self) -> String {
        let mut text = String::from(HEAD);
        self.site(&mut text);
        self.setbacks(&mut text);
        self.equipment(&mut text);
        self.application(&mut text);
        text
    }

    fn given(&self, ask: Ask) -> Option<&str> {
        self.answers.get(&ask).map(String::as_str)
    }

    fn site(&self, text: &mut String) {
        text.push_str("\n[site]\n");
        if let Some(name) = &self.name {
            text.push_str(&format!("#name = {}\n", quoted(name)));
        }
        if self.map.is_none() {
            text.push_str("# Grass of zones where neither the map nor [site.species] says what grows (turfplat species).\n");
            text.push_str(&line("default_species", self.given(Ask::DefaultSpecies), "fill in"));
        }
        let rules = RuleSet::default();
        let known: Vec<&str> = rules.places().into_iter().map(|(id, _)| id).collect();
        text.push_str(&wrapped(&format!(
            "Place whose rules apply, one or several in brackets (turfplat rules): {}.",
            known.join(", ")
        )));
        match self.given(Ask::Jurisdiction).filter(|places| places.contains(',')) {
            Some(places) => {
                let places: Vec<String> = places.split(',').map(|it| quoted(it.trim())).collect();
                text.push_str(&format!("jurisdiction = [{}]\n", places.join(", ")));
            }
            None => text.push_str(&line("jurisdiction", self.given(Ask::Jurisdiction), "")),
        }
        text.push_str("# Whether you are paid for it: some rules bind only work for hire.\n");
        match self.given(Ask::Hired).map(is_yes) {
            Some(yes) => text.push_str(&format!("hired = {yes}\n")),
            None => text.push_str("#hired = true\n"),
        }
        match &self.map {
            None => text.push_str(
                "\n# Grass by zone, as the zone is called on the map; it outranks what the map says.\n[site.species]\n#\"Front lawn\" = \"\"\n",
            ),
            Some(map) => self.zones(map, text),
        }
    }

    fn zones(&self, map: &OnMap, text: &mut String) {
        let count = |number: usize, what: &str| match number {
            1 => format!("1 {what}"),
            _ => format!("{number} {what}s"),
        };
        let whole: Area = map.zones.iter().map(|zone| zone.area).sum();
        let of_properties = match map.properties {
            1 => String::new(),
            several => format!(" on {several} properties; a name that several share stands once"),
        };
        text.push('\n');
        text.push_str(&wrapped(&format!(
            "The map: {}, {} of turf{of_properties}. Beds, buildings and the like are out of these \
             areas, setbacks are not. What stands here outranks the map.",
            count(map.zones.len() + map.more, "zone"),
            whole.print(self.units),
        )));
        text.push_str("[site.species]\n");
        let rows: Vec<(String, String)> =
            map.zones.iter().enumerate().map(|(place, zone)| self.zone_row(place, zone)).collect();
        let widest = rows.iter().map(|(key, _)| key.chars().count()).max().unwrap_or(0).min(60);
        for (key, note) in rows {
            text.push_str(&format!("{key:widest$}   # {note}\n"));
        }
        if map.more > 0 {
            text.push_str(&format!("# … and {} more, which the map names\n", map.more));
        }
    }

    fn zone_row(&self, place: usize, zone: &DraftZone) -> (String, String) {
        let mut note = zone.area.print(self.units);
        if zone.properties > 1 {
            note.push_str(&format!(" on {} properties", zone.properties));
        }
        let row =
            |mark: &str, value: &str| format!("{mark}{} = {}", quoted(&zone.name), quoted(value));
        if let Some(answer) = self.given(Ask::Species(place)) {
            return (row("", answer), note);
        }
        let of_map = zone.species.join(", ");
        match (zone.grass(), of_map.is_empty()) {
            (Some(_), _) => (row("#", &of_map), format!("{note}; as on the map")),
            (None, true) if zone.properties > 1 => {
                (row("#", ""), format!("{note}; fill in where the map does not say what grows"))
            }
            (None, true) => {
                (row("#", ""), format!("{note}; fill in: the map does not say what grows"))
            }
            (None, false) => (
                row("#", ""),
                format!(
                    "{note}; fill in: {} on the map is not a grass known here",
                    quoted(&of_map)
                ),
            ),
        }
    }

    fn setbacks(&self, text: &mut String) {
        text.push('\n');
        text.push_str(&wrapped(
            "Own distances by kind: water, well, drain, garden, play, apiary and others. Of label, \
             rules, these and the map's own the largest governs; where none speaks, a default of this tool does.",
        ));
        text.push_str("[setbacks]\n");
        let none = BTreeMap::new();
        let hazards = self.map.as_ref().map_or(&none, |map| &map.hazards);
        for (kind, names) in hazards {
            let names: Vec<String> = names.iter().map(|name| quoted(name)).collect();
            text.push_str(&format!("#{kind} = \"\"   # near turf: {}\n", names.join(", ")));
        }
        if hazards.is_empty() {
            text.push_str("#water = \"\"   # such as \"25 ft\"\n");
        }
    }

    fn equipment(&self, text: &mut String) {
        let name = self.equipment_name();
        text.push_str(&format!("\n[equipment.{name}]\n"));
        let kinds = EquipmentKind::KNOWN.replace(", ", " | ");
        let fill = if self.given(Ask::Kind).is_some() { "" } else { "fill in: " };
        let kind = quoted(self.given(Ask::Kind).unwrap_or("backpack"));
        text.push_str(&format!("kind = {kind}   # {fill}{kinds}\n"));
        if self.spreads() {
            text.push_str("# What the hopper holds, such as \"40 lb\".\n");
            text.push_str(&line("tank", self.given(Ask::Tank), ""));
        } else {
            text.push_str("# What the tank holds, such as \"4 gal\".\n");
            text.push_str(&line("tank", self.given(Ask::Tank), "fill in"));
            text.push_str("# What you really put down, such as \"1 gal/1000 sq ft\": see turfplat calibrate.\n");
            text.push_str(&line("spray_volume", self.given(Ask::SprayVolume), "fill in"));
        }
        text.push_str(
            "# The smallest mark of your cup or scale, such as \"0.25 fl oz\" or \"1 oz wt\".\n",
        );
        text.push_str(&line("smallest_measure", self.given(Ask::SmallestMeasure), ""));
        if !self.spreads() {
            text.push_str(
                "# What stays in hose and sump, such as \"0.1 gal\".\n#dead_volume = \"\"\n",
            );
        }
        text.push_str("# What setback rules may count: drop spreader, rotary with deflector, deflector, guard, targeted liquid.\n#reduces = []\n");
    }

    /// A name that says what it is.
    fn equipment_name(&self) -> &'static str {
        match self.given(Ask::Kind).and_then(|kind| kind.parse().ok()) {
            None => "sprayer",
            Some(kind) => EquipmentKind::word(kind),
        }
    }

    fn application(&self, text: &mut String) {
        text.push_str("\n[[application]]\n");
        let name = quoted(self.given(Ask::Application).unwrap_or("first"));
        text.push_str(&format!("name = {name}\nequipment = \"{}\"\n", self.equipment_name()));
        text.push_str(
            "# The zones to treat, in the order in which they are walked; without it every zone.\n",
        );
        let zones: Vec<String> = self
            .map
            .iter()
            .flat_map(|map| map.zones.iter().map(|zone| quoted(&zone.name)))
            .collect();
        text.push_str(&match zones.is_empty() {
            true => "# zones = [\"Front lawn\", \"Back lawn\"]\n".to_owned(),
            false => format!("#zones = [{}]\n", zones.join(", ")),
        });
        text.push_str("\n[[application.product]]\n");
        text.push_str("# An id from turfplat products, or the path of a product file (turfplat product new).\n");
        let fill = if self.given(Ask::Product).is_some() { "" } else { "   # fill in" };
        let product = quoted(self.given(Ask::Product).unwrap_or(PRODUCT));
        text.push_str(&format!("product = {product}{fill}\n"));
        text.push_str("# The day on which you read the rate on your label, such as \"2026-05-02\"; without it nothing is dosed.\n");
        text.push_str(&line("label_checked", self.given(Ask::LabelChecked), "fill in"));
        text.push_str(&wrapped(
            "Your label's rate, of product, active ingredient or nutrient, such as \"0.3 fl oz/1000 sq ft\", \
             \"2 lb a.i./A\" or \"1 lb N/1000 sq ft\".",
        ));
        let grasses = self.grasses();
        if grasses.len() < 2 {
            text.push_str(&line("rate", self.given(Ask::Rate), "fill in"));
            text.push_str("# Or by grass, in place of rate: [application.product.rates] and a line for each.\n");
            return;
        }
        text.push_str("# One rate for every grass, in place of the table below: rate = \"\"\n");
        let rate_of = |grass: &Species| self.given(Ask::RateOf(grass.id.clone()));
        text.push_str("[application.product.rates]\n");
        for grass in grasses {
            text.push_str(&line(&grass.id, rate_of(grass), "fill in"));
        }
    }
}

const HEAD: &str = "\
# A job: what goes on which turf. Lines marked \"fill in\" are needed before anything is dosed:
# write the value between the quotes and take the \"#\" away. Leave other lines as they are if they
# do not matter to you. Then: turfplat job check FILE, and turfplat plan MAP --job FILE
";

/// `key = "value"`, or a blank to be filled in.
fn line(key: &str, value: Option<&str>, blank: &str) -> String {
    match (value, blank) {
        (Some(value), _) => format!("{key} = {}\n", quoted(value)),
        (None, "") => format!("#{key} = \"\"\n"),
        (None, mark) => format!("#{key} = \"\"   # {mark}\n"),
    }
}

fn is_yes(answer: &str) -> bool {
    answer.to_lowercase().starts_with('y')
}

/// A text as TOML writes one on one line, which may also stand in a comment.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// Prose as comment lines of a width that a narrow window shows.
fn wrapped(prose: &str) -> String {
    let mut text = String::from("#");
    let mut width = 1;
    for word in prose.split_whitespace() {
        if width + 1 + word.chars().count() > 98 {
            text.push_str("\n#");
            width = 1;
        }
        text.push(' ');
        text.push_str(word);
        width += 1 + word.chars().count();
    }
    text.push('\n');
    text
}
