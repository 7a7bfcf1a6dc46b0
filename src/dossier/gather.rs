//! Documents, records and sources into the folder, each checked against the register before it goes in.
//!
//! Comes in: the numbers of the plan. Goes out: files, and of each document what the index and the history tell. Worked on in
//! handfuls, so that memory does not grow with the files.

use super::folder::Folder;
use super::history::{self, Row};
use super::plan::Plan;
use super::sources::{Kind, RosterLoop, Sources};
use super::told::{RecordTold, Told, folder};
use super::{Fault, Order, Stage};
use crate::firm::{self, Firm};
use crate::issue::{made_again, stem};
use crate::paint::pdf::Press;
use crate::register::{Opened, SourceEntry, Status, Trouble, Viewed, hash_of};
use crate::source::{Kept, KeptFile};
use crate::visit::open_kept;
use crate::yaml::Shelf;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{Error, ErrorKind};
use std::sync::{Arc, OnceLock};

/// Documents worked on at once.
const AT_ONCE: usize = 64;

/// Where a dossier is put together.
pub struct Desk<'d> {
    order: &'d Order<'d>,
    plan: &'d Plan,
    folder: &'d Folder,
    sources: Sources,
    shelf: Arc<Shelf>,
    press: OnceLock<Press>,
}

/// What was put together.
#[derive(Debug)]
pub struct Gathered {
    /// Every document, in the order in which they were opened.
    pub told: Vec<Told>,
    /// The lines of the history.
    pub rows: Vec<Row>,
    /// What is not as it should be.
    pub faults: BTreeSet<Fault>,
    /// Files that were painted again.
    pub made_again: usize,
    /// Roster of each client, as of its last document.
    pub roster: BTreeMap<String, Vec<RosterLoop>>,
    /// The firm of the last document.
    pub firm: Firm,
}

/// One document.
struct One {
    told: Told,
    row: Option<Row>,
    faults: Vec<Fault>,
    made_again: usize,
    /// Roles that signed.
    signed: Vec<String>,
    /// What it was made from.
    sources: Vec<SourceEntry>,
}

impl<'d> Desk<'d> {
    /// A desk for a plan.
    pub fn new(order: &'d Order<'d>, plan: &'d Plan, folder: &'d Folder) -> Self {
        let (sources, shelf, press) = (Sources::default(), Arc::default(), OnceLock::new());
        Desk { order, plan, folder, sources, shelf, press }
    }

    /// Puts everything into the folder.
    ///
    /// # Errors
    /// [`Trouble`] with the register, the documents or the folder.
    pub fn gather(self, mut tell: impl FnMut(Stage)) -> Result<Gathered, Trouble> {
        let numbers: Vec<&String> = self.plan.numbers.values().collect();
        let (mut told, mut rows, mut faults, mut made_again) = (Vec::new(), Vec::new(), BTreeSet::new(), 0);
        // The last document of each client with its sources, and of all.
        let mut last: BTreeMap<String, (String, Vec<SourceEntry>)> = BTreeMap::new();
        for chunk in numbers.chunks(AT_ONCE) {
            let before = faults.len();
            for one in self.order.workers.map(chunk.to_vec(), |number| self.one(number)) {
                let mut one = one?;
                one.told.limits_file = self.limits_file(&one);
                one.told.awaited = self.awaited(&one);
                let opened = &one.told.opened;
                let newest = last.entry(opened.client.to_lowercase()).or_default();
                if newest.0 <= opened.started && !one.sources.is_empty() {
                    *newest = (opened.started.clone(), one.sources);
                }
                rows.extend(one.row);
                faults.extend(one.faults);
                made_again += one.made_again;
                told.push(one.told);
            }
            tell(Stage { of: numbers.len(), done: chunk.len(), faults: faults.len() - before });
        }
        faults.extend(self.sources.faults());
        let roster = |(_, sources): &(String, Vec<SourceEntry>)| {
            self.sources.find(sources, |_, kind| match kind {
                Kind::Client(roster) => Some(roster.clone()),
                Kind::Firm(_) | Kind::Limits(..) | Kind::Other => None,
            })
        };
        let rosters = last.iter().filter_map(|(client, newest)| Some((client.clone(), roster(newest)?))).collect();
        let firm = last.values().max_by(|a, b| a.0.cmp(&b.0)).map(|(_, sources)| self.firm(sources));
        let firm = firm.unwrap_or_else(firm::plain);
        Ok(Gathered { told, rows, faults, made_again, roster: rosters, firm })
    }

    /// One document: its files, its record, its sources.
    fn one(&self, number: &str) -> Result<One, Trouble> {
        let gone =
            || Trouble::Access(self.order.view.path(), Error::new(ErrorKind::NotFound, format!("{number} is gone")));
        let Viewed { mut opened, hash, status, .. } = self.order.view.document(number)?.ok_or_else(gone)?;
        let (mut faults, mut record, mut files, mut made_again) = (Vec::new(), RecordTold::default(), [false; 2], 0);
        if let Some(place) = folder(&status) {
            self.sources.put(&opened, &self.order.view.archive, self.folder)?;
            match self.record(&opened)? {
                Ok(read) => record = read,
                Err(why) => faults.push(Fault::Record { number: number.to_owned(), why }),
            }
            (files, made_again) = self.files(place, &opened, &hash, &mut faults)?;
        }
        let row = (status == Status::InForce).then(|| history::row(&opened, &record, self.plan)).flatten();
        let signed = record.visit.signatures.iter().map(|signature| signature.role.clone()).collect();
        record.warned = record.warns();
        record.shorten();
        let sources = std::mem::take(&mut opened.sources);
        opened.wording.truncate(1);
        for text in [&mut opened.source_key, &mut opened.record, &mut opened.program] {
            *text = String::new();
        }
        let told = Told { opened, status, files, record, awaited: Vec::new(), limits_file: None };
        Ok(One { told, row, faults, made_again, signed, sources })
    }

    /// Puts the record of a document into the folder; or why it cannot be had.
    fn record(&self, opened: &Opened) -> Result<Result<RecordTold, String>, Trouble> {
        let bytes = match self.order.view.archive.bytes(&opened.record) {
            Ok(bytes) => bytes,
            Err(error) => return Ok(Err(error.to_string())),
        };
        self.put(&format!("records/{}.json", stem(&opened.file)), &bytes)?;
        Ok(RecordTold::read(&bytes, opened.tag.is_none()))
    }

    /// Puts the files of a document into the folder: as they were issued, or painted again where they are missing. Which of
    /// them stand there, and how many were painted.
    fn files(
        &self,
        place: &str,
        opened: &Opened,
        hash: &str,
        faults: &mut Vec<Fault>,
    ) -> Result<([bool; 2], usize), Trouble> {
        let number = &opened.number;
        let Some(hashes) = self.order.view.files_of(number)? else { return Ok(([false; 2], 0)) };
        let (mut stand, mut missing) = ([false; 2], Vec::new());
        for (at, ending) in ["pdf", "html"].into_iter().enumerate() {
            let file = format!("{}.{ending}", stem(&opened.file));
            let path = self.order.documents.join(&file);
            match std::fs::read(&path) {
                Ok(bytes) if hash_of(&bytes) == hashes[at] => {
                    self.put(&format!("{place}/{file}"), &bytes)?;
                    stand[at] = true;
                }
                Ok(_) => faults.push(Fault::Altered { number: number.clone(), file }),
                Err(error) if error.kind() == ErrorKind::NotFound => missing.push((at, file)),
                Err(error) => return Err(Trouble::Access(path, error)),
            }
        }
        if missing.is_empty() {
            return Ok((stand, 0));
        }
        let press = self.press.get_or_init(Press::new);
        let sheet = made_again(opened, hash, &self.order.view.archive, &self.shelf, press);
        let mut painted = 0;
        for (at, file) in missing {
            let bytes = sheet.as_ref().map(|sheet| [&sheet.pdf[..], sheet.html.as_bytes()][at]);
            match bytes {
                Ok(bytes) if hash_of(bytes) == hashes[at] => {
                    self.put(&format!("{place}/{file}"), bytes)?;
                    stand[at] = true;
                    painted += 1;
                }
                Ok(_) => {
                    let why = "painted again it is not what was registered".to_owned();
                    faults.push(Fault::Missing { number: number.clone(), file, why });
                }
                Err(why) => faults.push(Fault::Missing { number: number.clone(), file, why: why.clone() }),
            }
        }
        Ok((stand, painted))
    }

    fn put(&self, name: &str, bytes: &[u8]) -> Result<(), Trouble> {
        self.folder.put(name, bytes).map_err(|error| Trouble::Access(self.folder.path().join(name), error))
    }

    /// Where the limits of a document stand in the dossier: the file among its sources with their name and revision.
    fn limits_file(&self, one: &One) -> Option<String> {
        let limits = &one.told.record.limits;
        self.sources.find(&one.sources, |entry, kind| match kind {
            Kind::Limits(name, revision) if *name == limits.name && *revision == limits.revision => {
                Some(super::sources::name(entry, false))
            }
            Kind::Limits(..) | Kind::Client(_) | Kind::Firm(_) | Kind::Other => None,
        })
    }

    /// Roles whose signature a draft awaits.
    fn awaited(&self, one: &One) -> Vec<&'static str> {
        if !one.told.opened.draft {
            return Vec::new();
        }
        let due = self.sources.find(&one.sources, |_, kind| match kind {
            Kind::Firm(due) => Some(due.clone()),
            Kind::Client(_) | Kind::Limits(..) | Kind::Other => None,
        });
        let due = due.unwrap_or_else(|| super::sources::due(&firm::plain()));
        due.into_iter().filter(|role| !one.signed.iter().any(|signed| signed == role)).collect()
    }

    /// The firm of a document, as its sources give it.
    fn firm(&self, sources: &[SourceEntry]) -> Firm {
        let archive = &self.order.view.archive;
        let place = |entry: &SourceEntry| (entry.name.clone(), KeptFile::At(archive.path(&entry.sha256)));
        let kept = Kept { files: sources.iter().map(place).collect(), only_texts: false };
        let visit = sources.first().map(|entry| entry.name.as_str()).unwrap_or_default();
        open_kept(visit, &kept, &self.shelf).firm
    }
}
