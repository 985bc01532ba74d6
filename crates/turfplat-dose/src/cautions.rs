use crate::caps::{NitrogenCap, nitrogen_caps};
use crate::product::Product;

/// How a caution says that it is the trade's habit and stands in no source.
const UNSOURCED: &str = " (common practice, no source)";

/// What every plan and sheet carries, whatever is put down.
const STANDING: [&str; 6] = [
    "The label is the law: where it and this plan differ, the label holds.",
    "State and local rules on distance, season, nutrients, posting and licenses also apply; \
     work for hire usually needs a license.",
    "Wear what the label says; where it says nothing, at least long sleeves, long trousers, gloves \
     and eye protection (common practice, no source).",
    "Keep people and pets off as long as the label says; where it says nothing, until the turf is dry.",
    "Do not spray towards water, wells, neighbors, food plants, or bees at bloom.",
    "Where a line on the map is uncertain, treat less.",
];

/// The cautions that a plan carries: the standing ones, caps of law on nitrogen where a
/// product holds some, then those of its products. They are shown plainly and never replace a computed check.
pub fn cautions(products: &[&Product], jurisdictions: &[String]) -> Vec<String> {
    let mut cautions: Vec<String> = STANDING.into_iter().map(str::to_owned).collect();
    let feeds = |product: &&Product| product.analysis.is_some_and(|analysis| analysis.n > 0.0);
    if products.iter().any(feeds) {
        let of_the_place = |cap: &&NitrogenCap| {
            jurisdictions.is_empty() || jurisdictions.contains(&cap.jurisdiction)
        };
        cautions.extend(nitrogen_caps().iter().filter(of_the_place).map(|cap| cap.text.clone()));
    }
    for caution in products.iter().flat_map(|product| &product.cautions) {
        if !cautions.contains(&caution.text) {
            cautions.push(caution.text.clone());
        }
    }
    cautions
}

/// A caution without the remark that nobody is named for it: whoever checks a plan wants it, and
/// a crew reads what to wear.
pub fn caution_for_the_crew(caution: &str) -> String {
    caution.replace(UNSOURCED, "")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::find_product;

    #[test]
    fn a_crew_reads_what_to_wear_and_not_who_says_so() {
        let all = cautions(&[], &[]);
        let wear = all.iter().find(|text| text.starts_with("Wear what the label says")).unwrap();
        assert!(wear.ends_with("gloves and eye protection (common practice, no source)."));
        assert!(caution_for_the_crew(wear).ends_with("gloves and eye protection."));
        // Nothing else is lost, and no tag is left under another wording.
        for text in &all {
            let told = caution_for_the_crew(text);
            assert!(!told.contains("no source"), "{told}");
            assert!(text == wear || told == *text, "{told}");
        }
    }

    #[test]
    fn the_label_comes_first_and_the_product_last() {
        let urea = find_product("urea-46-0-0").unwrap();
        let cautions = cautions(&[urea, urea], &[]);
        assert!(cautions[0].starts_with("The label is the law"));
        assert_eq!(cautions.len(), STANDING.len() + nitrogen_caps().len() + urea.cautions.len());
    }
}
