//! The picture of the ground that lies beneath spray maps.

use std::io::Write;
#[cfg(feature = "pdf")]
use std::path::Path;
use std::path::PathBuf;

use turfplat::sheet::{Page, SprayMap};
use turfplat::{AerialPicture, AerialRefusal, AerialUnder, PropertyPlan};

use crate::kept_files::Kept;

/// A picture of the ground, if any.
#[derive(Clone, clap::Args)]
pub(crate) struct AerialArgs {
    /// Aerial picture to lie beneath the map, pale and in gray: GeoTIFF, or TIFF, PNG or JPEG with
    /// its world file beside it
    #[arg(long, value_name = "FILE")]
    aerial: Option<PathBuf>,

    /// Coordinate system of the aerial picture, such as EPSG:26919; plane-m or plane-ft if it counts
    /// as a map on a plane does [default: what the picture or a .prj beside it says]
    #[arg(long, value_name = "EPSG:n", requires = "aerial")]
    aerial_crs: Option<String>,
}

impl AerialArgs {
    pub(crate) fn open(&self) -> anyhow::Result<Option<OpenAerial>> {
        let Some(path) = &self.aerial else { return Ok(None) };
        Ok(Some(OpenAerial(AerialPicture::open(path, self.aerial_crs.as_deref())?)))
    }

    /// Adds the picture's files to those that nothing is written over.
    pub(crate) fn keep(&self, kept: &mut Kept) {
        if let Some(path) = &self.aerial {
            kept.add_picture(path);
        }
    }
}

/// A picture that is there and has its place.
pub(crate) struct OpenAerial(AerialPicture);

/// How much of a property a picture shows.
pub(crate) enum Beneath {
    All,
    /// A part, with what to say of it.
    Part(String),
    /// None of its turf, with the reason.
    Nothing(String),
}

impl OpenAerial {
    /// Lays the picture beneath a map.
    pub(crate) fn beneath(
        &self,
        plan: &PropertyPlan<'_>,
        map: &mut SprayMap,
        page: Page,
    ) -> anyhow::Result<Beneath> {
        self.laid(self.0.beneath(plan, map, page), map)
    }

    /// Lays the picture beneath a map of so many points, for a page of another document.
    #[cfg(feature = "pdf")]
    pub(crate) fn beneath_plate(
        &self,
        plan: &PropertyPlan<'_>,
        map: &mut SprayMap,
        size: (f64, f64),
    ) -> anyhow::Result<Beneath> {
        self.laid(self.0.beneath_plate(plan, map, size), map)
    }

    /// What is said of it where a small map's legend has no room for its line.
    #[cfg(feature = "pdf")]
    pub(crate) fn words(&self) -> String {
        let file = self.0.file();
        let name = Path::new(&file).file_name().map(|name| name.to_string_lossy().into_owned());
        format!("aerial picture: {}, as of its file; not a survey", name.unwrap_or(file))
    }

    fn laid(
        &self,
        under: Result<AerialUnder, AerialRefusal>,
        map: &mut SprayMap,
    ) -> anyhow::Result<Beneath> {
        let under = match under {
            Ok(under) => under,
            Err(nothing @ AerialRefusal::ShowsNothing { .. }) => {
                return Ok(Beneath::Nothing(nothing.to_string()));
            }
            Err(error) => return Err(error.into()),
        };
        map.underlay = Some(under.underlay);
        // Never rounded up to all of it.
        let percent = (under.covered * 100.0).floor();
        Ok(if under.covered < 1.0 {
            let file = self.0.file();
            Beneath::Part(format!(
                "{file}: shows {percent:.0} % of the turf; the rest has no picture"
            ))
        } else {
            Beneath::All
        })
    }
}

/// What a picture shows of properties: what to say of those that it does not show wholly.
#[derive(Default)]
pub(crate) struct Pictured {
    shown: usize,
    remarks: Vec<String>,
    without: usize,
    /// Why the first without any picture has none.
    reason: Option<String>,
}

impl Pictured {
    /// Remarks that are told one by one.
    const MOST_REMARKS: usize = 10;

    /// Holds what is seen beneath a map of one property; its applications share its turf.
    pub(crate) fn hold(&mut self, plan: &PropertyPlan<'_>, beneath: Beneath) {
        match beneath {
            Beneath::All => self.shown = 1,
            Beneath::Part(remark) => {
                self.shown = 1;
                let whose = match plan.property.as_str() {
                    "" => String::new(),
                    property => format!(" property {property}"),
                };
                self.remarks = vec![format!("remark{whose}: {remark}")];
            }
            Beneath::Nothing(reason) => {
                self.without = 1;
                self.reason = Some(reason);
            }
        }
    }

    pub(crate) fn is_of_nothing(&self) -> bool {
        self.shown == 0 && self.without > 0
    }

    pub(crate) fn add(&mut self, one: Pictured) {
        self.shown += one.shown;
        self.without += one.without;
        self.remarks.extend(one.remarks);
        self.reason = self.reason.take().or(one.reason);
    }

    /// Says what there is to say; true if a picture shows nothing of any property.
    pub(crate) fn tell(&self, remarks: &mut dyn Write) -> anyhow::Result<bool> {
        for remark in self.remarks.iter().take(Self::MOST_REMARKS) {
            writeln!(remarks, "{remark}")?;
        }
        if self.remarks.len() > Self::MOST_REMARKS {
            let more = self.remarks.len() - Self::MOST_REMARKS;
            writeln!(remarks, "remark: {more} more properties are shown in part")?;
        }
        let Some(reason) = &self.reason else { return Ok(false) };
        if self.shown == 0 {
            writeln!(remarks, "refused: {reason}")?;
            return Ok(true);
        }
        let (without, all) = (self.without, self.without + self.shown);
        writeln!(
            remarks,
            "remark: no picture of {without} of {all} properties; their maps were drawn without"
        )?;
        Ok(false)
    }
}
