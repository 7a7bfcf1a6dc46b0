//! `due`: when loops are due, from the register.

use super::lookup::{self, Format, aligned, indented};
use super::table::{BOLD, DIM, RED, Style};
use super::{DONE, REFUSED, print, selected};
use crate::csv;
use crate::past::{Due, due, roll};
use crate::register::{Selection, Trouble, View};
use chrono::{Days, NaiveDate};
use clap::Args;
use serde::Serialize;
use std::io::IsTerminal;
use std::path::PathBuf;

/// Arguments of `due`.
#[derive(Debug, Args)]
pub struct DueList {
    /// Only what is due or suggested up to this day
    #[arg(long, value_name = "DATE", value_parser = lookup::day, conflicts_with = "within")]
    by: Option<NaiveDate>,
    /// Only what is due or suggested within so many days
    #[arg(long, value_name = "DAYS")]
    within: Option<u32>,
    /// Only loops of this client
    #[arg(long, value_name = "NAME")]
    client: Vec<String>,
    /// Only these loops
    #[arg(long, value_name = "TAG")]
    tag: Vec<String>,
    /// The day from which overdue is counted (default: today)
    #[arg(long, value_name = "DATE", value_parser = lookup::day)]
    on: Option<NaiveDate>,
    /// Folder of the register (default: certificates/register)
    #[arg(long, value_name = "FOLDER")]
    register: Option<PathBuf>,
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// How a loop is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
enum Listed {
    /// Somebody agreed to a date.
    #[serde(rename = "agreed")]
    Agreed,
    /// Nobody did.
    #[serde(rename = "no date agreed")]
    NotAgreed,
    /// It was condemned or left out of service, and no date was agreed to.
    #[serde(rename = "out of service")]
    OutOfService,
}

impl Listed {
    fn of(due: &Due) -> Listed {
        match (&due.agreed, due.is_out_of_service()) {
            (Some(_), _) => Listed::Agreed,
            (None, false) => Listed::NotAgreed,
            (None, true) => Listed::OutOfService,
        }
    }
}

/// Runs `due`.
pub fn run(order: &DueList) -> u8 {
    // The day where the person is: the clock is read here and nowhere else.
    let today = order.on.unwrap_or_else(|| chrono::Local::now().date_naive());
    let folder = lookup::register_folder(order.register.as_deref());
    let view = match selected::open(&folder) {
        Ok(view) => view,
        Err(code) => return code,
    };
    tell_all(order, &view, today).unwrap_or_else(|trouble| selected::tell_trouble(&trouble))
}

fn tell_all(order: &DueList, view: &View, today: NaiveDate) -> Result<u8, Trouble> {
    let selection = Selection { clients: order.client.clone(), tags: order.tag.clone(), ..Selection::default() };
    let roll = roll(view, &selection)?;
    let mut refused = lookup::tell_unknown_clients(&roll, &order.client);
    for tag in order.tag.iter().filter(|tag| !roll.tags.contains(*tag)) {
        lookup::tell_unknown("loop", tag, roll.tags.iter().map(String::as_str));
        refused = true;
    }
    if refused && roll.loops.is_empty() {
        return Ok(REFUSED);
    }
    let (mut dues, lost) = due(view, &roll)?;
    refused |= lookup::tell_lost(&lost);
    let by = order.by.or_else(|| today.checked_add_days(Days::new(u64::from(order.within?))));
    let total = dues.len();
    dues.retain(|due| by.is_none_or(|by| is_by(due, by)));
    let day = |due: &Due| due.agreed_day().or(due.suggested_day()).unwrap_or(NaiveDate::MAX);
    dues.sort_by(|a, b| (Listed::of(a), day(a), &a.client, &a.tag).cmp(&(Listed::of(b), day(b), &b.client, &b.tag)));
    print(&match order.format {
        Format::Text => text(&dues, total, today, Style::of_terminal(std::io::stdout().is_terminal())),
        Format::Json => dues.iter().map(|due| json(due, today)).collect(),
        Format::Csv => sheet(&dues, today),
    });
    Ok(if refused { REFUSED } else { DONE })
}

/// Whether a loop is due, or suggested to be, up to a day; one that is out of service stays in sight.
fn is_by(due: &Due, by: NaiveDate) -> bool {
    let is_by = |day: Option<NaiveDate>| day.is_some_and(|day| day <= by);
    is_by(due.agreed_day()) || is_by(due.suggested_day()) || due.is_out_of_service()
}

/// Days since the agreed day passed; none: it has not, or nobody agreed to one.
fn overdue(due: &Due, today: NaiveDate) -> Option<i64> {
    let days = (today - due.agreed_day()?).num_days();
    (days > 0).then_some(days)
}

fn days(count: i64) -> String {
    if count == 1 { "1 day".to_owned() } else { format!("{count} days") }
}

fn text(dues: &[Due], total: usize, today: NaiveDate, style: Style) -> String {
    let of = |listed: Listed| dues.iter().filter(|due| Listed::of(due) == listed).collect::<Vec<&Due>>();
    let [agreed, open, out] = [Listed::Agreed, Listed::NotAgreed, Listed::OutOfService].map(of);
    let mut told = String::new();
    told += &list(&agreed, "Agreed dates", "due", today, style);
    told += &list(&open, "No date agreed: what the firm's interval would suggest", "suggestion", today, style);
    told += &list(&out, "Out of service", "", today, style);
    let late = agreed.iter().filter(|due| overdue(due, today).is_some()).count();
    let [agreed, open, out] = [agreed.len(), open.len(), out.len()];
    let hidden = match total - dues.len() {
        0 => String::new(),
        hidden => format!("; {hidden} more not due by then, or without a date"),
    };
    let loops = if dues.len() == 1 { "loop" } else { "loops" };
    let counts = format!(
        "{} {loops} on {today}: {agreed} with an agreed date ({late} overdue), {open} without, {out} out of service{hidden}. \
         A suggestion is the firm's interval after one step by the errors found; nobody agreed to it.",
        dues.len()
    );
    told + "\n" + &indented(&counts, 0)
}

fn list(dues: &[&Due], title: &str, column: &str, today: NaiveDate, style: Style) -> String {
    if dues.is_empty() {
        return String::new();
    }
    let head = [column, "", "loop", "client", "last visit", "document"].map(str::to_owned).to_vec();
    let rows: Vec<Vec<String>> = std::iter::once(head).chain(dues.iter().map(|due| row(due, today).to_vec())).collect();
    let lines = aligned(&rows, &[]);
    let mut lines = lines.iter();
    let mut out = format!("\n{}\n", style.paint(title, BOLD));
    out += &format!("{}\n", style.paint(lines.next().map_or("", String::as_str), DIM));
    for (line, due) in lines.zip(dues) {
        out += &match overdue(due, today) {
            Some(_) => format!("{}\n", style.paint(line, RED)),
            None => format!("{line}\n"),
        };
        for told in below(due) {
            out += &style.paint(&indented(&told, BELOW), DIM);
        }
    }
    out
}

/// Columns before what stands below a row.
const BELOW: usize = 12;

fn row(due: &Due, today: NaiveDate) -> [String; 6] {
    let (day, how) = match (due.agreed_day(), due.suggested_day()) {
        (Some(day), _) => {
            let how = match (day - today).num_days() {
                0 => "today".to_owned(),
                ahead if ahead > 0 => format!("in {}", days(ahead)),
                late => format!("OVERDUE {}", days(-late)),
            };
            (day.to_string(), how)
        }
        (None, Some(day)) => (day.to_string(), "suggested".to_owned()),
        (None, None) => ("–".to_owned(), due.outcome.clone().filter(|_| due.is_out_of_service()).unwrap_or_default()),
    };
    [day, how, due.tag.clone(), due.client.clone(), due.last_visit.clone(), due.document.clone()]
}

/// Who agreed, what would be suggested and why, what else a planner must know.
fn below(due: &Due) -> Vec<String> {
    let mut lines = Vec::new();
    lines.extend(due.agreed.as_ref().map(|agreed| format!("agreed by {}", agreed.by)));
    if due.is_out_of_service() && due.agreed.is_some() {
        lines.extend(due.outcome.clone());
    }
    lines.extend(due.suggested.as_ref().map(|suggested| {
        let date = due.agreed.as_ref().map_or_else(String::new, |_| format!("suggestion only: {}, ", suggested.date));
        format!("{date}{}: {}", days(i64::from(suggested.interval_days)), suggested.reason)
    }));
    if due.suggested.is_none() && !due.is_out_of_service() {
        lines.push("the firm's file has no interval: nothing to suggest".to_owned());
    }
    lines.extend(due.later_draft.as_ref().map(|number| format!("a later visit awaits signatures: {number}")));
    lines
}

/// A loop as one line of JSON.
fn json(due: &Due, today: NaiveDate) -> String {
    #[derive(Serialize)]
    struct Line<'a> {
        status: Listed,
        #[serde(flatten)]
        due: &'a Due,
        on: String,
        overdue_days: Option<i64>,
    }
    let line = Line { status: Listed::of(due), due, on: today.to_string(), overdue_days: overdue(due, today) };
    serde_json::to_string(&line).expect("a loop has text keys and whole numbers only") + "\n"
}

fn sheet(dues: &[Due], today: NaiveDate) -> String {
    let head = [
        "client",
        "tag",
        "location",
        "probe",
        "last_visit",
        "document",
        "outcome",
        "agreed_date",
        "agreed_by",
        "overdue_days",
        "suggested_date",
        "suggested_interval_days",
        "firm_interval_days",
        "suggestion_reason",
        "later_draft",
    ];
    let rows = dues.iter().map(|due| {
        let text = |text: &Option<String>| text.clone().unwrap_or_default();
        let (agreed, suggested) = (due.agreed.as_ref(), due.suggested.as_ref());
        csv::row(&[
            due.client.clone(),
            due.tag.clone(),
            text(&due.location),
            text(&due.serial),
            due.last_visit.clone(),
            due.document.clone(),
            text(&due.outcome),
            agreed.map_or_else(String::new, |agreed| agreed.date.clone()),
            agreed.map_or_else(String::new, |agreed| agreed.by.clone()),
            overdue(due, today).map_or_else(String::new, |days| days.to_string()),
            suggested.map_or_else(String::new, |suggested| suggested.date.clone()),
            suggested.map_or_else(String::new, |suggested| suggested.interval_days.to_string()),
            suggested.map_or_else(String::new, |suggested| suggested.firm_interval_days.to_string()),
            suggested.map_or_else(String::new, |suggested| suggested.reason.clone()),
            text(&due.later_draft),
        ])
    });
    csv::row(&head.map(str::to_owned)) + &rows.collect::<String>()
}
