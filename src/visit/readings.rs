//! Readings in standards, and the state (as found, as left) they belong to.

use super::loops::Here;
use super::{Compensation, Reading, State, Stated, StatedDifference, Stored, checks, plausible, standards};
use crate::problem::{Fact, Problem};
use crate::quantity::{Celsius, Measured, Millivolt, Percent, Second, Unit};
use crate::yaml::{At, Keys, Text};

/// Reads a state: `readings`, `stated`, `stored`, `checks`.
pub(super) fn state(mut keys: Keys<'_>, here: &Here<'_>) -> Option<State> {
    let readings = keys
        .need("readings", "a state is known by its readings; without them: `{not_obtained: reason}`")
        .and_then(|at| list(&at, here.adjusted, here));
    let stated = keys.get("stated").map(|at| stated(&at, readings.as_deref(), here));
    let stored = keys.get("stored").map(|at| stored(&at, here));
    let checks = keys.get("checks").map_or_else(Default::default, |at| checks::check(&at, readings.as_deref(), here));
    here.finish(keys);
    Some(State { readings: readings?, stated: stated.flatten(), stored: stored.flatten(), checks })
}

/// Reads a list of readings that is not empty; `shown_due` says whether each needs the value shown.
pub(super) fn list(at: &At<'_>, shown_due: bool, here: &Here<'_>) -> Option<Vec<Reading>> {
    let entries = at.list("readings")?;
    if entries.is_empty() {
        at.tell(Problem::error(
            "no-readings",
            &at.place(),
            "the list of readings is empty",
            "nothing can be computed from it",
            "give the readings, or replace the state by `{not_obtained: reason}`",
        ));
        return None;
    }
    if here.worked_on.get() {
        not_shared(at, &entries);
    }
    let readings: Vec<Option<Reading>> = entries.iter().map(|at| reading(at, shown_due, here)).collect();
    readings.into_iter().collect()
}

/// Readings after a remedy or as left that are the same lines of the file as earlier ones.
fn not_shared(at: &At<'_>, entries: &[At<'_>]) {
    let shared = std::iter::once(at).chain(entries).find(|at| at.is_alias());
    if let Some(at) = shared {
        at.tell(Problem::warning(
            "reading-shared",
            &at.place(),
            "these readings are the same lines of the file as earlier ones (an alias)",
            "one number was hardly read twice: readings before and after the work are written separately",
            "write the readings taken afterwards in full, or accept it with the reason",
        ));
    }
}

fn reading(at: &At<'_>, shown_due: bool, here: &Here<'_>) -> Option<Reading> {
    let mut keys = at.keys("a reading")?;
    let standard = keys
        .need("in", "a reading is worth as much as the standard it was taken in")
        .and_then(|at| standards::named(&at, here));
    let potential_at = keys.get("mv");
    let mv = potential_at.as_ref().and_then(|at| potential(at, here));
    let shown_at = keys.get("shown");
    let shown = shown_at.as_ref().and_then(|at| here.shown(at));
    let excluded = keys.get("excluded").and_then(|at| reason(&at));
    match (&potential_at, &shown_at) {
        (None, None) if at.holds("mv") || at.holds("shown") => {}
        (None, None) => at.tell(neither(at)),
        (Some(_), None) if shown_due && excluded.is_none() && !at.holds("shown") => at.tell(shown_missing(at, here)),
        (Some(_), None) | (_, Some(_)) => {}
    }
    let (temperature, temperature_assumed) = keys
        .need(
            "temperature",
            "the value of a standard and the theoretical slope depend on it; 25 °C is never assumed silently",
        )
        .map_or((None, None), |at| temperature(&at, standard, here));
    let after = keys.get("after").and_then(|at| waited(&at));
    let time = keys.get("at").and_then(|at| here.head.moment(&at, here.files));
    let trace = keys.get("trace").map_or_else(Vec::new, |at| trace(&at));
    let with = keys.get("with").and_then(|at| standards::instrument(&at, here));
    let note = keys.get("note").and_then(|at| at.text());
    here.finish(keys);
    Some(Reading {
        place: at.place(),
        standard: standard?,
        mv,
        shown,
        temperature: temperature?,
        temperature_assumed,
        after,
        at: time,
        trace,
        excluded,
        with,
        note,
    })
}

fn neither(at: &At<'_>) -> Problem {
    Problem::error(
        "reading-empty",
        &at.place(),
        "a reading with neither `mv` nor `shown`",
        "nothing was read",
        "give the potential (`mv: 8.3`), the value shown (`shown: 6.91`) or both; remove a reading that was not taken",
    )
}

fn shown_missing(at: &At<'_>, here: &Here<'_>) -> Problem {
    Problem::error(
        "shown-missing",
        &at.place(),
        format!("a reading of {} without `shown`", here.tag),
        "the analyser was adjusted: only the value it showed tells what the plant saw before and after",
        "add the value the analyser showed: `shown: 6.91`; where it was not noted, leave the reading out or give it \
         `excluded: reason`",
    )
}

/// A reason in words; a bare yes or no gives none.
pub(super) fn reason(at: &At<'_>) -> Option<Text> {
    let is_bare = |text: &str| matches!(text.trim().to_lowercase().as_str(), "yes" | "no" | "true" | "false");
    if at.raw().is_some_and(is_bare) {
        at.tell(Problem::error(
            "reason-missing",
            &at.place(),
            format!("`{}` where a reason is due", at.raw().unwrap_or_default()),
            "the reason is printed among the deviations",
            "say why in words, or remove the key",
        ));
        return None;
    }
    at.text()
}

/// A potential in mV, checked against what a probe can give.
pub(super) fn potential(at: &At<'_>, here: &Here<'_>) -> Option<Measured<Millivolt>> {
    let value = at.number::<Millivolt>()?;
    plausible::potential(at, &value, here.quantity);
    Some(value)
}

/// The temperature of the standard, or one that is assumed with its reason.
fn temperature(at: &At<'_>, standard: Option<usize>, here: &Here<'_>) -> (Option<Measured<Celsius>>, Option<Text>) {
    let (number_at, assumed) = match at.is_mapping() {
        false => (Some(at.clone()), None),
        true => {
            let Some(mut keys) = at.keys("an assumed temperature") else {
                return (None, None);
            };
            let number = keys.need("assumed", "the temperature that is taken instead of a reading");
            let why = keys.need("reason", "an assumed temperature is printed with its reason");
            let why = why.and_then(|at| reason(&at));
            here.finish(keys);
            (number, why)
        }
    };
    let Some(number_at) = number_at else {
        return (None, assumed);
    };
    let value = number_at.number::<Celsius>();
    if let (Some(standard), Some(value)) = (standard, &value) {
        standards::temperature(&number_at, standard, value, here);
    }
    (value, assumed)
}

/// A time that passed.
pub(super) fn lasted(at: &At<'_>) -> Option<Measured<Second>> {
    let value = at.number::<Second>()?;
    if value.value < 0.0 {
        at.tell(Problem::error(
            "negative-time",
            &value.place,
            format!("found `{}` as a time that passed", value.text),
            "no time that passed is negative",
            "write how long it took: `45 s`, `2 min`",
        ));
        return None;
    }
    Some(value)
}

/// A waiting time. Shorter than 30 s is told. Source: common practice, no source.
fn waited(at: &At<'_>) -> Option<Measured<Second>> {
    let value = lasted(at)?;
    if value.value < 30.0 {
        at.tell(
            Problem::warning(
                "waited-short",
                &value.place,
                format!("the reading was taken after `{}`", value.text),
                "a probe has seldom settled within 30 s of the change of standard",
                "wait until the reading stands, or accept it with the reason",
            )
            .about([("time", Fact::typed(&value.text))]),
        );
    }
    Some(value)
}

/// Pairs of seconds and millivolts, rising in time.
fn trace(at: &At<'_>) -> Vec<(Measured<Second>, Measured<Millivolt>)> {
    let entries = at.list("points").unwrap_or_default();
    if entries.is_empty() && at.is_list() || entries.iter().any(At::is_text) {
        let what = if entries.is_empty() { "the trace is empty" } else { "found points without brackets of their own" };
        let why = "a point of a trace has a time and a potential";
        let fix = "write seconds and mV in pairs: `[[5, 120.1], [10, 138.4]]`; without a trace, delete the key";
        at.tell(Problem::error("not-a-pair", &at.place(), what, why, fix));
        return Vec::new();
    }
    let points: Vec<_> = entries.iter().filter_map(point).collect();
    for pair in points.windows(2) {
        let (before, after) = (&pair[0].0, &pair[1].0);
        if after.value <= before.value {
            at.tell(Problem::error(
                "trace-not-rising",
                &after.place,
                format!("`{}` follows `{}`", after.text, before.text),
                "the times of a trace rise",
                "give the pairs in the order taken, with the seconds since the change of standard first",
            ));
        }
    }
    points
}

fn point(at: &At<'_>) -> Option<(Measured<Second>, Measured<Millivolt>)> {
    let parts = at.list("a pair of seconds and mV")?;
    let [seconds, mv] = parts.as_slice() else {
        at.tell(Problem::error(
            "not-a-pair",
            &at.place(),
            format!("expected 2 values, found {}", parts.len()),
            match parts.len() {
                3 | 4 => "a decimal comma cuts a number in two inside brackets",
                _ => "a point of a trace has a time and a potential",
            },
            "write seconds and mV with decimal points: `[5, 120.1]`",
        ));
        return None;
    };
    let (seconds, mv) = (lasted(seconds), mv.number::<Millivolt>());
    Some((seconds?, mv?))
}

fn stated(at: &At<'_>, readings: Option<&[Reading]>, here: &Here<'_>) -> Option<Stated> {
    let mut keys = at.keys("stated figures")?;
    let stated = Stated {
        slope: keys.get("slope").and_then(|at| slope(&at)),
        offset: keys.get("offset").and_then(|at| potential(&at, here)),
        difference: keys.get("difference").and_then(|at| difference(&at, readings, here)),
    };
    here.finish(keys);
    Some(stated)
}

fn difference(at: &At<'_>, readings: Option<&[Reading]>, here: &Here<'_>) -> Option<StatedDifference> {
    let mut keys = at.keys("a stated difference")?;
    let why = "a difference lies between two standards";
    let from_at = keys.need("from", why);
    let to_at = keys.need("to", why);
    let mv = keys.need("mv", "the difference as stated").and_then(|at| potential(&at, here));
    here.finish(keys);
    let read_in = |at: &At<'_>| {
        let standard = standards::named(at, here)?;
        if readings.is_some_and(|all| all.iter().all(|reading| reading.standard != standard)) {
            at.tell(Problem::error(
                "difference-without-reading",
                &at.place(),
                format!("`{}` has no reading in this state", at.raw().unwrap_or_default()),
                "a stated difference is recomputed from the readings it was worked out from",
                "name two standards of the readings above",
            ));
            return None;
        }
        Some(standard)
    };
    let (from, to) = (from_at.as_ref().and_then(read_in), to_at.as_ref().and_then(read_in));
    Some(StatedDifference { from: from?, to: to?, mv: mv? })
}

fn stored(at: &At<'_>, here: &Here<'_>) -> Option<Stored> {
    let mut keys = at.keys("what the analyser holds")?;
    let stored = Stored {
        slope: keys.get("slope").and_then(|at| slope(&at)),
        offset: keys.get("offset").and_then(|at| potential(&at, here)),
        compensation: keys
            .get("compensation")
            .and_then(|at| at.word("a temperature compensation", Compensation::WORDS)),
    };
    here.finish(keys);
    Some(stored)
}

/// Without a unit a figure up to this is a fraction of the theoretical slope, not percent.
const FRACTION: f64 = 1.5;
/// Without a unit a figure in here is a slope in mV per pH (59.16 at 25 °C; 54.2 at 0 °C, 62 at 40 °C), not percent.
const MV_PER_PH: std::ops::RangeInclusive<f64> = 50.0..=63.0;

/// A slope in percent of theoretical. A bare figure that looks like another unit is refused; with `%` it stands.
fn slope(at: &At<'_>) -> Option<Measured<Percent>> {
    let typed = at.raw().unwrap_or_default().trim();
    if let Some(mv) = typed.strip_suffix("mV/pH").and_then(|mv| mv.trim().parse::<f64>().ok()) {
        let fix = format!("write {:.1} % (at 25 °C); {typed} itself may stand in `remarks:`", 100.0 * mv / 59.16);
        let why = "a slope is said in percent of the theoretical one at the temperature of the buffers";
        at.tell(Problem::error(
            "slope-not-percent",
            &at.place(),
            format!("`{typed}` is a slope in mV per pH"),
            why,
            fix,
        ));
        return None;
    }
    let value = at.number::<Percent>()?;
    let bare = !value.text.contains(Percent::SYMBOL);
    let (size, text) = (value.value.abs(), &value.text);
    let (found, fix) = if bare && MV_PER_PH.contains(&size) {
        let percent = 100.0 * size / 59.16;
        (
            "a slope in mV per pH",
            format!("write {percent:.1} % (at 25 °C) if mV per pH were meant, or `{text} %` if percent are"),
        )
    } else if bare && size > 0.0 && size <= FRACTION {
        ("a fraction", format!("write `{} %`", percent_of_fraction(size)))
    } else if !(0.0..=150.0).contains(&value.value) {
        (
            "no slope that a probe can have",
            "write the slope in percent of theoretical, positive for a healthy probe: `97.1 %`".to_owned(),
        )
    } else {
        return Some(value);
    };
    at.tell(Problem::error(
        "slope-not-percent",
        &value.place,
        format!("`{text}` looks like {found}"),
        "the slope is given in percent of the theoretical slope",
        fix,
    ));
    None
}

/// `0.98` as percent, without the noise of binary fractions.
fn percent_of_fraction(fraction: f64) -> f64 {
    (fraction * 1e6).round() / 1e4
}
