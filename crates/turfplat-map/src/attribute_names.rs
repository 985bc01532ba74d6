//! The names of what a map says of its features, and names that were meant for them.

use turfplat_units::letters_apart;

/// A property of a feature that is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Known {
    Kind,
    Name,
    Species,
    Condition,
    Property,
    Priority,
    WidthFt,
    WidthM,
    RadiusFt,
    RadiusM,
    SetbackFt,
    SetbackM,
    VegStripFt,
    VegStripM,
    DrawnFt,
    DrawnM,
    GradePct,
    SizeUnknown,
    /// Says of a shape on a tape sheet that only its area is known.
    LeftAsArea,
    /// What exports of OpenStreetMap say of a feature parts of which were not downloaded. Source:
    /// the OpenStreetMap wiki, from memory.
    Incomplete,
    /// What the kinds file does not list, in words. Written while a file is told, and by nobody else.
    Unlisted,
    /// Of a feature without a kind the number of the file, layer or folder whose name stands for one.
    /// Written while a file is told, and by nobody else.
    Called,
    /// What can be done about a line or a point without a size, in words of its format. Written while a
    /// file is told.
    Cure,
}

/// How many there are.
pub(crate) const COUNT: usize = Known::Cure as usize + 1;

const NAMES: [&str; COUNT] = [
    "kind",
    "name",
    "species",
    "condition",
    "property",
    "priority",
    "width_ft",
    "width_m",
    "radius_ft",
    "radius_m",
    "setback_ft",
    "setback_m",
    "veg_strip_ft",
    "veg_strip_m",
    "drawn_ft",
    "drawn_m",
    "grade_pct",
    "size_unknown",
    "left_as_area",
    "@tainted",
    "@unlisted",
    "@called",
    "@cure",
];

/// The names of all properties that people write.
pub(crate) const READ: &[&str] = NAMES.split_at(Known::LeftAsArea as usize).0;

impl Known {
    pub(crate) const fn name(self) -> &'static str {
        NAMES[self as usize]
    }

    /// The property of this very name. Every name of every feature of a county passes here.
    pub(crate) fn of(name: &str) -> Option<Known> {
        Some(match name {
            "kind" => Known::Kind,
            "name" => Known::Name,
            "species" => Known::Species,
            "condition" => Known::Condition,
            "property" => Known::Property,
            "priority" => Known::Priority,
            "width_ft" => Known::WidthFt,
            "width_m" => Known::WidthM,
            "radius_ft" => Known::RadiusFt,
            "radius_m" => Known::RadiusM,
            "setback_ft" => Known::SetbackFt,
            "setback_m" => Known::SetbackM,
            "veg_strip_ft" => Known::VegStripFt,
            "veg_strip_m" => Known::VegStripM,
            "drawn_ft" => Known::DrawnFt,
            "drawn_m" => Known::DrawnM,
            "grade_pct" => Known::GradePct,
            "size_unknown" => Known::SizeUnknown,
            "left_as_area" => Known::LeftAsArea,
            "@tainted" => Known::Incomplete,
            "@unlisted" => Known::Unlisted,
            "@called" => Known::Called,
            "@cure" => Known::Cure,
            _ => return None,
        })
    }

    /// The property that a name in other letters stands for.
    pub(crate) fn in_any_case(name: &str) -> Option<Known> {
        Known::of(&name.to_ascii_lowercase())
    }
}

/// The property that a name stands for, whatever its case: programs that went through a shapefile
/// write `KIND`.
pub(crate) fn in_any_case(name: &str) -> Option<&'static str> {
    READ.iter().copied().find(|read| read.eq_ignore_ascii_case(name))
}

/// Names that must not be passed over where they are nearly right, and what was meant.
const SAFETY: [(&str, &str); 6] = [
    ("setback", "setback_ft or setback_m"),
    ("vegstrip", "veg_strip_ft"),
    ("condition", "condition"),
    ("species", "species"),
    ("kind", "kind"),
    ("property", "property"),
];

/// Names of which a word is enough.
const OTHER: [(&str, &str); 7] = [
    ("drawn", "drawn_ft or drawn_m"),
    ("grade", "grade_pct"),
    ("gradepct", "grade_pct"),
    ("width", "width_ft or width_m"),
    ("radius", "radius_ft or radius_m"),
    ("priority", "priority"),
    ("name", "name"),
];

/// A name that is not read and that was meant for one that is.
pub(crate) enum Meant {
    /// Passing it over could put product where none belongs.
    Refused(&'static str),
    Remarked(&'static str),
}

impl Meant {
    /// What a name that is not read was meant for.
    pub(crate) fn by(name: &str) -> Option<Meant> {
        let plain = plain(name);
        let units = ["ft", "feet", "m"];
        let base = units.iter().find_map(|unit| plain.strip_suffix(unit)).unwrap_or(&plain);
        let is = |known: &str| {
            plain == known
                || base == known
                || (plain.len() > 4
                    && plain.len().abs_diff(known.len()) <= 1
                    && letters_apart(&plain, known) <= 1)
        };
        if let Some((_, meant)) = SAFETY.iter().find(|(known, _)| is(known)) {
            return Some(Meant::Refused(meant));
        }
        let remarked = OTHER.iter().find(|(known, _)| plain == *known || base == *known);
        remarked.map(|(_, meant)| Meant::Remarked(meant))
    }
}

/// True of a property that is read, or of a name so near one that passing it over matters.
pub(crate) fn is_read(name: &str) -> bool {
    let plain = plain(name);
    in_any_case(name).is_some() || SAFETY.iter().any(|(known, _)| plain.starts_with(known))
}

/// Letters and digits of a name, small.
fn plain(name: &str) -> String {
    name.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
}

/// The property that a column of a table is read as, whatever the case of its name; some tables
/// cut names after `longest` letters, and of two that such a start could be the first is meant:
/// `veg_strip_` of dBASE is `veg_strip_ft`, as which too narrow a strip is read and never too wide.
pub(crate) fn read_as(column: &str, longest: usize) -> Option<&'static str> {
    let name = column.trim().to_ascii_lowercase();
    let read = || READ.iter().copied();
    let is_cut = name.len() == longest;
    let whole = read().find(|known| *known == name);
    whole.or_else(|| read().find(|known| is_cut && known.starts_with(&name)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_that_of_its_property() {
        for (place, name) in NAMES.iter().enumerate() {
            assert_eq!(Known::of(name).map(|known| known as usize), Some(place), "{name}");
            assert_eq!(Known::in_any_case(&name.to_uppercase()), Known::of(name));
        }
        assert_eq!(READ.last(), Some(&"size_unknown"));
    }
}
