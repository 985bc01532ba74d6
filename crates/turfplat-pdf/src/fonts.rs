use std::sync::LazyLock;

use typst::foundations::Bytes;
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;

// The very files that the spray map is drawn with, so that what a map measures is what is printed.
// Inter is licensed under the SIL Open Font License 1.1, see `OFL.txt` beside them.
const FILES: [&[u8]; 2] = [
    include_bytes!("../../turfplat-sheet/assets/Inter-Regular.ttf"),
    include_bytes!("../../turfplat-sheet/assets/Inter-Bold.ttf"),
];

/// The fonts that paper is set in: only ours, so that no machine prints another.
pub(crate) static FONTS: LazyLock<Vec<Font>> =
    LazyLock::new(|| FILES.into_iter().flat_map(|file| Font::iter(Bytes::new(file))).collect());

pub(crate) static BOOK: LazyLock<LazyHash<FontBook>> =
    LazyLock::new(|| LazyHash::new(FontBook::from_fonts(FONTS.iter())));

/// Whether every one of the fonts can draw `c`.
pub(crate) fn have(c: char) -> bool {
    c.is_ascii_graphic() || FONTS.iter().all(|font| font.info().coverage.contains(c.into()))
}
