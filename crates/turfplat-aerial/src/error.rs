use std::io;

/// Why an aerial picture cannot be used, and what to change.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum AerialError {
    /// The file or what stands beside it cannot be read.
    #[error("{file}: {source}")]
    Unreadable {
        file: String,
        #[source]
        source: io::Error,
    },

    /// The first bytes are those of no picture that is read.
    #[error("{file}: neither TIFF, PNG nor JPEG; save the picture as GeoTIFF")]
    NoPicture { file: String },

    /// The picture ends too early or contradicts itself.
    #[error(
        "{file}: not readable as {form} ({reason}); fetch it again, or save it anew as GeoTIFF"
    )]
    Broken { file: String, form: &'static str, reason: String },

    /// A kind of picture that is not unpacked here.
    #[error("{file}: {what}; save it as GeoTIFF with {cure}")]
    NotTaken { file: String, what: String, cure: &'static str },

    /// It would fill the memory.
    #[error("{file}: {width} × {height} pixels are too many for {form}; {cure}")]
    TooLarge { file: String, width: u64, height: u64, form: &'static str, cure: &'static str },

    /// Nothing says where the picture lies.
    #[error(
        "{file}: nothing says where the picture lies; put its world file beside it ({beside}), or save it as GeoTIFF"
    )]
    NoPlace { file: String, beside: String },

    /// The picture is placed by points that need a warp of their own.
    #[error(
        "{file}: placed by {points} control points, not by a grid; warp it to a coordinate system first"
    )]
    ControlPoints { file: String, points: usize },

    /// A world file does not have its six numbers.
    #[error(
        "{file} line {line}: {found:?} is no number; a world file has six, one a line: pixel width, two terms of rotation, pixel height (negative), and x and y of the first pixel's center"
    )]
    WorldFile { file: String, line: usize, found: String },

    /// Pixels without width or height.
    #[error(
        "{file}: its pixels have no size; the terms of width, rotation and height must span an area"
    )]
    NoSize { file: String },
}
