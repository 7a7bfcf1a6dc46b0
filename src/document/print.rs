//! How values of a record are written on a document: the words of a language with its decimal sign, or the firm's.

use super::{Align, Block, Cell, Fact, Mark, Paragraph, Row, Table, TableColumn};
use crate::client::language_tag;
use crate::firm::{DecimalSign, Firm};
use crate::record::{
    ClientFacts, CriterionRecord, LimitRecord, OutcomeWord, Quantity, Record, Stage, StateRecord, Verdict,
};
use crate::rounding::{self, beside, with_unit};
use crate::wording::{When, Wording};

/// Wording and decimal sign of one document.
#[derive(Debug, Clone, Copy)]
pub(super) struct Print {
    pub words: &'static Wording,
    pub sign: DecimalSign,
}

/// The words of a document: in the language of the client, else of the firm, else in English.
pub fn words(firm: &Firm, client: &ClientFacts) -> &'static Wording {
    let firms = firm.language.as_ref().and_then(|name| language_tag(&name.text));
    Wording::of(client.language.as_deref().or(firms))
}

impl Print {
    /// In the language of the client, else of the firm, else in English; with the decimal sign of the firm, else of the
    /// language.
    pub fn of(firm: &Firm, client: &ClientFacts) -> Self {
        let words = words(firm, client);
        Print { words, sign: firm.decimal_sign.unwrap_or(words.decimal_sign()) }
    }

    /// A label of the catalogue.
    pub fn label(&self, key: &str) -> String {
        self.words.label(key).to_owned()
    }

    /// A sentence of the catalogue.
    pub fn say(&self, key: &str, fill: &[(&str, &str)]) -> String {
        self.words.say(key, fill)
    }

    /// The word for a code.
    pub fn word(&self, group: &str, code: &str) -> String {
        self.words.word(group, code).to_owned()
    }

    /// A value with its unit.
    pub fn fixed(&self, value: f64, decimals: usize, unit: &str) -> String {
        with_unit(&rounding::fixed(value, decimals, self.sign), unit)
    }

    /// A value with sign and unit.
    pub fn signed(&self, value: f64, decimals: usize, unit: &str) -> String {
        with_unit(&rounding::signed(value, decimals, self.sign), unit)
    }

    /// A number as typed, with `unit` when the person left it out.
    pub fn typed(&self, text: &str, unit: &str) -> String {
        let text = rounding::typed(text, self.sign);
        match text.ends_with(|c: char| c.is_ascii_digit()) {
            true => with_unit(&text, unit),
            false => text,
        }
    }

    /// A number as typed, without the unit that the column names.
    pub fn digits(&self, text: &str, unit: &str) -> String {
        rounding::digits(text, unit, self.sign)
    }

    /// `pH 7.02` or `−12 mV`, as typed.
    pub fn typed_indication(&self, quantity: Quantity, text: &str) -> String {
        match quantity {
            Quantity::Ph => format!("pH\u{a0}{}", self.digits(text, "pH")),
            Quantity::Redox => self.typed(text, "mV"),
        }
    }

    /// A number computed from numbers as typed with `decimals`: pH with at least two, mV as typed.
    pub fn difference(&self, quantity: Quantity, value: f64, decimals: usize) -> String {
        match quantity {
            Quantity::Ph => self.signed(value, decimals.max(2), ""),
            Quantity::Redox => self.signed(value, decimals, "mV"),
        }
    }

    /// The value of a criterion, without unit, so that it never contradicts its outcome.
    pub fn criterion_value(&self, criterion: &CriterionRecord) -> Option<String> {
        self.criterion_value_beside(criterion, &bounds(&criterion.limit))
    }

    /// The same beside other bounds.
    pub fn criterion_value_beside(&self, criterion: &CriterionRecord, bounds: &[f64]) -> Option<String> {
        let value = criterion.value?;
        let decimals = beside(value, criterion_decimals(criterion), bounds);
        let is_difference = !matches!(criterion.name, "slope" | "gain" | "settling" | "junction_age");
        Some(match is_difference {
            true => rounding::signed(value, decimals, self.sign),
            false => rounding::fixed(value, decimals, self.sign),
        })
    }

    /// `±0.10`, `70 to 105`, `at least 70`, `at most 120`; none where there is no bound.
    pub fn interval(&self, low: Option<f64>, high: Option<f64>, decimals: usize, unit: &str) -> Option<String> {
        let text = |value: f64| rounding::fixed(value, decimals, self.sign);
        Some(match (low, high) {
            (None, None) => return None,
            (Some(low), Some(high)) if low == -high => with_unit(&format!("±{}", text(high)), unit),
            (Some(low), Some(high)) => {
                self.say("interval-between", &[("low", &text(low)), ("high", &with_unit(&text(high), unit))])
            }
            (Some(low), None) => format!("≥\u{a0}{}", with_unit(&text(low), unit)),
            (None, Some(high)) => format!("≤\u{a0}{}", with_unit(&text(high), unit)),
        })
    }

    /// The fail limit of a criterion.
    pub fn fail_limit(&self, criterion: &CriterionRecord, unit: &str) -> Option<String> {
        let limit = &criterion.limit;
        self.interval(lower(criterion, limit.fail_low), limit.fail_high, limit.decimals, unit)
    }

    /// The warn limit of a criterion.
    pub fn warn_limit(&self, criterion: &CriterionRecord, unit: &str) -> Option<String> {
        let limit = &criterion.limit;
        self.interval(lower(criterion, limit.warn_low), limit.warn_high, limit.decimals, unit)
    }

    /// Name of a criterion with what it belongs to and its unit: `Check standard X9`, `Temperature, °C`.
    pub fn criterion_name(&self, criterion: &CriterionRecord, quantity: Quantity) -> String {
        let name = self.criterion_of(criterion, quantity);
        match criterion.unit {
            "" => name,
            unit => format!("{name}, {}", self.word("unit", unit)),
        }
    }

    /// Name of a criterion as the subject of a sentence: `Error in check standard X9`.
    pub fn criterion_said(&self, criterion: &CriterionRecord, quantity: Quantity) -> String {
        let said = self.words.word("said", criterion.name);
        match said == criterion.name {
            true => self.criterion_of(criterion, quantity),
            false => self.with_owner(said, criterion),
        }
    }

    /// Name of a criterion with what it belongs to.
    pub fn criterion_of(&self, criterion: &CriterionRecord, quantity: Quantity) -> String {
        let name = match quantity {
            Quantity::Ph => self.words.word("criterion", criterion.name),
            Quantity::Redox => match criterion.name {
                "as_found_error" | "as_left_error" => self.words.label("criterion redox error"),
                name => self.words.word("criterion", name),
            },
        };
        self.with_owner(name, criterion)
    }

    /// `Output, control room` or `Largest pH error (B7)`.
    fn with_owner(&self, name: &str, criterion: &CriterionRecord) -> String {
        match (&criterion.of, criterion.name) {
            (None, _) => name.to_owned(),
            (Some(of), "check_standard") => format!("{name} {of}"),
            (Some(of), "output" | "temperature") => format!("{name}, {}", self.word("of", of)),
            (Some(of), _) => self.say("in-standard", &[("name", name), ("standard", of)]),
        }
    }

    /// A cell with the outcome of a criterion.
    pub fn outcome(&self, outcome: OutcomeWord) -> Cell {
        let (mark, key) = outcome_mark(outcome);
        Cell { text: self.label(key), mark: Some(mark) }
    }

    /// A fact with one line.
    pub fn fact(&self, key: &str, value: impl Into<String>) -> Fact {
        Fact { label: self.label(key), value: vec![value.into()] }
    }

    /// A fact where there is something to say.
    pub fn fact_if(&self, key: &str, value: Option<String>) -> Option<Fact> {
        value.map(|value| self.fact(key, value))
    }

    /// A table without rows.
    pub fn table(&self, caption: &str, columns: &[(&str, Align, u32)]) -> Table {
        Table {
            caption: self.label(caption),
            columns: columns
                .iter()
                .map(|&(head, align, stretch)| TableColumn { head: self.label(head), align, stretch })
                .collect(),
            rows: Vec::new(),
        }
    }

    /// A moment as printed; a text that is none stays as it is.
    pub fn moment(&self, text: &str) -> String {
        self.words.time(text)
    }

    /// `2026-05-12, 09:05 to 10:40 +02:00`; both ends in full where they differ in day or offset.
    pub fn span(&self, from: &str, to: Option<&str>) -> String {
        let Some(to) = to else {
            return self.moment(from);
        };
        match (When::read(from), When::read(to)) {
            (Some(a), Some(b)) if a.date == b.date && a.offset == b.offset => self.say(
                "span-one-day",
                &[
                    ("day", &self.words.day(a.date)),
                    ("from", a.clock),
                    ("to", &with_nbsp(&format!("{} {}", b.clock, b.offset))),
                ],
            ),
            _ => self.say("span", &[("from", &self.moment(from)), ("to", &self.moment(to))]),
        }
    }

    /// `09:10 to 10:30 +02:00`, on a day that is known.
    pub fn clocks(&self, from: &str, to: Option<&str>) -> String {
        let Some(to) = to else {
            return self.say("from-on", &[("from", &self.clock(from))]);
        };
        let from = match (When::read(from), When::read(to)) {
            (Some(a), Some(b)) if a.offset == b.offset => a.clock.to_owned(),
            _ => self.clock(from),
        };
        self.say("span", &[("from", &from), ("to", &self.clock(to))])
    }

    /// The clock time with offset of a moment.
    pub fn clock(&self, text: &str) -> String {
        match When::read(text) {
            Some(when) => with_nbsp(&format!("{} {}", when.clock, when.offset)),
            None => text.to_owned(),
        }
    }

    /// The day of a moment, a day or a month; a text that is none stays as it is.
    pub fn day(&self, text: &str) -> String {
        self.words.day(text)
    }

    /// The same where something was written down.
    pub fn day_if(&self, text: &Option<String>) -> Option<String> {
        text.as_deref().map(|text| self.day(text))
    }

    /// The word of a remedy inside a line.
    pub fn remedy_inside(&self, remedy: &str) -> String {
        let word = self.words.word("remedy", remedy);
        match self.words.label("remedies-inside") {
            "small" => word.chars().take(1).flat_map(char::to_lowercase).chain(word.chars().skip(1)).collect(),
            _ => word.to_owned(),
        }
    }

    /// A reference electrode: the word for one that is published, any other as typed.
    pub fn electrode(&self, text: &str) -> String {
        match self.words.word("electrode", text) {
            word if word == text => rounding::prose(text),
            word => word.to_owned(),
        }
    }

    /// What a standard is: `phosphate`, `quinhydrone (B7)`; the bottle's own name as typed.
    pub fn standard_kind(&self, kind: &str) -> String {
        match kind.split_once(" in ") {
            Some(("quinhydrone", buffer)) => {
                self.say("in-standard", &[("name", &self.word("standard", "quinhydrone")), ("standard", buffer)])
            }
            Some(_) | None => self.word("standard", kind),
        }
    }

    /// The decision rule: `simple acceptance`, `guard band of 0.5 U`.
    pub fn decision(&self, rule: &str) -> String {
        match rule.split_once(' ') {
            Some(("guard", factor)) => self.say("decision-part", &[("factor", &rounding::typed(factor, self.sign))]),
            Some(_) | None => self.word("decision", rule),
        }
    }

    /// Parts that may hold commas, divided as the language divides them.
    pub fn series(&self, parts: &[String]) -> String {
        parts.join(self.words.label("semicolon"))
    }
}

fn with_nbsp(text: &str) -> String {
    text.replace(' ', "\u{a0}")
}

/// The lower bound of a criterion; a length of time has none below 0.
fn lower(criterion: &CriterionRecord, bound: Option<f64>) -> Option<f64> {
    bound.filter(|bound| *bound >= 0.0 || !matches!(criterion.name, "settling" | "junction_age"))
}

/// Decimals that a criterion's value deserves.
fn criterion_decimals(criterion: &CriterionRecord) -> usize {
    match criterion.name {
        "slope" | "offset" | "gain" => 1,
        "output" => 2,
        _ if criterion.unit.is_empty() => criterion.decimals.max(2),
        _ => criterion.decimals,
    }
}

/// Whether two criteria are the same one at two states: their values may stand side by side.
pub(super) fn is_same_criterion(a: &CriterionRecord, b: &CriterionRecord) -> bool {
    a.name == b.name && a.of == b.of && a.limit == b.limit && a.stage != b.stage
}

/// Every bound of a limit.
pub(super) fn bounds(limit: &LimitRecord) -> Vec<f64> {
    [limit.fail_low, limit.warn_low, limit.warn_high, limit.fail_high].into_iter().flatten().collect()
}

/// Mark and key of the word for an outcome.
pub(super) fn outcome_mark(outcome: OutcomeWord) -> (Mark, &'static str) {
    match outcome {
        OutcomeWord::NotJudged => (Mark::NotJudged, "outcome-not-judged"),
        OutcomeWord::Pass => (Mark::Pass, "outcome-pass"),
        OutcomeWord::Warn => (Mark::Warn, "outcome-warn"),
        OutcomeWord::ConditionalPass => (Mark::ConditionalPass, "outcome-conditional-pass"),
        OutcomeWord::ConditionalFail => (Mark::ConditionalFail, "outcome-conditional-fail"),
        OutcomeWord::Fail => (Mark::Fail, "outcome-fail"),
    }
}

/// Mark and key of the word for a verdict.
pub(super) fn verdict_mark(verdict: Option<Verdict>) -> (Mark, &'static str) {
    match verdict {
        None => (Mark::NotJudged, "outcome-not-judged"),
        Some(Verdict::Pass) => (Mark::Pass, "outcome-pass"),
        Some(Verdict::ConditionalPass) => (Mark::ConditionalPass, "outcome-conditional-pass"),
        Some(Verdict::ConditionalFail) => (Mark::ConditionalFail, "outcome-conditional-fail"),
        Some(Verdict::Fail) => (Mark::Fail, "outcome-fail"),
    }
}

/// Mark and key of the word for a state: a pass with a warning is not a plain one.
pub(super) fn state_mark(record: &Record, stage: Stage, state: &StateRecord) -> (Mark, &'static str) {
    let mut criteria = record.criteria.iter().filter(|criterion| criterion.stage == stage);
    let warned = criteria.any(|criterion| criterion.outcome == OutcomeWord::Warn);
    match state.verdict {
        _ if state.not_obtained.is_some() => (Mark::NotJudged, "not-obtained"),
        Some(Verdict::Pass) if warned => (Mark::Warn, "outcome-pass-warned"),
        verdict => verdict_mark(verdict),
    }
}

/// A cell without mark.
pub(super) fn cell(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), mark: None }
}

/// A cell that may be empty.
pub(super) fn cell_if(text: Option<String>) -> Cell {
    cell(text.unwrap_or_default())
}

/// A paragraph without lead.
pub(super) fn plain(text: impl Into<String>) -> Paragraph {
    Paragraph { lead: None, text: text.into() }
}

/// A paragraph with a bold lead.
pub(super) fn led(lead: impl Into<String>, text: impl Into<String>) -> Paragraph {
    let (lead, text) = (lead.into(), text.into());
    let colon = match lead.ends_with(['.', ':']) || text.is_empty() {
        true => "",
        false => ":",
    };
    Paragraph { lead: Some(format!("{lead}{colon}")), text }
}

/// Ends leads as the language does: in French with a no-break space before the colon.
pub(super) fn end_leads(blocks: &mut [Block], colon: &str) {
    let end = |paragraph: &mut Paragraph| {
        let lead = paragraph.lead.as_mut().filter(|lead| lead.ends_with(':') && !lead.ends_with(colon));
        if let Some(lead) = lead {
            lead.truncate(lead.len() - 1);
            lead.push_str(colon);
        }
    };
    for block in blocks {
        match block {
            Block::Columns(columns) => columns.iter_mut().for_each(|column| end_leads(&mut column.blocks, colon)),
            Block::Paragraph(paragraph) | Block::Caution(paragraph) => end(paragraph),
            Block::List(list) => list.iter_mut().for_each(end),
            Block::Table(table) => table.rows.iter_mut().for_each(|row| match row {
                Row::Group(paragraph) => end(paragraph),
                Row::Cells(_) => {}
            }),
            Block::Heading(_)
            | Block::Facts(_)
            | Block::Verdict(_)
            | Block::Figure(_)
            | Block::Signatures(_)
            | Block::EndMark(_)
            | Block::Rule => {}
        }
    }
}

/// A sentence with its full stop.
pub(super) fn ended(text: String) -> String {
    match text.ends_with(['.', '!', '?', '…']) || text.is_empty() {
        true => text,
        false => format!("{text}."),
    }
}

/// The table without the columns in which nothing stands.
pub(super) fn without_empty_columns(mut table: Table) -> Table {
    let is_filled = |column: usize| {
        table.rows.iter().any(|row| match row {
            Row::Group(_) => false,
            Row::Cells(cells) => !cells[column].text.is_empty(),
        })
    };
    let filled: Vec<bool> = (0..table.columns.len()).map(is_filled).collect();
    let mut keep = filled.iter();
    table.columns.retain(|_| keep.next() == Some(&true));
    for row in &mut table.rows {
        if let Row::Cells(cells) = row {
            let mut keep = filled.iter();
            cells.retain(|_| keep.next() == Some(&true));
        }
    }
    table
}

/// Texts that exist, joined by commas.
pub(super) fn joined(parts: impl IntoIterator<Item = Option<String>>) -> String {
    let parts: Vec<String> = parts.into_iter().flatten().filter(|part| !part.is_empty()).collect();
    parts.join(", ")
}
