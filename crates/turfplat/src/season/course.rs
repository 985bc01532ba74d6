//! One zone in one application, through a season: when its next treatment is due, and why then.

use turfplat_dose::Species;
use turfplat_season::{DailySources, Date, HeatModel, NextBecause, Window, next_day};
use turfplat_units::UnitSystem;

use super::apart::{Says, interval, is_about};
use super::lying::{Lying, days_apart};
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
    /// Treatments of its ground that the job dates, each with how many days this keeps to it, and its name.
    dated: Vec<(Date, u32, String)>,
    /// After a treatment that was left out the next by the interval; until then the days on which a
    /// year's limit has room again are tried.
    regular: Option<Date>,
    /// True where the one that is due is such a try.
    is_extra: bool,
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
    /// In which units reasons are told.
    pub(super) units: UnitSystem,
}

impl<'s> Reckoning<'s> {
    /// The model that an application is reckoned by.
    fn model_of(&self, job: &Job, application: &Application) -> Option<&'s HeatModel> {
        let id = application.season.model.as_deref().or(job.season.model.as_deref());
        let of_job = || HeatModel::find(id?, self.models).ok();
        self.model.or_else(of_job)
    }
}

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
        lying: &Lying<'_>,
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
            dated: Vec::new(),
            regular: None,
            is_extra: false,
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
        course.dated = lying.kept_apart(application, days);
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
        let last = lying.last_of(application);
        let first = course.window.on_or_after(found.day);
        if first > Some(found.day) {
            because = "the end of a pause".to_owned();
        }
        course.next = first.map(|day| Due { day, because, estimate: None });
        if course.next.is_none() {
            course.notes.push(format!(
                "no treatment: pauses cover all of its season, {} to {}",
                found.day, settled.until
            ));
        } else if let Some((last, told_by)) = last {
            let told = format!("the treatment of {last} ({told_by})");
            let next = course.after(last, &told, job, application, stand, reckoning);
            // What lies back far enough puts nothing off.
            if next.as_ref().is_none_or(|next| Some(next.day) > first) {
                if next.is_none() {
                    course.notes.push(course.none_after(last, &told));
                }
                course.next = next;
            }
        }
        let due = course.next.take();
        course.set(due);
        if let Some(due) = &course.next {
            label_before(application, due.day)?;
        }
        Ok(course)
    }

    /// Why nothing is due after a treatment of the past that is `told` so.
    fn none_after(&self, last: Date, told: &str) -> String {
        let end = self.window.last();
        if last > end {
            return format!(
                "no treatment: {told} lies after the end of its season, {end}; correct the one or the other"
            );
        }
        format!(
            "no treatment: {} days after {told} its season, which ends on {end}, is over",
            self.interval
        )
    }

    /// Sets what is due, clear of the treatments that the job dates: the user's own days stand.
    fn set(&mut self, due: Option<Due>) {
        let Some(mut due) = due else { return self.next = None };
        while let Some((dated, days, name)) = self.too_near(due.day).cloned() {
            let next = next_day(&self.window, dated, days, None);
            let less = format!(
                "less than {days} days from application {name:?} of {dated}, whose date the job gives"
            );
            match next {
                None => self.notes.push(format!("no treatment on {}: it is {less}", due.day)),
                Some(_) => self.dropped.push(DroppedRound { day: due.day, reason: less }),
            }
            let Some(next) = next else { return self.next = None };
            let because = format!("{days} days after application {name:?} of {dated}");
            due = Due { day: next.day, because, ..due };
        }
        self.next = Some(due);
    }

    /// A dated treatment that a day is too near to.
    fn too_near(&self, day: Date) -> Option<&(Date, u32, String)> {
        self.dated.iter().find(|(dated, days, _)| days_apart(*dated, day) < i64::from(*days))
    }

    /// Puts the treatment that is due off by so many days, for one with the same active ingredient
    /// came before, and lists the day.
    pub(super) fn put_off(&mut self, days: u32, reason: String) {
        let Some(due) = self.next.take() else { return };
        if !self.is_extra {
            self.dropped.push(DroppedRound { day: due.day, reason });
        }
        (self.is_extra, self.regular) = (false, None);
        let next = next_day(&self.window, due.day, days, None);
        if next.is_none() {
            self.notes.push(format!(
                "no treatment: on {} it is too soon after another by the label's shortest interval, and the season ends before it is not",
                due.day
            ));
        }
        self.set(next.map(|next| Due {
            day: next.day,
            because: "the label's shortest interval after another treatment".to_owned(),
            ..due
        }));
    }

    /// Leaves the treatment that is due out, and looks for the next: by its interval, or on `freed`,
    /// the first day on which limits may have room again.
    pub(super) fn drop_round(&mut self, reason: String, freed: Option<Date>) {
        let Some(due) = self.next.take() else { return };
        if !self.is_extra {
            self.dropped.push(DroppedRound { day: due.day, reason });
            self.regular =
                next_day(&self.window, due.day, self.interval, None).map(|next| next.day);
        }
        let freed = freed.and_then(|day| self.window.on_or_after(day));
        let freed = freed.filter(|day| *day > due.day && self.too_near(*day).is_none());
        let freed = freed.filter(|day| self.regular.is_none_or(|regular| *day < regular));
        self.is_extra = freed.is_some();
        let left_out = self.dropped.last().map_or(due.day, |it| it.day);
        let because = match freed {
            Some(_) => {
                format!("room again within the year's limit, for which {left_out} was left out")
            }
            None => format!("{} days after {left_out}, which was left out", self.interval),
        };
        let day = freed.or(self.regular);
        self.set(day.map(|day| Due { day, because, estimate: None }));
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
        (self.is_extra, self.regular) = (false, None);
        if self.most.is_some_and(|most| self.treatments >= most as usize) {
            return;
        }
        let next = self.after(due.day, &due.day.to_string(), job, application, stand, reckoning);
        self.set(next);
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
        let next = |day: &Date| {
            let mut next = next_day(&self.window, *day, self.interval, None)?.day;
            while let Some((dated, days, _)) = self.too_near(next) {
                next = next_day(&self.window, *dated, *days, None)?.day;
            }
            Some(next)
        };
        let left =
            self.most.map_or(usize::MAX, |most| most as usize - self.treatments.min(most as usize));
        let first = self.next.as_ref().map(|due| due.day);
        let days = std::iter::successors(first, next).take(left);
        days.skip(usize::from(is_at_hand)).filter_map(day)
    }
}

/// Refuses a label that was read only after the first treatment, as a plan of that day does.
fn label_before(application: &Application, first: Date) -> Result<(), String> {
    let first = first.to_string();
    let later = application.products.iter().find_map(|it| {
        // Dates as year-month-day sort as they follow each other.
        it.label_checked.as_ref().filter(|read| **read > first).map(|read| (read, &it.product.id))
    });
    match later {
        None => Ok(()),
        Some((read, id)) => Err(format!(
            "product {id:?}: the label was checked on {read}, after its first treatment, {first}; correct label_checked, or begin later"
        )),
    }
}
