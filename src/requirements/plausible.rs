//! What the engine finds implausible in the readings of a loop: buffers that cannot tell a slope, a reversed response, a
//! single slip that explains it, halves that disagree, readings taken before they settled, figures stated that the readings do not give.
//!
//! Data are never changed: a problem names the place and the single change that would make the set plausible.

mod element;
mod settling;
mod slip;

use crate::client::LoopQuantity;
use crate::engine::fit::{GROUP_WITHIN_PH, ISOPOTENTIAL_PH, JUDGED_WITHIN_C};
use crate::firm::DecimalSign;
use crate::problem::{Fact, Place, Problem};
use crate::record::{Figures, Record, StateRecord};
use crate::rounding::{fixed, signed};
use crate::visit::{Loop, Obtained, Reading, RemedyKind, State, Stored, Visit};

/// Groups of buffers that span less cannot tell a slope.
///
/// Source: the calculation rules of this project; EPA 150.1 and 9040 ask for about 3 pH, DIN 19268:2021 for more than 2.
const SPAN_NEEDED_PH: f64 = 1.0;
/// Groups of buffers that span less are a deviation.
///
/// Source: DIN 19268:2021 (extract): buffers should differ by more than 2 pH.
const SPAN_ASKED_PH: f64 = 2.0;
/// Readings of one state farther apart in temperature are a deviation.
///
/// Source: common practice, no source (25 ± 2 °C in older editions of USP <791>).
const TEMPERATURES_WITHIN_C: f64 = 2.0;
/// Halves of the slope farther apart are told.
///
/// Source: common practice, no source.
const HALVES_WITHIN_PERCENT: f64 = 5.0;
/// A slope as left that is lower than as found by more is told.
///
/// Source: common practice, no source.
const WORSE_BY_PERCENT: f64 = 1.0;

/// Below this slope halves say nothing.
///
/// Source: common practice, no source: probes below half of the theoretical slope are dead.
const DEAD_BELOW_PERCENT: f64 = 50.0;

/// One set of readings of a loop with its figures.
pub(super) struct Set<'a> {
    stage: String,
    stored: Option<&'a Stored>,
    readings: &'a [Reading],
    figures: &'a Figures,
    /// Rows of the fit: potentials that are not excluded.
    used: Vec<usize>,
}

/// Problems of loop `index` that its figures show.
pub fn problems(visit: &Visit, index: usize, record: &Record) -> Vec<Problem> {
    let subject = &visit.loops[index];
    let mut found = Vec::new();
    found.extend(left_without_work(subject));
    let (as_found, as_left) = (obtained(&subject.as_found.0), subject.as_left.as_ref().and_then(|l| obtained(&l.0)));
    stated_and_stored(&mut found, subject, as_found, &record.as_found);
    found.extend(element::problems(as_found, &record.as_found));
    if let Some(left) = &record.as_left {
        found.extend(element::problems(as_left, left));
        stated_and_stored(&mut found, subject, as_left, left);
    }
    let sets = sets(subject, record, as_found, as_left);
    found.extend(sets.iter().flat_map(settling::problems));
    if subject.quantity == LoopQuantity::Redox {
        return found;
    }
    for set in sets.iter().filter(|set| !set.readings.is_empty()) {
        found.extend(span(visit, set));
        found.extend(temperatures(set));
        if found.iter().all(|problem| problem.code != "buffers-too-close") {
            found.extend(slip::problem(visit, set, record));
        }
        found.extend(halves(set));
    }
    found.extend(worse(subject, record));
    found
}

/// As-left readings of a loop on which nothing was done: a remedy or an adjustment was probably forgotten.
fn left_without_work(subject: &Loop) -> Option<Problem> {
    let untouched = !subject.adjusted && subject.remedies.is_empty();
    (untouched && subject.as_left.is_some()).then(|| {
        Problem::warning(
            "as-left-without-work",
            &subject.place,
            "readings as left, but nothing was adjusted and no remedy is recorded",
            "where nothing was done there is one set of readings: the verdict is that of the readings as found",
            "record the remedy under `remedies:` or set `adjusted: yes`; if nothing was done, leave `as_left` out",
        )
    })
}

fn obtained(state: &Obtained<State>) -> Option<&State> {
    match state {
        Obtained::Yes(state) => Some(state),
        Obtained::Not(_) => None,
    }
}

fn sets<'a>(subject: &'a Loop, record: &'a Record, found: Option<&'a State>, left: Option<&'a State>) -> Vec<Set<'a>> {
    let of = |stage: String, readings: &'a [Reading], figures: &'a Figures, stored: Option<&'a Stored>| {
        let counted = |row: &usize| readings[*row].mv.is_some() && readings[*row].excluded.is_none();
        let used = (0..readings.len().min(figures.readings.len())).filter(counted).collect();
        Set { stage, stored, readings, figures, used }
    };
    let mut sets = Vec::new();
    sets.extend(
        found.map(|state| of("as found".to_owned(), &state.readings, &record.as_found.figures, state.stored.as_ref())),
    );
    for (remedy, computed) in subject.remedies.iter().zip(&record.remedies) {
        let figures = computed.after.as_ref();
        sets.extend(
            figures.map(|figures| of(format!("after «{}»", remedy.kind.word()), &remedy.readings, figures, None)),
        );
    }
    let left = Option::zip(left, record.as_left.as_ref());
    sets.extend(
        left.map(|(state, record)| of("as left".to_owned(), &state.readings, &record.figures, state.stored.as_ref())),
    );
    sets
}

impl Set<'_> {
    fn place(&self, row: usize) -> &Place {
        &self.readings[row].place
    }

    fn ph(&self, row: usize) -> f64 {
        self.figures.readings[row].buffer_ph.unwrap_or(ISOPOTENTIAL_PH)
    }

    fn range(&self, of: impl Fn(usize) -> f64) -> f64 {
        let (low, high) = self
            .used
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &row| (low.min(of(row)), high.max(of(row))));
        (high - low).max(0.0)
    }
}

/// Whether the buffers of a set can tell slope and offset.
fn span(visit: &Visit, set: &Set<'_>) -> Vec<Problem> {
    let stage = &set.stage;
    let Some(&last) = set.used.last() else {
        let what = format!("{stage}: no reading with a potential (`mv`) is left for the fit");
        let why = "slope and offset are computed from potentials only";
        let fix = "add `mv:` if the analyser tells it, or take back an `excluded:`; otherwise nothing is to be done";
        return vec![
            Problem::warning("no-potential", set.place(0), what, why, fix).about([("stage", Fact::stage(stage))]),
        ];
    };
    let span_ph = set.range(|row| set.ph(row));
    let span_text = fixed(span_ph, 2, DecimalSign::Point);
    let several = set.used.iter().any(|&row| set.readings[row].standard != set.readings[last].standard);
    let name = &visit.kit.standards[set.readings[last].standard].name.text;
    let mut found = Vec::new();
    if !several {
        found.push(
            Problem::warning(
                "one-buffer-only",
                set.place(last),
                format!("{stage}: readings in one buffer only (`{name}`)"),
                "one buffer tells an error at its pH, but neither slope nor offset; no slope is assumed",
                "add a reading in a second buffer, at least 2 pH away, if one was taken",
            )
            .about([("stage", Fact::stage(stage)), ("standard", Fact::text(name))]),
        );
    } else if span_ph < SPAN_NEEDED_PH {
        found.push(Problem::error(
            "buffers-too-close",
            set.place(last),
            format!("{stage}: the buffers span only {span_text} pH"),
            "a slope needs buffers at least 1 pH apart: it would be the difference of two nearly equal readings",
            "add the reading in the other buffer (for example phthalate beside phosphate), or correct `in:`",
        ));
    } else if span_ph < SPAN_ASKED_PH {
        found.push(
            Problem::warning(
                "buffers-close",
                set.place(last),
                format!("{stage}: the buffers span only {span_text} pH"),
                "buffers should differ by more than 2 pH (DIN 19268)",
                "nothing, if no other buffer was used: it is printed as a deviation",
            )
            .about([("stage", Fact::stage(stage)), ("span", Fact::number(span_ph, 2, ""))]),
        );
    }
    let near_7 = set.used.iter().any(|&row| (set.ph(row) - ISOPOTENTIAL_PH).abs() <= GROUP_WITHIN_PH);
    if several && !near_7 {
        found.push(
            Problem::warning(
                "offset-not-observed",
                set.place(last),
                format!("{stage}: no buffer within 0.5 pH of 7"),
                "the offset at pH 7 is then read off the fitted line, not observed",
                "nothing, if no buffer near pH 7 was used: it is printed as a deviation",
            )
            .about([("stage", Fact::stage(stage))]),
        );
    }
    found
}

fn temperatures(set: &Set<'_>) -> Option<Problem> {
    let apart = set.range(|row| set.readings[row].temperature.value);
    let last = *set.used.last()?;
    let what =
        format!("{}: temperatures of the buffers differ by {} °C", set.stage, fixed(apart, 1, DecimalSign::Point));
    let fix = "check the temperatures; if they are right, nothing: it is printed as a deviation";
    if apart > JUDGED_WITHIN_C + 1e-9 {
        let why = "more than 10 °C apart the probe's own temperature behaviour mixes into the slope: it is not judged";
        return Some(
            Problem::warning("temperatures-too-far-apart", set.place(last), what, why, fix)
                .about([("stage", Fact::stage(&set.stage)), ("apart", Fact::number(apart, 1, "°C"))]),
        );
    }
    let why = "buffers of one set should stand at one temperature (within 2 °C, common practice)";
    (apart > TEMPERATURES_WITHIN_C + 1e-9).then(|| {
        Problem::warning("temperatures-differ", set.place(last), what, why, fix)
            .about([("stage", Fact::stage(&set.stage)), ("apart", Fact::number(apart, 1, "°C"))])
    })
}

/// Acid and alkaline half of the slope that disagree.
fn halves(set: &Set<'_>) -> Option<Problem> {
    let slopes = || set.figures.segments.iter().map(|segment| segment.slope_percent);
    let (low, high) = (slopes().fold(f64::INFINITY, f64::min), slopes().fold(f64::NEG_INFINITY, f64::max));
    let dead = set.figures.slope_percent.is_none_or(|slope| slope < DEAD_BELOW_PERCENT);
    if set.figures.segments.len() < 2 || dead || high - low <= HALVES_WITHIN_PERCENT {
        return None;
    }
    let told: Vec<String> = set
        .figures
        .segments
        .iter()
        .map(|s| {
            let [from, to, slope] =
                [(s.from_ph, 2), (s.to_ph, 2), (s.slope_percent, 1)].map(|(v, d)| fixed(v, d, DecimalSign::Point));
            format!("{slope} % from pH {from} to {to}")
        })
        .collect();
    let halves = set.figures.segments.iter().map(|s| {
        [
            ("slope", Fact::number(s.slope_percent, 1, "%")),
            ("from", Fact::number(s.from_ph, 2, "")),
            ("to", Fact::number(s.to_ph, 2, "")),
        ]
        .into()
    });
    let last = *set.used.last()?;
    Some(Problem::warning(
        "halves-disagree",
        set.place(last),
        format!("{}: the slope is not the same over the range: {}", set.stage, told.join(", ")),
        "a probe is straight within a few percent; an alkaline buffer that has taken up carbon dioxide is the first suspect, a diluted acid buffer the next",
        "repeat in freshly opened buffers; if nothing was mistyped it is printed as a deviation",
    )
    .about([("stage", Fact::stage(&set.stage)), ("halves", Fact::Each(halves.collect()))]))
}

/// Figures stated by somebody, and what the analyser shows against what it holds.
fn stated_and_stored(found: &mut Vec<Problem>, subject: &Loop, state: Option<&State>, record: &StateRecord) {
    let Some(state) = state else { return };
    for stated in record.stated.iter().filter(|stated| stated.agrees == Some(false)) {
        let said = state.stated.as_ref();
        let (case, place) = match stated.figure.as_str() {
            "slope" => ("slope", said.and_then(|said| said.slope.as_ref()).map(|number| &number.place)),
            "offset" => ("offset", said.and_then(|said| said.offset.as_ref()).map(|number| &number.place)),
            _ => ("difference", said.and_then(|said| said.difference.as_ref()).map(|difference| &difference.mv.place)),
        };
        let value = stated.computed.unwrap_or(f64::NAN);
        let computed = fixed(value, 1, DecimalSign::Point);
        let typed = match stated.stated_typed.ends_with(|c: char| c.is_ascii_digit()) {
            true => format!("{} {}", stated.stated_typed, stated.unit),
            false => stated.stated_typed.clone(),
        };
        let between = stated.between.as_ref().map_or_else(String::new, |between| format!(" {between}"));
        let problem = Problem::warning(
            "stated-disagrees",
            place.unwrap_or(&subject.place),
            format!("stated {}{between}: {typed}, but the readings give {computed} {}", stated.figure, stated.unit),
            "the readings count; a stated figure is recomputed and never used",
            "correct whichever was mistyped, the reading or the stated figure; both are printed",
        );
        let facts = [
            ("stated", Fact::typed(typed)),
            ("computed", Fact::number(value, 1, if case == "slope" { "%" } else { "mV" })),
        ];
        found.push(problem.about_case(case, facts));
    }
    let disagreement = record.stored.as_ref().filter(|stored| stored.agrees == Some(false));
    if let Some(worst) = disagreement.and_then(|stored| stored.largest_disagreement_ph) {
        found.push(Problem::warning(
            "shown-not-as-stored",
            state.readings.first().map_or(&subject.place, |reading| &reading.place),
            format!("the analyser shows up to {} pH other than its stored slope and offset give", signed(worst, 2, DecimalSign::Point)),
            "shown pH = 7 − (E − stored offset)/(stored slope · k(T)); a temperature element or a setting may be off",
            "check `stored`, `mv`, `shown` and the temperature compensation; if all is right it is printed as a deviation",
        ).about([("largest", Fact::signed(worst, 2, ""))]));
    }
}

fn worse(subject: &Loop, record: &Record) -> Option<Problem> {
    let replaced = subject.remedies.iter().any(|remedy| remedy.kind == RemedyKind::ProbeReplaced);
    let found = record.as_found.figures.slope_percent?;
    let left = record.as_left.as_ref()?.figures.slope_percent?;
    if replaced || left >= found - WORSE_BY_PERCENT {
        return None;
    }
    let [found_text, left_text] = [found, left].map(|slope| fixed(slope, 1, DecimalSign::Point));
    Some(
        Problem::warning(
            "left-worse-than-found",
            &subject.place,
            format!("slope as left {left_text} % is lower than as found, {found_text} %"),
            "a remedy should not cost slope; a buffer carried over or a reading taken too early can look like it",
            "repeat the first buffer at the end; if the readings are right it is printed as a deviation",
        )
        .about([("left", Fact::number(left, 1, "%")), ("found", Fact::number(found, 1, "%"))]),
    )
}
