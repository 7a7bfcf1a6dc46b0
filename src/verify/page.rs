//! An HTML page by itself: its text held against the record that it carries.
//!
//! Comes in: the bytes of a page. Goes out: an [`Audit`]. Next: [`super::document()`].
//!
//! The page carries no sources, so nothing can be computed anew. What can be told: its seal holds, and the main figures of the
//! record are printed. Where the seal is broken, the figures with decimals that the record does not give are named.

use super::document::{Audit, Extent, printed_hash};
use super::fault::{Fault, Note};
use super::read::Unreadable;
use crate::engine::student::COVERAGE;
use crate::issue::records;
use crate::paint::html::seal;
use crate::register::hash_of;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Largest page that is read, in bytes.
///
/// Source: our own choice: a page with a large logo takes about 1 MB.
const LARGEST: usize = 16_000_000;
/// What stands before the record, and behind it.
const RECORD: [&str; 2] = ["<script type=\"application/json\" id=\"record\">", "</script>"];
/// The only version whose pages have no seal.
const UNSEALED: &str = "halfcell 0.1.0";
/// Most differences that are told.
const MOST_TOLD: usize = 40;

/// Looks at a page.
///
/// # Errors
/// [`Unreadable`]: it is no page of this program.
pub(super) fn audit(bytes: &[u8]) -> Result<Audit, Unreadable> {
    if bytes.len() > LARGEST {
        return Err(Unreadable::TooLarge);
    }
    let page = std::str::from_utf8(bytes).map_err(|_| Unreadable::Unknown)?;
    let (before, rest) = page.split_once(RECORD[0]).ok_or(Unreadable::Unknown)?;
    let (record, after) = rest.split_once(RECORD[1]).ok_or(Unreadable::Unknown)?;
    let mut audit = Audit { extent: Extent::Record, notes: vec![Note::RecordOnly], ..Audit::new(bytes) };
    let body = before.find("<body").map_or(before, |at| &before[at..]);
    let text = visible(body);
    audit.printed_hash = printed_hash(text.lines());
    let record = as_written(record);
    audit.record_sha256 = Some(hash_of(record.as_bytes()));
    let holds = seal::holds(page);
    match serde_json::from_str::<Value>(&record) {
        Ok(record) => {
            audit.take_record(&record);
            audit.faults.extend(compared(before, &text, &record, &mut audit.number));
            if holds == Some(false) {
                audit.faults.extend(unfounded(&text, &record));
            }
        }
        Err(error) => audit.faults.push(Fault::RecordUnreadable { why: error.to_string() }),
    }
    match holds {
        Some(true) => {}
        Some(false) => audit.faults.insert(0, Fault::Seal),
        None if audit.program.as_deref() == Some(UNSEALED) => audit.notes.push(Note::NotSealed),
        None => audit.faults.insert(0, Fault::NoSeal),
    }
    if after.contains('<') && visible(after).chars().any(|c| !c.is_whitespace()) || active(page) {
        audit.faults.push(Fault::Entry { name: "script or text behind the record".to_owned() });
    }
    Ok(audit)
}

/// Whether there is a script besides the record, or something else that runs.
fn active(page: &str) -> bool {
    let page = page.to_ascii_lowercase();
    page.matches("<script").count() != 1
        || ["<iframe", "<object", "<embed", "javascript:"].iter().any(|word| page.contains(word))
}

/// The record as it was before it was put into the page.
fn as_written(inert: &str) -> String {
    const ESCAPES: [(&str, &str); 3] = [("u003c", "<"), ("u2028", "\u{2028}"), ("u2029", "\u{2029}")];
    let mut text = String::with_capacity(inert.len());
    let mut rest = inert;
    while let Some(at) = rest.find('\\') {
        text.push_str(&rest[..at]);
        let after = &rest[at + 1..];
        if let Some((escape, character)) = ESCAPES.iter().find(|(escape, _)| after.starts_with(escape)) {
            text.push_str(character);
            rest = &after[escape.len()..];
            continue;
        }
        text.push('\\');
        // The character behind a backslash begins nothing.
        let next = after.chars().next();
        text.extend(next);
        rest = &after[next.map_or(0, char::len_utf8)..];
    }
    text.push_str(rest);
    text
}

/// The text that a reader sees: markup within a word falls away, all other ends a line.
fn visible(markup: &str) -> String {
    const WITHIN: [&str; 8] = ["span", "time", "wbr", "b", "strong", "em", "sub", "sup"];
    const HIDDEN: [&str; 2] = ["style", "script"];
    let mut text = String::with_capacity(markup.len() / 2);
    let mut rest = markup;
    while let Some(at) = rest.find('<') {
        decode(&mut text, &rest[..at]);
        rest = &rest[at + 1..];
        let name = rest.trim_start_matches('/');
        let name = &name[..name.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(name.len())];
        if !WITHIN.contains(&name) {
            text.push('\n');
        }
        if HIDDEN.contains(&name) && !rest.starts_with('/') {
            let end = format!("</{name}");
            rest = rest.find(&end).map_or("", |at| &rest[at..]);
        }
        rest = rest.split_once('>').map_or("", |(_, after)| after);
    }
    decode(&mut text, rest);
    text
}

/// Text with the five signs that this program writes as entities; another entity shows as it is.
fn decode(out: &mut String, text: &str) {
    const SIGNS: [(&str, char); 5] = [("amp;", '&'), ("lt;", '<'), ("gt;", '>'), ("quot;", '"'), ("#39;", '\'')];
    let mut parts = text.split('&');
    out.push_str(parts.next().unwrap_or_default());
    for part in parts {
        match SIGNS.iter().find(|(sign, _)| part.starts_with(sign)) {
            Some((sign, character)) => {
                out.push(*character);
                out.push_str(&part[sign.len()..]);
            }
            None => {
                out.push('&');
                out.push_str(part);
            }
        }
    }
}

/// What does not agree between a page and its record.
fn compared(before: &str, text: &str, record: &Value, number: &mut Option<String>) -> Vec<Fault> {
    let mut faults = Vec::new();
    let said = meta(before, "dcterms.identifier");
    match (&*number, &said) {
        (Some(own), Some(said)) if own != said => {
            faults.push(Fault::Metadata { entry: "number".to_owned(), found: said.clone(), expected: own.clone() });
        }
        (None, Some(_)) => *number = said,
        (_, _) => {}
    }
    if let Some(number) = number.as_ref().filter(|number| !text.contains(number.as_str())) {
        faults.push(Fault::PrintedLess { page: 1, expected: number.clone() });
    }
    let printed = figures(text);
    for (place, value) in main_figures(record) {
        let is_printed = printed.iter().any(|(_, shown, decimals)| rounds_to(value, *shown, *decimals));
        if !is_printed && !is_whole_in(text, value) {
            faults.push(Fault::Record {
                place,
                found: value.to_string(),
                expected: "no such figure is on the page".to_owned(),
            });
        }
    }
    faults
}

/// The printed figures that the record does not give. What a sentence says of itself (a rule, an advice) is among them.
fn unfounded(text: &str, record: &Value) -> Vec<Fault> {
    let known = Known::of(record);
    let printed = figures(text).into_iter().filter(|(text, value, decimals)| !known.explains(text, *value, *decimals));
    printed.take(MOST_TOLD).map(|(found, ..)| Fault::Unfounded { found }).collect()
}

/// Whether a figure stands in the text rounded to a whole number.
fn is_whole_in(text: &str, value: f64) -> bool {
    let whole = format!("{:.0}", value.abs());
    let numbers = text.split(|c: char| !c.is_alphanumeric() && !matches!(c, '.' | ','));
    numbers.map(|number| number.trim_end_matches(['.', ','])).any(|number| number == whole)
}

/// What a page says of itself under a name.
fn meta(head: &str, name: &str) -> Option<String> {
    let (_, rest) = head.split_once(&format!("<meta name=\"{name}\" content=\""))?;
    let mut text = String::new();
    decode(&mut text, rest.split_once('"')?.0);
    Some(text)
}

/// The main figures of the loops: what the verdict rests on.
fn main_figures(record: &Value) -> Vec<(String, f64)> {
    let mut found = Vec::new();
    // A summary shows one state of each loop.
    if record["tag"].is_string() {
        for state in ["as_found", "as_left"] {
            for figure in ["slope_percent", "offset_mv"] {
                let value = record[state][figure].as_f64();
                found.extend(value.map(|value| (format!("{state}.{figure}"), value)));
            }
        }
    }
    found
}

/// Numbers with decimals that stand alone: as printed, their value, their decimals.
fn figures(text: &str) -> Vec<(String, f64, usize)> {
    let is_part = |c: char| c.is_alphanumeric() || matches!(c, '.' | ',' | '_');
    let words = text.split(|c: char| !is_part(c));
    let number = |word: &str| {
        let word = word.trim_end_matches(['.', ',']);
        let (whole, decimals) = word.split_once(['.', ','])?;
        let is_number = |digits: &str| !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
        let value = format!("{whole}.{decimals}").parse().ok()?;
        (is_number(whole) && is_number(decimals)).then(|| (word.to_owned(), value, decimals.len()))
    };
    words.filter_map(number).collect()
}

fn rounds_to(value: f64, shown: f64, decimals: usize) -> bool {
    /// Room for the last digit of a binary fraction.
    const ROOM: f64 = 1e-9;
    let half = 0.5 * 10_f64.powi(-(decimals.min(12) as i32));
    (value.abs() - shown).abs() <= half * (1.0 + ROOM) + ROOM * 1e-3
}

/// What a record gives.
#[derive(Debug, Default)]
struct Known {
    /// In order.
    numbers: Vec<f64>,
    /// The numbers within texts, with a point.
    typed: BTreeSet<String>,
    by_key: BTreeMap<String, Vec<f64>>,
}

impl Known {
    fn of(record: &Value) -> Known {
        let mut known = Known::default();
        records(record).into_iter().for_each(|record| known.take("", record));
        known.take("", &record["certificate"]);
        // What is said with every result: how far the stated intervals cover, and where a probability is nearly one.
        known.numbers.extend([100.0 * COVERAGE, 99.9]);
        // What a state gained over another is printed, and not recorded.
        const MOST_OF_A_KEY: usize = 40;
        for values in known.by_key.values() {
            let values = &values[..values.len().min(MOST_OF_A_KEY)];
            known.numbers.extend(values.iter().flat_map(|a| values.iter().map(move |b| a - b)));
        }
        // As printed, without signs; a share is printed in percent.
        known.numbers = known.numbers.iter().flat_map(|number| [number.abs(), 100.0 * number.abs()]).collect();
        known.numbers.sort_by(f64::total_cmp);
        known
    }

    fn take(&mut self, key: &str, value: &Value) {
        match value {
            Value::Number(number) => {
                let number = number.as_f64().unwrap_or_default();
                self.numbers.push(number);
                if key.starts_with("slope") || key.starts_with("offset") {
                    self.by_key.entry(key.to_owned()).or_default().push(number);
                }
            }
            Value::String(text) => {
                self.typed.extend(figures(text).into_iter().map(|(text, ..)| text.replace(',', ".")));
                self.typed.extend(month(text));
            }
            Value::Array(list) => list.iter().for_each(|value| self.take(key, value)),
            Value::Object(entries) => entries.iter().for_each(|(key, value)| self.take(key, value)),
            Value::Null | Value::Bool(_) => {}
        }
    }

    fn explains(&self, text: &str, shown: f64, decimals: usize) -> bool {
        // Those that may round to it lie together.
        let from = self.numbers.partition_point(|&number| number < shown && !rounds_to(number, shown, decimals));
        let is_near = self.numbers.get(from).is_some_and(|&number| rounds_to(number, shown, decimals));
        is_near || self.typed.contains(&text.replace(',', "."))
    }
}

/// The month of a date as some languages print it: `06.2027` of `2027-06-30`.
fn month(date: &str) -> Option<String> {
    let (year, month) = (date.get(..4)?, date.get(5..7)?);
    let is_month = date.get(4..5) == Some("-") && [year, month].concat().bytes().all(|byte| byte.is_ascii_digit());
    is_month.then(|| format!("{month}.{year}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_record_comes_out_as_it_was_put_in() {
        assert_eq!(
            as_written(r#"{"a":"\u003cb \\u003c \u2028\" \u00e9"}"#),
            "{\"a\":\"<b \\\\u003c \u{2028}\\\" \\u00e9\"}"
        );
    }

    #[test]
    fn a_reader_sees_words_and_no_markup() {
        let markup = "<p>5 &lt; <span class=\"x\">7</span>.2<style>p{}</style><td>a&amp;b</td>";
        assert_eq!(visible(markup).split('\n').filter(|line| !line.is_empty()).collect::<Vec<_>>(), ["5 < 7.2", "a&b"]);
    }

    #[test]
    fn figures_stand_alone() {
        let texts: Vec<String> =
            figures("−78,9 % (4.01) 12.05.2026 v1.2 0.2.0 9.18.").into_iter().map(|it| it.0).collect();
        assert_eq!(texts, ["78,9", "4.01", "9.18"]);
    }

    #[test]
    fn a_figure_comes_from_the_record_or_is_told() {
        let record = json!({"tag": "A", "as_found": {"slope_percent": 78.913}, "typed": "4.01 at 25.0"});
        let told = |text: &str| unfounded(text, &record).iter().map(Fault::told).collect::<Vec<_>>();
        assert!(told("78.9 % in 4.01, 95.45 %").is_empty());
        assert_eq!(told("78.9 % or 58.2 %"), ["the page says «58.2», which its record does not give"]);
        assert_eq!(compared("", "4.01", &record, &mut None).len(), 1, "the slope is not on the page");
    }
}
