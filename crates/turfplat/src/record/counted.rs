//! Why a record keeps what limits count of a product: years later the job that it was made of names others,
//! and what lies on the ground still counts. It is written as a product file is, and read by the same reader.

use serde_json::{Map, Value, json};
use turfplat_dose::Product;

/// What limits need of `product`, with the keys of a product file.
pub(crate) fn counted(product: &Product) -> Value {
    let mut keys = Map::new();
    keys.insert("id".to_owned(), product.id.clone().into());
    keys.insert("name".to_owned(), product.name.clone().into());
    keys.insert("form".to_owned(), product.form.word().into());
    if let Some(class) = product.class {
        keys.insert("class".to_owned(), class.word().into());
    }
    let actives = product.active_ingredients.iter().map(|one| match &one.content_text {
        Some(content) => json!({ "name": one.name, "content": content }),
        None => json!({ "name": one.name }),
    });
    keys.insert("active_ingredients".to_owned(), actives.collect());
    if let Some(density) = product.density {
        let text = format!("{} kg/L", density.grams_per_millilitre());
        keys.insert("density".to_owned(), text.into());
    }
    if let Some(analysis) = product.analysis {
        let percent = |share: f64| format!("{} %", share * 100.0);
        let mut shares = Map::new();
        let all = [("n", analysis.n), ("p2o5", analysis.p2o5), ("k2o", analysis.k2o)];
        let soluble = analysis.soluble_n_share.map(|it| ("soluble_n_share", it));
        for (key, share) in all.into_iter().chain(soluble) {
            shares.insert(key.to_owned(), percent(share).into());
        }
        keys.insert("analysis".to_owned(), shares.into());
    }
    Value::Object(keys)
}

/// The product `id` as the plan of a record knew it; `None` of records of earlier releases.
pub(crate) fn product_of_plan(plan: Option<&Value>, id: &str) -> Option<Product> {
    let known = plan?["products"].as_array()?.iter().find(|it| it["id"] == id)?;
    Product::from_toml(&toml::to_string(known).ok()?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_limits_count_comes_back_from_a_record() {
        for product in turfplat_dose::products() {
            let plan = json!({ "products": [counted(product)] });
            let back = product_of_plan(Some(&plan), &product.id).expect(&product.id);
            assert_eq!((back.form, back.class), (product.form, product.class), "{}", product.id);
            assert_eq!(back.active_ingredients, product.active_ingredients, "{}", product.id);
            let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
                (Some(a), Some(b)) => (a - b).abs() < 1e-12,
                (a, b) => a.is_none() && b.is_none(),
            };
            let (ours, theirs) = (back.analysis, product.analysis);
            assert!(near(ours.map(|it| it.n), theirs.map(|it| it.n)), "{}", product.id);
            let soluble =
                |it: Option<turfplat_dose::Analysis>| it.and_then(|it| it.soluble_n_share);
            assert!(near(soluble(ours), soluble(theirs)), "{}", product.id);
            let weight = |it: &Product| it.density.map(|it| it.grams_per_millilitre());
            assert!(near(weight(&back), weight(product)), "{}", product.id);
        }
    }
}
