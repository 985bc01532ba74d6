use std::fs;
use std::path::{Path, PathBuf};

use turfplat::{
    CoordinateSystem, Job, MapSource, MeasureOptions, PlanOptions, measure, plan, read_map,
};

use crate::expect::{Answer, check};

/// A folder with a map, perhaps a job, and what must come of them.
#[derive(Clone, Debug)]
pub struct Case {
    /// The folder.
    pub folder: PathBuf,
    /// The lines of `expect.txt`: a word and its value.
    pub lines: Vec<(String, String)>,
}

/// All cases of one kind, by name.
///
/// # Errors
///
/// What of the folder cannot be read.
pub fn cases(kind: &str) -> Result<Vec<Case>, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("cases").join(kind);
    let entries =
        fs::read_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut folders: Vec<PathBuf> =
        entries.filter_map(|entry| Some(entry.ok()?.path())).filter(|path| path.is_dir()).collect();
    folders.sort();
    folders.into_iter().map(Case::read).collect()
}

impl Case {
    fn read(folder: PathBuf) -> Result<Case, String> {
        let path = folder.join("expect.txt");
        let text =
            fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        let mut lines: Vec<(String, String)> = Vec::new();
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            match line.split_once(char::is_whitespace) {
                // A line that starts blank goes on with the one before.
                Some(("", rest)) => {
                    if let Some((_, value)) = lines.last_mut() {
                        value.push(' ');
                        value.push_str(rest.trim());
                    }
                }
                Some((word, value)) => lines.push((word.to_owned(), value.trim().to_owned())),
                None => {
                    return Err(format!("{}: a word without a value: {line:?}", path.display()));
                }
            }
        }
        for needed in ["what", "source", "expect"] {
            if !lines.iter().any(|(word, _)| word == needed) {
                return Err(format!("{}: no line {needed:?}", path.display()));
            }
        }
        Ok(Case { folder, lines })
    }

    /// The folder's own name.
    pub fn name(&self) -> String {
        self.folder.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// The values of all lines with this word.
    pub fn all<'a>(&'a self, word: &'a str) -> impl Iterator<Item = &'a str> {
        self.lines.iter().filter(move |(known, _)| known == word).map(|(_, value)| value.as_str())
    }

    /// Runs the case; what did not come out as expected.
    ///
    /// # Errors
    ///
    /// Every expectation that failed, each with what came instead.
    pub fn run(&self) -> Result<(), String> {
        let source = MapSource::geojson("map.geojson", self.bytes()?, self.crs()?);
        let map = match read_map(&[source]) {
            Ok(map) => map,
            Err(error) => {
                return self
                    .check(&Answer { unreadable: Some(error.to_string()), ..Answer::default() });
            }
        };
        let mut answer = Answer::default();
        let mut refused: Vec<String> = Vec::new();
        let job = self.job(&mut refused)?;
        let mut options = MeasureOptions {
            within_parcel: self.all("within-parcel").next().is_some(),
            ..MeasureOptions::default()
        };
        for setback in self.all("setback") {
            let (kind, distance) = setback.split_once('=').ok_or("a setback is KIND=DIST")?;
            let kind = kind.parse().map_err(|()| format!("unknown kind {kind:?}"))?;
            options
                .setbacks
                .insert(kind, distance.parse().map_err(|error| format!("{setback}: {error}"))?);
        }
        let measured = measure(&map, &options);
        answer.plats = measured.plats;
        refused.extend(measured.refusals.into_iter().flat_map(|refusal| refusal.reasons));
        if let Some(job) = &job {
            match plan(
                &map,
                job,
                &PlanOptions {
                    within_parcel: options.within_parcel,
                    date: self.all("date").next().map(str::to_owned),
                    ..PlanOptions::default()
                },
            ) {
                Ok(planned) => {
                    answer.plans = planned.plans;
                    refused
                        .extend(planned.refusals.into_iter().flat_map(|refusal| refusal.reasons));
                }
                Err(error) => refused.push(error.to_string()),
            }
        }
        answer.refused = refused;
        self.check(&answer)
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        fs::read(self.folder.join("map.geojson")).map_err(|error| format!("map.geojson: {error}"))
    }

    fn crs(&self) -> Result<CoordinateSystem, String> {
        match self.all("plane").next() {
            None => Ok(CoordinateSystem::AsTheFileSays),
            Some("ft") => Ok(CoordinateSystem::PLANE_FEET),
            Some("m") => Ok(CoordinateSystem::PLANE_METRES),
            Some(other) => Err(format!("plane is ft or m, not {other:?}")),
        }
    }

    fn job(&self, refused: &mut Vec<String>) -> Result<Option<Job>, String> {
        let path = self.folder.join("job.toml");
        if !path.exists() {
            return Ok(None);
        }
        let text = fs::read_to_string(&path).map_err(|error| format!("job.toml: {error}"))?;
        let folder = self.folder.clone();
        match Job::read("job.toml", &text, &move |product| fs::read_to_string(folder.join(product)))
        {
            Ok(job) => Ok(Some(job)),
            Err(error) => {
                refused.push(error.to_string());
                Ok(None)
            }
        }
    }

    fn check(&self, answer: &Answer<'_>) -> Result<(), String> {
        let expects_refusal = self
            .all("expect")
            .any(|line| line.starts_with("refused") || line.starts_with("unreadable"));
        let mut failed: Vec<String> =
            self.all("expect").filter_map(|line| check(line, answer).err()).collect();
        if !expects_refusal && (!answer.refused.is_empty() || answer.unreadable.is_some()) {
            failed.push(format!("refused: {:?} {:?}", answer.refused, answer.unreadable));
        }
        // A refusal that does not say where to look is no help.
        let names_its_place = |reason: &&String| {
            ["map.geojson", "job.toml", "application "].iter().any(|place| reason.contains(place))
        };
        let placeless = answer.refused.iter().filter(|reason| !names_its_place(reason));
        failed.extend(placeless.map(|reason| format!("names no place: {reason}")));
        if failed.is_empty() {
            Ok(())
        } else {
            Err(format!("{}:\n    {}", self.folder.display(), failed.join("\n    ")))
        }
    }
}
