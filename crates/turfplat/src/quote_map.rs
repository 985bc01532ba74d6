//! The map on a quote: which ground is priced, and what is kept free of it. What goes on it, in which
//! loads, is the crew's matter and may change before they come.

use geo::MultiPolygon;
use turfplat_dose::{Setback, Species};
use turfplat_sheet as sheet;
use turfplat_units::{Area, UnitSystem};

use crate::plan::{ApplicationPlan, PropertyPlan};
use crate::plat::Plat;
use crate::site::Site;
use crate::site_map::{as_drawn, features, lot, marks, neighbour_lots, strips};

/// The map on the quote of a plan: each zone as it is priced by the application that is for the most
/// of it, zones that wait for a label too; strips as that keeps them which is for the most ground of
/// all. `None` of a plan without applications.
pub fn quote_map(plan: &PropertyPlan<'_>, units: UnitSystem) -> Option<sheet::SprayMap> {
    let all = || plan.applications.iter();
    let ground = |application: &ApplicationPlan<'_>| -> f64 {
        let zones = (0..plan.site.zones.len()).filter_map(|index| priced(application, index));
        zones.map(|zone| zone.area.square_metres()).sum()
    };
    // Of equals the first.
    let most = all().reduce(|most, next| if ground(next) > ground(most) { next } else { most })?;
    let site = &plan.site;
    let mut map = bare(&plan.property, site, &most.setbacks, units);
    for (index, zone) in map.zones.iter_mut().enumerate() {
        let of_all =
            all().filter_map(|application| Some((application, priced(application, index)?)));
        let largest =
            of_all.reduce(|most, next| if next.1.area > most.1.area { next } else { most });
        let Some((application, found)) = largest else {
            let skipped = || all().flat_map(|it| &it.skipped).find(|it| it.index == index);
            let reason = skipped().map_or("not priced", |skipped| skipped.reason.as_str());
            zone.skipped = Some(reason.to_owned());
            continue;
        };
        zone.area = found.area.print(units);
        let ground = site.outline(index, application.keeping(plan.within_parcel));
        zone.treated = ground.polygons().clone();
        zone.species = found.species.iter().map(|species| species.common_name.clone()).collect();
    }
    Some(map)
}

/// What of a zone an application is priced for.
struct Priced<'p> {
    area: Area,
    species: &'p [&'static Species],
}

fn priced<'p>(application: &'p ApplicationPlan<'_>, index: usize) -> Option<Priced<'p>> {
    let treated = application.zones.iter().find(|zone| zone.index == index);
    let treated = treated.map(|zone| Priced { area: zone.treated, species: &zone.species });
    treated.or_else(|| {
        let mut awaiting = application.skipped.iter().filter(|zone| zone.awaits_label);
        let zone = awaiting.find(|zone| zone.index == index)?;
        Some(Priced { area: zone.left, species: &zone.species })
    })
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
