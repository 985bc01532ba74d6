use turfplat_units::UnitError;

use crate::names::{did_you_mean, either};

/// Why something cannot be dosed, and what to change. Names of products, zones and
/// equipment are those of the map, the job and the product file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)] // The field names say it.
pub enum DoseError {
    /// No grass bears the name.
    #[error(
        "{text:?} is not a grass known here; {}",
        did_you_mean(close, "write an id or name from the species list")
    )]
    UnknownSpecies { text: String, close: Vec<String> },

    /// Several grasses bear the name, and their rates differ.
    #[error("{text:?} may be {}; write the one that grows here", either(ids))]
    AmbiguousSpecies { text: String, ids: Vec<String> },

    /// No product has the id.
    #[error(
        "{id:?} is not a product known here; {}",
        did_you_mean(close, "write an id from the product list or the path of a product file")
    )]
    UnknownProduct { id: String, close: Vec<String> },

    /// The product file is not TOML, lacks a key or has one that is not known.
    #[error("product file, line {line}: {reason}")]
    ProductToml { line: usize, reason: String },

    /// A text in the product file is none of those that are read there.
    #[error("product {product}, {key}: {text:?} is not read here; write {write}")]
    ProductValue { product: String, key: String, text: String, write: String },

    /// A quantity in the product file cannot be read.
    #[error("product {product}, {key}: {reason}")]
    ProductQuantity { product: String, key: String, reason: UnitError },

    /// A grass in the product file is not known.
    #[error("product {product}, {key}: {reason}")]
    ProductSpecies { product: String, key: String, reason: Box<DoseError> },

    /// A label rate in the product file cannot be a rate of this product.
    #[error("product {product}, {key}: {reason}")]
    ProductRate { product: String, key: String, reason: Box<DoseError> },

    /// Rates from a label, but no day on which they were taken from it.
    #[error(
        "product {product}: its rates are from a label, but nothing says when it was read; add label_checked = \"YYYY-MM-DD\""
    )]
    LabelRateWithoutDate { product: String },

    /// The day of `label_checked` is no day.
    #[error(
        "product {product}: label_checked {text:?} is not a date; write it like \"2026-05-02\""
    )]
    LabelCheckedNotADate { product: String, text: String },

    /// A bare `oz` of a liquid: both readings make sense.
    #[error(
        "rate {rate:?} of {product}: \"oz\" of a liquid may mean {by_volume} (volume) or {by_weight} (weight); write the one that the label means"
    )]
    WhichOunce { product: String, rate: String, by_volume: String, by_weight: String },

    /// The rate cannot be understood.
    #[error("rate of {product}: {reason}")]
    RateUnit { product: String, reason: UnitError },

    /// A rate of active ingredient, but no content.
    #[error(
        "rate {rate:?} of {product}: its content of active ingredient is not given; add content to the product file or write the rate of product"
    )]
    NoContent { product: String, rate: String },

    /// A rate of active ingredient, but several of them.
    #[error(
        "rate {rate:?} of {product}: it has several active ingredients ({names}), and \"a.i.\" does not say which; write the rate of product"
    )]
    WhichIngredient { product: String, rate: String, names: String },

    /// A content that does not fit the form.
    #[error(
        "rate {rate:?} of {product}: a content of {content} does not say how much is in a {form} product; give the content of a liquid as \"1 lb/gal\" and of a dry product as \"80 %\""
    )]
    ContentOfOtherForm { product: String, rate: String, content: String, form: &'static str },

    /// A rate of active ingredient or nutrient by volume.
    #[error(
        "rate {rate:?} of {product}: an active ingredient or nutrient is counted by weight; write it in lb, oz wt, g or kg, or write the rate of product"
    )]
    PartByVolume { product: String, rate: String },

    /// A rate of a nutrient, but no analysis.
    #[error(
        "rate {rate:?} of {product}: its analysis is not given; add [analysis] to the product file or write the rate of product"
    )]
    NoAnalysis { product: String, rate: String },

    /// A rate of a nutrient that is not in the product.
    #[error(
        "rate {rate:?} of {product}: there is no {nutrient} in {grade}; choose another product or write the rate of product"
    )]
    NoSuchNutrient { product: String, rate: String, nutrient: &'static str, grade: String },

    /// Weight and volume of a liquid, but no density.
    #[error(
        "rate {rate:?} of {product}: a liquid is measured by volume, and its density is not given; add density to the product file, such as \"9.1 lb/gal\", or write the rate by volume{slip}"
    )]
    NoDensity { product: String, rate: String, slip: String },

    /// A volume of something dry.
    #[error(
        "rate {rate:?} of {product}: a {form} product is weighed; write the rate in lb, oz wt, g or kg"
    )]
    VolumeOfDry { product: String, rate: String, form: &'static str },

    /// An amount by volume of something dry, or by weight of a liquid whose density is unknown.
    #[error("{amount} of {product}: {reason}")]
    AmountOfOtherForm { product: String, amount: String, reason: String },

    /// No product at all.
    #[error("rate of {product} is zero; leave the product or the species out instead")]
    ZeroRate { product: String },

    /// Above the cap.
    #[error(
        "rate {rate} of {product} is above the most allowed {limit} ({source_text}); lower the rate"
    )]
    AboveMaximum { product: String, rate: String, limit: String, source_text: String },

    /// Far above or far below every rate in print.
    #[error(
        "rate {rate} of {product} is {times} published, {published}; {slip}check the label and write the rate with its unit; if the label does allow it, say where in rate_is_right"
    )]
    Implausible { product: String, rate: String, times: String, published: String, slip: String },

    /// Above or below all that products of this class and form are put down at.
    #[error(
        "rate {rate} of {product} is {bound} (a bound of this tool); {slip}check the label and write the rate with its unit; if the label does allow it, say where in rate_is_right"
    )]
    BeyondBounds { product: String, rate: String, bound: String, slip: String },

    /// Outside of what the label in the product file gives for this grass.
    #[error("rate {rate} of {product} for {species} is {how}; write one that the label allows")]
    OutsideLabel { product: String, rate: String, species: String, how: String },

    /// The label in the product file gives a range, and nobody chose.
    #[error(
        "{product}: the label gives {label} for {species}, and no figure is chosen; write one inside it, such as {such_as}"
    )]
    ChooseInRange { product: String, label: String, species: String, such_as: String },

    /// The label in the product file gives rates by use or height of cut, and nobody chose.
    #[error(
        "{product}: the label gives {label} for {species}, and nobody says which is meant; write {such_as} beside the product in the job"
    )]
    ChooseUse { product: String, label: String, species: String, such_as: String },

    /// A use or height of cut of which the label does not speak.
    #[error(
        "product {product}, {key}: {text:?} is not on its label as the product file has it; {write}"
    )]
    NotOnLabel { product: String, key: &'static str, text: String, write: String },

    /// Nothing to put down.
    #[error("no product is given; add one to the application")]
    NoProduct,

    /// One product given twice.
    #[error("product {product} is given twice in one application; keep one of the two")]
    ProductTwice { product: String },

    /// A rate filed under a name instead of an id.
    #[error("product {product}, rates: {name:?} is a name; write the id {id:?}")]
    RateByName { product: String, name: String, id: String },

    /// A rate by weight of a liquid or by volume of something dry.
    #[error(
        "rate {rate} of {product} does not fit a {form} product; give liquids by volume and dry products by weight"
    )]
    RateOfOtherForm { product: String, rate: String, form: &'static str },

    /// A sprayer whose tank is not known.
    #[error("equipment {equipment}: its tank is not given; add one, such as tank = \"3 gal\"")]
    NoTank { equipment: String },

    /// A tank or hopper that holds nothing.
    #[error(
        "equipment {equipment}: its tank holds nothing; write what it holds, such as \"{such_as}\""
    )]
    EmptyTank { equipment: String, such_as: &'static str },

    /// A tank by weight or a hopper by volume.
    #[error(
        "equipment {equipment}: the tank of a {kind} is not measured like {tank}; write it like \"{such_as}\""
    )]
    TankOfOtherKind { equipment: String, kind: &'static str, tank: String, such_as: &'static str },

    /// A dead volume that cannot be.
    #[error("equipment {equipment}: its dead volume {what}")]
    DeadVolume { equipment: String, what: String },

    /// A jar with nothing to try in it.
    #[error(
        "nothing to try in a jar: {products} are spread dry; leave the jar test out, or give a product that is liquid or dissolved"
    )]
    NothingInJar { products: String },

    /// A sprayer whose spray volume is not known, is nothing or is a weight.
    #[error(
        "equipment {equipment}: its spray volume is {what}; add what calibration gave, such as spray_volume = \"1.2 gal/1000 sq ft\""
    )]
    NoSprayVolume { equipment: String, what: &'static str },

    /// A spray volume far from all that sprayers put down.
    #[error("equipment {equipment}: its spray volume is {what}")]
    SprayVolumeBeyond { equipment: String, what: String },

    /// A spreader with a spray volume.
    #[error("equipment {equipment}: a spreader sprays nothing; leave spray_volume out")]
    SpreaderWithSpray { equipment: String },

    /// A product that the equipment cannot put down.
    #[error(
        "equipment {equipment}: a {kind} does not put down a {form} product like {product}; {cure}"
    )]
    WrongEquipment {
        equipment: String,
        kind: &'static str,
        form: &'static str,
        product: String,
        cure: &'static str,
    },

    /// A cup or scale whose smallest mark is nothing.
    #[error(
        "equipment {equipment}: the smallest measure is nothing; write the smallest mark, such as \"0.25 fl oz\", or leave it out"
    )]
    NoMeasure { equipment: String },

    /// More liquid product than spray.
    #[error(
        "batch {batch}: the products alone come to {products}, more than the spray volume of {spray}; raise the spray volume or check the rates"
    )]
    NoRoomForWater { batch: usize, products: String, spray: String },

    /// An amount that the user's cup or scale cannot measure.
    #[error(transparent)]
    BelowMeasure(Box<BelowMeasure>),

    /// A rate of active ingredient and a content of acid equivalent, or the other way.
    #[error(
        "product {product}: the rate {rate} counts {}, and the content in its file, {content}, counts {}; {}",
        if *as_acid { "acid equivalent" } else { "active ingredient" },
        if *as_acid { "active ingredient" } else { "acid equivalent" },
        if *as_acid {
            "if the label's content is of the acid, write content such as \"3.8 lb a.e./gal\"; else write the rate as product"
        } else {
            "if the rate is of the acid, write a.e. in it; else write it as product"
        }
    )]
    OtherBasis { product: String, rate: String, content: String, as_acid: bool },

    /// Fills that the user's cup or scale measures to different strengths.
    #[error(
        "batch {batch}: to marks of {mark}, {product} would be stronger in one load than in another; use a finer measure (in mL or g), or a larger tank"
    )]
    TwoStrengths { batch: usize, product: String, mark: String },

    /// So many fills that the tank or the area must be wrong.
    #[error(
        "batch {batch}: {whole} in a tank of {tank} would be {loads} loads; check the unit of the tank and the areas"
    )]
    TooManyLoads { batch: usize, whole: String, tank: String, loads: String },

    /// A container that cannot be bought by, or a price that is no money.
    #[error(
        "product {product}, containers[{place}].{key}: {text:?} is not read here; write {write}"
    )]
    Container { product: String, place: usize, key: &'static str, text: String, write: String },

    /// Prices in two currencies.
    #[error(
        "prices of {product} are in {one} and of {other} in {another}; write all prices of a plan in one currency"
    )]
    Currencies { product: String, one: String, other: String, another: String },

    /// Something in a row of the user's own setback rules.
    #[error("rule {rule}, {key}: {text:?} is not read here; write {write}")]
    RuleValue { rule: String, key: &'static str, text: String, write: String },

    /// The user's own file of setback rules is no such table.
    #[error("line {line}: {reason}")]
    RuleTable { line: u64, reason: String },

    /// Two rules of one name.
    #[error("rule {rule}: there is a rule of that id already; give it another")]
    RuleTwice { rule: String },

    /// No rules are known of such a place.
    #[error(
        "{text:?} is not a place whose rules are known here; {}known are: {known}",
        suggestion(close)
    )]
    UnknownJurisdiction { text: String, close: Vec<String>, known: String },

    #[error(
        "no rule on posting is known here for {text:?}; {}known are: {known}; elsewhere read the rule of the place",
        suggestion(close)
    )]
    NoPostingRule { text: String, close: Vec<String>, known: String },
}

/// An amount that the user's cup or scale cannot measure. In a box of its own, since an
/// error is handed up through every call and should be small.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(
    "batch {batch} ({zones}), load {load} of {loads}: {amount} of {product} is below the smallest mark of {mark}; {cure}"
)]
#[allow(missing_docs)] // The field names say it.
pub struct BelowMeasure {
    pub batch: usize,
    pub zones: String,
    pub load: usize,
    pub loads: usize,
    pub amount: String,
    pub product: String,
    pub mark: String,
    pub cure: &'static str,
}

fn suggestion(close: &[String]) -> String {
    if close.is_empty() { String::new() } else { format!("{} ", did_you_mean(close, "")) }
}
