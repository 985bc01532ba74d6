//! The one property and the one application of it that a command is about.

use anyhow::{Context, bail};
use turfplat::{
    ApplicationError, ApplicationPlan, Job, PlanOptions, Planned, PropertyMap, PropertyPlan, plan,
};

use crate::Output;
use crate::input::{not_for_property, refuse_job_on, tell_refusal};

/// A plan, and whether anything else of the map was refused.
pub(crate) struct OnePlan<'j> {
    pub(crate) plan: PropertyPlan<'j>,
    pub(crate) others_refused: bool,
}

/// The plan of the property that the options name, else of the map's first; `None` where it is refused,
/// which is told.
pub(crate) fn one_plan<'j>(
    map: &PropertyMap,
    job: &'j Job,
    options: &PlanOptions,
    output: &mut Output<'_>,
) -> anyhow::Result<Option<OnePlan<'j>>> {
    let Planned { plans, refusals } = match plan(map, job, options) {
        Ok(planned) => planned,
        Err(error) => {
            refuse_job_on(map, error, output)?;
            return Ok(None);
        }
    };
    for refusal in &refusals {
        tell_refusal(refusal, output.remarks)?;
    }
    match (&options.property, plans.into_iter().next()) {
        (Some(id), None) if refusals.is_empty() => bail!("no property {id:?} has turf on the map"),
        (_, first) => {
            let others_refused = !refusals.is_empty();
            Ok(first.map(|plan| OnePlan { plan, others_refused }))
        }
    }
}

/// The application of that name, else the only one.
pub(crate) fn one_application<'p, 'j>(
    plan: &'p PropertyPlan<'j>,
    asked: Option<&str>,
) -> anyhow::Result<&'p ApplicationPlan<'j>> {
    let its: Vec<&str> = plan.applications.iter().map(|it| it.name).collect();
    match (asked, &plan.applications[..]) {
        (_, []) => bail!(not_for_property(&plan.property, &its, &its)),
        (None, [only]) => Ok(only),
        (None, _) => bail!(ApplicationError::Several { known: its.join(", ") }),
        (Some(asked), all) => (all.iter().find(|it| it.name == asked))
            .with_context(|| not_for_property(&plan.property, &[asked], &its)),
    }
}
