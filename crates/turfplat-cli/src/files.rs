//! Why files are written beside their place first: a plan that stops half-way must not leave
//! half a file where yesterday's whole one stood.

use std::collections::HashSet;
use std::fs;
use std::io::Write;
use std::path::Path;

use anyhow::Context;

/// Writes a file whole or not at all.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let name = path.file_name().with_context(|| format!("{} names no file", path.display()))?;
    let beside = path.with_file_name(format!(".{}.{}", name.to_string_lossy(), std::process::id()));
    let written = fs::File::create(&beside)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&beside, path));
    if written.is_err() {
        // What cannot be removed was not written either.
        let _ = fs::remove_file(&beside);
    }
    written.with_context(|| format!("cannot write {}", path.display()))
}

/// Names of files for ids: safe on every system and different even where case does not count.
pub(crate) fn safe_names<'a>(ids: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken = HashSet::new();
    ids.map(|id| {
        let name = safe(id);
        let mut unique = name.clone();
        let mut number = 2;
        while !taken.insert(unique.to_lowercase()) {
            unique = format!("{name}-{number}");
            number += 1;
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
