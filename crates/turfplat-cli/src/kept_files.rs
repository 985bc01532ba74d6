//! Which files a command leaves as they are: maps and pictures that it reads, and what says where
//! they lie.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use anyhow::bail;

use crate::files;

/// Files that nothing is written over.
#[derive(Default)]
pub(crate) struct Kept(Vec<KeptFile>);

struct KeptFile {
    place: PathBuf,
    /// The map or picture, as it was given.
    of: PathBuf,
    whose: Whose,
}

enum Whose {
    /// The map itself.
    Map,
    /// The picture itself.
    Picture,
    /// A file beside them, with its ending.
    Beside(&'static str),
}

impl Kept {
    /// Keeps a map, and the text of its system where there is one.
    pub(crate) fn add_map(&mut self, map: &Path) {
        self.add(map, map.to_owned(), Whose::Map);
        let prj = map.with_extension("prj");
        if prj.exists() {
            self.add(map, prj, Whose::Beside("prj"));
        }
    }

    /// Keeps a picture of the ground, and the names of what is read with it: a file that is put there
    /// anew would be taken for the picture's own the next time.
    pub(crate) fn add_picture(&mut self, picture: &Path) {
        self.add(picture, picture.to_owned(), Whose::Picture);
        let is_png = picture.extension().is_some_and(|it| it.eq_ignore_ascii_case("png"));
        let world_file = picture.with_extension("pgw");
        if is_png || world_file.exists() {
            self.add(picture, world_file, Whose::Beside("pgw"));
        }
        self.add(picture, picture.with_extension("prj"), Whose::Beside("prj"));
        self.add(picture, picture.with_extension("png.aux.xml"), Whose::Beside("png.aux.xml"));
    }

    fn add(&mut self, of: &Path, file: PathBuf, whose: Whose) {
        self.0.push(KeptFile { place: place_of(&file), of: of.to_owned(), whose });
    }

    /// Refuses the first target that would replace a kept file.
    pub(crate) fn check(&self, targets: impl IntoIterator<Item = PathBuf>) -> anyhow::Result<()> {
        for target in targets {
            let place = place_of(&target);
            let Some(KeptFile { of, whose, .. }) = self.0.iter().find(|it| it.place == place)
            else {
                continue;
            };
            let of = of.display();
            match whose {
                Whose::Map => bail!("{of} is a map that is read; write to another file"),
                Whose::Picture => {
                    bail!("{of} is an aerial picture that is read; write to another file")
                }
                Whose::Beside(ending) => bail!(
                    "{}: the .{ending} beside it belongs to {of}; choose another name",
                    target.display()
                ),
            }
        }
        Ok(())
    }
}

/// Says where a run that wrote nothing leaves what an earlier one wrote: somebody may carry it for today's.
pub(crate) fn tell_old(
    file: Option<&Path>,
    started: SystemTime,
    remarks: &mut dyn Write,
) -> anyhow::Result<()> {
    let Some(file) = file.filter(|file| !files::is_device(file)) else { return Ok(()) };
    let written = fs::metadata(file).and_then(|there| there.modified());
    if written.is_ok_and(|written| written < started) {
        writeln!(remarks, "remark: {} is not of this run, which wrote none", file.display())?;
    }
    Ok(())
}

/// Where a path leads in the end, whether or not a file is there.
fn place_of(path: &Path) -> PathBuf {
    let of_no_file = || {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let folder = fs::canonicalize(folder.unwrap_or(Path::new("."))).ok()?;
        Some(folder.join(path.file_name()?))
    };
    fs::canonicalize(path).ok().or_else(of_no_file).unwrap_or_else(|| path.to_owned())
}
