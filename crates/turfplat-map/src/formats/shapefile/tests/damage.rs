//! Laws that hold for damaged files too.

use super::*;

/// A file with some of everything.
fn sound() -> (Vec<u8>, Vec<u8>, Vec<u8>) {
    let contents = [
        polygon(&[square(0.0, 0.0, 10.0, true), square(2.0, 2.0, 3.0, false)]),
        integers(&[0]),
        parted(13, &[vec![(0.0, 0.0), (1.0, 1.0)], vec![(5.0, 5.0), (6.0, 5.0)]]),
        point(5.0, 6.0),
    ];
    let mut at = 100;
    let places: Vec<_> = contents
        .iter()
        .map(|content| {
            let place = at;
            at += 8 + content.len();
            (place, content)
        })
        .collect();
    let columns = [("KIND", b'C', 5), ("WIDTH_FT", b'N', 6), ("NAME", b'C', 6)];
    let rows: [&[u8]; 4] = [b" turf   12.5Caf\xe9", b" water     1", b"*well", b" bed  ******"];
    (shp(&contents), shx(&places), dbf(0x57, &columns, &rows))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 2000, ..ProptestConfig::default() })]

    /// Whatever happened to its files, reading ends, and with as many features as there are rows.
    #[test]
    fn damaged_files_are_read_or_refused(
        changes in prop::collection::vec((0..3_usize, any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in prop::option::of((0..3_usize, any::<prop::sample::Index>())),
        indexed in any::<bool>(),
    ) {
        let (shp, shx, dbf) = sound();
        let mut files = [shp, shx, dbf];
        for (file, place, byte) in changes {
            let place = place.index(files[file].len());
            files[file][place] = byte;
        }
        if let Some((file, place)) = cut {
            let place = place.index(files[file].len());
            files[file].truncate(place);
        }
        let [shp, shx, dbf] = files;
        let mut parts = parts(shp, Some(dbf));
        parts.shx = Some(Bytes::from(shx)).filter(|_| indexed);
        if let Ok(layer) = layer("lots.shp", parts, &Columns::all()) {
            prop_assert!(features(&layer).len() <= 4);
            let source = Source::told(Layer { says: Says::LongitudeLatitude, ..layer }, CoordinateSystem::AsTheFileSays);
            let map = read(&[source]);
            prop_assert!(map.is_ok(), "{:?}", map.err());
        }
    }

    /// Shells with holes come out the same in any order of rings and whichever way all of them run.
    #[test]
    fn order_and_direction_of_rings_change_nothing(
        lots in prop::collection::vec(prop::collection::vec(any::<bool>(), 0..4), 1..6),
        reversed in any::<bool>(),
        shift in any::<prop::sample::Index>(),
    ) {
        let mut rings = Vec::new();
        let mut expected = Vec::new();
        for (lot, beds) in lots.iter().enumerate() {
            let x = 20.0 * lot as f64;
            rings.push(square(x, 0.0, 10.0, !reversed));
            let mut areas = vec![100.0];
            for (bed, is_wide) in beds.iter().enumerate() {
                let side = if *is_wide { 2.0 } else { 1.0 };
                rings.push(square(x + 2.5 * bed as f64, 1.0, side, reversed));
                areas.push(side * side);
            }
            expected.push(areas);
        }
        let shift = shift.index(rings.len());
        rings.rotate_left(shift);
        let mut found = areas(&rings);
        let sort = |polygons: &mut Vec<Vec<f64>>| {
            polygons.iter_mut().for_each(|it| it[1..].sort_by(f64::total_cmp));
            polygons.sort_by(|a, b| a.partial_cmp(b).unwrap());
        };
        sort(&mut found);
        sort(&mut expected);
        prop_assert_eq!(found, expected);
    }
}
