//! Prices and percentages of a price list. They are texts, since a bare 39.95 of TOML would be a binary
//! fraction, and each says what is wrong with it in its own words.

use toml::Spanned;
use turfplat_money::{Decimal, Halves, Money, read_decimal};

use crate::error::PriceError;
use crate::list_file::{Percent, Price, Written};
use crate::list_reader::Reader;

/// So many decimals a price may have that is multiplied before it is paid; [`Money`] reads no more.
const FINEST: u32 = 3;

impl Reader<'_> {
    /// A price that is multiplied before it is paid, as one per mile is.
    pub(crate) fn price(&self, key: &str, said: &Spanned<Price>) -> Result<Decimal, PriceError> {
        self.price_to(key, said, FINEST)
    }

    /// A price; `most` decimals are asked for where one cannot be read for them.
    fn price_to(&self, key: &str, said: &Spanned<Price>, most: u32) -> Result<Decimal, PriceError> {
        let text = said.get_ref().written();
        let money = Money::read(&text).ok_or_else(|| self.no_price(key, said, most))?;
        let currency = money.currency();
        let same = currency.is_empty()
            || currency == self.currency.code()
            || self.currency.has_sign(&currency);
        if !same {
            let (at, currency) = (self.place(key, said), self.currency.code());
            return Err(PriceError::OtherCurrency { at, text, currency });
        }
        Ok(money.value().normalize())
    }

    /// Why a text is no price.
    fn no_price(&self, key: &str, said: &Spanned<Price>, most: u32) -> PriceError {
        let (at, text) = (self.place(key, said), said.get_ref().written());
        let figure = text.trim();
        if let Some(rest) = figure.strip_prefix(['-', '−'])
            && Money::read(rest).is_some()
        {
            return PriceError::Negative { at, text };
        }
        // Whether all that is wrong with it are decimals too many.
        if let Some((whole, behind)) = figure.split_once('.') {
            let end = behind.find(|it: char| !it.is_ascii_digit()).unwrap_or(behind.len());
            let (digits, unit) = behind.split_at(end);
            let to = |decimals: u32| {
                let kept: String = digits.chars().take(decimals as usize).collect();
                let point = if kept.is_empty() { "" } else { "." };
                (format!("{whole}{point}{kept}{unit}"), digits.chars().skip(kept.len()))
            };
            let (payable, mut lost) = to(self.currency.decimals().min(most));
            let (shorter, _) = to(most);
            let such_as = if lost.all(|it| it == '0') { payable } else { shorter };
            if Money::read(&such_as).is_some() {
                return PriceError::TooManyDecimals { at, text, most, such_as };
            }
        }
        PriceError::NotMoney { at, text }
    }

    /// A price that is an amount of its own, and not multiplied before it is paid.
    pub(crate) fn payable(
        &self,
        key: &str,
        said: &Option<Spanned<Price>>,
    ) -> Result<Option<Decimal>, PriceError> {
        let Some(said) = said else { return Ok(None) };
        let price = self.price_to(key, said, self.currency.decimals())?;
        if self.currency.round(price, Halves::Up) != price {
            return Err(PriceError::NotPayable {
                at: self.place(key, said),
                text: said.get_ref().written(),
                least: format!("{} has no less than {}", self.currency, self.currency.smallest()),
            });
        }
        Ok(Some(price))
    }

    /// Reads `8.25 %` as 8.25.
    pub(crate) fn percent(
        &self,
        key: &str,
        said: &Spanned<Percent>,
        most: u32,
    ) -> Result<Decimal, PriceError> {
        let text = said.get_ref().written();
        let figure = text.trim().strip_suffix('%').and_then(|figure| read_decimal(figure.trim()));
        let figure = figure.filter(|it| *it <= Decimal::from(most) && it.scale() <= 6);
        figure.map(|it| it.normalize()).ok_or_else(|| PriceError::NotAPercentage {
            at: self.place(key, said),
            text,
            most,
        })
    }
}
