//! Why buying is worked out over all applications together: two trips that take a pint each are one
//! quart, not two. What must be in the shed is what is measured out, and that is more than what goes
//! on turf: the dead volume of hose and sump is mixed too.

use turfplat_money::Money;
use turfplat_units::{Amount, AmountUnit, UnitError, WrittenAmount};

use crate::batch::Batch;
use crate::error::DoseError;
use crate::product::{Form, Product};

/// A size in which a product is sold.
#[derive(Clone, Debug, PartialEq)]
pub struct Container {
    /// What is in it: a volume of a liquid, a weight of what is dry.
    pub size: Amount,
    /// The unit that the size is written in, for printing.
    pub unit: AmountUnit,
    /// What one costs, if that is given.
    pub price: Option<Money>,
}

/// A container as a product file or a job writes it.
#[derive(Clone, Debug)]
pub struct ContainerText {
    /// Such as `1 gal`.
    pub size: String,
    /// Such as `39.95`.
    pub price: Option<String>,
}

/// Reads what a product of this id and form is sold in.
///
/// # Errors
///
/// [`DoseError::Container`] with its place: a size that is none, or of the other kind, or a price
/// that is no money; [`DoseError::Currencies`] of two.
pub fn containers(
    product: &str,
    form: Form,
    texts: impl IntoIterator<Item = ContainerText>,
) -> Result<Vec<Container>, DoseError> {
    let mut containers: Vec<Container> = Vec::new();
    for (place, text) in texts.into_iter().enumerate() {
        let wrong = |key, text: &str, write: &str| DoseError::Container {
            product: product.to_owned(),
            place,
            key,
            text: text.to_owned(),
            write: write.to_owned(),
        };
        let (size, unit) =
            size(form, &text.size).map_err(|write| wrong("size", &text.size, &write))?;
        let price = match &text.price {
            None => None,
            Some(price) => Some(Money::read(price).ok_or_else(|| {
                wrong("price", price, "money with a point, such as \"39.95\" or \"$39.95\"")
            })?),
        };
        containers.push(Container { size, unit, price });
    }
    let prices: Vec<&Money> = containers.iter().filter_map(|one| one.price.as_ref()).collect();
    if let [first, rest @ ..] = prices.as_slice()
        && let Some(other) = rest.iter().find(|other| !other.same_currency(first))
    {
        return Err(DoseError::Currencies {
            product: product.to_owned(),
            one: first.to_string(),
            other: product.to_owned(),
            another: other.to_string(),
        });
    }
    Ok(containers)
}

fn size(form: Form, text: &str) -> Result<(Amount, AmountUnit), String> {
    let liquid = form == Form::Liquid;
    let such_as = if liquid {
        "a volume, such as \"1 gal\": a liquid is dosed by volume"
    } else {
        "a weight, such as \"50 lb\""
    };
    let written: WrittenAmount =
        text.parse().map_err(|error: UnitError| format!("{such_as} ({error})"))?;
    let unit = match (written.unit, liquid) {
        // A bag in ounces can only be weighed.
        (AmountUnit::Ounce, false) => AmountUnit::WeightOunce,
        (unit, _) => unit,
    };
    let written = WrittenAmount { unit, ..written };
    let amount = written.amount().map_err(|error| error.to_string())?;
    let nothing = amount == amount.times(0.0);
    if nothing || matches!(amount, Amount::Volume(_)) != liquid {
        return Err(such_as.to_owned());
    }
    Ok((amount, unit))
}

/// So many of one container.
#[derive(Clone, Debug, PartialEq)]
pub struct Bought {
    /// The container.
    pub container: Container,
    /// How many of it.
    pub count: u64,
}

/// What to buy of one product.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// The product's id.
    pub product: String,
    /// What is needed in all: on turf, and for hose and sump.
    pub needed: Amount,
    /// What of it stays in hose and sump.
    pub dead: Amount,
    /// What to buy; empty where the product's containers are not given.
    pub containers: Vec<Bought>,
    /// What is in them together; `None` where they are not given.
    pub bought: Option<Amount>,
    /// What is left over of it.
    pub left_over: Option<Amount>,
    /// What it costs; `None` where a price is not given.
    pub cost: Option<Money>,
}

impl Purchase {
    /// What to buy of `product`, sold in `containers`, for so much.
    ///
    /// Where every container has a price, the cheapest that hold enough; else those that leave
    /// least over. Of equals the fewest.
    pub fn of(product: &Product, containers: &[Container], need: Need) -> Purchase {
        let Need { total: needed, dead } = need;
        let chosen = Search::least(containers, needed);
        let bought = chosen
            .iter()
            .map(|one| one.container.size.times(one.count as f64))
            .reduce(|sum, one| sum.plus(one).unwrap_or(sum));
        let cost = chosen
            .iter()
            .map(|one| one.container.price.as_ref()?.times(one.count))
            .reduce(|sum, one| sum?.plus(&one?))
            .flatten();
        let left_over = bought.map(|bought| {
            let used = needed.over(bought).unwrap_or(0.0);
            bought.times(1.0 - used)
        });
        Purchase {
            product: product.id.clone(),
            needed,
            dead,
            containers: chosen,
            bought,
            left_over,
            cost,
        }
    }

    /// What so much of the product costs, at the price of what is bought; `None` where no price is
    /// given.
    pub fn cost_of(&self, amount: Amount) -> Option<Money> {
        self.cost.as_ref()?.part(amount.over(self.bought?)?)
    }
}

/// How much of a product some batches take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Need {
    /// In all: what is measured out, and no less than the exact amounts.
    pub total: Amount,
    /// What of it stays in hose and sump.
    pub dead: Amount,
}

impl Need {
    /// What the product at `place` in the mix of these batches needs; `None` where there are none.
    pub fn of_batches(batches: &[Batch], place: usize) -> Option<Need> {
        let mut sums: Option<[Amount; 3]> = None;
        for batch in batches {
            for load in &batch.loads {
                let poured = load.mixed_products().get(place)?;
                let zero = poured.exact.times(0.0);
                let [exact, measured, dead] = sums.unwrap_or([zero; 3]);
                sums = Some([exact.plus(poured.exact)?, measured.plus(poured.measured)?, dead]);
            }
            if let (Some(dead_volume), Some([exact, measured, dead])) = (&batch.dead_volume, sums) {
                sums = Some([exact, measured, dead.plus(*dead_volume.products.get(place)?)?]);
            }
        }
        let [exact, measured, dead] = sums?;
        // Measured down, the last drops stay in the container; measured up, they must be in it.
        let total =
            if measured.over(exact).is_some_and(|times| times > 1.0) { measured } else { exact };
        Some(Need { total, dead })
    }

    /// Both together; `None` of a volume and a weight.
    pub fn plus(self, other: Need) -> Option<Need> {
        Some(Need { total: self.total.plus(other.total)?, dead: self.dead.plus(other.dead)? })
    }
}

/// This much above a whole number of containers is that number: rounding of sums of loads.
const ROUNDING: f64 = 1e-9;

/// More steps than any shopping list takes; beyond them the best found so far is taken, which holds
/// enough and may not be the cheapest.
const MOST_STEPS: usize = 200_000;

/// Looks for the containers that hold enough at least cost. What is least is a price where all have
/// one, else the amount. Ratios guide the search; money is added up in decimals by the caller.
struct Search {
    /// Size in parts of the need, and cost, of each container: the best value first, so
    /// that what is open costs no less than by the next alone.
    sizes: Vec<(f64, f64)>,
    /// The largest size among this container and those after it.
    largest_after: Vec<f64>,
    best: Option<(f64, u64, Vec<u64>)>,
    steps: usize,
}

impl Search {
    fn least(containers: &[Container], needed: Amount) -> Vec<Bought> {
        if needed == needed.times(0.0) {
            return Vec::new();
        }
        let priced = containers.iter().all(|one| one.price.is_some());
        let mut sizes: Vec<(usize, f64, f64)> = Vec::new();
        for (place, one) in containers.iter().enumerate() {
            let Some(size) = one.size.over(needed).filter(|size| *size > 0.0) else { continue };
            let price = one.price.as_ref().and_then(|price| price.value().to_string().parse().ok());
            sizes.push((place, size, price.filter(|_| priced).unwrap_or(size)));
        }
        // The best value first, of equals the largest, so that the first list found is near the best.
        sizes.sort_by(|(_, a, a_cost), (_, b, b_cost)| {
            (a_cost / a).total_cmp(&(b_cost / b)).then(b.total_cmp(a))
        });
        // Of one value but for rounding, the largest need not stand first.
        let mut largest_after: Vec<f64> = sizes.iter().map(|(_, size, _)| *size).collect();
        for place in (1..sizes.len()).rev() {
            largest_after[place - 1] = largest_after[place - 1].max(largest_after[place]);
        }
        let mut search = Search {
            sizes: sizes.iter().map(|(_, size, cost)| (*size, *cost)).collect(),
            largest_after,
            best: None,
            steps: 0,
        };
        search.go(0, 1.0, 0.0, &mut Vec::new());
        let counts = search.best.map(|(_, _, counts)| counts).unwrap_or_default();
        let mut bought: Vec<(usize, u64)> =
            sizes.iter().map(|(place, ..)| *place).zip(counts).filter(|(_, n)| *n > 0).collect();
        bought.sort_unstable();
        bought
            .into_iter()
            .map(|(place, count)| Bought { container: containers[place].clone(), count })
            .collect()
    }

    /// Tries all counts of the containers from `place` on that may beat the best so far.
    fn go(&mut self, place: usize, rest: f64, cost: f64, counts: &mut Vec<u64>) {
        self.steps += 1;
        if rest <= ROUNDING {
            // Only what is worth it comes here: it beats the best so far.
            self.best = Some((cost, counts.iter().sum(), counts.clone()));
            return;
        }
        let Some(&(size, each)) = self.sizes.get(place) else { return };
        let enough = ((rest - ROUNDING) / size).ceil().max(0.0);
        let last = place + 1 == self.sizes.len();
        let mut many = enough;
        loop {
            let (rest, cost) = (rest - many * size, cost + many * each);
            let open = (rest - ROUNDING).max(0.0);
            let next = self.sizes.get(place + 1);
            let bound = cost + next.map_or(0.0, |(size, each)| each * open / size);
            let more = self.largest_after.get(place + 1).map_or(0.0, |size| (open / size).ceil());
            let taken = counts.iter().sum::<u64>() as f64 + many + more;
            let worth_it = self.best.as_ref().is_none_or(|(best, fewest, _)| {
                let close = ROUNDING * best.max(1e-12);
                bound < best - close || (bound <= best + close && taken < *fewest as f64)
            });
            if worth_it && (rest <= ROUNDING || !last) {
                // A whole number that was counted down from a ratio of amounts.
                counts.push(many as u64);
                self.go(place + 1, rest, cost, counts);
                counts.pop();
            }
            if many < 1.0 || last || self.steps > MOST_STEPS {
                return;
            }
            many -= 1.0;
        }
    }
}
