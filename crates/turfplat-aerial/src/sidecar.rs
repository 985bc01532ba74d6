//! What stands beside a picture: a world file, and the text of its system.
//!
//! A world file speaks of the centre of the upper left pixel; taken for its corner, the picture
//! would lie half a pixel off.

use std::fs;
use std::path::{Path, PathBuf};

use crate::affine::Affine;
use crate::error::AerialError;

/// Longer than any world file or text of a system; what is longer is something else.
const MOST_BYTES: u64 = 64 * 1024;

/// The endings of world files of a picture: `pgw` and `pngw` of `png`, then `wld`.
fn endings(path: &Path) -> Vec<String> {
    let ending =
        path.extension().map_or_else(String::new, |it| it.to_string_lossy().to_lowercase());
    let mut letters = ending.chars();
    let short = match (letters.next(), letters.last()) {
        (Some(first), Some(last)) => vec![format!("{first}{last}w"), format!("{ending}w")],
        _ => Vec::new(),
    };
    short.into_iter().chain(["wld".to_owned()]).collect()
}

/// A file beside the picture with one of these endings, in small or capital letters.
fn beside(path: &Path, endings: &[String]) -> Option<PathBuf> {
    endings
        .iter()
        .flat_map(|ending| [ending.clone(), ending.to_uppercase()])
        .map(|ending| path.with_extension(ending))
        .find(|it| it.is_file())
}

fn text_of(path: &Path) -> Result<String, AerialError> {
    let file = path.display().to_string();
    let read = || {
        if fs::metadata(path)?.len() > MOST_BYTES {
            return Err(std::io::Error::other("far too long for such a file; give its own"));
        }
        fs::read(path)
    };
    let bytes = read().map_err(|source| AerialError::Unreadable { file, source })?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Where the picture lies as its world file says.
pub(crate) fn world_file(path: &Path) -> Result<Affine, AerialError> {
    let names = endings(path);
    let Some(world) = beside(path, &names) else {
        let name = |ending: &String| {
            let name = path.with_extension(ending);
            name.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
        };
        let beside = names.iter().map(name).collect::<Vec<_>>().join(" or ");
        return Err(AerialError::NoPlace { file: path.display().to_string(), beside });
    };
    let file = world.display().to_string();
    let text = text_of(&world)?;
    let mut lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let mut number = || -> Result<f64, AerialError> {
        let (line, found) =
            lines.next().map_or((text.lines().count() + 1, ""), |(at, it)| (at + 1, it.trim()));
        // Some programs write a decimal comma.
        let value: Option<f64> = found.replace(',', ".").parse().ok();
        value.filter(|value| value.is_finite()).ok_or_else(|| {
            let found = found.chars().take(40).collect();
            AerialError::WorldFile { file: file.clone(), line, found }
        })
    };
    // Lines A, D, B, E, C, F.
    let (a, d, b, e, c, f) = (number()?, number()?, number()?, number()?, number()?, number()?);
    Affine::of_centres([c, a, b, f, d, e]).ok_or(AerialError::NoSize { file })
}

/// Well-known text of the picture's system, if a `.prj` stands beside it.
pub(crate) fn system(path: &Path) -> Result<Option<String>, AerialError> {
    let Some(found) = beside(path, &["prj".to_owned()]) else { return Ok(None) };
    let text = text_of(&found)?.trim().to_owned();
    Ok((!text.is_empty()).then_some(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn world_files_have_the_names_that_people_give_them() {
        for (picture, names) in [
            ("a.png", vec!["pgw", "pngw", "wld"]),
            ("a.JPG", vec!["jgw", "jpgw", "wld"]),
            ("a.jpeg", vec!["jgw", "jpegw", "wld"]),
            ("a.tif", vec!["tfw", "tifw", "wld"]),
            ("a.tiff", vec!["tfw", "tiffw", "wld"]),
            ("a", vec!["wld"]),
        ] {
            assert_eq!(endings(Path::new(picture)), names, "{picture}");
        }
    }
}
