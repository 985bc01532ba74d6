//! Why paper is a feature: the engine that sets it is larger than all the rest of the command. A
//! command built without it knows the same options and says how to get it.

use std::fs;
use std::path::Path;

use anyhow::{Context, bail};
#[cfg(not(feature = "pdf"))]
use turfplat::sheet::SprayMap;
use turfplat::units::UnitSystem;
#[cfg(not(feature = "pdf"))]
use turfplat::{ApplicationPlan, DayOrder, PropertyPlan, PropertyQuote, RecordSheet};

use crate::aerial::{OpenAerial, Pictured};

/// Paper that printers have.
#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(crate) enum PageName {
    /// US Letter
    #[default]
    Letter,
    /// ISO A4
    A4,
}

/// So many bytes a logo may bring into each quote; a choice of this tool. Where it is printed (110 by 52
/// points) a photograph at 300 dots an inch needs at most 300,000.
const MOST_OF_A_LOGO: usize = 500_000;

/// How quotes are set.
#[cfg_attr(not(feature = "pdf"), allow(dead_code))] // Nobody sets them then.
pub(crate) struct QuotePaper {
    pub(crate) page: PageName,
    /// Name and text of a template of the user's own.
    pub(crate) template: Option<(String, String)>,
    /// The name that the template knows it by, and the picture.
    pub(crate) logo: Option<(&'static str, Vec<u8>)>,
}

impl QuotePaper {
    pub(crate) fn of(
        page: PageName,
        template: Option<&Path>,
        logo: Option<&Path>,
    ) -> anyhow::Result<QuotePaper> {
        check_built_in()?;
        let template = template.map(|path| {
            let name = path.display().to_string();
            let text = fs::read_to_string(path).with_context(|| format!("cannot read {name}"))?;
            anyhow::Ok((name, text))
        });
        let logo = logo.map(|path| {
            let name = path.display();
            let ending = path.extension().and_then(|it| it.to_str()).map(str::to_lowercase);
            let known = match ending.as_deref() {
                Some("png") => "logo.png",
                Some("jpg" | "jpeg") => "logo.jpg",
                Some("svg") => "logo.svg",
                _ => bail!("{name}: a logo is a picture; its name ends with .png, .jpg or .svg"),
            };
            let picture = fs::read(path).with_context(|| format!("cannot read {name}"))?;
            let bytes = check_logo(known, &picture).with_context(|| {
                format!("{name}: cannot be set; save it anew as PNG, JPEG or SVG")
            })?;
            if bytes > MOST_OF_A_LOGO {
                bail!(
                    "{name}: each quote would be {:.1} MB larger for it, and at most {:.1} MB are taken; \
                     save it smaller: 460 × 220 pixels are 300 to the inch where it is printed",
                    bytes as f64 / 1e6,
                    MOST_OF_A_LOGO as f64 / 1e6,
                );
            }
            anyhow::Ok((known, picture))
        });
        Ok(QuotePaper { page, template: template.transpose()?, logo: logo.transpose()? })
    }
}

/// An error where a paper's name does not say what it is.
pub(crate) fn check_name(file: &Path) -> anyhow::Result<()> {
    let ending = file.extension().and_then(|ending| ending.to_str());
    if !ending.is_some_and(|ending| ending.eq_ignore_ascii_case("pdf")) {
        bail!("{}: end the file name with .pdf", file.display());
    }
    Ok(())
}

/// An error where the command was built without the engine.
#[cfg(not(feature = "pdf"))]
pub(crate) fn check_built_in() -> anyhow::Result<()> {
    anyhow::bail!(
        "this turfplat was built without PDF; build it with: \
         cargo install --path crates/turfplat-cli --features pdf"
    )
}

/// How work orders are set, beside the plan itself.
#[cfg_attr(not(feature = "pdf"), allow(dead_code))] // Nobody sets them then.
pub(crate) struct OrderPaper<'a> {
    pub(crate) date: Option<&'a str>,
    pub(crate) units: UnitSystem,
    pub(crate) page: PageName,
    /// Whether the map shows passes.
    pub(crate) passes: bool,
    /// To lie beneath the map.
    pub(crate) aerial: Option<&'a OpenAerial>,
}

/// The work order of one application, and what a picture beneath its map shows.
#[cfg(not(feature = "pdf"))]
pub(crate) fn work_order(
    _: &OrderPaper<'_>,
    _: &PropertyPlan<'_>,
    _: &ApplicationPlan<'_>,
) -> anyhow::Result<(Vec<u8>, Pictured)> {
    check_built_in().map(|()| Default::default())
}

/// The sheet of a day.
#[cfg(not(feature = "pdf"))]
pub(crate) fn day_order(_: &DayOrder, _: PageName) -> anyhow::Result<Vec<u8>> {
    check_built_in().map(|()| Vec::new())
}

/// How many bytes a picture is on paper; an error of one that the engine cannot set.
#[cfg(not(feature = "pdf"))]
fn check_logo(_: &str, _: &[u8]) -> anyhow::Result<usize> {
    check_built_in().map(|()| 0)
}

/// The quote of one property, with the map of what is priced.
#[cfg(not(feature = "pdf"))]
pub(crate) fn quote(
    _: &QuotePaper,
    _: &PropertyQuote<'_>,
    _: Option<&SprayMap>,
) -> anyhow::Result<Vec<u8>> {
    check_built_in().map(|()| Vec::new())
}

/// Records, each on a sheet of its own.
#[cfg(not(feature = "pdf"))]
pub(crate) fn records(_: &[RecordSheet], _: PageName) -> anyhow::Result<Vec<u8>> {
    check_built_in().map(|()| Vec::new())
}

#[cfg(feature = "pdf")]
use built_in::check_logo;
#[cfg(feature = "pdf")]
pub(crate) use built_in::{check_built_in, day_order, quote, records, work_order};

#[cfg(feature = "pdf")]
mod built_in {
    use serde_json::{Value, json};
    use turfplat::sheet::SprayMap;
    use turfplat::sheet::{Beside, Plate, plate};
    use turfplat::{
        ApplicationPlan, DayOrder, PropertyPlan, PropertyQuote, RecordSheet, is_readable, spray_map,
    };
    use turfplat_pdf::{Template, render};

    use super::{OpenAerial, OrderPaper, PageName, Pictured, QuotePaper};
    use crate::letters;

    /// What a page is tried with until all stands on one: size of type and height of the map, in
    /// points. Smaller type than the last is not read at six in the morning.
    const TIGHTER: [(f64, f64); 4] = [(8.5, 330.0), (8.0, 310.0), (8.0, 292.0), (8.0, 270.0)];
    /// Width of a map with facts beside it, in points.
    const BESIDE: f64 = 270.0;
    /// Height of a map that has a page's width to itself, in points.
    const ALONE: f64 = 430.0;
    /// Height of the line on a picture beneath a map, in points.
    const SAID_OF_PICTURE: f64 = 13.0;
    /// Type of a day sheet, in points: it is read at every gate.
    const DAY_TYPE: f64 = 8.8;
    /// Type of a quote, in points.
    const QUOTE_TYPE: f64 = 9.0;
    /// Maps of a quote, in points, smallest first: the first on which each zone has its name.
    const QUOTE_MAPS: [(f64, f64); 3] = [(300.0, 250.0), (340.0, 320.0), (535.0, 480.0)];
    /// The name by which a template of a quote knows its map.
    const QUOTE_MAP: &str = "map.svg";
    /// Type of a record, in points.
    const RECORD_TYPE: f64 = 8.6;
    /// Of more zones or loads nobody expects one page.
    const MANY: usize = 14;

    impl PageName {
        fn as_engine_calls_it(self) -> &'static str {
            match self {
                PageName::Letter => "us-letter",
                PageName::A4 => "a4",
            }
        }

        /// Height of a map that has a page to itself, in points: the paper less margins, title on
        /// later pages and foot.
        fn tallest(self) -> f64 {
            match self {
                PageName::Letter => 740.0,
                PageName::A4 => 790.0,
            }
        }

        /// Width of the paper less margins of 26 points on both sides, in points.
        fn width(self) -> f64 {
            match self {
                PageName::Letter => 560.0,
                PageName::A4 => 543.0,
            }
        }
    }

    pub(crate) fn check_built_in() -> anyhow::Result<()> {
        Ok(())
    }

    pub(super) fn check_logo(name: &str, picture: &[u8]) -> anyhow::Result<usize> {
        let alone = Template::own(name, format!("#image({name:?}, width: 10pt)"));
        Ok(render(&alone, &json!({}), &[(name, picture)])?.bytes.len())
    }

    pub(crate) fn work_order(
        paper: &OrderPaper<'_>,
        plan: &PropertyPlan<'_>,
        application: &ApplicationPlan<'_>,
    ) -> anyhow::Result<(Vec<u8>, Pictured)> {
        let OrderPaper { date, units, page, passes, aerial } = *paper;
        let order = turfplat::work_order(plan, application, date, units);
        let mut map = spray_map(plan, application, date, units);
        map.trail.shows_passes = passes;
        let order = serde_json::to_value(&order)?;
        letters::note_all(&order);
        letters::note(&map);
        let mut pictured = Pictured::default();
        let mut set = |size: f64, (width, height): (f64, f64), beside: bool| {
            // What is said of a picture stands below the map, and takes its room.
            let said = if aerial.is_some() { SAID_OF_PICTURE } else { 0.0 };
            let mut drawn_at = |height: f64| {
                map.underlay = None;
                if let Some(aerial) = aerial {
                    let shown = aerial.beneath_plate(plan, &mut map, (width, height))?;
                    pictured.hold(plan, shown);
                }
                anyhow::Ok(plate(&map, (width, height), Beside::Lists))
            };
            let mut height = height - said;
            let mut drawn = drawn_at(height)?;
            if drawn.is_crowded && !beside {
                // A page to itself, if that makes the ground any larger.
                let tallest = page.tallest() - said;
                let alone = drawn_at(tallest)?;
                if alone.scale < drawn.scale {
                    (drawn, height) = (alone, tallest);
                }
            }
            let Plate { svg, scale, numbered, is_crowded } = drawn;
            let alt = format!(
                "Map of {} for {}, 1:{scale}: what is treated, what is kept free, and what is near.",
                map.property, map.application
            );
            // Where the map has numbers, the tables bear those of all zones: each has one.
            // A name that cannot be printed has its number everywhere.
            let number = |index: usize, name: &str| match numbered.is_empty() && is_readable(name) {
                true => String::new(),
                false => (index + 1).to_string(),
            };
            let numbers: Vec<String> =
                application.zones.iter().map(|zone| number(zone.index, &zone.zone)).collect();
            let not_treated: Vec<String> =
                application.skipped.iter().map(|zone| number(zone.index, &zone.zone)).collect();
            let data: Value = json!({
                "order": order,
                "date": order["date"],
                "paper": page.as_engine_calls_it(),
                "size": size,
                "map": { "width": width, "height": height, "beside": beside, "alt": alt, "numbers": numbers, "not_treated": not_treated, "crowded": is_crowded, "aerial": aerial.map(OpenAerial::words) },
            });
            anyhow::Ok(render(&Template::work_order(), &data, &[("map.svg", svg.as_bytes())])?)
        };
        let loads: usize = application.batches.iter().map(|batch| batch.loads.len()).sum();
        if application.zones.len() <= MANY && loads <= MANY {
            let set = |(size, height): (f64, f64)| {
                let paper = set(size, (BESIDE, height), true)?;
                anyhow::Ok((paper.pages, paper.bytes))
            };
            if let Some(bytes) = on_one_page(&TIGHTER, set)? {
                return Ok((bytes, pictured));
            }
        }
        let bytes = set(TIGHTER[0].0, (page.width(), ALONE), false)?.bytes;
        Ok((bytes, pictured))
    }

    pub(crate) fn day_order(order: &DayOrder, page: PageName) -> anyhow::Result<Vec<u8>> {
        let order = serde_json::to_value(order)?;
        letters::note_all(&order);
        let data = json!({
            "order": order,
            "date": order["date"],
            "paper": page.as_engine_calls_it(),
            "size": DAY_TYPE,
        });
        Ok(render(&Template::day_order(), &data, &[])?.bytes)
    }

    pub(crate) fn records(sheets: &[RecordSheet], page: PageName) -> anyhow::Result<Vec<u8>> {
        let last = sheets.iter().map(|sheet| sheet.date.as_str()).max().unwrap_or_default();
        let data = json!({
            "records": sheets,
            "date": last,
            "paper": page.as_engine_calls_it(),
            "size": RECORD_TYPE,
        });
        letters::note_all(&data);
        Ok(render(&Template::record(), &data, &[])?.bytes)
    }

    /// The first that stands on one page, else the first: type is not made small for nothing.
    fn on_one_page<S: Copy, P>(
        sizes: &[S],
        mut set: impl FnMut(S) -> anyhow::Result<(usize, P)>,
    ) -> anyhow::Result<Option<P>> {
        let mut first = None;
        for size in sizes {
            let (pages, paper) = set(*size)?;
            if pages == 1 {
                return Ok(Some(paper));
            }
            first.get_or_insert(paper);
        }
        Ok(first)
    }

    pub(crate) fn quote(
        paper: &QuotePaper,
        quote: &PropertyQuote<'_>,
        map: Option<&SprayMap>,
    ) -> anyhow::Result<Vec<u8>> {
        let template = match &paper.template {
            Some((name, text)) => Template::own(name, text),
            None => Template::quote(),
        };
        let drawn = map.and_then(|map| {
            let sizes = QUOTE_MAPS.iter().map(|&(width, height)| {
                ((width, height), plate(map, (width, height), Beside::Nothing))
            });
            let mut last = None;
            for (size, plate) in sizes {
                let is_named = plate.numbered.is_empty();
                last = Some((size, plate));
                if is_named {
                    break;
                }
            }
            last
        });
        let ground = drawn.as_ref().map(|((width, height), plate)| {
            let alt =
                format!("Map of {}, 1:{}: the turf that is priced.", quote.property, plate.scale);
            json!({ "name": QUOTE_MAP, "width": width, "height": height, "alt": alt })
        });
        let document = quote.to_json();
        letters::note_all(&document);
        map.into_iter().for_each(letters::note);
        let data = json!({
            "date": document["date"],
            "quote": document,
            "paper": paper.page.as_engine_calls_it(),
            "size": QUOTE_TYPE,
            "logo": paper.logo.as_ref().map(|(name, _)| json!({ "name": name })),
            "map": ground,
        });
        let files = paper.logo.iter().map(|(name, picture)| (*name, picture.as_slice()));
        let files: Vec<(&str, &[u8])> =
            files.chain(drawn.iter().map(|(_, plate)| (QUOTE_MAP, plate.svg.as_bytes()))).collect();
        Ok(render(&template, &data, &files)?.bytes)
    }

    #[cfg(test)]
    mod tests {
        use super::*;

        /// The size that is kept of papers of so many pages, and how often one was set.
        fn kept(pages: [usize; 3]) -> (Option<usize>, usize) {
            let mut times = 0;
            let kept = on_one_page(&[0, 1, 2], |size: usize| {
                times += 1;
                Ok((pages[size], size))
            });
            (kept.unwrap(), times)
        }

        #[test]
        fn nothing_is_set_twice() {
            assert_eq!(kept([1, 1, 1]), (Some(0), 1));
            assert_eq!(kept([2, 1, 1]), (Some(1), 2));
            assert_eq!(kept([3, 2, 2]), (Some(0), 3));
        }
    }
}
