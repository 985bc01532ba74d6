//! A draft as the text of a job file.

use std::collections::BTreeMap;

use turfplat_dose::{EquipmentKind, RuleSet, Species};
use turfplat_units::Area;

use super::{Ask, DraftZone, JobDraft, OnMap, PRODUCT};

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
            None => text.push_str(
                "#hired = false    # your own lawn; until it is said the rules for hire are kept\n",
            ),
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
            "# The smallest mark of your cup or scale, such as \"0.25 fl oz\" or \"1 oz wt\"; of both: [\"0.25 fl oz\", \"0.1 oz wt\"].\n",
        );
        text.push_str(&line("smallest_measure", self.given(Ask::SmallestMeasure), ""));
        if !self.spreads() {
            text.push_str(
                "# What stays in hose and sump, such as \"0.1 gal\".\n#dead_volume = \"\"\n",
            );
        }
        text.push_str(
            "# The width that one pass covers, such as \"5 ft\": passes are laid, and it is marked where loads run out.\n#swath = \"\"\n",
        );
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
