//! Why a map is not a list of features: a county's would fill the memory. What is kept of each
//! stretch of the file is whose it is, where it lies and where it stands; the features themselves
//! are read again when the property that they matter to is at work.

use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::num::NonZeroU32;
use std::ops::Range;
use std::sync::Arc;

use geo_types::Coord;
use turfplat_units::Length;

use crate::bytes::Bytes;
use crate::crs::Frame;
use crate::error::{MapError, Note, Problem, ReadError, Scope};
use crate::feature::{Counted, Feature, FeatureRef};
use crate::feature_text::{read_feature, read_geometry};
use crate::formats::told::PASSED_OVER;
use crate::ids::{Ids, RunsByProperty};
use crate::kind::Kind;
use crate::outline::OutlineReader;
use crate::runs::{Counts, Run, Runs, bit};
use crate::scan::pieces;
use crate::settle::Settled;
use crate::splitter::Piece;
use crate::system::{Operation, WGS_84, in_words};

/// The features of one map, in files or in memory, and what of them could not be settled.
#[derive(Clone, Debug, Default)]
pub struct PropertyMap {
    pub(crate) files: Vec<MapFile>,
    /// In file order.
    pub(crate) runs: Runs,
    pub(crate) ids: Ids,
    pub(crate) runs_by_property: RunsByProperty,
    /// Who has turf, in file order.
    pub(crate) with_turf: Vec<PropertyRef>,
    pub(crate) problems: Vec<Problem>,
    pub(crate) notes: Vec<Note>,
    pub(crate) on_plane: bool,
    pub(crate) zone_names: ZoneNames,
}

/// One property of a map, or what is nobody's: the one property of a map without ids, or common ground.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PropertyRef(pub(crate) u32);

impl PropertyRef {
    /// What no id is written on.
    pub const NOBODY: PropertyRef = PropertyRef(0);
}

/// Features of one property that stand together in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RunRef(u32);

/// South-west and north-east corners in the frame of the map.
pub type Corners = (Coord<f64>, Coord<f64>);

/// A file as it is read again.
#[derive(Clone, Debug)]
pub(crate) struct MapFile {
    pub(crate) name: Arc<str>,
    pub(crate) bytes: Bytes,
    pub(crate) frame: Frame,
    /// True of a file that is one geometry and no feature.
    pub(crate) is_bare: bool,
    /// What features without a kind are called by: see [`crate::formats::told::Layer`].
    pub(crate) called: Arc<[Option<Kind>]>,
    pub(crate) counted: Counted,
    pub(crate) has_lines: bool,
    /// True of another format that was told as GeoJSON.
    pub(crate) is_told: bool,
    /// True of a tape sheet, which lies on a plane of its own.
    pub(crate) is_tape: bool,
    /// How PROJ brought its coordinates over, at worst.
    pub(crate) operation: Option<Operation>,
    /// How far off all of it may be beside files of another datum.
    pub(crate) datum_error: Length,
    /// Round all that it shows.
    pub(crate) around: Option<Corners>,
    /// Which runs are in it.
    pub(crate) runs: Range<u32>,
}

impl MapFile {
    /// The line on which a piece starts, if the file has lines.
    pub(crate) fn line_of(&self, piece: &Piece) -> Option<NonZeroU32> {
        NonZeroU32::new(piece.line as u32).filter(|_| self.has_lines)
    }
}

/// The box round two.
pub(crate) fn together(a: Corners, b: Corners) -> Corners {
    let ((low, high), (min, max)) = (a, b);
    (
        Coord { x: low.x.min(min.x), y: low.y.min(min.y) },
        Coord { x: high.x.max(max.x), y: high.y.max(max.y) },
    )
}

/// A box that is rounded outwards: what it is asked for is whether something may be near.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundBox {
    /// South-west.
    pub low: [f32; 2],
    /// North-east.
    pub high: [f32; 2],
}

impl From<Corners> for RoundBox {
    fn from(corners: Corners) -> RoundBox {
        let mut around = RoundBox::EMPTY;
        around.include(corners);
        around
    }
}

impl RoundBox {
    /// True if they share a place.
    pub fn touches(&self, other: &RoundBox) -> bool {
        (0..2).all(|axis| self.low[axis] <= other.high[axis] && other.low[axis] <= self.high[axis])
    }

    pub(crate) const EMPTY: RoundBox =
        RoundBox { low: [f32::INFINITY; 2], high: [f32::NEG_INFINITY; 2] };

    pub(crate) fn include(&mut self, (min, max): Corners) {
        self.low = [self.low[0].min(rounded_down(min.x)), self.low[1].min(rounded_down(min.y))];
        self.high =
            [self.high[0].max(-rounded_down(-max.x)), self.high[1].max(-rounded_down(-max.y))];
    }

    pub(crate) fn corners(&self) -> Option<Corners> {
        let corner = |[x, y]: [f32; 2]| Coord { x: x.into(), y: y.into() };
        (self.low[0] <= self.high[0]).then(|| (corner(self.low), corner(self.high)))
    }
}

pub(crate) fn rounded_down(value: f64) -> f32 {
    let near = value as f32;
    if f64::from(near) > value { near.next_down() } else { near }
}

/// Features of the map that may matter beyond the property that they were drawn for.
#[derive(Clone, Copy, Debug)]
pub struct Around {
    /// Which.
    pub run: RunRef,
    /// The box round them as drawn.
    pub corners: Corners,
    /// How far beyond it they matter by what they say of themselves: width, radius, own distance.
    pub own_reach: Length,
    /// The property that they were drawn for, or nobody.
    pub property: PropertyRef,
    kinds: u16,
}

impl Around {
    /// The kinds among them.
    pub fn kinds(&self) -> impl Iterator<Item = Kind> {
        let kinds = self.kinds;
        Kind::ALL.into_iter().filter(move |kind| kinds & bit(*kind) != 0)
    }
}

/// In what the coordinates of a file count, as its system or the user says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Counting<'m> {
    /// The system, for messages; `None` of a plane of the file's own.
    pub system: Option<&'m str>,
    /// Metres in one unit of them.
    pub metres_per_unit: f64,
}

/// Features read again, in file order, each with its name.
#[derive(Clone, Debug, Default)]
pub struct Group {
    /// The features.
    pub features: Vec<Feature>,
    /// What was settled of them and should be seen.
    pub notes: Vec<Note>,
    /// What is wrong with them together.
    pub problems: Vec<Problem>,
    noted: Noted,
}

/// How many notes of a group have each code.
#[derive(Clone, Debug, Default)]
struct Noted(Vec<(&'static str, u64)>);

impl Noted {
    /// A note costs ten times the bytes of an empty feature, and nobody reads ten thousand of one code.
    const MOST: u64 = 10_000;

    /// Counts a note; false of one too many of its code.
    fn has_room(&mut self, code: &'static str) -> bool {
        let place = self.0.iter().position(|(known, _)| *known == code).unwrap_or_else(|| {
            self.0.push((code, 0));
            self.0.len() - 1
        });
        self.0[place].1 += 1;
        self.0[place].1 <= Noted::MOST
    }
}

/// The names of a map's turf.
#[derive(Clone, Debug, Default)]
pub(crate) struct ZoneNames {
    /// By a hash of 64 bits, which no two of a map's names will share.
    known: HashSet<u64>,
    /// The first few, for messages.
    first: Vec<String>,
    /// Of turf that was refused.
    refused: HashSet<String>,
}

impl ZoneNames {
    /// So many are listed in a message.
    const LISTED: usize = 12;

    pub(crate) fn add(&mut self, name: &str) {
        if self.known.insert(hash(name)) && self.first.len() <= ZoneNames::LISTED {
            self.first.push(name.to_owned());
        }
    }

    pub(crate) fn refuse(&mut self, name: String) {
        self.refused.insert(name);
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.known.is_empty()
    }
}

fn hash(name: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    name.hash(&mut hasher);
    hasher.finish()
}

impl PropertyMap {
    /// What could not be settled; a property with a problem must not be used.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// What should be seen of whole files.
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// Those of them that belong with the answer for each property: all of a map of one property;
    /// of a larger one those by which distances differ, and those that put all of it in doubt.
    pub fn notes_for_each(&self) -> impl Iterator<Item = &Note> {
        let differ = self.files.iter().any(|file| file.datum_error > Length::ZERO);
        let is_one = self.with_turf.len() == 1;
        let is_wrong = |code| {
            matches!(
                code,
                "far-away"
                    | "files-not-read"
                    | "no-feature"
                    | "latitude-first"
                    | "feet-as-meters"
                    | "web-map-meters"
                    | "other-system"
            )
        };
        self.notes.iter().filter(move |note| differ || is_one || is_wrong(note.code))
    }

    /// How many features could be settled, those without geometry among them.
    pub fn feature_count(&self) -> usize {
        self.runs.features()
    }

    /// True where coordinates are metres on a plane and not degrees.
    pub fn is_on_plane(&self) -> bool {
        self.on_plane
    }

    /// In what the file of a feature counts: `None` of degrees, and of a tape sheet, which says its
    /// units itself.
    pub fn counting(&self, feature: &Feature) -> Option<Counting<'_>> {
        let file = self.files.get(feature.at.file_number as usize).filter(|file| !file.is_tape)?;
        match file.frame.system() {
            Some(system) => {
                let metres_per_unit = system.metres_per_unit?;
                Some(Counting { system: Some(&system.name), metres_per_unit })
            }
            None => Some(Counting { system: None, metres_per_unit: file.frame.scale()? }),
        }
    }

    /// True if any file counts in meters, feet or the like, and not in degrees.
    pub fn counts_in_lengths(&self) -> bool {
        let of = |file: &MapFile| match file.frame.system() {
            Some(system) => system.metres_per_unit.is_some(),
            None => !file.frame.is_degrees() && !file.is_tape,
        };
        self.files.iter().any(of)
    }

    /// Where each file lies that is in degrees or was brought to them, in words, such as
    /// `lots.shp (EPSG:26916) lies at 44.26° N 88.42° W`: a neighboring zone of a grid is seen by
    /// nobody but who knows the place.
    pub fn places(&self) -> impl Iterator<Item = String> {
        let files = self.files.iter().filter(|_| !self.on_plane);
        files.filter_map(|file| {
            let (low, high) = file.around?;
            let system = file.frame.system().map(|system| format!(" ({})", system.name));
            let place = in_words((low + high) / 2.0);
            Some(format!("{}{} lies at {place}", file.name, system.unwrap_or_default()))
        })
    }

    /// The properties that have turf, in file order of their first.
    pub fn properties(&self) -> &[PropertyRef] {
        &self.with_turf
    }

    /// The id of a property; `None` of what is nobody's.
    pub fn id(&self, property: PropertyRef) -> Option<&str> {
        self.ids.name(property)
    }

    /// True if turf of this name is on the map, also where it was refused.
    pub fn has_zone(&self, name: &str) -> bool {
        self.zone_names.known.contains(&hash(name)) || self.zone_names.refused.contains(name)
    }

    /// The first names of turf, for messages; `…` stands for the others.
    pub fn some_zones(&self) -> Vec<&str> {
        let first = self.zone_names.first.iter().map(String::as_str);
        let listed = first.clone().count().min(ZoneNames::LISTED);
        let more = (self.zone_names.first.len() > listed).then_some("…");
        first.take(listed).chain(more).collect()
    }

    /// All that may matter beyond its own property: everything but turf.
    ///
    /// # Errors
    ///
    /// [`ReadError::Index`] where a list of this in a temporary file cannot be read.
    pub fn around(&self) -> impl Iterator<Item = Result<Around, ReadError>> {
        let runs = self.runs.each().zip(0..);
        runs.filter_map(|(run, place)| {
            run.map(|run| self.around_run(&run, RunRef(place))).transpose()
        })
    }

    /// What of one run may matter beyond its own property; `None` if it is turf alone.
    ///
    /// # Errors
    ///
    /// [`ReadError::Index`] where a list of this in a temporary file cannot be read.
    pub fn around_of(&self, run: RunRef) -> Result<Option<Around>, ReadError> {
        Ok(self.around_run(&self.runs.get(run.0)?, run))
    }

    fn around_run(&self, run: &Run, at: RunRef) -> Option<Around> {
        let corners = run.others.corners()?;
        let own_reach = Length::from_metres(run.own_reach.into())?;
        let own_reach = own_reach + self.files[run.file as usize].datum_error;
        Some(Around { run: at, corners, own_reach, property: run.property, kinds: run.kinds })
    }

    /// The runs of a property, or of what is nobody's, in file order.
    pub fn runs_of(&self, property: PropertyRef) -> impl Iterator<Item = RunRef> {
        self.runs_by_property.each(property).iter().map(|&run| RunRef(run))
    }

    /// The runs of a file, in file order.
    pub(crate) fn runs_in(&self, file: u32) -> impl ExactSizeIterator<Item = RunRef> {
        let runs = self.files.get(file as usize).map(|file| file.runs.clone());
        runs.unwrap_or_default().map(RunRef)
    }

    pub(crate) fn run(&self, run: RunRef) -> Result<Run, ReadError> {
        self.runs.get(run.0)
    }

    /// Whoever has features on the map, nobody first and then in file order.
    pub fn everybody(&self) -> impl Iterator<Item = PropertyRef> {
        (0..self.runs_by_property.properties() as u32).map(PropertyRef)
    }

    /// How many bytes of its file a run takes.
    ///
    /// # Errors
    ///
    /// [`ReadError::Index`] where a list of this in a temporary file cannot be read.
    pub fn run_length(&self, run: RunRef) -> Result<u64, ReadError> {
        Ok(self.run(run)?.length.into())
    }

    /// The name of a file that is no longer what it was when it was opened.
    pub fn changed_file(&self) -> Option<&str> {
        self.files.iter().find(|file| file.bytes.has_changed()).map(|file| file.name.as_ref())
    }

    /// Reads all features of a property, or all that are nobody's.
    ///
    /// # Errors
    ///
    /// [`ReadError`] where a file cannot be read again or is not what it was.
    pub fn read_property(&self, property: PropertyRef) -> Result<Group, ReadError> {
        let mut group = Group::default();
        for run in self.runs_of(property) {
            self.read_into(&self.run(run)?, &mut group)?;
        }
        group.note_same_names();
        group.note_what_is_not_listed();
        Ok(group)
    }

    /// Reads the features of a run.
    ///
    /// # Errors
    ///
    /// [`ReadError`] where a file cannot be read again or is not what it was.
    pub fn read_run(&self, run: RunRef) -> Result<Group, ReadError> {
        let mut group = Group::default();
        self.read_into(&self.run(run)?, &mut group)?;
        Ok(group)
    }

    fn read_into(&self, run: &Run, group: &mut Group) -> Result<(), ReadError> {
        let file = &self.files[run.file as usize];
        let mut bytes = Vec::new();
        let end = run.start + u64::from(run.length);
        file.bytes.read(run.start, end, &mut bytes).map_err(|error| ReadError::NotRead {
            file: file.name.to_string(),
            reason: error.to_string(),
        })?;
        let changed = || ReadError::Changed { file: file.name.to_string() };
        let to_frame = file.frame.here();
        let mut reader = OutlineReader::new(&to_frame);
        let mut counts = self.runs.earlier_than(run)?;
        // Its own: threads that count the uses of one name wait for each other.
        let name: Arc<str> = Arc::from(file.name.as_ref());
        let mut read = 0;
        for (place, piece) in pieces(&bytes, run.line as usize).enumerate() {
            let text =
                std::str::from_utf8(&bytes[piece.start..piece.end]).map_err(|_| changed())?;
            let at = FeatureRef {
                file: Arc::clone(&name),
                file_number: run.file,
                index: run.first as usize + place,
                counted: file.counted,
                line: file.line_of(&piece),
                label: None,
            };
            let settled = settle(text, &piece, at, file, &mut reader);
            if !settled.problems.is_empty() {
                return Err(changed());
            }
            read += 1;
            let Group { notes, noted, .. } = &mut *group;
            notes.extend(settled.notes.into_iter().filter(|note| noted.has_room(note.code)));
            let feature = settled.feature.map(|mut feature| {
                let number = one_more(feature.kind, &mut counts);
                feature.name = named(feature.name, feature.kind, number);
                feature
            });
            group.features.extend(
                feature.map(|feature| Feature { datum_error: file.datum_error, ..feature }),
            );
        }
        if read != usize::from(run.count) { Err(changed()) } else { Ok(()) }
    }
}

/// Reads and settles the feature, or the bare geometry, that a text is.
pub(crate) fn settle(
    text: &str,
    piece: &Piece,
    mut at: FeatureRef,
    file: &MapFile,
    reader: &mut OutlineReader<'_>,
) -> Settled {
    reader.start_anew();
    if file.is_told && text == PASSED_OVER {
        return Settled::default();
    }
    let drawn = if file.is_bare {
        Ok(read_geometry(text, &at, reader))
    } else {
        read_feature(text, piece, &mut at, reader)
    };
    match drawn {
        Ok(drawn) => Settled::of(at, drawn, reader, &file.called),
        Err(error) => Settled::unreadable(error),
    }
}

/// One more of a kind; the how manieth it is.
pub(crate) fn one_more(kind: Kind, counts: &mut Counts) -> u32 {
    counts[kind as usize] += 1;
    counts[kind as usize]
}

/// The name of a feature: its own, or its kind and its number among that kind.
pub(crate) fn named(name: String, kind: Kind, number: u32) -> String {
    if name.is_empty() { format!("{kind} {number}") } else { name }
}

impl MapFile {
    fn datum(&self) -> &str {
        self.frame.system().map_or(WGS_84, |system| &system.datum)
    }

    /// How far PROJ may put it off the ground, in metres.
    fn accuracy(&self) -> f64 {
        self.operation.as_ref().and_then(|operation| operation.accuracy).unwrap_or(0.0)
    }
}

impl PropertyMap {
    /// Files of different datums do not lie on each other to the centimetre; how far off they may be
    /// is noted, and their hazards are kept away from by as much more.
    pub(crate) fn hold_datums_together(&mut self) {
        /// A survey's own error, in metres: better than this no edge is known.
        const WORTH_A_WORD: f64 = 0.1;
        let errors: Vec<Length> = self
            .files
            .iter()
            .map(|file| {
                let others = self.files.iter().filter(|other| other.datum() != file.datum());
                let farthest = others.map(MapFile::accuracy).reduce(f64::max);
                let both = farthest.map_or(0.0, |other| other + file.accuracy());
                Length::from_metres(both).unwrap_or_default()
            })
            .collect();
        for ((file, error), number) in self.files.iter_mut().zip(errors).zip(0..) {
            file.datum_error = error;
            let Some(Operation { name, accuracy: Some(accuracy) }) = &file.operation else {
                continue;
            };
            if *accuracy <= WORTH_A_WORD && error == Length::ZERO {
                continue;
            }
            let consequence = if error == Length::ZERO {
                "which moves all of this map alike and changes no area".to_owned()
            } else {
                format!(
                    "and there are files of another datum: distances from its features are kept {} m wider, and what they take out may be off by as much",
                    error.metres()
                )
            };
            self.notes.push(Note {
                code: "datum-accuracy",
                property: None,
                at: FeatureRef::of_file(&file.name, number),
                message: format!(
                    "came to WGS 84 by PROJ's {name:?}, which is right to {accuracy} m, {consequence}"
                ),
            });
        }
    }
}

impl Group {
    /// Says how many notes there would have been beyond the most of a code: first of all, so that it
    /// is read.
    fn note_what_is_not_listed(&mut self) {
        let unlisted = self.noted.0.iter().filter(|(_, count)| *count > Noted::MOST);
        for (code, count) in unlisted {
            let Some(like) = self.notes.iter().rfind(|note| note.code == *code) else { continue };
            let (property, at) = (like.property.clone(), like.at.clone());
            let at = FeatureRef::of_file(&at.file, at.file_number);
            let message = format!(
                "{} features more of which the same is to be said as of the {} that are listed",
                count - Noted::MOST,
                Noted::MOST
            );
            self.notes.insert(0, Note { code, property, at, message });
        }
    }

    /// Zones of one name cannot be told apart in a plan.
    fn note_same_names(&mut self) {
        let mut first_of: HashMap<&str, &FeatureRef> = HashMap::new();
        for zone in self.features.iter().filter(|feature| feature.kind == Kind::Turf) {
            let first = *first_of.entry(&zone.name).or_insert(&zone.at);
            if *first == zone.at {
                continue;
            }
            let (at, name, first) = (zone.at.clone(), zone.name.clone(), first.clone());
            let scope = zone.property.clone().map_or(Scope::Map, Scope::Property);
            let error = MapError::SameName { at, name, first: Box::new(first) };
            self.problems.push(Problem { scope, error, unused: None });
        }
    }
}
