//! Why the label's own rate stands among the limits: it was asked for before anything was dosed, and
//! whoever reads the list wants to see how near its top the rate is.

use turfplat_units::Rate;

use crate::held::Zone;
use crate::limit::{Figure, LimitBy, LimitVerdict, unit_in_words};
use crate::product::Product;

impl<'z> Zone<'z> {
    /// What the label gives each grass of the zone, where the product file has a row for it. A rate
    /// outside of that never comes here.
    pub(crate) fn label_rate(&mut self, product: &'z Product, rate: Rate) {
        for species in &self.zone.species {
            let Some((top, published)) = product.label_top(species, rate) else { continue };
            let Some(written) = published.highest.as_ref().or(published.rate.as_ref()) else {
                continue;
            };
            let name = format!("rate for {}", species.common_name);
            let mut row = self.row(&product.id, "label_rate", &name, LimitBy::Label);
            let unit = unit_in_words(written);
            row.of = "product".to_owned();
            row.asked = rate.over(top).map(|share| Figure::of(share * written.value, &unit));
            row.allowed = Some(Figure::of(written.value, &unit));
            row.source = published.provenance.to_string();
            row.verdict = LimitVerdict::Kept;
            let lower =
                published.highest.is_none() && rate.over(top).is_some_and(|it| it < 1.0 - 1e-9);
            row.remark = if published.highest.is_some() {
                published.text.as_ref().map(|text| format!("the label gives {text}"))
            } else if lower {
                Some("less than the label's one figure, as you chose".to_owned())
            } else {
                None
            };
            self.checked.push(row);
        }
    }
}
