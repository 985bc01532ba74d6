//! Why texts are made printable once, before anything is measured: names come from
//! strangers' files, and a control character or a novel for a name would be asked about
//! in every room otherwise.

use crate::map::SprayMap;
use crate::text::{plain, whole};

/// The map with all its texts printable and of bearable length, so that nothing later need
/// ask. Cautions alone keep their full length.
pub(crate) fn tidy(map: &SprayMap) -> SprayMap {
    let mut map = map.clone();
    let list = |texts: &mut Vec<String>| {
        texts.iter_mut().for_each(|text| *text = plain(text));
        texts.retain(|text| !text.is_empty());
    };
    for text in [&mut map.property, &mut map.application, &mut map.equipment] {
        *text = plain(text);
    }
    map.date = map.date.map(|date| plain(&date)).filter(|date| !date.is_empty());
    for texts in [&mut map.products, &mut map.totals, &mut map.notes] {
        list(texts);
    }
    for zone in &mut map.zones {
        zone.name = plain(&zone.name);
        zone.area = plain(&zone.area);
        zone.skipped = zone.skipped.take().map(|reason| plain(&reason));
        list(&mut zone.species);
        list(&mut zone.amounts);
    }
    for feature in &mut map.features {
        feature.name = plain(&feature.name);
    }
    for strip in &mut map.strips {
        strip.to = plain(&strip.to);
        strip.distance = plain(&strip.distance);
    }
    for mark in &mut map.marks {
        mark.name = plain(&mark.name);
    }
    for end in &mut map.trail.ends {
        end.load = plain(&end.load);
    }
    for batch in &mut map.batches {
        for texts in [&mut batch.zones, &mut batch.mix, &mut batch.loads] {
            list(texts);
        }
    }
    if let Some(underlay) = &mut map.underlay {
        underlay.name = plain(&underlay.name);
    }
    map.cautions.iter_mut().for_each(|text| *text = whole(text));
    map.cautions.retain(|text| !text.is_empty());
    map
}
