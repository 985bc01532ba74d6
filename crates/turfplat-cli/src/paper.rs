//! Why paper is a feature: the engine that sets it is larger than all the rest of the command. A
//! command built without it knows the same options and says how to get it.

#[cfg(not(feature = "pdf"))]
use turfplat::units::UnitSystem;
#[cfg(not(feature = "pdf"))]
use turfplat::{ApplicationPlan, PropertyPlan};

/// Paper that printers have.
#[derive(Clone, Copy, Default, clap::ValueEnum)]
pub(crate) enum PageName {
    /// US Letter
    #[default]
    Letter,
    /// ISO A4
    A4,
}

/// An error where the command was built without the engine.
#[cfg(not(feature = "pdf"))]
pub(crate) fn check_built_in() -> anyhow::Result<()> {
    anyhow::bail!(
        "this turfplat was built without PDF; build it with: \
         cargo install --path crates/turfplat-cli --features pdf"
    )
}

/// The work order of one application.
#[cfg(not(feature = "pdf"))]
pub(crate) fn work_order(
    _: &PropertyPlan<'_>,
    _: &ApplicationPlan<'_>,
    _: Option<&str>,
    _: UnitSystem,
    _: PageName,
) -> anyhow::Result<Vec<u8>> {
    check_built_in().map(|()| Vec::new())
}

#[cfg(feature = "pdf")]
pub(crate) use built_in::{check_built_in, work_order};

#[cfg(feature = "pdf")]
mod built_in {
    use serde_json::{Value, json};
    use turfplat::sheet::{Plate, plate};
    use turfplat::units::UnitSystem;
    use turfplat::{ApplicationPlan, PropertyPlan, spray_map};
    use turfplat_pdf::{Template, render};

    use super::PageName;

    /// What a page is tried with until all stands on one: size of type and height of the map, in
    /// points. Smaller type than the last is not read at six in the morning.
    const TIGHTER: [(f64, f64); 3] = [(8.4, 300.0), (7.9, 286.0), (7.4, 275.0)];
    /// Width of a map with facts beside it, in points.
    const BESIDE: f64 = 270.0;
    /// Height of a map that has a page's width to itself, in points.
    const ALONE: f64 = 430.0;
    /// Of more zones or loads nobody expects one page.
    const MANY: usize = 14;

    impl PageName {
        fn as_engine_calls_it(self) -> &'static str {
            match self {
                PageName::Letter => "us-letter",
                PageName::A4 => "a4",
            }
        }

        /// Width of the paper less margins of 30 points on both sides, in points.
        fn width(self) -> f64 {
            match self {
                PageName::Letter => 552.0,
                PageName::A4 => 535.0,
            }
        }
    }

    pub(crate) fn check_built_in() -> anyhow::Result<()> {
        Ok(())
    }

    pub(crate) fn work_order(
        plan: &PropertyPlan<'_>,
        application: &ApplicationPlan<'_>,
        date: Option<&str>,
        units: UnitSystem,
        page: PageName,
    ) -> anyhow::Result<Vec<u8>> {
        let order = turfplat::work_order(plan, application, date, units);
        let map = spray_map(plan, application, date, units);
        let order = serde_json::to_value(&order)?;
        let set = |size: f64, (width, height): (f64, f64), beside: bool| {
            let Plate { svg, scale, numbered } = plate(&map, width, height);
            let alt = format!(
                "Map of {} for {}, 1:{scale}: what is treated, what is kept free, and what is near.",
                map.property, map.application
            );
            // The key of a map has room for some numbers; the table explains them all.
            let number = |index: usize| numbered.iter().position(|zone| *zone == index);
            let numbers = application.zones.iter().map(|zone| number(zone.index));
            let numbers: Vec<String> = numbers
                .map(|place| place.map_or_else(String::new, |place| (place + 1).to_string()))
                .collect();
            let data: Value = json!({
                "order": order,
                "date": order["date"],
                "paper": page.as_engine_calls_it(),
                "size": size,
                "map": { "width": width, "height": height, "beside": beside, "alt": alt, "numbers": numbers },
            });
            render(&Template::work_order(), &data, &[("map.svg", svg.as_bytes())])
        };
        let loads: usize = application.batches.iter().map(|batch| batch.loads.len()).sum();
        if application.zones.len() <= MANY && loads <= MANY {
            for (size, height) in TIGHTER {
                let paper = set(size, (BESIDE, height), true)?;
                if paper.pages == 1 {
                    return Ok(paper.bytes);
                }
            }
            return Ok(set(TIGHTER[0].0, (BESIDE, TIGHTER[0].1), true)?.bytes);
        }
        Ok(set(TIGHTER[0].0, (page.width(), ALONE), false)?.bytes)
    }
}
