//! Why files are written beside their place first: a plan that stops half-way must not leave
//! half a file where yesterday's whole one stood.

use std::collections::{HashMap, HashSet};
use std::fs;
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

/// Writes a file whole or not at all. A device or a pipe is written to as it is, and a link
/// leads to what it links to.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let place = place_of(path);
    if is_device(&place) {
        return fs::OpenOptions::new()
            .append(true)
            .open(&place)
            .and_then(|mut device| device.write_all(bytes))
            .with_context(|| format!("cannot write {}", path.display()));
    }
    Beside::write(&place, bytes)?.put_in_place()
}

/// Writes a file whole or not at all out of what is read; to a device or a pipe as it is.
pub(crate) fn write_from(path: &Path, text: &mut dyn Read) -> anyhow::Result<()> {
    let place = place_of(path);
    let not_written = || format!("cannot write {}", path.display());
    if is_device(&place) {
        let mut device =
            fs::OpenOptions::new().append(true).open(&place).with_context(not_written)?;
        io::copy(text, &mut device).with_context(not_written)?;
        return Ok(());
    }
    let mut beside = Beside::open(&place)?;
    io::copy(text, &mut beside.file).with_context(not_written)?;
    beside.put_in_place()
}

/// Where a path leads in the end.
pub(crate) fn place_of(path: &Path) -> PathBuf {
    // Behind /dev/stdout may stand a file to which others write too: it is not ours to replace.
    if is_device(path) {
        return path.to_owned();
    }
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// True of a device or a pipe, which cannot be replaced.
pub(crate) fn is_device(place: &Path) -> bool {
    ["/dev", "/proc"].iter().any(|folder| place.starts_with(folder))
        || fs::metadata(place).is_ok_and(|there| !there.is_file() && !there.is_dir())
}

/// Writes all files of a folder, or none of them.
pub(crate) fn write_together(folder: &Path, files: Vec<(String, Vec<u8>)>) -> anyhow::Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let written: Vec<Beside> = files
        .iter()
        .map(|(name, bytes)| Beside::write(&folder.join(name), bytes))
        .collect::<Result<_, _>>()?;
    written.into_iter().try_for_each(Beside::put_in_place)
}

/// A file written beside its place; gone again if it is not put there.
pub(crate) struct Beside {
    beside: PathBuf,
    place: PathBuf,
    file: BufWriter<fs::File>,
}

impl Beside {
    /// Starts a file for `place`.
    pub(crate) fn open(place: &Path) -> anyhow::Result<Beside> {
        let name =
            place.file_name().with_context(|| format!("{} names no file", place.display()))?;
        if place.is_dir() {
            bail!("cannot write {}: a folder of that name is there", place.display());
        }
        let beside =
            place.with_file_name(format!(".{}.{}", name.to_string_lossy(), std::process::id()));
        let file = fs::File::create(&beside)
            .with_context(|| format!("cannot write {}", place.display()))?;
        Ok(Beside { beside, place: place.to_owned(), file: BufWriter::new(file) })
    }

    fn write(place: &Path, bytes: &[u8]) -> anyhow::Result<Beside> {
        let mut beside = Beside::open(place)?;
        beside.write_all(bytes)?;
        Ok(beside)
    }

    /// Adds to the file.
    pub(crate) fn write_all(&mut self, bytes: &[u8]) -> anyhow::Result<()> {
        let written = self.file.write_all(bytes);
        written.with_context(|| format!("cannot write {}", self.place.display()))
    }

    /// Puts the file, which is whole now, in its place.
    pub(crate) fn put_in_place(mut self) -> anyhow::Result<()> {
        let flushed = self.file.flush().and_then(|()| self.file.get_ref().sync_all());
        flushed
            .and_then(|()| fs::rename(&self.beside, &self.place))
            .with_context(|| format!("cannot write {}", self.place.display()))
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        // Once it is in its place nothing is left here to remove.
        let _ = fs::remove_file(&self.beside);
    }
}

/// Names of files for ids: safe on every system and different even where case does not count.
pub(crate) fn safe_names<'a>(ids: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken = HashSet::new();
    // Of each name the number that is tried next: thousands of ids may be alike where it is cut.
    let mut next: HashMap<String, usize> = HashMap::new();
    ids.map(|id| {
        let name = safe(id);
        let mut unique = name.clone();
        while !taken.insert(unique.to_lowercase()) {
            let number = next.entry(name.to_lowercase()).or_insert(2);
            unique = format!("{name}-{number}");
            *number += 1;
        }
        unique
    })
    .collect()
}

fn safe(id: &str) -> String {
    let kept: String = id
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '_' | '.') { c } else { '-' })
        .take(80)
        .collect();
    let kept = kept.trim_matches(['-', '.']);
    let stem = kept.split('.').next().unwrap_or_default().to_uppercase();
    // Names that Windows keeps for devices, whatever follows the point.
    let numbered = |device: &str| {
        stem.strip_prefix(device).is_some_and(|digit| {
            digit.len() == 1 && digit != "0" && digit.bytes().all(|b| b.is_ascii_digit())
        })
    };
    let reserved = matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL")
        || numbered("COM")
        || numbered("LPT");
    match kept {
        "" => "unnamed".to_owned(),
        _ if reserved => format!("{kept}-1").replace('.', "-"),
        _ => kept.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_become_names_that_every_system_takes() {
        let names = safe_names(
            ["../x", "CON", "a/b", "A-b", "", "…", "com1.txt", "Müller 12", "a/b"].into_iter(),
        );
        assert_eq!(
            names,
            [
                "x",
                "CON-1",
                "a-b",
                "A-b-2",
                "unnamed",
                "unnamed-2",
                "com1-txt-1",
                "M-ller-12",
                "a-b-3"
            ]
        );
    }
}
