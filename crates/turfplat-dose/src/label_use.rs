//! Why somebody says where a product is used: one label gives a fairway half of what it gives a lawn,
//! and the lower figure on the lawn does not work, the higher on the fairway burns. The map does not
//! say which is meant, and nobody guesses it.

use turfplat_units::{Length, significant};

use crate::error::DoseError;
use crate::names::{close, did_you_mean, folded};
use crate::product::Product;
use crate::provenance::Basis;
use crate::published::PublishedRate;

/// Rounding of a conversion there and back; a height written as an end is inside.
const ROUNDING: f64 = 1e-9;

impl PublishedRate {
    /// Whether it is for `use`; a rate of no stated use is for every one.
    fn is_for(&self, r#use: &str) -> bool {
        let Some(site) = &self.site else { return true };
        let wanted = folded(r#use);
        folded(site) == wanted || site.split([',', ';']).any(|one| folded(one) == wanted)
    }

    /// Whether it is for turf cut at `height`; a rate of no stated height is for every one.
    fn is_for_cut(&self, height: Length) -> bool {
        let Some(text) = &self.mowing_height else { return true };
        let (low, high) = text.split_once(" to ").unwrap_or((text, text));
        let (Ok(low), Ok(high)) = (low.parse::<Length>(), high.parse::<Length>()) else {
            return false;
        };
        let metres = height.metres();
        metres >= low.metres() * (1.0 - ROUNDING) && metres <= high.metres() * (1.0 + ROUNDING)
    }
}

impl Product {
    /// The product with the label rates for one use, one height of cut or both alone; what is
    /// not given chooses nothing.
    ///
    /// # Errors
    ///
    /// A use or height of which the label rates of the product file do not speak, with those of
    /// which they do.
    pub fn for_use(
        mut self,
        r#use: Option<&str>,
        mowing_height: Option<Length>,
    ) -> Result<Product, DoseError> {
        if let Some(wanted) = r#use {
            let names = self.label_rates().filter_map(|rate| rate.site.clone()).collect();
            let speaks = |rate: &&PublishedRate| rate.site.is_some() && rate.is_for(wanted);
            if !self.label_rates().any(|rate| speaks(&rate)) {
                return Err(self.not_on_label("use", wanted.to_owned(), names));
            }
        }
        if let Some(height) = mowing_height {
            let names = self.label_rates().filter_map(|rate| rate.mowing_height.clone()).collect();
            let speaks =
                |rate: &&PublishedRate| rate.mowing_height.is_some() && rate.is_for_cut(height);
            if !self.label_rates().any(|rate| speaks(&rate)) {
                return Err(self.not_on_label("mowing_height", in_inches(height), names));
            }
        }
        self.rates.retain(|rate| {
            rate.basis != Basis::Label
                || (r#use.is_none_or(|wanted| rate.is_for(wanted))
                    && mowing_height.is_none_or(|height| rate.is_for_cut(height)))
        });
        // What was chosen parts no rows any more: of two that meet at a height of cut the lower is taken.
        for rate in self.rates.iter_mut().filter(|rate| rate.basis == Basis::Label) {
            if let Some(wanted) = r#use {
                rate.site = Some(wanted.trim().to_owned());
            }
            if let Some(height) = mowing_height {
                rate.mowing_height = Some(in_inches(height));
            }
        }
        Ok(self)
    }

    fn not_on_label(&self, key: &'static str, text: String, mut names: Vec<String>) -> DoseError {
        names.sort();
        names.dedup();
        let known = match names.as_slice() {
            [] => format!("its label rates name none; leave {key} out"),
            some => format!("write one of: {}", some.join(", ")),
        };
        let near = close(&text, names.iter().map(String::as_str));
        let write = match key {
            "use" => did_you_mean(&near, &known),
            _ => known,
        };
        DoseError::NotOnLabel { product: self.id.clone(), key, text, write }
    }
}

/// Heights of cut are told in inches, whatever was written.
fn in_inches(height: Length) -> String {
    let inches = height.metres() / Length::METRES_PER_FOOT * 12.0;
    format!("{} in", significant(inches, 3))
}

/// True of two rows that are for different uses or heights of cut.
pub(crate) fn differ(a: &PublishedRate, b: &PublishedRate) -> bool {
    let site = |rate: &PublishedRate| rate.site.as_deref().map(folded);
    site(a) != site(b) || a.mowing_height != b.mowing_height
}
