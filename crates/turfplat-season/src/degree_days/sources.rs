use jiff::civil::Date;

use crate::daily::{DailySeries, DayTemperatures, Temperature};

/// Where a day's temperatures come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// Measured.
    Measured,
    /// Foretold.
    Forecast,
    /// What is usual on that day of the year.
    Normals,
}

impl Origin {
    /// The word in lists.
    pub fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Forecast => "forecast",
            Self::Normals => "normals",
        }
    }
}

/// The temperatures that somebody has: measured ones up to the last day that was measured, then a
/// forecast, then normals. Of a day that none of them knows nothing is made up, and a gap among the
/// measured days stays one: what is usual on a day, or was foretold of it, is not what happened.
#[derive(Clone, Copy, Debug, Default)]
pub struct DailySources<'a> {
    /// Measured at a station.
    pub measured: Option<&'a DailySeries>,
    /// Foretold.
    pub forecast: Option<&'a DailySeries>,
    /// Usual by day of the year.
    pub normals: Option<&'a DailySeries>,
}

impl DailySources<'_> {
    /// True where there is none.
    pub fn is_empty(&self) -> bool {
        self.measured.is_none() && self.forecast.is_none() && self.normals.is_none()
    }

    /// The mean of the air on a day, and who says so.
    pub fn mean_on(&self, day: Date) -> Option<(Temperature, Origin)> {
        self.first(day, |series| series.last_mean, DayTemperatures::mean)
    }

    /// The soil on a day, and who says so.
    pub fn soil_on(&self, day: Date) -> Option<(Temperature, Origin)> {
        self.first(day, |series| series.last_soil, |known| known.soil)
    }

    fn first(
        &self,
        day: Date,
        last: impl Fn(&DailySeries) -> Option<Date>,
        of: impl Fn(DayTemperatures) -> Option<Temperature>,
    ) -> Option<(Temperature, Origin)> {
        if let Some(measured) = self.measured
            && last(measured).is_some_and(|last| day <= last)
        {
            return Some((of(measured.on(day))?, Origin::Measured));
        }
        let measured = self.measured.map(|it| (it.on(day), Origin::Measured));
        let forecast = self.forecast.map(|it| (it.on(day), Origin::Forecast));
        let normals = self.normals.map(|it| (it.on_any_year(day), Origin::Normals));
        let all = [measured, forecast, normals].into_iter().flatten();
        all.filter_map(|(known, origin)| Some((of(known)?, origin))).next()
    }

    /// True of a 29 February for which the 28th of the normals stands.
    pub(crate) fn stands_in(&self, day: Date, origin: Origin) -> bool {
        origin == Origin::Normals && self.normals.is_some_and(|normals| normals.lacks(day))
    }

    /// The last day of which measurements or forecast say anything; `None` where normals go on for
    /// ever, or there is nothing at all.
    pub fn ends(&self) -> Option<Date> {
        if self.normals.is_some() {
            return None;
        }
        self.told_until()
    }

    /// The last day of which measurements or forecast say anything, normals left out of account;
    /// `None` where there are none.
    pub fn told_until(&self) -> Option<Date> {
        let ends = [self.measured, self.forecast].into_iter().flatten();
        ends.filter_map(|series| Some(series.span()?.1)).max()
    }
}
