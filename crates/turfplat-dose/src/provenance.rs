use std::fmt;
use std::str::FromStr;

/// Where a fact comes from, how far it is to be trusted, and when it was read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Provenance {
    /// Author, year and place of publication; or that there is none.
    pub source: Option<String>,
    /// How the fact was come by.
    pub status: Option<Status>,
    /// When the source was read, as `2026-11` or `2026-11-03`.
    pub read: Option<String>,
}

impl fmt::Display for Provenance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.source.as_deref().unwrap_or("source not given"))?;
        match self.status {
            Some(Status::Memory) => f.write_str("; from memory: check it"),
            Some(Status::Secondary) => f.write_str("; read on a secondary page"),
            _ => Ok(()),
        }
    }
}

/// How a fact was come by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Read in the named source (`V`).
    Read,
    /// Read on a page that repeats the source (`V2`).
    Secondary,
    /// From memory (`M`): shown, and marked so.
    Memory,
    /// Computed here (`C`).
    Computed,
    /// What the trade does, without a source that could be named.
    Practice,
    /// Looked for and not found.
    Gap,
    /// A choice of this tool.
    Default,
    /// True by what the words mean, such as the analysis in a grade.
    Definition,
}

impl Status {
    pub(crate) const KNOWN: &'static str = "V, V2, M, C, common practice, gap, default, definition";

    /// The mark as the data files write it.
    pub fn mark(self) -> &'static str {
        match self {
            Self::Read => "V",
            Self::Secondary => "V2",
            Self::Memory => "M",
            Self::Computed => "C",
            Self::Practice => "common practice",
            Self::Gap => "gap",
            Self::Default => "default",
            Self::Definition => "definition",
        }
    }
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Read => "read in the source",
            Self::Secondary => "read on a secondary page",
            Self::Memory => "from memory, check it",
            Self::Computed => "computed",
            Self::Practice => "common practice",
            Self::Gap => "none found",
            Self::Default => "default of this tool",
            Self::Definition => "by definition",
        })
    }
}

impl FromStr for Status {
    type Err = ();

    fn from_str(text: &str) -> Result<Status, ()> {
        const ALL: [Status; 8] = [
            Status::Read,
            Status::Secondary,
            Status::Memory,
            Status::Computed,
            Status::Practice,
            Status::Gap,
            Status::Default,
            Status::Definition,
        ];
        ALL.into_iter().find(|status| status.mark().eq_ignore_ascii_case(text.trim())).ok_or(())
    }
}

/// What a rate rests on; only [`Basis::Label`] is ever dosed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The user's own label, checked on a date.
    Label,
    /// A published trial.
    Research,
    /// What the trade or an extension service recommends.
    Practice,
    /// From memory.
    Memory,
    /// No rate was found.
    Gap,
}

impl Basis {
    pub(crate) const KNOWN: &'static str = "label, research, practice, memory, gap";

    /// The word as the data files write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Label => "label",
            Self::Research => "research",
            Self::Practice => "practice",
            Self::Memory => "memory",
            Self::Gap => "gap",
        }
    }
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Basis {
    type Err = ();

    fn from_str(text: &str) -> Result<Basis, ()> {
        [Basis::Label, Basis::Research, Basis::Practice, Basis::Memory, Basis::Gap]
            .into_iter()
            .find(|basis| basis.word().eq_ignore_ascii_case(text.trim()))
            .ok_or(())
    }
}
