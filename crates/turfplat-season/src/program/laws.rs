//! Laws of a season that a crew leader would nod at.

use jiff::ToSpan;
use jiff::civil::{Date, date};
use proptest::prelude::*;

use super::*;

fn any_day() -> impl Strategy<Value = Date> {
    (0_i64..700).prop_map(|days| date(2026, 1, 1).saturating_add(days.days()))
}

/// Every treatment of a season whose model says so many days after each.
fn season(window: &Window, least_days: u32, model: &dyn Fn(Date) -> Option<Date>) -> Vec<Date> {
    let first = window.on_or_after(window.first());
    let next = |day: &Date| next_day(window, *day, least_days, model(*day)).map(|next| next.day);
    std::iter::successors(first, next).collect()
}

fn days_apart(a: Date, b: Date) -> i64 {
    b.duration_since(a).as_hours() / 24
}

proptest! {
    /// No two treatments are nearer than the interval, all lie in the season and none in a pause.
    #[test]
    fn treatments_keep_their_distance(
        first in any_day(), length in 0_i64..400, least in 0_u32..90,
        pause in (any_day(), 0_i64..60), model in prop::option::of(0_i64..120),
    ) {
        let last = first.saturating_add(length.days());
        let pause = (pause.0, pause.0.saturating_add(pause.1.days()));
        let window = Window::new(first, last, &[pause]).expect("a season");
        let days = season(&window, least, &|day| Some(day.saturating_add(model?.days())));
        for pair in days.windows(2) {
            prop_assert!(days_apart(pair[0], pair[1]) >= i64::from(least.max(1)));
        }
        for day in days {
            prop_assert!((first..=last).contains(&day) && !(pause.0..=pause.1).contains(&day));
        }
    }

    /// A model never brings a treatment forward, and never makes one more.
    #[test]
    fn a_model_never_shortens(
        first in any_day(), length in 0_i64..400, least in 1_u32..90, model in -50_i64..120,
    ) {
        let window = Window::new(first, first.saturating_add(length.days()), &[]).expect("a season");
        let plain = season(&window, least, &|_| None);
        let by_model = season(&window, least, &|day| Some(day.saturating_add(model.days())));
        prop_assert!(by_model.len() <= plain.len());
        prop_assert!(by_model.iter().zip(&plain).all(|(later, day)| later >= day));
    }

    /// Who begins later never treats more often.
    #[test]
    fn a_later_start_is_never_more(
        first in any_day(), length in 0_i64..400, later in 0_i64..100, least in 1_u32..90,
        pause in (any_day(), 0_i64..60),
    ) {
        let last = first.saturating_add(length.days());
        let pause = [(pause.0, pause.0.saturating_add(pause.1.days()))];
        let of = |first: Date| {
            let window = Window::new(first, last, &pause).ok();
            window.map_or(0, |window| season(&window, least, &|_| None).len())
        };
        prop_assert!(of(first.saturating_add(later.days())) <= of(first));
    }
}
