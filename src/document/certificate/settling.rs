//! How the readings settled, as their traces tell: a line for each trace, and how it was worked out.

use super::Sheet;
use crate::document::print::{ended, joined, led, plain};
use crate::document::{Block, Paragraph};
use crate::record::{Quantity, ReadingRecord, SettlingRecord};

/// The lines of every reading with a trace, by the names of their states.
pub(super) fn list<'a>(sheet: &Sheet, readings: impl Iterator<Item = (&'a str, &'a ReadingRecord)>) -> Vec<Block> {
    let line = |(state, reading): (&str, &ReadingRecord)| {
        let told = reading.settling.as_ref()?;
        let name = joined([Some(state.to_owned()), Some(reading.standard.clone())]);
        Some((led(name, ended(sentence(sheet, reading, told))), told.by_theoretical_slope))
    };
    let (mut lines, theoretical): (Vec<Paragraph>, Vec<bool>) = readings.filter_map(line).unzip();
    if lines.is_empty() {
        return Vec::new();
    }
    let width = match (sheet.record.quantity, theoretical.contains(&true)) {
        (Quantity::Ph, false) => "settling-width-ph",
        (Quantity::Ph, true) => "settling-width-theory",
        (Quantity::Redox, _) => "settling-width-redox",
    };
    lines.push(plain(format!("{} {}", sheet.label("settling-method"), sheet.label(width))));
    vec![sheet.heading("settling"), Block::List(lines)]
}

fn sentence(sheet: &Sheet, reading: &ReadingRecord, told: &SettlingRecord) -> String {
    let print = &sheet.print;
    let say = |key: &str, value: Option<String>| value.map(|value| print.say(key, &[("value", &value)]));
    let seconds = |time: Option<f64>| time.map(|time| print.fixed(time, 0, "s"));
    let points = Option::zip(reading.trace_typed.first(), reading.trace_typed.last()).map(|(first, last)| {
        let count = reading.trace_typed.len().to_string();
        let [from, to] = [first, last].map(|[time, _]| print.typed(time, "s"));
        print.say("settling-points", &[("count", &count), ("from", &from), ("to", &to)])
    });
    let width = print.fixed(told.within_mv, 2, "mV");
    let within_ph = seconds(told.time_to_0_01_ph_s)
        .map(|time| print.say("settling-within-ph", &[("time", &time), ("width", &width)]));
    joined([
        points,
        told.told.as_ref().map(|code| print.word("untold", code)),
        say("settling-final", told.final_mv.map(|mv| print.fixed(mv, 1, "mV"))),
        say("settling-90", seconds(told.time_to_90_s)),
        within_ph,
        say("settling-within-mv", seconds(told.time_to_1_mv_s)),
        say("settling-drift", told.drift_mv_per_min.map(|drift| print.signed(drift, 1, "mV/min"))),
        say("settling-noise", told.noise_mv.map(|noise| print.fixed(noise, 2, "mV"))),
        (reading.settled == Some(false)).then(|| print.label("settling-early")),
    ])
}
