//! The checks: in short for the reader, every criterion and every check in detail for the auditor.

use super::{Sheet, verdicts};
use crate::document::print::{cell, cell_if, ended, is_same_criterion, joined, led, without_empty_columns};
use crate::document::{Align, Block, Paragraph, Row};
use crate::record::{
    ChecksRecord, CriterionRecord, OutcomeWord, OutputCheckRecord, Quantity, ResistanceRecord, SampleCheckRecord,
    Stage, StandardCheckRecord, TemperatureCheckRecord,
};
use crate::rounding::{expanded_uncertainty, prose, typed, with_unit};

/// Every criterion judged, found and left side by side, under which limits and rule.
pub(super) fn criteria(sheet: &Sheet) -> Vec<Block> {
    let print = &sheet.print;
    let found = stage_title(sheet, Stage::AsFound);
    let mut table = print.table(
        "criteria",
        &[
            ("criterion", Align::Left, 2),
            ("warn-limit", Align::Right, 1),
            ("fail-limit", Align::Right, 1),
            (found, Align::Decimal, 1),
            ("outcome", Align::Left, 0),
            ("state-left-title", Align::Decimal, 1),
            ("outcome", Align::Left, 0),
        ],
    );
    let judged = |criterion: &&CriterionRecord| criterion.outcome != OutcomeWord::NotJudged;
    let criteria = || sheet.record.criteria.iter().filter(judged);
    let empty = || vec![cell(""), cell("")];
    for criterion in criteria() {
        let mut both = criteria().filter(|other| is_same_criterion(criterion, other));
        let (found, left) = match (criterion.stage, both.next()) {
            (Stage::AsFound, left) => (Some(criterion), left),
            (Stage::AsLeft, None) => (None, Some(criterion)),
            // Stands beside the one as found already.
            (Stage::AsLeft, Some(_)) => continue,
        };
        let of_state = |criterion: Option<&CriterionRecord>| match criterion {
            Some(criterion) => vec![cell_if(print.criterion_value(criterion)), print.outcome(criterion.outcome)],
            None => empty(),
        };
        let mut cells = vec![
            cell(print.criterion_name(criterion, sheet.record.quantity)),
            cell_if(print.warn_limit(criterion, "")),
            cell_if(print.fail_limit(criterion, "")),
        ];
        cells.extend(of_state(found));
        cells.extend(of_state(left));
        table.rows.push(Row::Cells(cells));
    }
    let mut blocks = Vec::new();
    if !table.rows.is_empty() {
        let (limits, rule) = (verdicts::limits_name(sheet), verdicts::rule(sheet));
        let heading = print.say("criteria-under", &[("limits", &limits), ("rule", &rule)]);
        blocks.extend([Block::Heading(heading), Block::Table(without_empty_columns(table))]);
    }
    blocks
}

/// What was asked for and could not be judged, together where the reason is the same.
pub(super) fn not_judged(sheet: &Sheet) -> Option<Paragraph> {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    let criteria = sheet.record.criteria.iter();
    for criterion in criteria.filter(|criterion| criterion.outcome == OutcomeWord::NotJudged) {
        let name = sheet.print.criterion_of(criterion, sheet.record.quantity);
        let name = joined([Some(name), Some(sheet.label(stage_word(sheet, criterion.stage)))]);
        let reason = criterion.reason.as_deref().map(|code| sheet.print.word("unjudged", code));
        let reason = reason.unwrap_or_else(|| sheet.label("no-reason"));
        match groups.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(name),
            None => groups.push((reason, vec![name])),
        }
    }
    let told = groups
        .into_iter()
        .map(|(reason, names)| format!("{}{} {}", sheet.print.series(&names), sheet.label("colon"), ended(reason)));
    let told = told.collect::<Vec<_>>().join(" ");
    (!told.is_empty()).then(|| led(sheet.label("not-judged"), told))
}

fn stage_title(sheet: &Sheet, stage: Stage) -> &'static str {
    match (stage, sheet.is_untouched()) {
        (Stage::AsFound, true) => "state-untouched-title",
        (Stage::AsFound, false) => "state-found-title",
        (Stage::AsLeft, _) => "state-left-title",
    }
}

fn stage_word(sheet: &Sheet, stage: Stage) -> &'static str {
    match (stage, sheet.is_untouched()) {
        (Stage::AsFound, true) => "state-untouched",
        (Stage::AsFound, false) => "state-found",
        (Stage::AsLeft, _) => "state-left",
    }
}

/// Every check with what was typed, what was expected, and what was asked for and not done.
pub(super) fn in_detail(sheet: &Sheet) -> Vec<Block> {
    let record = sheet.record;
    let mut list = Vec::new();
    list.extend(of_state(sheet, Stage::AsFound, &record.as_found.checks));
    if let Some(left) = &record.as_left {
        list.extend(of_state(sheet, Stage::AsLeft, &left.checks));
    }
    match list.is_empty() {
        true => Vec::new(),
        false => vec![sheet.heading("checks-detail"), Block::List(list)],
    }
}

fn of_state(sheet: &Sheet, stage: Stage, checks: &ChecksRecord) -> Vec<Paragraph> {
    let state = sheet.label(stage_word(sheet, stage));
    let named = |key: &str, text: String| {
        let check = sheet.print.word("check", key);
        led(joined([Some(check), Some(state.clone())]), ended(text))
    };
    let mut list = Vec::new();
    list.extend(checks.standard.iter().map(|check| named("standard", standard(sheet, check))));
    let temperatures = checks.temperature.iter();
    list.extend(temperatures.map(|check| named("temperature", temperature(sheet, check))));
    let outputs: Vec<String> = checks.output.iter().map(|check| output(sheet, check)).collect();
    list.extend((!outputs.is_empty()).then(|| named("output", sheet.print.series(&outputs))));
    list.extend(checks.sample.iter().map(|check| named("sample", sample(sheet, check))));
    let resistances =
        [("glass_resistance", &checks.glass_resistance), ("reference_resistance", &checks.reference_resistance)];
    for (key, check) in resistances {
        list.extend(check.iter().map(|check| named(key, resistance(sheet, check))));
    }
    list.extend(
        checks
            .not_done
            .iter()
            .map(|(check, reason)| named(check, sheet.print.say("not-done", &[("reason", &prose(reason))]))),
    );
    list
}

fn standard(sheet: &Sheet, check: &StandardCheckRecord) -> String {
    let (print, quantity) = (&sheet.print, sheet.record.quantity);
    let expected = match quantity {
        Quantity::Ph => format!("pH\u{a0}{}", print.fixed(check.expected, 3, "")),
        Quantity::Redox => print.fixed(check.expected, 1, "mV"),
    };
    let unit = match quantity {
        Quantity::Ph => "",
        Quantity::Redox => "mV",
    };
    let known =
        uncertainty(sheet, check.error_uncertainty, unit).map_or_else(String::new, |known| format!(", {known}"));
    print.say(
        "check-standard",
        &[
            ("standard", &check.standard),
            ("temperature", &print.typed(&check.temperature_typed, "°C")),
            ("expected", &expected),
            ("shown", &print.typed_indication(quantity, &check.shown_typed)),
            ("error", &print.difference(quantity, check.error, check.decimals)),
            ("known", &known),
        ],
    )
}

/// `U 0.21 °C`, where it is known.
fn uncertainty(sheet: &Sheet, expanded: Option<f64>, unit: &str) -> Option<String> {
    let value = expanded_uncertainty(expanded?, sheet.print.sign).0;
    Some(sheet.print.say("check-uncertainty", &[("value", &with_unit(&value, unit))]))
}

fn temperature(sheet: &Sheet, check: &TemperatureCheckRecord) -> String {
    let print = &sheet.print;
    let typed = |text: &Option<String>, unit| text.as_ref().map(|text| print.typed(text, unit));
    let say = |key: &str, value: Option<String>| value.map(|value| print.say(key, &[("value", &value)]));
    let resistance = typed(&check.resistance_typed, "Ω").map(|resistance| match check.resistance_means_c {
        Some(means) => {
            print.say("check-resistance-means", &[("value", &resistance), ("means", &print.fixed(means, 1, "°C"))])
        }
        None => print.say("check-resistance", &[("value", &resistance)]),
    });
    let error = check.error_c.map(|error| print.signed(error, check.decimals, "°C"));
    let cost = check.cost_at_ph_4.map(|cost| print.signed(cost, 3, ""));
    let element = Option::zip(check.element_error_c, check.class_b_tolerance_c).map(|(error, tolerance)| {
        let (error, tolerance) = (print.signed(error, 1, "°C"), print.fixed(tolerance, 2, "°C"));
        print.say("check-element-error", &[("error", &error), ("tolerance", &tolerance)])
    });
    joined([
        say("check-reference", Some(print.typed(&check.reference_typed, "°C"))),
        say("check-shown", typed(&check.shown_typed, "°C")),
        say("check-error", error),
        uncertainty(sheet, check.error_uncertainty_c, "°C"),
        resistance,
        element,
        say("check-cost", cost),
    ])
}

fn output(sheet: &Sheet, check: &OutputCheckRecord) -> String {
    let (print, quantity) = (&sheet.print, sheet.record.quantity);
    let say = |key: &str, value: Option<String>| value.map(|value| print.say(key, &[("value", &value)]));
    let read = check.ma_typed.as_ref().map(|ma| print.typed(ma, "mA"));
    let expected = check.expected_ma.map(|ma| print.fixed(ma, 2, "mA"));
    let error = check.error_percent.map(|error| print.signed(error, 2, "%"));
    let room = check.control_room_typed.as_ref();
    let room = room.map(|room| print.typed_indication(quantity, room));
    let room_error = check.control_room_error_percent;
    let room_error = room_error.map(|error| print.signed(error, 2, "%"));
    let fault = check.fault_current.as_ref().map(|fault| print.word("fault", fault));
    joined([
        check.simulated.then(|| sheet.label("check-simulated")),
        say("check-shown", Some(print.typed_indication(quantity, &check.shown_typed))),
        say("check-current", read),
        say("check-expected", expected),
        say("check-span-error", error),
        uncertainty(sheet, check.error_uncertainty_percent, "%"),
        say("check-control-room", room),
        say("check-span-error", room_error),
        fault,
    ])
}

fn sample(sheet: &Sheet, check: &SampleCheckRecord) -> String {
    let (print, quantity) = (&sheet.print, sheet.record.quantity);
    let say = |key: &str, value: Option<String>| value.map(|value| print.say(key, &[("value", &value)]));
    let indication = |text: &str| Some(print.typed_indication(quantity, text));
    let minutes = check.minutes.map(|minutes| print.fixed(minutes, 0, "min"));
    let mut text = joined([
        say("check-shown", indication(&check.shown_typed)),
        say("check-in-sample", indication(&check.reference_typed)),
        say("check-difference", Some(print.difference(quantity, check.difference, check.decimals))),
        say("check-taken", check.taken.as_ref().map(|at| print.moment(at))),
        say("check-measured", check.measured.as_ref().map(|at| print.moment(at))),
        say("check-minutes", minutes),
        say("by-name", check.by.clone()),
        say("check-method", check.method.as_deref().map(prose)),
        source(sheet, check.source.as_deref()),
    ]);
    if check.within_holding_time == Some(false) {
        text = format!("{text}. {}", sheet.label("sample-late"));
    }
    text
}

/// Whose value it is: one that comes from others is marked as such.
fn source(sheet: &Sheet, source: Option<&str>) -> Option<String> {
    Some(match source? {
        "client" => sheet.label("source-client"),
        other => sheet.print.say("source-other", &[("source", other)]),
    })
}

fn resistance(sheet: &Sheet, check: &ResistanceRecord) -> String {
    let at = check.temperature_typed.as_ref();
    let at = at.map(|at| sheet.print.say("at-temperature", &[("value", &sheet.print.typed(at, "°C"))]));
    joined([Some(typed(&check.typed, sheet.print.sign)), at])
}
