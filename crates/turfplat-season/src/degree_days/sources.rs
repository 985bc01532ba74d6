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

/// The temperatures that somebody has: measured ones first, then a forecast, then normals. Of a day
/// that none of them knows nothing is made up.
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
        self.first(day, DayTemperatures::mean)
    }

    /// The soil on a day, and who says so.
    pub fn soil_on(&self, day: Date) -> Option<(Temperature, Origin)> {
        self.first(day, |known| known.soil)
    }

    fn first(
        &self,
        day: Date,
        of: impl Fn(DayTemperatures) -> Option<Temperature>,
    ) -> Option<(Temperature, Origin)> {
        let measured = self.measured.map(|it| (it.on(day), Origin::Measured));
        let forecast = self.forecast.map(|it| (it.on(day), Origin::Forecast));
        let normals = self.normals.map(|it| (it.on_any_year(day), Origin::Normals));
        let all = [measured, forecast, normals].into_iter().flatten();
        all.filter_map(|(known, origin)| Some((of(known)?, origin))).next()
    }

    /// The last day of which measurements or forecast say anything; `None` where normals go on for
    /// ever, or there is nothing at all.
    pub fn ends(&self) -> Option<Date> {
        if self.normals.is_some() {
            return None;
        }
        let ends = [self.measured, self.forecast].into_iter().flatten();
        ends.filter_map(|series| Some(series.span()?.1)).max()
    }
}
