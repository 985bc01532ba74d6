//! A picture of the ground beneath the map. It helps a crew to find a lawn's edge by the tree that
//! stands there, and must never be what the eye sees first: so it is gray, pale, and of few
//! shades, what lies on it is seen through, and every line on it has a halo.

use std::fmt::Write;
use std::sync::Arc;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use geo::Coord;
use resvg::{tiny_skia, usvg};

use crate::canvas::{Canvas, number};
use crate::page::Page;
use crate::raster::SheetError;
use crate::scale::View;
use crate::shape::Bounds;

/// Dots of the picture in an inch of paper: half as many as of the signs on it. Pale, it shows no more
/// when it is printed, and takes half the time and length of 200.
const DOTS_PER_INCH: f64 = 150.0;
/// The darkest shade; the palest is white.
const DARKEST: f64 = 138.0;
/// From one shade to the next: what the eye cannot tell need not be packed.
const STEP: f64 = 3.0;
/// How much the fill of a zone hides: grass must be seen.
const ZONE: &str = ".45";
/// How much the fill of a feature hides: the crosses of a strip around it must not.
pub(crate) const FEATURE: &str = ".85";

/// A picture of the ground, pale enough to lie beneath a map.
#[derive(Clone, Debug)]
pub struct Underlay {
    pub(crate) name: String,
    /// PNG, gray; empty of a blank one.
    png: Arc<[u8]>,
    /// Metres on the property's plane.
    at: Bounds,
}

/// The ground that the frame of a map shows, in metres on the property's plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// East of the left edge.
    pub west: f64,
    /// North of the upper edge.
    pub north: f64,
    /// Meters across one dot of a picture that is fine enough for the page.
    pub dot: f64,
    /// Dots across.
    pub width: u32,
    /// Dots down.
    pub height: u32,
}

impl Shown {
    pub(crate) fn of(frame: Bounds, view: View, page: Page) -> Shown {
        let per_point = if page.is_paper() {
            DOTS_PER_INCH / Page::POINTS_PER_INCH
        } else {
            page.dots_per_unit()
        };
        let corner = view.to_plane(Coord { x: frame.x0, y: frame.y0 });
        let dots = |points: f64| (points * per_point).ceil().clamp(1.0, 20_000.0) as u32;
        Shown {
            west: corner.x,
            north: corner.y,
            dot: 1.0 / (view.per_metre * per_point),
            width: dots(frame.width()),
            height: dots(frame.height()),
        }
    }
}

impl Underlay {
    /// None yet, but its line in the legend: see [`crate::shown`].
    pub fn blank(name: &str) -> Underlay {
        let at = Bounds::new(0.0, 0.0, 0.0, 0.0);
        Underlay { name: name.to_owned(), png: Arc::from([]), at }
    }

    /// Makes a picture pale: gray, stretched to the same shades whether it was taken in sun or
    /// under clouds.
    ///
    /// * In: what the file is called; the ground that `rgba` covers, red, green, blue and how much
    ///   shows, row by row from the upper left.
    ///
    /// # Errors
    ///
    /// [`SheetError::Size`] where `rgba` is not of that size.
    pub fn pale(name: &str, ground: &Shown, rgba: &[u8]) -> Result<Underlay, SheetError> {
        let Shown { width, height, .. } = *ground;
        let dots = width as usize * height as usize;
        if dots == 0 || rgba.len() != dots * 4 {
            return Err(SheetError::Size { width, height });
        }
        let grays = shades(rgba);
        let mut png = Vec::new();
        let mut encoder = png::Encoder::new(&mut png, width, height);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Balanced);
        encoder.set_filter(png::Filter::Adaptive);
        let mut writer = encoder.write_header()?;
        writer.write_image_data(&grays)?;
        writer.finish()?;
        let (wide, high) = (f64::from(width) * ground.dot, f64::from(height) * ground.dot);
        let at = Bounds::new(ground.west, ground.north - high, wide, high);
        Ok(Underlay { name: name.to_owned(), png: png.into(), at })
    }

    /// The legend's line.
    pub(crate) fn words(&self) -> String {
        format!("aerial picture: {}, as of its file; not a survey", self.name)
    }

    /// Draws the picture; all shapes after it are drawn so that it is seen.
    /// What lies beyond `frame` is cut off: the picture covers the ground of all sheets.
    pub(crate) fn draw(&self, canvas: &mut Canvas, view: View, frame: Bounds) {
        canvas.over_picture = Some(ZONE);
        if self.png.is_empty() {
            return;
        }
        let corner = view.to_page(Coord { x: self.at.x0, y: self.at.y1 });
        // A drawing within the drawing is cut off at its box in every viewer, and needs no name that
        // two drawings on one page could share.
        let mut image = String::from("<svg");
        for (name, value) in
            [("x", frame.x0), ("y", frame.y0), ("width", frame.width()), ("height", frame.height())]
        {
            let _ = write!(image, " {name}=\"{}\"", number(value));
        }
        let [x, y, wide, high] = [frame.x0, frame.y0, frame.width(), frame.height()].map(number);
        let _ = write!(image, " viewBox=\"{x} {y} {wide} {high}\" overflow=\"hidden\"><image");
        let (wide, high) = (self.at.width() * view.per_metre, self.at.height() * view.per_metre);
        for (name, value) in [("x", corner.x), ("y", corner.y), ("width", wide), ("height", high)] {
            let _ = write!(image, " {name}=\"{}\"", number(value));
        }
        image.push_str(" preserveAspectRatio=\"none\" href=\"data:image/png;base64,");
        STANDARD.encode_string(&self.png, &mut image);
        image.push_str("\"/></svg>\n");
        canvas.raw(&image);
    }
}

/// Gray shades of a picture; what shows nothing is white paper.
fn shades(rgba: &[u8]) -> Vec<u8> {
    // Luma of ITU-R BT.601, in thousandths.
    let luma = |dot: &[u8]| match dot {
        [r, g, b, _] => {
            ((299 * u32::from(*r) + 587 * u32::from(*g) + 114 * u32::from(*b)) / 1000) as u8
        }
        _ => 255,
    };
    let share = |dot: &[u8]| dot.get(3).copied().unwrap_or(0);
    let mut counts = [0_u64; 256];
    let mut all = 0;
    for dot in rgba.chunks_exact(4).filter(|dot| share(dot) > 127) {
        counts[usize::from(luma(dot))] += 1;
        all += 1;
    }
    // One in fifty, darkest and brightest, is given up for the others.
    let at = |part: u64| {
        let mut below = 0;
        let found = counts.iter().position(|count| {
            below += count;
            below * 50 > all * part
        });
        found.unwrap_or(255) as f64
    };
    let (low, high) = (at(1), at(49));
    let range = (high - low).max(1.0);
    let table: Vec<f64> = (0..256)
        .map(|value| {
            DARKEST + (255.0 - DARKEST) * ((f64::from(value) - low) / range).clamp(0.0, 1.0)
        })
        .collect();
    let shade = |dot: &[u8]| {
        let shown = f64::from(share(dot)) / 255.0;
        let gray = table.get(usize::from(luma(dot))).copied().unwrap_or(255.0);
        let gray = gray * shown + 255.0 * (1.0 - shown);
        ((gray / STEP).round() * STEP).min(255.0) as u8
    };
    rgba.chunks_exact(4).map(shade).collect()
}

/// How a shape is drawn over a picture, one look upon the other.
pub(crate) fn over(attributes: &str, opacity: &str) -> Vec<String> {
    let mut looks = Vec::new();
    if let Some(wide) = value(attributes, "stroke-width").and_then(|wide| wide.parse::<f64>().ok())
    {
        let wide = number(wide + 1.6);
        looks.push(format!(
            r##"stroke="#fff" stroke-opacity=".7" stroke-width="{wide}" stroke-linejoin="round""##
        ));
    }
    let is_plain_fill = attributes.contains("fill=") && !attributes.contains("fill-opacity");
    let see_through = format!(r#" fill-opacity="{opacity}""#);
    looks.push([attributes, if is_plain_fill { &see_through } else { "" }].concat());
    looks
}

/// The value of one attribute.
fn value<'a>(attributes: &'a str, name: &str) -> Option<&'a str> {
    let (_, rest) = attributes.split_once(&format!("{name}=\""))?;
    rest.split('"').next()
}

/// The legend's sample: shades as of trees and grass.
pub(crate) fn sample(canvas: &mut Canvas, b: Bounds) {
    canvas.rect(b, r##"fill="#d2d2d2""##);
    let high = b.height();
    for (x, y, size, gray) in
        [(0.16, 0.6, 0.62, "#9b9b9b"), (0.34, 0.36, 0.5, "#b4b4b4"), (0.78, 0.56, 0.7, "#8f8f8f")]
    {
        let at = Coord { x: b.x0 + x * b.width(), y: b.y0 + y * high };
        canvas.circle(at, size * high / 2.0, &format!(r#"fill="{gray}""#));
    }
    canvas.rect(b, r##"fill="none" stroke="#8c8880" stroke-width=".4""##);
}

/// The picture of a drawing, unpacked once for all bands.
pub(crate) fn unpacked(group: &usvg::Group) -> Option<tiny_skia::Pixmap> {
    group.children().iter().find_map(|node| match node {
        usvg::Node::Group(group) => unpacked(group),
        usvg::Node::Image(image) => match image.kind() {
            usvg::ImageKind::PNG(bytes) => pixmap(bytes),
            _ => None,
        },
        _ => None,
    })
}

fn pixmap(bytes: &[u8]) -> Option<tiny_skia::Pixmap> {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().ok()?;
    let mut grays = vec![0; reader.output_buffer_size()?];
    let info = reader.next_frame(&mut grays).ok()?;
    if info.color_type != png::ColorType::Grayscale || info.bit_depth != png::BitDepth::Eight {
        return None;
    }
    let mut pixmap = tiny_skia::Pixmap::new(info.width, info.height)?;
    for (dot, &gray) in pixmap.data_mut().chunks_exact_mut(4).zip(&grays) {
        dot.copy_from_slice(&[gray, gray, gray, 255]);
    }
    Some(pixmap)
}

/// Draws the picture where `place` puts its pixels.
pub(crate) fn paint(
    picture: &tiny_skia::Pixmap,
    place: tiny_skia::Transform,
    onto: &mut tiny_skia::PixmapMut<'_>,
) {
    let paint = tiny_skia::PixmapPaint {
        quality: tiny_skia::FilterQuality::Bilinear,
        ..tiny_skia::PixmapPaint::default()
    };
    onto.draw_pixmap(0, 0, picture.as_ref(), &paint, place, None);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fills_are_seen_through_and_lines_have_a_halo() {
        assert_eq!(
            over(r##"fill="#fff" fill-rule="evenodd""##, ZONE),
            [r##"fill="#fff" fill-rule="evenodd" fill-opacity=".45""##]
        );
        let line = over(r##"stroke="#333" stroke-width=".9" stroke-dasharray="2 2""##, ZONE);
        assert!(line.len() == 2 && line[0].contains(r#"stroke-width="2.5""#), "{line:?}");
    }

    #[test]
    fn a_picture_is_pale_whatever_the_light() {
        for (dark, bright) in [(0_u8, 255_u8), (10, 40), (200, 250)] {
            let dots: Vec<u8> = (0..1000_u32)
                .flat_map(|at| {
                    let value = dark + (at * u32::from(bright - dark) / 999) as u8;
                    [value, value, value, 255]
                })
                .collect();
            let grays = shades(&dots);
            let (least, most) = (grays.iter().min().unwrap(), grays.iter().max().unwrap());
            assert!(*least >= 137 && *least < 145 && *most > 250, "{dark}: {least} {most}");
            assert!(grays.is_sorted(), "{dark}");
        }
        assert_eq!(shades(&[0, 0, 0, 0]), [255]);
    }

    #[test]
    fn a_picture_is_painted_where_the_drawing_says() {
        let ground = Shown { west: 0.0, north: 2.0, dot: 1.0, width: 2, height: 2 };
        let mut rgba = vec![255; 16];
        rgba[..3].fill(0);
        let underlay = Underlay::pale("a", &ground, &rgba).unwrap();
        // Two metres fill the middle of the page; the dark metre is that in the upper left.
        let (all, room) = (Bounds::new(0.0, 0.0, 2.0, 2.0), Bounds::new(50.0, 50.0, 100.0, 100.0));
        let view = View::new(all, room, false, turfplat_units::UnitSystem::Metric);
        let picture = |frame: Bounds| {
            let mut canvas = Canvas::new();
            underlay.draw(&mut canvas, view, frame);
            let svg = format!(
                r#"<svg xmlns="http://www.w3.org/2000/svg" width="200" height="200" viewBox="0 0 200 200">{}</svg>"#,
                canvas.finish()
            );
            let drawn = crate::raster::png(&svg, Page::Screen).unwrap();
            let mut reader = png::Decoder::new(std::io::Cursor::new(drawn)).read_info().unwrap();
            let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
            reader.next_frame(&mut rgb).unwrap();
            rgb
        };
        let page = picture(Bounds::new(0.0, 0.0, 200.0, 200.0));
        let red = |x: usize, y: usize| page[(y * 200 + x) * 3];
        for (x, y) in [(51, 51), (60, 60), (51, 70), (70, 51)] {
            assert!(red(x, y) < 145, "{x} {y}: {}", red(x, y));
        }
        for (x, y) in [(48, 60), (60, 48), (130, 60), (60, 130), (140, 140), (151, 151)] {
            // White, to a step of rounding where one drawing is laid upon the other.
            assert!(red(x, y) >= 254, "{x} {y}");
        }
        // Half way between the middles of two dots lies half the shade.
        assert!(red(100, 60).abs_diff(197) < 4, "{}", red(100, 60));
        // A frame shows its part of the picture, where it was, and nothing beyond.
        let part = picture(Bounds::new(60.0, 55.0, 50.0, 30.0));
        for (x, y) in [(61, 56), (80, 70), (108, 84)] {
            assert_eq!(part[(y * 200 + x) * 3], red(x, y), "{x} {y}");
        }
        for (x, y) in [(58, 70), (112, 70), (80, 53), (80, 87)] {
            assert_eq!(part[(y * 200 + x) * 3], 255, "{x} {y}");
        }
    }

    #[test]
    fn a_picture_of_another_size_than_was_said_is_refused() {
        let ground = Shown { west: 0.0, north: 0.0, dot: 1.0, width: 2, height: 2 };
        assert!(Underlay::pale("a", &ground, &[0; 15]).is_err());
        assert!(Underlay::pale("a", &Shown { width: 0, ..ground }, &[]).is_err());
        assert!(Underlay::pale("a", &ground, &[0; 16]).is_ok());
    }
}
