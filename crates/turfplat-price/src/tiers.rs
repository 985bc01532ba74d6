//! Why tiers are marginal unless the list says otherwise: where the whole area takes the price of the
//! tier that it falls into, a lawn one square foot larger may cost less, and whoever notices asks for it.

use turfplat_money::{Decimal, grouped};
use turfplat_units::AreaUnit;

/// A price and the quantity up to which it holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Tier {
    /// The border belongs to this tier; `None` of the last, which takes all that is more.
    pub(crate) up_to: Option<Decimal>,
    pub(crate) price: Decimal,
}

/// What tiers mean.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum TiersAre {
    /// Each tier prices its own part of the area.
    #[default]
    Marginal,
    /// The tier into which all of the area falls prices all of it.
    Whole,
}

/// Part of a quantity at one price.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Priced {
    pub(crate) quantity: Decimal,
    pub(crate) price: Decimal,
    /// The place of its tier; `None` where there is one alone.
    pub(crate) tier: Option<usize>,
}

/// Prices zones one after the other: of each its parts, in the order of the tiers. A zone of no area
/// is one part of nothing.
pub(crate) fn price_zones(
    tiers: &[Tier],
    are: TiersAre,
    quantities: &[Decimal],
) -> Option<Vec<Vec<Priced>>> {
    let number = |place: usize| (tiers.len() > 1).then_some(place);
    let total = quantities.iter().try_fold(Decimal::ZERO, |sum, one| sum.checked_add(*one))?;
    // The first tier that reaches so far.
    let tier_of = |quantity: Decimal| {
        let holds = |tier: &Tier| tier.up_to.is_none_or(|border| quantity <= border);
        tiers.iter().position(holds)
    };
    if are == TiersAre::Whole {
        let place = tier_of(total)?;
        let price = tiers.get(place)?.price;
        let whole = |&quantity| vec![Priced { quantity, price, tier: number(place) }];
        return Some(quantities.iter().map(whole).collect());
    }
    let (mut place, mut used) = (0, Decimal::ZERO);
    let mut all = Vec::new();
    for &quantity in quantities {
        let mut left = quantity;
        let mut parts = Vec::new();
        while left > Decimal::ZERO {
            let tier = tiers.get(place)?;
            let room = tier.up_to.map(|border| border - used);
            let taken = room.map_or(left, |room| room.min(left));
            if taken > Decimal::ZERO {
                parts.push(Priced { quantity: taken, price: tier.price, tier: number(place) });
                left -= taken;
                used = used.checked_add(taken)?;
            }
            if left > Decimal::ZERO {
                place += 1;
            }
        }
        if parts.is_empty() {
            let place = tier_of(used)?;
            let price = tiers.get(place)?.price;
            parts.push(Priced { quantity, price, tier: number(place) });
        }
        all.push(parts);
    }
    Some(all)
}

/// `the first 5,000 sq ft`, `from 5,000 to 10,000 sq ft`, `beyond 10,000 sq ft`; of tiers for the whole
/// area `price for more than 10,000 sq ft in all`.
pub(crate) fn tier_words(
    tiers: &[Tier],
    are: TiersAre,
    place: usize,
    per: AreaUnit,
) -> Option<String> {
    let border = |place: usize| tiers.get(place)?.up_to;
    let below = place.checked_sub(1).and_then(border);
    let range = match (below, border(place)) {
        (None, None) => return None,
        (None, Some(above)) if are == TiersAre::Marginal => {
            format!("the first {}", border_words(above, per))
        }
        (None, Some(above)) => format!("up to {}", border_words(above, per)),
        (Some(below), Some(above)) => {
            let from = if are == TiersAre::Marginal { "from " } else { "" };
            format!("{from}{} to {}", border_figure(below, per), border_words(above, per))
        }
        (Some(below), None) if are == TiersAre::Marginal => {
            format!("beyond {}", border_words(below, per))
        }
        (Some(below), None) => format!("more than {}", border_words(below, per)),
    };
    Some(match are {
        TiersAre::Marginal => range,
        TiersAre::Whole => format!("price for {range} in all"),
    })
}

/// A border as areas are written: `5,000 sq ft`, `2 A`.
pub(crate) fn border_words(border: Decimal, per: AreaUnit) -> String {
    let (_, unit) = border_unit(per);
    format!("{} {unit}", border_figure(border, per))
}

fn border_figure(border: Decimal, per: AreaUnit) -> String {
    let (times, _) = border_unit(per);
    grouped(border.checked_mul(Decimal::from(times)).unwrap_or(border).normalize())
}

/// How many of the unit in which borders are written make one of `per`, and its name.
fn border_unit(per: AreaUnit) -> (u32, &'static str) {
    match per {
        AreaUnit::ThousandSquareFeet => (1000, "sq ft"),
        AreaUnit::HundredSquareMetres => (100, "m²"),
        other => (1, other.name()),
    }
}
