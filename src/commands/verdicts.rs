//! What other limits make of certificates, as a person reads it: verdicts that change first, each with the criterion that
//! governs.

use super::check::counted;
use super::table::{Style, padded, said_limit};
use crate::issue::{Governing, Row};
use crate::record::{LimitRecord, OutcomeWord, Stage, Verdict};
use crate::rounding::{DecimalSign, beside, fixed, signed};
use serde::Serialize;
use std::collections::BTreeMap;

/// Widths of the columns: number, day.
const NUMBER: usize = 28;
const DAY: usize = 12;

/// The table: verdicts that change, then those that stay, then the totals.
pub fn table(limits: &str, rows: &[Row], quiet: bool, style: Style) -> String {
    let mut out = format!("{}\n", style.bold(&format!("Judged by {limits}")));
    let (flips, rest): (Vec<&Row>, Vec<&Row>) = rows.iter().partition(|row| row.old != row.new);
    if !flips.is_empty() {
        out += &format!("\n{}\n", style.bold("Verdicts that change"));
        flips.iter().for_each(|row| out += &flip(row, style));
    }
    if !rest.is_empty() && !quiet {
        out += &format!("\n{}\n", style.bold("Verdicts that stay"));
        rest.iter().for_each(|row| out += &stays(row));
    }
    let by_program: Vec<&Row> = rows.iter().filter(|row| !row.program.is_empty()).collect();
    if !by_program.is_empty() {
        out += &format!(
            "\n{}\n",
            style.bold("Computed otherwise by this version of the program, by the limits as issued")
        );
        by_program.iter().for_each(|row| out += &program(row));
    }
    out + &format!("\n{}\n", totals(rows))
}

/// One certificate as one line of JSON.
pub fn json<'r>(row: &'r Row) -> String {
    #[derive(Serialize)]
    struct Line<'a> {
        number: &'a str,
        client: &'a str,
        tag: &'a str,
        started: &'a str,
        limits: &'a str,
        before: States,
        now: States,
        changes: bool,
        outcomes_changed: usize,
        judged_already: bool,
        governing: Vec<Criterion<'a>>,
        computed_otherwise: Vec<[&'a str; 3]>,
    }
    #[derive(Serialize)]
    struct States {
        as_found: Option<Verdict>,
        as_left: Option<Verdict>,
    }
    #[derive(Serialize)]
    struct Criterion<'a> {
        name: &'a str,
        stage: Stage,
        of: &'a Option<String>,
        value: Option<f64>,
        unit: &'a str,
        limit_before: &'a LimitRecord,
        outcome_before: OutcomeWord,
        limit_now: &'a LimitRecord,
        outcome_now: OutcomeWord,
    }
    let states = |[as_found, as_left]: [Option<Verdict>; 2]| States { as_found, as_left };
    let criterion = |it: &'r Governing| {
        let Governing { old, new, unit, .. } = it;
        Criterion {
            name: &new.name,
            stage: new.stage,
            of: &new.of,
            value: new.value,
            unit,
            limit_before: &old.limit,
            outcome_before: old.outcome,
            limit_now: &new.limit,
            outcome_now: new.outcome,
        }
    };
    let line = Line {
        number: &row.number,
        client: &row.client,
        tag: &row.tag,
        started: &row.started,
        limits: &row.limits,
        before: states(row.old),
        now: states(row.new),
        changes: row.old != row.new,
        outcomes_changed: row.outcomes_changed,
        judged_already: row.is_judged,
        governing: row.governing.iter().map(criterion).collect(),
        computed_otherwise: row.program.iter().map(|it| [it.path.as_str(), &it.old, &it.new]).collect(),
    };
    serde_json::to_string(&line).expect("a line has text keys and finite numbers only") + "\n"
}

fn head(row: &Row) -> String {
    let day = row.started.split(['T', ' ']).next().unwrap_or_default();
    format!("{} {}", padded(&row.number, NUMBER), padded(day, DAY))
}

fn flip(row: &Row, style: Style) -> String {
    let stages = ["as found", "as left"].into_iter().enumerate();
    let changes = stages.filter(|(at, _)| row.old[*at] != row.new[*at]);
    let indent = " ".repeat(NUMBER + 1 + DAY);
    let mut out = String::new();
    for (count, (at, stage)) in changes.enumerate() {
        let begin = if count == 0 { head(row) } else { indent.clone() };
        out += &format!("{begin}{stage} {} → {}\n", style.verdict(row.old[at]), style.verdict(row.new[at]));
        if let Some(governing) = row.governing.get(count) {
            out += &format!("  {}\n", criterion(governing));
        }
    }
    out
}

/// `slope 83.2 %: at least 80 %, now at least 85 %`.
fn criterion(of: &Governing) -> String {
    let Governing { old, new, unit, decimals } = of;
    let is_error = new.name.ends_with("_error");
    let name = if is_error { "error".to_owned() } else { new.name.replace('_', " ") };
    let what = match &new.of {
        Some(of) if is_error => format!("{name} in {of}"),
        Some(of) => format!("{name} ({of})"),
        None => name,
    };
    let bounds = |limit: &LimitRecord, outcome: OutcomeWord| match outcome {
        OutcomeWord::Warn => (limit.warn_low, limit.warn_high),
        OutcomeWord::Pass
        | OutcomeWord::NotJudged
        | OutcomeWord::ConditionalPass
        | OutcomeWord::ConditionalFail
        | OutcomeWord::Fail => (limit.fail_low, limit.fail_high),
    };
    let limit = |limit: &LimitRecord, outcome| {
        let (low, high) = bounds(limit, outcome);
        let said = said_limit(low, high, limit.decimals);
        match said.trim_start_matches(", ") {
            "" => "not judged".to_owned(),
            said => said.to_owned(),
        }
    };
    let unit = if unit.is_empty() { "pH" } else { unit };
    let value = new.value.map_or_else(String::new, |value| {
        let (low, high) = bounds(&new.limit, new.outcome);
        let near: Vec<f64> = [low, high].into_iter().flatten().collect();
        let decimals = beside(value, *decimals, &near);
        let text = if is_error {
            signed(value, decimals, DecimalSign::Point)
        } else {
            fixed(value, decimals, DecimalSign::Point)
        };
        format!(" {text} {unit}")
    });
    format!("{what}{value}: {} → {}", limit(&old.limit, old.outcome), limit(&new.limit, new.outcome))
}

fn stays(row: &Row) -> String {
    let word = |verdict: Option<Verdict>| Style::Plain.verdict(verdict);
    let more = match (row.is_judged, row.outcomes_changed) {
        (true, _) => ", judged by these limits already".to_owned(),
        (false, 0) => String::new(),
        (false, count) => format!(
            ", {} judged otherwise",
            match count {
                1 => "1 criterion".to_owned(),
                _ => format!("{count} criteria"),
            }
        ),
    };
    let left = row.new[1].map_or_else(String::new, |verdict| format!(", as left {}", word(Some(verdict))));
    format!("{}as found {}{left}{more}\n", head(row), word(row.new[0]))
}

fn program(row: &Row) -> String {
    let mut out = format!("{}\n", row.number);
    for difference in &row.program {
        out += &format!("  {}: {} → {}\n", difference.path, difference.old, difference.new);
    }
    if row.verdict_by_program {
        out += "  a verdict changes by the program alone\n";
    }
    out
}

/// `12 certificates judged: 3 verdicts change (2 pass → FAIL, 1 FAIL → pass), 9 stay`.
fn totals(rows: &[Row]) -> String {
    let mut changes: BTreeMap<String, usize> = BTreeMap::new();
    for row in rows {
        for at in (0..2).filter(|at| row.old[*at] != row.new[*at]) {
            let word = |verdict| Style::Plain.verdict(verdict);
            *changes.entry(format!("{} → {}", word(row.old[at]), word(row.new[at]))).or_default() += 1;
        }
    }
    let flips = rows.iter().filter(|row| row.old != row.new).count();
    let said: Vec<String> = changes.iter().map(|(change, count)| format!("{count} {change}")).collect();
    let said = if said.is_empty() { String::new() } else { format!(" ({})", said.join(", ")) };
    let already = rows.iter().filter(|row| row.is_judged).count();
    let already = if already == 0 { String::new() } else { format!(", {already} judged by these limits already") };
    let judged = counted(rows.len(), "certificate");
    format!("{judged} in force judged: verdicts change on {flips}{said}, stay on {}{already}", rows.len() - flips)
}
