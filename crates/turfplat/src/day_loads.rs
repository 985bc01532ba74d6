//! Why the loads of a day are judged and not those of each stop: a cup measures what goes into the
//! tank, and one tank serves several lawns. So a lawn too small for any mark is done where it shares a
//! load, and where none can be measured, the zones of that strength alone are left out.

use std::collections::BTreeMap;

use turfplat_dose::{DoseError, DosedZone, Product, batches_in_turn};
use turfplat_units::Amount;

use crate::day_sheet::{DaySheet, Stop, StopZone};
use crate::finding::Finding;
use crate::job::Application;
use crate::trip::{beyond_tolerance, measured_off, no_mark};

impl DaySheet<'_> {
    /// Fills loads for the zones, which stand as those of the sheet do. Zones for which none can be
    /// filled leave it, and their stop says why; then the rest is filled anew, for what stood on both
    /// sides of them may now be one batch.
    ///
    /// # Errors
    ///
    /// What no zone could change.
    pub(crate) fn fill(
        &mut self,
        mut dosed: Vec<DosedZone>,
        application: &Application,
    ) -> Result<(), DoseError> {
        while !dosed.is_empty() {
            let filled =
                batches_in_turn(&mut dosed, &application.products, &application.equipment)?;
            let mut unfilled: BTreeMap<usize, String> = BTreeMap::new();
            self.batches.clear();
            for (number, batch) in (1..).zip(filled) {
                match batch {
                    Ok(batch) => self.batches.push(batch),
                    Err(error) => {
                        let reason = format!("application {:?}: {error}", application.name);
                        unfilled.insert(number, reason);
                    }
                }
            }
            if unfilled.is_empty() {
                break;
            }
            for (zone, dosed) in self.zones.iter().zip(&dosed) {
                let Some(reason) = unfilled.get(&dosed.batch) else { continue };
                let stop = self.stops.iter_mut().find(|stop| stop.number == zone.stop);
                if let Some(stop) = stop.filter(|stop| !stop.refused.contains(reason)) {
                    stop.refused.push(reason.clone());
                }
            }
            let mut stays = dosed.iter().map(|zone| !unfilled.contains_key(&zone.batch));
            self.zones.retain(|_| stays.next().unwrap_or(true));
            dosed.retain(|zone| !unfilled.contains_key(&zone.batch));
            self.batches.clear();
        }
        for (zone, dosed) in self.zones.iter_mut().zip(&dosed) {
            zone.batch = dosed.batch;
        }
        for stop in self.stops.iter_mut().filter(|stop| !stop.refused.is_empty()) {
            let all = self.zones.iter().zip(&dosed);
            recount(stop, &all.filter(|(zone, _)| zone.stop == stop.number).collect::<Vec<_>>());
        }
        let found = self.measuring_findings();
        self.findings.extend(found);
        Ok(())
    }

    /// What measuring does to the loads of the day, each at the first stop that it serves.
    fn measuring_findings(&self) -> Vec<(usize, Finding)> {
        let finding = |zone: &StopZone, code, message| {
            let feature = format!("stop {}, {}", zone.stop, zone.zone);
            (zone.stop, Finding { code, feature, message, area_m2: 0.0 })
        };
        let mut findings = Vec::new();
        let mut before = 0;
        for batch in &self.batches {
            if let Some((load, product)) = beyond_tolerance(&batch.loads)
                && let Some((zone, _)) = self.served(load).next()
            {
                let place = format!("load {} of the day", before + load.number);
                let message = measured_off(self.application, &place, product);
                findings.push(finding(zone, "measuring-error", message));
            }
            before += batch.loads.len();
        }
        for (zone, product, what) in self.unmarked() {
            let message = format!("application {:?}: {}: {what}", self.application, product.id);
            findings.push(finding(zone, "no-mark", message));
        }
        findings
    }

    /// What is said of products that no mark of the equipment measures, each with its name.
    pub(crate) fn without_mark(&self) -> impl Iterator<Item = String> {
        self.unmarked().map(|(_, product, what)| format!("{}: {what}.", product.name))
    }

    fn unmarked(&self) -> impl Iterator<Item = (&StopZone, &Product, &'static str)> {
        let of_zone = |zone| self.products.iter().enumerate().map(move |one| (zone, one));
        let all = self.zones.first().into_iter().flat_map(of_zone);
        all.filter_map(|(zone, (place, product)): (&StopZone, _)| {
            Some((zone, *product, no_mark(self.equipment, *zone.amounts.get(place)?)?))
        })
    }
}

/// What a stop takes once zones of it have left.
fn recount(stop: &mut Stop, zones: &[(&StopZone, &DosedZone)]) {
    let amounts = (0..stop.amounts.len())
        .filter_map(|place| sum(zones.iter().filter_map(|(zone, _)| zone.amounts.get(place))));
    stop.amounts = amounts.collect();
    stop.treated = zones.iter().map(|(zone, _)| zone.treated).sum();
    stop.spray_volume = sum(zones.iter().filter_map(|(_, dosed)| dosed.spray_volume.as_ref()));
    if zones.is_empty() {
        stop.setbacks.clear();
    }
}

/// The sum; `None` of nothing.
fn sum<'a>(amounts: impl Iterator<Item = &'a Amount>) -> Option<Amount> {
    let mut amounts = amounts.copied();
    let first = amounts.next()?;
    amounts.try_fold(first, Amount::plus)
}
