//! The first look over a map: every feature is read and settled once, every problem collected
//! with its place, and of the features themselves only what, whose and where is kept.

mod notes;
mod tallies;
#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, BTreeSet};
use std::mem;
use std::sync::Arc;

use turfplat_units::Length;

use serde_json::Value;

use crate::bytes::Bytes;
use crate::crs::{CoordinateSystem, Frame, Unknown};
use crate::error::{MapError, Note, Problem, ReadError, Scope, Turned, Unused};
use crate::feature::{Counted, FeatureRef};
use crate::formats::told::{Layer, Says};
use crate::ids::{Numbers, RunsByProperty};
use crate::kind::Kind;
use crate::property_map::{
    Corners, MapFile, PropertyMap, PropertyRef, RoundBox, named, one_more, rounded_down, together,
};
use crate::reading::{Look, Reading, Sighting};
use crate::runs::{Counts, Run, bit, unkept};
use crate::said::{contradiction, crs_name, who_says};
use crate::settle::NO_PLACE;
use crate::slips::{Lies, far_features, files_apart, is_wide, turf_like_degrees};
use crate::splitter::{Batch, Splitter, Top};
use crate::swapped::{Swapped, against_bbox};
use crate::system::{advice_on, looks_misread};
use notes::{common_far_from, file_notes};
use tallies::Tallies;

/// One map file.
#[derive(Clone, Debug)]
pub struct Source {
    /// Its name, for messages.
    pub name: String,
    /// Its bytes.
    pub bytes: Bytes,
    /// In what its coordinates are.
    pub crs: CoordinateSystem,
    says: Says,
    counted: Counted,
    has_lines: bool,
    is_told: bool,
    about: About,
}

/// What was found while a file was told as GeoJSON.
#[derive(Clone, Debug, Default)]
struct About {
    left_out: Vec<String>,
    skipped: BTreeMap<String, u64>,
    remarks: Vec<(Option<usize>, &'static str, String)>,
    called: Arc<[Option<Kind>]>,
    columns: BTreeSet<String>,
}

impl Source {
    /// A GeoJSON file (RFC 7946).
    pub fn geojson(
        name: impl Into<String>,
        bytes: impl Into<Bytes>,
        crs: CoordinateSystem,
    ) -> Source {
        let (name, bytes) = (name.into(), bytes.into());
        Source {
            name,
            bytes,
            crs,
            says: Says::GeoJson,
            counted: Counted::Features,
            has_lines: true,
            is_told: false,
            about: About::default(),
        }
    }

    /// The columns or properties that it has, where some were asked for, as far as they were seen.
    pub fn columns(&self) -> impl Iterator<Item = &str> + Clone {
        let left_out = self.about.left_out.iter().map(String::as_str);
        self.about.columns.iter().map(String::as_str).chain(left_out)
    }

    /// True where its own name, or that of a layer or folder in it, stands for a kind.
    pub(crate) fn has_kinds_by_name(&self) -> bool {
        !self.about.called.is_empty()
    }

    /// What to say of a file that does not say in what its numbers are.
    fn without_system(&self) -> Result<Option<ReadError>, ReadError> {
        // As metres of a plane they are read as they are.
        let plane = Source { crs: CoordinateSystem::PLANE_METRES, ..self.clone() };
        let mut survey = Survey::default();
        survey.file(0, &plane, &None, &mut |_| {})?;
        let mut around: Option<Corners> = None;
        for one in survey.tallies.each().map_err(unkept)? {
            let (_, corners) = one.map_err(unkept)?;
            around = Some(around.map_or(corners, |around| together(around, corners)));
        }
        Ok(around.map(|corners| {
            let mut advice = advice_on(corners);
            if let Some((_, layer)) =
                self.name.strip_suffix(')').and_then(|name| name.split_once(" ("))
            {
                advice.push_str(&format!("; of {layer} alone: --crs \"{layer}=EPSG:n\""));
            }
            ReadError::NoCrs { file: self.name.clone(), corners, advice }
        }))
    }

    /// A layer that was told as GeoJSON.
    pub(crate) fn told(layer: Layer, crs: CoordinateSystem) -> Source {
        let Layer {
            name,
            bytes,
            says,
            counted,
            has_lines,
            left_out,
            skipped,
            remarks,
            called,
            columns,
        } = layer;
        let is_told = says != Says::GeoJson;
        let about = About { left_out, skipped, remarks, called: called.into(), columns };
        Source { name, bytes, crs, says, counted, has_lines, is_told, about }
    }
}

/// Reads files into one map, in their order.
///
/// # Errors
///
/// [`ReadError`] for the first file that is no map at all. Problems of single features do not
/// stop the reading; they are listed in the map.
pub fn read(sources: &[Source]) -> Result<PropertyMap, ReadError> {
    read_watched(sources, &mut |_| {})
}

/// Reads files into one map, and tells now and then how many of their bytes have been read.
///
/// # Errors
///
/// As [`read`].
pub fn read_watched(
    sources: &[Source],
    watch: &mut dyn FnMut(u64),
) -> Result<PropertyMap, ReadError> {
    // What a file calls its system may stand after its features: then they are read once more.
    let mut named: Vec<Option<String>> = vec![None; sources.len()];
    loop {
        let mut survey = Survey::default();
        let mut again = false;
        let mut done = 0;
        for (number, source) in sources.iter().enumerate() {
            let found =
                survey.file(number, source, &named[number], &mut |read| watch(done + read))?;
            done += source.bytes.length();
            if let Some(name) = found {
                named[number] = Some(name);
                again = true;
            }
        }
        if !again {
            return survey.map_of(sources);
        }
    }
}

#[derive(Default)]
struct Survey {
    map: PropertyMap,
    numbers: Numbers,
    tallies: Tallies,
    /// The run at hand, and what its property had before it.
    run: Option<(Run, Counts)>,
    /// True once there is a run of a property.
    any_owned: bool,
    /// Round all that each file has.
    files: Vec<RoundBox>,
    /// Round all turf.
    turf: Option<Corners>,
    /// The last file of which a feature has said how other columns can be read.
    hinted: Option<u32>,
    /// How many problems there were beyond the most that are listed.
    unlisted: u64,
}

/// Where a feature stands in its file.
struct Standing {
    file: u32,
    index: usize,
    line: usize,
    start: u64,
    end: u64,
}

/// So many problems are kept, each with its words. A county whose kinds stand in another column has as
/// many as features, and they would take more memory than the map.
const MOST_PROBLEMS: usize = 100_000;

/// A run holds no more features than this; what is nobody's lies anywhere, so fewer.
const LONGEST_RUN: u16 = 512;
const LONGEST_RUN_OF_NOBODY: u16 = 16;
/// Nor does it lie across more ground than a lot or two, about 300 m: whoever is near some of it
/// reads all of it.
const WIDEST_RUN: [f64; 2] = [0.003, 300.0];
/// Nor more bytes, beyond its first feature.
const LARGEST_RUN: u64 = 1 << 18;

impl Survey {
    /// Reads one file; the coordinate system that it names, if that is another than it was read in.
    fn file(
        &mut self,
        number: usize,
        source: &Source,
        named: &Option<String>,
        watch: &mut dyn FnMut(u64),
    ) -> Result<Option<String>, ReadError> {
        let name: Arc<str> = Arc::from(source.name.as_str());
        let mut splitter = Splitter::new(&name, &source.bytes);
        let mut batch = splitter.next_batch(Batch::default())?;
        let named = match (&source.says, named) {
            (Says::GeoJson, None) => crs_name(splitter.top(), &name, &source.crs)?,
            (Says::GeoJson, known) => known.clone(),
            (Says::System(system), _) => Some(system.clone()),
            (Says::LongitudeLatitude | Says::PlaneMetres, _) => None,
            (Says::Nothing, _) if source.crs != CoordinateSystem::AsTheFileSays => None,
            (Says::Nothing, _) => match source.without_system()? {
                Some(error) => return Err(error),
                // Nothing of it can be placed anyway; each feature will say why.
                None => None,
            },
        };
        let asked = match (&source.says, &source.crs) {
            // A tape knows nothing else.
            (Says::PlaneMetres, CoordinateSystem::Code(code)) => {
                let file = source.name.clone();
                let reason =
                    format!("a tape sheet lies on a plane of its own; leave out --crs {code}");
                return Err(ReadError::Format { file, reason });
            }
            (Says::PlaneMetres, _) if self.map.files.iter().any(|file| file.is_tape) => {
                return Err(ReadError::TwoSheets { file: source.name.clone() });
            }
            (Says::PlaneMetres, _) => &CoordinateSystem::PLANE_METRES,
            (_, asked) => asked,
        };
        let frame = Frame::choose(asked, named.as_deref()).map_err(|Unknown { crs, reason }| {
            ReadError::Crs { file: source.name.clone(), crs, reason }
        })?;
        if number > 0 && self.map.on_plane == frame.is_degrees() {
            return Err(ReadError::FramesDiffer { file: source.name.clone() });
        }
        self.map.on_plane = !frame.is_degrees();
        let Source { bytes, counted, has_lines, .. } = source.clone();
        let file = MapFile {
            name,
            bytes,
            frame,
            is_bare: false,
            called: Arc::clone(&source.about.called),
            counted,
            has_lines,
            is_told: source.is_told,
            is_tape: source.says == Says::PlaneMetres,
            operation: None,
            datum_error: Length::ZERO,
            around: None,
            runs: 0..0,
        };
        let first_run = self.map.runs.count() as u32;
        self.files.push(RoundBox::EMPTY);
        let problems_before = self.map.problems.len();
        let mut reading = Reading::of(file, number);
        reading.is_degrees_by_rule = source.says == Says::LongitudeLatitude;
        // While one batch is looked at, the one before is added and the next is split.
        let mut before: Option<(Batch, Vec<Look>, usize)> = None;
        while let Some(mut current) = batch {
            let pending = before.take();
            let (next, looks) = rayon::join(
                || {
                    let mut spare = Batch::default();
                    if let Some((batch, looks, first)) = pending {
                        self.add_all(&reading.file.name, number, &batch, looks, first)?;
                        spare = batch;
                    }
                    splitter.next_batch(spare)
                },
                || reading.looks(&current),
            );
            let looks = match reading.taken_apart(&mut current, &looks) {
                true => reading.looks(&current),
                false => looks,
            };
            looks.iter().for_each(|look| reading.note(look));
            let first = reading.index;
            reading.index += looks.len();
            before = Some((current, looks, first));
            batch = next?;
            watch(splitter.done());
        }
        if let Some((batch, looks, first)) = before {
            self.add_all(&reading.file.name, number, &batch, looks, first)?;
        }
        if !splitter.top().is_broken_off {
            self.whole(&mut reading, splitter.top())?;
        }
        let of_file = self.map.problems.get_mut(problems_before..).unwrap_or_default();
        reading.settle_odd(of_file.iter_mut().map(|problem| &mut problem.error));
        let doubts = reading.doubts(who_says(&source.says, &source.crs, &source.name));
        if let (false, Some(MapError::NotJson { line, column, reason, .. })) =
            (reading.any_json, reading.not_json.take())
        {
            return Err(ReadError::NotJson { file: source.name.clone(), line, column, reason });
        }
        self.map.problems.extend(doubts.map(|error| Problem {
            scope: Scope::Map,
            error,
            unused: None,
        }));
        if let (Some(bbox), false, Some(around)) =
            (&splitter.top().bbox, self.map.on_plane, self.files[number].corners())
            && reading.file.frame.system().is_none()
            && let Some(message) = against_bbox(bbox, around)
        {
            let at = FeatureRef::of_file(&reading.file.name, number as u32);
            self.map.notes.push(Note { code: "latitude-first", property: None, at, message });
        }
        if let (Some(1.0), false, Some(around)) =
            (reading.file.frame.scale(), reading.file.is_tape, self.files[number].corners())
            && let Some((code, message)) = looks_misread(around)
        {
            let at = FeatureRef::of_file(&reading.file.name, number as u32);
            self.map.notes.push(Note { code, property: None, at, message });
        }
        if reading.index == 0 && splitter.top().features_is_array == Some(true) {
            let at = FeatureRef::of_file(&reading.file.name, number as u32);
            let message = "holds no feature: is that right, or were its rows lost?".to_owned();
            self.map.notes.push(Note { code: "no-feature", property: None, at, message });
        }
        let last_word = crs_name(splitter.top(), &reading.file.name, &source.crs)?;
        let said = last_word.as_deref().or(named.as_deref());
        let lies = (source.name.as_str(), &reading.file.frame);
        let around = self.files[number].corners();
        if let Some((code, message)) = contradiction(&source.says, said, &source.crs, lies, around)
        {
            let at = FeatureRef::of_file(&reading.file.name, number as u32);
            self.map.notes.push(Note { code, property: None, at, message });
        }
        let notes = file_notes(&source.about, &reading);
        self.map.notes.extend(notes);
        self.end_run()?;
        let runs = first_run..self.map.runs.count() as u32;
        let Reading { file, operation, .. } = reading;
        self.map.files.push(MapFile { operation, runs, ..file });
        Ok(last_word.filter(|name| named.as_ref() != Some(name)))
    }

    /// Looks at what the file says it is; one that is a feature or a geometry is read as a whole.
    fn whole(&mut self, reading: &mut Reading, top: &Top) -> Result<(), ReadError> {
        let not_geojson = |found: String| {
            Err(ReadError::NotGeoJson { file: reading.file.name.to_string(), found })
        };
        let kind = match &top.kind {
            Some(Value::String(kind)) => kind.as_str(),
            Some(other) => return not_geojson(format!(r#"its "type" is {other}"#)),
            None => return not_geojson(r#"it has no "type""#.into()),
        };
        match (kind, top.features_is_array) {
            ("FeatureCollection", Some(true)) => return Ok(()),
            ("FeatureCollection", Some(false)) => {
                return not_geojson(r#"its "features" is not an array"#.into());
            }
            ("FeatureCollection", None) => return not_geojson(r#"it has no "features""#.into()),
            ("Feature", None | Some(false)) => {}
            (
                "Point" | "MultiPoint" | "LineString" | "MultiLineString" | "Polygon"
                | "MultiPolygon" | "GeometryCollection",
                None | Some(false),
            ) => reading.file.is_bare = true,
            ("Feature", Some(true)) => {
                return not_geojson(r#"it is a "Feature" with "features" of its own"#.into());
            }
            (other, _) => return not_geojson(format!(r#"its "type" is {other:?}"#)),
        }
        let batch = reading.file.whole()?;
        let looks = reading.looks(&batch);
        looks.iter().for_each(|look| reading.note(look));
        self.add_all(&reading.file.name, reading.number, &batch, looks, 0)
    }

    /// Adds the features of a batch, the first of which is the file's `first`.
    fn add_all(
        &mut self,
        file: &str,
        file_number: usize,
        batch: &Batch,
        looks: Vec<Look>,
        first: usize,
    ) -> Result<(), ReadError> {
        for ((piece, look), index) in batch.pieces.iter().zip(looks).zip(first..) {
            let (start, end) = (batch.offset + piece.start as u64, batch.offset + piece.end as u64);
            if u32::try_from(end - start).is_err() {
                let reason = format!("features[{index}] is larger than 4 GB");
                return Err(ReadError::NotRead { file: file.to_owned(), reason });
            }
            let file = file_number as u32;
            self.add(Standing { file, index, line: piece.line, start, end }, look)?;
        }
        Ok(())
    }

    /// Adds a feature to the run that it goes on with, or to a new one.
    fn add(&mut self, at: Standing, look: Look) -> Result<(), ReadError> {
        let Look { property, sighting, trouble, .. } = look;
        let id = property.as_deref();
        if let Some(mut settled) = trouble.filter(|settled| !settled.problems.is_empty()) {
            if let Some(zone) = settled.refused_zone.take() {
                self.map.zone_names.refuse(zone);
            }
            let property = self.numbers.number(&mut self.map.ids, id);
            if let Some(corners) = settled.corners {
                self.tallies.of(property).map_err(unkept)?.around.include(corners);
            }
            settled.problems.iter_mut().for_each(|problem| self.hint(&mut problem.error));
            let room = MOST_PROBLEMS.saturating_sub(self.map.problems.len());
            self.unlisted += settled.problems.len().saturating_sub(room) as u64;
            self.map.problems.extend(settled.problems.into_iter().take(room));
            return Ok(());
        }
        let (mut run, before) = match self.run.take() {
            Some((run, before)) if self.goes_on(&run, &at, id, sighting.as_ref()) => (run, before),
            other => {
                self.run = other;
                self.end_run()?;
                self.new_run(&at, id)?
            }
        };
        run.length = (at.end - run.start) as u32;
        run.count += 1;
        if let Some(sighting) = sighting {
            self.see(&mut run, sighting)?;
        }
        self.run = Some((run, before));
        Ok(())
    }

    /// Adds to a run what can be seen of its next feature.
    fn see(&mut self, run: &mut Run, sighting: Sighting) -> Result<(), ReadError> {
        let Sighting { kind, corners, own_reach, zone } = sighting;
        run.kinds |= bit(kind);
        let property = run.property;
        let tally = self.tallies.of(property).map_err(unkept)?;
        if let Some(corners) = corners {
            tally.around.include(corners);
            self.files[run.file as usize].include(corners);
            if kind == Kind::Turf {
                self.turf = Some(self.turf.map_or(corners, |turf| together(turf, corners)));
            } else {
                run.others.include(corners);
                let reach = -rounded_down(-own_reach.metres());
                run.own_reach = run.own_reach.max(reach);
            }
        }
        let number = one_more(kind, &mut tally.counts);
        if let Some(zone) = zone {
            self.map.zone_names.add(&named(zone, kind, number));
            if number == 1 {
                self.map.with_turf.push(property);
            }
        }
        Ok(())
    }

    /// Of the features of a file that lack a kind the first says all that can be done.
    fn hint(&mut self, error: &mut MapError) {
        if let MapError::NoKind { at, has_hint } = error
            && self.hinted != Some(at.file_number)
        {
            (self.hinted, *has_hint) = (Some(at.file_number), true);
        }
    }

    /// True of a feature that stands in the file where a run ends and near it on the ground.
    fn goes_on(
        &self,
        run: &Run,
        at: &Standing,
        id: Option<&str>,
        sighting: Option<&Sighting>,
    ) -> bool {
        let drawn = sighting.filter(|sighting| sighting.kind != Kind::Turf);
        let corners = drawn.and_then(|sighting| sighting.corners);
        // What is not drawn lies nowhere.
        let lies_nowhere = run.kinds == 0 && sighting.is_none();
        let is_close = id.is_some() || lies_nowhere;
        let longest = if is_close { LONGEST_RUN } else { LONGEST_RUN_OF_NOBODY };
        let is_narrow = || {
            let mut together = run.others;
            corners.into_iter().for_each(|corners| together.include(corners));
            together.corners().is_none_or(|(min, max)| {
                let side = (max.x - min.x).max(max.y - min.y);
                side <= WIDEST_RUN[usize::from(self.map.on_plane)]
            })
        };
        run.file == at.file
            && run.first as usize + usize::from(run.count) == at.index
            && run.count < longest
            && at.end - run.start < LARGEST_RUN
            && id == self.map.id(run.property)
            && is_narrow()
    }

    /// A run that starts with a feature, and what its property has before it.
    fn new_run(&mut self, at: &Standing, id: Option<&str>) -> Result<(Run, Counts), ReadError> {
        let property = self.numbers.number(&mut self.map.ids, id);
        self.any_owned |= id.is_some();
        let before = self.tallies.of(property).map_err(unkept)?.counts;
        let run = Run {
            start: at.start,
            length: 0,
            file: at.file,
            property,
            line: at.line as u32,
            first: at.index as u32,
            count: 0,
            kinds: 0,
            others: RoundBox::EMPTY,
            own_reach: 0.0,
            earlier: u32::MAX,
        };
        Ok((run, before))
    }

    /// Puts the run at hand to the others.
    fn end_run(&mut self) -> Result<(), ReadError> {
        let Some((run, before)) = self.run.take() else { return Ok(()) };
        self.map.runs.add(run, &before).map_err(unkept)
    }

    /// The map, with what can be said only of the whole: whose turf, how far apart.
    fn map_of(mut self, sources: &[Source]) -> Result<PropertyMap, ReadError> {
        let mut map = self.map;
        for (file, around) in map.files.iter_mut().zip(&self.files) {
            file.around = around.corners();
        }
        let first_file = sources.first().map_or("map", |source| source.name.as_str());
        map.place_hazards(&self.numbers, &self.tallies)?;
        // From here on the ids are enough.
        drop(self.numbers);
        map.runs_by_property = RunsByProperty::of(&map.runs, map.ids.count() + 1)?;
        map.hold_datums_together();
        let several = self.any_owned
            || map.problems.iter().any(|problem| matches!(problem.scope, Scope::Property(_)));
        let mut problems = Vec::new();
        if self.unlisted > 0 {
            let error = MapError::TooMany { file: first_file.to_owned(), more: self.unlisted };
            // First, or nobody would come to it.
            map.problems.insert(0, Problem { scope: Scope::Map, error, unused: None });
        }
        let of_nobody = self.tallies.of(PropertyRef::NOBODY).map_err(unkept)?.counts;
        if several && of_nobody[Kind::Turf as usize] > 0 {
            for run in map.runs_of(PropertyRef::NOBODY) {
                let zones = map.read_run(run)?.features.into_iter();
                for zone in zones.filter(|feature| feature.kind == Kind::Turf) {
                    let error = MapError::NoProperty { at: zone.at };
                    problems.push(Problem { scope: Scope::Unclaimed, error, unused: None });
                }
            }
            map.with_turf.retain(|property| *property != PropertyRef::NOBODY);
        }
        if map.zone_names.is_empty() && map.problems.is_empty() {
            let error = MapError::NoTurf { file: first_file.to_owned() };
            problems.push(Problem { scope: Scope::Map, error, unused: None });
        }
        if map.on_plane {
            if let Some(metres) = self.turf.and_then(turf_like_degrees) {
                let error = MapError::TinyMap { file: first_file.to_owned(), metres };
                problems.push(Problem { scope: Scope::Map, error, unused: None });
            }
        } else {
            let swapped = Swapped::of(&map, &self.files)?;
            let lies = |(source, around): (&'_ Source, &RoundBox)| {
                let asked = match &source.crs {
                    CoordinateSystem::Code(code) => Some(code.clone()),
                    _ => None,
                };
                Lies { around: around.corners(), asked }
            };
            let files: Vec<Lies> = sources.iter().zip(&self.files).map(lies).collect();
            // One word for a file says it for each of its features.
            let is_said = |problem: &Problem| match &problem.error {
                MapError::FarAway { at, turned: Some(Turned::Swapped), .. } => {
                    swapped.files.contains(&at.file_number)
                }
                _ => false,
            };
            for each in self.tallies.each().map_err(unkept)? {
                let (property, around) = each.map_err(unkept)?;
                let is_common = several && property == PropertyRef::NOBODY;
                if !is_common && is_wide(around) {
                    let drawn = map.read_property(property)?;
                    let far = far_features(map.id(property), &drawn.features);
                    let far = files_apart(far, &drawn.features, &files);
                    problems.extend(far.into_iter().filter(|problem| !is_said(problem)));
                }
            }
            if let (true, Some(turf)) = (several, self.turf) {
                let common = common_far_from(turf, &map, &files)?;
                map.notes.extend(common);
            }
            problems.extend(swapped.problems);
            map.notes.extend(swapped.notes);
        }
        map.problems.extend(problems);
        Ok(map)
    }
}

impl PropertyMap {
    /// A hazard whose place cannot be read lies somewhere near what else its property has.
    fn place_hazards(&mut self, numbers: &Numbers, tallies: &Tallies) -> Result<(), ReadError> {
        let mut problems = mem::take(&mut self.problems);
        for problem in &mut problems {
            let Some(unused) = problem.unused.filter(|unused| unused.corners == NO_PLACE) else {
                continue;
            };
            let property = match &problem.scope {
                Scope::Property(property) => numbers.known(&self.ids, property),
                Scope::Map | Scope::Unclaimed => None,
            };
            let around = property.map(|property| tallies.around(property));
            let corners = around.transpose().map_err(unkept)?.flatten();
            match corners {
                Some(corners) => problem.unused = Some(Unused { corners, ..unused }),
                // Nobody knows which lawns it is near.
                None => (problem.unused, problem.scope) = (None, Scope::Map),
            }
        }
        self.problems = problems;
        Ok(())
    }
}
