//! From the corners on the map to the area that is treated.

use turfplat_dose::{Setback, SpokenBy, WorkedStep};
use turfplat_map::{Feature, Kind};
use turfplat_units::{Area, Length, UnitSystem, decimal};

use super::ExplainedStep;
use super::scene::{Scene, put, step};
use crate::cause::Cause;
use crate::plan::KeptFor;
use crate::setbacks::{kept_from, position_error, told_within};
use crate::site::Laid;
use crate::taking::on_slope;

const SNYDER: &str = "Snyder (1987), USGS Professional Paper 1395, ch. 24 (EPSG method 9820)";
const FOOT: &str = "1 sq ft = 0.3048² m² = 0.09290304 m², exact (NIST and NOAA, 85 FR 62698, 2020)";
const SHOELACE: &str =
    "the surveyor's formula: Gauss, half the sum of cross products round the outline";
const TOLERANCE: &str = "±5 % for a rate: UMass Extension, Rotary spreader calibration procedures";

/// An outline of more corners is summed in the JSON form alone: nobody does it by hand.
const MOST_CORNERS: usize = 8;

impl Scene<'_> {
    pub(super) fn ground(&self) -> Vec<ExplainedStep> {
        let mut steps = vec![self.plane(), self.outline()];
        if self.units == UnitSystem::Us {
            let square_metres = put(self.gross.square_metres());
            let worked = WorkedStep {
                formula: "sq ft = m² ÷ 0.09290304".into(),
                numbers: format!("{square_metres} ÷ 0.09290304"),
                result: self.area(self.gross),
                source: FOOT.into(),
            };
            steps.push(step("In square feet").worked(worked));
        }
        steps.extend(self.losses());
        steps.extend(self.kept_for_nothing());
        let mut treated = step("Treated area");
        treated = treated.said(match self.units {
            UnitSystem::Us => {
                format!(
                    "{}, which is {} m²",
                    self.area(self.treated),
                    put(self.treated.square_metres())
                )
            }
            UnitSystem::Metric => self.area(self.treated),
        });
        for unkept in self.site.without_setback(self.setbacks) {
            treated = treated
                .said(format!("no setback is kept from {} {:?}", unkept.kind, unkept.feature));
        }
        steps.push(treated);
        steps.extend(self.slope());
        steps.extend(self.drawing());
        steps
    }

    fn plane(&self) -> ExplainedStep {
        let at = format!("drawn in {}", self.zone().feature.at);
        let step = step("Where it lies").said(at);
        match self.site.centre {
            Some(centre) => step.said_by(
                format!(
                    "laid on a Lambert azimuthal equal-area plane of WGS 84, centered at {:.6}°, {:.6}° (latitude, longitude): areas on it are true",
                    centre.y, centre.x
                ),
                SNYDER,
            ),
            None => step.said("the map is on a plane already; nothing is projected"),
        }
    }

    fn outline(&self) -> ExplainedStep {
        let shape = &self.zone().shape;
        let whole = format!("{} m²", put(self.gross.square_metres()));
        let Some(rings) = shape.rings().filter(|rings| self.is_sum_of(rings)) else {
            return step("Outline as drawn").said(format!(
                "{whole}; of strips, discs or parts that overlap, each ground counted once"
            ));
        };
        let corners: usize = rings.iter().map(|ring| ring.len() - 1).sum();
        let mut drawn = step("Outline as drawn").said(match rings.len() {
            1 => format!("{corners} corners"),
            several => format!(
                "{corners} corners in {several} rings; holes run clockwise and count as less"
            ),
        });
        for repair in &self.zone().repairs {
            drawn = drawn.said(repair.message);
        }
        if corners > MOST_CORNERS {
            return drawn.said_by(
                format!(
                    "{whole} = ½ × Σ (east × next north − next east × north), corners in --json"
                ),
                SHOELACE,
            );
        }
        let signed = |value: f64| match value < 0.0 {
            true => format!("(−{})", decimal(-value, 4)),
            false => decimal(value, 4),
        };
        let terms = rings.iter().flat_map(|ring| ring.windows(2)).map(|side| {
            let (a, b) = (side[0], side[1]);
            format!("{} × {} − {} × {}", signed(a.x), signed(b.y), signed(b.x), signed(a.y))
        });
        let terms: Vec<String> = terms.collect();
        drawn.worked(WorkedStep {
            formula: "m² = ½ × sum over sides of (east × next north − next east × north), in m from the plane's center".into(),
            numbers: format!("½ × ({})", terms.join(" + ")),
            result: whole,
            source: SHOELACE.into(),
        })
    }

    /// Whether the area is what half the cross products of the rings come to: parts that overlap count once.
    fn is_sum_of(&self, rings: &[Vec<geo::Coord<f64>>]) -> bool {
        let twice: f64 = rings
            .iter()
            .flat_map(|ring| ring.windows(2))
            .map(|side| side[0].x * side[1].y - side[1].x * side[0].y)
            .sum();
        let gross = self.gross.square_metres();
        (twice / 2.0 - gross).abs() <= 1e-9 * gross.max(1.0)
    }

    /// What was taken, cause by cause in the order in which they take.
    fn losses(&self) -> Vec<ExplainedStep> {
        let mut steps = Vec::new();
        let mut left = self.gross.square_metres();
        let is_setback = |to: &Cause| matches!(to, Cause::Setback(_));
        let number =
            |metres: f64| self.number_of(Area::from_square_metres(metres).unwrap_or(Area::ZERO));
        for (place, loss) in self.lost.iter().enumerate() {
            let first_setback =
                is_setback(&loss.to) && !self.lost[..place].iter().any(|it| is_setback(&it.to));
            if first_setback {
                let net = Area::from_square_metres(left).unwrap_or(Area::ZERO);
                steps.push(
                    step("Net turf")
                        .said(format!("{}, before any distance is kept", self.area(net))),
                );
            }
            let after = left - loss.area.square_metres();
            let worked = WorkedStep {
                formula: format!(
                    "{unit} left = {unit} before − {unit} taken",
                    unit = self.area_unit()
                )
                .into(),
                numbers: format!(
                    "{} − {}",
                    put(number(left)),
                    put(number(loss.area.square_metres()))
                ),
                result: format!("{} {}", put(number(after)), self.area_unit()),
                source:
                    "each cause takes only of what those before it left, so no ground is lost twice"
                        .into(),
            };
            left = after;
            steps.push(self.cause(&loss.to).worked(worked));
        }
        steps
    }

    fn cause(&self, cause: &Cause) -> ExplainedStep {
        match cause {
            Cause::Zone(other) => step(format!("Less what zone {other:?} keeps"))
                .said("it has the higher priority, or stands earlier in the map"),
            Cause::Feature(kind) => {
                let touching = self.site.features.iter().filter(|laid| {
                    laid.feature.kind == *kind
                        && self.zone().shape.distance_within(Length::ZERO, &laid.shape).is_some()
                });
                let names: Vec<String> =
                    touching.map(|laid| format!("{:?}", laid.feature.name)).collect();
                let less = step(format!("Less {kind}"));
                if names.is_empty() { less } else { less.said(names.join(", ")) }
            }
            Cause::Setback(kind) => {
                let mut less = step(format!("Less what is kept from {kind}"));
                for (laid, setback, apart) in self.in_reach(*kind) {
                    less = self.governed(less, &laid.feature, setback, apart);
                }
                less
            }
            Cause::Drift(kind) => {
                let mut less =
                    step(format!("Less what is kept from {kind} for the wind of the hour"));
                if let Some(wind) = self.planned.and_then(|plan| plan.wind) {
                    less = less.said(format!("{}, and for no other hour", wind.in_words()));
                }
                for kept in self.planned.iter().flat_map(|plan| plan.kept_of(self.index)) {
                    if matches!(kept.what, KeptFor::Wind(_)) && kept.to == *kind {
                        let distance = kept.distance_in_words(self.units);
                        less =
                            less.said(format!("{distance} from {:?}: {}", kept.feature, kept.rule));
                    }
                }
                less
            }
            Cause::Parcel => {
                step("Less what lies beyond the lot line").said("as --within-parcel asks")
            }
        }
    }

    /// The features of a kind whose distance reaches the zone, and how far away they are.
    fn in_reach(&self, kind: Kind) -> impl Iterator<Item = (&Laid, &Setback, f64)> {
        let of_kind = self
            .site
            .features
            .iter()
            .zip(self.setbacks)
            .filter(move |(laid, _)| laid.feature.kind == kind);
        of_kind.filter_map(|(laid, setback)| {
            let setback = setback.as_ref()?;
            let reach = kept_from(&laid.feature, told_within(setback));
            let apart = self.zone().shape.distance_within(reach, &laid.shape)?;
            (apart < reach.metres()).then_some((laid, setback, apart))
        })
    }

    fn governed(
        &self,
        step: ExplainedStep,
        feature: &Feature,
        setback: &Setback,
        apart: f64,
    ) -> ExplainedStep {
        let print = |length: Length| length.print(self.units);
        let away = match Length::from_metres(apart).filter(|apart| *apart > Length::ZERO) {
            Some(apart) => format!("which is {} away", print(apart)),
            None => "which the turf touches".to_owned(),
        };
        let position = position_error(feature);
        let more = match position > Length::ZERO {
            true => format!(" + {} for its position", print(position)),
            false => String::new(),
        };
        let head = format!(
            "{}{more} from {} {:?}, {away}",
            print(setback.distance),
            feature.kind,
            feature.name
        );
        let mut step = step.said(head);
        for (place, spoken) in setback.spoken.iter().enumerate() {
            let governs = place == 0;
            let text = match governs {
                true => format!("governs: {}", spoken.name),
                false => format!("asks for no more: {}", spoken.name),
            };
            let rule = match &spoken.by {
                SpokenBy::Rule(id) => self.job.rules.all().find(|rule| rule.id == *id),
                _ => None,
            };
            let Some(rule) = rule else {
                step = step.said(text);
                continue;
            };
            let read = rule
                .provenance
                .read
                .as_deref()
                .map_or_else(String::new, |read| format!(", read {read}"));
            let mut source =
                format!("{}{read}; measured from {}", rule.provenance, rule.measured_from);
            if let Some(conditions) = &rule.conditions {
                source.push_str(&format!("; read for yourself: {conditions}"));
            }
            step = step.said_by(text, source);
        }
        if setback.spoken.is_empty() {
            step = step.said(format!("governs: {}", setback.rule));
        }
        step
    }

    /// Distances that reach the zone, and of whose ground nothing was left to take.
    fn kept_for_nothing(&self) -> Option<ExplainedStep> {
        let took = |kind: Kind| self.lost.iter().any(|loss| loss.to == Cause::Setback(kind));
        let mut kept = step("Kept too, and took no more ground");
        for kind in Kind::ALL.into_iter().filter(|kind| !took(*kind)) {
            for (laid, setback, apart) in self.in_reach(kind) {
                kept = self.governed(kept, &laid.feature, setback, apart);
            }
        }
        (!kept.said.is_empty()).then_some(kept)
    }

    fn slope(&self) -> Option<ExplainedStep> {
        let grade = self.zone().feature.grade?;
        let surface = on_slope(self.treated, grade)?;
        let unit = self.area_unit();
        let worked = WorkedStep {
            formula: format!("{unit} along the slope = {unit} × √(1 + (slope ÷ 100)²)").into(),
            numbers: format!(
                "{} × √(1 + ({} ÷ 100)²)",
                put(self.number_of(self.treated)),
                put(grade)
            ),
            result: self.area(surface),
            source: "an area on the level divided by the cosine of the slope's angle".into(),
        };
        let step = step(format!("Surface on a slope of {} %", put(grade))).worked(worked);
        Some(step.said(
            "for comparing with a tape on the ground; the area on the level is what is dosed",
        ))
    }

    fn drawing(&self) -> Option<ExplainedStep> {
        let error = self.drawn_error.filter(|_| self.treated > Area::ZERO)?;
        let larger =
            if error.together > error.independent { error.together } else { error.independent };
        let percent = 100.0 * larger.square_metres() / self.treated.square_metres();
        let worked = WorkedStep {
            formula: "percent of the dose = 100 × larger error ÷ treated".into(),
            numbers: format!(
                "100 × {} ÷ {}",
                put(self.number_of(larger)),
                put(self.number_of(self.treated))
            ),
            result: format!("{} %", put(percent)),
            source: TOLERANCE.into(),
        };
        let verdict = if percent > 5.0 { "beyond" } else { "within" };
        let step = step("How far the drawing may be off").worked(worked);
        Some(
            step.said(format!(
                "± {} if each corner is off on its own",
                self.area(error.independent)
            ))
            .said(format!("± {} if all edges are off the same way", self.area(error.together)))
            .said(format!("so much too much or too little on the turf; {verdict} the usual ±5 %")),
        )
    }
}
