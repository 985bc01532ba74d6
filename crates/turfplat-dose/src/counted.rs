//! Why a limit says what it counts: a label caps its product, its active ingredient or its
//! nitrogen, and two products with the same active ingredient put it down together. What a
//! product holds of it and cannot be known is an answer of its own; taken for nothing, it would
//! let a maximum be passed unseen.

use turfplat_units::{Amount, AmountUnit, Of, Rate, WrittenRate};

use crate::active_names::{Sameness, compare, question};
use crate::convert::on_a_square_metre;
use crate::product::{ActiveIngredient, Form, Product, ProductClass, RateLimit};
use crate::strength::Content;

/// What a limit counts.
#[derive(Clone, Debug)]
pub(crate) enum Counted<'p> {
    /// A product in the container, also from another container of the same active ingredient.
    Product(&'p Product),
    /// An active ingredient by name, whatever product it comes in; with whether its acid
    /// equivalent is counted.
    Active(&'p str, bool),
    /// A nutrient by its name in an analysis, whatever product it comes in.
    Nutrient(&'static str),
    /// Quickly soluble nitrogen.
    SolubleNitrogen,
}

impl<'p> Counted<'p> {
    /// What a limit of `product` counts; `None` of a limit on its active ingredient where it has
    /// none or several.
    pub(crate) fn by(limit: &'p RateLimit, product: &'p Product) -> Option<Counted<'p>> {
        let capped = || match &limit.of {
            Some(of) => Some(of.as_str()),
            None => only(product).map(|only| only.name.as_str()),
        };
        Some(match &limit.rate.of {
            Of::Product => Counted::Product(product),
            Of::ActiveIngredient => Counted::Active(capped()?, false),
            Of::AcidEquivalent => Counted::Active(capped()?, true),
            Of::Nutrient(name) => Counted::Nutrient(name),
        })
    }

    /// The name in lists.
    pub(crate) fn name(&self) -> String {
        match self {
            Counted::Product(_) => "product".to_owned(),
            Counted::Active(name, _) => (*name).to_owned(),
            Counted::Nutrient(name) => (*name).to_owned(),
            Counted::SolubleNitrogen => "soluble N".to_owned(),
        }
    }

    /// How much of it `product` puts down at `rate`: millilitres of a liquid, else grams, on a
    /// square metre; 0 where it holds none.
    ///
    /// # Errors
    ///
    /// What is not given and would have to be known.
    pub(crate) fn in_product(&self, product: &Product, rate: Rate) -> Result<f64, String> {
        match self {
            Counted::Product(of) if of.id == product.id => Ok(value(rate)),
            Counted::Product(of) => as_much_of(of, product, rate, Sameness::Same),
            Counted::Active(name, as_acid) => {
                if hides_its_actives(product) {
                    return Err(not_given(product));
                }
                let holds = product.active_ingredients.iter();
                holds
                    .filter(|one| compare(&one.name, name) == Sameness::Same)
                    .map(|one| match one.content.is_none() || one.acid_equivalent == *as_acid {
                        true => active(product, one, on_a_square_metre(rate)),
                        false => Err(other_basis(product, one, *as_acid)),
                    })
                    .sum()
            }
            Counted::Nutrient(name) => nutrient(product, name, rate),
            Counted::SolubleNitrogen => {
                let share = product.analysis.and_then(|analysis| analysis.soluble_n_share);
                // Where its share is not given all counts: that errs towards the law.
                Ok(nutrient(product, "N", rate)? * share.unwrap_or(1.0))
            }
        }
    }

    /// What may count too and cannot be told from the names: the question, and how much it would be
    /// in the measure of [`Counted::in_product`].
    pub(crate) fn doubtful(&self, product: &Product, rate: Rate) -> Option<(String, f64)> {
        let (name, product_of) = match self {
            Counted::Active(name, _) => (*name, None),
            Counted::Product(of) if of.id != product.id => (only(of)?.name.as_str(), Some(*of)),
            _ => return None,
        };
        if product_of.is_some() && hides_its_actives(product) {
            return Some((not_given(product), 0.0));
        }
        let is_doubtful = |one: &&ActiveIngredient| compare(&one.name, name) == Sameness::Doubtful;
        let one = product.active_ingredients.iter().find(is_doubtful)?;
        let much = match product_of {
            None => active(product, one, on_a_square_metre(rate)).unwrap_or(f64::INFINITY),
            Some(of) => as_much_of(of, product, rate, Sameness::Doubtful).unwrap_or(f64::INFINITY),
        };
        Some((question(&one.name, name), much))
    }

    /// One unit of a limit in the measure of [`Counted::in_product`].
    pub(crate) fn unit_of(&self, written: &WrittenRate) -> Result<f64, String> {
        let one = WrittenRate { value: 1.0, ..written.clone() };
        let rate = match self {
            Counted::Product(of) => of.rate_of_product(&one).map_err(|error| error.to_string())?,
            _ => one.rate_by_weight().map_err(|error| error.to_string())?,
        };
        Ok(value(rate))
    }
}

/// Whether two products share an active ingredient, or are one.
pub(crate) enum Likeness {
    Alike,
    /// Their names do not tell, or one of them names none; what to ask.
    Doubtful(String),
    Unknown(String),
    Different,
}

/// Whether `other` acts like `product`.
pub(crate) fn likeness(product: &Product, other: &Product) -> Likeness {
    if product.id == other.id {
        return Likeness::Alike;
    }
    let theirs = &other.active_ingredients;
    let pairs = product.active_ingredients.iter().flat_map(|a| theirs.iter().map(move |b| (a, b)));
    let mut doubt = Likeness::Different;
    for (a, b) in pairs {
        match compare(&a.name, &b.name) {
            Sameness::Same => return Likeness::Alike,
            Sameness::Doubtful => doubt = Likeness::Doubtful(question(&b.name, &a.name)),
            Sameness::Different => {}
        }
    }
    if !product.active_ingredients.is_empty() && hides_its_actives(other) {
        return Likeness::Unknown(not_given(other));
    }
    doubt
}

/// True of a pesticide, or a product that may be one, whose file names no active ingredient.
fn hides_its_actives(product: &Product) -> bool {
    product.active_ingredients.is_empty() && product.is_pesticide()
}

fn not_given(product: &Product) -> String {
    let class = match product.class {
        None => ", or class = \"fertilizer\" or \"adjuvant\" if it is one",
        Some(_) => "",
    };
    format!(
        "the active ingredients of {} are not given; add [[active_ingredients]] to its file{class}",
        product.id
    )
}

fn only(product: &Product) -> Option<&ActiveIngredient> {
    match product.active_ingredients.as_slice() {
        [only] => Some(only),
        _ => None,
    }
}

/// So much of `of` as puts down what `product` does at `rate`, where both hold one active
/// ingredient and their names compare as asked; else nothing. Without both contents it is another product to
/// this label.
///
/// # Errors
///
/// One content of acid equivalent and one of active ingredient.
fn as_much_of(of: &Product, product: &Product, rate: Rate, names: Sameness) -> Result<f64, String> {
    let Some((ours, theirs)) = only(of).zip(only(product)) else { return Ok(0.0) };
    let unit = if of.form == Form::Liquid { AmountUnit::Millilitre } else { AmountUnit::Gram };
    let Some(one) = unit.of(1.0).filter(|_| compare(&ours.name, &theirs.name) == names) else {
        return Ok(0.0);
    };
    match (active(product, theirs, on_a_square_metre(rate)), active(of, ours, one)) {
        (Ok(_), Ok(_)) if ours.acid_equivalent != theirs.acid_equivalent => {
            Err(other_basis(product, theirs, ours.acid_equivalent))
        }
        (Ok(put_down), Ok(in_one)) if in_one > 0.0 => Ok(put_down / in_one),
        _ => Ok(0.0),
    }
}

fn other_basis(product: &Product, one: &ActiveIngredient, as_acid: bool) -> String {
    let (asked, given) = if as_acid { ("a.e.", "a.i.") } else { ("a.i.", "a.e.") };
    format!(
        "the content of {} in {}, {}, counts {given} and is to be counted in {asked}; write both files alike, as the labels do",
        one.name,
        product.id,
        one.content_text.as_deref().unwrap_or_default()
    )
}

/// How many grams of an active ingredient are in an amount of the product.
fn active(product: &Product, one: &ActiveIngredient, amount: Amount) -> Result<f64, String> {
    let id = &product.id;
    match (&one.content, amount) {
        (None, _) => {
            Err(format!("how much {} is in {id} is not given; add content to its file", one.name))
        }
        (Some(Content::InVolume(density)), Amount::Volume(volume)) => {
            Ok(volume.millilitres() * density.grams_per_millilitre())
        }
        (Some(Content::Share(share)), amount) => Ok(weight(product, amount)? * share),
        (Some(Content::InVolume(_)), Amount::Mass(_)) => Err(format!(
            "{id} is weighed, and its content of {} is given by volume; write it in %",
            one.name
        )),
    }
}

fn nutrient(product: &Product, name: &str, rate: Rate) -> Result<f64, String> {
    let Some(analysis) = product.analysis else {
        // A weed killer without an analysis feeds nothing; a fertilizer does.
        let feeds = match product.class {
            Some(class) => class == ProductClass::Fertilizer,
            None => product.active_ingredients.is_empty(),
        };
        return match feeds {
            false => Ok(0.0),
            true => Err(format!(
                "the analysis of {0} is not given; add [analysis] to its file",
                product.id
            )),
        };
    };
    match analysis.share_of(name).unwrap_or_default() {
        0.0 => Ok(0.0),
        share => Ok(weight(product, on_a_square_metre(rate))? * share),
    }
}

/// In grams.
fn weight(product: &Product, amount: Amount) -> Result<f64, String> {
    match (amount, product.density) {
        (Amount::Mass(mass), _) => Ok(mass.grams()),
        (Amount::Volume(volume), Some(density)) => {
            Ok(volume.millilitres() * density.grams_per_millilitre())
        }
        (Amount::Volume(_), None) => {
            Err(format!("the density of {0} is not given; add it to its file", product.id))
        }
    }
}

fn value(rate: Rate) -> f64 {
    match on_a_square_metre(rate) {
        Amount::Volume(volume) => volume.millilitres(),
        Amount::Mass(mass) => mass.grams(),
    }
}
