//! What a zone's treatments are planned around: what went on before, and what the job dates itself.

use turfplat_dose::Product;
use turfplat_season::Date;

use super::date;
use crate::history::LaidTreatment;
use crate::job::{Application, Job};
use crate::site::Site;
use crate::trip::walking_order;

/// What lies on one zone, or will by the job's own word.
pub(super) struct Lying<'l> {
    /// Treatments of the past.
    before: Vec<&'l LaidTreatment<'l>>,
    /// Applications with a date.
    dated: Vec<(Date, &'l Application)>,
}

impl<'l> Lying<'l> {
    pub(super) fn on(
        index: usize,
        job: &'l Job,
        site: &Site,
        history: &'l [LaidTreatment<'l>],
    ) -> Lying<'l> {
        let dated = job.applications.iter().filter_map(|application| {
            let day = application.day.and_then(date)?;
            walking_order(application, site).contains(&index).then_some((day, application))
        });
        Lying {
            before: history.iter().filter(|it| it.zones.contains(&index)).collect(),
            dated: dated.collect(),
        }
    }

    /// The last treatment of the past with a product of an application, and who tells of it.
    pub(super) fn last_of(&self, application: &Application) -> Option<(Date, String)> {
        let like = |it: &&&LaidTreatment<'_>| {
            application.products.iter().any(|of| of.product.id == it.treatment.product.id)
        };
        let days = self
            .before
            .iter()
            .filter(like)
            .filter_map(|it| Some((date(it.treatment.day)?, it.treatment.told_by.to_string())));
        days.max_by_key(|(day, _)| *day)
    }

    /// The dated treatments that one of an application keeps its distance to, with the days between
    /// and the name: to the same product its own `interval`, to the same active ingredient what the two
    /// labels ask for.
    pub(super) fn kept_apart(
        &self,
        application: &Application,
        interval: u32,
    ) -> Vec<(Date, u32, String)> {
        let days_to = |other: &Application| {
            let pairs = application.products.iter().flat_map(|ours| {
                other.products.iter().map(move |theirs| (&ours.product, &theirs.product))
            });
            pairs.filter_map(|(ours, theirs)| days_between(ours, theirs, interval)).max()
        };
        let kept = self.dated.iter().filter_map(|(day, other)| {
            Some((*day, days_to(other).filter(|days| *days > 0)?, other.name.clone()))
        });
        kept.collect()
    }
}

/// How many days lie between two products at least; `None` where nobody asks for any.
fn days_between(ours: &Product, theirs: &Product, interval: u32) -> Option<u32> {
    let labels = [ours, theirs].into_iter();
    let of_labels = labels.filter_map(|it| Some(it.limits.min_interval.as_ref()?.days)).max();
    if ours.id == theirs.id {
        return Some(of_labels.unwrap_or(0).max(interval));
    }
    let is_alike = ours.active_ingredients.iter().any(|active| theirs.has_active(&active.name));
    of_labels.filter(|_| is_alike)
}

/// Days between two days, in whichever order.
pub(super) fn days_apart(a: Date, b: Date) -> i64 {
    (b.duration_since(a).as_hours() / 24).abs()
}
