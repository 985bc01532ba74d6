//! Every step of an explanation can be gone over by hand: its printed numbers give its printed
//! result, and the last of them is the plan's own dose.

#![allow(clippy::unwrap_used)] // A test may.

use std::fs;
use std::io;

use turfplat::units::UnitSystem;
use turfplat::{
    CoordinateSystem, ExplainWhat, Explained, Explanation, Job, MapSource, PlanOptions,
    PropertyMap, explain, plan, read_map,
};
use turfplat_tests::{Case, cases};

/// A number that was printed: somewhere between these two.
#[derive(Clone, Copy, Debug)]
struct Range(f64, f64);

impl Range {
    /// A number that is put in: half a unit of its last digit to either side, and no worse than six
    /// digits, of which zeros at the end are not printed.
    fn put(text: &str) -> Range {
        let (value, digits) = number(text);
        let last = 0.5 * 10_f64.powi(-(digits as i32));
        let half = if digits >= 4 { last } else { last.min(5e-6 * value.abs()) };
        Range(value - half, value + half)
    }

    /// A result: half a unit of its last digit to either side.
    fn told(text: &str) -> Range {
        let (value, digits) = number(text);
        let half = 0.5 * 10_f64.powi(-(digits as i32)) + 1e-12 * value.abs();
        // Whole numbers with fewer than six digits are what they are.
        let half = if digits == 0 { half.min(5e-6 * value.abs()) } else { half };
        Range(value - half, value + half)
    }

    fn of(self, other: Range, by: impl Fn(f64, f64) -> f64) -> Range {
        let all =
            [by(self.0, other.0), by(self.0, other.1), by(self.1, other.0), by(self.1, other.1)];
        Range(
            all.into_iter().fold(f64::INFINITY, f64::min),
            all.into_iter().fold(f64::NEG_INFINITY, f64::max),
        )
    }

    fn meets(self, other: Range) -> bool {
        self.0 <= other.1 && other.0 <= self.1
    }
}

/// What a printed number is, and its digits behind the point.
fn number(text: &str) -> (f64, usize) {
    let plain = text.replace(',', "");
    let value = plain.parse().unwrap_or_else(|_| panic!("{text:?} is no number"));
    (value, plain.split_once('.').map_or(0, |(_, part)| part.len()))
}

/// The arithmetic of a step, read as a person reads it.
struct Reader<'t> {
    rest: &'t str,
}

impl<'t> Reader<'t> {
    fn value(text: &'t str) -> Range {
        if let Some(list) = text.strip_prefix("lowest of ") {
            let all = list.split("; ").map(Range::put);
            return all.reduce(|a, b| Range(a.0.min(b.0), a.1.min(b.1))).unwrap();
        }
        if let Some(number) = text.strip_suffix(" rounded up") {
            let Range(low, high) = Range::put(number);
            return Range(low.ceil(), high.ceil());
        }
        let mut reader = Reader { rest: text };
        let value = reader.sum();
        assert!(reader.rest.trim().is_empty(), "{text:?}: {:?} was not understood", reader.rest);
        value
    }

    fn take(&mut self, sign: &str) -> bool {
        let rest = self.rest.trim_start();
        match rest.strip_prefix(sign) {
            Some(after) => {
                self.rest = after;
                true
            }
            None => false,
        }
    }

    fn sum(&mut self) -> Range {
        let mut sum = self.product();
        loop {
            if self.take("+") {
                sum = sum.of(self.product(), |a, b| a + b);
            } else if self.take("−") {
                sum = sum.of(self.product(), |a, b| a - b);
            } else {
                return sum;
            }
        }
    }

    fn product(&mut self) -> Range {
        let mut product = self.factor();
        loop {
            if self.take("×") {
                product = product.of(self.factor(), |a, b| a * b);
            } else if self.take("÷") {
                product = product.of(self.factor(), |a, b| a / b);
            } else {
                return product;
            }
        }
    }

    fn factor(&mut self) -> Range {
        let value = if self.take("½") {
            Range(0.5, 0.5)
        } else if self.take("√") {
            let inner = self.factor();
            Range(inner.0.sqrt(), inner.1.sqrt())
        } else if self.take("(−") {
            let inner = self.number();
            assert!(self.take(")"));
            Range(-inner.1, -inner.0)
        } else if self.take("(") {
            let inner = self.sum();
            assert!(self.take(")"), "{:?}", self.rest);
            inner
        } else {
            self.number()
        };
        if self.take("²") { value.of(value, |a, b| a * b) } else { value }
    }

    fn number(&mut self) -> Range {
        let rest = self.rest.trim_start();
        let end = rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
            .unwrap_or(rest.len());
        let (number, rest) = rest.split_at(end);
        self.rest = rest;
        Range::put(number)
    }
}

fn result(text: &str) -> Range {
    let number = text.split_whitespace().next().unwrap();
    match number.strip_prefix('−') {
        Some(number) => {
            let Range(low, high) = Range::told(number);
            Range(-high, -low)
        }
        None => Range::told(number.trim_start_matches('+')),
    }
}

#[test]
fn the_reader_of_steps_knows_right_from_wrong() {
    for (numbers, told, is_right) in [
        ("0.45 × 3,812.4 ÷ 1,000", "1.71558 fl oz", true),
        ("0.45 × 3,812.4 ÷ 1,000", "1.716 fl oz", true),
        ("0.45 × 3,812.4 ÷ 1,000", "1.718 fl oz", false),
        ("0.45 × 3,812.4 ÷ 100", "1.71558 fl oz", false),
        ("100 × (4.4 ÷ 4.43 − 1)", "−0.677 %", true),
        ("100 × (4.4 ÷ 4.43 − 1)", "+0.677 %", false),
        ("½ × ((−10) × (−5) + 2 × 3)", "28 m²", true),
        ("1,000 × √(1 + (10 ÷ 100)²)", "1,004.99 sq ft", true),
        ("lowest of 0.6; 0.45", "0.45 fl oz", true),
        ("lowest of 0.6; 0.45", "0.6 fl oz", false),
        ("2.51 rounded up", "3 loads", true),
        ("2.51 rounded up", "2 loads", false),
        ("10 − 3 × 2", "4 gal", true),
    ] {
        assert_eq!(Reader::value(numbers).meets(result(told)), is_right, "{numbers} = {told}");
    }
}

fn worked(case: &Case) -> Option<(PropertyMap, Job)> {
    let text = fs::read_to_string(case.folder.join("job.toml")).ok()?;
    let folder = case.folder.clone();
    let load = move |path: &str| fs::read_to_string(folder.join(path));
    let job = Job::read("job.toml", &text, &load as &dyn Fn(&str) -> io::Result<String>).ok()?;
    let crs = match case.all("plane").next() {
        Some("ft") => CoordinateSystem::PLANE_FEET,
        Some(_) => CoordinateSystem::PLANE_METRES,
        None => CoordinateSystem::AsTheFileSays,
    };
    let bytes = fs::read(case.folder.join("map.geojson")).unwrap();
    Some((read_map(&[MapSource::geojson("map.geojson", bytes, crs)]).ok()?, job))
}

/// Each printed step gives its printed result; how many there were.
fn go_over(explanation: &Explanation) -> usize {
    let steps = explanation.parts.iter().flat_map(|part| &part.steps);
    let worked = steps.filter_map(|step| Some((step, step.worked.as_ref()?)));
    let mut count = 0;
    for (step, way) in worked {
        let (numbers, told) = (Reader::value(&way.numbers), result(&way.result));
        assert!(
            numbers.meets(told),
            "{}: {}: {} = {}, not {}",
            explanation.zone,
            step.what,
            way.formula,
            way.numbers,
            way.result
        );
        assert!(!way.source.is_empty() && way.formula.contains(" = "), "{}", step.what);
        count += 1;
    }
    count
}

/// The outline's corners, summed as a surveyor does.
fn shoelace(explanation: &Explanation) -> f64 {
    let sides = explanation.corners.iter().flat_map(|ring| ring.windows(2));
    0.5 * sides.map(|side| side[0].x * side[1].y - side[1].x * side[0].y).sum::<f64>()
}

fn options_of(case: &Case) -> PlanOptions {
    PlanOptions {
        within_parcel: case.all("within-parcel").next().is_some(),
        date: case.all("date").next().map(str::to_owned),
        ..PlanOptions::default()
    }
}

#[test]
fn every_dose_of_every_worked_case_can_be_gone_over() {
    let (mut dosed, mut skipped, mut refused, mut steps) = (0, 0, 0, 0);
    for case in ["good", "nasty", "refused"].iter().flat_map(|kind| cases(kind).unwrap()) {
        let Some((map, job)) = worked(&case) else { continue };
        let options = options_of(&case);
        let Ok(planned) = plan(&map, &job, &options) else { continue };
        let names: Vec<String> = match planned.plans.first() {
            Some(plan) => plan.zones.iter().map(|zone| zone.name.clone()).collect(),
            None => map.some_zones().into_iter().map(str::to_owned).collect(),
        };
        for (application, zone) in
            job.applications.iter().flat_map(|it| names.iter().map(move |zone| (it, zone)))
        {
            for units in [UnitSystem::Us, UnitSystem::Metric] {
                let product = &application.products[0].product.id;
                let what =
                    ExplainWhat { zone, product, application: Some(&application.name), units };
                let told = match explain(&map, &job, &options, &what) {
                    Ok(Explained::Told(told)) => told,
                    Ok(Explained::Refused(refusals)) => {
                        assert!(
                            planned.plans.is_empty() && !refusals.is_empty(),
                            "{}",
                            case.name()
                        );
                        continue;
                    }
                    // It does not go on this zone.
                    Err(error) => {
                        assert!(
                            application.zones.is_some() || planned.plans.is_empty(),
                            "{}: {error}",
                            case.name()
                        );
                        continue;
                    }
                };
                steps += go_over(&told);
                let plans = planned.plans.iter().flat_map(|plan| &plan.applications);
                let plan = plans.clone().find(|plan| plan.name == application.name);
                let treated = plan.and_then(|plan| plan.zones.iter().find(|it| it.zone == *zone));
                match (treated, &told.stopped) {
                    (Some(treated), None) => {
                        dosed += 1;
                        let ours = told.amount.unwrap();
                        let ratio = ours.over(treated.products[0].amount).unwrap();
                        assert!((ratio - 1.0).abs() <= 1e-12, "{}: {zone}", case.name());
                        assert_eq!(told.treated, treated.treated);
                        let again = told.rate.unwrap().on(told.treated).over(ours).unwrap();
                        assert!((again - 1.0).abs() <= 1e-12);
                        // The step itself tells that amount.
                        let amount = told.parts.iter().find(|part| part.title == "Amount").unwrap();
                        let way = amount.steps[0].worked.as_ref().unwrap();
                        let unit = turfplat::Print(units).product_unit(ours);
                        let value = ours.in_unit(unit).unwrap();
                        let Range(low, high) = result(&way.result);
                        assert!(
                            (low..=high).contains(&value),
                            "{}: {value} is not {}",
                            case.name(),
                            way.result
                        );
                    }
                    (None, Some(stopped)) => {
                        match stopped.is_refusal {
                            true => refused += 1,
                            false => skipped += 1,
                        }
                        assert!(told.amount.is_none(), "{}: {zone}", case.name());
                        assert!(!stopped.reasons.is_empty());
                        let says_what_to_do = stopped.cure.is_some() || stopped.is_refusal;
                        assert!(says_what_to_do, "{}: {stopped:?}", case.name());
                    }
                    (treated, stopped) => {
                        panic!("{}: {zone}: {treated:?} {stopped:?}", case.name())
                    }
                }
                // What is drawn with corners and stands alone: the ground is theirs.
                if !told.corners.is_empty() {
                    let outline = &told.parts[0].steps[1];
                    if let Some(way) = &outline.worked {
                        let area = shoelace(&told);
                        let Range(low, high) = result(&way.result);
                        assert!(
                            low <= area && area <= high,
                            "{}: {area} {}",
                            case.name(),
                            way.result
                        );
                    }
                }
            }
        }
    }
    assert!(
        dosed >= 20 && skipped >= 10 && refused >= 2 && steps >= 300,
        "{dosed} dosed, {skipped} skipped, {refused} refused, {steps} steps"
    );
}

/// The causes take in the order of the account, and the last of them leaves what is treated.
#[test]
fn the_account_of_the_ground_ends_at_what_is_treated() {
    for case in cases("good").unwrap() {
        let Some((map, job)) = worked(&case) else { continue };
        let options = options_of(&case);
        let planned = plan(&map, &job, &options).unwrap();
        for application in planned.plans.iter().flat_map(|plan| &plan.applications) {
            for zone in &application.zones {
                let product = &application.products[0].id;
                let what = ExplainWhat {
                    zone: &zone.zone,
                    product,
                    application: Some(application.name),
                    units: UnitSystem::Metric,
                };
                let Ok(Explained::Told(told)) = explain(&map, &job, &options, &what) else {
                    panic!()
                };
                let ground = &told.parts[0].steps;
                let less: Vec<_> =
                    ground.iter().filter(|step| step.what.starts_with("Less ")).collect();
                assert_eq!(less.len(), zone.lost.len(), "{}", case.name());
                if let Some(last) = less.last().and_then(|step| step.worked.as_ref()) {
                    let Range(low, high) = result(&last.result);
                    let treated = zone.treated.square_metres();
                    assert!(
                        low - 1e-9 <= treated && treated <= high + 1e-9,
                        "{}: {}",
                        case.name(),
                        last.result
                    );
                }
                for setback in &zone.setbacks {
                    let texts = || ground.iter().flat_map(|step| &step.said).map(|said| &said.text);
                    assert!(
                        texts().any(|text| text.contains(&format!("{:?}", setback.feature))),
                        "{}: {}",
                        case.name(),
                        setback.feature
                    );
                    assert!(
                        texts().any(|text| text.contains(&setback.rule)),
                        "{}: {}",
                        case.name(),
                        setback.rule
                    );
                }
            }
        }
    }
}
