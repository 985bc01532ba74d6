//! Why the engine is given a world of our own: what is on the machine must not show on the paper,
//! and a template that somebody was sent must not read their files.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::LazyLock;

use typst::diag::{FileError, FileResult, PackageError};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

use crate::error::PdfError;
use crate::fonts::{BOOK, FONTS};
use crate::template::{FORM, Template};

static LIBRARY: LazyLock<LazyHash<Library>> =
    LazyLock::new(|| LazyHash::new(<Library as LibraryExt>::default()));

/// A template, its data and its files, and nothing else.
pub(crate) struct Desk {
    main: FileId,
    files: HashMap<FileId, Bytes>,
}

impl Desk {
    pub(crate) const MAIN: &'static str = "main.typ";

    pub(crate) fn new(
        template: &Template,
        data: String,
        files: &[(&str, &[u8])],
    ) -> Result<Desk, PdfError> {
        let main = id_of(Desk::MAIN)?;
        let mut all = HashMap::new();
        for (name, bytes) in files {
            all.insert(id_of(name)?, Bytes::new(bytes.to_vec()));
        }
        all.insert(id_of("form.typ")?, Bytes::from_string(FORM));
        all.insert(id_of("data.json")?, Bytes::from_string(data));
        all.insert(main, Bytes::from_string(template.text.clone()));
        Ok(Desk { main, files: all })
    }
}

fn id_of(name: &str) -> Result<FileId, PdfError> {
    let path = VirtualPath::new(name)
        .map_err(|error| PdfError::FileName { name: name.to_owned(), reason: error.to_string() })?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &BOOK
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let text = self.file(id)?;
        let text = text.as_str().map_err(|_| FileError::InvalidUtf8)?;
        Ok(Source::new(id, text.to_owned()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if let VirtualRoot::Package(package) = id.root() {
            return Err(FileError::Package(PackageError::NotFound(package.clone())));
        }
        let name = id.vpath().get_without_slash();
        self.files.get(&id).cloned().ok_or_else(|| FileError::NotFound(PathBuf::from(name)))
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.get(index).cloned()
    }

    /// No paper hangs on the day on which it happens to be made.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
