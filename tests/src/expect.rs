use turfplat::units::{Amount, Area, WrittenAmount, significant};
use turfplat::{ApplicationPlan, Finding, Plat, PropertyPlan};

/// What came of a case.
#[derive(Default)]
pub(crate) struct Answer<'a> {
    pub(crate) plats: Vec<Plat>,
    pub(crate) plans: Vec<PropertyPlan<'a>>,
    pub(crate) refused: Vec<String>,
    pub(crate) unreadable: Option<String>,
}

/// Checks one line of expectation; the error says what came instead.
pub(crate) fn check(line: &str, answer: &Answer<'_>) -> Result<(), String> {
    let words = words(line);
    let word = |place: usize| words.get(place).map_or("", String::as_str);
    let rest = |from: usize| words[from.min(words.len())..].join(" ");
    match (word(0), word(2)) {
        ("refused", _) => among(&rest(1), &answer.refused),
        ("unreadable", _) => among(&rest(1), answer.unreadable.as_slice()),
        ("no", _) if word(1) == "findings" => {
            let found: Vec<&Finding> = answer.findings().collect();
            if found.is_empty() {
                Ok(())
            } else {
                Err(format!("no findings were expected: {found:?}"))
            }
        }
        ("finding", _) => {
            let of_code: Vec<&Finding> =
                answer.findings().filter(|finding| finding.code == word(1)).collect();
            let Some(first) = of_code.first() else {
                return Err(format!(
                    "no finding {:?} among {:?}",
                    word(1),
                    answer.findings().map(|finding| finding.code).collect::<Vec<_>>()
                ));
            };
            if words.len() == 2 {
                Ok(())
            } else {
                near(&rest(2), Area::from_square_metres(first.area_m2).unwrap_or_default())
            }
        }
        ("without-setback", _) => {
            let kinds: Vec<&str> = answer
                .plats
                .iter()
                .flat_map(|plat| &plat.without_setback)
                .map(|feature| feature.kind.name())
                .collect();
            if kinds.contains(&word(1)) {
                Ok(())
            } else {
                Err(format!("{:?} is not among {kinds:?}", word(1)))
            }
        }
        ("net", _) => near(&rest(1), answer.plats.iter().map(Plat::net).sum()),
        ("zone", what) => {
            let zones = answer.plats.iter().flat_map(|plat| &plat.zones);
            let zone = zones
                .clone()
                .find(|zone| zone.name == word(1))
                .ok_or_else(|| format!("no zone {:?}", word(1)))?;
            match what {
                "gross" => near(&rest(3), zone.gross),
                "net" => near(&rest(3), zone.net),
                "drawn-alone" => match zone.drawn_error {
                    Some(error) => near(&rest(3), error.independent),
                    None => Err("nothing is said of the drawing".into()),
                },
                "drawn-alike" => match zone.drawn_error {
                    Some(error) => near(&rest(3), error.together),
                    None => Err("nothing is said of the drawing".into()),
                },
                "surface" => near(&rest(3), zone.surface.unwrap_or_default()),
                "lost" => {
                    let lost = zone
                        .lost
                        .iter()
                        .find(|loss| loss.to.to_string() == word(3))
                        .map(|loss| loss.area);
                    near(&rest(4), lost.unwrap_or_default())
                        .map_err(|error| format!("{} lost to {}: {error}", word(1), word(3)))
                }
                other => Err(format!("{other:?} is not understood in {line:?}")),
            }
        }
        ("dose", _) => {
            let application = answer.application(word(1))?;
            let zone = application.zones.iter().find(|zone| zone.zone == word(2));
            let zone = zone.ok_or_else(|| {
                format!("{:?} is not treated: {:?}", word(2), application.skipped)
            })?;
            let first = zone.products.first().ok_or("no product")?;
            near_amount(&rest(3), first.amount)
        }
        ("total", _) => {
            near_amount(&rest(2), *answer.application(word(1))?.totals.first().ok_or("no total")?)
        }
        ("loads", _) => {
            let loads = answer
                .application(word(1))?
                .batches
                .iter()
                .map(|batch| batch.loads.len())
                .sum::<usize>();
            if word(2) == loads.to_string() {
                Ok(())
            } else {
                Err(format!("{loads} loads, not {}", word(2)))
            }
        }
        ("batches", _) => {
            let batches = answer.application(word(1))?.batches.len();
            if word(2) == batches.to_string() {
                Ok(())
            } else {
                Err(format!("{batches} batches, not {}", word(2)))
            }
        }
        ("skipped", _) => {
            let skipped = &answer.application(word(1))?.skipped;
            let reasons: Vec<String> = skipped
                .iter()
                .filter(|skipped| skipped.zone == word(2))
                .map(|skipped| format!("{}; {}", skipped.reason, skipped.advice))
                .collect();
            among(&rest(3), &reasons)
        }
        ("limit", _) => {
            let application = answer.application(word(1))?;
            let of_zone = application.limits.iter();
            let told: Vec<String> = of_zone
                .filter(|checked| checked.zone == word(2) && checked.limit == word(3))
                .map(|checked| {
                    let verdict = checked.verdict.word();
                    match (&checked.asked, &checked.allowed) {
                        (Some(asked), Some(allowed)) => {
                            format!("{verdict} {} of {allowed}", significant(asked.value, 6))
                        }
                        _ => verdict.to_owned(),
                    }
                })
                .collect();
            // In full, so that "kept 1 of 2" is not found in "kept 1 of 20".
            match told.contains(&rest(4)) {
                true => Ok(()),
                false => Err(format!("limit {:?} is none of {told:?}", rest(4))),
            }
        }
        ("setback", _) => {
            let application = answer.application(word(1))?;
            let kept = application.kept().filter(|(zone, _)| *zone == word(2));
            let setbacks = kept.flat_map(|(_, setbacks)| setbacks);
            let told: Vec<String> = setbacks
                .map(|setback| {
                    format!(
                        "{} {} {}",
                        setback.to,
                        setback.distance.print(turfplat::units::UnitSystem::Us),
                        setback.rule
                    )
                })
                .collect();
            among(&rest(3), &told)
        }
        _ => Err(format!("{line:?} is not understood")),
    }
}

impl<'a> Answer<'a> {
    fn findings(&self) -> impl Iterator<Item = &Finding> {
        self.plats
            .iter()
            .flat_map(|plat| &plat.findings)
            .chain(self.plans.iter().flat_map(|plan| &plan.findings))
    }

    fn application(&self, name: &str) -> Result<&ApplicationPlan<'a>, String> {
        let applications = self.plans.iter().flat_map(|plan| &plan.applications);
        applications.clone().find(|application| application.name == name).ok_or_else(|| {
            format!("no application {name:?} was planned; refused: {:?}", self.refused)
        })
    }
}

fn among(wanted: &str, texts: &[String]) -> Result<(), String> {
    if texts.iter().any(|text| text.contains(wanted)) {
        Ok(())
    } else {
        Err(format!("{wanted:?} is in none of {texts:#?}"))
    }
}

/// `4 800.0 sq ft ± 0.1`, digits parted by blanks if at all.
fn near(wanted: &str, area: Area) -> Result<(), String> {
    let (value, allowed) = wanted.split_once('±').ok_or_else(|| format!("{wanted:?} has no ±"))?;
    let number = |text: &str| {
        text.chars()
            .filter(|c| !c.is_whitespace())
            .collect::<String>()
            .parse::<f64>()
            .map_err(|error| format!("{text:?}: {error}"))
    };
    let (value, ours) = match value.trim().strip_suffix("sq ft") {
        Some(feet) => (number(feet)?, area.square_feet()),
        None => (
            number(
                value
                    .trim()
                    .strip_suffix("m2")
                    .ok_or_else(|| format!("{value:?} is neither sq ft nor m2"))?,
            )?,
            area.square_metres(),
        ),
    };
    let allowed = number(allowed)?;
    if (ours - value).abs() <= allowed {
        Ok(())
    } else {
        Err(format!("{ours} where {wanted} was expected"))
    }
}

fn near_amount(wanted: &str, amount: Amount) -> Result<(), String> {
    let (value, allowed) = wanted.split_once('±').ok_or_else(|| format!("{wanted:?} has no ±"))?;
    let written: WrittenAmount = value.parse().map_err(|error| format!("{value:?}: {error}"))?;
    let allowed: f64 = allowed.trim().parse().map_err(|error| format!("{allowed:?}: {error}"))?;
    let ours = amount.in_unit(written.unit).ok_or("volume and weight do not compare")?;
    if (ours - written.value).abs() <= allowed {
        Ok(())
    } else {
        Err(format!("{ours} where {wanted} was expected"))
    }
}

/// Words of a line; those in quotes are one, without the quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (place, piece) in line.split('"').enumerate() {
        if place % 2 == 1 {
            words.push(piece.to_owned());
        } else {
            words.extend(piece.split_whitespace().map(str::to_owned));
        }
    }
    words
}
