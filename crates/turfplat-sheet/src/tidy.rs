//! Why texts are made printable once, before anything is measured: names come from
//! strangers' files, and a control character or a novel for a name would be asked about
//! in every room otherwise.

use crate::map::SprayMap;
use crate::text::{plain, whole};

/// The map with all its texts printable and of bearable length, so that nothing later need
/// ask. Cautions alone keep their full length.
pub(crate) fn tidy(map: &SprayMap) -> SprayMap {
    let mut map = map.clone();
    each_text(&mut map, &mut |text, is_caution| {
        *text = if is_caution { whole(text) } else { plain(text) };
    });
    map.date = map.date.filter(|date| !date.is_empty());
    let drop_empty = |texts: &mut Vec<String>| texts.retain(|text| !text.is_empty());
    let lists = [&mut map.products, &mut map.totals, &mut map.notes, &mut map.cautions];
    lists.into_iter().for_each(drop_empty);
    for zone in &mut map.zones {
        drop_empty(&mut zone.species);
        drop_empty(&mut zone.amounts);
    }
    for batch in &mut map.batches {
        [&mut batch.zones, &mut batch.mix, &mut batch.loads].into_iter().for_each(drop_empty);
    }
    map
}

/// Every text that a map may print, as it was given, such as for [`lacking`](crate::lacking()).
pub fn texts(map: &SprayMap) -> Vec<String> {
    let mut all = Vec::new();
    each_text(&mut map.clone(), &mut |text, _| all.push(std::mem::take(text)));
    all
}

/// Hands on each text of a map, and whether it is a caution.
fn each_text(map: &mut SprayMap, f: &mut dyn FnMut(&mut String, bool)) {
    let mut list = |texts: &mut Vec<String>, is_caution: bool| {
        texts.iter_mut().for_each(|text| f(text, is_caution));
    };
    for texts in [&mut map.products, &mut map.totals, &mut map.notes] {
        list(texts, false);
    }
    list(&mut map.cautions, true);
    for zone in &mut map.zones {
        list(&mut zone.species, false);
        list(&mut zone.amounts, false);
    }
    for batch in &mut map.batches {
        for texts in [&mut batch.zones, &mut batch.mix, &mut batch.loads] {
            list(texts, false);
        }
    }
    let alone = [&mut map.property, &mut map.application, &mut map.equipment];
    let zones = map
        .zones
        .iter_mut()
        .flat_map(|zone| [&mut zone.name, &mut zone.area].into_iter().chain(zone.skipped.as_mut()));
    let strips = map.strips.iter_mut().flat_map(|strip| [&mut strip.to, &mut strip.distance]);
    (alone.into_iter().chain(map.date.as_mut()).chain(zones).chain(strips))
        .chain(map.features.iter_mut().map(|feature| &mut feature.name))
        .chain(map.marks.iter_mut().map(|mark| &mut mark.name))
        .chain(map.trail.ends.iter_mut().map(|end| &mut end.load))
        .chain(map.underlay.as_mut().map(|underlay| &mut underlay.name))
        .for_each(|text| f(text, false));
}
