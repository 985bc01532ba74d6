use std::sync::LazyLock;

use crate::error::DoseError;
use crate::names::{close, folded};
use crate::product::Product;

/// The product files of `data/products/`.
pub(crate) const FILES: [&str; 2] = [
    include_str!("../../../data/products/trinexapac-ethyl-1-ec.toml"),
    include_str!("../../../data/products/urea-46-0-0.toml"),
];

static PRODUCTS: LazyLock<Vec<Product>> = LazyLock::new(|| {
    // A file that cannot be read would be missing; a test counts them.
    FILES.into_iter().filter_map(|text| Product::from_toml(text).ok()).collect()
});

/// The products known here, by active ingredient and content or by analysis. None has a
/// label rate: that comes from the user.
pub fn products() -> &'static [Product] {
    &PRODUCTS
}

/// The product of this id; case, spacing and hyphens do not matter.
///
/// # Errors
///
/// [`DoseError::UnknownProduct`] with the ids that are close.
pub fn find_product(id: &str) -> Result<&'static Product, DoseError> {
    let wanted = folded(id);
    let named =
        |product: &&Product| folded(&product.id) == wanted || folded(&product.name) == wanted;
    products().iter().find(named).ok_or_else(|| DoseError::UnknownProduct {
        id: id.trim().to_owned(),
        close: close(id, products().iter().map(|product| product.id.as_str())),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::provenance::Basis;

    #[test]
    fn every_product_file_can_be_read() {
        for text in FILES {
            Product::from_toml(text).unwrap();
        }
        assert_eq!(products().len(), FILES.len());
    }

    #[test]
    fn no_product_known_here_brings_a_label_rate() {
        for product in products() {
            assert_eq!(product.label_checked, None, "{}", product.id);
            assert!(product.rates.iter().all(|rate| rate.basis != Basis::Label), "{}", product.id);
        }
    }

    #[test]
    fn a_misspelt_product_is_answered_with_close_ones() {
        assert_eq!(find_product("Urea 46-0-0").map(|p| p.id.as_str()), Ok("urea-46-0-0"));
        assert_eq!(
            find_product("trinexapac-ethly-1-ec").unwrap_err().to_string(),
            "\"trinexapac-ethly-1-ec\" is not a product known here; \
             did you mean \"trinexapac-ethyl-1-ec\"?"
        );
        assert_eq!(
            find_product("magic").unwrap_err().to_string(),
            "\"magic\" is not a product known here; \
             write an id from the product list or the path of a product file"
        );
    }
}
