//! A course as a person reads it at a terminal: a row a visit, then what each probe's visits say together.

use crate::commands::lookup::{LINE, aligned, indented};
use crate::commands::table::{BOLD, DIM, GREEN, RED, Style, YELLOW};
use crate::record::{
    AgeingRecord, Course, CourseVisit, FigureTrend, GainRecord, KeptError, KeptState, ProbeCourse, Quantity,
    RemedyGain, Verdict,
};
use crate::rounding::{DecimalSign, beside, expanded_uncertainty, fixed, signed};
use unicode_width::UnicodeWidthStr;

const POINT: DecimalSign = DecimalSign::Point;

/// Columns before what stands below a row.
const BELOW: usize = 12;

/// The text of a course.
pub fn course(course: &Course, style: Style) -> String {
    let (quantity, heads) = match course.quantity {
        Quantity::Ph => ("pH", ["slope %", "offset mV"]),
        Quantity::Redox => ("redox", ["error mV", "gain %"]),
    };
    let name = match (&course.tag, &course.serial) {
        (Some(tag), _) => format!("{tag}  {quantity}"),
        (None, serial) => format!("probe {}  {quantity}", serial.as_deref().unwrap_or_default()),
    };
    let location = course.location.as_ref().filter(|_| course.tag.is_some());
    let name = location.map_or(name.clone(), |location| format!("{name}  {location}"));
    let mut out = format!("\n{}", style.paint(&indented(&name, 0), BOLD).replace("\n\u{1b}[0m", "\u{1b}[0m\n"));
    let days = [course.visits.first(), course.visits.last()].map(|visit| visit.map_or("", |visit| &visit.date));
    let visits = match course.visits.len() {
        1 => format!("1 visit, {}", days[0]),
        count => format!("{count} visits, {} to {}", days[0], days[1]),
    };
    out += &style.paint(&format!("{} · {visits}\n", course.client), DIM);
    let who = if course.tag.is_some() { "probe" } else { "loop" };
    let head = ["date", who, heads[0], heads[1], "largest error as found", "found → left"].map(str::to_owned);
    let mut rows = vec![head];
    rows.extend(course.visits.iter().map(|visit| row(course, visit)));
    let (lines, is_wide) = table(&rows);
    let mut lines = lines.iter();
    out += &format!("{}\n", style.paint(lines.next().map_or("", String::as_str), DIM));
    for ((line, row), visit) in lines.zip(&rows[1..]).zip(&course.visits) {
        out += &format!("{}\n", coloured(line, visit, style));
        let who = Some(format!("{who} {}", row[WHO])).filter(|_| is_wide);
        out += &style.paint(&indented(&below(visit, who), BELOW), DIM);
    }
    course.probes.iter().rev().for_each(|probe| out += &of_probe(course, probe));
    out
}

/// Column of the probe or the loop.
const WHO: usize = 1;

/// The rows below each other; where they are wider than a line, without probe or loop, which then stands below.
fn table(rows: &[[String; 6]]) -> (Vec<String>, bool) {
    let all: Vec<Vec<String>> = rows.iter().map(|row| row.to_vec()).collect();
    let lines = aligned(&all, &[false, false, true, true, false, false]);
    if lines.iter().all(|line| line.width() <= LINE) {
        return (lines, false);
    }
    let without = |row: &[String; 6]| {
        let mut row = row.to_vec();
        row.remove(WHO);
        row
    };
    (aligned(&rows.iter().map(without).collect::<Vec<_>>(), &[false, true, true, false, false]), true)
}

fn row(course: &Course, visit: &CourseVisit) -> [String; 6] {
    let figures: [fn(&KeptState) -> Option<f64>; 2] = match course.quantity {
        Quantity::Ph => [|state| state.slope_percent, |state| state.offset_mv],
        Quantity::Redox => [|state| state.error_mv, |state| state.gain_percent],
    };
    let own = |serial: &Option<String>| course.serial.is_none() || course.serial == *serial;
    let found = Some(&visit.as_found).filter(|_| own(&visit.serial));
    let left = visit.as_left.as_ref().filter(|_| own(&visit.serial_left));
    let number = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), |value| fixed(value, 1, POINT));
    let both = |of: fn(&KeptState) -> Option<f64>| {
        let (found, left) = (found.and_then(of), left.and_then(of));
        match (left, visit.untouched) {
            (None, true) => number(found),
            (left, _) => format!("{} → {}", number(found), number(left)),
        }
    };
    let who = match &course.tag {
        Some(_) => match (&visit.serial, &visit.serial_left) {
            (Some(found), Some(left)) if found != left => format!("{found} → {left}"),
            (found, left) => left.clone().or(found.clone()).unwrap_or_default(),
        },
        None => visit.tag.clone(),
    };
    let error = visit.found_error.as_ref().map_or_else(|| "–".to_owned(), error);
    [visit.date.clone(), who, both(figures[0]), both(figures[1]), error, verdicts(visit)]
}

/// `+0.56 in B4, limit ±0.20`.
fn error(error: &KeptError) -> String {
    let typed = if error.unit.is_empty() { error.decimals.max(2) } else { error.decimals };
    let bounds: Vec<f64> = error.limit.into_iter().flat_map(|limit| [-limit, limit]).collect();
    let value = signed(error.value, beside(error.value, typed, &bounds), POINT);
    let unit = if error.unit.is_empty() { String::new() } else { format!(" {}", error.unit) };
    let of = error.of.as_ref().map_or_else(String::new, |of| format!(" in {of}"));
    let limit =
        error.limit.map_or_else(String::new, |limit| format!(", limit ±{}", fixed(limit, error.limit_decimals, POINT)));
    format!("{value}{unit}{of}{limit}")
}

fn verdicts(visit: &CourseVisit) -> String {
    let found = word(&visit.as_found);
    match (&visit.as_left, visit.untouched) {
        (Some(left), _) => format!("{found} → {}", word(left)),
        (None, true) => found.to_owned(),
        (None, false) => format!("{found} → not measured"),
    }
}

fn word(state: &KeptState) -> &'static str {
    match state.verdict {
        _ if state.not_obtained.is_some() => "not obtained",
        Some(Verdict::Pass) if state.warned => "pass, warned",
        Some(Verdict::Pass) => "pass",
        Some(Verdict::ConditionalPass) => "cond. pass",
        Some(Verdict::ConditionalFail) => "cond. fail",
        Some(Verdict::Fail) => "FAIL",
        None => "no verdict",
    }
}

/// The line with its verdicts coloured by that as found.
fn coloured(line: &str, visit: &CourseVisit, style: Style) -> String {
    let verdicts = verdicts(visit);
    let code = match visit.as_found.verdict {
        Some(Verdict::Fail) => RED,
        Some(Verdict::ConditionalPass | Verdict::ConditionalFail) => YELLOW,
        Some(Verdict::Pass) if visit.as_found.warned => YELLOW,
        Some(Verdict::Pass) => GREEN,
        None => DIM,
    };
    match line.strip_suffix(&verdicts) {
        Some(before) => format!("{before}{}", style.paint(&verdicts, code)),
        None => line.to_owned(),
    }
}

/// The document that counts, what was done and what it gained, and what became of the loop.
fn below(visit: &CourseVisit, who: Option<String>) -> String {
    let mut parts: Vec<String> = who.into_iter().collect();
    parts.push(visit.document.clone());
    parts.extend(visit.draft.then(|| "DRAFT, signatures awaited".to_owned()));
    parts.extend((visit.kind != "original").then(|| visit.kind.clone()));
    parts.extend(visit.as_found.not_obtained.as_ref().map(|reason| format!("as found not obtained: {reason}")));
    let done: Vec<String> = visit.remedies.iter().map(remedy).collect();
    parts.push(match (visit.untouched, done.is_empty()) {
        (true, _) => "nothing done".to_owned(),
        (false, true) => "adjusted only".to_owned(),
        (false, false) => done.join(", "),
    });
    let known = visit.found_error.as_ref().and_then(|error| error.expanded_uncertainty);
    parts.extend(known.map(|u| format!("U of the error\u{a0}{}", expanded_uncertainty(u, POINT).0)));
    parts.extend((visit.outcome != "returned to service").then(|| visit.outcome.clone()));
    parts.join(" · ")
}

/// `acid soak (+9.2 %, +12.9 mV)`.
fn remedy(remedy: &RemedyGain) -> String {
    let gained = [(remedy.slope_gained_percent, "%"), (remedy.offset_moved_mv, "mV")];
    let gained =
        gained.into_iter().filter_map(|(value, unit)| Some(format!("{}\u{a0}{unit}", signed(value?, 1, POINT))));
    let gained: Vec<String> = gained.collect();
    match gained.is_empty() {
        true => remedy.remedy.clone(),
        false => format!("{} ({})", remedy.remedy, gained.join(", ")),
    }
}

/// What the visits of a probe say together.
fn of_probe(course: &Course, probe: &ProbeCourse) -> String {
    let is_told = |figure: &&FigureTrend| figure.points > 2 || figure.fouling_per_30_days.is_some();
    let mut lines: Vec<String> = probe.figures.iter().filter(is_told).map(|figure| of_figure(probe, figure)).collect();
    if let Some(figure) = probe.figures.first().filter(|_| lines.is_empty()) {
        lines.push(format!("too few visits for a trend since {}", since(probe, figure)));
    }
    let gains: Vec<String> = probe.gains.iter().filter_map(gain).collect();
    if !gains.is_empty() {
        lines.push(format!("gained on average: {}", gains.join(", ")));
    }
    let title = match course.tag {
        Some(_) => format!("probe {}, {} to {}", probe.serial, probe.first, probe.last),
        None => String::new(),
    };
    let title = if title.is_empty() { String::new() } else { indented(&title, 2) };
    title + &lines.iter().map(|line| indented(line, 4)).collect::<String>()
}

/// `slope since 2025-06-17 (junction renewed): −0.62 ± 0.31 % in 30 days, 4 visits; warn limit 80 about 2027-03-02`.
fn of_figure(probe: &ProbeCourse, figure: &FigureTrend) -> String {
    let name = figure.figure.split('_').next().unwrap_or_default();
    let ageing = figure.ageing.as_ref().filter(|_| figure.points > 2);
    let aged = match ageing {
        Some(ageing) if ageing.has_direction => rate(ageing, figure.unit),
        Some(ageing) => format!("no direction ({})", rate(ageing, figure.unit)),
        None => "too few visits for a line".to_owned(),
    };
    let met = |what: &str, limit: Option<f64>, day: Option<&String>| {
        let (limit, day) = Option::zip(limit, day)?;
        Some(format!("; carried on, {what} limit\u{a0}{} about {day}", fixed(limit, figure.limit.decimals, POINT)))
    };
    let warn = ageing.and_then(|it| met("warn", it.warn_limit, it.warn_on.as_ref())).unwrap_or_default();
    let fail = ageing.and_then(|it| met("fail", it.fail_limit, it.fail_on.as_ref())).unwrap_or_default();
    let fouled = figure
        .fouling_per_30_days
        .map(|per| format!("; fouling {}\u{a0}{unit} in 30\u{a0}days", signed(per, 2, POINT), unit = figure.unit));
    let visits = if figure.points == 1 { "visit" } else { "visits" };
    let since = since(probe, figure);
    format!("{name} since {since}: {aged}, {} {visits}{warn}{fail}{}", figure.points, fouled.unwrap_or_default())
}

/// `2025-06-17 (junction renewed)`.
fn since(probe: &ProbeCourse, figure: &FigureTrend) -> String {
    let began = probe.breaks.iter().rev().find(|it| it.date == figure.since);
    began.map_or_else(|| figure.since.clone(), |began| format!("{} ({})", began.date, began.what))
}

/// `−0.62 ± 0.31 % in 30 days`, with its 95 % interval.
fn rate(ageing: &AgeingRecord, unit: &str) -> String {
    let half = ageing
        .per_30_days_half_width
        .map_or_else(String::new, |half| format!("\u{a0}±\u{a0}{}", fixed(half, 2, POINT)));
    format!("{}{half}\u{a0}{unit} in 30\u{a0}days", signed(ageing.per_30_days, 2, POINT))
}

/// `acid soak +9.2 %, +12.9 mV (2 times)`.
fn gain(gain: &GainRecord) -> Option<String> {
    let slope = signed(gain.slope_gained_percent?, 1, POINT);
    let offset = gain.offset_moved_mv.map_or_else(String::new, |mv| format!(", {}\u{a0}mV", signed(mv, 1, POINT)));
    let times = if gain.measured == 1 { "once".to_owned() } else { format!("{} times", gain.measured) };
    Some(format!("{} {slope}\u{a0}%{offset} ({times})", gain.remedy))
}
