//! From SVG text to dots. The drawing library draws with our own fonts only, so that
//! every machine draws the same picture.

use resvg::{tiny_skia, usvg};

use crate::font;
use crate::page::Page;

/// The longest side that a picture may have; a larger one would fill the memory.
const MOST_DOTS: u32 = 20_000;

/// Why a spray map could not be made into a picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SheetError {
    /// The text is not an SVG drawing; [`crate::svg`] never writes such a one.
    #[error(
        "spray map: not an SVG drawing: {0}; hand over the text that `svg` returned, unchanged"
    )]
    NotSvg(#[from] usvg::Error),

    /// The drawing has no size that a picture can have.
    #[error("spray map: {width} × {height} dots cannot be drawn; keep both between 1 and 20 000")]
    Size {
        /// Dots across.
        width: u32,
        /// Dots down.
        height: u32,
    },

    /// The picture could not be packed.
    #[error("spray map: PNG not written: {0}; free some memory and try again")]
    Png(#[from] png::EncodingError),
}

/// Draws a spray map as a PNG picture.
///
/// * In: the SVG text of [`crate::svg`] and the page that it was made for.
/// * Out: paper at 300 dots per inch, and marked so that it prints at true size; the screen
///   as 1600 × 1200 dots.
///
/// # Errors
///
/// [`SheetError`], for a text that is not such an SVG.
pub fn png(svg: &str, page: Page) -> Result<Vec<u8>, SheetError> {
    let options = usvg::Options {
        fontdb: font::database(),
        font_family: "Inter".to_owned(),
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(svg, &options)?;
    let size = tree.size();
    // The drawing's own unit is 1/96 in on paper; the screen's is a dot.
    let scale = if page.is_paper() { Page::DOTS_PER_INCH as f32 / 96.0 } else { 1.0 };
    let dots = |length: f32| (length * scale).round().max(0.0) as u32;
    let (width, height) = (dots(size.width()), dots(size.height()));
    let fits = |side: u32| (1..=MOST_DOTS).contains(&side);
    if !fits(width) || !fits(height) {
        return Err(SheetError::Size { width, height });
    }
    let rgb = dots_of(&tree, scale, width, height).ok_or(SheetError::Size { width, height })?;
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    // Measured on such pages: 563 KB in 72 ms; the defaults take 794 KB in 106 ms.
    encoder.set_compression(png::Compression::Balanced);
    encoder.set_filter(png::Filter::NoFilter);
    if page.is_paper() {
        // 300 dots per 0.0254 m.
        let per_metre = 11_811;
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: per_metre,
            yppu: per_metre,
            unit: png::Unit::Meter,
        }));
    }
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&rgb)?;
    writer.finish()?;
    Ok(out)
}

/// The dots of the drawing, row by row, red, green and blue: the paper is opaque, so a fourth
/// channel would say nothing. Drawn in bands of equal height at the same time; their number does
/// not depend on the machine, and so neither do the dots.
fn dots_of(tree: &usvg::Tree, scale: f32, width: u32, height: u32) -> Option<Vec<u8>> {
    const BANDS: u32 = 4;
    let band = height.div_ceil(BANDS);
    let draw = |top: u32| {
        let mut picture = tiny_skia::Pixmap::new(width, band.min(height - top))?;
        picture.fill(tiny_skia::Color::WHITE);
        // A few thousand dots down: exact in the drawing library's numbers.
        let place =
            tiny_skia::Transform::from_scale(scale, scale).post_translate(0.0, -(top as f32));
        resvg::render(tree, place, &mut picture.as_mut());
        let rgb: Vec<u8> =
            picture.data().chunks_exact(4).flat_map(|dot| [dot[0], dot[1], dot[2]]).collect();
        Some(rgb)
    };
    std::thread::scope(|scope| {
        let tops = (0..BANDS).map(|index| index * band).filter(|top| *top < height);
        let bands: Vec<_> = tops.map(|top| scope.spawn(move || draw(top))).collect();
        let mut rgb = Vec::with_capacity(width as usize * height as usize * 3);
        for band in bands {
            rgb.extend(band.join().ok()??);
        }
        Some(rgb)
    })
}
