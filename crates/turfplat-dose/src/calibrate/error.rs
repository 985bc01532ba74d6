/// Why a calibration cannot be worked out, and what to measure or write instead.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum CalibrateError {
    /// A measured quantity is nothing.
    #[error("{what} is nothing; measure it again and write what was found")]
    Nothing { what: &'static str },

    /// The quantities are so far apart that the result is no number of the field.
    #[error("{what} comes out too large to be meant; check the units of what was put in")]
    TooLarge { what: &'static str },

    /// Flow of one nozzle over the width of a boom, or the other way round.
    #[error(
        "{flow} does not go with {width}: give the number of nozzles, or the flow and width of the same"
    )]
    FlowOfOther { flow: &'static str, width: &'static str },

    /// A number of nozzles where flow and width are of the same already.
    #[error(
        "the number of nozzles is not needed where flow and width are of the same; leave it out"
    )]
    NozzlesNotNeeded,

    /// A weight where liquid is measured.
    #[error("{what} is a weight; write it as a volume, such as \"{such_as}\"")]
    NotAVolume { what: &'static str, such_as: &'static str },

    /// A volume where something is weighed.
    #[error("{what} is a volume; weigh it and write it such as \"{such_as}\"")]
    NotAWeight { what: &'static str, such_as: &'static str },

    /// Nothing to interpolate between.
    #[error("the spreader's table has {rows}; give at least two settings with their rates")]
    TooFewSettings { rows: String },

    /// A setting that is no number.
    #[error("setting {setting}: use a number that is not negative")]
    NotASetting { setting: String },

    /// One setting with two rates.
    #[error("setting {setting} is given twice; keep one of the two")]
    SettingTwice { setting: String },

    /// Rates that rise and fall, so that one rate has several settings.
    #[error(
        "the rate {turns} from setting {first} to {second}, against the rest of the table; catch these two again"
    )]
    NotMonotone { turns: &'static str, first: String, second: String },

    /// A rate beyond what was tried.
    #[error(
        "{wanted} is outside of the table, which goes from {least} to {most}; catch at a setting beyond it and add the row"
    )]
    OutsideTable { wanted: String, least: String, most: String },
}
