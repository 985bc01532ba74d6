//! `turfplat sheet MAP… --job JOB -o FILE`: the spray map of one application.

use std::path::{Path, PathBuf};

use anyhow::bail;
use turfplat::sheet::{Page, outlined, png, sheets};
use turfplat::{InPlace, PlanOptions, in_place, spray_map};

use crate::aerial::{AerialArgs, Beneath};
use crate::further_sheets::FurtherSheets;
use crate::input::{MapArgs, is_of_several};
use crate::job_args::JobArgs;
use crate::one_plan::{OnePlan, one_application, one_plan};
use crate::passes::PassArgs;
use crate::wind::WindArgs;
use crate::{Output, Verdict, files, letters};

/// Draw the spray map of one application, as PNG or SVG
///
/// A property that is too large for one sheet of paper gets several: FILE.png is the overview,
/// FILE-2.png and so on show its parts, and the last explain the numbers of all zones. With --page
/// screen it stays one picture, which has more dots (up to 6400 by 4800), so that labels can be read. Beside each PNG, a world file (.pgw) and its coordinate
/// system (.prj, .png.aux.xml) let other map programs open it in its place.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  turfplat sheet examples/demo/map.geojson \\\n    --job examples/demo/job.toml --date 2026-06-08 -o june.png"
)]
pub(crate) struct Args {
    #[command(flatten)]
    map: MapArgs,

    #[command(flatten)]
    job: JobArgs,

    /// Application to draw, by its name in the job [default: the only one]
    #[arg(long, value_name = "NAME")]
    application: Option<String>,

    /// Property to draw, by its id on the map [default: the only one]
    #[arg(long, value_name = "ID")]
    property: Option<String>,

    /// Paper, or one picture for a screen, as large as its labels need
    #[arg(long, value_enum, default_value_t)]
    page: PageName,

    #[command(flatten)]
    aerial: AerialArgs,

    #[command(flatten)]
    walk: PassArgs,

    #[command(flatten)]
    wind: WindArgs,

    /// Draw text of an SVG as outlines, for programs that read no embedded font
    #[arg(long)]
    outline_text: bool,

    /// File to write; its ending, .png or .svg, says what
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: PathBuf,
}

#[derive(Clone, Copy, Default, clap::ValueEnum)]
enum PageName {
    /// US Letter at 300 dpi
    #[default]
    Letter,
    /// ISO A4 at 300 dpi
    A4,
    /// A picture for a screen
    Screen,
}

pub(crate) fn run(args: &Args, output: &mut Output<'_>) -> anyhow::Result<Verdict> {
    let mut kept = args.map.kept();
    args.aerial.keep(&mut kept);
    let ending = args.output.extension().and_then(|ending| ending.to_str()).map(str::to_lowercase);
    let as_png = match ending.as_deref() {
        Some("png") => true,
        Some("svg") => false,
        _ => bail!("{}: end the file name with .png or .svg", args.output.display()),
    };
    if as_png && args.outline_text {
        bail!("--outline-text is for SVG: end the file name with .svg, or leave it out");
    }
    kept.check(targets(&args.output, as_png))?;
    let aerial = args.aerial.open()?;
    let map = args.map.read()?;
    let Some(job) = args.job.file.read(output)? else { return Ok(Verdict::Refused) };
    let asked = args.application.as_deref().map(|name| job.application(Some(name)));
    let asked = asked.transpose()?.map(|application| application.name.as_str());
    args.walk.check(&job)?;
    if args.property.is_none() && is_of_several(&map) {
        bail!(
            "the map has several properties; choose one with --property ID, or draw all with turfplat plan --out DIR"
        );
    }
    let options = PlanOptions {
        property: args.property.clone(),
        edge_first: args.walk.edge_first,
        wind: args.wind.wind(),
        ..args.job.options(&job)
    };
    let Some(OnePlan { plan, others_refused }) = one_plan(&map, &job, &options, output)? else {
        return Ok(Verdict::Refused);
    };
    let plan = &plan;
    let application = one_application(plan, asked)?;
    if application.zones.is_empty() && application.skipped.iter().any(|zone| zone.refused) {
        // A map of nothing would look like one of a job well done.
        return Ok(Verdict::Refused);
    }
    let page = match args.page {
        PageName::Letter => Page::Letter,
        PageName::A4 => Page::A4,
        PageName::Screen => Page::Screen,
    };
    let mut map = spray_map(plan, application, args.job.date.as_deref(), args.job.units());
    map.trail.shows_passes = args.walk.passes;
    letters::note(&map);
    if let Some(aerial) = &aerial {
        match aerial.beneath(plan, &mut map, page)? {
            Beneath::All => {}
            Beneath::Part(remark) => writeln!(output.remarks, "remark: {remark}")?,
            Beneath::Nothing(reason) => {
                writeln!(output.remarks, "refused: {reason}")?;
                return Ok(Verdict::Refused);
            }
        }
    }
    let mut drawn = sheets(&map, page);
    // A device takes one picture, and has no room beside it.
    let is_device = files::is_device(&args.output);
    if is_device {
        drawn.truncate(1);
    }
    // How many sheets there are is known only now.
    let numbers = drawn.iter().map(|sheet| sheet.number);
    kept.check(numbers.flat_map(|number| targets(&numbered(&args.output, number), as_png)))?;
    let earlier = (!is_device).then(|| FurtherSheets::of(&args.output, as_png));
    let mut written = Vec::new();
    for sheet in drawn {
        let path = numbered(&args.output, sheet.number);
        if !as_png {
            let text = if args.outline_text { outlined(&sheet.svg)? } else { sheet.svg };
            files::write(&path, text.as_bytes())?;
            writeln!(output.remarks, "wrote {}", path.display())?;
            written.push(path);
            continue;
        }
        files::write(&path, &png(&sheet.svg, page)?)?;
        // A sheet that only explains numbers lies nowhere.
        let place = sheet.placement.filter(|_| !is_device).map(|it| in_place(plan, it));
        let lies_nowhere_known = place.as_ref().is_some_and(|place| place.prj.is_none());
        for (ending, text) in place.into_iter().flat_map(beside_picture) {
            let beside = path.with_extension(ending);
            files::write(&beside, text.as_bytes())?;
            written.push(beside);
        }
        writeln!(output.remarks, "wrote {}", path.display())?;
        if lies_nowhere_known {
            writeln!(
                output.remarks,
                "{}: in meters of the map's own plane, which lies nowhere known; so there is no .prj",
                path.with_extension("pgw").display()
            )?;
        }
        written.push(path);
    }
    if let Some(earlier) = earlier {
        for old in earlier.forget(&written, as_png)? {
            writeln!(
                output.remarks,
                "remark: removed {}, a sheet of an earlier run",
                old.display()
            )?;
        }
    }
    let drawn_alone = !others_refused || args.property.is_some();
    Ok(if drawn_alone && plan.refused.is_empty() { Verdict::Done } else { Verdict::Refused })
}

/// The path of a sheet; the first has the name that was given.
pub(crate) fn numbered(path: &Path, number: usize) -> PathBuf {
    let (Some(stem), Some(ending)) = (path.file_stem(), path.extension()) else {
        return path.to_owned();
    };
    let (stem, ending) = (stem.to_string_lossy(), ending.to_string_lossy());
    if number == 1 {
        path.to_owned()
    } else {
        path.with_file_name(format!("{stem}-{number}.{ending}"))
    }
}

/// A sheet and what is written beside it.
pub(crate) fn targets(sheet: &Path, as_png: bool) -> Vec<PathBuf> {
    let beside = BESIDE_PICTURE.iter().filter(|_| as_png && !files::is_device(sheet));
    let beside = beside.map(|ending| sheet.with_extension(ending));
    std::iter::once(sheet.to_owned()).chain(beside).collect()
}

/// The endings of what says where a picture lies.
const BESIDE_PICTURE: [&str; 3] = ["pgw", "prj", "png.aux.xml"];

/// What says where a picture lies, each with the ending of its file.
pub(crate) fn beside_picture(place: InPlace) -> Vec<(&'static str, String)> {
    let InPlace { world_file, prj, aux } = place;
    let files = BESIDE_PICTURE.into_iter().zip([Some(world_file), prj, aux]);
    files.filter_map(|(ending, text)| Some((ending, text?))).collect()
}
