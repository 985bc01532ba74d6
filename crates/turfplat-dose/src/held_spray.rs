//! Why the label's spray volume is held to like its caps: in too little water a product burns or
//! misses, in too much it runs off, and the equipment decides it for every zone alike.

use turfplat_units::{Rate, significant};

use crate::held::{ROUNDING, Zone};
use crate::label::SprayVolume;
use crate::limit::{Figure, LimitBy, LimitVerdict, telling_digits, unit_in_words};
use crate::product::Product;

impl<'z> Zone<'z> {
    /// Holds what the equipment puts down to what the label asks for. A single figure of a label is
    /// the least: "in at least".
    pub(crate) fn spray_volume(&mut self, product: &'z Product, spray: Rate) {
        let mut row = self.row(&product.id, "spray_volume", "spray volume", LimitBy::Label);
        row.of = "spray".to_owned();
        let Some(asks) = &product.label.spray_volume else {
            self.checked.push(row);
            return;
        };
        row.source = product.source_of("spray_volume").provenance.to_string();
        let SprayVolume { least, most, text } = asks;
        let times = |end: &turfplat_units::WrittenRate| spray.over(end.rate().ok()?);
        let above = most.as_ref().filter(|most| times(most).is_some_and(|it| it > ROUNDING));
        let below = times(least).is_some_and(|it| it * ROUNDING < 1.0);
        let end = above.unwrap_or(least);
        row.name = if above.is_some() { "most spray volume" } else { "least spray volume" }.into();
        let unit = unit_in_words(end);
        let asked = spray.in_unit(end.unit);
        row.allowed = Some(Figure::of(end.value, &unit));
        row.asked = asked.map(|asked| Figure::of(asked, &unit));
        row.verdict = match asked {
            None => LimitVerdict::NotChecked,
            Some(_) if above.is_some() || below => LimitVerdict::Exceeded,
            Some(_) => LimitVerdict::Kept,
        };
        row.remark = most.as_ref().map(|_| format!("the label asks for {text}"));
        if let (LimitVerdict::Exceeded, Some(asked)) = (row.verdict, asked) {
            let digits = telling_digits(asked, end.value);
            let print = |value| significant(value, digits);
            let (how, cure) = match above {
                Some(_) => ("above the most", "finer nozzles or a faster walk"),
                None => ("below the least", "coarser nozzles or a slower walk"),
            };
            row.refusal = Some(format!(
                "{}: the equipment puts down {} {unit} of spray, {how} that its label asks for, {} {unit} ({}); take {cure}, calibrate again and write spray_volume in [equipment]",
                product.id,
                print(asked),
                print(end.value),
                row.source
            ));
        }
        self.checked.push(row);
    }
}
