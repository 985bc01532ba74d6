use std::sync::LazyLock;

use crate::error::DoseError;
use crate::names::{close, folded};
use crate::product::Product;

/// The product files of `data/products/`.
pub(crate) const FILES: [&str; 21] = [
    include_str!("../../../data/products/trinexapac-ethyl-1-ec.toml"),
    include_str!("../../../data/products/prohexadione-calcium-27-5-wdg.toml"),
    include_str!("../../../data/products/paclobutrazol-2-sc.toml"),
    include_str!("../../../data/products/flurprimidol-50-wp.toml"),
    include_str!("../../../data/products/mefluidide-2-s.toml"),
    include_str!("../../../data/products/prodiamine-65-wdg.toml"),
    include_str!("../../../data/products/pendimethalin-3-3-ec.toml"),
    include_str!("../../../data/products/dithiopyr-40-wsp.toml"),
    include_str!("../../../data/products/2-4-d-amine-3-8-sl.toml"),
    include_str!("../../../data/products/triclopyr-4-ec.toml"),
    include_str!("../../../data/products/quinclorac-75-wdg.toml"),
    include_str!("../../../data/products/imidacloprid-2-f.toml"),
    include_str!("../../../data/products/chlorantraniliprole-1-67-sc.toml"),
    include_str!("../../../data/products/propiconazole-1-3-me.toml"),
    include_str!("../../../data/products/azoxystrobin-50-wdg.toml"),
    include_str!("../../../data/products/urea-46-0-0.toml"),
    include_str!("../../../data/products/ammonium-sulfate-21-0-0.toml"),
    include_str!("../../../data/products/slow-release-32-0-0.toml"),
    include_str!("../../../data/products/calcium-nitrate-15-5-0-0.toml"),
    include_str!("../../../data/products/ferrous-sulfate-20-fe.toml"),
    include_str!("../../../data/products/calcitic-lime.toml"),
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
    fn the_folder_holds_what_is_listed_here() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/products");
        let mut there: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        let mut here: Vec<String> =
            products().iter().map(|product| format!("{}.toml", product.id)).collect();
        there.sort();
        here.sort();
        assert_eq!(there, here);
    }

    #[test]
    fn every_value_says_source_status_basis_and_day() {
        for product in products() {
            for fact in product.facts().iter().filter(|fact| fact.given.is_some()) {
                let from = &fact.from;
                let all = from.basis.is_some()
                    && from.provenance.source.is_some()
                    && from.provenance.status.is_some()
                    && from.provenance.read.is_some();
                assert!(all, "{}, {}: {from:?}", product.id, fact.key);
            }
            for caution in &product.cautions {
                assert!(caution.provenance.status.is_some(), "{}", product.id);
                assert!(caution.provenance.read.is_some(), "{}", product.id);
            }
            assert_eq!(product.doubts("2026-11-30"), Vec::<String>::new(), "{}", product.id);
        }
    }

    #[test]
    fn nothing_of_the_library_is_dosed() {
        for product in products() {
            let chosen = crate::ChosenProduct::at_its_label_rates(product.clone()).unwrap();
            assert_eq!(chosen.label_checked, None, "{}", product.id);
            assert_eq!(chosen.rates.all(), Vec::new(), "{}", product.id);
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
