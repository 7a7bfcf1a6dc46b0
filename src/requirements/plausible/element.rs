//! A resistance that no temperature gives the platinum element of the probe.

use crate::problem::{Fact, Problem};
use crate::record::StateRecord;
use crate::visit::{Check, State};

/// A problem for each temperature check of a state whose resistance the element cannot have.
pub(super) fn problems(state: Option<&State>, record: &StateRecord) -> Vec<Problem> {
    let Some(Check::Done(checks)) = state.and_then(|state| state.checks.temperature.as_ref()) else {
        return Vec::new();
    };
    let impossible = checks.iter().zip(&record.checks.temperature).filter_map(|(check, row)| {
        let known = row.expected_ohm.is_some() && row.resistance_means_c.is_none();
        check.resistance.as_ref().filter(|_| known)
    });
    let told = impossible.map(|resistance| {
        Problem::warning(
            "element-resistance",
            &resistance.place,
            format!("the element of this probe has `{}` at no temperature (IEC 60751)", resistance.text),
            "it is open, shorted or another element than the file says; a Pt1000 has ten times the resistance of a Pt100",
            "correct the resistance or `temperature_element:`; if it was so, accept it with the reason",
        ).about([("resistance", Fact::typed(&resistance.text))])
    });
    told.collect()
}
