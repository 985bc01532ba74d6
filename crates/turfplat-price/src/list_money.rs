//! Prices and percentages of a price list. They are texts, since a bare 39.95 of TOML would be a binary
//! fraction, and each says what is wrong with it in its own words.

use toml::Spanned;
use turfplat_money::{Decimal, Halves, Money, read_decimal};

use crate::error::PriceError;
use crate::list_file::{Percent, Price, Written};
use crate::list_reader::Reader;

impl Reader<'_> {
    pub(crate) fn price(&self, key: &str, said: &Spanned<Price>) -> Result<Decimal, PriceError> {
        let text = said.get_ref().written();
        let money = Money::read(&text).ok_or_else(|| self.no_price(key, said))?;
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
    fn no_price(&self, key: &str, said: &Spanned<Price>) -> PriceError {
        let (at, text) = (self.place(key, said), said.get_ref().written());
        let figure = text.trim();
        if let Some(rest) = figure.strip_prefix(['-', '−'])
            && Money::read(rest).is_some()
        {
            return PriceError::Negative { at, text };
        }
        // All that is wrong with it is behind the third decimal.
        let point = figure.find('.').filter(|_| figure.is_ascii());
        let decimals =
            point.map(|at| figure[at + 1..].bytes().take_while(u8::is_ascii_digit).count());
        if let (Some(point), Some(decimals)) = (point, decimals.filter(|it| *it > 3)) {
            let shorter = |kept: usize| {
                format!("{}{}", &figure[..point + 1 + kept], &figure[point + 1 + decimals..])
            };
            if Money::read(&shorter(3)).is_some() {
                let of_zeros = figure[point + 3..point + 1 + decimals].bytes().all(|it| it == b'0');
                let such_as = shorter(if of_zeros { 2 } else { 3 });
                return PriceError::TooManyDecimals { at, text, most: 3, such_as };
            }
        }
        PriceError::NotMoney { at, text }
    }

    pub(crate) fn optional_price(
        &self,
        key: &str,
        said: &Option<Spanned<Price>>,
    ) -> Result<Option<Decimal>, PriceError> {
        said.as_ref().map(|said| self.price(key, said)).transpose()
    }

    /// A price that is an amount of its own, and not multiplied before it is paid.
    pub(crate) fn payable(
        &self,
        key: &str,
        said: &Option<Spanned<Price>>,
    ) -> Result<Option<Decimal>, PriceError> {
        let Some(said) = said else { return Ok(None) };
        let price = self.price(key, said)?;
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
