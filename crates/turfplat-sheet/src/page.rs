/// What the map is drawn for.
///
/// Paper stands upright or lies on its side, whichever shows the property larger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Page {
    /// US letter, 8.5 × 11 in at 300 dots per inch: 2550 × 3300 dots.
    Letter,
    /// A4, 210 × 297 mm at 300 dots per inch: 2480 × 3508 dots.
    A4,
    /// 1600 × 1200 dots, the map on the left, large text; more dots where a property needs them.
    Screen,
}

impl Page {
    /// Dots per inch of the paper pages.
    pub(crate) const DOTS_PER_INCH: f64 = 300.0;

    /// Points in an inch: exact.
    pub(crate) const POINTS_PER_INCH: f64 = 72.0;

    /// Width and height upright, in points; of the screen, in units of two dots.
    pub(crate) fn size(self) -> (f64, f64) {
        match self {
            Page::Letter => (612.0, 792.0),
            Page::A4 => (210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0),
            Page::Screen => (800.0, 600.0),
        }
    }

    /// Dots for one unit of the drawing.
    pub(crate) fn dots_per_unit(self) -> f64 {
        if self.is_paper() { Self::DOTS_PER_INCH / Self::POINTS_PER_INCH } else { 2.0 }
    }

    /// What the paper is called, if it is paper.
    pub(crate) fn paper(self) -> Option<&'static str> {
        match self {
            Page::Letter => Some("Letter"),
            Page::A4 => Some("A4"),
            Page::Screen => None,
        }
    }

    /// Paper has a true scale; a screen has none.
    pub(crate) fn is_paper(self) -> bool {
        self != Page::Screen
    }
}
