//! TIFF, with what GeoTIFF adds: its place, its system, its smaller copies. Pieces that are out of
//! reach are not unpacked.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use tiff::decoder::{Decoder, DecodingResult, Limits};
use tiff::tags::Tag;
use tiff::{ColorType, TiffError};

use crate::aerial::PictureSystem;
use crate::affine::Affine;
use crate::error::AerialError;
use crate::geo_keys::GeoKeys;
use crate::palette::AsGray;
use crate::shades::{Layout, Shades};
use crate::window::Window;

/// More smaller copies than this no picture has.
const MOST_COPIES: usize = 64;

pub(crate) struct Head {
    pub(crate) size: (u32, u32),
    pub(crate) place: Option<Affine>,
    pub(crate) system: Option<PictureSystem>,
}

/// A picture's smaller copy, or the picture itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Level {
    pub(crate) index: usize,
    pub(crate) size: (u32, u32),
}

type Tiff = Decoder<BufReader<AsGray<File>>>;

fn opened(path: &Path) -> Result<Tiff, AerialError> {
    let file = path.display().to_string();
    let read = File::open(path).and_then(AsGray::new);
    let read = read.map_err(|source| AerialError::Unreadable { file, source })?;
    let mut limits = Limits::default();
    // The places of a mosaic's pieces: sixteen bytes for each.
    limits.ifd_value_size = 16 * 1024 * 1024;
    let opened = Decoder::new(BufReader::new(read)).map_err(|error| broken(path, &error))?;
    Ok(opened.with_limits(limits))
}

fn broken(path: &Path, error: &TiffError) -> AerialError {
    let file = path.display().to_string();
    match error {
        TiffError::UnsupportedError(what) => AerialError::NotTaken {
            file,
            what: what.to_string(),
            cure: "8 bits a color and deflate, LZW or JPEG compression",
        },
        TiffError::LimitsExceeded => {
            AerialError::NotTaken { file, what: "pieces of more than 256 MB".into(), cure: "tiles" }
        }
        error => AerialError::Broken { file, form: "TIFF", reason: error.to_string() },
    }
}

/// What a TIFF says of itself.
pub(crate) fn head(path: &Path) -> Result<Head, AerialError> {
    let mut tiff = opened(path)?;
    let size = tiff.dimensions().map_err(|error| broken(path, &error))?;
    let file = || path.display().to_string();
    let directory = tiff.get_tag_u16_vec(Tag::GeoKeyDirectoryTag).unwrap_or_default();
    let keys = GeoKeys::new(&directory);
    if keys.is_of_other_angles() {
        let what = "its coordinates are angles, but no degrees".into();
        return Err(AerialError::NotTaken { file: file(), what, cure: "degrees" });
    }
    let matrix = tiff.get_tag_f64_vec(Tag::ModelTransformationTag).unwrap_or_default();
    let scale = tiff.get_tag_f64_vec(Tag::ModelPixelScaleTag).unwrap_or_default();
    let ties = tiff.get_tag_f64_vec(Tag::ModelTiepointTag).unwrap_or_default();
    let terms = match (&matrix[..], &scale[..], &ties[..]) {
        ([a, b, _, x, d, e, _, y, ..], _, _) => Some([*x, *a, *b, *y, *d, *e]),
        (_, [wide, high, ..], [column, row, _, x, y, ..]) => {
            Some([x - column * wide, *wide, 0.0, y + row * high, 0.0, -high])
        }
        (_, _, ties) if ties.len() > 6 => {
            return Err(AerialError::ControlPoints { file: file(), points: ties.len() / 6 });
        }
        _ => None,
    };
    let place =
        |terms| if keys.is_point() { Affine::of_centres(terms) } else { Affine::new(terms) };
    let place = match terms {
        Some(terms) => Some(place(terms).ok_or_else(|| AerialError::NoSize { file: file() })?),
        None => None,
    };
    Ok(Head { size, place, system: keys.system() })
}

/// The picture and its smaller copies, in file order.
pub(crate) fn levels(path: &Path) -> Result<Vec<Level>, AerialError> {
    const SMALLER: u32 = 1;
    const MASK: u32 = 4;
    let mut tiff = opened(path)?;
    let (wide, high) = tiff.dimensions().map_err(|error| broken(path, &error))?;
    let mut levels = vec![Level { index: 0, size: (wide, high) }];
    for index in 1..MOST_COPIES {
        if !tiff.more_images() {
            break;
        }
        // A copy of another kind, as a mask of single bits, hides no later one.
        if tiff.next_image().is_err() {
            continue;
        }
        let kind = tiff.find_tag_unsigned::<u32>(Tag::NewSubfileType).ok().flatten().unwrap_or(0);
        let Ok((across, down)) = tiff.dimensions() else { continue };
        let is_like = {
            let (x, y) = (f64::from(wide) / f64::from(across), f64::from(high) / f64::from(down));
            // Halves are rounded, of a small copy by much.
            (x / y - 1.0).abs() < 0.02 + 2.0 / f64::from(across.min(down))
        };
        if kind & SMALLER != 0 && kind & MASK == 0 && across < wide && is_like {
            levels.push(Level { index, size: (across, down) });
        }
    }
    Ok(levels)
}

/// Unpacks what a window wants of one level; bits of a sample.
pub(crate) fn read(path: &Path, level: Level, window: &mut Window) -> Result<u8, AerialError> {
    let mut tiff = opened(path)?;
    let mut go = || -> Result<u8, TiffError> {
        let nothing = nothing(&mut tiff);
        if level.index > 0 {
            tiff.seek_to_image(level.index)?;
        }
        unpack(&mut tiff, level, nothing, window)
    };
    go().map_err(|error| broken(path, &error))
}

/// The value that stands for no picture (a tag of GDAL, registered with Adobe as 42113).
fn nothing(tiff: &mut Tiff) -> Option<u16> {
    let text = tiff.get_tag_ascii_string(Tag::GdalNodata).ok()?;
    let value: f64 = text.trim_matches(['\0', ' ']).parse().ok()?;
    (value.fract() == 0.0 && (0.0..=65_535.0).contains(&value)).then_some(value as u16)
}

fn unpack(
    tiff: &mut Tiff,
    level: Level,
    nothing: Option<u16>,
    window: &mut Window,
) -> Result<u8, TiffError> {
    let color = tiff.colortype()?;
    let bits = color.bit_depth();
    let is_separate = tiff.find_tag_unsigned::<u16>(Tag::PlanarConfiguration)? == Some(2);
    let in_file = usize::from(tiff.find_tag_unsigned::<u16>(Tag::SamplesPerPixel)?.unwrap_or(1));
    let others = tiff.find_tag_unsigned_vec::<u16>(Tag::ExtraSamples)?.unwrap_or_default();
    let has_palette = tiff.inner().get_ref().has_palette(level.index);
    let (shades, samples) = match color {
        ColorType::Gray(8) if has_palette => (Shades::Palette(palette(tiff)?), 1),
        ColorType::Gray(_) => (Shades::Gray, 1),
        ColorType::Multiband { num_samples, .. } => (Shades::Gray, usize::from(num_samples)),
        ColorType::RGB(_) => (Shades::Rgb, 3),
        ColorType::RGBA(_) => (Shades::Rgb, 4),
        ColorType::YCbCr(8) => (Shades::YCbCr, 3),
        other => return Err(tiff::TiffUnsupportedError::UnsupportedColorType(other).into()),
    };
    if !matches!(bits, 8 | 16) {
        return Err(tiff::TiffUnsupportedError::UnsupportedColorType(color).into());
    }
    // One or two of them say how much of a pixel shows (TIFF 6.0, ExtraSamples): infrared does not.
    let colors = if matches!(shades, Shades::Rgb | Shades::YCbCr) { 3 } else { 1 };
    let is_alpha = matches!(others.first(), Some(1 | 2)) && samples > colors;
    let layout = Layout {
        shades,
        samples,
        alpha: is_alpha.then_some(colors),
        most: if bits == 8 { 255 } else { u16::MAX },
        nothing,
    };
    // Of a picture whose pieces hold one color each, those of the colors and of what shows.
    let wanted = if is_alpha { colors + 1 } else { colors };
    let (wide, high) = tiff.chunk_dimensions();
    let (across, down) = (level.size.0.div_ceil(wide), level.size.1.div_ceil(high));
    let lengths = piece_lengths(tiff);
    for piece_row in 0..down {
        let top = piece_row * high;
        if window.reach.rows(top, top.saturating_add(high)).is_empty() {
            continue;
        }
        for piece_column in 0..across {
            let left = piece_column * wide;
            if window.reach.columns(left, left.saturating_add(wide)).is_empty() {
                continue;
            }
            let index = piece_row * across + piece_column;
            // A piece that was never written shows nothing.
            if lengths.get(index as usize) == Some(&0) {
                continue;
            }
            let size = tiff.chunk_data_dimensions(index);
            let planes = if is_separate && in_file > 1 { wanted as u32 } else { 1 };
            let pieces: Result<Vec<DecodingResult>, TiffError> =
                (0..planes).map(|plane| tiff.read_chunk(index + plane * across * down)).collect();
            add_piece(window, (left, top), size, &pieces?, &layout);
        }
    }
    Ok(bits)
}

/// The colors of a palette: first all reds, then greens, then blues, in 16 bits (TIFF 6.0, ColorMap).
fn palette(tiff: &mut Tiff) -> Result<Vec<[u16; 3]>, TiffError> {
    let values = tiff.get_tag_u16_vec(Tag::ColorMap)?;
    let count = values.len() / 3;
    let color = |index: usize| {
        let part = |of: usize| values.get(of * count + index).map_or(0, |value| value >> 8);
        [part(0), part(1), part(2)]
    };
    Ok((0..count).map(color).collect())
}

/// Bytes of each piece as it is packed.
fn piece_lengths(tiff: &mut Tiff) -> Vec<u64> {
    let mut lengths = |tag| tiff.find_tag_unsigned_vec::<u64>(tag).ok().flatten();
    lengths(Tag::TileByteCounts).or_else(|| lengths(Tag::StripByteCounts)).unwrap_or_default()
}

/// Adds an unpacked piece, or the pieces of each color.
fn add_piece(
    window: &mut Window,
    (left, top): (u32, u32),
    (wide, high): (u32, u32),
    pieces: &[DecodingResult],
    layout: &Layout,
) {
    let value = |piece: &DecodingResult, index: usize| match piece {
        DecodingResult::U8(values) => values.get(index).map(|&value| u16::from(value)),
        DecodingResult::U16(values) => values.get(index).copied(),
        _ => None,
    };
    for row in 0..high {
        let start = row as usize * wide as usize;
        window.add(top + row, left, wide, |at| match pieces {
            [piece] => layout.pixel(start + at, |index| value(piece, index)),
            pieces => {
                let first = (start + at) * layout.samples;
                layout.pixel(start + at, |index| value(pieces.get(index - first)?, start + at))
            }
        });
    }
}
