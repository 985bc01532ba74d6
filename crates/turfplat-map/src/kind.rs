use std::fmt;
use std::str::FromStr;

/// What a map feature is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)] // The names say it; `name` gives the word of the map file.
pub enum Kind {
    Turf,
    Building,
    Hardscape,
    Water,
    Bed,
    /// Grown to be eaten.
    Garden,
    Play,
    Apiary,
    KeepOut,
    /// A storm inlet.
    Drain,
    /// A natural vegetated strip along water.
    VegStrip,
    Well,
    /// Where tanks are filled.
    MixSite,
    /// The lot line.
    Parcel,
}

impl Kind {
    /// Every kind. From [`Kind::Building`] to [`Kind::VegStrip`] in the order in which they
    /// take turf, each only of what is left.
    pub const ALL: [Kind; 14] = [
        Kind::Turf,
        Kind::Building,
        Kind::Hardscape,
        Kind::Water,
        Kind::Bed,
        Kind::Garden,
        Kind::Play,
        Kind::Apiary,
        Kind::KeepOut,
        Kind::Drain,
        Kind::VegStrip,
        Kind::Well,
        Kind::MixSite,
        Kind::Parcel,
    ];

    /// The word in a map file, such as `mix-site`.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Turf => "turf",
            Kind::Building => "building",
            Kind::Hardscape => "hardscape",
            Kind::Water => "water",
            Kind::Bed => "bed",
            Kind::Garden => "garden",
            Kind::Play => "play",
            Kind::Apiary => "apiary",
            Kind::KeepOut => "keepout",
            Kind::Drain => "drain",
            Kind::VegStrip => "veg-strip",
            Kind::Well => "well",
            Kind::MixSite => "mix-site",
            Kind::Parcel => "parcel",
        }
    }

    /// The kind that a name says, such as that of a layer, a folder or a file: its own word or the
    /// plural of it.
    pub(crate) fn named(name: &str) -> Option<Kind> {
        let name = name.trim().to_lowercase().replace([' ', '_'], "-");
        let one = name.strip_suffix('s');
        let apiary = name.strip_suffix("ies").map(|start| format!("{start}y"));
        let words = [Some(name.as_str()), one, apiary.as_deref()];
        words.into_iter().flatten().find_map(|word| word.parse().ok())
    }

    /// True of what is not lawn wherever it lies: its own area is taken out of a zone.
    pub fn takes_area(self) -> bool {
        !matches!(self, Kind::Turf | Kind::Well | Kind::MixSite | Kind::Parcel)
    }

    /// True of what a setback can be kept from.
    pub fn keeps_a_distance(self) -> bool {
        !matches!(self, Kind::Turf | Kind::MixSite | Kind::Parcel)
    }

    /// True of what work keeps a distance from, so that a bare point or water's line means something.
    pub fn is_hazard(self) -> bool {
        matches!(
            self,
            Kind::Water | Kind::Garden | Kind::Play | Kind::Apiary | Kind::Drain | Kind::Well
        )
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Kind {
    type Err = ();

    fn from_str(text: &str) -> Result<Kind, ()> {
        let text = text.trim();
        Kind::ALL.into_iter().find(|kind| kind.name().eq_ignore_ascii_case(text)).ok_or(())
    }
}
