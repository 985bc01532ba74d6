//! The map on a quote: which ground is priced, and what is kept free of it. What goes on it, in which
//! loads, is the crew's matter and may change before they come.

use geo::MultiPolygon;
use turfplat_dose::Setback;
use turfplat_sheet as sheet;
use turfplat_units::UnitSystem;

use crate::plan::{ApplicationPlan, PropertyPlan};
use crate::plat::Plat;
use crate::site::Site;
use crate::site_map::{as_drawn, features, lot, marks, neighbour_lots, strips};

/// The map on the quote of a plan: of its applications the one that is for the most ground, zones
/// that wait for a label among it. `None` of a plan that is for none.
pub fn quote_map(plan: &PropertyPlan<'_>, units: UnitSystem) -> Option<sheet::SprayMap> {
    let ground = |application: &&ApplicationPlan<'_>| -> f64 {
        let treated = application.zones.iter().map(|zone| zone.treated);
        let awaiting = application.skipped.iter().filter(|it| it.awaits_label);
        let all = treated.chain(awaiting.map(|zone| zone.left));
        all.map(|area| area.square_metres()).sum()
    };
    let most = plan.applications.iter().max_by(|a, b| ground(a).total_cmp(&ground(b)))?;
    let site = &plan.site;
    let mut map = bare(&plan.property, site, &most.setbacks, units);
    for (index, zone) in map.zones.iter_mut().enumerate() {
        let treated = most.zones.iter().find(|it| it.index == index);
        let awaiting = || most.skipped.iter().find(|it| it.index == index && it.awaits_label);
        let area = treated.map(|it| it.treated).or_else(|| awaiting().map(|it| it.left));
        let Some(area) = area else {
            let skipped = most.skipped.iter().find(|it| it.index == index);
            let reason = skipped.map_or("not priced", |skipped| skipped.reason.as_str());
            zone.skipped = Some(reason.to_owned());
            continue;
        };
        zone.area = area.print(units);
        let ground = site.outline(index, &most.setbacks, plan.within_parcel);
        zone.treated = ground.polygons().clone();
        let species = treated
            .map(|it| &it.species)
            .or_else(|| most.skipped.iter().find(|it| it.index == index).map(|it| &it.species));
        let names = species.into_iter().flatten().map(|species| species.common_name.clone());
        zone.species = names.collect();
    }
    Some(map)
}

/// The map on the quote of a property without a job: all that is left of its turf.
pub fn plat_map(plat: &Plat, units: UnitSystem) -> sheet::SprayMap {
    let mut map = bare(&plat.property, &plat.site, &plat.setbacks, units);
    for (index, (zone, measured)) in map.zones.iter_mut().zip(&plat.zones).enumerate() {
        zone.area = measured.net.print(units);
        zone.species = measured.species.clone();
        zone.treated = plat.outline(index).polygons().clone();
        if zone.treated.0.is_empty() {
            zone.skipped = Some("nothing left to treat".to_owned());
        }
    }
    map
}

/// The ground without what is treated of it.
fn bare(
    property: &str,
    site: &Site,
    setbacks: &[Option<Setback>],
    units: UnitSystem,
) -> sheet::SprayMap {
    let zones = site.zones.iter().map(|laid| sheet::Zone {
        name: laid.feature.name.clone(),
        species: Vec::new(),
        treated: MultiPolygon(Vec::new()),
        drawn: as_drawn(&laid.shape),
        area: String::new(),
        amounts: Vec::new(),
        batch: None,
        skipped: None,
    });
    sheet::SprayMap {
        property: property.to_owned(),
        application: String::new(),
        products: Vec::new(),
        equipment: String::new(),
        date: None,
        units,
        zones: zones.collect(),
        features: features(site),
        strips: strips(site, setbacks, units),
        marks: marks(site),
        trail: sheet::Trail::default(),
        lot: lot(site),
        neighbour_lots: neighbour_lots(site),
        batches: Vec::new(),
        totals: Vec::new(),
        notes: Vec::new(),
        cautions: Vec::new(),
        underlay: None,
    }
}
