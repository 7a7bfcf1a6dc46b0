//! Where documents get their number and their line in the register, batch by batch.
//!
//! Comes in: [`Ready`] visits. Goes out: files, lines of the register, and what became of each document.
//!
//! A number and a source key are looked up before anything is composed and again under the lock of the register; where another
//! run came first, everything is numbered anew.

use super::ready::Ready;
use super::sources::{Prints, keep};
use super::tickets::{Claims, Ticket, Way};
use super::write::{begin, deliver, paths, prepare, settle};
use super::{Numbered, Workers, documents, lines, sheet};
use crate::paint::Paintable;
use crate::paint::pdf::Press;
use crate::problem::Problem;
use crate::record::{CertificateFacts, Record};
use crate::register::{End, Entry, Index, Issued, Opened, Register, Trouble, Unsettled, Void, sweep};
use crate::yaml::Shelf;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A register, a folder for documents, and what is prepared once.
#[derive(Debug)]
pub struct Desk<'d> {
    /// The register.
    pub register: Register,
    /// Folder of the documents.
    pub out: &'d Path,
    /// For painting.
    pub press: &'d Press,
    /// For hashing.
    pub prints: &'d Prints,
    /// For working on many visits at once.
    pub workers: &'d Workers,
    /// Files that several visits name, read once.
    pub shelf: Arc<Shelf>,
    /// Numbers given in this run, each with its visit file.
    pub given: BTreeMap<String, String>,
}

/// What became of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// Its number.
    pub number: String,
    /// Name of its files, without ending.
    pub stem: String,
    /// What was done.
    pub fate: Fate,
    /// Whether signatures are awaited.
    pub is_draft: bool,
}

/// What was done for a document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It was entered in the register and written.
    Issued,
    /// It was issued before, and both files stand.
    AlreadyIssued,
    /// It was issued before; files that were missing were painted again.
    PaintedAgain,
    /// It was left unfinished by a run that broke off, and stands now.
    Finished,
}

/// Why a document does not stand.
#[derive(Debug)]
pub enum Hindrance {
    /// The visit is refused; nothing of it was opened.
    Refused(Vec<Problem>),
    /// A file stands under its name that the register does not know; nothing was opened.
    Different(PathBuf),
    /// A file of an issued document is not as it was issued.
    Altered(PathBuf),
    /// A file cannot be written or read.
    Unwritable(PathBuf, Error),
    /// A document cannot be made again.
    Lost(String, String),
}

/// What became of a visit.
#[derive(Debug)]
pub struct Outcome {
    /// The records of its loops, numbered.
    pub records: Vec<Record>,
    /// Its documents.
    pub done: Vec<Done>,
    /// What went wrong.
    pub hindrances: Vec<Hindrance>,
}

/// A document with the line that ends it, where it has none yet.
pub(super) type Made = Result<(Done, Option<Issued>), Hindrance>;

/// A visit with numbers, composed.
#[derive(Debug)]
pub(super) struct Plan {
    numbered: Numbered,
    pub(super) tickets: Vec<Ticket>,
    hindrances: Vec<Hindrance>,
}

impl Plan {
    fn meets_a_file(&self) -> bool {
        self.hindrances.iter().any(|hindrance| matches!(hindrance, Hindrance::Different(_)))
    }
}

impl Desk<'_> {
    /// Issues the documents of some visits, each named by its file: all of them in the order given, composed and painted at
    /// once. Beside each visit stands what became of it.
    ///
    /// # Errors
    /// [`Trouble`] with the register, its archive or the folder of documents. What was opened until then is finished by the
    /// next run.
    pub fn issue(&mut self, visits: &[(String, Ready)]) -> Result<Vec<Outcome>, Trouble> {
        let (plans, lines) = loop {
            let plans = self.plans(visits)?;
            // A file that stands may be that of a run which came first.
            if plans.iter().any(Plan::meets_a_file) && self.register.catch_up()? {
                continue;
            }
            let entries = self.kept(visits, &plans)?;
            if let Some(lines) = self.opened(entries)? {
                break (plans, lines);
            }
        };
        for ((file, _), plan) in visits.iter().zip(&plans) {
            let new = plan.tickets.iter().filter(|ticket| ticket.way == Way::New);
            self.given.extend(new.map(|ticket| (ticket.number.clone(), file.clone())));
        }
        let mut lines = lines.into_iter();
        let mut line = |ticket: &Ticket| if ticket.way == Way::New { lines.next() } else { None };
        let lined = visits.iter().zip(plans).map(|((_, ready), plan)| {
            let lines: Vec<Option<String>> = plan.tickets.iter().map(&mut line).collect();
            (ready, plan, lines)
        });
        let (this, files) = (&*self, Unsettled::default());
        let mut painted =
            self.workers.map(lined.collect(), |(ready, plan, lines)| this.painted(ready, plan, &lines, &files));
        deliver(self.out, &files, &mut painted);
        let (outcomes, issued): (Vec<Outcome>, Vec<Vec<Issued>>) = painted.into_iter().unzip();
        self.enter(issued.into_iter().flatten().map(Entry::Issued).collect())?;
        Ok(outcomes)
    }

    /// Finishes what a run that broke off left open: from the archive; what cannot be made again becomes void. Only for who is
    /// alone at work.
    ///
    /// # Errors
    /// [`Trouble`].
    pub fn finish(&mut self) -> Result<Vec<Result<Done, Hindrance>>, Trouble> {
        sweep(self.out).map_err(|error| Trouble::Access(self.out.to_owned(), error))?;
        let mut finished = Vec::new();
        for batch in self.register.index().pending().chunks(BATCH) {
            let this = &*self;
            let made = self.workers.map(batch.to_vec(), |number| this.stands(&number));
            let mut entries = Vec::new();
            for made in made {
                finished.push(match made? {
                    Ok((done, issued)) => {
                        entries.extend(issued.map(Entry::Issued));
                        Ok(done)
                    }
                    Err(hindrance) => {
                        if let Hindrance::Lost(number, reason) = &hindrance {
                            entries.push(Entry::Void(Void { number: number.clone(), reason: reason.clone() }));
                        }
                        Err(hindrance)
                    }
                });
            }
            self.enter(entries)?;
        }
        Ok(finished)
    }

    /// Numbers for every visit, in order, then everything composed at once.
    fn plans(&self, visits: &[(String, Ready)]) -> Result<Vec<Plan>, Trouble> {
        let mut claims = Claims::default();
        let mut ticketed = Vec::new();
        for (file, ready) in visits {
            ticketed.push((ready, self.tickets(file, ready, &mut claims)?));
        }
        Ok(self.workers.map(ticketed, |(ready, tickets)| self.plan(ready, tickets)))
    }

    /// Everything about one visit but the register: what is new is composed, so that whatever hinders it is found now.
    fn plan(&self, ready: &Ready, tickets: Result<Vec<Ticket>, Vec<Problem>>) -> Plan {
        let refused = |numbered, hindrance| Plan { numbered, tickets: Vec::new(), hindrances: vec![hindrance] };
        let mut numbered = Numbered { records: ready.records.clone(), summary: None };
        let tickets = match tickets {
            Ok(tickets) => tickets,
            Err(problems) => return refused(numbered, Hindrance::Refused(problems)),
        };
        if tickets.len() > numbered.records.len() {
            numbered.summary = Some(CertificateFacts::default());
        }
        for (at, ticket) in tickets.iter().enumerate() {
            if let Some(facts) = numbered.facts(at) {
                *facts = ticket.facts.clone();
            }
        }
        let has_new = tickets.iter().any(|ticket| ticket.way == Way::New);
        if has_new && let Err(problems) = documents(&ready.visit, &ready.firm, &numbered, self.press) {
            return refused(numbered, Hindrance::Refused(problems));
        }
        let new = tickets.iter().filter(|ticket| ticket.way == Way::New);
        let standing = new.flat_map(|ticket| paths(self.out, &ticket.stem)).find(|path| path.exists());
        match standing {
            Some(path) => refused(numbered, Hindrance::Different(path)),
            None => Plan { numbered, tickets, hindrances: Vec::new() },
        }
    }

    /// Keeps what every new document is made from, and gives the lines that open them, in file order.
    fn kept(&self, visits: &[(String, Ready)], plans: &[Plan]) -> Result<Vec<Opened>, Trouble> {
        let archive = &self.register.archive;
        let work: Vec<(&Ready, &Plan)> = visits.iter().map(|(_, ready)| ready).zip(plans).collect();
        let kept = self.workers.map(work, |(ready, plan)| {
            let new: Vec<usize> = (0..plan.tickets.len()).filter(|&at| plan.tickets[at].way == Way::New).collect();
            if new.is_empty() {
                return Ok(Vec::new());
            }
            let history = keep(archive, ready, self.prints)?;
            let opened = new.into_iter().map(|at| {
                let record = archive.keep(plan.numbered.data(at).as_bytes())?;
                Ok(lines::opened(ready, at, plan, record, history.clone()))
            });
            opened.collect::<Result<Vec<Opened>, Error>>()
        });
        let folder = || self.register.folder().join("archive");
        let kept: Result<Vec<Vec<Opened>>, Error> = kept.into_iter().collect();
        let kept = kept.and_then(|kept| archive.settle().map(|()| kept));
        Ok(kept.map_err(|error| Trouble::Access(folder(), error))?.concat())
    }

    /// Adds the lines and gives their hashes; none where another run has taken a number or opened a document meanwhile.
    fn opened(&mut self, entries: Vec<Opened>) -> Result<Option<Vec<String>>, Trouble> {
        if entries.is_empty() {
            return Ok(Some(Vec::new()));
        }
        prepare(self.out).map_err(|error| Trouble::Access(self.out.to_owned(), error))?;
        let is_known = |index: &Index, opened: &Opened| {
            let predecessor = opened.predecessor.as_deref().filter(|_| !opened.draft);
            index.standing(&opened.number).is_some()
                || index.number_of(&opened.source_key).is_some()
                || predecessor.is_some_and(|number| index.follower_of(number).is_some())
        };
        let hashes = self.register.add(|index| match entries.iter().any(|opened| is_known(index, opened)) {
            true => Vec::new(),
            false => entries.into_iter().map(|opened| Entry::Opened(Box::new(opened))).collect(),
        })?;
        Ok(Some(hashes).filter(|hashes| !hashes.is_empty()))
    }

    /// Adds the lines of documents that ended, but for those that another run has ended meanwhile.
    fn enter(&mut self, entries: Vec<Entry>) -> Result<(), Trouble> {
        if entries.is_empty() {
            return Ok(());
        }
        settle(self.out).map_err(|error| Trouble::Access(self.out.to_owned(), error))?;
        let mut ended = BTreeSet::new();
        let mut is_open = |index: &Index, entry: &Entry| {
            let number = match entry {
                Entry::Opened(opened) => &opened.number,
                Entry::Issued(issued) => &issued.number,
                Entry::Void(void) => &void.number,
                Entry::Signed(_) => return true,
            };
            let is_pending = index.standing(number).is_some_and(|standing| standing.end == End::Pending);
            is_pending && ended.insert(number.clone())
        };
        self.register.add(|index| entries.into_iter().filter(|entry| is_open(index, entry)).collect())?;
        Ok(())
    }

    /// Paints what is new, sees that the rest stands. Gives what became of the visit, and the lines of what was written.
    fn painted(
        &self,
        ready: &Ready,
        plan: Plan,
        lines: &[Option<String>],
        files: &Unsettled,
    ) -> (Outcome, Vec<Issued>) {
        let Plan { mut numbered, tickets, hindrances } = plan;
        let mut outcome = Outcome { records: Vec::new(), done: Vec::new(), hindrances };
        let mut issued = Vec::new();
        for (at, (ticket, line)) in tickets.iter().zip(lines).enumerate() {
            let made = match (ticket.way, line) {
                (Way::Aside, _) => continue,
                (Way::New, Some(line)) => {
                    if let Some(facts) = numbered.facts(at) {
                        facts.registered = Some(line.clone());
                    }
                    let document = numbered.document(at, &ready.visit, &ready.firm).map(Paintable::new);
                    document.map_or_else(
                        || self.stands(&ticket.number),
                        |document| Ok(self.first(&document, ticket, files)),
                    )
                }
                (Way::New, None) | (Way::Known, _) => self.stands(&ticket.number),
                (Way::Copy, _) => Ok(Ok((ticket.done(Fate::AlreadyIssued), None))),
            };
            match made {
                Ok(Ok((done, line))) => {
                    outcome.done.push(done);
                    issued.extend(line);
                }
                Ok(Err(hindrance)) => outcome.hindrances.push(hindrance),
                Err(trouble) => outcome.hindrances.push(of_trouble(&ticket.number, trouble)),
            }
        }
        outcome.records = numbered.records;
        (outcome, issued)
    }

    /// Paints a document that was opened a moment ago and writes it under temporary names.
    fn first(&self, document: &Paintable, ticket: &Ticket, files: &Unsettled) -> Made {
        let sheet = sheet(document, ticket.stem.clone(), self.press);
        begin(self.out, &sheet, files)?;
        Ok((ticket.done(Fate::Issued), Some(lines::issued(&sheet))))
    }
}

/// Documents finished at once.
const BATCH: usize = 64;

fn of_trouble(number: &str, trouble: Trouble) -> Hindrance {
    match trouble {
        Trouble::Access(path, error) => Hindrance::Unwritable(path, error),
        Trouble::Broken(_, fault) => Hindrance::Lost(number.to_owned(), fault.told()),
    }
}
