//! Why a tax says per what it is counted: eight cents on each of ten lines and eighty cents on all are
//! not the same where halves are rounded, and authorities ask for the one or the other.

use turfplat_money::{Currency, Decimal, Halves};

use crate::quote::{Line, LineKind};

/// A tax, what it is on and per what it is rounded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Tax {
    pub(crate) name: String,
    /// Of what is taxable, in per cent.
    pub(crate) percent: Decimal,
    pub(crate) on: Vec<LineKind>,
    pub(crate) per: TaxPer,
}

/// Per what a tax is rounded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum TaxPer {
    Line,
    /// On what is taxable of a visit: each is a bill.
    #[default]
    Visit,
    /// On what is taxable of the season.
    Quote,
}

/// What a tax comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TaxSum {
    /// Its name.
    pub name: String,
    /// In per cent.
    pub percent: Decimal,
    /// What it is on.
    pub taxable: Decimal,
    /// What it comes to.
    pub amount: Decimal,
}

impl Tax {
    pub(crate) fn is_on(&self, line: &Line) -> bool {
        self.on.contains(&line.kind)
    }

    /// The tax on one amount, rounded.
    pub(crate) fn of(
        &self,
        amount: Decimal,
        currency: Currency,
        halves: Halves,
    ) -> Option<Decimal> {
        Some(currency.round(per_cent(amount, self.percent)?, halves))
    }

    pub(crate) fn sum(&self, taxable: Decimal, amount: Decimal) -> TaxSum {
        TaxSum { name: self.name.clone(), percent: self.percent, taxable, amount }
    }

    pub(crate) fn how_it_is_counted(&self) -> String {
        let on = if self.on.len() == LineKind::ALL.len() {
            "all lines".to_owned()
        } else {
            let words: Vec<&str> = self.on.iter().map(|kind| kind.word()).collect();
            format!("lines of {}", words.join(", "))
        };
        let per = match self.per {
            TaxPer::Line => "on each line, and rounded there",
            TaxPer::Visit => "on the sum of a visit, and rounded once",
            TaxPer::Quote => "on the sum of the season, and rounded once; visits stand before it",
        };
        format!("{}: {} % of {on}, counted {per}", self.name, self.percent)
    }
}

/// So many hundredths of an amount, not rounded; `None` beyond all measure.
pub(crate) fn per_cent(amount: Decimal, percent: Decimal) -> Option<Decimal> {
    amount.checked_mul(percent)?.checked_div(Decimal::ONE_HUNDRED)
}
