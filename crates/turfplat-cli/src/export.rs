//! `measure --shapes FILE`: what was measured, for other map programs.

use std::fs::File;
use std::io::{self, BufWriter, Read, Seek, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use turfplat::{MapTable as Table, export_layers, geojson_rows, geopackage, kml, shapefile};

use crate::files;

/// A format that other map programs open, by the file's ending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Format {
    GeoJson,
    GeoPackage,
    Shapefile,
    Kml,
}

/// Layers that are filled property by property and written at the end, whole or not at all.
pub(crate) struct Export {
    path: PathBuf,
    format: Format,
    layers: [Table; 3],
    /// Of GeoJSON, what was written so far: a county's would fill the memory.
    texts: Option<[Text; 3]>,
}

/// The features of one layer, in a file that goes when it is closed.
struct Text {
    file: BufWriter<File>,
    is_empty: bool,
}

impl Text {
    fn new() -> io::Result<Text> {
        Ok(Text { file: BufWriter::new(tempfile::tempfile()?), is_empty: true })
    }

    fn add(&mut self, rows: &Table) -> io::Result<()> {
        if rows.rows.is_empty() {
            return Ok(());
        }
        if !std::mem::take(&mut self.is_empty) {
            self.file.write_all(b",\n")?;
        }
        self.file.write_all(geojson_rows(rows).as_bytes())
    }

    /// What was written, to be read from its start.
    fn read(self) -> io::Result<File> {
        let mut file = self.file.into_inner().map_err(io::IntoInnerError::into_error)?;
        file.rewind()?;
        Ok(file)
    }
}

impl Export {
    /// Makes ready for a file; the ending of its name says the format.
    pub(crate) fn to(path: &Path) -> anyhow::Result<Export> {
        let ending = path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
        let format = match ending.as_str() {
            "geojson" | "json" => Format::GeoJson,
            "gpkg" => Format::GeoPackage,
            "shp" => Format::Shapefile,
            "kml" => Format::Kml,
            _ => bail!(
                "{}: the ending says the format: .geojson, .gpkg, .shp or .kml",
                path.display()
            ),
        };
        let texts = || -> io::Result<[Text; 3]> { Ok([Text::new()?, Text::new()?, Text::new()?]) };
        let texts = (format == Format::GeoJson).then(texts).transpose();
        let texts = texts.context("cannot make a temporary file")?;
        Ok(Export { path: path.to_owned(), format, layers: export_layers(), texts })
    }

    /// The files that will be written.
    pub(crate) fn targets(&self) -> Vec<PathBuf> {
        if self.format != Format::Shapefile {
            return vec![self.path.clone()];
        }
        let stem = self.path.file_stem().unwrap_or_default().to_string_lossy();
        let named = |layer: &Table| self.path.with_file_name(format!("{stem}-{}.shp", layer.name));
        self.layers.iter().map(named).collect()
    }

    /// Adds the rows of one property.
    pub(crate) fn add(&mut self, property: [Table; 3]) -> anyhow::Result<()> {
        if let Some(texts) = &mut self.texts {
            let written = texts.iter_mut().zip(&property).try_for_each(|(it, more)| it.add(more));
            return written.context("cannot write a temporary file");
        }
        for (layer, more) in self.layers.iter_mut().zip(property) {
            layer.rows.extend(more.rows);
        }
        Ok(())
    }

    /// Writes the layers; of a shapefile each to files of its own, `net.shp` to `net-zones.shp` and
    /// so on.
    pub(crate) fn finish(self) -> anyhow::Result<()> {
        let layers = &self.layers;
        let name = self.path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        match self.format {
            Format::GeoJson => {
                let head = &b"{\"type\":\"FeatureCollection\",\"features\":[\n"[..];
                let mut text: Box<dyn Read> = Box::new(head);
                let mut between: &[u8] = b"";
                let texts = self.texts.into_iter().flatten().filter(|text| !text.is_empty);
                for layer in texts {
                    let layer = layer.read().context("cannot read a temporary file")?;
                    text = Box::new(text.chain(between).chain(layer));
                    between = b",\n";
                }
                files::write_from(&self.path, &mut text.chain(&b"\n]}\n"[..]))
            }
            Format::Kml => files::write(&self.path, &kml(&name, layers)?),
            Format::GeoPackage => {
                // SQLite writes to a path of its own.
                let folder = tempfile::tempdir().context("cannot make a temporary folder")?;
                let beside = folder.path().join("layers.gpkg");
                geopackage(layers, &beside)?;
                files::write(&self.path, &std::fs::read(&beside)?)
            }
            Format::Shapefile => {
                let mut all = Vec::new();
                for layer in layers {
                    let parts = shapefile(layer)?;
                    let named = |ending: &str| format!("{name}-{}.{ending}", layer.name);
                    all.extend([
                        (named("shp"), parts.shp),
                        (named("shx"), parts.shx),
                        (named("dbf"), parts.dbf),
                        (named("prj"), parts.prj),
                        (named("cpg"), parts.cpg),
                    ]);
                }
                let folder = self.path.parent().filter(|it| !it.as_os_str().is_empty());
                let folder = folder.unwrap_or(Path::new("."));
                if !folder.is_dir() {
                    bail!("{}: there is no such folder", folder.display());
                }
                files::write_together(folder, all)
            }
        }
    }
}
