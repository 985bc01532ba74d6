//! The wind of the hour on the command line.

use turfplat::units::Speed;
use turfplat::{Wind, WindFrom};

/// The wind of the hour in which it is sprayed.
#[derive(clap::Args)]
pub(crate) struct WindArgs {
    /// From where the wind blows, as 225 or SW: labels' drift buffers are kept on that side of what they
    /// protect, for this hour alone
    #[arg(long, value_name = "DIR", value_parser = direction, requires = "wind")]
    wind_from: Option<WindFrom>,

    /// How fast it blows, as 6mph; below 3 mph drift buffers are kept on all sides
    #[arg(long, value_name = "SPEED", value_parser = speed, requires = "wind_from")]
    wind: Option<Speed>,
}

impl WindArgs {
    pub(crate) fn wind(&self) -> Option<Wind> {
        self.wind_from.zip(self.wind).map(|(from, speed)| Wind { from, speed })
    }
}

fn direction(text: &str) -> Result<WindFrom, String> {
    text.parse().map_err(|error: turfplat::NoDirection| error.to_string())
}

fn speed(text: &str) -> Result<Speed, String> {
    text.parse::<Speed>().map_err(|error| error.to_string())
}
