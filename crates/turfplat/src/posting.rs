//! Why signs are counted here and not by whoever carries them: a rule gives a distance along the edge of
//! what is treated, and that edge is known only once beds and setbacks are taken out. Where a rule gives no
//! distance no number follows, and none is made up.

use geo::{Contains, Euclidean, InteriorPoint, Length as _, Polygon};
use turfplat_dose::{
    Day, KeptOff, Moment, PostingRule, TreatedAt, caution_for_the_crew, find_posting_rule,
};
use turfplat_measure::{Ground, OUTLINE_TOLERANCE_METRES};
use turfplat_units::{Area, Length, UnitSystem};

use crate::job::Job;
use crate::plan::{ApplicationPlan, PropertyPlan};

/// What stands on notices beside what the plan knows, and by whose rule.
#[derive(Clone, Copy, Debug)]
pub struct PostingOptions<'a> {
    /// The rule of the state.
    pub rule: &'static PostingRule,
    /// The day of applications that have none of their own in the job.
    pub day: Option<Day>,
    /// When the treatment ends, as `10:30`; of no use without a day.
    pub time: Option<&'a str>,
    /// Who treats; `None` is a blank to fill in, as are the next two.
    pub business: Option<&'a str>,
    /// How whoever treats is reached.
    pub contact: Option<&'a str>,
    /// Whose turf it is.
    pub customer: Option<&'a str>,
}

/// What is posted for one application on one property.
#[derive(Clone, Debug)]
pub struct Posting<'a> {
    /// The property's id, or the name of a map that is one property.
    pub property: String,
    /// The application's name in the job.
    pub application: &'a str,
    /// The rule of the state.
    pub rule: &'static PostingRule,
    /// When it is treated, as far as that is known.
    pub treated: TreatedAt,
    /// What stands on each sign, line by line.
    pub notice: Vec<NoticeLine>,
    /// How many signs, and how they were counted.
    pub markers: Markers,
    /// How long people keep off.
    pub keep_off: KeptOff,
    /// What is still to be read or asked.
    pub notes: Vec<String>,
    /// These replace no label.
    pub cautions: Vec<String>,
}

/// A line of a notice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoticeLine {
    /// What it says.
    pub what: &'static str,
    /// Its words; `None` is a blank to fill in.
    pub text: Option<String>,
}

/// How many signs a treated ground needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Markers {
    /// In all; `None` where no number follows from the rule.
    pub count: Option<u64>,
    /// How they were counted, or why they were not.
    pub how: String,
    /// Each separate piece of what is treated, the longest edge first.
    pub pieces: Vec<Piece>,
}

/// One piece of treated ground, apart from all others.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Names of the zones of which it has a part.
    pub zones: Vec<String>,
    /// The length of its outer edge.
    pub perimeter: Length,
    /// Its area on the map.
    pub area: Area,
    /// Its signs; `None` where no number follows from the rule.
    pub markers: Option<u64>,
}

impl Job {
    /// The posting rule of the job's place; `None` where none of its places has one here, or two have.
    pub fn posting_rule(&self) -> Option<&'static PostingRule> {
        let mut found = self.jurisdictions.iter().filter_map(|place| find_posting_rule(place).ok());
        found.next().filter(|_| found.next().is_none())
    }
}

/// What is posted for an application of a plan; `None` where it treats nothing.
pub fn posting<'a>(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'a>,
    job: &Job,
    options: &PostingOptions<'_>,
) -> Option<Posting<'a>> {
    let PostingOptions { rule, .. } = *options;
    if application.zones.is_empty() {
        return None;
    }
    let of_job = job.applications.iter().find(|it| it.name == application.name);
    let day = of_job.and_then(|it| it.day).or(options.day);
    let end = day.zip(options.time).and_then(|(day, time)| Moment::read(day, time));
    let treated = TreatedAt { day, end };
    let keep_off = KeptOff::of(Some(rule), &application.products, treated);
    let markers = markers(plan, application, rule);
    Some(Posting {
        property: plan.property.clone(),
        application: application.name,
        rule,
        treated,
        notice: notice(plan, application, &keep_off, treated, options),
        notes: notes(application, rule, &markers, &keep_off, treated),
        markers,
        keep_off,
        cautions: application.cautions.iter().map(|it| caution_for_the_crew(it)).collect(),
    })
}

/// For a work order: how many signs and how long people keep off; `None` where the job's place has no
/// rule here.
pub(crate) fn posting_line(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
) -> Option<String> {
    let rule = plan.posting.filter(|_| !application.zones.is_empty())?;
    let signs = match markers(plan, application, rule).count {
        Some(1) => "1 sign".to_owned(),
        Some(count) => format!("{count} signs"),
        None => "a sign at each place where people usually enter".to_owned(),
    };
    let treated = TreatedAt { day: application.day, end: None };
    let kept = KeptOff::of(Some(rule), &application.products, treated).short_words();
    let kept = kept.map_or_else(
        || "the label says how long people keep off".to_owned(),
        |words| format!("keep off {words}"),
    );
    Some(format!("Posting, {}: {signs}; {kept} ({})", rule.state_name, rule.provenance))
}

fn notice(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    keep_off: &KeptOff,
    treated: TreatedAt,
    options: &PostingOptions<'_>,
) -> Vec<NoticeLine> {
    let line = |what, text: Option<String>| NoticeLine { what, text };
    let given = |text: Option<&str>| text.map(str::to_owned);
    let products = application.products.iter().map(|product| {
        let registration = product.label.epa_registration.as_ref();
        let registration = registration.map(|it| format!(" (EPA Reg. No. {it})"));
        format!("{}{}", product.name, registration.unwrap_or_default())
    });
    let when = treated.end.map(|end| end.iso().replace('T', " "));
    vec![
        line("notice", Some("This turf is treated: keep off".to_owned())),
        line("place", Some(plan.property.clone())),
        line("treated with", Some(products.collect::<Vec<_>>().join(", "))),
        line("treated on", when.or_else(|| treated.day.map(|day| day.to_string()))),
        line("keep off", keep_off.words()),
        line("treated by", given(options.business)),
        line("reached by", given(options.contact)),
        line("for", given(options.customer)),
    ]
}

fn notes(
    application: &ApplicationPlan<'_>,
    rule: &PostingRule,
    markers: &Markers,
    keep_off: &KeptOff,
    treated: TreatedAt,
) -> Vec<String> {
    let mut notes = vec![format!(
        "whom and which products the rule binds, and which words it wants on a sign, is not in this table: read {}",
        rule.provenance.source.as_deref().unwrap_or("the rule")
    )];
    if rule.keep_off.is_none() {
        notes.push(format!("how long people keep off is not in the row of {}", rule.state_name));
    }
    if treated.end.is_some() {
        notes.push("until when people keep off is counted in hours of a clock that nobody sets meanwhile: on the days on which clocks change, put the hour to it in spring and take it off in fall, or keep to the later of the two".to_owned());
    }
    let pieces = |count: usize| match count {
        1 => "1 piece is".to_owned(),
        count => format!("{count} pieces are"),
    };
    let crumbs = markers.pieces.iter().filter(|it| is_crumb(it.area)).count();
    if crumbs > 0 && rule.spacing.is_some() {
        notes.push(format!(
            "{} smaller than {CRUMB} sq ft and counted without a sign: what is left of a drawing; look at the \
             place, and mark it if it is treated",
            pieces(crumbs)
        ));
    }
    let scraps = markers.pieces.iter().filter(|it| it.area.square_feet() < SCRAP);
    let scraps = scraps.filter(|it| !is_crumb(it.area)).count();
    if scraps > 0 {
        let are = pieces(scraps);
        notes.push(format!(
            "{are} smaller than {SCRAP} sq ft: what you leave untreated needs no sign of its own"
        ));
    }
    if application.products.iter().all(|product| !product.is_pesticide()) {
        notes.push(
            "no product of it is a pesticide by its file: read whether the rule binds it".into(),
        );
    }
    for product in &keep_off.not_given {
        notes.push(format!(
            "{product}: its product file does not say when people may go back; read it on the label, and the longer time holds"
        ));
    }
    notes
}

/// A piece below this, in square feet, is often left out by whoever walks there; a choice of this tool.
const SCRAP: f64 = 10.0;

/// A piece below this, in square feet, is no sign of its own: nobody sees where to put one; a choice of
/// this tool.
const CRUMB: f64 = 1.0;

fn is_crumb(area: Area) -> bool {
    area.square_feet() < CRUMB
}

/// A piece below this is what two drawings of one edge leave between them, in square metres.
const SPECK: f64 = 0.01;

fn markers(
    plan: &PropertyPlan<'_>,
    application: &ApplicationPlan<'_>,
    rule: &PostingRule,
) -> Markers {
    let zones: Vec<(&str, Ground)> = (application.zones.iter())
        .map(|zone| (zone.zone.as_str(), plan.outline(application, zone)))
        .collect();
    let whole = Ground::joined(zones.iter().map(|(_, ground)| ground));
    let mut pieces: Vec<Piece> =
        whole.polygons().iter().filter_map(|polygon| piece(polygon, &zones, rule)).collect();
    pieces.sort_by(|one, other| other.perimeter.metres().total_cmp(&one.perimeter.metres()));
    let how = match rule.spacing {
        Some(spacing) => format!(
            "at most {} from one to the next {}: the outer edge of each piece that is treated, divided by that and rounded up; zones that touch are one piece, and edges of beds and the like inside it are not counted",
            spacing.print(UnitSystem::Us),
            rule.placed.as_deref().unwrap_or("along the edge"),
        ),
        None => {
            let where_to = rule.placed.as_ref().map(|it| format!(" ({it})")).unwrap_or_default();
            format!(
                "no distance from one to the next is in the row of {}, so no number follows: one at each place where people usually enter{where_to}; how many those are, you know",
                rule.state_name
            )
        }
    };
    let count: Option<u64> = pieces.iter().map(|piece| piece.markers).sum();
    // What is treated has a sign, be it ever so small.
    let count = count.map(|count| count.max(pieces.len().min(1) as u64));
    Markers { count: rule.spacing.and(count), how, pieces }
}

fn piece(polygon: &Polygon<f64>, zones: &[(&str, Ground)], rule: &PostingRule) -> Option<Piece> {
    let area = geo::Area::unsigned_area(polygon);
    let perimeter = Euclidean.length(polygon.exterior());
    let names = zones.iter().filter(|(_, ground)| {
        let mut parts = ground.polygons().iter().filter_map(InteriorPoint::interior_point);
        parts.any(|inside| polygon.contains(&inside))
    });
    // What the outline may be off, and no more, does not ask for one more sign.
    let on_edge = |spacing: Length| {
        ((perimeter - OUTLINE_TOLERANCE_METRES) / spacing.metres()).ceil().max(1.0) as u64
    };
    let area = Area::from_square_metres(area).filter(|area| area.square_metres() >= SPECK)?;
    let signs = |spacing| if is_crumb(area) { 0 } else { on_edge(spacing) };
    Some(Piece {
        zones: names.map(|(name, _)| (*name).to_owned()).collect(),
        perimeter: Length::from_metres(perimeter)?,
        area,
        markers: rule.spacing.map(signs),
    })
}
