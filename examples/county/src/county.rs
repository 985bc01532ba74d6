//! All properties of a county, written one feature at a time.

use std::io::{self, Write};

use crate::damage::damage;
use crate::geojson;
use crate::lot::{Lot, Shape};

/// What is to be drawn; nothing else goes into the file.
pub(crate) struct County {
    pub(crate) properties: u64,
    pub(crate) seed: u64,
    /// How many times as many corners on every ring.
    pub(crate) corners: usize,
    /// How many more ponds and wells within reach of every property.
    pub(crate) hazards: usize,
    pub(crate) scattered: bool,
    /// The share of the polygons that are damaged.
    pub(crate) broken: f64,
    /// Of a degree.
    pub(crate) decimals: usize,
}

/// How much was written.
#[derive(Default)]
pub(crate) struct Tally {
    pub(crate) features: u64,
    /// Positions, the closing one of each ring included.
    pub(crate) corners: u64,
}

impl County {
    pub(crate) fn write(&self, out: &mut impl Write) -> io::Result<Tally> {
        let mut page = Page { county: self, line: String::new(), tally: Tally::default() };
        out.write_all(br#"{"type":"FeatureCollection","features":["#)?;
        if self.scattered {
            page.scattered(out)?;
        } else {
            for lot in self.lots() {
                for index in 0..lot.features() {
                    page.feature(&lot, index, out)?;
                }
            }
        }
        out.write_all(b"\n]}\n")?;
        Ok(page.tally)
    }

    fn lots(&self) -> impl Iterator<Item = Lot> {
        (0..self.properties)
            .map(|property| Lot::plan(self.seed, property, self.corners, self.hazards))
    }
}

/// The file as far as it is written.
struct Page<'a> {
    county: &'a County,
    line: String,
    tally: Tally,
}

impl Page<'_> {
    /// The first feature of every property, then the second of every property that has one: as far
    /// apart as they can be, so that whoever reads has to wait for the end of the file.
    fn scattered(&mut self, out: &mut impl Write) -> io::Result<()> {
        let county = self.county;
        let most = county.lots().map(|lot| lot.features()).max().unwrap_or(0);
        for index in 0..most {
            for lot in county.lots() {
                self.feature(&lot, index, out)?;
            }
        }
        Ok(())
    }

    /// Writes one feature of a lot, if the lot has so many.
    fn feature(&mut self, lot: &Lot, index: usize, out: &mut impl Write) -> io::Result<()> {
        let Some((mut feature, mut chance)) = lot.feature(index) else { return Ok(()) };
        // Damaged after it is drawn, so that the same county unbroken has the same shapes.
        if let Shape::Polygon(rings) = &mut feature.shape
            && chance.happens(self.county.broken)
        {
            damage(rings, &mut chance);
        }
        self.line.clear();
        self.line.push_str(if self.tally.features == 0 { "\n" } else { ",\n" });
        let corners = geojson::feature(&mut self.line, lot, &feature, self.county.decimals);
        self.tally.features += 1;
        self.tally.corners += corners as u64;
        out.write_all(self.line.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use geo::{Area, Coord, Intersects, LineString, Polygon, Validation, Winding};
    use serde_json::Value;

    use super::*;

    const FEW: County = County {
        properties: 40,
        seed: 1,
        corners: 1,
        hazards: 0,
        scattered: false,
        broken: 0.0,
        decimals: 8,
    };

    fn text(county: &County) -> String {
        let mut bytes = Vec::new();
        county.write(&mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    /// A feature of a county as somebody else reads it.
    struct Read {
        property: String,
        kind: String,
        /// Of polygons alone.
        polygon: Option<Polygon>,
    }

    fn read(county: &County) -> Vec<Read> {
        let document: Value = serde_json::from_str(&text(county)).unwrap();
        document["features"].as_array().unwrap().iter().map(read_feature).collect()
    }

    fn read_feature(feature: &Value) -> Read {
        let geometry = &feature["geometry"];
        let polygon = (geometry["type"] == "Polygon").then(|| {
            let mut rings =
                geometry["coordinates"].as_array().unwrap().iter().map(|ring| -> LineString {
                    let positions = ring.as_array().unwrap().iter();
                    let position = |axis: usize, pair: &Value| pair[axis].as_f64().unwrap();
                    positions
                        .map(|pair| Coord { x: position(0, pair), y: position(1, pair) })
                        .collect()
                });
            Polygon::new(rings.next().unwrap(), rings.collect())
        });
        let text = |name: &str| feature["properties"][name].as_str().unwrap().to_owned();
        Read { property: text("property"), kind: text("kind"), polygon }
    }

    fn by_property(features: Vec<Read>) -> BTreeMap<String, Vec<Read>> {
        let mut properties: BTreeMap<String, Vec<Read>> = BTreeMap::new();
        for feature in features {
            properties.entry(feature.property.clone()).or_default().push(feature);
        }
        properties
    }

    /// FNV-1a, 64 bits (Fowler, Noll and Vo).
    fn fingerprint(text: &str) -> u64 {
        text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        })
    }

    /// Figures measured on one county are compared with later ones on the same county, so it must
    /// never change, on no machine. Whoever changes it knowingly changes the figure here.
    #[test]
    fn the_county_of_a_seed_is_the_same_for_ever() {
        let odd = County { broken: 0.5, hazards: 3, scattered: true, seed: 7, corners: 2, ..FEW };
        assert_eq!(format!("{:016x}", fingerprint(&text(&FEW))), "158e617080164806");
        assert_eq!(format!("{:016x}", fingerprint(&text(&odd))), "3af8c4fe664813f9");
    }

    #[test]
    fn more_properties_come_after_the_same_first_ones() {
        let (few, more) = (text(&FEW), text(&County { properties: 45, ..FEW }));
        let common = few.strip_suffix("\n]}\n").unwrap();
        assert!(more.starts_with(common));
        assert_ne!(few, text(&County { seed: 2, ..FEW }));
    }

    #[test]
    fn a_scattered_county_has_the_same_features_and_none_beside_its_own() {
        let lines = |county: &County| -> Vec<String> {
            text(county).lines().map(|line| line.trim_end_matches(',').to_owned()).collect()
        };
        let (mut ordered, mut scattered) = (lines(&FEW), lines(&County { scattered: true, ..FEW }));
        for pair in scattered[1..scattered.len() - 1].windows(2) {
            let [one, other] = [0, 1].map(|index| {
                let value: Value = serde_json::from_str(&pair[index]).unwrap();
                value["properties"]["property"].clone()
            });
            assert_ne!(one, other);
        }
        ordered.sort();
        scattered.sort();
        assert_eq!(ordered, scattered);
    }

    #[test]
    fn a_property_has_what_a_property_has() {
        let features = read(&County { properties: 400, ..FEW });
        let corners: usize =
            features.iter().map(|feature| feature.polygon.as_ref().map_or(1, positions)).sum();
        assert!((370..420).contains(&(corners / 400)), "{} corners a property", corners / 400);
        let properties = by_property(features);
        assert_eq!(properties.len(), 400);
        let (mut ponds, mut wells) = (0, 0);
        for (property, features) in &properties {
            let of = |kind: &str| features.iter().filter(|feature| feature.kind == kind).count();
            assert!((3..=6).contains(&of("turf")), "{property}");
            assert_eq!((of("building"), of("hardscape")), (2, 1), "{property}");
            assert!((3..=8).contains(&of("bed")), "{property}");
            assert!(of("water") <= 1 && of("well") <= 2, "{property}");
            (ponds, wells) = (ponds + of("water"), wells + of("well"));
        }
        // Half and one a property; three standard deviations are 30 and 49.
        assert!((170..=230).contains(&ponds), "{ponds} ponds");
        assert!((350..=450).contains(&wells), "{wells} wells");
    }

    fn positions(polygon: &Polygon) -> usize {
        let holes = polygon.interiors().iter();
        holes.chain([polygon.exterior()]).map(|ring| ring.0.len()).sum()
    }

    #[test]
    fn zones_of_a_property_share_no_ground() {
        for corners in [1, 5] {
            for (property, features) in by_property(read(&County { corners, ..FEW })) {
                let zones: Vec<&Polygon> = features
                    .iter()
                    .filter(|feature| feature.kind == "turf")
                    .filter_map(|feature| feature.polygon.as_ref())
                    .collect();
                for (index, zone) in zones.iter().enumerate() {
                    assert!(
                        zones[..index].iter().all(|other| !other.intersects(*zone)),
                        "{property}"
                    );
                }
            }
        }
    }

    #[test]
    fn an_unbroken_county_has_sound_outlines_wound_as_they_should_be() {
        for polygon in
            read(&County { hazards: 4, ..FEW }).iter().filter_map(|read| read.polygon.as_ref())
        {
            assert!(polygon.is_valid(), "{:?}: {polygon:?}", polygon.validation_errors());
            assert!(polygon.exterior().is_ccw());
            assert!(polygon.interiors().iter().all(|hole| hole.is_cw()));
        }
    }

    #[test]
    fn a_broken_county_is_the_same_county_with_so_many_polygons_damaged() {
        let (sound, broken) = (read(&FEW), read(&County { broken: 0.25, ..FEW }));
        assert_eq!(sound.len(), broken.len());
        let (mut polygons, mut damaged, mut crossed, mut flat) = (0, 0, 0, 0);
        for (sound, broken) in sound.iter().zip(&broken) {
            let (Some(sound), Some(broken)) = (&sound.polygon, &broken.polygon) else { continue };
            polygons += 1;
            damaged += usize::from(sound != broken);
            crossed += usize::from(!broken.is_valid());
            flat += usize::from(broken.unsigned_area() < 1e-3 * sound.unsigned_area());
        }
        let share = f64::from(damaged as u32) / f64::from(polygons);
        assert!((0.2..0.3).contains(&share), "{damaged} of {polygons}");
        assert!(crossed > damaged / 3 && flat > damaged / 20, "{crossed}, {flat} of {damaged}");
    }
}
