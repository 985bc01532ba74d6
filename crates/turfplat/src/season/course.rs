//! One zone in one application, through a season: when its next treatment is due, and why then.

use turfplat_dose::{ChosenProduct, Species};
use turfplat_season::{
    DailySources, Date, HeatModel, NextBecause, Origin, Reached, Window, count_heat, next_day,
};

use super::terms::{Command, settle};
use super::{date, day};
use crate::job::{Application, Job};

/// How a zone fares in one application through the season.
#[derive(Clone, Debug)]
pub struct Course {
    /// The application.
    pub application: String,
    /// The zone.
    pub zone: String,
    /// Ids of its grasses.
    pub species: Vec<String>,
    /// How many days lie between two treatments at least; `None` of an application with a date.
    pub interval_days: Option<u32>,
    /// Who says so.
    pub interval_by: String,
    /// How many treatments it gets.
    pub treatments: usize,
    /// What it was left without, and why.
    pub dropped: Vec<DroppedRound>,
    /// What should be known of it.
    pub notes: Vec<String>,
    /// Its place in the property's zones.
    pub(super) index: usize,
    /// The place of its application in the job.
    pub(super) place: usize,
    pub(super) next: Option<Due>,
    pub(super) drops_at_limit: bool,
    window: Window,
    most: Option<u32>,
    interval: u32,
}

/// A treatment that a limit left no room for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DroppedRound {
    /// The day on which it would have been.
    pub day: Date,
    /// The limit, and what it leaves.
    pub reason: String,
}

/// When the next treatment is due.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Due {
    pub(super) day: Date,
    pub(super) because: String,
    /// What a model says that does not hold for this grass, or that nothing is known of.
    pub(super) estimate: Option<String>,
}

/// What a season is reckoned with beside the job.
#[derive(Clone, Copy)]
pub(super) struct Reckoning<'s> {
    pub(super) command: Command,
    pub(super) temperatures: DailySources<'s>,
    /// The model of the command line.
    pub(super) model: Option<&'s HeatModel>,
    pub(super) models: &'s [HeatModel],
}

impl<'s> Reckoning<'s> {
    /// The model that an application is reckoned by.
    fn model_of(&self, job: &Job, application: &Application) -> Option<&'s HeatModel> {
        let id = application.season.model.as_deref().or(job.season.model.as_deref());
        let of_job = || HeatModel::find(id?, self.models).ok();
        self.model.or_else(of_job)
    }
}

/// The days on which products lay down on a zone before, each with its product.
pub(super) type Before<'b> = &'b [(Date, &'b str)];

impl Course {
    /// The course of a zone of this stand, its first treatment due.
    ///
    /// # Errors
    ///
    /// Why it has none, with the cure.
    pub(super) fn of(
        job: &Job,
        (place, application): (usize, &Application),
        (index, zone): (usize, &str),
        stand: &[&Species],
        before: Before<'_>,
        reckoning: &Reckoning<'_>,
    ) -> Result<Course, String> {
        let mut course = Course {
            application: application.name.clone(),
            zone: zone.to_owned(),
            species: stand.iter().map(|species| species.id.clone()).collect(),
            interval_days: None,
            interval_by: String::new(),
            treatments: 0,
            dropped: Vec::new(),
            notes: Vec::new(),
            index,
            place,
            next: None,
            drops_at_limit: false,
            window: Window::new(Date::MIN, Date::MIN, &[]).map_err(|error| error.to_string())?,
            most: Some(1),
            interval: 1,
        };
        if let Some(day) = application.day.and_then(date) {
            // Done once, whenever that is.
            course.window = Window::new(day, day, &[]).map_err(|error| error.to_string())?;
            let because = "the date that the job gives it".to_owned();
            course.next = Some(Due { day, because, estimate: None });
            return Ok(course);
        }
        let settled = settle(job, application, zone, stand, reckoning.command)?;
        let (days, by, note) = interval(&application.products, settled.interval_days)?;
        course.interval_days = Some(days);
        (course.interval, course.interval_by) = (days, by);
        course.notes.extend(note);
        course.drops_at_limit = settled.drops_at_limit;
        course.most = settled.most;
        if let Some(model) = reckoning.model_of(job, application)
            && !is_about(model, application)
        {
            course.notes.push(format!(
                "model {} is not reckoned with: it is about {}, of which nothing goes on",
                model.id, model.active_ingredient
            ));
        }
        let found = settled.start.day(&reckoning.temperatures, settled.until);
        let found = found.map_err(|unknown| unknown.to_string())?;
        course.notes.extend(found.note);
        course.window = Window::new(found.day, settled.until, &settled.pauses)
            .map_err(|error| format!("its season {error}"))?;
        let mut because = match found.by {
            None => "the first day of the season".to_owned(),
            Some(by) => format!("green-up by your figures ({})", by.word()),
        };
        // What lies on the ground already is a treatment of this course too.
        let like = |product: &str| application.products.iter().any(|it| it.product.id == product);
        let last = before.iter().filter(|(_, product)| like(product)).map(|(day, _)| *day).max();
        let first = course.window.on_or_after(found.day);
        if first > Some(found.day) {
            because = "the end of a pause".to_owned();
        }
        course.next = first.map(|day| Due { day, because, estimate: None });
        if let Some(last) = last {
            let told = format!("the treatment of {last} ([[history]])");
            let next = course.after(last, &told, job, application, stand, reckoning);
            // What lies back far enough puts nothing off.
            if next.as_ref().is_none_or(|next| Some(next.day) > first) {
                course.next = next;
            }
        }
        match &course.next {
            None => course.notes.push("no day of its season is left for a treatment".to_owned()),
            Some(due) => {
                let after = label_after(application, due.day);
                course.notes.extend(after);
            }
        }
        Ok(course)
    }

    /// Puts the treatment that is due off by so many days, for one with the same active ingredient
    /// came before.
    pub(super) fn put_off(&mut self, days: u32) {
        let Some(due) = self.next.take() else { return };
        let next = next_day(&self.window, due.day, days, None);
        if next.is_none() {
            self.notes.push(format!(
                "no treatment: on {} it is too soon after another by the label's shortest interval, and the season ends before it is not",
                due.day
            ));
        }
        self.next = next.map(|next| Due {
            day: next.day,
            because: "the label's shortest interval after another treatment".to_owned(),
            ..due
        });
    }

    /// Leaves the treatment that is due out, and looks for the next.
    pub(super) fn drop_round(&mut self, reason: String) {
        let Some(due) = self.next.take() else { return };
        self.dropped.push(DroppedRound { day: due.day, reason });
        let next = next_day(&self.window, due.day, self.interval, None);
        self.next = next.map(|next| Due {
            day: next.day,
            because: format!("{} days after {}, which was left out", self.interval, due.day),
            estimate: None,
        });
    }

    /// Ends it.
    pub(super) fn end(&mut self) {
        self.next = None;
    }

    /// Notes that it was treated, and looks for the next day.
    pub(super) fn treated(
        &mut self,
        job: &Job,
        application: &Application,
        stand: &[&Species],
        reckoning: &Reckoning<'_>,
    ) {
        let Some(due) = self.next.take() else { return };
        self.treatments += 1;
        if self.most.is_some_and(|most| self.treatments >= most as usize) {
            return;
        }
        self.next = self.after(due.day, &due.day.to_string(), job, application, stand, reckoning);
    }

    /// When the next treatment is due after one that is `told` so.
    fn after(
        &mut self,
        treated: Date,
        told: &str,
        job: &Job,
        application: &Application,
        stand: &[&Species],
        reckoning: &Reckoning<'_>,
    ) -> Option<Due> {
        let model = reckoning.model_of(job, application).filter(|it| is_about(it, application));
        let says =
            model.map(|model| Says::of(model, stand, treated, self.window.last(), reckoning));
        let holds = says.as_ref().and_then(|says| says.day.filter(|_| says.is_for_this_grass));
        let next = next_day(&self.window, treated, self.interval, holds);
        let by_interval = next_day(&self.window, treated, self.interval, None);
        if let (None, Some(_), Some(says)) = (&next, by_interval, &says) {
            self.notes.push(format!("no further treatment: {}", says.text));
        }
        let next = next?;
        let of_model = says.map(|says| says.text);
        let (because, estimate) = match (next.because, of_model) {
            (NextBecause::Model, Some(text)) => (text, None),
            (NextBecause::Pause, estimate) => ("the end of a pause".to_owned(), estimate),
            (_, estimate) => (format!("{} days after {told}", self.interval), estimate),
        };
        Some(Due { day: next.day, because, estimate })
    }

    /// The days that it would be treated on from the one that is due, by its interval alone; the days
    /// after it where that one is at hand.
    pub(super) fn to_come(&self, is_at_hand: bool) -> impl Iterator<Item = turfplat_dose::Day> {
        let next = |day: &Date| next_day(&self.window, *day, self.interval, None).map(|it| it.day);
        let left =
            self.most.map_or(usize::MAX, |most| most as usize - self.treatments.min(most as usize));
        let first = self.next.as_ref().map(|due| due.day);
        let days = std::iter::successors(first, next).take(left);
        days.skip(usize::from(is_at_hand)).filter_map(day)
    }
}

/// What to mind where a label was read only after the first treatment.
fn label_after(application: &Application, first: Date) -> Option<String> {
    let first = first.to_string();
    let later = application.products.iter().find_map(|it| {
        // Dates as year-month-day sort as they follow each other.
        it.label_checked.as_ref().filter(|read| **read > first).map(|read| (read, &it.product.id))
    });
    later.map(|(read, id)| {
        format!("the label of {id} was read on {read}, after the first treatment: read it before")
    })
}

/// True of a model that follows an active ingredient of the application.
fn is_about(model: &HeatModel, application: &Application) -> bool {
    application.products.iter().any(|it| it.product.has_active(&model.active_ingredient))
}

/// How many days lie between two treatments: what the job says, never less than the labels'.
fn interval(
    products: &[ChosenProduct],
    of_job: Option<u32>,
) -> Result<(u32, String, Option<String>), String> {
    let labels = products.iter().filter_map(|it| {
        let interval = it.product.limits.min_interval.as_ref()?;
        Some((interval.days, &it.product.id, &interval.provenance))
    });
    let label = labels.max_by_key(|(days, ..)| *days);
    let told = |(days, id, provenance): (u32, &String, &turfplat_dose::Provenance)| {
        (days, format!("label of {id}: {provenance}"))
    };
    match (of_job, label) {
        (Some(days), Some(label)) if label.0 > days => {
            let (least, by) = told(label);
            let note = format!(
                "the job asks for {days} days between treatments and the label for {least} at least; the label's were taken"
            );
            Ok((least, by, Some(note)))
        }
        (Some(days), label) => {
            let note = label.is_none().then(|| {
                "the product file gives no shortest interval: read on the label whether the job's is long enough".to_owned()
            });
            Ok((days, "the job".to_owned(), note))
        }
        (None, Some(label)) => {
            let (days, by) = told(label);
            Ok((days, by, None))
        }
        (None, None) => Err(
            "no interval is given; take it from your label: interval = \"28 days\" in [season] of the job, or limits.min_interval of the product file".to_owned(),
        ),
    }
}

/// What a model says of the next treatment.
struct Says {
    day: Option<Date>,
    is_for_this_grass: bool,
    text: String,
}

impl Says {
    fn of(
        model: &HeatModel,
        stand: &[&Species],
        treated: Date,
        last: Date,
        reckoning: &Reckoning<'_>,
    ) -> Says {
        let ids: Vec<&str> = stand.iter().map(|species| species.id.as_str()).collect();
        let is_for_this_grass = model.is_for(&ids);
        let sources = &reckoning.temperatures;
        let id = &model.id;
        let whose = if is_for_this_grass {
            format!("; it holds for {} alone", model.site)
        } else {
            format!(
                "; it is for {} ({}) and not for this grass, so the interval holds",
                model.species.join(", "),
                model.site
            )
        };
        let unknown = |why: String| Says {
            day: None,
            is_for_this_grass,
            text: format!("model {id}: the day is not known, {why}; the interval holds"),
        };
        let Some(base) = model.base else {
            return unknown("for its base temperature was not found".to_owned());
        };
        let Some(first) = treated.tomorrow().ok().filter(|_| !sources.is_empty()) else {
            return unknown("for no temperatures are given".to_owned());
        };
        let end = sources.ends().map_or(last, |end| end.min(last));
        let count = count_heat(sources, base, model.threshold, first, end);
        let reached = |day: Date, by: Origin| Says {
            day: Some(day),
            is_for_this_grass,
            text: format!(
                "model {id}: {} after {treated} are reached on {day} ({}){whose}",
                model.threshold,
                by.word()
            ),
        };
        match count.reached {
            Reached::On { day, by } => reached(day, by),
            Reached::Unknown { missing, .. } => unknown(format!("for {missing} is missing")),
            Reached::NotYet { .. } if end < last => {
                unknown(format!("for the temperatures end on {end}, {} after {treated}", count.sum))
            }
            // Not before the season ends: then the model lets no further treatment come.
            Reached::NotYet { left } => Says {
                day: last.tomorrow().ok(),
                is_for_this_grass,
                text: format!("model {id}: {left} are still wanting on {last}{whose}"),
            },
        }
    }
}
