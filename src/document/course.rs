//! The course of a loop or a probe over all its visits: charts, every visit in a row, and what they say together. It is an
//! overview, said so on every page, and no certificate.

use super::certificate::history::{Drawn, chart, of_figures};
use super::certificate::{author, brand, columns, moment_of_issue};
use super::chart::width_of;
use super::print::{Print, cell, cell_if, end_leads, joined, plain, verdict_mark, without_empty_columns};
use super::{Align, Attachment, Block, Cell, Document, Fact, Part, Relationship, Row, Running, Table};
use crate::firm::Firm;
use crate::record::{
    BreakRecord, ClientFacts, Course, CourseVisit, FigureTrend, KeptError, KeptState, PointFigures, Quantity,
    TrendVisit,
};
use crate::rounding::{expanded_uncertainty, fixed, signed};

/// Where an overview was drawn from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DrawnFrom {
    /// Number of the last document.
    pub document: String,
    /// Its line in the register.
    pub line: u64,
    /// Its moment of issue, as printed: with it the same visits give the same bytes.
    pub issued: String,
    /// The course as JSON.
    pub data: String,
}

/// Height of a plot in pt, and where charts have a page of their own.
const PLOT: f64 = 118.0;
const HIGH_PLOT: f64 = 150.0;

/// Visits whose tables stand below the charts; of more they begin a page.
const FEW: usize = 3;

/// The overview of a course in the brand of the firm.
pub fn course(course: &Course, firm: &Firm, from: &DrawnFrom) -> Document {
    let client = ClientFacts { language: course.language.clone(), ..ClientFacts::default() };
    let print = Print::of(firm, &client);
    let name = course.tag.as_ref().or(course.serial.as_ref()).cloned().unwrap_or_default();
    let title = print.label(if course.tag.is_some() { "course-title-loop" } else { "course-title-probe" });
    let last = course.visits.last().map(|visit| print.day(&visit.date)).unwrap_or_default();
    let mut parts = vec![Part { name: title.clone(), blocks: vec![facts(&print, course, from)] }];
    parts[0].blocks.extend(charts(&print, course));
    parts[0].blocks.extend(words(&print, course));
    let mut rest = tables(&print, course);
    rest.push(Block::Heading(print.label("course-method-title")));
    rest.push(Block::Paragraph(plain(print.label("course-method"))));
    rest.push(Block::EndMark(print.say("course-end", &[("name", &name)])));
    match is_long(course) {
        true => parts.push(Part { name: print.label("course-visits"), blocks: rest }),
        false => parts[0].blocks.extend(rest),
    }
    parts.iter_mut().for_each(|part| end_leads(&mut part.blocks, print.words.label("colon")));
    Document {
        subtitle: subtitle(&print, course),
        number: print.say("course-number", &[("name", &name)]),
        language: print.words.language.to_owned(),
        paper: firm.paper,
        accent: firm.accent,
        brand: brand(&print, firm),
        running: Running {
            issued: print.say("course-until", &[("day", &last)]),
            page: print.label("page-of"),
            draft: Some(print.label("course-mark")),
            footer_left: firm.footer.iter().map(|text| text.text.clone()).collect(),
            footer_right: vec![print.say("course-register-line", &[("line", &from.line.to_string())])],
        },
        parts,
        title,
        issued: moment_of_issue(Some(&from.issued)),
        author: author(&print, firm),
        attachments: attachments(&print, firm, &name, &from.data),
        data: from.data.clone(),
    }
}

fn is_long(course: &Course) -> bool {
    course.visits.len() > FEW
}

fn attachments(print: &Print, firm: &Firm, name: &str, data: &str) -> Vec<Attachment> {
    let legal = |c: char| if c.is_alphanumeric() || "-_.".contains(c) { c } else { '_' };
    let data = Attachment {
        name: format!("{}.json", name.chars().map(legal).collect::<String>()),
        media_type: super::attached::JSON,
        relationship: Relationship::Data,
        description: print.label("course-attached"),
        bytes: data.as_bytes().to_vec(),
    };
    if firm.attachments { vec![data] } else { Vec::new() }
}

fn subtitle(print: &Print, course: &Course) -> String {
    let named = match (&course.tag, &course.serial, course.quantity) {
        (Some(tag), _, Quantity::Ph) => print.say("loop-ph", &[("tag", tag)]),
        (Some(tag), _, Quantity::Redox) => print.say("loop-redox", &[("tag", tag)]),
        (None, serial, _) => print.say("course-probe", &[("serial", serial.as_deref().unwrap_or_default())]),
    };
    joined([Some(named), course.location.clone().filter(|_| course.tag.is_some()), Some(course.client.clone())])
}

/// What is told on the left, from what on the right.
fn facts(print: &Print, course: &Course, from: &DrawnFrom) -> Block {
    let quantity = match course.quantity {
        Quantity::Ph => print.label("quantity-ph"),
        Quantity::Redox => print.label("quantity-redox"),
    };
    let mut about = vec![print.fact("client", &course.client)];
    match &course.tag {
        Some(tag) => {
            about.push(print.fact("tag", joined([Some(tag.clone()), Some(quantity)])));
            about.extend(print.fact_if("location", course.location.clone()));
            let probes = course.probes.iter().map(|probe| probe.serial.clone());
            about.push(Fact { label: print.label("course-probes"), value: vec![joined(probes.map(Some))] });
        }
        None => {
            about.push(print.fact("probe", joined([course.serial.clone(), Some(quantity)])));
            about.push(print.fact("course-tags", joined(tags(course).into_iter().map(Some))));
        }
    }
    let ends = [course.visits.first(), course.visits.last()].map(|visit| visit.map(|it| print.day(&it.date)));
    let period = Option::zip(ends[0].as_ref(), ends[1].as_ref());
    let period = period.map(|(from, to)| print.say("span", &[("from", from), ("to", to)])).unwrap_or_default();
    let line = print.say("course-register-line", &[("line", &from.line.to_string())]);
    let drawn = vec![
        print.fact("course-period", period),
        print.fact("course-visits", course.visits.len().to_string()),
        print.fact("course-last", joined([Some(from.document.clone()), Some(line)])),
    ];
    let heading = if course.tag.is_some() { "loop" } else { "probe" };
    columns([
        (1, vec![Block::Heading(print.label(heading)), Block::Facts(about)]),
        (1, vec![Block::Heading(print.label("course-drawn")), Block::Facts(drawn)]),
    ])
}

/// Loops that the visits were made to, each once.
fn tags(course: &Course) -> Vec<String> {
    let mut tags: Vec<String> = Vec::new();
    for visit in &course.visits {
        if !tags.contains(&visit.tag) {
            tags.push(visit.tag.clone());
        }
    }
    tags
}

/// One chart a figure over the whole width; the line is that of the last probe.
fn charts(print: &Print, course: &Course) -> Vec<Block> {
    let visits: Vec<TrendVisit> = course.visits.iter().map(|visit| as_trend(course, visit)).collect();
    let breaks: Vec<(BreakRecord, String)> = course.breaks.iter().map(|b| (b.clone(), break_word(print, b))).collect();
    let figures: &[FigureTrend] =
        course.probes.iter().rev().map(|probe| &probe.figures[..]).find(|figures| !figures.is_empty()).unwrap_or(&[]);
    // Two visits always lie on a line: none is drawn.
    let without_line = |figure: &FigureTrend| FigureTrend { ageing: None, ..figure.clone() };
    let shown = |figure: &FigureTrend| if figure.points > 2 { figure.clone() } else { without_line(figure) };
    let figures: Vec<FigureTrend> = figures.iter().map(shown).collect();
    let size = [width_of(1), if is_long(course) { HIGH_PLOT } else { PLOT }];
    let drawn = figures.iter().filter_map(|figure| {
        let title = print.word("history", figure.figure);
        let facts = Drawn { visits: &visits, breaks: &breaks, figure, figures: &figures, size };
        Some([Block::Heading(title.clone()), Block::Figure(chart(print, &facts, &title)?)])
    });
    drawn.flatten().collect()
}

/// A visit as charts take it; of a probe only what concerns it.
fn as_trend(course: &Course, visit: &CourseVisit) -> TrendVisit {
    let own = |serial: &Option<String>| course.serial.is_none() || course.serial == *serial;
    let left = visit.as_left.as_ref().filter(|_| own(&visit.serial_left));
    TrendVisit {
        date: visit.date.clone(),
        visit: visit.document.clone(),
        serial: visit.serial_left.clone(),
        found: figures(&visit.as_found).filter(|_| own(&visit.serial)),
        left: left.and_then(figures),
        untouched: visit.untouched,
        done: visit.remedies.iter().map(|remedy| remedy.remedy.clone()).collect(),
    }
}

fn figures(state: &KeptState) -> Option<PointFigures> {
    let &KeptState { slope_percent, offset_mv, error_mv, .. } = state;
    Some(PointFigures { slope_percent, offset_mv, error_mv }).filter(|of| *of != PointFigures::default())
}

/// The word of a break; of another probe with its serial.
fn break_word(print: &Print, of: &BreakRecord) -> String {
    let what = print.word("break", &of.what);
    match &of.serial {
        Some(serial) if of.what.starts_with("probe") => {
            print.say("course-break-probe", &[("what", &what), ("serial", serial)])
        }
        Some(_) | None => what,
    }
}

/// Figures of every visit, then the errors found with the verdicts.
fn tables(print: &Print, course: &Course) -> Vec<Block> {
    let caption = if course.tag.is_some() { "history-visits" } else { "course-visits-probe" };
    let [values, errors] = [value_table(print, course, caption), error_table(print, course)];
    vec![
        Block::Heading(print.label(caption)),
        Block::Table(values),
        Block::Heading(print.label("course-errors")),
        Block::Table(errors),
    ]
}

fn value_table(print: &Print, course: &Course, caption: &str) -> Table {
    let mut heads = vec![("date", Align::Left, 0), ("course-document", Align::Left, 0)];
    heads.push((if course.tag.is_some() { "probe" } else { "tag" }, Align::Left, 0));
    let numbers: &[&str] = match course.quantity {
        Quantity::Ph => &["history-slope-found", "history-slope-left", "history-offset-found", "history-offset-left"],
        Quantity::Redox => &["history-error-found", "history-error-left"],
    };
    heads.extend(numbers.iter().map(|key| (*key, Align::Decimal, 0)));
    heads.push(("done", Align::Left, 1));
    let mut table = print.table(caption, &heads);
    let row = |visit: &CourseVisit| {
        let shown = as_trend(course, visit);
        let number = |value: Option<f64>| cell_if(value.map(|value| fixed(value, 1, print.sign)));
        let states = [shown.found, shown.left];
        let of = |figure: fn(&PointFigures) -> Option<f64>| states.map(|state| number(state.as_ref().and_then(figure)));
        let mut cells = vec![cell(print.day(&visit.date)), cell(document(print, visit))];
        // What is the same in every row stands above already: the column falls away.
        cells.push(match &course.tag {
            Some(_) if course.probes.len() > 1 => cell(serials(visit)),
            None if tags(course).len() > 1 => cell(&visit.tag),
            Some(_) | None => cell(""),
        });
        match course.quantity {
            Quantity::Ph => cells.extend(of(|f| f.slope_percent).into_iter().chain(of(|f| f.offset_mv))),
            Quantity::Redox => cells.extend(of(|f| f.error_mv)),
        }
        cells.push(cell(done(print, visit)));
        Row::Cells(cells)
    };
    table.rows = course.visits.iter().map(row).collect();
    without_empty_columns(table)
}

/// The probe left, after the one found where it is another.
fn serials(visit: &CourseVisit) -> String {
    match (&visit.serial, &visit.serial_left) {
        (Some(found), Some(left)) if found != left => format!("{found} → {left}"),
        (found, left) => left.clone().or(found.clone()).unwrap_or_default(),
    }
}

fn document(print: &Print, visit: &CourseVisit) -> String {
    match visit.draft {
        true => print.say("course-draft", &[("number", &visit.document)]),
        false => visit.document.clone(),
    }
}

fn done(print: &Print, visit: &CourseVisit) -> String {
    match (visit.untouched, visit.remedies.is_empty()) {
        (true, _) => print.label("history-untouched"),
        (false, true) => print.label("history-adjusted"),
        (false, false) => joined(visit.remedies.iter().map(|remedy| Some(print.remedy_inside(&remedy.remedy)))),
    }
}

fn error_table(print: &Print, course: &Course) -> Table {
    let mut table = print.table(
        "course-errors",
        &[
            ("date", Align::Left, 0),
            ("course-error", Align::Decimal, 0),
            ("expanded-uncertainty", Align::Decimal, 0),
            ("course-in", Align::Left, 0),
            ("fail-limit", Align::Left, 0),
            ("state-found-title", Align::Left, 0),
            ("state-left-title", Align::Left, 0),
            ("outcome", Align::Left, 1),
        ],
    );
    table.rows = course.visits.iter().map(|visit| error_row(print, visit)).collect();
    without_empty_columns(table)
}

fn error_row(print: &Print, visit: &CourseVisit) -> Row {
    let error = visit.found_error.as_ref();
    let left = match (&visit.as_left, visit.untouched) {
        (Some(left), _) => verdict(print, left),
        (None, true) => cell(print.label("left-unchanged")),
        (None, false) => cell(print.label("not-measured")),
    };
    Row::Cells(vec![
        cell(print.day(&visit.date)),
        cell_if(
            error.map(|error| {
                crate::rounding::with_unit(&signed(error.value, decimals(error), print.sign), &error.unit)
            }),
        ),
        cell_if(error.and_then(|error| Some(expanded_uncertainty(error.expanded_uncertainty?, print.sign).0))),
        cell_if(error.and_then(|error| error.of.clone())),
        cell_if(
            error.and_then(|error| print.interval(Some(-error.limit?), error.limit, error.limit_decimals, &error.unit)),
        ),
        verdict(print, &visit.as_found),
        left,
        cell(print.word("outcome-short", &visit.outcome)),
    ])
}

/// Decimals of an error, so that it never contradicts its limit.
fn decimals(error: &KeptError) -> usize {
    let typed = if error.unit.is_empty() { error.decimals.max(2) } else { error.decimals };
    let bounds: Vec<f64> = error.limit.into_iter().flat_map(|limit| [-limit, limit]).collect();
    crate::rounding::beside(error.value, typed, &bounds)
}

fn verdict(print: &Print, state: &KeptState) -> Cell {
    let (mark, key) = match state.verdict {
        _ if state.not_obtained.is_some() => (super::Mark::NotJudged, "not-obtained"),
        Some(crate::record::Verdict::Pass) if state.warned => (super::Mark::Warn, "outcome-pass-warned"),
        verdict => verdict_mark(verdict),
    };
    Cell { text: print.label(key), mark: Some(mark) }
}

/// What the visits of each probe say together, the last probe first; of one visit there is nothing to say.
fn words(print: &Print, course: &Course) -> Vec<Block> {
    let told = course.probes.iter().rev().filter(|probe| probe.visits > 1 && !probe.figures.is_empty());
    let blocks = told.flat_map(|probe| {
        let [first, last] = [&probe.first, &probe.last].map(|day| print.day(day));
        let title = print.say("course-probe-period", &[("serial", &probe.serial), ("first", &first), ("last", &last)]);
        let list = of_figures(print, &probe.breaks, &probe.figures, &probe.gains);
        [Block::Heading(title), Block::List(list)]
    });
    blocks.collect()
}
