//! A price list in words: what it prices, and how amounts come about.

use turfplat_money::Decimal;

use crate::list::{PriceList, ProductBy, Service};
use crate::tax::Tax;
use crate::tiers::{TiersAre, border_words};

impl PriceList {
    /// A service in a line: what it is for, by which area, and its prices.
    pub fn describe(&self, service: &Service) -> String {
        let print = |price: Decimal| self.currency.print(price);
        let per = self.per.name();
        let named = service.applications.iter().chain(&service.products);
        let named: Vec<&str> = named.map(|it| it.name.as_str()).collect();
        let of = match named.as_slice() {
            [] => "all other applications".to_owned(),
            named => named.join(", "),
        };
        let tiers = service.tiers.iter().map(|tier| match tier.up_to {
            Some(border) => {
                format!("{} / {per} up to {}", print(tier.price), border_words(border, self.per))
            }
            None if service.tiers.len() > 1 => format!("{} beyond", print(tier.price)),
            None => format!("{} / {per}", print(tier.price)),
        });
        let mut parts: Vec<String> = tiers.collect();
        if service.tiers.len() > 1 {
            parts.push(match service.tiers_are {
                TiersAre::Marginal => "each its own part".to_owned(),
                TiersAre::Whole => "one for the whole area".to_owned(),
            });
        }
        parts.extend(service.per_application.map(|it| format!("{} an application", print(it))));
        parts.extend(service.product.map(|product| match product.by {
            ProductBy::Share => format!("product by share + {} %", product.margin),
            ProductBy::Container => format!("product by container + {} %", product.margin),
        }));
        let per_hour = self.per_hour.filter(|_| service.labor);
        parts.extend(per_hour.map(|it| format!("labor {} an hour", print(it))));
        let basis = service.basis.meaning();
        format!("{} ({of}), by {basis}: {}", service.name, parts.join(", "))
    }

    /// How amounts come about, for whoever adds them up; each a sentence.
    pub fn how_it_is_counted(&self) -> Vec<String> {
        let currency = self.currency;
        let step = Decimal::new(1, self.decimals_of_area());
        let mut said = vec![
            format!(
                "areas are counted to {step} × {}, hours to 0.01; every line is quantity × unit price, rounded once to {} ({})",
                self.per.name(),
                currency.print(currency.smallest()),
                self.halves.words(),
            ),
            "subtotals are sums of rounded lines".to_owned(),
        ];
        said.extend(self.taxes.iter().map(Tax::how_it_is_counted));
        if let Some(step) = self.total_to {
            let (step, halves) = (currency.print(step), self.halves.words());
            said.push(format!("totals are rounded to {step} ({halves})"));
        }
        if self.services.iter().any(|service| service.tiers.len() > 1) {
            let both = |are: TiersAre| {
                self.services.iter().any(|one| one.tiers.len() > 1 && one.tiers_are == are)
            };
            if both(TiersAre::Marginal) {
                said.push("each tier prices its own part of the area of a service on a visit, zone after zone".to_owned());
            }
            if both(TiersAre::Whole) {
                said.push("of tiers for the whole area, the one into which all zones together fall prices all of them".to_owned());
            }
        }
        if self.services.iter().any(|service| service.product.is_some()) {
            said.push("products are charged at what they cost and a margin, by what goes on the turf or by the container, as the line says".to_owned());
        }
        if self.minimum_per_visit.is_some() {
            said.push("the minimum of a visit holds before travel and tax".to_owned());
        }
        if self.prepay.is_some() {
            said.push("the discount for paying ahead is taken off the season's subtotal, and taxes are counted on what is left, once".to_owned());
        }
        said
    }
}
