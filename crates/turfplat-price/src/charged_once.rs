//! Why a product is charged in one way in a quote: what is bought for the season covers all its uses, so
//! a share of it on top would be charged twice, and nobody who adds up the lines would see it.

use crate::list::{PriceList, ProductBy, Service};
use crate::work::{Property, QuoteError, ServiceUse, Work};

impl PriceList {
    /// Refuses a product that one service charges by the container and another by the share.
    pub(crate) fn check_charged_once(&self, property: &Property<'_>) -> Result<(), QuoteError> {
        let works = property.visits.iter().flat_map(|visit| &visit.works);
        let works: Vec<(&Work<'_>, &Service, ProductBy)> = works
            .filter(|work| !work.zones.is_empty())
            .filter_map(|work| {
                let service = self.service_for(work)?;
                Some((work, service, service.product?.by))
            })
            .collect();
        let of = |by: ProductBy| works.iter().filter(move |(_, _, theirs)| *theirs == by);
        let used = |work: &Work<'_>, service: &Service| {
            Box::new(ServiceUse {
                service: service.name.clone(),
                file: self.file.clone(),
                line: service.line,
                application: work.application.to_owned(),
            })
        };
        for (whole_work, whole, _) in of(ProductBy::Container) {
            for (part_work, part, _) in of(ProductBy::Share) {
                let both = whole_work.products.iter().find(|id| part_work.products.contains(id));
                let Some(product) = both else { continue };
                return Err(QuoteError::ChargedTwice {
                    product: (*product).to_owned(),
                    whole: used(whole_work, whole),
                    part: used(part_work, part),
                });
            }
        }
        Ok(())
    }
}
