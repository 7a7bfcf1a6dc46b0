//! The result of a visit as a person reads it at a terminal of 80 columns: words first, colour never alone.

use crate::engine::diagnosis::Severity;
use crate::record::{
    CriterionRecord, Figures, FindingRecord, OutcomeWord, Quantity, Record, Stage, StateRecord, UncertaintyRecord,
    Verdict,
};
use crate::requirements::Reviewed;
use crate::rounding::{DecimalSign, fixed, signed, uncertain};
use crate::wording::english;
use std::path::Path;
use unicode_width::UnicodeWidthStr;

/// Whether colour may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Plain text.
    Plain,
    /// ANSI colours.
    Colour,
}

impl Style {
    /// Colour on a terminal, unless the environment says `NO_COLOR`.
    pub fn of_terminal(is_terminal: bool) -> Style {
        match is_terminal && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()) {
            true => Style::Colour,
            false => Style::Plain,
        }
    }

    /// Text that stands out.
    pub fn bold(self, text: &str) -> String {
        self.paint(text, BOLD)
    }

    /// The word of a verdict.
    pub fn verdict(self, of: Option<Verdict>) -> String {
        verdict(of, self)
    }

    /// Text in a colour, given as its ANSI code.
    pub fn paint(self, text: &str, code: &str) -> String {
        match self {
            Style::Plain => text.to_owned(),
            Style::Colour => format!("\u{1b}[{code}m{text}\u{1b}[0m"),
        }
    }
}

pub const BOLD: &str = "1";
pub const DIM: &str = "2";
pub const RED: &str = "31";
pub const GREEN: &str = "32";
pub const YELLOW: &str = "33";

/// Widths of the columns: what, slope, offset, zero point, error.
const WHAT: usize = 31;
const NUMBER: usize = 9;
const ERROR: usize = 15;
const LINE: usize = 80;

/// The table of a visit; empty where there is nothing to show.
pub fn visit(file: &Path, reviewed: &Reviewed, style: Style) -> String {
    let Some(first) = reviewed.records.first() else {
        return String::new();
    };
    let day = first.visit.started.split(['T', ' ']).next().unwrap_or_default();
    let head = format!("{}  {}  {}", first.visit.number, first.client.name, day);
    let mut out = format!("\n{}\n{}\n", style.paint(&head, BOLD), style.paint(&file.display().to_string(), DIM));
    for record in &reviewed.records {
        out += &of_loop(record, style);
    }
    out
}

fn of_loop(record: &Record, style: Style) -> String {
    let (word, heads) = match record.quantity {
        Quantity::Ph => ("pH", ["slope %", "offset mV", "zero pH", "worst error"]),
        Quantity::Redox => ("redox", ["gain %", "", "", "worst error"]),
    };
    let title = match &record.measuring_loop.location {
        Some(location) => format!("{}  {word}  {location}", record.tag),
        None => format!("{}  {word}", record.tag),
    };
    let mut out = format!("\n{}\n", style.paint(&cut(&title, LINE), BOLD));
    let heads = format!("{}{}", " ".repeat(WHAT), cells(heads.map(str::to_owned)));
    out += &format!("{}\n", style.paint(heads.trim_end(), DIM));
    out += &state("as found", &record.as_found, record.quantity, style);
    for remedy in &record.remedies {
        let columns = remedy.after.as_ref().map_or_else(String::new, |after| cells(numbers(after, record.quantity)));
        out += &row(&format!("  {}", remedy.remedy), &columns, "");
    }
    if let Some(left) = &record.as_left {
        out += &state("as left", left, record.quantity, style);
    }
    out += &settling(record);
    out += &foot(record, style);
    out
}

/// When the readings that have a trace settled, a line a state: `settled as found: B7 after 15 s, B4 not yet`.
fn settling(record: &Record) -> String {
    let left = record.as_left.iter().map(|left| ("as left", &left.figures));
    let remedies = record.remedies.iter().filter_map(|remedy| Some((remedy.remedy.as_str(), remedy.after.as_ref()?)));
    let states = std::iter::once(("as found", &record.as_found.figures)).chain(remedies).chain(left);
    let line = |(name, figures): (&str, &Figures)| {
        let told = figures.readings.iter().filter_map(|row| {
            let settling = row.settling.as_ref()?;
            let time = match (settling.time_to_within_s(), settling.longer_than_s, &settling.told) {
                (Some(time), _, _) => format!("after {} s", fixed(time, 0, DecimalSign::Point)),
                (None, Some(longer), _) => format!("not by {} s", fixed(longer, 0, DecimalSign::Point)),
                (None, None, Some(code)) => format!("not told ({})", code.replace('-', " ")),
                (None, None, None) => "not told".to_owned(),
            };
            let early = if row.settled == Some(false) { ", read before" } else { "" };
            Some(format!("{} {time}{early}", row.standard))
        });
        let told: Vec<String> = told.collect();
        (!told.is_empty()).then(|| format!("{}\n", wrapped(&format!("  settled {name}: {}", told.join("; ")), 4)))
    };
    states.filter_map(line).collect()
}

fn state(name: &str, state: &StateRecord, quantity: Quantity, style: Style) -> String {
    match &state.not_obtained {
        Some(reason) => {
            let text = format!("{}not obtained: {reason}", padded(name, WHAT));
            format!("{}\n", wrapped(&text, WHAT))
        }
        None => row(name, &cells(numbers(&state.figures, quantity)), &verdict(state.verdict, style)),
    }
}

/// A line: what, its columns, the verdict; a long name stands on a line of its own.
fn row(what: &str, columns: &str, verdict: &str) -> String {
    let line = match what.width() < WHAT || columns.is_empty() {
        true => format!("{}{columns}  {verdict}", padded(what, WHAT)),
        false => format!("{what}\n{}{columns}  {verdict}", " ".repeat(WHAT)),
    };
    format!("{}\n", line.trim_end())
}

fn numbers(figures: &Figures, quantity: Quantity) -> [String; 4] {
    let number =
        |value: Option<f64>, decimals| value.map_or_else(|| "–".to_owned(), |v| fixed(v, decimals, DecimalSign::Point));
    let error = |reading: &crate::record::ReadingRecord| {
        Some((reading.error_ph.or(reading.error_mv)?, reading.standard.clone()))
    };
    let worst = figures.readings.iter().filter_map(error).max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
    let decimals = match quantity {
        Quantity::Ph => 2,
        Quantity::Redox => 0,
    };
    let worst = worst.map_or_else(
        || "–".to_owned(),
        |(error, of)| format!("{} in {of}", signed(error, decimals, DecimalSign::Point)),
    );
    match quantity {
        Quantity::Ph => {
            [number(figures.slope_percent, 1), number(figures.offset_mv, 1), number(figures.zero_point_ph, 2), worst]
        }
        Quantity::Redox => [number(figures.gain_percent, 1), String::new(), String::new(), worst],
    }
}

fn cells([first, second, third, error]: [String; 4]) -> String {
    let right = |text: &str, width: usize| format!("{}{text}", " ".repeat(width.saturating_sub(text.width())));
    format!("{}{}{}{}", right(&first, NUMBER), right(&second, NUMBER + 1), right(&third, NUMBER), right(&error, ERROR))
}

fn verdict(verdict: Option<Verdict>, style: Style) -> String {
    match verdict {
        Some(Verdict::Pass) => style.paint("pass", GREEN),
        Some(Verdict::ConditionalPass) => style.paint("cond. pass", YELLOW),
        Some(Verdict::ConditionalFail) => style.paint("cond. fail", YELLOW),
        Some(Verdict::Fail) => style.paint("FAIL", RED),
        None => "no verdict".to_owned(),
    }
}

/// What did not pass, what it points to, then the condition, what became of the loop, how many deviations are printed, and the limits.
fn foot(record: &Record, style: Style) -> String {
    let mut out = String::new();
    for criterion in record.criteria.iter().filter(|criterion| told(criterion)) {
        let (word, code) = match criterion.outcome {
            OutcomeWord::Pass => ("pass", GREEN),
            OutcomeWord::Warn => ("warn", YELLOW),
            OutcomeWord::ConditionalPass => ("conditional pass", YELLOW),
            OutcomeWord::ConditionalFail => ("conditional fail", YELLOW),
            OutcomeWord::Fail => ("FAIL", RED),
            OutcomeWord::NotJudged => ("not judged", DIM),
        };
        out += &format!("  {}  {}\n", style.paint(word, code), described(criterion));
    }
    out += &uncertainty(record).map_or_else(String::new, |line| format!("  {}\n", wrapped(&line, 4)));
    for finding in &record.findings {
        out += &of_finding(finding, style);
    }
    out += &history(record).map_or_else(String::new, |line| format!("  {}\n", wrapped(&line, 4)));
    let condition = match record.condition {
        Some(crate::record::Condition::Fit) => "probe fit · ",
        Some(crate::record::Condition::NeedsService) => "probe needs service · ",
        Some(crate::record::Condition::Unfit) => "probe unfit · ",
        None => "",
    };
    let revision = record.limits.revision.as_ref().map_or_else(String::new, |revision| format!(" rev. {revision}"));
    let deviations = match record.deviations.len() {
        0 => String::new(),
        1 => " · 1 deviation".to_owned(),
        n => format!(" · {n} deviations"),
    };
    let line =
        format!("  {condition}{}{deviations} · limits {}{revision}", record.measuring_loop.outcome, record.limits.name);
    out + &format!("{}\n", style.paint(&wrapped(&line, 2), DIM))
}

/// `as left: slope 95.92 ± 0.57 %, offset 5.49 ± 0.72 mV`, the state left, else found, with its expanded uncertainties.
fn uncertainty(record: &Record) -> Option<String> {
    let left = record.as_left.as_ref().map(|left| ("as left", &left.figures));
    let states = left.into_iter().chain([("as found", &record.as_found.figures)]);
    let (state, figures, known) =
        { states }.find_map(|(state, figures)| Some((state, figures, figures.uncertainty?)))?;
    let said = |name: &str, value: Option<f64>, of: Option<UncertaintyRecord>, unit: &str| {
        Some(format!("{name} {}", uncertain(value?, of?.expanded, unit, DecimalSign::Point)))
    };
    let figures = [
        said("slope", figures.slope_percent, known.slope_percent, "%"),
        said("offset", figures.offset_mv, known.offset_mv, "mV"),
        said("gain", figures.gain_percent, known.gain_percent, "%"),
    ];
    Some(format!("{state}: {} (U)", figures.into_iter().flatten().collect::<Vec<_>>().join(", ")))
}

/// `  serious  Low slope (resolved)`: the weight of an opinion, its name, and whether it is still there.
fn of_finding(finding: &FindingRecord, style: Style) -> String {
    let (word, code) = match finding.severity {
        Severity::Note => ("note", DIM),
        Severity::Attention => ("attention", YELLOW),
        Severity::Serious => ("serious", RED),
    };
    let state = match (finding.stage, finding.resolved) {
        (Stage::AsLeft, _) => "as left",
        (Stage::AsFound, Some(true)) => "resolved",
        (Stage::AsFound, Some(false)) => "open",
        (Stage::AsFound, None) => "not measured as left",
    };
    format!("  {}  {} ({state})\n", style.paint(word, code), english().finding_title(finding.code))
}

/// `history: 4 visits since 2025-02-11; slope -0.62 % in 30 days, warn limit 80 about 2027-03-02`.
fn history(record: &Record) -> Option<String> {
    let trend = record.trend.as_ref()?;
    let first = trend.visits.first()?;
    let figure = trend.figures.first()?;
    let (name, unit) = (figure.figure.split('_').next().unwrap_or_default(), figure.unit);
    let ageing = figure.ageing.as_ref().filter(|ageing| ageing.has_direction);
    let told = match ageing {
        Some(ageing) => format!("{name} {} {unit} in 30 days", signed(ageing.per_30_days, 2, DecimalSign::Point)),
        None => format!("{name} shows no direction"),
    };
    let met = |what: &str, on: Option<&String>| on.map_or_else(String::new, |on| format!(", {what} limit about {on}"));
    let warn = met("warn", ageing.and_then(|ageing| ageing.warn_on.as_ref()));
    let fail = met("fail", ageing.and_then(|ageing| ageing.fail_on.as_ref()));
    Some(format!("history: {} visits since {}; {told}{warn}{fail}", trend.visits.len(), first.date))
}

/// Warned and failed criteria, and those that could not be judged although a value was due.
fn told(criterion: &CriterionRecord) -> bool {
    match criterion.outcome {
        OutcomeWord::Pass => false,
        OutcomeWord::NotJudged => !matches!(criterion.reason.as_deref(), Some("check-not-done" | "no-trace")),
        OutcomeWord::Warn | OutcomeWord::ConditionalPass | OutcomeWord::ConditionalFail | OutcomeWord::Fail => true,
    }
}

/// `as found: error in B4 +1.29 pH, limit ±0.20`.
fn described(criterion: &CriterionRecord) -> String {
    let stage = match criterion.stage {
        Stage::AsFound => "as found",
        Stage::AsLeft => "as left",
    };
    let is_error = criterion.name.ends_with("_error");
    let name = if is_error { "error".to_owned() } else { criterion.name.replace('_', " ") };
    let of = criterion.of.as_ref().map_or_else(String::new, |of| match is_error {
        true => format!(" in {of}"),
        false => format!(" ({of})"),
    });
    let Some(value) = criterion.value else { return format!("{stage}: {name}{of}") };
    let limit = &criterion.limit;
    let (low, high) = match criterion.outcome {
        OutcomeWord::Warn => (limit.warn_low, limit.warn_high),
        OutcomeWord::Pass
        | OutcomeWord::ConditionalPass
        | OutcomeWord::ConditionalFail
        | OutcomeWord::Fail
        | OutcomeWord::NotJudged => (limit.fail_low, limit.fail_high),
    };
    // A length of time has no lower bound.
    let low = low.filter(|low| *low >= 0.0 || !matches!(criterion.name, "settling" | "junction_age"));
    let bounds: Vec<f64> = [low, high].into_iter().flatten().collect();
    let decimals = crate::rounding::beside(value, criterion.decimals, &bounds);
    let unit = if criterion.unit.is_empty() { " pH".to_owned() } else { format!(" {}", criterion.unit) };
    let value = match is_error || low.zip(high).is_some_and(|(low, high)| low == -high) {
        true => signed(value, decimals, DecimalSign::Point),
        false => fixed(value, decimals, DecimalSign::Point),
    };
    format!("{stage}: {name}{of} {value}{unit}{}", said_limit(low, high, limit.decimals))
}

/// `, at least 80`, beginning with a comma; empty where there is no bound.
pub fn said_limit(low: Option<f64>, high: Option<f64>, decimals: usize) -> String {
    let say = |bound| fixed(bound, decimals, DecimalSign::Point);
    match (low, high) {
        (Some(low), Some(high)) if low == -high => format!(", limit ±{}", say(high)),
        (Some(low), Some(high)) => format!(", limits {} to {}", say(low), say(high)),
        (Some(low), None) => format!(", at least {}", say(low)),
        (None, Some(high)) => format!(", at most {}", say(high)),
        (None, None) => String::new(),
    }
}

/// A text broken at 80 columns, further lines indented.
fn wrapped(text: &str, indent: usize) -> String {
    let indent = " ".repeat(indent);
    textwrap::fill(text, textwrap::Options::new(LINE).subsequent_indent(&indent).break_words(false))
}

/// A text with spaces up to a width.
pub fn padded(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.width())))
}

/// A text of at most `width` columns.
fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut short = String::new();
    for c in text.chars() {
        if short.width() + 2 > width {
            break;
        }
        short.push(c);
    }
    format!("{short}…")
}
