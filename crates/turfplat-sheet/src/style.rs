//! Which grass gets which colour and hatch. The hatch alone tells them apart, on paper
//! without colour too; colour helps, and the letter says it once more in the label.

use crate::canvas::{Canvas, number};
use crate::hatch::{Lines, MIXED, SINGLE};
use crate::legend::is_skipped;
use crate::map::{SprayMap, Zone};
use crate::shape::{Bounds, Shape};

/// Inks of hatches and their tints. Source: Okabe and Ito (2008), "Color Universal Design",
/// without yellow (too pale for a line on white paper) and black (the ink of text).
/// A tint is the ink at 16 % on white.
pub(crate) const INKS: [(&str, &str); 6] = [
    ("#009E73", "#d6efe9"),
    ("#E69F00", "#fbf0d6"),
    ("#CC79A7", "#f7eaf1"),
    ("#0072B2", "#d6e8f3"),
    ("#D55E00", "#f8e5d6"),
    ("#56B4E9", "#e4f3fb"),
];

/// How one species, or one mixed stand, is drawn.
#[derive(Clone, Debug)]
pub(crate) struct Style {
    pub(crate) letter: String,
    pub(crate) name: String,
    pub(crate) ink: &'static str,
    pub(crate) second_ink: &'static str,
    pub(crate) tint: &'static str,
    pub(crate) hatch: &'static [Lines],
}

/// The styles on one map, in the order in which their grasses first appear.
#[derive(Clone, Debug, Default)]
pub(crate) struct Styles {
    list: Vec<(Vec<String>, Style)>,
}

impl Styles {
    pub(crate) fn of(map: &SprayMap) -> Styles {
        let stands = map.zones.iter().filter(|zone| !is_skipped(zone)).map(|z| &z.species);
        let mut species: Vec<&String> = Vec::new();
        for name in stands.clone().flatten() {
            if !species.contains(&name) {
                species.push(name);
            }
        }
        let ink = |name: &String| {
            let at = species.iter().position(|s| *s == name).unwrap_or_default();
            INKS[at % INKS.len()]
        };
        let mut styles = Styles::default();
        let (mut singles, mut mixtures) = (0, 0);
        for stand in stands {
            if styles.list.iter().any(|(known, _)| known == stand) {
                continue;
            }
            let (first, tint) = stand.first().map_or(INKS[0], ink);
            let second = stand.get(1).map_or(first, |name| ink(name).0);
            let (hatch, name) = if stand.len() > 1 {
                mixtures += 1;
                (MIXED[(mixtures - 1) % MIXED.len()], format!("mixed: {}", stand.join(" + ")))
            } else {
                singles += 1;
                let name = stand.first().map_or("species not stated", String::as_str);
                (SINGLE[(singles - 1) % SINGLE.len()], name.to_owned())
            };
            let letter = letter(styles.list.len());
            styles.list.push((
                stand.clone(),
                Style { letter, name, ink: first, second_ink: second, tint, hatch },
            ));
        }
        styles
    }

    pub(crate) fn get(&self, stand: &[String]) -> Option<&Style> {
        self.list.iter().find(|(known, _)| known == stand).map(|(_, style)| style)
    }

    /// The styles of these grasses and mixed stands.
    pub(crate) fn of_stands(&self, stands: &[&[String]]) -> impl Iterator<Item = &Style> {
        self.list.iter().filter(|(known, _)| stands.contains(&known.as_slice())).map(|(_, it)| it)
    }

    /// The letter of a treated zone's grass, where there is more than one grass.
    pub(crate) fn letter(&self, zone: &Zone) -> Option<String> {
        let style = self.get(&zone.species).filter(|_| !is_skipped(zone))?;
        self.need_letters().then(|| style.letter.clone())
    }

    /// A single grass needs no letter in every label.
    pub(crate) fn need_letters(&self) -> bool {
        self.list.len() > 1
    }
}

/// A to Z, then AA.
fn letter(index: usize) -> String {
    let last = char::from(b'A' + (index % 26) as u8);
    if index < 26 { last.to_string() } else { format!("{}{last}", letter(index / 26 - 1)) }
}

impl Style {
    /// Tint and hatch, without outline.
    pub(crate) fn fill(&self, canvas: &mut Canvas, shape: &Shape, frame: Bounds) {
        canvas.shape(shape, &format!(r#"fill="{}" fill-rule="evenodd""#, self.tint));
        for lines in self.hatch {
            let ink = if lines.second { self.second_ink } else { self.ink };
            let wide = number(if lines.is_dots() { 1.5 } else { 0.75 });
            let cap = if lines.is_dots() { r#" stroke-linecap="round""# } else { "" };
            let attributes = format!(r#"stroke="{ink}" stroke-width="{wide}"{cap}"#);
            canvas.path(&lines.path(shape, frame), &attributes);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Linear = [f64; 3];

    /// Severity 1.0. Source: Machado, Oliveira and Fernandes (2009), IEEE TVCG 15(6), table of matrices.
    const PROTANOPIA: [Linear; 3] = [
        [0.152_286, 1.052_583, -0.204_868],
        [0.114_503, 0.786_281, 0.099_216],
        [-0.003_882, -0.048_116, 1.051_998],
    ];
    const DEUTERANOPIA: [Linear; 3] = [
        [0.367_322, 0.860_646, -0.227_968],
        [0.280_085, 0.672_501, 0.047_413],
        [-0.011_820, 0.042_940, 0.968_881],
    ];

    const TRITANOPIA: [Linear; 3] = [
        [1.255_528, -0.076_749, -0.178_779],
        [-0.078_411, 0.930_809, 0.147_602],
        [0.004_733, 0.691_367, 0.303_900],
    ];
    /// Whoever sees all colours.
    const PLAIN_SIGHT: [Linear; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    const EYES: [(&str, &[Linear; 3]); 4] = [
        ("all colors", &PLAIN_SIGHT),
        ("protanopia", &PROTANOPIA),
        ("deuteranopia", &DEUTERANOPIA),
        ("tritanopia", &TRITANOPIA),
    ];

    /// Ratio of contrast between two colours as `eyes` see them. Source: WCAG 2.1, "contrast ratio"
    /// and "relative luminance". It asks for light alone, so it holds on grey paper too.
    fn contrast(eyes: &[Linear; 3], one: &str, other: &str) -> f64 {
        let light = |hex: &str| {
            let c = seen(eyes, linear(hex));
            0.212_6 * c[0] + 0.715_2 * c[1] + 0.072_2 * c[2] + 0.05
        };
        let (a, b) = (light(one), light(other));
        a.max(b) / a.min(b)
    }

    #[test]
    fn simulations_keep_white_white() {
        for (who, eyes) in EYES {
            // Each row of the table adds up to one, to its last decimal.
            assert!(seen(eyes, [1.0; 3]).iter().all(|v| (v - 1.0).abs() < 2e-6), "{who}");
        }
    }

    #[test]
    fn text_and_hatches_can_be_read_by_any_eyes_and_on_gray_paper() {
        use crate::canvas::{GREY, INK as TEXT};
        use crate::motif::{NEIGHBOURS, STRIP_INK};
        for (who, eyes) in EYES {
            for text in [TEXT, GREY, STRIP_INK] {
                // WCAG 2.1, 1.4.3: at least 4.5 for text.
                for paper in ["#ffffff", "#fdf3f2"].into_iter().chain(INKS.map(|(_, tint)| tint)) {
                    let ratio = contrast(eyes, text, paper);
                    assert!(ratio >= 4.5, "{who}: {text} on {paper} has {ratio}");
                }
            }
            for (ink, tint) in INKS {
                // Lines of a hatch are large marks beside a label that says the same: some 1.8 is
                // what the palest of the set has; common practice, no source.
                let ratio = contrast(eyes, ink, tint);
                assert!(ratio >= 1.7, "{who}: {ink} on {tint} has {ratio}");
                // The edge of what is treated, against all that it may stand on (WCAG 2.1, 1.4.11).
                assert!(contrast(eyes, TEXT, ink) >= 3.0, "{who}: the edge on {ink}");
            }
            assert!(contrast(eyes, NEIGHBOURS, "#ffffff") >= 3.0, "{who}: what is a neighbour's");
        }
    }

    #[test]
    fn ground_that_is_held_back_is_told_from_grass_by_its_ink_too() {
        for (who, eyes) in EYES {
            for (ink, _) in INKS {
                let [a, b] = [crate::motif::STRIP_INK, ink].map(|c| lab(seen(eyes, linear(c))));
                assert!(apart(a, b) > 9.2, "{who}: {ink} is {} apart", apart(a, b));
            }
        }
    }

    /// From an sRGB hex colour to linear light (IEC 61966-2-1).
    fn linear(hex: &str) -> Linear {
        [1, 3, 5].map(|at| {
            let v = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        })
    }

    fn seen(matrix: &[Linear; 3], c: Linear) -> Linear {
        matrix.map(|row| row.iter().zip(c).map(|(m, v)| m * v).sum::<f64>().clamp(0.0, 1.0))
    }

    /// CIE 1976 L*a*b* for the white point D65.
    fn lab(c: Linear) -> Linear {
        let xyz = [
            (0.412_4 * c[0] + 0.357_6 * c[1] + 0.180_5 * c[2]) / 0.950_47,
            0.212_6 * c[0] + 0.715_2 * c[1] + 0.072_2 * c[2],
            (0.019_3 * c[0] + 0.119_2 * c[1] + 0.950_5 * c[2]) / 1.088_83,
        ];
        let [x, y, z] =
            xyz.map(|t| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 });
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn apart(a: Linear, b: Linear) -> f64 {
        a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    #[test]
    fn inks_stay_apart_for_the_colour_blind() {
        // 2.3 is a just noticeable difference (Mahy and others 1994); four of them are plain to see.
        const PLAIN: f64 = 9.2;
        for (who, matrix) in EYES {
            for (index, (one, _)) in INKS.iter().enumerate() {
                for (other, _) in &INKS[index + 1..] {
                    let [a, b] = [one, other].map(|ink| lab(seen(matrix, linear(ink))));
                    assert!(apart(a, b) > PLAIN, "{who}: {one} and {other} are {}", apart(a, b));
                }
            }
        }
    }

    #[test]
    fn sixteen_species_never_share_ink_and_hatch_and_no_two_share_the_hatch() {
        let styles: Vec<_> = (0..16).map(|i| (INKS[i % INKS.len()].0, SINGLE[i])).collect();
        for (index, one) in styles.iter().enumerate() {
            for other in &styles[index + 1..] {
                assert_ne!(
                    one.1, other.1,
                    "hatch must tell {} from {} on grey paper",
                    one.0, other.0
                );
            }
        }
    }

    #[test]
    fn letters_run_on() {
        assert_eq!([0, 25, 26, 701, 702].map(letter), ["A", "Z", "AA", "ZZ", "AAA"]);
    }
}
