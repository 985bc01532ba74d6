//! What stands in a job file, word for word; [`crate::job`] makes sense of it. The JSON Schema
//! is made of the same types, so that no key can be read and not be in it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use crate::job_schema as words;

/// What is to be done on a property: what grows there, with what it is treated, and at which rates
/// of the label.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "turfplat job file", extend("required" = ["application"]))]
pub(crate) struct JobFile {
    /// What is known of the property.
    #[serde(default)]
    pub(crate) site: SiteTable,
    /// Own distances by kind of feature, such as water = "30 ft"; of all that speak the largest
    /// governs.
    #[serde(default)]
    #[schemars(extend("propertyNames" = words::hazards()))]
    pub(crate) setbacks: BTreeMap<String, String>,
    /// With what it is put down, by a name of your own, such as [equipment.knapsack].
    #[serde(default)]
    pub(crate) equipment: BTreeMap<String, EquipmentTable>,
    /// Each is one trip that puts one product or tank mix on some zones.
    #[serde(default)]
    #[schemars(extend("minItems" = 1))]
    pub(crate) application: Vec<ApplicationTable>,
    /// The user's own setback rules.
    #[serde(default)]
    pub(crate) rule: Vec<RuleTable>,
    /// By product id: what it is sold in, instead of what its file says.
    #[serde(default)]
    pub(crate) buy: BTreeMap<String, BuyTable>,
    /// What has been put down already, each treatment once; counted towards yearly limits and
    /// intervals.
    #[serde(default)]
    pub(crate) history: Vec<HistoryTable>,
    /// When the applications without a date are repeated; reckoned by `turfplat season`.
    pub(crate) season: Option<SeasonTable>,
    /// What is asked of the weather beyond what labels ask; it only tightens.
    #[serde(default)]
    pub(crate) weather: WeatherTable,
}

/// The days of a season, and how far apart its treatments are.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("not" = words::both("from", "green_up")))]
pub(crate) struct SeasonTable {
    /// The first day, such as "2026-04-15"; or give green_up.
    #[serde(default)]
    #[schemars(schema_with = "words::day")]
    pub(crate) from: Option<Date>,
    /// By which figures of yours the turf is taken to be green; or give from.
    pub(crate) green_up: Option<GreenUpTable>,
    /// The last day, such as "2026-10-15".
    #[serde(default)]
    #[schemars(schema_with = "words::day")]
    pub(crate) until: Option<Date>,
    /// Days between two treatments as your label asks for them, such as "28 days" or "4 weeks";
    /// without it the label's shortest interval.
    pub(crate) interval: Option<String>,
    /// At most so many treatments of a zone.
    #[schemars(range(min = 1))]
    pub(crate) most: Option<u32>,
    /// First and last day of each time in which nothing is put down, such as
    /// [["2026-07-01", "2026-08-20"]].
    #[serde(default)]
    #[schemars(schema_with = "words::pauses")]
    pub(crate) pauses: Option<Vec<[Date; 2]>>,
    /// Where a year's limit leaves less than the rate: "lower" the rate to what is left, if that is not
    /// below the least that is known to work, or "drop" the treatment; lower without it.
    #[schemars(extend("enum" = words::at_limit()))]
    pub(crate) at_limit: Option<String>,
    /// Id of a model of degree-days; it may put a treatment off, and never brings it forward.
    pub(crate) model: Option<String>,
    /// Of zones whose grass grows in warmth, what differs.
    pub(crate) warm: Option<SeasonPartTable>,
    /// Of zones whose grass grows in coolness, what differs.
    pub(crate) cool: Option<SeasonPartTable>,
    /// By zone name, what differs.
    #[serde(default)]
    pub(crate) zones: BTreeMap<String, SeasonPartTable>,
}

/// What differs in a season for some zones.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("not" = words::both("from", "green_up")))]
pub(crate) struct SeasonPartTable {
    /// The first day; or give green_up.
    #[serde(default)]
    #[schemars(schema_with = "words::day")]
    pub(crate) from: Option<Date>,
    /// By which figures of yours the turf is taken to be green; or give from.
    pub(crate) green_up: Option<GreenUpTable>,
    /// The last day.
    #[serde(default)]
    #[schemars(schema_with = "words::day")]
    pub(crate) until: Option<Date>,
    /// Days between two treatments, such as "28 days".
    pub(crate) interval: Option<String>,
    /// At most so many treatments of a zone.
    #[schemars(range(min = 1))]
    pub(crate) most: Option<u32>,
    /// First and last day of each time in which nothing is put down.
    #[serde(default)]
    #[schemars(schema_with = "words::pauses")]
    pub(crate) pauses: Option<Vec<[Date; 2]>>,
}

/// Figures by which turf is taken to be green: yours, for none is in print here. Give soil with days,
/// or degree_days with base.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = words::green_up()))]
pub(crate) struct GreenUpTable {
    /// The soil is at least so warm, such as "50 F"; needs days.
    pub(crate) soil: Option<String>,
    /// On so many days one after the other.
    #[schemars(range(min = 1))]
    pub(crate) days: Option<u32>,
    /// So much warmth was counted, such as "100 C" or "180 F" of degrees times days; needs base.
    pub(crate) degree_days: Option<String>,
    /// The temperature above which warmth counts, such as "0 C".
    pub(crate) base: Option<String>,
    /// The first day that counts, such as "2026-01-01".
    #[schemars(schema_with = "words::day")]
    pub(crate) since: Date,
}

/// Limits of one's own for the hours in which something is put down; the strictest of all governs.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct WeatherTable {
    /// Not in less wind, such as "3 mph".
    pub(crate) wind_at_least: Option<String>,
    /// Not in more wind, such as "8 mph".
    pub(crate) wind_at_most: Option<String>,
    /// Not in stronger gusts, such as "12 mph".
    pub(crate) gust_at_most: Option<String>,
    /// How long it must stay dry, such as "6 h".
    pub(crate) rain_free: Option<String>,
    /// Not where rain is likelier than this, such as "10 %".
    pub(crate) rain_chance_at_most: Option<String>,
    /// Not when it is cooler, such as "50 F".
    pub(crate) temperature_at_least: Option<String>,
    /// Not when it is hotter, such as "85 F".
    pub(crate) temperature_at_most: Option<String>,
    /// A leaf that is likely wet with dew is not fit, instead of remarked on.
    pub(crate) dry_leaf: Option<bool>,
    /// Path of a table (CSV) beside this job with the columns rule, limit and source, as in
    /// data/spray-weather.csv: its rows stand instead of this tool's defaults.
    pub(crate) defaults: Option<String>,
}

/// A row of one's own beside those of the table of setback rules.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct RuleTable {
    /// Its id, such as "town-pond"; one of the table of rules replaces that row.
    pub(crate) id: String,
    /// The place whose rule it is; it binds everywhere without it.
    pub(crate) jurisdiction: Option<String>,
    /// The kind of feature from which the distance is kept, such as "water".
    #[schemars(extend("enum" = words::hazard_kinds_listed()))]
    pub(crate) kind: String,
    /// For whom: "apply", or "mix" for the place where tanks are filled.
    #[schemars(extend("enum" = ["apply", "mix"]))]
    pub(crate) activity: Option<String>,
    /// The products that it is about: "any", "fertilizer", "phosphorus", "pesticide" or "active:NAME".
    pub(crate) products: Option<String>,
    /// The distance with its unit, such as "25 ft".
    pub(crate) base: String,
    /// The distance that is enough with what stands in reduced_by.
    pub(crate) reduced: Option<String>,
    /// The equipment that reduces it, such as "drop spreader".
    #[serde(default)]
    #[schemars(schema_with = "words::reductions")]
    pub(crate) reduced_by: Words,
    /// The width of a natural vegetated strip behind which it does not bind.
    pub(crate) waived_behind: Option<String>,
    /// Whom it binds: "everyone", or "hired".
    #[schemars(extend("enum" = ["everyone", "hired"]))]
    pub(crate) binds: Option<String>,
    /// What it is measured from, such as "top of bank".
    pub(crate) measured_from: Option<String>,
    /// What else must be read for oneself.
    pub(crate) conditions: Option<String>,
    /// Where it stands.
    pub(crate) source: Option<String>,
    /// When it was read.
    pub(crate) read: Option<String>,
}

/// In what a product is sold.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct BuyTable {
    /// What the product is sold in.
    pub(crate) containers: Vec<ContainerTable>,
}

/// One size of container.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ContainerTable {
    /// What it holds, such as "1 gal".
    pub(crate) size: String,
    /// What it costs, in quotes, such as "39.95".
    pub(crate) price: Option<Price>,
}

/// Money is counted in decimals; a bare 39.95 of TOML would be a binary fraction.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected a price in quotes, such as \"39.95\"")]
pub(crate) enum Price {
    Whole(u32),
    Text(String),
}

impl Price {
    pub(crate) fn into_text(self) -> String {
        match self {
            Price::Whole(whole) => whole.to_string(),
            Price::Text(text) => text,
        }
    }
}

/// One treatment of the past: a product, and its rate or how much of it went on in all.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct HistoryTable {
    /// The day, such as "2026-05-02"; not after the day of the plan.
    #[schemars(schema_with = "words::day")]
    pub(crate) date: Date,
    /// Id from `turfplat products`, or path of a product file.
    pub(crate) product: String,
    /// How much product went on all of its zones together, such as "12 fl oz"; or give rate.
    pub(crate) amount: Option<String>,
    /// How much went on an area, such as "0.5 fl oz/1000 sq ft"; or give amount.
    pub(crate) rate: Option<String>,
    /// The ground that the amount went on, such as "4800 sq ft"; without it what is treated of
    /// these zones today.
    pub(crate) area: Option<String>,
    /// The zone that it went on; or give zones. Without both every zone.
    pub(crate) zone: Option<Words>,
    /// The zones that it went on.
    pub(crate) zones: Option<Words>,
    /// A remark for people.
    pub(crate) note: Option<String>,
}

/// What is known of the property.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct SiteTable {
    /// Name of the property, for titles, where the map gives none.
    pub(crate) name: Option<String>,
    /// Grass of zones of which neither the map nor [site.species] speaks, by an id or name from
    /// the species list; several for a mixed stand.
    pub(crate) default_species: Option<Words>,
    /// Places whose rules apply, such as "maine"; see the list of rules.
    #[serde(default)]
    pub(crate) jurisdiction: Words,
    /// Applied for hire. Where it is not said, rules that bind work for hire are kept.
    pub(crate) hired: Option<bool>,
    /// Path of a table of setback rules of one's own.
    pub(crate) rules: Option<String>,
    /// Grass by zone name; it outranks what the map says.
    #[serde(default)]
    pub(crate) species: BTreeMap<String, Words>,
}

/// What the product is put down with.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("dependentRequired" = words::with_swath()))]
pub(crate) struct EquipmentTable {
    /// What it is.
    #[schemars(extend("enum" = words::equipment_kinds()))]
    pub(crate) kind: String,
    /// What the tank holds, such as "4 gal"; of a spreader what its hopper holds, such as "40 lb".
    pub(crate) tank: Option<String>,
    /// Spray per area from calibration, such as "1 gal/1000 sq ft"; of a spreader none.
    pub(crate) spray_volume: Option<String>,
    /// The smallest mark of your cup or scale, such as "0.25 fl oz"; of both, such as
    /// ["0.25 fl oz", "0.1 oz wt"].
    #[serde(default)]
    #[schemars(schema_with = "words::one_or_more")]
    pub(crate) smallest_measure: Option<Words>,
    /// What stays in hose and sump and cannot be sprayed, such as "0.1 gal".
    pub(crate) dead_volume: Option<String>,
    /// How spray is parted: full loads and a last one, or the fewest that are all alike.
    #[schemars(extend("enum" = words::load_plans()))]
    pub(crate) plan: Option<String>,
    /// What setback rules may count as reducing a distance.
    #[serde(default)]
    #[schemars(schema_with = "words::reductions")]
    pub(crate) reduces: Words,
    /// The speed over the ground at which it was calibrated, such as "3 mph".
    pub(crate) speed: Option<String>,
    /// How its dial is set, such as "4.5 for 3 lb/1000 sq ft": told to whoever works with it.
    pub(crate) setting: Option<String>,
    /// The width that one pass covers, such as "5 ft"; with it passes are laid over each zone.
    pub(crate) swath: Option<String>,
    /// A pass along all edges first; needs swath.
    pub(crate) edge_first: Option<bool>,
    /// How long a turn from one pass to the next takes, such as "4 s"; needs swath.
    pub(crate) turning: Option<String>,
}

/// One trip that puts one product or tank mix on some zones.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("required" = ["name", "equipment", "product"]))]
#[schemars(extend("not" = words::both("date", "season")))]
pub(crate) struct ApplicationTable {
    /// Its name, unique in the job, such as "June".
    pub(crate) name: String,
    /// The name of one of the equipment tables.
    pub(crate) equipment: String,
    /// The day on which it is done, such as "2026-06-08"; without it the day of the plan.
    #[serde(default)]
    #[schemars(schema_with = "words::day")]
    pub(crate) date: Option<Date>,
    /// Zones in the order in which they are walked; every zone of the map without it.
    #[serde(default)]
    #[schemars(schema_with = "words::one_or_more")]
    pub(crate) zones: Option<Words>,
    /// What stays in hose and sump, where it is not as with the equipment.
    pub(crate) dead_volume: Option<String>,
    /// How spray is parted, where it is not as with the equipment.
    #[schemars(extend("enum" = words::load_plans()))]
    pub(crate) plan: Option<String>,
    /// The tank mix, or the one product.
    #[serde(default)]
    #[schemars(extend("minItems" = 1))]
    pub(crate) product: Vec<ProductTable>,
    /// When it is repeated, where that differs from the job's season; not of one with a date.
    pub(crate) season: Option<SeasonTable>,
}

/// One product at your label's rate.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("not" = words::both("rate", "rates")))]
pub(crate) struct ProductTable {
    /// Id from the list of products, or the path of a product file (.toml) beside this job.
    pub(crate) product: String,
    /// Rate for every grass, such as "0.3 fl oz/1000 sq ft", "1 lb N/1000 sq ft", "2 lb a.i./A" or
    /// "0.75 lb a.e./A" (acid equivalent).
    pub(crate) rate: Option<String>,
    /// Rates by grass, such as tall-fescue = "0.6 fl oz/1000 sq ft"; a grass without one gets none.
    pub(crate) rates: Option<BTreeMap<String, String>>,
    /// Which of the label's uses in the product file is meant, such as "lawn".
    pub(crate) r#use: Option<String>,
    /// At which height the turf is cut, such as "0.5 in", where the label gives rates by it.
    pub(crate) mowing_height: Option<String>,
    /// The day on which you took the rate from your label, such as "2026-05-02". Without it nothing
    /// is dosed.
    #[serde(default)]
    #[schemars(schema_with = "words::day")]
    pub(crate) label_checked: Option<Date>,
    /// Where the label allows a rate that is refused as far from what is usual, such as "page 3: 40 fl
    /// oz/1000 sq ft on moss". It stands in the plan, and lifts no maximum of the label.
    pub(crate) rate_is_right: Option<String>,
}

/// One text, or several in an array.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(untagged)]
pub(crate) enum Words {
    One(String),
    Several(Vec<String>),
}

impl Default for Words {
    fn default() -> Words {
        Words::Several(Vec::new())
    }
}

impl Words {
    pub(crate) fn into_vec(self) -> Vec<String> {
        match self {
            Words::One(word) => vec![word],
            Words::Several(words) => words,
        }
    }

    /// Also parted at commas, as a mixed stand is written.
    pub(crate) fn parted(self) -> Vec<String> {
        let words = self.into_vec();
        let parts = words.iter().flat_map(|word| word.split(','));
        parts.map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect()
    }
}

/// A date as text or as TOML's own date.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
pub(crate) enum Date {
    Text(String),
    Date(toml::value::Datetime),
}

impl Date {
    pub(crate) fn into_text(self) -> String {
        match self {
            Date::Text(text) => text,
            Date::Date(date) => date.to_string(),
        }
    }
}
