//! When to treat.
//!
//! A label's least interval says when a treatment may come again, a model of degree-days when its effect
//! has worn off, a forecast in which hour it can be sprayed. This crate answers the three from dates,
//! temperatures and winds alone; what they mean for a zone and its dose is joined in `turfplat`.

mod daily;
mod degree_days;
mod hourly;
mod program;
mod sun;
mod windows;

pub use jiff::Timestamp;
pub use jiff::civil::Date;

pub use daily::{
    DailyError, DailyOptions, DailySeries, DayTemperatures, DropReason, Dropped, Temperature,
    read_daily,
};
pub use degree_days::{
    DailySources, DayCount, DegreeDays, HeatCount, HeatModel, ModelError, Origin, Reached,
    count_heat, heat_models, read_heat_models,
};
pub use program::{
    CalendarEvent, Next, NextBecause, Start, StartFound, StartUnknown, Window, WindowError,
    calendar, next_day,
};

pub use hourly::{
    Celsius, Clock, Forecast, ForecastError, Hour, SpeedRange, dew_point, relative_humidity,
    wet_bulb,
};
pub use sun::{Night, Sun, SunError};
pub use windows::{
    Asked, By, DryLeaf, HourWindow, Implausible, Judged, JudgedHour, Limit, Limits, OwnLimits,
    ProductLimits, Rule, Setting, Settings, SettingsError, Verdict, Weight, judge, windows,
};
