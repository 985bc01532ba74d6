//! Why formats that are not read are known all the same: whoever is handed a drawing or a database
//! by a county has to be told what it is and what to do with it, not that it is no JSON.
//!
//! Source of the first bytes: each format's own specification, from memory.

/// A folder full of numbered files.
pub(super) const FILE_GEODATABASE: &str =
    "a file geodatabase (a folder .gdb); save its layers as one GeoPackage in a map program";

const CAD: &str = "a CAD drawing; export what is drawn as a shapefile, GeoPackage or GeoJSON, with its coordinate system";
const PICTURE: &str =
    "a picture; trace the lawns in a map program and save that as GeoPackage or GeoJSON";
const MAPINFO: &str =
    "a MapInfo table (.tab, .mif); save it as GeoPackage or GeoJSON in a map program";
const SHEET: &str = "a spreadsheet; save the sheet as CSV in UTF-8";
const OSM: &str =
    "raw OpenStreetMap data; export it as GeoJSON, and give that with --kinds openstreetmap";
const TILES: &str = "map tiles, whose outlines are cut and rounded; ask for the layers themselves, as GeoPackage or GeoJSON";

/// What a file is that starts so, or is named so and starts like nothing else, and what to do.
pub(super) fn advice(start: &[u8], ending: &str) -> Option<&'static str> {
    let starts = |with: &[u8]| start.starts_with(with);
    let near_start =
        |word: &[u8]| memchr::memmem::find(start.get(..64).unwrap_or(start), word).is_some();
    let text = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start).trim_ascii_start();
    let says = |word: &[u8]| text.get(..word.len()).is_some_and(|it| it.eq_ignore_ascii_case(word));
    Some(match ending {
        _ if starts(b"\x1f\x8b") => "compressed with gzip; unpack it first",
        _ if starts(b"7z\xbc\xaf\x27\x1c") || starts(b"Rar!") || starts(b"BZh") => {
            "a packed archive; unpack it first, or pack the files as .zip"
        }
        _ if starts(b"%PDF") => {
            "a PDF; ask for the map itself, as GeoPackage, GeoJSON or a shapefile"
        }
        // TIFF, BigTIFF, and so also GeoTIFF.
        _ if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") => {
            PICTURE
        }
        _ if starts(b"\x89PNG") || starts(b"\xff\xd8\xff") || starts(b"\0\0\0\x0cjP") => PICTURE,
        _ if starts(b"AC10") || starts(b"AutoCAD Binary DXF") => CAD,
        _ if starts(b"fgb\x03fgb") => {
            "FlatGeobuf; save it as GeoPackage or GeoJSON in a map program"
        }
        _ if starts(b"PAR1") => "GeoParquet; save it as GeoPackage or GeoJSON in a map program",
        _ if starts(b"PMTiles") => TILES,
        _ if near_start(b"OSMHeader") => OSM,
        _ if starts(b"\xd0\xcf\x11\xe0") => SHEET,
        "tab" | "mif" if says(b"!table") || says(b"version") => MAPINFO,
        "dxf" if text.first() == Some(&b'0') || text.first() == Some(&b'9') => CAD,
        // Files that are part of a database or a table.
        "dgn" | "dwg" if text.first() != Some(&b'{') => CAD,
        "mid" | "map" | "dat" if !matches!(text.first(), Some(b'{' | b'<')) => MAPINFO,
        "gdbtable" | "gdbtablx" | "gdbindexes" | "freelist" => FILE_GEODATABASE,
        "pbf" if !matches!(text.first(), Some(b'{' | b'<')) => OSM,
        "mbtiles" => TILES,
        "fgb" | "parquet" | "geoparquet" if !matches!(text.first(), Some(b'{' | b'<')) => {
            "not what its name says, or cut off; save the map as GeoPackage or GeoJSON"
        }
        _ => return None,
    })
}

/// What an archive is that holds a file of this path and no map that is read.
pub(super) fn advice_on_packed(path: &str) -> Option<&'static str> {
    let path = path.to_lowercase();
    let has_part = |ending: &str| path.split('/').any(|part| part.ends_with(ending));
    match path.as_str() {
        _ if has_part(".gdb") || path.ends_with(".gdbtable") => Some(FILE_GEODATABASE),
        _ if path.starts_with("xl/") || path == "content.xml" => Some(SHEET),
        _ if path.ends_with(".mif") || path.ends_with(".tab") => Some(MAPINFO),
        _ if path.ends_with(".dwg") || path.ends_with(".dxf") => Some(CAD),
        _ => None,
    }
}

/// What XML is whose outermost element has this name.
pub(super) fn advice_on_xml(root: &str) -> &'static str {
    match root {
        "osm" | "osmChange" => OSM,
        "FeatureCollection" | "LandXML" => {
            "GML or LandXML; save it as GeoPackage or GeoJSON in a map program"
        }
        "svg" => PICTURE,
        _ => "XML, but neither KML nor GPX; export the map as KML or GeoJSON",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_read_is_called_by_its_name_with_a_way_out() {
        #[rustfmt::skip]
        let table: [(&str, &[u8], &str); 21] = [
            // ending, first bytes, what must be said
            ("tab", b"!table\n!version 300\n", "MapInfo"),
            ("mif", b"Version   300\nCharset", "MapInfo"),
            ("mid", b"\"turf\",\"Front\"", "MapInfo"),
            ("fgb", b"fgb\x03fgb\x00", "FlatGeobuf"),
            ("dxf", b"  0\r\nSECTION\r\n", "CAD"),
            ("dwg", b"AC1032", "CAD"),
            ("dxf", b"AutoCAD Binary DXF\r\n", "CAD"),
            ("parquet", b"PAR1", "GeoParquet"),
            ("tif", b"II*\0", "picture"),
            ("tiff", b"MM\0+", "picture"),
            ("png", b"\x89PNG", "picture"),
            ("gdbtable", b"\x03\0\0\0", "geodatabase"),
            ("pmtiles", b"PMTiles\x03", "tiles"),
            ("mbtiles", b"SQLite format 3\0", "tiles"),
            ("pbf", b"\0\0\0\x0d\x0a\x09OSMHeader", "OpenStreetMap"),
            ("osm.pbf", b"\0\0\0\x0d\x0a\x09OSMHeader", "OpenStreetMap"),
            ("gz", b"\x1f\x8b", "gzip"),
            ("7z", b"7z\xbc\xaf\x27\x1c", "archive"),
            ("xls", b"\xd0\xcf\x11\xe0", "spreadsheet"),
            ("pdf", b"%PDF-1.7", "PDF"),
            ("fgb", b"", "cut off"),
        ];
        for (ending, start, word) in table {
            let advice = advice(start, ending).unwrap_or_default();
            assert!(advice.contains(word), "{ending}: {advice}");
            assert!(advice.contains(';'), "{ending} names no way out: {advice}");
        }
        assert!(advice_on_xml("osm").contains("--kinds openstreetmap"));
        assert!(advice_on_xml("FeatureCollection").contains("GML"));
    }

    #[test]
    fn archives_of_strangers_are_known_too() {
        for (path, word) in [
            ("county.gdb/a00000001.gdbtable", "geodatabase"),
            ("xl/workbook.xml", "spreadsheet"),
            ("Lots/LOTS.TAB", "MapInfo"),
            ("plan.dwg", "CAD"),
        ] {
            assert!(advice_on_packed(path).is_some_and(|it| it.contains(word)), "{path}");
        }
        assert_eq!(advice_on_packed("readme.txt"), None);
    }

    #[test]
    fn what_is_read_is_not_taken_for_a_stranger() {
        for (ending, start) in [
            ("geojson", &b"{\"type\""[..]),
            ("map", b"{\"type\""),
            ("dat", b"{\"type\""),
            ("csv", b"kind,wkt\n"),
            ("tab", b"kind\twkt\n"),
            ("gpkg", b"SQLite format 3\0"),
            ("shp", b"\x00\x00\x27\x0a"),
            ("toml", b"[[shape]]"),
            ("txt", b"version,wkt\n"),
            ("", b""),
        ] {
            assert_eq!(advice(start, ending), None, "{ending}");
        }
    }
}
