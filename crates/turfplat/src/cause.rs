use std::fmt;

use turfplat_map::Kind;

/// To what ground is lost. Prints as in the documents: `building`, `setback:water`, `drift:water`, `zone:Back lawn`, `parcel`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Another zone, which keeps an overlap.
    Zone(String),
    /// A feature that is no lawn.
    Feature(Kind),
    /// The distance kept from features of a kind.
    Setback(Kind),
    /// The ground from which spray would drift to features of a kind, in the wind of the hour.
    Drift(Kind),
    /// It lies beyond the lot line.
    Parcel,
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cause::Zone(name) => write!(f, "zone:{name}"),
            Cause::Feature(kind) => write!(f, "{kind}"),
            Cause::Setback(kind) => write!(f, "setback:{kind}"),
            Cause::Drift(kind) => write!(f, "drift:{kind}"),
            Cause::Parcel => f.write_str("parcel"),
        }
    }
}
