//! A picture of the ground and where it lies, before any of it is unpacked.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::affine::Affine;
use crate::error::AerialError;
use crate::lay::{self, LaidPicture, Wanted};
use crate::{sidecar, tiff_file, whole_file};

/// A picture of the ground whose place is known.
#[derive(Clone, Debug)]
pub struct Aerial {
    pub(crate) path: PathBuf,
    pub(crate) form: Form,
    /// Pixels across and down, at full size.
    pub(crate) size: (u32, u32),
    pub(crate) place: Affine,
    /// What a PNG or JPEG holds, once a map has asked for it; of all copies of this picture.
    pub(crate) whole: whole_file::Shared,
    system: Option<PictureSystem>,
}

/// The system of a picture's coordinates, as the picture or its `.prj` says it.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureSystem {
    /// A code such as `EPSG:26919`, or well-known text.
    pub definition: String,
    /// Meters in one unit of the picture's coordinates where the picture says that beside the
    /// code; it may contradict the system's own unit, and then counts.
    pub metres_per_unit: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Form {
    Tiff,
    Png,
    Jpeg,
}

impl Aerial {
    /// Opens a picture: GeoTIFF, or TIFF, PNG or JPEG with a world file beside it.
    ///
    /// * Unpacks nothing yet; a GeoTIFF's own place counts before a world file.
    ///
    /// # Errors
    ///
    /// [`AerialError`], for what is no such picture, is broken, or has no place.
    pub fn open(path: &Path) -> Result<Aerial, AerialError> {
        let file = path.display().to_string();
        let unreadable = |source| AerialError::Unreadable { file: file.clone(), source };
        let mut head = Vec::new();
        File::open(path)
            .and_then(|opened| opened.take(8).read_to_end(&mut head))
            .map_err(unreadable)?;
        let form = match head.get(..4) {
            Some(b"II*\0" | b"MM\0*" | b"II+\0" | b"MM\0+") => Form::Tiff,
            Some(b"\x89PNG") => Form::Png,
            Some([0xff, 0xd8, 0xff, _]) => Form::Jpeg,
            _ => return Err(AerialError::NoPicture { file }),
        };
        let (size, own_place, own_system) = match form {
            Form::Tiff => {
                let head = tiff_file::head(path)?;
                (head.size, head.place, head.system)
            }
            Form::Png => (whole_file::png_size(path)?, None, None),
            Form::Jpeg => (whole_file::jpeg_size(path)?, None, None),
        };
        let place = own_place.map_or_else(|| sidecar::world_file(path), Ok)?;
        let system = match own_system {
            Some(system) => Some(system),
            None => sidecar::system(path)?
                .map(|definition| PictureSystem { definition, metres_per_unit: None }),
        };
        let whole = whole_file::Shared::default();
        Ok(Aerial { path: path.to_owned(), form, size, place, whole, system })
    }

    /// The file's name, for messages and legends.
    pub fn name(&self) -> String {
        self.path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
    }

    /// The path as it was given, for messages.
    pub fn file(&self) -> String {
        self.path.display().to_string()
    }

    /// The system of its coordinates; `None` where nothing says it.
    pub fn system(&self) -> Option<&PictureSystem> {
        self.system.as_ref()
    }

    /// Pixels across and down, at full size.
    pub fn size(&self) -> (u32, u32) {
        self.size
    }

    /// The four corners, in the picture's own coordinates.
    pub fn corners(&self) -> [(f64, f64); 4] {
        let (wide, high) = (f64::from(self.size.0), f64::from(self.size.1));
        [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
            .map(|(column, row)| self.place.apply(column, row))
    }

    /// Lays the picture onto a plane.
    ///
    /// * In: what is wanted of the plane, and where a place of the plane (east, north) lies in the
    ///   picture's own coordinates; `None` where it lies nowhere.
    /// * Out: dots of the plane, transparent where the picture shows nothing.
    /// * A tiled GeoTIFF is unpacked as far as is wanted; a PNG or JPEG of up to 80 million pixels
    ///   once and as a whole, for all that is laid from this picture, its clones and any thread.
    /// * Accuracy: within a tenth of a dot, or of a pixel where those are larger; made of the
    ///   four nearest pixels, or the mean of all in a dot where the picture is finer.
    ///
    /// # Errors
    ///
    /// [`AerialError`], for a picture that is broken or too large to be unpacked.
    pub fn lay(
        &self,
        wanted: &Wanted,
        place: &dyn Fn(f64, f64) -> Option<(f64, f64)>,
    ) -> Result<LaidPicture, AerialError> {
        lay::lay(self, wanted, place)
    }
}
