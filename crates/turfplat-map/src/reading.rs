//! One file of a first look: batch by batch its pieces are read and settled, several at once, and
//! what can be said only of the whole file is noted.

use std::collections::BTreeSet;
use std::sync::Arc;

use geo_types::Coord;
use rayon::prelude::*;
use serde::de::IgnoredAny;
use turfplat_units::Length;

use crate::crs::if_exchanged;
use crate::error::{MapError, Odd, ReadError};
use crate::feature::{Feature, FeatureRef};
use crate::kind::Kind;
use crate::odd::{are_alone, by_itself, is_mostly_degrees};
use crate::outline::OutlineReader;
use crate::property_map::{Corners, MapFile, settle, together};
use crate::scan::next_feature;
use crate::settle::Settled;
use crate::splitter::{Batch, Piece};
use crate::system::{Operation, System, advice_on, in_words};

/// One file being read.
pub(crate) struct Reading {
    pub(crate) file: MapFile,
    pub(crate) number: usize,
    /// The place of the next feature.
    pub(crate) index: usize,
    /// The first feature that is no JSON.
    pub(crate) not_json: Option<MapError>,
    pub(crate) any_json: bool,
    pub(crate) like_degrees: Option<bool>,
    /// Round coordinates that should be degrees and are not.
    pub(crate) not_degrees: Option<Corners>,
    /// True where the format's rule or the names of columns say that numbers are degrees.
    pub(crate) is_degrees_by_rule: bool,
    /// How many features are as they should be, and how many have numbers that should be degrees and
    /// are not.
    usable: usize,
    odd: usize,
    /// Names of properties that hold people.
    pub(crate) personal: BTreeSet<Box<str>>,
    /// Round all that came through PROJ.
    pub(crate) around: Option<Corners>,
    /// The poorest of the ways in which PROJ brought coordinates over.
    pub(crate) operation: Option<Operation>,
}

/// What came of looking at a piece.
pub(crate) struct Look {
    /// The property it was drawn for, as far as that can be read.
    pub(crate) property: Option<String>,
    pub(crate) sighting: Option<Sighting>,
    /// What more there is to say of it; of most there is nothing.
    pub(crate) trouble: Option<Box<Settled>>,
    pub(crate) like_degrees: Option<bool>,
    /// True of a piece that is no JSON and in which other features begin.
    pub(crate) swallows: bool,
    /// How PROJ brought it over, of one among many.
    operation: Option<Operation>,
}

/// What the first look keeps of a feature. The feature itself is given up by the thread that made
/// it: memory that one thread takes and another gives back makes both wait.
pub(crate) struct Sighting {
    pub(crate) kind: Kind,
    pub(crate) corners: Option<Corners>,
    pub(crate) own_reach: Length,
    /// The name that the file gives it, of turf.
    pub(crate) zone: Option<String>,
}

impl Sighting {
    fn of(feature: Feature) -> Sighting {
        let (kind, own_reach) = (feature.kind, feature.own_reach());
        let corners = feature.outline.corners();
        let zone = (kind == Kind::Turf).then_some(feature.name);
        Sighting { kind, corners, own_reach, zone }
    }
}

/// A datum that is known no better than this, in metres, puts a setback anywhere.
const POOREST: f64 = 5.0;

/// So many features a thread takes at once.
const AT_ONCE: usize = 64;

impl Reading {
    pub(crate) fn of(file: MapFile, number: usize) -> Reading {
        Reading {
            file,
            number,
            index: 0,
            not_json: None,
            any_json: false,
            like_degrees: None,
            not_degrees: None,
            is_degrees_by_rule: false,
            usable: 0,
            odd: 0,
            personal: BTreeSet::new(),
            around: None,
            operation: None,
        }
    }

    pub(crate) fn looks(&self, batch: &Batch) -> Vec<Look> {
        let some = |(place, pieces): (usize, &[Piece])| -> Vec<Look> {
            // Its own: threads that count the uses of one name wait for each other.
            let name: Arc<str> = Arc::from(self.file.name.as_ref());
            let to_frame = self.file.frame.here();
            let mut reader = OutlineReader::of_boxes(&to_frame);
            let first = self.index + place * AT_ONCE;
            let look = |(place, piece)| {
                let at = self.place_of(&name, piece, first + place);
                self.look(batch, piece, at, &mut reader)
            };
            let mut looks: Vec<Look> = pieces.iter().enumerate().map(look).collect();
            if let Some(look) = looks.last_mut() {
                look.operation = to_frame.operation();
            }
            looks
        };
        batch.pieces.par_chunks(AT_ONCE).enumerate().flat_map_iter(some).collect()
    }

    fn place_of(&self, name: &Arc<str>, piece: &Piece, index: usize) -> FeatureRef {
        FeatureRef {
            file: Arc::clone(name),
            file_number: self.number as u32,
            index,
            counted: self.file.counted,
            line: self.file.line_of(piece),
            label: None,
        }
    }

    fn look(
        &self,
        batch: &Batch,
        piece: &Piece,
        at: FeatureRef,
        reader: &mut OutlineReader<'_>,
    ) -> Look {
        let bytes = &batch.bytes[piece.start..piece.end];
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => {
                let byte = batch.offset + (piece.start + error.valid_up_to()) as u64;
                let error = MapError::NotText { at, byte };
                return Look {
                    property: None,
                    sighting: None,
                    trouble: Some(Box::new(Settled::unreadable(error))),
                    like_degrees: None,
                    swallows: next_feature(bytes, 1).is_some(),
                    operation: None,
                };
            }
        };
        let mut settled = settle(text, piece, at, &self.file, reader);
        self.look_at_odd(text, piece, &mut settled);
        let sighting = settled.feature.take().map(Sighting::of);
        let property = settled.property.take();
        let swallows = !settled.problems.is_empty()
            && next_feature(bytes, 1).is_some()
            && serde_json::from_str::<IgnoredAny>(text).is_err();
        let is_plain = settled.problems.is_empty() && settled.personal.is_empty();
        let trouble = (!is_plain).then(|| Box::new(settled));
        let like_degrees = reader.like_degrees;
        Look { property, sighting, trouble, like_degrees, swallows, operation: None }
    }

    /// Takes pieces apart in which other features begin; true if there were any.
    pub(crate) fn taken_apart(&self, batch: &mut Batch, looks: &[Look]) -> bool {
        if !looks.iter().any(|look| look.swallows) {
            return false;
        }
        let mut apart = Vec::with_capacity(batch.pieces.len() + 1);
        for (piece, look) in batch.pieces.iter().zip(looks) {
            let mut piece = *piece;
            while look.swallows
                && let Some(comma) = next_feature(&batch.bytes[..piece.end], piece.start + 1)
            {
                let brace = comma
                    + batch.bytes[comma..piece.end]
                        .iter()
                        .position(|b| *b == b'{')
                        .unwrap_or_default();
                apart.push(Piece { end: comma, ..piece });
                piece = piece.from(brace, &batch.bytes);
            }
            apart.push(piece);
        }
        batch.pieces = apart;
        true
    }

    pub(crate) fn note(&mut self, look: &Look) {
        self.usable += usize::from(look.sighting.is_some());
        let trouble = look.trouble.as_deref();
        let problems = trouble.map_or(&[][..], |settled| settled.problems.as_slice());
        for problem in problems {
            if let MapError::NotDegrees { x, y, odd: Odd::LikeTheFile, .. } = problem.error {
                self.odd += 1;
                let place = Coord { x, y };
                let both = [self.not_degrees, Some((place, place))];
                self.not_degrees = both.into_iter().flatten().reduce(together);
            }
        }
        for name in trouble.map_or(&[][..], |settled| settled.personal.as_slice()) {
            if !self.personal.contains(name) {
                self.personal.insert(name.clone());
            }
        }
        let not_json = problems.iter().map(|problem| &problem.error);
        match not_json.clone().find(|error| matches!(error, MapError::NotJson { .. })) {
            Some(error) if self.not_json.is_none() => self.not_json = Some(error.clone()),
            Some(_) => {}
            None => self.any_json = true,
        }
        if let Some(like) = look.like_degrees {
            self.like_degrees = Some(self.like_degrees.unwrap_or(true) && like);
        }
        if self.file.frame.system().is_some() {
            let drawn = look.sighting.as_ref().and_then(|it| it.corners);
            let around = drawn.or(trouble.and_then(|settled| settled.corners));
            self.around = [self.around, around].into_iter().flatten().reduce(together);
            if let Some(operation) = &look.operation {
                let poor = |operation: &Operation| operation.accuracy.unwrap_or(f64::INFINITY);
                if self.operation.as_ref().is_none_or(|known| poor(operation) > poor(known)) {
                    self.operation = Some(operation.clone());
                }
            }
        }
    }

    /// Says of numbers that should be degrees and are not what they are, as far as their own feature
    /// tells it.
    fn look_at_odd(&self, text: &str, piece: &Piece, settled: &mut Settled) {
        for problem in &mut settled.problems {
            if let MapError::NotDegrees { at, x, y, odd } = &mut problem.error {
                *odd = by_itself(*x, *y, self.is_degrees_by_rule);
                if *odd == Odd::LikeTheFile && is_mostly_degrees(text, piece, at.clone()) {
                    *odd = Odd::Alone;
                }
            }
        }
    }

    /// Says of numbers that should be degrees and are not, in a file most of which is, that they alone
    /// are wrong.
    pub(crate) fn settle_odd<'e>(&self, errors: impl Iterator<Item = &'e mut MapError>) {
        if self.odd > 0 && self.odd <= self.usable {
            are_alone(errors);
        }
    }

    /// What speaks against the system that the file's coordinates were taken for, which `who` says.
    pub(crate) fn doubts(&self, who: &'static str) -> Option<MapError> {
        if let (0, Some(corners)) = (self.usable, self.not_degrees) {
            let (file, advice) = (self.file.name.to_string(), advice_on(corners));
            return Some(MapError::LooksProjected { file, advice });
        }
        let system = self.file.frame.system()?;
        let (file, crs) = (self.file.name.to_string(), system.name.clone());
        if self.like_degrees == Some(true) {
            return Some(MapError::DegreesInGrid { file, crs, who });
        }
        let (min, max) = self.around?;
        let middle = (min + max) / 2.0;
        if let Some(advice) = self.is_elsewhere(system, middle) {
            let sea = if system.is_in_open_sea(middle) { " in open sea" } else { "" };
            let place = format!("{}{sea}", in_words(middle));
            let advice = advice.to_owned();
            return Some(MapError::OutsideSystem { file, crs, place, advice });
        }
        let accuracy = self.operation.as_ref()?.accuracy;
        let is_poor = accuracy.is_none_or(|metres| metres > POOREST);
        is_poor.then_some(MapError::PoorDatum { file, crs, accuracy })
    }

    /// What to do where a place is none of a system's.
    fn is_elsewhere(&self, system: &System, place: Coord<f64>) -> Option<&'static str> {
        if !system.is_far_from(place) {
            return None;
        }
        let exchanged = match system.is_in_degrees {
            true => Some(Coord { x: place.y, y: place.x }),
            false => if_exchanged(&self.file.frame, place),
        };
        let is_exchanged = exchanged.is_some_and(|place| !system.is_far_from(place));
        Some(match (is_exchanged, system.is_in_degrees) {
            (true, true) => {
                "with latitude and longitude swapped it lies where it should: put longitude first"
            }
            (true, false) => {
                "with easting and northing exchanged it lies where it should: put easting first, or give the columns each other's names"
            }
            (false, _) => {
                "are they feet that were taken for meters, or of another zone? name the \
                 system that they are in with --crs EPSG:n"
            }
        })
    }
}

impl MapFile {
    /// The whole file as one piece.
    pub(crate) fn whole(&self) -> Result<Batch, ReadError> {
        let mut bytes = Vec::new();
        let end = self.bytes.length();
        self.bytes.read(0, end, &mut bytes).map_err(|error| ReadError::NotRead {
            file: self.name.to_string(),
            reason: error.to_string(),
        })?;
        let start = bytes.iter().position(|byte| *byte == b'{').unwrap_or_default();
        let piece = Piece { start: 0, end: bytes.trim_ascii_end().len(), line: 1, column: 1 };
        let piece = piece.from(start, &bytes);
        Ok(Batch { bytes, offset: 0, pieces: vec![piece] })
    }
}
