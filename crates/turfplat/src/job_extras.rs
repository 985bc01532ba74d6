//! Why these parts of a job are read apart: rules and prices of one's own are tables in themselves,
//! and neither says anything of what goes on which zone.

use std::collections::BTreeMap;

use turfplat_dose::{Container, ContainerText, Product, RuleSet, RuleText, containers};

use crate::job::{Application, Reader};
use crate::job_error::JobError;
use crate::job_file::{BuyTable, Price, RuleTable};

impl Reader<'_> {
    /// The rules of the table, with those of a file and of the job.
    pub(crate) fn own_rules(
        &self,
        path: Option<&str>,
        rows: Vec<RuleTable>,
    ) -> Result<RuleSet, JobError> {
        let mut rules = RuleSet::default();
        if let Some(path) = path {
            let key = "site.rules";
            let text = (self.load)(path).map_err(|reason| JobError::RulesFile {
                file: self.file.into(),
                key: key.into(),
                path: path.into(),
                reason,
            })?;
            rules.add_table(&text).map_err(|error| self.dose(format!("{key} ({path})"), error))?;
        }
        for (place, row) in rows.into_iter().enumerate() {
            let text = RuleText {
                id: row.id,
                jurisdiction: row.jurisdiction,
                kind: row.kind,
                activity: row.activity,
                products: row.products,
                base: row.base,
                reduced: row.reduced,
                reduced_by: row.reduced_by.into_vec(),
                waived_behind: row.waived_behind,
                binds: row.binds,
                measured_from: row.measured_from,
                conditions: row.conditions,
                source: row.source,
                read: row.read,
            };
            rules.add(text).map_err(|error| self.dose(format!("rule[{place}]"), error))?;
        }
        Ok(rules)
    }

    /// What products are sold in where the job says so. A product that no application uses is a slip
    /// of the pen.
    pub(crate) fn containers(
        &self,
        tables: BTreeMap<String, BuyTable>,
        applications: &[Application],
    ) -> Result<BTreeMap<String, Vec<Container>>, JobError> {
        let products = || {
            applications.iter().flat_map(|one| one.products.iter().map(|chosen| &chosen.product))
        };
        let mut read = BTreeMap::new();
        for (id, table) in tables {
            let key = format!("buy.{id:?}");
            let product: Option<&Product> = products().find(|product| product.id == id);
            let Some(product) = product else {
                let mut known: Vec<&str> = products().map(|product| product.id.as_str()).collect();
                known.dedup();
                return Err(self.unknown(&key, &id, known.join(", ")));
            };
            let texts = table.containers.into_iter().map(|one| ContainerText {
                size: one.size,
                price: one.price.map(Price::into_text),
            });
            let of_product = containers(&id, product.form, texts);
            read.insert(id.clone(), of_product.map_err(|error| self.dose(&key, error))?);
        }
        Ok(read)
    }
}
