//! Until when a document must be kept at least. Nothing ever deletes one.

use super::KeepFacts;
use crate::limits::{Limits, Regime};
use crate::problem::Place;
use crate::quantity::{Span, SpanUnit};
use crate::visit::Visit;

/// Years for which the records of a permit are kept, calibration and maintenance records included.
///
/// Source: 40 CFR 122.41(j)(2): at least 3 years from the date of the measurement; longer where the authority asks.
const PERMIT_YEARS: u32 = 3;

/// The day of the work (its last, where it took several) and the longest time that applies: that of a permit, and those that
/// limits and client file name. Nothing where no rule says so: nothing is invented for the other regimes.
pub(super) fn until(visit: &Visit, limits: &Limits) -> Option<KeepFacts> {
    let last = visit.finished.as_ref().unwrap_or(&visit.started);
    let day = last.instant.date_naive();
    let of_permit = match limits.requirements {
        Regime::Permit => Some(Span { count: PERMIT_YEARS, unit: SpanUnit::Years, place: Place::default() }),
        Regime::Plain | Regime::Gmp | Regime::Laboratory => None,
    };
    let rules =
        [("permit", of_permit.as_ref()), ("limits", limits.keep.as_ref()), ("client", visit.client.keep.as_ref())];
    let days = rules.into_iter().filter_map(|(rule, span)| Some((rule, span?, span?.after(day))));
    // Of equally long times the first is named.
    let (rule, span, until) = days.reduce(|longest, other| if other.2 > longest.2 { other } else { longest })?;
    Some(KeepFacts { until: until.to_string(), rule: rule.to_owned(), span: span.text() })
}
