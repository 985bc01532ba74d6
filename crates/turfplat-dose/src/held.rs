//! Why every limit is held to zone by zone: a label caps what lies on the ground, and the front
//! lawn may have had its year's share when the back lawn has had nothing. Whatever counts is
//! added up: what went on before, what the same plan gives before, and all partners of the mix.

use turfplat_units::{Rate, WrittenRate, at_most, significant};

use crate::counted::{Counted, Likeness, likeness};
use crate::limit::{
    Checked, Figure, LimitBy, LimitVerdict, Occasion, Put, telling_digits, unit_in_words,
};
use crate::product::{Product, RateLimit};
use crate::year::{Fullest, LabelYear};
use crate::zone::ZoneToTreat;

/// Rounding of a sum; what is the limit but for it is the limit.
pub(crate) const ROUNDING: f64 = 1.0 + 1e-9;

/// What came of all limits on one zone.
pub(crate) struct Held {
    pub(crate) checked: Vec<Checked>,
    /// By product of the mix, how many times its rate may be measured out; `None` where nobody
    /// states a limit.
    pub(crate) headroom: Vec<Option<f64>>,
    /// By product of the mix, how many times its rate the limits of a year still allow, what comes
    /// later left out of account; `None` where nobody states one.
    pub(crate) left_of_year: Vec<Option<f64>>,
}

/// Over which time a limit counts.
#[derive(Clone, Copy)]
pub(crate) enum Span {
    Once,
    Year(LabelYear),
}

/// A limit that somebody states.
pub(crate) struct Stated<'s> {
    pub(crate) product: String,
    pub(crate) limit: &'static str,
    pub(crate) name: String,
    pub(crate) rate: &'s WrittenRate,
    pub(crate) counted: Counted<'s>,
    pub(crate) span: Span,
    pub(crate) source: String,
    pub(crate) by: LimitBy,
    /// The name of the place whose law it is.
    pub(crate) place: &'s str,
}

/// Holds `mix` to all limits on one zone.
pub(crate) fn held(
    index: usize,
    zone: &ZoneToTreat,
    mix: &[(&Product, Rate)],
    spray: Option<Rate>,
    occasion: &Occasion<'_>,
) -> Held {
    let nothing: &[Put<'_>] = &[];
    let earlier = occasion.earlier.get(index).map_or(nothing, Vec::as_slice);
    let later = occasion.later.get(index).map_or(nothing, Vec::as_slice);
    let mut zone = Zone {
        zone,
        mix,
        occasion,
        earlier,
        later,
        checked: Vec::new(),
        headroom: vec![None; mix.len()],
        left_of_year: vec![None; mix.len()],
    };
    for (product, rate) in mix {
        zone.label_rate(product, *rate);
        zone.label(product);
        zone.interval(product);
        if let Some(spray) = spray {
            zone.spray_volume(product, spray);
        }
    }
    zone.labels_of_others();
    zone.places();
    zone.advice();
    let Zone { checked, headroom, left_of_year, .. } = zone;
    Held { checked, headroom, left_of_year }
}

pub(crate) struct Zone<'z> {
    pub(crate) zone: &'z ZoneToTreat,
    pub(crate) mix: &'z [(&'z Product, Rate)],
    pub(crate) occasion: &'z Occasion<'z>,
    earlier: &'z [Put<'z>],
    later: &'z [Put<'z>],
    pub(crate) checked: Vec<Checked>,
    headroom: Vec<Option<f64>>,
    left_of_year: Vec<Option<f64>>,
}

/// The limits of a label on amounts: key, words, the limit, over which time.
fn of_label(
    product: &Product,
) -> impl Iterator<Item = (&'static str, &'static str, Option<&RateLimit>, Span)> {
    let limits = &product.limits;
    let year = Span::Year(limits.year);
    // Where nobody states a limit that is said, too.
    let rows = [
        ("max_per_application", "most at once", given(&limits.max_per_application), Span::Once),
        (
            "max_active_per_application",
            "most a.i. at once",
            limits.max_active_per_application.iter().collect(),
            Span::Once,
        ),
        (
            "max_nitrogen_per_application",
            "most N at once",
            given(&limits.max_nitrogen_per_application),
            Span::Once,
        ),
        ("max_per_year", "most in a year", given(&limits.max_per_year), year),
        (
            "max_active_per_year",
            "most a.i. in a year",
            limits.max_active_per_year.iter().collect(),
            year,
        ),
        ("max_nitrogen_per_year", "most N in a year", given(&limits.max_nitrogen_per_year), year),
    ];
    rows.into_iter().flat_map(|(key, name, limits, span)| {
        let each: Vec<Option<&RateLimit>> = match limits.as_slice() {
            [] => vec![None],
            some => some.iter().copied().map(Some).collect(),
        };
        each.into_iter().map(move |limit| (key, name, limit, span))
    })
}

fn given(limit: &Option<RateLimit>) -> Vec<&RateLimit> {
    limit.iter().collect()
}

impl<'z> Zone<'z> {
    pub(crate) fn row(
        &self,
        product: &str,
        limit: &'static str,
        name: &str,
        by: LimitBy,
    ) -> Checked {
        Checked {
            zone: self.zone.name.clone(),
            product: product.to_owned(),
            limit,
            name: name.to_owned(),
            of: String::new(),
            asked: None,
            allowed: None,
            source: by.word().to_owned(),
            by,
            verdict: LimitVerdict::NotStated,
            remark: None,
            refusal: None,
        }
    }

    fn label(&mut self, product: &'z Product) {
        for (key, name, limit, span) in of_label(product) {
            // A limit on what is not in it can be missing on no label.
            let speaks_of_it = match key {
                "max_active_per_application" | "max_active_per_year" => {
                    !product.active_ingredients.is_empty()
                }
                "max_nitrogen_per_application" | "max_nitrogen_per_year" => {
                    product.analysis.is_some_and(|analysis| analysis.n > 0.0)
                }
                _ => true,
            };
            match limit {
                Some(limit) => self.stated_by_label(product, key, name, limit, span),
                None if speaks_of_it => {
                    self.checked.push(self.row(&product.id, key, name, LimitBy::Label));
                }
                None => {}
            }
        }
    }

    fn stated_by_label(
        &mut self,
        product: &'z Product,
        key: &'static str,
        name: &str,
        limit: &'z RateLimit,
        span: Span,
    ) {
        let Some(counted) = Counted::by(limit, product) else {
            let mut row = self.row(&product.id, key, name, LimitBy::Label);
            row.verdict = LimitVerdict::NotChecked;
            row.remark = Some("it does not say of which active ingredient".to_owned());
            self.checked.push(row);
            return;
        };
        self.sum(&Stated {
            product: product.id.clone(),
            limit: key,
            name: name.to_owned(),
            rate: &limit.rate,
            counted,
            span,
            source: limit.provenance.to_string(),
            by: LimitBy::Label,
            place: "",
        });
    }

    /// Whether it goes on the same day, so that to a zone both are one. What has no day in a plan
    /// without days is on one day with it.
    fn is_today(&self, put: &Put<'_>) -> bool {
        put.day == self.occasion.day
    }

    /// What the labels of other products that lie on the ground say of what goes on now: a year's
    /// limit on an active ingredient holds for all products with it, one at once for those of the day.
    fn labels_of_others(&mut self) {
        let mut known: Vec<&str> =
            self.mix.iter().map(|(product, _)| product.id.as_str()).collect();
        for put in self.earlier {
            let other = put.product;
            if known.contains(&other.id.as_str()) {
                continue;
            }
            known.push(&other.id);
            for (key, name, limit, span) in of_label(other) {
                let bears = matches!(span, Span::Year(_)) || self.is_today(put);
                let Some(limit) = limit.filter(|_| bears) else { continue };
                let counted = Counted::by(limit, other);
                let goes_on = counted.is_some_and(|counted| {
                    let mut each = self.mix.iter().map(|(it, rate)| counted.in_product(it, *rate));
                    each.any(|much| much.map_or(true, |much| much > 0.0))
                });
                if goes_on {
                    self.stated_by_label(other, key, name, limit, span);
                }
            }
        }
    }

    /// Holds a sum of rates to a limit.
    pub(crate) fn sum(&mut self, stated: &Stated<'_>) {
        let unit = unit_in_words(stated.rate);
        let mut row = self.row(&stated.product, stated.limit, &stated.name, stated.by);
        row.of = stated.counted.name();
        row.source.clone_from(&stated.source);
        row.allowed = Some(Figure::of(stated.rate.value, &unit));
        let counted = self.count(stated);
        let Count { now, each, others, with_later, name, one, doubt } = match counted {
            Ok(counted) => counted,
            Err(reason) => {
                row.verdict = LimitVerdict::NotChecked;
                if stated.by != LimitBy::Species {
                    row.refusal = Some(format!(
                        "{}: {} cannot be counted against the limit of {} {unit} ({}): {reason}",
                        stated.product,
                        row.of,
                        significant(stated.rate.value, 3),
                        stated.source
                    ));
                }
                row.remark = Some(reason);
                self.checked.push(row);
                return;
            }
        };
        let allowed = one * stated.rate.value;
        let asked = now + others;
        row.asked = Some(Figure::of(asked / one, &unit));
        row.remark = match stated.span {
            Span::Once if name.is_empty() => self.undated(stated),
            Span::Once => Some(format!("with {name} on the same day")),
            Span::Year(_) if self.occasion.has_history => Some(name.clone()),
            Span::Year(_) => {
                Some(format!("{name}; no [[history]] is given, so only this plan is counted"))
            }
        };
        row.verdict = LimitVerdict::Kept;
        if asked > allowed * ROUNDING {
            row.verdict = LimitVerdict::AboveAdvice;
            if stated.by != LimitBy::Species {
                row.verdict = LimitVerdict::Exceeded;
                let of = Sums { now: now / one, others: others / one, allowed: stated.rate.value };
                row.refusal = Some(excess(stated, &unit, &of, &name, self.guesses_soluble()));
            }
        }
        if let (LimitVerdict::Kept, Some(Doubt { question, much })) = (row.verdict, &doubt) {
            row.verdict = LimitVerdict::NotChecked;
            if asked + much > allowed * ROUNDING {
                row.refusal = Some(format!(
                    "{}: {question}; counted together they are above the limit of {} {unit} ({})",
                    stated.product,
                    significant(stated.rate.value, 3),
                    stated.source
                ));
            }
            row.remark = Some(question.clone());
        }
        if stated.by != LimitBy::Species {
            let doubtful = doubt.map_or(0.0, |doubt| doubt.much);
            let times = ((allowed - with_later - doubtful) / now).max(0.0);
            // What does not count towards the limit is not bound by it.
            let of_year = matches!(stated.span, Span::Year(_));
            let left = ((allowed - others - doubtful) / now).max(0.0);
            let rooms = self.headroom.iter_mut().zip(&mut self.left_of_year);
            for ((headroom, left_of_year), much) in rooms.zip(each) {
                if much > 0.0 {
                    lower(headroom, times);
                    if of_year {
                        lower(left_of_year, left);
                    }
                }
            }
        }
        self.checked.push(row);
    }

    /// What of the plan may be on the same day, where one of the two has none.
    fn undated(&self, stated: &Stated<'_>) -> Option<String> {
        let unknown = |put: &&Put<'_>| {
            let counted = stated.counted.in_product(put.product, put.rate);
            put.day.is_some() != self.occasion.day.is_some()
                && counted.map_or(true, |much| much > 0.0)
        };
        let put = self.earlier.iter().find(unknown)?;
        Some(format!(
            "not counted: {}, for one of the two has no date; on one day they count together",
            put.what
        ))
    }

    fn count(&self, stated: &Stated<'_>) -> Result<Count, String> {
        let counted = &stated.counted;
        let one = counted.unit_of(stated.rate)?;
        let each = (self.mix.iter())
            .map(|(product, rate)| counted.in_product(product, *rate))
            .collect::<Result<Vec<f64>, String>>()?;
        let now = each.iter().sum();
        let doubt = self.doubt(stated);
        let much = |put: &Put<'_>| Ok((put.day, counted.in_product(put.product, put.rate)?));
        let Span::Year(year) = stated.span else {
            // On one day the ground does not tell two trips from one mix.
            let on_the_day = |puts: &[Put<'_>]| {
                let of_today = puts.iter().filter(|put| self.is_today(put));
                of_today.map(|put| Ok(much(put)?.1)).sum::<Result<f64, String>>()
            };
            let others = on_the_day(self.earlier)?;
            let with_later = on_the_day(self.later).map_or(f64::INFINITY, |later| others + later);
            let others_of_day = self.earlier.iter().filter(|put| self.is_today(put));
            let holding = others_of_day.filter(|put| much(put).is_ok_and(|(_, much)| much > 0.0));
            let names: Vec<&str> = holding.map(|put| put.what.as_str()).collect();
            let name = names.join(", ");
            return Ok(Count { now, each, others, with_later, name, one, doubt });
        };
        let before = self.earlier.iter().map(much).collect::<Result<Vec<_>, String>>()?;
        let fullest = year.fullest(self.occasion.day, &before);
        // What cannot be counted of later trips is refused when their turn comes; until then no
        // mark above the exact amount is taken for it.
        let after = self.later.iter().map(much).collect::<Result<Vec<_>, String>>();
        let with_later = match after {
            Ok(after) => year.fullest(self.occasion.day, &[before, after].concat()).others,
            Err(_) => f64::INFINITY,
        };
        let Fullest { others, name } = fullest;
        Ok(Count { now, each, others, with_later, name, one, doubt })
    }

    /// What of the mix, of the day or of the years that the day is in may count too.
    fn doubt(&self, stated: &Stated<'_>) -> Option<Doubt> {
        let near = |put: &&Put<'_>| match (stated.span, self.occasion.day.zip(put.day)) {
            (Span::Once, _) => self.is_today(put),
            // No year is longer, leap years included.
            (Span::Year(_), Some((day, other))) => day.days_since(other).abs() <= 366,
            (Span::Year(_), None) => true,
        };
        let of_mix = self.mix.iter().map(|(product, rate)| (*product, *rate));
        let before = self.earlier.iter().filter(near).map(|put| (put.product, put.rate));
        let doubts =
            of_mix.chain(before).filter_map(|(it, rate)| stated.counted.doubtful(it, rate));
        doubts
            .reduce(|(question, a), (_, b)| (question, a + b))
            .map(|(question, much)| Doubt { question, much })
    }

    /// Holds the days since the last treatment with the same product or active ingredient to the
    /// label's shortest interval.
    fn interval(&mut self, product: &'z Product) {
        let mut row = self.row(&product.id, "min_interval", "shortest interval", LimitBy::Label);
        row.of = "days".to_owned();
        let Some(interval) = &product.limits.min_interval else {
            self.checked.push(row);
            return;
        };
        row.allowed = Some(Figure::of(f64::from(interval.days), "days"));
        row.source = interval.provenance.to_string();
        let like = |put: &Put<'_>| likeness(product, put.product);
        let may_be_alike =
            |put: &&Put<'_>| matches!(like(put), Likeness::Alike | Likeness::Doubtful(_));
        let alike = self.earlier.iter().filter(may_be_alike);
        // Of those on days without a date the plan's own trips are on one day with this.
        let apart = |put: &Put<'_>| match (self.occasion.day, put.day) {
            (Some(day), Some(other)) => Some(day.days_since(other).abs()),
            (None, None) => Some(0),
            _ => None,
        };
        let nearest = alike.clone().min_by_key(|put| apart(put).unwrap_or(i64::MAX));
        let unknown = alike.clone().find(|put| apart(put).is_none());
        let too_near =
            nearest.filter(|put| apart(put).is_some_and(|days| days < i64::from(interval.days)));
        row.verdict = LimitVerdict::Kept;
        match too_near.or(unknown).or(nearest).map(|put| (put, apart(put))) {
            None if self.occasion.has_history => {
                row.remark = Some("no earlier treatment is told".to_owned());
            }
            None => {
                row.verdict = LimitVerdict::NotChecked;
                row.remark = Some("no [[history]] is given".to_owned());
            }
            Some((put, None)) => {
                row.verdict = LimitVerdict::NotChecked;
                row.remark =
                    Some(format!("{} has a date, and this has none, or the other way", put.what));
            }
            Some((put, Some(days))) => {
                row.asked = Some(Figure { value: days as f64, unit: "days".to_owned() });
                let last = alike.filter_map(|put| put.day).max();
                let on = put.day.map_or("the same day".to_owned(), |day| day.to_string());
                row.remark = Some(format!("last on {on}: {}", put.what));
                if days < i64::from(interval.days) {
                    row.verdict = LimitVerdict::Exceeded;
                    let cure = match last {
                        Some(last) => format!("not before {}", last.plus_days(interval.days)),
                        None => "give each application its date".to_owned(),
                    };
                    row.refusal = Some(format!(
                        "{}: treated on {on} ({}), {days} days apart; its label asks for {} days between treatments ({}): {cure}",
                        product.id, put.what, interval.days, interval.provenance
                    ));
                    if let Likeness::Doubtful(question) = like(put) {
                        row.verdict = LimitVerdict::NotChecked;
                        row.refusal = row.refusal.map(|reason| format!("{reason}; or {question}"));
                        row.remark = Some(question);
                    }
                }
            }
        }
        let soon = |put: &&Put<'_>| apart(put).is_none_or(|days| days < i64::from(interval.days));
        let unknown = self.earlier.iter().filter(soon).find_map(|put| match like(put) {
            Likeness::Unknown(why) => Some(format!("{}: {why}", put.what)),
            _ => None,
        });
        if let (LimitVerdict::Kept, Some(why)) = (row.verdict, unknown) {
            row.verdict = LimitVerdict::NotChecked;
            row.remark = Some(why);
        }
        self.checked.push(row);
    }
}

fn lower(known: &mut Option<f64>, times: f64) {
    *known = Some(known.map_or(times, |known| known.min(times)));
}

/// What counts towards a limit, on a square metre.
struct Count {
    now: f64,
    /// Of it by product of the mix.
    each: Vec<f64>,
    others: f64,
    /// The others with what of the plan is still to come.
    with_later: f64,
    /// The year that was counted, or of a limit at once what else goes on the same day.
    name: String,
    /// One unit of the limit.
    one: f64,
    /// What may count too.
    doubt: Option<Doubt>,
}

/// What may count too: names do not tell.
struct Doubt {
    question: String,
    /// How much it would be, on a square metre.
    much: f64,
}

/// In the unit of a limit.
struct Sums {
    now: f64,
    others: f64,
    allowed: f64,
}

/// Why a sum above its limit is refused: limit, asked, allowed, and the cure.
fn excess(
    stated: &Stated<'_>,
    unit: &str,
    sums: &Sums,
    year: &str,
    guesses_soluble: bool,
) -> String {
    let Sums { now, others, allowed } = *sums;
    let digits = telling_digits(now + others, allowed);
    let print = |value: f64| significant(value, digits);
    let Stated { product, source, .. } = stated;
    let of = stated.counted.name();
    let asked = print(now + others);
    let most = print(allowed);
    if stated.by == LimitBy::Place {
        // The unit alone: what is counted is told beside it.
        let unit = stated.rate.unit;
        let of = match stated.counted {
            Counted::SolubleNitrogen if guesses_soluble => {
                "quickly soluble nitrogen (its share is not given, so all counts)"
            }
            Counted::SolubleNitrogen => "quickly soluble nitrogen",
            _ => "nitrogen",
        };
        let (parts, cure) = on_one_day(sums, year, "lower the rate");
        return format!(
            "{product}: {asked} {unit} of {of}{parts} is more than the {most} {unit} that {} allows at once ({source}); {cure}",
            stated.place
        );
    }
    // A unit such as lb N/1000 sq ft says already what it counts.
    let is_said = of == "product" || unit.split([' ', '/']).any(|word| word == of);
    let of = if is_said { String::new() } else { format!(" of {of}") };
    match stated.span {
        Span::Once => {
            let (parts, cure) = on_one_day(sums, year, "lower the rates");
            let parts = if parts.is_empty() { " in one mix" } else { &parts };
            format!(
                "{product}: {asked} {unit}{of}{parts} is more than the most allowed at once, {most} {unit} ({source}); {cure}"
            )
        }
        Span::Year(_) => {
            let left = allowed - others;
            let cure = if left > allowed * 1e-9 {
                format!("at most {} {unit} may still go on", at_most(left, 3))
            } else {
                "nothing more may go on".to_owned()
            };
            let before = if others > 0.0 {
                format!(" ({} now, {} besides)", significant(now, 3), significant(others, 3))
            } else {
                String::new()
            };
            format!(
                "{product}: {asked} {unit}{of}{before} in {year} is more than the most allowed in a year, {most} {unit} ({source}); {cure}"
            )
        }
    }
}

/// What of a sum is of another trip of the day, and the cure; nothing of a mix alone.
fn on_one_day(sums: &Sums, others: &str, cure: &str) -> (String, String) {
    let Sums { now, others: besides, allowed } = *sums;
    if besides <= 0.0 {
        return (String::new(), cure.to_owned());
    }
    let day = if now > allowed * ROUNDING { "" } else { "give it on another day, or " };
    let parts = format!(
        " ({} now, {} on the same day: {others})",
        significant(now, 3),
        significant(besides, 3)
    );
    (parts, format!("{day}{cure}"))
}
