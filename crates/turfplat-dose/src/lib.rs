//! Why doses are worked out apart from the map.
//!
//! What a zone takes depends on its area, its grass, the product, its label and the
//! tank, never on its outline. So this crate knows no polygons: areas come in, amounts
//! go out, and every published figure that it shows carries its source. A figure from
//! research or practice is shown beside a dose and never used for one; only a rate that
//! the user took from the label on a date is dosed.

mod active_names;
mod batch;
mod bounds;
mod buying;
mod calibrate;
mod caps;
mod catalogue;
mod cautions;
mod check;
mod chosen;
mod convert;
mod counted;
mod date;
mod dose;
mod equipment;
mod error;
mod held;
mod held_nitrogen;
mod held_rate;
mod held_spray;
mod keep_off;
mod label;
mod label_card;
mod label_range;
mod label_use;
mod limit;
mod loads;
mod mixing;
mod names;
mod own_rules;
mod plausible;
mod posting;
mod product;
mod product_draft;
mod product_facts;
mod product_file;
mod product_rows;
mod product_said;
mod product_toml;
mod provenance;
mod published;
mod rules;
mod setback;
mod skip;
mod species;
mod strength;
mod worked;
mod year;
mod zone;

pub use batch::{Batch, Cover, DeadVolume, Fill, Load, LoadProduct};
pub use bounds::doubt_spray_volume;
pub use buying::{Bought, Container, ContainerText, Need, Purchase, containers};
pub use calibrate::{
    CalibrateError, Catch, FlowOf, SpreaderCheck, SpreaderSetting, Step as WorkedStep, WidthOf,
    Worked, boom_flow, boom_speed, boom_volume, boom_width, catch_course, catch_volume,
    check_spreader, extent, flow_at_pressure, half_rate, in_a_tank, pressure_for_flow, setting_for,
    speed_walked, spray_volume_units, spread_rate, spread_rate_unit, tank_covers, time_for_speed,
    used_on_area,
};
pub use caps::{NitrogenCap, nitrogen_caps};
pub use catalogue::{find_product, products};
pub use cautions::{caution_for_the_crew, cautions};
pub use chosen::{ChosenProduct, RateChoice};
pub use date::{Day, is_date};
pub use dose::{
    Dose, DosedProduct, DosedZone, batches_in_turn, check_equipment, dose, dose_on, left_of_year,
};
pub use equipment::{Equipment, EquipmentKind, LoadPlan, Reduction};
pub use error::{BelowMeasure, DoseError};
pub use keep_off::{KeepOffSaid, KeptOff, Moment, TreatedAt};
pub use label::{Hours, LabelFacts, SignalWord, Sourced, SprayVolume, Temperature};
pub use label_card::{LabelCard, LabelLine};
pub use limit::{Checked, Figure, LimitBy, LimitVerdict, Occasion, Put};
pub use loads::RATE_TOLERANCE;
pub use mixing::{FillSteps, JarTest, Step, jar_test, litre_jar, mixing_steps, quart_jar};
pub use own_rules::{RuleSet, RuleText};
pub use posting::{KeepOff, PostingRule, find_posting_rule, posting_rules};
pub use product::{
    ActiveIngredient, Caution, Form, Formulation, Interval, LabelSetback, Limits, Product,
    ProductClass, RateLimit, Unfit,
};
pub use product_draft::{Draft, QUESTIONS, Question, TEMPLATE};
pub use product_facts::Fact;
pub use product_file::whole_days;
pub use product_toml::product_schema;
pub use provenance::{Basis, Provenance, Status};
pub use published::{PublishedRate, nitrogen_for};
pub use rules::{Activity, Binds, ProductScope, Rule, rules};
pub use setback::{
    Circumstances, Setback, Spoken, SpokenBy, check_jurisdictions, governing, mixing_distance,
};
pub use skip::Skipped;
pub use species::{Season, Species, all_species, find_species, species_names};
pub use strength::{Analysis, Content, Density};
pub use worked::plan_rate_unit;
pub use year::LabelYear;
pub use zone::{Condition, ZoneToTreat};

pub use turfplat_money::Money;
