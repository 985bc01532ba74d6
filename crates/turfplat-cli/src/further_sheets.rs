//! The further sheets of an earlier spray map: june-2.png beside june.png. A picture that is only
//! called so may be anybody's; ours is told by what it shows: a part of the first sheet's ground at
//! a larger scale, in the same coordinate system, or by the words within it that it is a key.

use std::fs;
use std::path::{Path, PathBuf};

use crate::own_files;
use crate::sheet::{numbered, targets};

/// The further sheets that stand beside a first one.
pub(crate) struct FurtherSheets(Vec<PathBuf>);

impl FurtherSheets {
    /// To be called before a new first sheet is written.
    pub(crate) fn of(first: &Path, as_png: bool) -> FurtherSheets {
        let of_png = || {
            let overview = Ground::of(first)?;
            let is_one = |(number, path): &(usize, PathBuf)| {
                Ground::of(path).is_some_and(|it| it.is_part_of(&overview)) || is_key(path, *number)
            };
            let all = (2..).map(|number| (number, numbered(first, number))).take_while(is_one);
            Some(all.map(|(_, path)| path).collect())
        };
        let of_svg = || {
            let is_one = |(number, path): &(usize, PathBuf)| {
                let says = format!(", sheet {number} of ");
                fs::read_to_string(path).is_ok_and(|text| text.contains(&says))
            };
            let all = (2..).map(|number| (number, numbered(first, number))).take_while(is_one);
            all.map(|(_, path)| path).collect()
        };
        FurtherSheets(if as_png { of_png().unwrap_or_default() } else { of_svg() })
    }

    /// Removes them with what stands beside them, but for files that are written anew; the sheets
    /// that were removed.
    pub(crate) fn forget(self, written: &[PathBuf], as_png: bool) -> anyhow::Result<Vec<PathBuf>> {
        for sheet in &self.0 {
            let folder = sheet.parent().unwrap_or(Path::new(""));
            let mut old = targets(sheet, as_png);
            old.retain(|it| !written.contains(it));
            let names: Vec<String> =
                (old.iter()).filter_map(|it| it.file_name()?.to_str().map(str::to_owned)).collect();
            own_files::forget(folder, names.iter().map(String::as_str))?;
        }
        Ok(self.0.into_iter().filter(|it| !written.contains(it)).collect())
    }
}

/// Whether a picture says that it explains the numbers of a map of ours, on that sheet: such a one
/// lies nowhere.
fn is_key(picture: &Path, number: usize) -> bool {
    let says = format!("tEXtDescription\0zones by number, sheet {number} of ");
    let says = says.as_bytes();
    // It stands before the picture itself.
    let head = fs::read(picture).unwrap_or_default();
    head.get(..256).unwrap_or(&head).windows(says.len()).any(|bytes| bytes == says)
}

/// Where a picture says that it lies.
struct Ground {
    /// Meters of a dot.
    dot: f64,
    /// The middle of the picture.
    middle: (f64, f64),
    /// Half its width and height.
    half: (f64, f64),
    /// The text of its coordinate system, if any.
    system: Option<Vec<u8>>,
}

impl Ground {
    /// `None` of what is no PNG with a world file of ours: north up, dots square.
    fn of(picture: &Path) -> Option<Ground> {
        let world = fs::read_to_string(picture.with_extension("pgw")).ok()?;
        let numbers: Vec<f64> = world.lines().map_while(|line| line.trim().parse().ok()).collect();
        let &[dot, d, b, e, east, north] = &numbers[..] else { return None };
        if d != 0.0 || b != 0.0 || e != -dot || dot <= 0.0 {
            return None;
        }
        let bytes = fs::read(picture).ok()?;
        // PNG (ISO/IEC 15948), 11.2.2: width and height are the first of the first chunk.
        let side = |at: usize| -> Option<f64> {
            let four: [u8; 4] = bytes.get(at..at + 4)?.try_into().ok()?;
            Some(f64::from(u32::from_be_bytes(four)))
        };
        let half = (side(16)? * dot / 2.0, side(20)? * dot / 2.0);
        let middle = (east - dot / 2.0 + half.0, north + dot / 2.0 - half.1);
        Some(Ground { dot, middle, half, system: fs::read(picture.with_extension("prj")).ok() })
    }

    fn is_part_of(&self, overview: &Ground) -> bool {
        let is_within = (self.middle.0 - overview.middle.0).abs() <= overview.half.0
            && (self.middle.1 - overview.middle.1).abs() <= overview.half.1;
        is_within && self.dot < overview.dot && self.system == overview.system
    }
}
