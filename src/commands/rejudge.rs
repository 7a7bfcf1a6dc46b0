//! `rejudge`: judges what was issued by other limits, from the register alone; shows what would change, and makes
//! re-evaluations where somebody asks for them.

use super::arguments::{Format, Which, said};
use super::check::exit_code;
use super::fates::{Tally, Teller, now, tell_torn, tell_trouble, told};
use super::progress::Progress;
use super::{MISUSE, REFUSED, print, selected, signing, table, tell, verdicts};
use crate::issue::{Desk, Hindrance, Prints, Ready, Rejudged, Rejudging, Row, Workers, rejudge};
use crate::limits;
use crate::paint::pdf::Press;
use crate::problem::{Place, Problem, Severity};
use crate::quantity::Moment;
use crate::register::{Opened, Register, Status, Trouble, View, Viewed};
use crate::yaml::{self, Shelf};
use clap::Args;
use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Arguments of `rejudge`.
#[derive(Debug, Args)]
pub struct Rejudge {
    /// The limits to judge by
    #[arg(long, value_name = "FILE")]
    pub limits: PathBuf,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub which: Which,
    /// Make re-evaluations and enter them in the register
    #[arg(long, requires_all = ["reason", "by"])]
    pub issue: bool,
    /// Why
    #[arg(long, value_name = "TEXT", requires = "issue", value_parser = said)]
    pub reason: Option<String>,
    /// Who asks for it
    #[arg(long, value_name = "NAME", requires = "issue", value_parser = said)]
    pub by: Option<String>,
    /// Who authorises the re-evaluations, now; without it they are drafts where the firm requires it
    #[arg(long, value_name = "NAME", requires = "issue", value_parser = said)]
    pub authorised: Option<String>,
    /// Issue only what a criterion is judged otherwise in, not every certificate under the new limits
    #[arg(long, requires = "issue")]
    pub changed_only: bool,
    /// Go on where a verdict changes by this version of the program alone
    #[arg(long)]
    pub acknowledge_program: bool,
    /// Folder of the documents
    #[arg(long, value_name = "FOLDER", default_value = "certificates")]
    pub out: PathBuf,
    /// Folder of the register (default: `register` in the folder of the documents)
    #[arg(long, value_name = "FOLDER")]
    pub register: Option<PathBuf>,
    /// Vouch for the register at the end of the run with this private key (Ed25519, PEM)
    #[arg(long, value_name = "KEY", requires = "issue")]
    pub sign: Option<PathBuf>,
    /// Moment of issue, with offset (default: now)
    #[arg(long, value_name = "TIME")]
    pub issued: Option<String>,
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Print verdicts that change and problems only
    #[arg(long, short)]
    pub quiet: bool,
    /// Visits worked on at the same time (default: as many as processors)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

/// Visits judged at once.
const AT_ONCE: usize = 32;

/// What judging came to.
#[derive(Default)]
struct Judged {
    rows: Vec<Row>,
    /// Documents that could not be judged, with the reason.
    lost: Vec<(String, String)>,
}

/// Runs `rejudge`.
pub fn run(order: &Rejudge) -> u8 {
    match judged(order) {
        Ok(code) | Err(code) => code,
    }
}

fn judged(order: &Rejudge) -> Result<u8, u8> {
    let issued = match &order.issued {
        Some(text) => Moment::parse(text, &Place::whole("--issued")).map_err(|problem| {
            tell(&(problem.long() + "\n"));
            MISUSE
        })?,
        None => now(),
    };
    let limits = limits(&order.limits)?;
    let key = signing::private(order.sign.as_deref())?;
    let folder = order.register.clone().unwrap_or_else(|| order.out.join("register"));
    let (press, prints) = (Press::new(), Prints::default());
    let workers = Workers::new(order.jobs.map_or(0, usize::from));
    let shelf = Arc::new(Shelf::default());
    let teller = Teller::new(&order.out, order.quiet, order.format);
    let mut tally = Tally::default();
    // Seen first, so that a register is never made by asking.
    selected::open(&folder)?;
    let mut desk = match order.issue {
        false => None,
        true => {
            let (register, is_alone) = Register::open(&folder).map_err(|trouble| tell_trouble(&trouble))?;
            let (press, prints, workers, shelf) = (&press, &prints, &workers, shelf.clone());
            let mut desk = Desk { register, out: &order.out, press, prints, workers, shelf, given: BTreeMap::new() };
            teller.begin(&mut desk, is_alone, &mut tally).map_err(|trouble| tell_trouble(&trouble))?;
            Some(desk)
        }
    };
    let view = selected::open(&folder)?;
    let selection = selected::selection(&order.which, &view)?;
    let by = Rejudging {
        archive: &view.archive,
        limits: &order.limits,
        issued: &issued,
        shelf: &shelf,
        prints: &prints,
        reason: order.reason.as_deref().unwrap_or_default(),
        by: order.by.as_deref().unwrap_or_default(),
        authorised: order.authorised.as_deref(),
    };
    let mut judged = Judged::default();
    let mut stopped = None;
    let mut meant = 0;
    let count = |viewed: Viewed| {
        meant += usize::from(viewed.status == Status::InForce && selection.takes(&viewed.opened));
        ControlFlow::Continue(())
    };
    view.documents(count).map_err(|trouble| tell_trouble(&trouble))?;
    let mut progress = Progress::begin("rejudge", meant, "documents", teller.is_told);
    let mut work = |groups: Vec<Vec<Viewed>>| {
        let (documents, lost) = (groups.iter().map(Vec::len).sum(), judged.lost.len());
        let numbers: Vec<Vec<String>> = groups.iter().map(|group| numbers(group)).collect();
        let done = workers.map(groups, |group| rejudge(&group, &by));
        let ready = sorted_out(order, numbers.into_iter().zip(done), &mut judged);
        if let Some(desk) = &mut desk
            && let Err(trouble) = issue(desk, ready, teller, &mut tally, &mut judged)
        {
            stopped = Some(trouble);
            return ControlFlow::Break(());
        }
        progress.step(documents, judged.lost.len() - lost);
        ControlFlow::Continue(())
    };
    let read = each_group(&view, |opened| selection.takes(opened), &mut work);
    drop(progress);
    read.map_err(|trouble| tell_trouble(&trouble))?;
    if let Some(trouble) = stopped {
        return Err(tell_trouble(&trouble));
    }
    show(order, &limits, &judged);
    if let Some(desk) = &mut desk {
        teller.sign(desk, key.as_ref(), &now()).map_err(|trouble| tell_trouble(&trouble))?;
        conclude(order, &tally, desk);
    }
    for (number, why) in &judged.lost {
        tell(&format!("not judged: {number}: {why}\n"));
    }
    Ok(exit_code(tally.refused || !judged.lost.is_empty(), tally.no_access))
}

/// Name and revision of the limits.
fn limits(path: &Path) -> Result<String, u8> {
    let shown = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|error| {
        tell(&format!("halfcell: {shown}: {error}\n"));
        MISUSE
    })?;
    let tell_all = |problems: Vec<Problem>| {
        problems.iter().for_each(|problem| tell(&(problem.long() + "\n")));
        REFUSED
    };
    let tree = yaml::read(&shown, &bytes).map_err(tell_all)?;
    let limits = limits::check(&tree.root());
    let problems = tree.problems();
    match limits.filter(|_| problems.iter().all(|problem| problem.severity != Severity::Error)) {
        Some(limits) => Ok(match limits.revision {
            Some(revision) => format!("{} rev. {revision}", limits.name),
            None => limits.name,
        }),
        None => Err(tell_all(problems)),
    }
}

fn numbers(group: &[Viewed]) -> Vec<String> {
    group.iter().map(|viewed| viewed.opened.number.clone()).collect()
}

/// Gives `work` the documents in force that are meant, those of the same files together, a handful of visits at a time.
fn each_group(
    view: &View,
    takes: impl Fn(&Opened) -> bool,
    work: &mut impl FnMut(Vec<Vec<Viewed>>) -> ControlFlow<()>,
) -> Result<(), Trouble> {
    let mut groups: Vec<Vec<Viewed>> = Vec::new();
    let mut is_over = false;
    view.documents(|viewed| {
        if viewed.status != Status::InForce || !takes(&viewed.opened) {
            return ControlFlow::Continue(());
        }
        match groups.last_mut() {
            Some(group) if group[0].opened.sources == viewed.opened.sources => group.push(viewed),
            _ => {
                if groups.len() == AT_ONCE && work(std::mem::take(&mut groups)).is_break() {
                    is_over = true;
                    return ControlFlow::Break(());
                }
                groups.push(vec![viewed]);
            }
        }
        ControlFlow::Continue(())
    })?;
    if !is_over && !groups.is_empty() {
        // The last handful; what comes of it is told by who asked.
        let _ = work(groups);
    }
    Ok(())
}

/// Books what was judged; gives what is to be issued.
fn sorted_out(
    order: &Rejudge,
    done: impl Iterator<Item = (Vec<String>, Result<Rejudged, String>)>,
    judged: &mut Judged,
) -> Vec<(String, Ready)> {
    let mut ready = Vec::new();
    for (numbers, done) in done {
        let Rejudged { rows, ready: visit } = match done {
            Ok(done) => done,
            Err(why) => {
                judged.lost.extend(numbers.into_iter().map(|number| (number, why.clone())));
                continue;
            }
        };
        let by_program: Vec<&Row> = rows.iter().filter(|row| row.verdict_by_program).collect();
        let is_held = !by_program.is_empty() && !order.acknowledge_program;
        if is_held && order.issue {
            let why = "its verdict changes by this version of the program alone; look at it, and acknowledge it with \
                       --acknowledge-program";
            judged.lost.extend(by_program.iter().map(|row| (row.number.clone(), why.to_owned())));
        }
        let is_wanted = !order.changed_only || rows.iter().any(|row| row.outcomes_changed > 0);
        judged.rows.extend(rows);
        if let Some(visit) = visit.filter(|_| is_wanted && !is_held) {
            ready.push((numbers.join(", "), visit));
        }
    }
    ready
}

/// Issues re-evaluations and tells them.
fn issue(
    desk: &mut Desk<'_>,
    ready: Vec<(String, Ready)>,
    teller: Teller<'_>,
    tally: &mut Tally,
    judged: &mut Judged,
) -> Result<(), Trouble> {
    let outcomes = desk.issue(&ready);
    tell_torn(desk);
    for ((numbers, _), outcome) in ready.iter().zip(outcomes?) {
        for done in &outcome.done {
            tally.count(done);
            teller.show(done);
        }
        for hindrance in &outcome.hindrances {
            if let Hindrance::Refused(problems) = hindrance {
                problems.iter().for_each(|problem| tell(&(problem.long() + "\n")));
            }
            judged.lost.push((numbers.clone(), told(hindrance, tally)));
        }
    }
    Ok(())
}

/// What the re-evaluations came to.
fn conclude(order: &Rejudge, tally: &Tally, desk: &Desk<'_>) {
    if !order.quiet && order.format == Format::Text {
        let (out, register) = (order.out.display(), desk.register.folder().display());
        print(&format!("{} (PDF and HTML in {out}, entered in {register})\n", tally.said().join(", ")));
    }
}

fn show(order: &Rejudge, limits: &str, judged: &Judged) {
    match order.format {
        Format::Json => judged.rows.iter().for_each(|row| print(&verdicts::json(row))),
        Format::Text => {
            let style = table::Style::of_terminal(std::io::stdout().is_terminal());
            print(&verdicts::table(limits, &judged.rows, order.quiet, style));
        }
    }
}
