//! From SVG text to dots. The drawing library draws with our own fonts only, so that
//! every machine draws the same picture.

use resvg::{tiny_skia, usvg};

use crate::font;
use crate::page::Page;
use crate::underlay;

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
///   as 1600 × 1200 dots, or more where [`crate::sheets`] made it larger.
///
/// # Errors
///
/// [`SheetError`], for a text that is not such an SVG.
pub fn png(svg: &str, page: Page) -> Result<Vec<u8>, SheetError> {
    let tree = usvg::Tree::from_str(svg, &options())?;
    let size = tree.size();
    // The drawing's own unit is 1/96 in on paper; the screen's is a dot.
    let scale = if page.is_paper() { Page::DOTS_PER_INCH as f32 / 96.0 } else { 1.0 };
    let dots = |length: f32| (length * scale).round().max(0.0) as u32;
    let (width, height) = (dots(size.width()), dots(size.height()));
    let fits = |side: u32| (1..=MOST_DOTS).contains(&side);
    if !fits(width) || !fits(height) {
        return Err(SheetError::Size { width, height });
    }
    let picture = underlay::unpacked(tree.root());
    let rgb = dots_of(&tree, picture.as_ref(), (scale, width, height))
        .ok_or(SheetError::Size { width, height })?;
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    // Measured on such pages: level 6 packs 8 % smaller and takes a fifth of all time more; the
    // library's own choice of filters packs 40 % larger.
    encoder.set_deflate_compression(png::DeflateCompression::Level(4));
    encoder.set_filter(match picture {
        Some(_) => png::Filter::Adaptive,
        None => png::Filter::NoFilter,
    });
    if page.is_paper() {
        // 300 dots per 0.0254 m.
        let per_metre = 11_811;
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: per_metre,
            yppu: per_metre,
            unit: png::Unit::Meter,
        }));
    }
    // What a map shows is told by its place on the ground; a key has none.
    if let Some(number) = attribute(svg, KEY_SHEET) {
        encoder
            .add_text_chunk("Description".to_owned(), format!("zones by number, sheet {number}"))?;
    }
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&rgb)?;
    writer.finish()?;
    Ok(out)
}

/// Says of a drawing that it only explains numbers, and which sheet it is.
pub(crate) const KEY_SHEET: &str = "data-key-sheet";

/// An attribute of the drawing itself.
fn attribute<'s>(svg: &'s str, name: &str) -> Option<&'s str> {
    let (head, _) = svg.split_once('>')?;
    let (_, value) = head.split_once(&format!(" {name}=\""))?;
    value.split('"').next()
}

/// A spray map whose text is drawn as outlines, for programs that read no embedded fonts.
///
/// * In: the SVG text of [`crate::svg`].
/// * Out: SVG of the same size, in units of 1/96 in, without a font; text in it can be neither
///   searched nor copied.
/// * Accuracy: a thousandth of such a unit.
///
/// # Errors
///
/// [`SheetError::NotSvg`], for a text that is not such an SVG.
pub fn outlined(svg: &str) -> Result<String, SheetError> {
    let tree = usvg::Tree::from_str(svg, &options())?;
    let options = usvg::WriteOptions {
        preserve_text: false,
        coordinates_precision: 3,
        transforms_precision: 6,
        indent: usvg::Indent::None,
        attributes_indent: usvg::Indent::None,
        ..usvg::WriteOptions::default()
    };
    Ok(tree.to_string(&options))
}

/// Text in our font alone.
fn options() -> usvg::Options<'static> {
    usvg::Options {
        fontdb: font::database(),
        font_family: "Inter".to_owned(),
        ..usvg::Options::default()
    }
}

/// The dots of the drawing, row by row, red, green and blue: the paper is opaque, so a fourth
/// channel would say nothing. Drawn in bands of equal height at the same time; their number does
/// not depend on the machine, and so neither do the dots.
fn dots_of(
    tree: &usvg::Tree,
    beneath: Option<&tiny_skia::Pixmap>,
    (scale, width, height): (f32, u32, u32),
) -> Option<Vec<u8>> {
    const BANDS: u32 = 4;
    let band = height.div_ceil(BANDS);
    let draw_band = |top: u32| {
        let mut picture = tiny_skia::Pixmap::new(width, band.min(height - top))?;
        picture.fill(tiny_skia::Color::WHITE);
        // A few thousand dots down: exact in the drawing library's numbers.
        let place =
            tiny_skia::Transform::from_scale(scale, scale).post_translate(0.0, -(top as f32));
        // A dot more on each side, for edges that are smoothed.
        let rows = -1.0..picture.height() as f32 + 1.0;
        draw(tree.root(), beneath, place, &rows, &mut picture.as_mut());
        let mut rgb = Vec::with_capacity(picture.data().len() / 4 * 3);
        for dot in picture.data().chunks_exact(4) {
            rgb.extend_from_slice(&dot[..3]);
        }
        Some(rgb)
    };
    std::thread::scope(|scope| {
        let tops = (0..BANDS).map(|index| index * band).filter(|top| *top < height);
        let bands: Vec<_> = tops.map(|top| scope.spawn(move || draw_band(top))).collect();
        let mut rgb = Vec::with_capacity(width as usize * height as usize * 3);
        for band in bands {
            rgb.extend(band.join().ok()??);
        }
        Some(rgb)
    })
}

/// Draws what reaches into `rows` of the picture. The drawing library would outline
/// every stroke and letter of the sheet for each band before it found that nothing of it is
/// there: measured, half of all time. Only what our sheets hold is drawn here; the rest is its.
fn draw(
    group: &usvg::Group,
    beneath: Option<&tiny_skia::Pixmap>,
    place: tiny_skia::Transform,
    rows: &std::ops::Range<f32>,
    picture: &mut tiny_skia::PixmapMut<'_>,
) {
    let place = place.pre_concat(group.transform());
    for node in group.children() {
        match node {
            usvg::Node::Group(group) if !group.should_isolate() => {
                draw(group, beneath, place, rows, picture)
            }
            usvg::Node::Text(text) => draw(text.flattened(), beneath, place, rows, picture),
            usvg::Node::Path(path) if path.is_visible() && reaches(path, place, rows) => {
                if path.paint_order() == usvg::PaintOrder::FillAndStroke {
                    fill(path, place, picture);
                    stroke(path, place, picture);
                } else {
                    stroke(path, place, picture);
                    fill(path, place, picture);
                }
            }
            usvg::Node::Path(_) => {}
            usvg::Node::Image(_) => {
                if let Some(beneath) = beneath {
                    underlay::paint(beneath, place, picture);
                }
            }
            usvg::Node::Group(_) => {
                // Undone by the library, which would else move the node to the corner.
                if let Some(b) = node.abs_layer_bounding_box() {
                    resvg::render_node(node, place.pre_translate(b.x(), b.y()), picture);
                }
            }
        }
    }
}

/// The library's own box "in canvas coordinates" leaves out the page's scale for text, so this
/// one is made from the box in the path's own coordinates.
fn reaches(path: &usvg::Path, place: tiny_skia::Transform, rows: &std::ops::Range<f32>) -> bool {
    let b = path.stroke_bounding_box();
    let corners = [
        (b.left(), b.top()),
        (b.right(), b.top()),
        (b.left(), b.bottom()),
        (b.right(), b.bottom()),
    ];
    let down = corners.map(|(x, y)| place.ky * x + place.sy * y + place.ty);
    let (high, low) =
        down.iter().fold((f32::MAX, f32::MIN), |(high, low), y| (high.min(*y), low.max(*y)));
    low >= rows.start && high <= rows.end
}

fn fill(path: &usvg::Path, place: tiny_skia::Transform, picture: &mut tiny_skia::PixmapMut<'_>) {
    let Some(fill) = path.fill() else { return };
    let Some(paint) = plain(fill.paint(), fill.opacity()) else { return };
    let rule = match fill.rule() {
        usvg::FillRule::NonZero => tiny_skia::FillRule::Winding,
        usvg::FillRule::EvenOdd => tiny_skia::FillRule::EvenOdd,
    };
    picture.fill_path(path.data(), &paint, rule, place, None);
}

fn stroke(path: &usvg::Path, place: tiny_skia::Transform, picture: &mut tiny_skia::PixmapMut<'_>) {
    let Some(stroke) = path.stroke() else { return };
    let Some(paint) = plain(stroke.paint(), stroke.opacity()) else { return };
    picture.stroke_path(path.data(), &paint, &stroke.to_tiny_skia(), place, None);
}

/// One even colour, or `None`: our sheets have neither gradients nor patterns.
fn plain(paint: &usvg::Paint, opacity: usvg::Opacity) -> Option<tiny_skia::Paint<'static>> {
    let usvg::Paint::Color(colour) = paint else { return None };
    let mut paint = tiny_skia::Paint::default();
    paint.set_color_rgba8(colour.red, colour.green, colour.blue, opacity.to_u8());
    Some(paint)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_make_the_very_picture_that_the_library_draws() {
        let mut canvas = crate::canvas::Canvas::new();
        let at = |x: f64, y: f64| geo::Coord { x, y };
        for step in 0..12 {
            let y = 10.0 + 16.0 * f64::from(step);
            let set = crate::canvas::Type::new(9.0 + f64::from(step)).bold(step % 2 == 0).halo();
            canvas.text(20.0, y + 8.0, set, "Back lawn 4,812 sq ft · Газон □");
            canvas.line(at(10.0, y), at(180.0, y), r##"stroke="#123456" stroke-width="3""##);
            canvas.line(
                at(10.0, y),
                at(180.0, y + 70.0),
                r##"stroke="red" stroke-dasharray="9 2""##,
            );
            canvas.circle(at(150.0, y), 9.0, r##"fill="#fff" fill-opacity=".6" stroke="#000""##);
        }
        canvas.raw("<g transform=\"rotate(-90 90 90)\">");
        canvas.text(60.0, 90.0, crate::canvas::Type::new(20.0).halo(), "West passage");
        let svg = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="200pt" height="200pt" viewBox="0 0 200 200" font-family="Inter">{}</g></svg>"#,
            canvas.finish()
        );
        let options = usvg::Options { fontdb: font::database(), ..usvg::Options::default() };
        let tree = usvg::Tree::from_str(&svg, &options).unwrap();
        let scale = 300.0 / 96.0;
        let side = 833;
        let ours = dots_of(&tree, None, (scale, side, side)).unwrap();
        let mut whole = tiny_skia::Pixmap::new(side, side).unwrap();
        whole.fill(tiny_skia::Color::WHITE);
        let place = tiny_skia::Transform::from_scale(scale, scale);
        resvg::render(&tree, place, &mut whole.as_mut());
        let theirs = whole.data().chunks_exact(4).flat_map(|dot| [dot[0], dot[1], dot[2]]);
        // A dot on a band's rim may be rounded the other way.
        let apart = ours.iter().zip(theirs).filter(|(ours, its)| ours.abs_diff(*its) > 8).count();
        assert!(ours.iter().any(|dot| *dot < 40));
        assert!(apart < 2_000, "{apart} of {}", ours.len());
    }
}
