/// How a paper is laid out.
#[derive(Clone, Debug)]
pub struct Template {
    pub(crate) name: String,
    pub(crate) text: String,
}

/// What templates of ours, and of users who want it, share: `#import "form.typ": *`.
pub(crate) const FORM: &str = include_str!("../templates/form.typ");

impl Template {
    /// The order that a crew carries: map, doses, loads, mixing, distances, cautions and the blanks
    /// of a record. Its data is a work order as JSON, its files `map.svg`.
    pub fn work_order() -> Template {
        Template::own("work-order.typ", include_str!("../templates/work-order.typ"))
    }

    /// The sheet of a day of several properties: what to carry, loads to tick off, a line a stop, the
    /// label's words and cautions. Its data is a day order as JSON.
    pub fn day_order() -> Template {
        Template::own("day-order.typ", include_str!("../templates/day-order.typ"))
    }

    /// What a customer is offered: their address, visits with lines and totals, terms and a small map.
    /// Its data is a quote as JSON, its files `map.svg` and a logo, as far as its data name them.
    pub fn quote() -> Template {
        Template::own("quote.typ", include_str!("../templates/quote.typ"))
    }

    /// Records of what was applied, each from a new page. Its data are records as JSON of finished texts.
    pub fn record() -> Template {
        Template::own("record.typ", include_str!("../templates/record.typ"))
    }

    /// A template of somebody's own, with the name that messages call it by.
    ///
    /// It reads its data by `json("data.json")` and images by the names that [`crate::render`] is
    /// handed; there is nothing else that it can read.
    pub fn own(name: impl Into<String>, text: impl Into<String>) -> Template {
        Template { name: name.into(), text: text.into() }
    }
}
