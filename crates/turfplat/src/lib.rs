//! From a property map and a job to treated areas, doses, loads and a spray map.
//!
//! ```no_run
//! use turfplat::{Job, MapSource, MeasureOptions, PlanOptions};
//!
//! let bytes = turfplat::Bytes::open("map.geojson".as_ref())?;
//! let map = turfplat::read_map(&[MapSource::geojson("map.geojson", bytes, Default::default())])?;
//! for plat in turfplat::measure(&map, &MeasureOptions::default()).plats {
//!     println!("{}: {:.1} m² net", plat.property, plat.net().square_metres());
//! }
//! let job = Job::read("job.toml", &std::fs::read_to_string("job.toml")?, &|path| std::fs::read_to_string(path))?;
//! let planned = turfplat::plan(&map, &job, &PlanOptions::default())?;
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod aerial;
mod buying;
mod cause;
mod day_json;
mod day_loads;
mod day_order;
mod day_sheet;
mod drawing;
mod explain;
mod export;
mod far_hazards;
mod finding;
mod history;
mod in_place;
mod job;
mod job_draft;
mod job_error;
mod job_extras;
mod job_file;
mod job_schema;
mod join;
mod json;
mod ledger_history;
mod made_from;
mod mixing_words;
mod neighbourhood;
mod plan;
mod plat;
mod posting;
mod posting_json;
mod print;
mod quote;
mod quote_json;
mod quote_map;
mod quote_number;
mod record;
mod refusal;
mod season;
mod setback_words;
mod setbacks;
mod site;
mod site_map;
mod sizes;
mod spray_map;
mod stray;
mod taking;
mod trip;
mod walking;
mod walking_json;
mod walking_words;
mod weather;
mod wind;
mod windows;
mod windows_chart;
mod windows_json;
mod work_order;

pub use aerial::{AerialPicture, AerialRefusal, AerialUnder};
pub use buying::{Shopping, ZoneCost, cost_areas, purchase_json};
pub use cause::Cause;
pub use day_json::day_json;
pub use day_order::{CarriedProduct, DayLoad, DayOrder, DayStop, day_order};
pub use day_sheet::{DayError, DaySheet, Stop, StopZone, day_sheet};
pub use explain::{
    ExplainError, ExplainWhat, Explained, ExplainedPart, ExplainedStep, Explanation, Said, Stopped,
    explain,
};
pub use export::export_layers;
pub use finding::{Finding, for_each_note};
pub use history::{LaidTreatment, PutDown, ToldBy, Treatment};
pub use in_place::{InPlace, in_place};
pub use job::{Application, Job};
pub use job_draft::{JobDraft, JobQuestion};
pub use job_error::{ApplicationError, JobError};
pub use job_schema::job_schema;
pub use json::{measure_json, plan_json, plat_json, property_plan_json};
pub use ledger_history::FromLedger;
pub use made_from::MadeFrom;
pub use mixing_words::{MixingSheet, MixingStep, rest_and_rinsing};
pub use plan::{
    ApplicationPlan, AppliedSetback, KeptFor, PlanOptions, Planned, PropertyPlan, SkippedZone,
    TreatedZone, plan, plan_each,
};
pub use plat::{Loss, MeasureOptions, Measured, Plat, PlatZone, Unkept, measure, measure_each};
pub use posting::{Markers, NoticeLine, Piece, Posting, PostingOptions, posting};
pub use posting_json::posting_json;
pub use print::Print;
pub use quote::{NotTreated, PropertyQuote, Quoting};
pub use quote_map::{plat_map, quote_map};
pub use record::{
    FinishedPlan, Happened, HappenedLoad, HappenedProduct, PlannedWork, RecordError, RecordSheet,
    SheetLoad, SheetProduct, SheetZone, TrailLine, beside_others, filled_in, record_form,
    record_json, record_sheet, record_sums,
};
pub use refusal::{Refusal, refusals};
pub use season::{
    Course, DroppedRound, NotPlanned, PropertySeason, Round, RoundZone, SeasonOptions, season_each,
    season_events, season_json,
};
pub use setback_words::to_watch;
pub use spray_map::{is_readable, spray_map};
pub use walking::{LoadMark, Walked, Walking, ZoneWalk};
pub use walking_json::passes_geojson;
pub use walking_words::{OrderedPasses, OrderedWalk, ordered_walk};
pub use wind::{NoDirection, Wind, WindFrom};
pub use windows::{Needs, SprayWindows, ToldWindow, WindowsError, spray_windows};
pub use windows_chart::{between as window_span, strip_chart};
pub use windows_json::windows_json;
pub use work_order::{
    CoveredGround, KeptDistance, LabelBlock, LeftOut, OrderedBatch, OrderedLoad, OrderedProduct,
    OrderedZone, WorkOrder, work_order,
};

pub use turfplat_dose as dose;
pub use turfplat_ledger as ledger;
pub use turfplat_map::{
    Bytes, Columns, CoordinateSystem, Kind, MapError, Problem as MapProblem, PropertyMap,
    ReadError, Shape as MapShape, Source as MapSource, Table as MapTable, Values, WriteError,
    feature_collection, feature_text, geojson_layers, geojson_rows, geopackage, kml,
    of_stream as open_stream, open as open_map, read as read_map, read_watched as read_map_watched,
    shapefile, values_of,
};
pub use turfplat_measure::{DrawnError, Ground, Plane};
pub use turfplat_passes as passes;
pub use turfplat_price as price;
pub use turfplat_season as timing;
pub use turfplat_sheet as sheet;
pub use turfplat_units as units;
