//! The document of `posting`, one for each application of a property:
//!
//! * `property`, `application`, `state`, `state_name`, `date`, `treated_until` (as 2026-06-08T10:30), `notice`
//!   (`what`, `text`; null is a blank), `sign`, `height`, `sign_stands`, `placed`, `markers`, `keep_off`,
//!   `notes`, `cautions`, `source`, `status`, `read`; null is what is not known.
//! * `markers`: `count` (null where no number follows from the rule), `spacing_m`, `how`, `pieces` (`zones`,
//!   `perimeter_m`, `area_m2`, `markers`).
//! * `keep_off`: `text`, `until` (by the clock, where it is known), `governs` (its place in `said`, from 0),
//!   `said` (`by`, `text`, `hours`, `until`), `not_given` (products).

use serde_json::{Value, json};
use turfplat_dose::{KeepOff, KeepOffSaid, Moment, Status};
use turfplat_units::Length;

use crate::posting::{Piece, Posting};

/// The document of what is posted for one application.
pub fn posting_json(posting: &Posting<'_>) -> Value {
    let Posting { rule, markers, keep_off, .. } = posting;
    let notice = posting.notice.iter().map(|it| json!({ "what": it.what, "text": it.text }));
    json!({
        "property": posting.property,
        "application": posting.application,
        "state": rule.state,
        "state_name": rule.state_name,
        "date": posting.treated.day.map(|day| day.to_string()),
        "treated_until": posting.treated.end.map(Moment::iso),
        "notice": notice.collect::<Vec<_>>(),
        "sign": rule.sign,
        "height": rule.height,
        "sign_stands": rule.sign_stands,
        "placed": rule.placed,
        "markers": {
            "count": markers.count,
            "spacing_m": rule.spacing.map(Length::metres),
            "how": markers.how,
            "pieces": markers.pieces.iter().map(piece).collect::<Vec<_>>(),
        },
        "keep_off": {
            "text": keep_off.words(),
            "until": keep_off.until().map(Moment::iso),
            "governs": keep_off.governs,
            "said": keep_off.said.iter().map(said).collect::<Vec<_>>(),
            "not_given": keep_off.not_given,
        },
        "notes": posting.notes,
        "cautions": posting.cautions,
        "source": rule.provenance.source,
        "status": rule.provenance.status.map(Status::mark),
        "read": rule.provenance.read,
    })
}

fn piece(piece: &Piece) -> Value {
    json!({
        "zones": piece.zones,
        "perimeter_m": piece.perimeter.metres(),
        "area_m2": piece.area.square_metres(),
        "markers": piece.markers,
    })
}

fn said(said: &KeepOffSaid) -> Value {
    let hours = match said.time {
        KeepOff::Hours(hours) => Some(hours.hours()),
        KeepOff::NextDay | KeepOff::Words(_) => None,
    };
    json!({
        "by": said.by,
        "text": said.time.to_string(),
        "hours": hours,
        "until": said.until.map(Moment::iso),
    })
}
