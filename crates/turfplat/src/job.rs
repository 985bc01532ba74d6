use std::collections::BTreeMap;
use std::io;

use turfplat_dose::{
    ChosenProduct, Container, Day, DoseError, Equipment, EquipmentKind, LoadPlan, Product,
    RateChoice, Reduction, RuleSet, Species, check_equipment, check_jurisdictions, find_product,
    find_species, species_names,
};
use turfplat_map::{Kind, PropertyMap};
use turfplat_season::{OwnLimits, Settings};
use turfplat_units::{Amount, Length, Rate, UnitError, WrittenAmount, WrittenRate, nearest};

use crate::history::{PutDown, Treatment};
use crate::job_error::{ApplicationError, JobError};
use crate::job_file::{ApplicationTable, EquipmentTable, JobFile, ProductTable, Words};
use crate::ledger_history::FromLedger;
use crate::season::SeasonTerms;
use crate::setbacks::ByKind;
use crate::walking::Walking;

/// What is to be done, with all texts read and all names resolved.
#[derive(Clone, Debug)]
pub struct Job {
    /// The file's name, for messages.
    pub file: String,
    /// Name of the property, for titles.
    pub name: Option<String>,
    /// Of zones of which neither the map nor the job speaks.
    pub default_species: Vec<&'static Species>,
    /// By zone name.
    pub species: BTreeMap<String, Vec<&'static Species>>,
    /// Ids of the places whose rules apply.
    pub jurisdictions: Vec<String>,
    /// Applied for hire; `None` where the job does not say.
    pub hired: Option<bool>,
    /// Own distances by kind, compared with all others.
    pub setbacks: ByKind,
    /// The rules of the table and the job's own.
    pub rules: RuleSet,
    /// By product id: what it is sold in, instead of what its file says.
    pub containers: BTreeMap<String, Vec<Container>>,
    /// In file order.
    pub applications: Vec<Application>,
    /// What has been put down already as the job tells it, in file order.
    pub history: Vec<Treatment>,
    /// When applications without a date are repeated.
    pub(crate) season: SeasonTerms,
    /// What is asked of the weather beyond what labels ask.
    pub weather: OwnLimits,
    /// The ledger whose records are history too (`history_of`).
    pub ledger: Option<FromLedger>,
    /// The limits for what no label speaks of: this tool's, or with rows of the job's own.
    pub weather_defaults: Settings,
}

/// One trip that puts one product or tank mix on some zones.
#[derive(Clone, Debug)]
pub struct Application {
    /// Its name, unique in the job.
    pub name: String,
    /// With what.
    pub equipment: Equipment,
    /// How it is walked; `None` where the equipment gives no swath.
    pub walking: Option<Walking>,
    /// The day on which it is done; `None` is the day of the plan.
    pub day: Option<Day>,
    /// Names of its zones; `None` is every zone.
    pub zones: Option<Vec<String>>,
    /// The tank mix.
    pub products: Vec<ChosenProduct>,
    /// Of each product the rates as they were written.
    pub(crate) written: Vec<WrittenRates>,
    /// When it is repeated, where that differs from the job's season.
    pub(crate) season: SeasonTerms,
}

/// Rates of one product as somebody wrote them.
#[derive(Clone, Debug)]
pub(crate) enum WrittenRates {
    /// In the job, for every grass.
    One(WrittenRate),
    /// In the job, by species id.
    BySpecies(BTreeMap<String, WrittenRate>),
    /// The label rates of the product file.
    OfProductFile,
}

impl Job {
    /// The job of somebody who measures to the drop: what no cup can measure of one lawn alone is no
    /// reason to leave it out where a tank serves several.
    pub fn without_marks(&self) -> Job {
        let mut job = self.clone();
        for application in &mut job.applications {
            let Equipment { smallest_measure, smallest_weight, .. } = &mut application.equipment;
            (*smallest_measure, *smallest_weight) = (None, None);
        }
        job
    }

    /// Takes zones that are nowhere on the map out of all applications but `name`, and says which: what one
    /// application names by a slip must not stop another.
    pub(crate) fn keep_zones_of_others(&mut self, map: &PropertyMap, name: &str) -> Vec<String> {
        let mut told = Vec::new();
        for other in self.applications.iter_mut().filter(|other| other.name != name) {
            other.season.zones.retain(|zone, _| map.has_zone(zone));
            let Some(zones) = &mut other.zones else { continue };
            zones.retain(|zone| {
                let known = map.has_zone(zone);
                if !known {
                    told.push(format!(
                        "application {:?} names zone {zone:?}, which is nowhere on the map: what it would put \
                         down there is not counted",
                        other.name
                    ));
                }
                known
            });
        }
        told
    }

    /// Reads a job file; `load` gives the text of a product file by the path in the job.
    ///
    /// # Errors
    ///
    /// [`JobError`]: the first thing that cannot be used, with its key and the cure.
    pub fn read(
        file: &str,
        text: &str,
        load: &dyn Fn(&str) -> io::Result<String>,
    ) -> Result<Job, JobError> {
        let table: JobFile = toml::from_str(text).map_err(|error| {
            let meant = meant(error.message());
            let reason = format!("{}{meant}", error.to_string().trim_end());
            JobError::NotAJob { file: file.into(), reason }
        })?;
        let reader = Reader { file, load };
        let mut equipment = BTreeMap::new();
        for (name, table) in table.equipment {
            let walking = reader.walking(&name, &table)?;
            let read = reader.equipment(&name, table)?;
            equipment.insert(name, (read, walking));
        }
        if table.application.is_empty() {
            return Err(JobError::NoApplication { file: file.into() });
        }
        let mut applications: Vec<Application> = Vec::new();
        for table in table.application {
            if applications
                .iter()
                .any(|earlier| earlier.name.to_lowercase() == table.name.to_lowercase())
            {
                return Err(JobError::SameApplication { file: file.into(), name: table.name });
            }
            applications.push(reader.application(table, &equipment)?);
        }
        let site = table.site;
        let default_species = site
            .default_species
            .map(|words| reader.species("site.default_species", words.parted()));
        let rules = reader.own_rules(site.rules.as_deref(), table.rule)?;
        let jurisdictions = check_jurisdictions(&site.jurisdiction.into_vec(), &rules)
            .map_err(|error| reader.dose("site.jurisdiction", error))?;
        let species = site
            .species
            .into_iter()
            .map(|(zone, words)| {
                Ok((
                    zone.clone(),
                    reader.species(&format!("site.species.{zone:?}"), words.parted())?,
                ))
            })
            .collect::<Result<_, JobError>>()?;
        Ok(Job {
            file: file.to_owned(),
            name: site.name,
            default_species: default_species.transpose()?.unwrap_or_default(),
            species,
            jurisdictions,
            hired: site.hired,
            setbacks: reader.setbacks(table.setbacks)?,
            rules,
            containers: reader.containers(table.buy, &applications)?,
            history: (table.history.into_iter().enumerate())
                .map(|(place, table)| reader.treatment(place + 1, table, &applications))
                .collect::<Result<_, JobError>>()?,
            season: reader.season("season", table.season)?,
            ledger: None,
            applications,
            weather_defaults: reader.weather_defaults(table.weather.defaults.as_deref())?,
            weather: reader.weather(table.weather)?,
        })
    }

    /// Refuses names of zones that are nowhere on the map: a slip there would leave turf out unseen.
    ///
    /// # Errors
    ///
    /// [`JobError::UnknownZone`], the first of them.
    pub fn check_map(&self, map: &PropertyMap) -> Result<(), JobError> {
        let of_site = self.species.keys().map(|zone| (zone, "site.species".to_owned()));
        let of_applications = self.applications.iter().flat_map(|application| {
            let key = format!("application {:?}", application.name);
            application.zones.iter().flatten().map(move |zone| (zone, key.clone()))
        });
        let of_history = self.history.iter().flat_map(|treatment| {
            let key = treatment.told_by.to_string();
            treatment.zones.iter().flatten().map(move |zone| (zone, key.clone()))
        });
        let seasons = self.applications.iter().map(|application| {
            (&application.season, format!("application {:?}, season", application.name))
        });
        let of_seasons = [(&self.season, "season".to_owned())].into_iter().chain(seasons);
        let of_seasons = of_seasons.flat_map(|(season, key)| {
            season.zones.keys().map(move |zone| (zone, format!("{key}.zones")))
        });
        let all = of_site.chain(of_applications).chain(of_history).chain(of_seasons);
        for (zone, key) in all {
            // Turf that is refused is on the map all the same, and told elsewhere.
            if !map.has_zone(zone) {
                let known = map.some_zones().join(", ");
                return Err(JobError::UnknownZone {
                    file: self.file.clone(),
                    key,
                    zone: zone.clone(),
                    known,
                });
            }
        }
        Ok(())
    }
}

impl Job {
    /// The application of that name, in any case; without a name the only one.
    ///
    /// # Errors
    ///
    /// [`ApplicationError`] with the names that there are.
    pub fn application(&self, name: Option<&str>) -> Result<&Application, ApplicationError> {
        let known = || {
            let names: Vec<&str> = self.applications.iter().map(|it| it.name.as_str()).collect();
            names.join(", ")
        };
        match (name, &self.applications[..]) {
            (None, [only]) => Ok(only),
            (None, _) => Err(ApplicationError::Several { known: known() }),
            (Some(name), all) => {
                let wanted = name.to_lowercase();
                let found = all.iter().find(|it| it.name.to_lowercase() == wanted);
                found.ok_or_else(|| ApplicationError::NoSuch { name: name.into(), known: known() })
            }
        }
    }

    /// Refuses a history that cannot be laid on the map: treatments after the day of the plan, an
    /// amount on several properties together, or no day to count from.
    pub(crate) fn check_history(
        &self,
        date: Option<Day>,
        several_properties: bool,
    ) -> Result<(), JobError> {
        for treatment in &self.history {
            let key = |part: &str| format!("{}, {part}", treatment.told_by);
            let file = || self.file.clone();
            if let Some(date) = date.filter(|date| treatment.day > *date) {
                let (on, date) = (treatment.day.to_string(), date.to_string());
                return Err(JobError::HistoryFromTheFuture {
                    file: file(),
                    key: key("date"),
                    on,
                    date,
                });
            }
            if several_properties && matches!(treatment.put_down, PutDown::Amount(_)) {
                return Err(JobError::AmountOfSeveral { file: file(), key: key("amount") });
            }
        }
        let undated =
            self.applications.iter().find(|application| application.day.or(date).is_none());
        match undated.filter(|_| self.is_told_of_before()) {
            None => Ok(()),
            Some(application) => Err(JobError::NoDay {
                file: self.file.clone(),
                key: format!("application {:?}", application.name),
            }),
        }
    }

    /// Refuses what no map could change: equipment that cannot put its products down, and rates that
    /// the labels do not give the grasses that the job itself names.
    ///
    /// # Errors
    ///
    /// [`JobError::Dose`], the first of them, with its application.
    pub fn check_doses(&self) -> Result<(), JobError> {
        let grasses: Vec<&Species> =
            self.default_species.iter().chain(self.species.values().flatten()).copied().collect();
        for application in &self.applications {
            let held =
                check_equipment(&application.products, &application.equipment).and_then(|()| {
                    let each = application.products.iter();
                    each.flat_map(|chosen| grasses.iter().map(move |grass| (chosen, grass)))
                        .filter(|(chosen, _)| chosen.label_checked.is_some())
                        .try_for_each(|(chosen, grass)| chosen.check_on(grass))
                });
            held.map_err(|source| JobError::Dose {
                file: self.file.clone(),
                key: format!("application {:?}", application.name),
                source: Box::new(source),
            })?;
        }
        Ok(())
    }

    /// Refuses a label that was read after the day of the plan or of its application: a date was
    /// mistyped.
    ///
    /// # Errors
    ///
    /// [`JobError::LabelFromTheFuture`], the first of them.
    pub fn check_date(&self, date: Option<&str>) -> Result<(), JobError> {
        for application in &self.applications {
            let of_application = application.day.map(|day| day.to_string());
            for chosen in &application.products {
                let days = [(date, "plan"), (of_application.as_deref(), "application")];
                // Dates as year-month-day sort as they follow each other.
                let before = |(day, _): &(Option<&str>, &str)| {
                    day.zip(chosen.label_checked.as_deref()).is_some_and(|(day, it)| it > day)
                };
                if let Some((Some(date), whose)) = days.into_iter().find(before) {
                    return Err(JobError::LabelFromTheFuture {
                        file: self.file.clone(),
                        key: format!(
                            "application {:?}, product {:?}, label_checked",
                            application.name, chosen.product.id
                        ),
                        label_checked: chosen.label_checked.clone().unwrap_or_default(),
                        whose,
                        date: date.to_owned(),
                    });
                }
            }
        }
        Ok(())
    }
}

pub(crate) struct Reader<'a> {
    pub(crate) file: &'a str,
    pub(crate) load: &'a dyn Fn(&str) -> io::Result<String>,
}

impl Reader<'_> {
    pub(crate) fn dose(&self, key: impl Into<String>, source: DoseError) -> JobError {
        JobError::Dose { file: self.file.into(), key: key.into(), source: Box::new(source) }
    }

    pub(crate) fn unit(&self, key: impl Into<String>, source: UnitError) -> JobError {
        JobError::Unit { file: self.file.into(), key: key.into(), source }
    }

    pub(crate) fn unknown(
        &self,
        key: impl Into<String>,
        word: &str,
        known: impl Into<String>,
    ) -> JobError {
        JobError::UnknownWord {
            file: self.file.into(),
            key: key.into(),
            word: word.into(),
            known: known.into(),
        }
    }

    fn species(&self, key: &str, names: Vec<String>) -> Result<Vec<&'static Species>, JobError> {
        let mut found: Vec<&'static Species> = Vec::new();
        for name in names.iter().flat_map(|text| species_names(text)) {
            let species = find_species(name).map_err(|error| self.dose(key, error))?;
            // Named twice, it is one grass.
            if !found.contains(&species) {
                found.push(species);
            }
        }
        Ok(found)
    }

    fn setbacks(&self, table: BTreeMap<String, String>) -> Result<ByKind, JobError> {
        let mut setbacks = ByKind::new();
        for (word, distance) in table {
            let key = format!("setbacks.{word}");
            let kind: Option<Kind> = word.parse().ok();
            let kind = kind
                .filter(|kind| kind.keeps_a_distance())
                .ok_or_else(|| self.unknown(&key, &word, hazard_kinds()))?;
            let distance: Length = distance.parse().map_err(|error| self.unit(&key, error))?;
            setbacks.insert(kind, distance);
        }
        Ok(setbacks)
    }

    fn equipment(&self, name: &str, table: EquipmentTable) -> Result<Equipment, JobError> {
        let key = |part: &str| format!("equipment.{name}.{part}");
        let kind: EquipmentKind = table
            .kind
            .parse()
            .map_err(|()| self.unknown(key("kind"), &table.kind, EquipmentKind::KNOWN))?;
        let amount = |part: &str, text: Option<String>| self.amount(&key(part), text);
        let spray_volume = table
            .spray_volume
            .map(|text| {
                let written: WrittenRate =
                    text.parse().map_err(|error| self.unit(key("spray_volume"), error))?;
                written.rate().map_err(|error| self.unit(key("spray_volume"), error))
            })
            .transpose()?;
        let means = table.reduces.into_vec();
        let reduces = means
            .iter()
            .map(|means| {
                means.parse().map_err(|()| self.unknown(key("reduces"), means, Reduction::KNOWN))
            })
            .collect::<Result<Vec<Reduction>, _>>()?;
        let spreads = kind == EquipmentKind::Spreader;
        if let Some(means) = reduces.iter().find(|means| match means {
            Reduction::DropSpreader | Reduction::RotaryWithDeflector => !spreads,
            Reduction::TargetedLiquid => spreads,
            // Both a spreader and a sprayer may have one.
            Reduction::Deflector | Reduction::Guard => false,
        }) {
            let (kind, means) = (kind.word(), means.words());
            return Err(JobError::MeansOfAnother {
                file: self.file.into(),
                key: key("reduces"),
                kind,
                means,
            });
        }
        let marks = self.marks(&key("smallest_measure"), table.smallest_measure)?;
        let (smallest_measure, smallest_weight) =
            self.cup_and_scale(&key("smallest_measure"), &marks)?;
        Ok(Equipment {
            name: name.to_owned(),
            kind,
            tank: amount("tank", table.tank)?,
            spray_volume,
            smallest_measure,
            smallest_weight,
            marked_in: marks.iter().map(|mark| mark.unit).collect(),
            dead_volume: amount("dead_volume", table.dead_volume)?,
            load_plan: self.load_plan(&key("plan"), table.plan)?.unwrap_or_default(),
            reduces,
            speed: (table.speed.as_deref())
                .map(|text| text.parse().map_err(|error| self.unit(key("speed"), error)))
                .transpose()?,
            setting: table.setting,
        })
    }

    fn amount(&self, key: &str, text: Option<String>) -> Result<Option<Amount>, JobError> {
        text.map(|text| {
            let written: WrittenAmount = text.parse().map_err(|error| self.unit(key, error))?;
            written.amount().map_err(|error| self.unit(key, error))
        })
        .transpose()
    }

    /// The marks as they are written.
    fn marks(&self, key: &str, texts: Option<Words>) -> Result<Vec<WrittenAmount>, JobError> {
        let texts = texts.map(Words::into_vec).unwrap_or_default();
        texts.iter().map(|text| text.parse().map_err(|error| self.unit(key, error))).collect()
    }

    /// The mark of the cup or scale, and that of the scale beside a cup.
    fn cup_and_scale(
        &self,
        key: &str,
        marks: &[WrittenAmount],
    ) -> Result<(Option<Amount>, Option<Amount>), JobError> {
        let amounts = marks.iter().map(|mark| mark.amount().map_err(|error| self.unit(key, error)));
        match amounts.collect::<Result<Vec<_>, _>>()?.as_slice() {
            [] => Ok((None, None)),
            [one] => Ok((Some(*one), None)),
            [cup @ Amount::Volume(_), scale @ Amount::Mass(_)]
            | [scale @ Amount::Mass(_), cup @ Amount::Volume(_)] => Ok((Some(*cup), Some(*scale))),
            _ => Err(JobError::OneOfTwo {
                file: self.file.into(),
                key: key.into(),
                keep: "one mark by volume and one by weight",
            }),
        }
    }

    fn load_plan(&self, key: &str, word: Option<String>) -> Result<Option<LoadPlan>, JobError> {
        let read =
            |word: String| word.parse().map_err(|()| self.unknown(key, &word, LoadPlan::KNOWN));
        word.map(read).transpose()
    }

    fn application(
        &self,
        table: ApplicationTable,
        equipment: &BTreeMap<String, (Equipment, Option<Walking>)>,
    ) -> Result<Application, JobError> {
        let Some((equipment, walking)) = equipment.get(&table.equipment) else {
            let known: Vec<&str> = equipment.keys().map(String::as_str).collect();
            let known = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
            return Err(JobError::NoEquipment {
                file: self.file.into(),
                application: table.name,
                name: table.equipment,
                known,
            });
        };
        if table.product.is_empty() {
            return Err(JobError::NoProduct { file: self.file.into(), application: table.name });
        }
        let products = table
            .product
            .into_iter()
            .map(|product| self.product(&table.name, product))
            .collect::<Result<Vec<_>, _>>()?;
        let (products, written) = products.into_iter().unzip();
        let zones = table.zones.map(|words| words.into_vec());
        if zones.as_ref().is_some_and(Vec::is_empty) {
            return Err(JobError::NoZones { file: self.file.into(), application: table.name });
        }
        let key = |part: &str| format!("application {:?}, {part}", table.name);
        let twice = zones.iter().flat_map(|zones| {
            zones.iter().enumerate().filter(|(place, zone)| zones[..*place].contains(zone))
        });
        if let Some((_, zone)) = twice.into_iter().next() {
            let key = key(&format!("zones, {zone:?}"));
            return Err(JobError::OneOfTwo { file: self.file.into(), key, keep: "one of them" });
        }
        let day = table.date.map(|date| {
            let text = date.into_text();
            let (file, key) = (self.file.into(), key("date"));
            Day::read(text.trim()).ok_or(JobError::NotADate { file, key, text })
        });
        let day = day.transpose()?;
        let mut equipment = equipment.clone();
        let dead_volume = self.amount(&key("dead_volume"), table.dead_volume)?;
        equipment.dead_volume = dead_volume.or(equipment.dead_volume);
        let load_plan = self.load_plan(&key("plan"), table.plan)?;
        equipment.load_plan = load_plan.unwrap_or(equipment.load_plan);
        let walking = *walking;
        if day.is_some() && table.season.is_some() {
            let (file, key) = (self.file.into(), key("season"));
            return Err(JobError::OneOfTwo { file, key, keep: "a date or a season" });
        }
        let season = self.season(&key("season"), table.season)?;
        let name = table.name;
        Ok(Application { name, equipment, walking, day, zones, products, written, season })
    }

    fn product(
        &self,
        application: &str,
        table: ProductTable,
    ) -> Result<(ChosenProduct, WrittenRates), JobError> {
        let key = |part: &str| {
            format!("application {application:?}, product {:?}, {part}", table.product)
        };
        let product = self.find_product(&table.product, &key("product"))?;
        let height = (table.mowing_height.as_deref())
            .map(|text| text.parse().map_err(|error| self.unit(key("mowing_height"), error)))
            .transpose()?;
        let product = product.for_use(table.r#use.as_deref(), height).map_err(|error| {
            let of = match &error {
                DoseError::NotOnLabel { key, .. } => key,
                _ => "use",
            };
            self.dose(key(of), error)
        })?;
        // Of a rate in the product file the file may say it.
        let of_file = product.rate_is_right.clone();
        let rate_is_right = table.rate_is_right.or(of_file).map(|reason| reason.trim().to_owned());
        if rate_is_right.as_ref().is_some_and(String::is_empty) {
            return Err(JobError::NoReason { file: self.file.into(), key: key("rate_is_right") });
        }
        let product = Product { rate_is_right, ..product };
        let rate = |text: &str, part: &str| -> Result<(Rate, WrittenRate), JobError> {
            let written: WrittenRate = text.parse().map_err(|error| self.unit(key(part), error))?;
            let rate = product.rate_of(&written).map_err(|error| self.dose(key(part), error))?;
            Ok((rate, written))
        };
        let label_checked = table.label_checked.map(crate::job_file::Date::into_text);
        let (rates, written) = match (&table.rate, &table.rates) {
            (Some(_), Some(_)) => {
                return Err(JobError::RateAndRates { file: self.file.into(), key: key("rate") });
            }
            (Some(text), None) => {
                let (rate, written) = rate(text, "rate")?;
                (RateChoice::One(rate), WrittenRates::One(written))
            }
            (None, Some(by_species)) => {
                let (mut rates, mut written) = (BTreeMap::new(), BTreeMap::new());
                for (name, text) in by_species {
                    let part = format!("rates.{name:?}");
                    let species =
                        find_species(name).map_err(|error| self.dose(key(&part), error))?;
                    let (of_species, as_written) = rate(text, &part)?;
                    written.insert(species.id.clone(), as_written);
                    product
                        .check_label_rate(species, of_species)
                        .map_err(|error| self.dose(key(&part), error))?;
                    if rates.insert(species.id.clone(), of_species).is_some() {
                        let same = |other: &&String| {
                            find_species(other).is_ok_and(|other| other.id == species.id)
                        };
                        let first = by_species.keys().find(same).cloned().unwrap_or_default();
                        return Err(JobError::OneGrassTwice {
                            file: self.file.into(),
                            key: key("rates"),
                            first,
                            second: name.clone(),
                        });
                    }
                }
                (RateChoice::BySpecies(rates), WrittenRates::BySpecies(written))
            }
            (None, None) => {
                let mut chosen = ChosenProduct::at_its_label_rates(product)
                    .map_err(|error| self.dose(key("rate"), error))?;
                chosen.label_checked = label_checked.or(chosen.label_checked);
                return Ok((chosen, WrittenRates::OfProductFile));
            }
        };
        let chosen = ChosenProduct { product, rates, label_checked };
        Ok((chosen.checked_with_its_file(), written))
    }

    pub(crate) fn find_product(&self, name: &str, key: &str) -> Result<Product, JobError> {
        if name.ends_with(".toml") {
            let text = (self.load)(name).map_err(|reason| JobError::ProductFile {
                file: self.file.into(),
                key: key.into(),
                path: name.into(),
                reason,
            })?;
            return Product::from_toml(&text)
                .map_err(|error| self.dose(format!("{key} ({name})"), error));
        }
        find_product(name).cloned().map_err(|error| self.dose(key, error))
    }
}

/// Of a key that serde does not know, the nearest that it knows: `; did you mean "equipment"?`.
fn meant(message: &str) -> String {
    let mut quoted = message.split('`').skip(1).step_by(2);
    let (true, Some(unknown)) = (message.starts_with("unknown field"), quoted.next()) else {
        return String::new();
    };
    let near = nearest(unknown, quoted);
    near.map_or_else(String::new, |known| format!("; did you mean {known:?}?"))
}

/// The kinds that a setback can be kept from, for messages.
pub(crate) fn hazard_kinds() -> String {
    let kinds = Kind::ALL.into_iter().filter(|kind| kind.keeps_a_distance());
    kinds.map(Kind::name).collect::<Vec<_>>().join(", ")
}
