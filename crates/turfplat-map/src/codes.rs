//! Why what PROJ is asked for is looked at first: of a code that it does not know, or a text that is
//! none of a system, it writes to the terminal itself, beside the message that says what to change.

use crate::system::is_well_known_text;

/// What well-known text of a system begins with (ISO 19162:2019, OGC 01-009, and ESRI's).
const STARTS: [&str; 21] = [
    "PROJCS",
    "GEOGCS",
    "GEOCCS",
    "COMPD_CS",
    "LOCAL_CS",
    "VERT_CS",
    "VERTCS",
    "FITTED_CS",
    "PROJCRS",
    "PROJECTEDCRS",
    "GEOGCRS",
    "GEOGRAPHICCRS",
    "GEODCRS",
    "GEODETICCRS",
    "BOUNDCRS",
    "COMPOUNDCRS",
    "DERIVEDPROJCRS",
    "ENGCRS",
    "ENGINEERINGCRS",
    "VERTCRS",
    "VERTICALCRS",
];

/// Where one of some nodes stands, what must stand too, under one name or the other.
const NEEDED: [(&[&str], &[&str]); 5] = [
    (&["PROJCS", "GEOGCS", "CRS"], &["DATUM", "ENSEMBLE"]),
    (&["GEOGCS", "PROJCS", "GEOGCRS", "GEODCRS", "PROJCRS"], &["SPHEROID", "ELLIPSOID"]),
    (&["PROJCS"], &["PROJECTION"]),
    (&["PROJCRS", "PROJECTEDCRS"], &["CONVERSION"]),
    (&["VERT_CS", "VERTCS", "VERTCRS"], &["DATUM", "ENSEMBLE"]),
];

/// Why PROJ need not be asked for a system, and what to do.
pub(crate) fn is_worth_asking(definition: &str) -> Result<(), String> {
    if is_well_known_text(definition) {
        let reason = "its text is none of a system, or not all of it; name it with --crs EPSG:n";
        return is_whole(definition).then_some(()).ok_or_else(|| reason.to_owned());
    }
    // A text of PROJ's own.
    if definition.trim_start().starts_with("+proj=") {
        return Ok(());
    }
    let number = definition.trim();
    if !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(match is_known("EPSG", number) {
            true => format!("whose number? if EPSG:{number} is meant, say --crs EPSG:{number}"),
            false => format!("no number of a system; {CURE}"),
        });
    }
    let Some((authority, codes)) = parts(definition) else {
        return Err(format!("no code of a system; {CURE}"));
    };
    // A height may stand beside it: EPSG:2289+5703.
    match codes.split('+').all(|code| is_known(&authority, code)) {
        true => Ok(()),
        false => Err(format!("{authority} has none of that number that is known here; {CURE}")),
    }
}

const CURE: &str = "name the system by its number, such as --crs EPSG:2289";

/// Authority and code of `ESRI:102654`, `urn:ogc:def:crs:ESRI::102654` or
/// `http://www.opengis.net/def/crs/OGC/1.3/CRS84`.
fn parts(definition: &str) -> Option<(String, &str)> {
    let words: Vec<&str> =
        definition.trim().split([':', '/']).filter(|it| !it.is_empty()).collect();
    let code = words.last()?;
    let authority = match words.iter().position(|word| word.eq_ignore_ascii_case("crs")) {
        Some(crs) => words.get(crs + 1)?,
        None if words.len() == 2 => words.first()?,
        None => return None,
    };
    let is_word = !authority.contains(char::is_whitespace) && authority != code;
    is_word.then(|| (authority.to_uppercase(), *code))
}

const TABLE: &str = include_str!("../../../data/system-codes.txt");

fn is_known(authority: &str, code: &str) -> bool {
    let number = code.parse::<u32>().ok();
    let lines = TABLE.lines().filter_map(|line| line.strip_prefix(authority));
    lines.flat_map(str::split_whitespace).any(|run| {
        let (first, last) = run.split_once('-').unwrap_or((run, run));
        let ends = first.parse::<u32>().ok().zip(last.parse::<u32>().ok());
        let is_in = |number| ends.is_some_and(|(first, last)| (first..=last).contains(&number));
        run.eq_ignore_ascii_case(code) || number.is_some_and(is_in)
    })
}

/// True of a text that begins as a system does and whose brackets and quotes are all closed.
fn is_whole(text: &str) -> bool {
    let word: String = text
        .trim_start()
        .chars()
        .take_while(|it| it.is_ascii_alphanumeric() || *it == '_')
        .collect();
    let (mut depth, mut is_quoted, mut has_name) = (0_i64, false, false);
    for it in text.chars() {
        match it {
            '"' => (is_quoted, has_name) = (!is_quoted, true),
            '[' | '(' if !is_quoted => depth += 1,
            ']' | ')' if !is_quoted => depth -= 1,
            _ => {}
        }
        if depth < 0 {
            return false;
        }
    }
    let text = text.to_uppercase();
    let has_any = |nodes: &[&str]| nodes.iter().any(|node| text.contains(node));
    STARTS.contains(&word.to_uppercase().as_str())
        && (depth == 0 && !is_quoted && has_name)
        && NEEDED.iter().all(|(starts, nodes)| !has_any(starts) || has_any(nodes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_system_is_not_asked_for() {
        for (definition, wanted) in [
            ("2289", "if EPSG:2289 is meant"),
            ("99999", "no number of a system"),
            ("EPSG:99999", "EPSG has none of that number"),
            ("EPSG:", "no code of a system"),
            ("ESRI:2289", "ESRI has none of that number"),
            ("hello", "no code of a system"),
            ("home:100000", "HOME has none of that number"),
            ("OGC:99", "OGC has none of that number"),
            ("PROJCS[\"hello\"]", "none of a system"),
            ("GEOGCS[\"x\",DATUM[\"y\"]]", "none of a system"),
            ("NAD83 / Wisconsin South", "no code of a system"),
            ("hello[1]", "none of a system"),
            ("PROJCS[\"a\",GEOGCS[\"b\"]", "not all of it"),
        ] {
            let reason = is_worth_asking(definition).unwrap_err();
            assert!(reason.contains(wanted), "{definition}: {reason}");
        }
    }

    #[test]
    fn what_may_be_a_system_is() {
        for definition in [
            "EPSG:2289",
            "EPSG:2289+5703",
            "ESRI:102654",
            "urn:ogc:def:crs:ESRI::102654",
            "OGC:CRS83",
            "http://www.opengis.net/def/crs/OGC/1.3/CRS27",
            "+proj=utm +zone=16 +datum=NAD83",
            "IGNF:LAMB93",
            " PROJCS[\"a (b\",GEOGCS[\"c\",DATUM[\"d\",SPHEROID[\"e\",1,2]]],PROJECTION[\"f\"]]",
        ] {
            assert_eq!(is_worth_asking(definition), Ok(()), "{definition}");
        }
    }

    /// The first of every ninth run of numbers in the table is one that PROJ knows.
    #[cfg(feature = "proj")]
    #[test]
    fn numbers_of_the_table_are_known() {
        let runs = TABLE.lines().filter_map(|line| line.split_once(' ')).filter(|it| it.0 != "#");
        let runs =
            runs.flat_map(|(authority, runs)| runs.split(' ').map(move |run| (authority, run)));
        let mut asked = 0;
        for (authority, run) in runs.step_by(9) {
            let code = format!("{authority}:{}", run.split('-').next().unwrap());
            assert!(proj::Proj::new(&code).is_ok(), "{code}");
            asked += 1;
        }
        assert!(asked > 50, "{asked}");
    }
}
