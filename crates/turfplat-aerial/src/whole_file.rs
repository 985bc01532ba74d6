//! PNG and JPEG. Neither can be read from its middle, so each is unpacked once and kept for all
//! properties of a run: a county's picture unpacked anew for each map takes days. A PNG that is too
//! large to be kept is unpacked row by row, unless it is interlaced.

use std::fmt;
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::error::AerialError;
use crate::shades::{Layout, Shades};
use crate::window::Window;

/// Pixels of a picture that stands in memory whole.
const MOST_WHOLE: u64 = 80_000_000;
/// Bytes of a JPEG file.
const MOST_BYTES: u64 = 200_000_000;
const SMALLER: &str = "save it as a tiled GeoTIFF, of which only what is needed is unpacked";

fn opened(path: &Path) -> Result<File, AerialError> {
    let file = path.display().to_string();
    File::open(path).map_err(|source| AerialError::Unreadable { file, source })
}

fn check_whole(
    path: &Path,
    (wide, high): (u32, u32),
    form: &'static str,
) -> Result<(), AerialError> {
    let (width, height) = (u64::from(wide), u64::from(high));
    if width * height > MOST_WHOLE {
        let file = path.display().to_string();
        return Err(AerialError::TooLarge { file, width, height, form, cure: SMALLER });
    }
    Ok(())
}

fn broken_png(path: &Path, error: png::DecodingError) -> AerialError {
    AerialError::Broken { file: path.display().to_string(), form: "PNG", reason: error.to_string() }
}

fn png_of(path: &Path) -> Result<png::Reader<BufReader<File>>, AerialError> {
    let bytes = 400_000_000;
    let mut decoder =
        png::Decoder::new_with_limits(BufReader::new(opened(path)?), png::Limits { bytes });
    decoder.set_transformations(png::Transformations::normalize_to_color8());
    decoder.read_info().map_err(|error| broken_png(path, error))
}

pub(crate) fn png_size(path: &Path) -> Result<(u32, u32), AerialError> {
    let reader = png_of(path)?;
    let size = (reader.info().width, reader.info().height);
    if reader.info().interlaced {
        check_whole(path, size, "interlaced PNG")?;
    }
    Ok(size)
}

/// Unpacks what a window wants of a PNG.
pub(crate) fn png(
    path: &Path,
    size: (u32, u32),
    shared: &Shared,
    window: &mut Window,
) -> Result<u8, AerialError> {
    let (wide, high) = size;
    if u64::from(wide) * u64::from(high) <= MOST_WHOLE {
        shared.whole(|| whole_png(path))?.fill(window);
        return Ok(8);
    }
    let mut reader = png_of(path)?;
    let (wide, high) = (reader.info().width, reader.info().height);
    let layout = png_layout(&reader);
    for row in 0..high.min(window.reach.end.1) {
        let Some(bytes) = reader.next_row().map_err(|error| broken_png(path, error))? else {
            break;
        };
        add_row(&layout, window, row, wide, bytes.data());
    }
    Ok(8)
}

fn png_layout(reader: &png::Reader<BufReader<File>>) -> Layout {
    let (color, _) = reader.output_color_type();
    let (shades, alpha) = match color {
        png::ColorType::Grayscale => (Shades::Gray, None),
        png::ColorType::GrayscaleAlpha => (Shades::Gray, Some(1)),
        png::ColorType::Rgba => (Shades::Rgb, Some(3)),
        png::ColorType::Rgb | png::ColorType::Indexed => (Shades::Rgb, None),
    };
    Layout { shades, samples: color.samples(), alpha, most: 255, nothing: None }
}

fn whole_png(path: &Path) -> Result<Whole, AerialError> {
    let mut reader = png_of(path)?;
    let size = (reader.info().width, reader.info().height);
    // The file may be another than the one that was opened.
    check_whole(path, size, "PNG")?;
    let (wide, layout) = (reader.info().width, png_layout(&reader));
    let mut bytes = vec![0; reader.output_buffer_size().unwrap_or_default()];
    reader.next_frame(&mut bytes).map_err(|error| broken_png(path, error))?;
    Ok(Whole { layout, wide, bytes })
}

fn broken_jpeg(path: &Path, reason: String) -> AerialError {
    AerialError::Broken { file: path.display().to_string(), form: "JPEG", reason }
}

fn jpeg_of(path: &Path) -> Result<JpegDecoder<ZCursor<Vec<u8>>>, AerialError> {
    let mut bytes = Vec::new();
    let file = path.display().to_string();
    let read = opened(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes);
    read.map_err(|source| AerialError::Unreadable { file, source })?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(broken_jpeg(path, "longer than 200 MB".into()));
    }
    // Whatever ends before its end is told, and not filled up with gray.
    let options = DecoderOptions::new_safe()
        .set_strict_mode(true)
        .set_max_width(65_535)
        .set_max_height(65_535)
        .jpeg_set_out_colorspace(ColorSpace::RGB);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode_headers().map_err(|error| broken_jpeg(path, error.to_string()))?;
    let info = decoder.info().ok_or_else(|| broken_jpeg(path, "it has no size".into()))?;
    check_whole(path, (info.width.into(), info.height.into()), "JPEG")?;
    Ok(decoder)
}

pub(crate) fn jpeg_size(path: &Path) -> Result<(u32, u32), AerialError> {
    let info = jpeg_of(path)?.info();
    let info = info.ok_or_else(|| broken_jpeg(path, "it has no size".into()))?;
    if info.width == 0 || info.height == 0 {
        return Err(broken_jpeg(path, "it has no size".into()));
    }
    Ok((info.width.into(), info.height.into()))
}

/// Unpacks what a window wants of a JPEG.
pub(crate) fn jpeg(path: &Path, shared: &Shared, window: &mut Window) -> Result<u8, AerialError> {
    shared.whole(|| whole_jpeg(path))?.fill(window);
    Ok(8)
}

fn whole_jpeg(path: &Path) -> Result<Whole, AerialError> {
    let mut decoder = jpeg_of(path)?;
    let bytes = decoder.decode().map_err(|error| broken_jpeg(path, error.to_string()))?;
    let info = decoder.info().ok_or_else(|| broken_jpeg(path, "it has no size".into()))?;
    let samples = match decoder.output_colorspace() {
        Some(ColorSpace::RGB) => 3,
        Some(ColorSpace::Luma) => 1,
        _ => {
            return Err(AerialError::NotTaken {
                file: path.display().to_string(),
                what: "colors that are neither gray nor red, green and blue".into(),
                cure: "red, green and blue",
            });
        }
    };
    let shades = if samples == 3 { Shades::Rgb } else { Shades::Gray };
    let layout = Layout { shades, samples, alpha: None, most: 255, nothing: None };
    Ok(Whole { layout, wide: info.width.into(), bytes })
}

/// A picture in memory.
struct Whole {
    layout: Layout,
    wide: u32,
    bytes: Vec<u8>,
}

impl Whole {
    fn fill(&self, window: &mut Window) {
        let stride = (self.wide as usize * self.layout.samples).max(1);
        let first = window.reach.first.1;
        let rows = self.bytes.chunks(stride).skip(first as usize);
        for (row, bytes) in (first..window.reach.end.1).zip(rows) {
            add_row(&self.layout, window, row, self.wide, bytes);
        }
    }
}

fn add_row(layout: &Layout, window: &mut Window, row: u32, wide: u32, bytes: &[u8]) {
    window.add(row, 0, wide, |at| layout.pixel(at, |index| bytes.get(index).map(|&it| it.into())));
}

/// The one copy of a picture that all who lay it share.
#[derive(Clone, Default)]
pub(crate) struct Shared(Arc<Mutex<Option<Arc<Whole>>>>);

impl Shared {
    /// The picture, unpacked by whoever asks first while the others wait; a refusal is not kept.
    fn whole(
        &self,
        unpack: impl FnOnce() -> Result<Whole, AerialError>,
    ) -> Result<Arc<Whole>, AerialError> {
        // What a panic of another thread left behind is whole or nothing.
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(whole) = &*kept {
            return Ok(Arc::clone(whole));
        }
        let whole = Arc::new(unpack()?);
        *kept = Some(Arc::clone(&whole));
        Ok(whole)
    }
}

impl fmt::Debug for Shared {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Shared").finish_non_exhaustive()
    }
}
