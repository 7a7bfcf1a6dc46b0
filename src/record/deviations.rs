//! Deviations: what a reader must know that departs from the procedure or could not be done.

use super::*;
use crate::problem::Fact;
use crate::visit::Visit;

/// What the record itself shows; remarks of the check step are put before it by [`crate::requirements`].
pub fn list(
    visit: &Visit,
    as_found: &StateRecord,
    remedies: &[RemedyRecord],
    as_left: Option<&StateRecord>,
) -> Vec<Deviation> {
    let mut list = Vec::new();
    state(&mut list, "as found", as_found);
    for remedy in remedies {
        let after = remedy.after.iter().flat_map(|figures| &figures.readings);
        after.for_each(|row| reading(&mut list, &format!("after «{}»", remedy.remedy), row));
    }
    if let Some(left) = as_left {
        state(&mut list, "as left", left);
    }
    if visit.kit.instruments.is_empty() {
        let what = "no instrument is listed: temperatures are those that the analyser shows";
        let code = "no-instruments-listed".to_owned();
        list.push(Deviation { code, what: what.to_owned(), reason: None, facts: Facts::default() });
    }
    list
}

fn state(list: &mut Vec<Deviation>, stage: &str, state: &StateRecord) {
    if let Some(reason) = &state.not_obtained {
        let code = format!("{}-not-obtained", stage.replace(' ', "-"));
        list.push(said(&code, format!("{stage} was not obtained"), reason, Facts::default()));
    }
    for (check, reason) in &state.checks.not_done {
        let what = format!("{stage}: the check «{}» was not made", check.replace('_', " "));
        let facts = Facts::of([("stage", Fact::stage(stage)), ("check", Fact::word("check", check.clone()))]);
        list.push(said("check-not-done", what, reason, facts));
    }
    state.figures.readings.iter().for_each(|row| reading(list, stage, row));
}

fn reading(list: &mut Vec<Deviation>, stage: &str, row: &ReadingRecord) {
    let standard = &row.standard;
    let on = [("stage", Fact::stage(stage)), ("standard", Fact::text(standard))];
    if let Some(reason) = &row.temperature_assumed {
        let what = format!("{stage}, {standard}: the temperature {} was assumed, not measured", row.temperature_typed);
        let temperature = ("temperature", Fact::typed(&row.temperature_typed));
        list.push(said("temperature-assumed", what, reason, Facts::of([on[0].clone(), on[1].clone(), temperature])));
    }
    if let Some(reason) = &row.excluded {
        let what = format!("{stage}, {standard}: the reading is left out of the fit");
        list.push(said("reading-excluded", what, reason, Facts::of(on)));
    }
}

fn said(code: &str, what: String, reason: &str, facts: Facts) -> Deviation {
    Deviation { code: code.to_owned(), what, reason: Some(reason.to_owned()), facts }
}
