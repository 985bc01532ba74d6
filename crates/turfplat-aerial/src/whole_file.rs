//! PNG and JPEG. PNG is unpacked row by row; JPEG, and PNG that is interlaced, as a whole, and so
//! up to a size only.

use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

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
pub(crate) fn png(path: &Path, window: &mut Window) -> Result<u8, AerialError> {
    let mut reader = png_of(path)?;
    let (wide, high) = (reader.info().width, reader.info().height);
    let (color, _) = reader.output_color_type();
    let (shades, alpha) = match color {
        png::ColorType::Grayscale => (Shades::Gray, None),
        png::ColorType::GrayscaleAlpha => (Shades::Gray, Some(1)),
        png::ColorType::Rgba => (Shades::Rgb, Some(3)),
        png::ColorType::Rgb | png::ColorType::Indexed => (Shades::Rgb, None),
    };
    let layout = Layout { shades, samples: color.samples(), alpha, most: 255, nothing: None };
    let add = |window: &mut Window, row: u32, bytes: &[u8]| {
        window.add(row, 0, wide, |at| {
            layout.pixel(at, |index| bytes.get(index).map(|&it| it.into()))
        });
    };
    if reader.info().interlaced {
        let length = reader.output_buffer_size().unwrap_or_default();
        let mut bytes = vec![0; length];
        reader.next_frame(&mut bytes).map_err(|error| broken_png(path, error))?;
        let stride = (wide as usize * color.samples()).max(1);
        for (row, bytes) in (0..high).zip(bytes.chunks(stride)) {
            add(window, row, bytes);
        }
        return Ok(8);
    }
    for row in 0..high.min(window.reach.end.1) {
        let Some(bytes) = reader.next_row().map_err(|error| broken_png(path, error))? else {
            break;
        };
        add(window, row, bytes.data());
    }
    Ok(8)
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
pub(crate) fn jpeg(path: &Path, window: &mut Window) -> Result<u8, AerialError> {
    let mut decoder = jpeg_of(path)?;
    let bytes = decoder.decode().map_err(|error| broken_jpeg(path, error.to_string()))?;
    let Some(info) = decoder.info() else { return Ok(8) };
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
    let wide = info.width;
    let stride = (usize::from(wide) * samples).max(1);
    for (row, bytes) in (0..u32::from(info.height)).zip(bytes.chunks(stride)) {
        window.add(row, 0, wide.into(), |at| {
            layout.pixel(at, |index| bytes.get(index).map(|&it| it.into()))
        });
    }
    Ok(8)
}
