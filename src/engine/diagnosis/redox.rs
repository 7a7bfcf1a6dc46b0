//! Rules over a redox probe in its check solutions.

use super::{Answer, Evidence, State, figures, weighed};

/// Errors beyond are told, mV.
///
/// Source: common practice, no source (a check criterion of ±10 mV, from memory).
pub(super) const ERROR_TOLD_MV: f64 = 10.0;
/// Errors beyond ask for attention, mV. Source: common practice, no source: twice the check criterion.
const ERROR_ATTENTION_MV: f64 = 20.0;
/// Errors beyond are serious, mV. Source: common practice, no source.
const ERROR_SERIOUS_MV: f64 = 50.0;
/// A gain between two solutions farther from 100 % is told, percent points. Source: common practice, no source.
const GAIN_TOLD_PERCENT: f64 = 10.0;
/// … asks for attention. Source: common practice, no source.
const GAIN_ATTENTION_PERCENT: f64 = 15.0;
/// … is serious: the metal hardly follows. Source: common practice, no source.
const GAIN_SERIOUS_PERCENT: f64 = 50.0;

/// Off in its check solution, with the gain right or not known.
pub(super) fn off(_: &Evidence, state: &State) -> Answer {
    let Some(error) = state.worst_error() else { return Answer::Unknown };
    let errors = || state.readings.iter().filter_map(|reading| Some((reading.standard, reading.error?)));
    let worst = errors().find(|(_, one)| *one == error).map(|(standard, _)| standard);
    let other = errors().filter(|(standard, _)| Some(*standard) != worst).map(|(_, error)| error);
    let severity = weighed(error.abs(), ERROR_TOLD_MV, ERROR_ATTENTION_MV, ERROR_SERIOUS_MV);
    let other = other.reduce(|a, b| if b.abs() > a.abs() || (b.abs() == a.abs() && b > a) { b } else { a });
    Answer::of(severity.map(|severity| {
        let rest =
            figures([("error_mv", Some(error)), ("other_error_mv", other), ("gain_percent", state.gain_percent)]);
        (severity, rest)
    }))
}

/// The difference between two solutions comes out too small or too large.
pub(super) fn gain(_: &Evidence, state: &State) -> Answer {
    let Some(gain) = state.gain_percent else { return Answer::Unknown };
    let off = (gain - 100.0).abs();
    let severity = weighed(off, GAIN_TOLD_PERCENT, GAIN_ATTENTION_PERCENT, GAIN_SERIOUS_PERCENT);
    Answer::of(
        severity.map(|severity| (severity, figures([("gain_percent", Some(gain)), ("error_mv", state.worst_error())]))),
    )
}
