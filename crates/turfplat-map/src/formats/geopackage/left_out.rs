//! What of a GeoPackage is no layer that it lists, and so is not read: a table of wells in it would
//! look like no wells.

use super::{LONGEST_NAME, shown};
use crate::formats::untrusted::Untrusted;

/// So many are named.
const MOST_NAMED: usize = 20;
/// How other layers look in some program, and nothing on the ground.
const OF_PROGRAMS: [&str; 2] = ["layer_styles", "qgis_projects"];

/// What to say of tables that were not read; `read` are those that were.
pub(super) fn remark(file: &Untrusted, read: &[String]) -> Result<Option<String>, String> {
    let is_read = |table: &str| read.iter().any(|known| known.eq_ignore_ascii_case(table));
    let mut said = Vec::new();
    let plain = names(
        file,
        "SELECT CAST(table_name AS TEXT) FROM gpkg_contents WHERE table_name NOT NULL AND data_type NOT LIKE 'features' LIMIT 1000",
    )?;
    let plain: Vec<String> = plain
        .into_iter()
        .filter(|table| !is_read(table) && !OF_PROGRAMS.contains(&table.as_str()))
        .collect();
    if !plain.is_empty() {
        said.push(format!(
            "{}: plain tables or pictures and no layers; if one says where things lie, export it as a layer of points",
            listed(&plain)
        ));
    }
    let unlisted = names(
        file,
        "SELECT CAST(table_name AS TEXT) FROM gpkg_geometry_columns WHERE table_name NOT NULL LIMIT 1000",
    )?;
    let unlisted: Vec<String> =
        unlisted.into_iter().filter(|table| !is_read(table) && !plain.contains(table)).collect();
    if !unlisted.is_empty() {
        said.push(format!(
            "{}: layers that the file does not list in gpkg_contents; export them again",
            listed(&unlisted)
        ));
    }
    Ok((!said.is_empty()).then(|| format!("not read: {}", said.join("; and "))))
}

fn names(file: &Untrusted, sql: &str) -> Result<Vec<String>, String> {
    let look = || {
        let mut list = file.connection.prepare(sql)?;
        list.query_map([], |row| row.get(0))?.collect::<rusqlite::Result<Vec<String>>>()
    };
    let mut names = look().map_err(|error| file.reason(&error))?;
    names.iter_mut().for_each(|name| {
        if name.len() > LONGEST_NAME {
            *name = name.chars().take(LONGEST_NAME / 4).collect();
        }
    });
    Ok(names)
}

fn listed(names: &[String]) -> String {
    let more = names.len().saturating_sub(MOST_NAMED);
    let named: Vec<String> = names.iter().take(MOST_NAMED).map(|name| shown(name)).collect();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!("{}{more}", named.join(", "))
}
