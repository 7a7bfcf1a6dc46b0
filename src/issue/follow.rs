//! Documents that follow issued ones: amendments, where a visit was corrected, and re-evaluations by other limits.
//!
//! Comes in: a [`Ready`] visit with what it follows. Goes out: the number of each document, what it replaces, what the replaced
//! one said and what was changed.
//!
//! Source: ISO/IEC 17025:2017, 7.8.8: a change is identified with its reason; a new report is uniquely identified and refers to
//! the one that it replaces.

use super::desk::{Desk, Hindrance};
use super::ready::Ready;
use super::restore::registered;
use super::sources::source_key;
use super::standing::as_issued;
use super::tickets::{Claims, Ticket, Way};
use super::{changes, content, refusals};
use crate::problem::Problem;
use crate::record::{AuthorisedFacts, BeforeFacts, CertificateFacts, ChangeFacts};
use crate::register::{End, Entry, Opened, SourceEntry, Trouble};
use crate::source::Source;
use crate::visit::is_given_limits;
use serde_json::Value;

/// How the documents of a visit follow issued ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Follow {
    /// What they are to those that they replace.
    pub kind: Kind,
    /// Why.
    pub reason: String,
    /// Who asked for it.
    pub by: String,
    /// Who authorised a re-evaluation, now.
    pub authorised: Option<String>,
    /// What they replace.
    pub replaces: Replaced,
}

/// What a document is to the one that it replaces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The visit was corrected.
    Amendment,
    /// The same measurements are judged by other limits.
    ReEvaluation,
}

/// Which documents are replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Replaced {
    /// Those that the firm's pattern of numbers gives.
    ByPattern,
    /// This one: its number or tag was wrong.
    Number(String),
    /// These, each by the tag of its loop; none: the summary.
    Numbers(Vec<(Option<String>, String)>),
}

impl Kind {
    /// The word for a document that replaces none.
    pub(super) const ORIGINAL: &str = "original";

    /// The word in records and lines.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Amendment => "amendment",
            Kind::ReEvaluation => "re-evaluation",
        }
    }

    /// The letter in numbers.
    fn letter(self) -> char {
        match self {
            Kind::Amendment => 'A',
            Kind::ReEvaluation => 'E',
        }
    }
}

impl Follow {
    /// What is known before a document has a number.
    pub(super) fn facts(&self, issued: &str) -> CertificateFacts {
        let authorised = |name: &String| AuthorisedFacts { name: name.clone(), signed: issued.to_owned() };
        CertificateFacts {
            kind: self.kind.word().to_owned(),
            reason: Some(self.reason.clone()),
            requested_by: Some(self.by.clone()),
            authorised: self.authorised.as_ref().map(authorised),
            ..CertificateFacts::default()
        }
    }
}

/// A document of the register with its record.
struct Predecessor {
    opened: Opened,
    record: Value,
}

impl Desk<'_> {
    /// The number of the document at a position, which follows an issued one.
    pub(super) fn following(
        &self,
        ready: &Ready,
        at: usize,
        follow: &Follow,
        claims: &Claims,
    ) -> Result<Result<Ticket, Problem>, Trouble> {
        let wanted = &ready.wanted[at];
        let number = match &follow.replaces {
            Replaced::ByPattern => &wanted.number,
            // Loops of the visit that have their number keep it.
            Replaced::Number(number) => match self.register.index().standing(&wanted.number) {
                None => number,
                Some(_) => &wanted.number,
            },
            Replaced::Numbers(numbers) => match numbers.iter().find(|(tag, _)| *tag == wanted.tag) {
                Some((_, number)) => number,
                None => return self.aside(ready, &wanted.number).map(Ok),
            },
        };
        let before = match self.replaced(ready, number)? {
            Ok(before) => before,
            Err(problem) => return Ok(Err(problem)),
        };
        let is_same = match follow.kind {
            Kind::Amendment => content::same(&before.record, &ready.record(at)),
            Kind::ReEvaluation => content::is_judged_so(&before.record, ready.records_of(at)),
        };
        if is_same {
            return Ok(Ok(Ticket::known(before.opened, Way::Known)));
        }
        if let (Kind::Amendment, Some(limits)) = (follow.kind, limits_of(&before.opened.sources))
            && !ready.sources.iter().any(|source| source.sha256 == limits.sha256)
        {
            return Ok(Err(refusals::other_limits(ready, &before.opened, &limits.name)));
        }
        let last = before.opened.number.as_str();
        let tag = wanted.tag.as_deref();
        let kind = match &follow.authorised {
            Some(name) => format!("{} authorised {}", follow.kind.word(), name.escape_default()),
            None => follow.kind.word().to_owned(),
        };
        let key = source_key(&ready.sources, &ready.wording, tag, &kind, Some(last));
        if let Some(known) = self.of_key(ready, &key, claims)? {
            return Ok(known);
        }
        let original = before.opened.original.clone().unwrap_or_else(|| last.to_owned());
        let number = self.first_free(&original, follow.kind.letter(), claims);
        let facts = CertificateFacts {
            replaces: Some(last.to_owned()),
            replaces_issued: Some(before.opened.issued.clone()),
            original_issued: self.issue_of(&original)?,
            original: Some(original),
            before: self.before(ready, at, &before),
            changes: self.changes(ready, at, follow, &before),
            ..ready.facts.clone()
        };
        let stands_as = ready.is_draft(&facts).then(|| number.clone());
        let number = if stands_as.is_some() { self.number_of_draft(&number, claims) } else { number };
        Ok(Ok(self.new_ticket(ready, number, key, stands_as, facts)))
    }

    /// When a document was issued, as printed.
    fn issue_of(&self, number: &str) -> Result<Option<String>, Trouble> {
        let standing = self.register.index().standing(number);
        standing.map(|standing| Ok(self.register.opened(standing)?.0.issued)).transpose()
    }

    /// A document of which only the number is needed: the last of those that follow one another, where there is any.
    fn aside(&self, ready: &Ready, number: &str) -> Result<Ticket, Trouble> {
        let index = self.register.index();
        let last = index.last_of(number);
        match index.standing(last) {
            Some(standing) => Ok(Ticket::known(self.register.opened(standing)?.0, Way::Aside)),
            None => {
                let facts = CertificateFacts { number: Some(number.to_owned()), ..ready.facts.clone() };
                let (number, stem, key) = (number.to_owned(), String::new(), String::new());
                Ok(Ticket { number, stem, key, stands_as: None, facts, way: Way::Aside })
            }
        }
    }

    /// The document in force that a number leads to.
    fn replaced(&self, ready: &Ready, number: &str) -> Result<Result<Predecessor, Problem>, Trouble> {
        let index = self.register.index();
        let last = index.last_of(number);
        let Some(standing) = index.standing(last) else {
            return Ok(Err(refusals::unknown(ready, number, index.numbers())));
        };
        if standing.is_draft {
            return Ok(Err(refusals::follows_draft(ready, last)));
        }
        let issued = match self.register.end(standing)? {
            Some(Entry::Issued(issued)) => issued,
            Some(Entry::Void(void)) => return Ok(Err(refusals::void(ready, last, &void.reason))),
            Some(Entry::Opened(_) | Entry::Signed(_)) | None => return Ok(Err(refusals::at_work(ready, last))),
        };
        let (opened, _) = self.register.opened(standing)?;
        if let Err(Hindrance::Altered(path)) = as_issued(self.out, &opened.file, &issued) {
            return Ok(Err(refusals::altered(ready, last, &path)));
        }
        Ok(self.with_record(opened).map_err(|why| refusals::lost(ready, last, &why)))
    }

    fn with_record(&self, opened: Opened) -> Result<Predecessor, String> {
        let record = registered(&opened, &self.register.archive)?;
        Ok(Predecessor { opened, record })
    }

    /// Where a number is taken: the document of its chain that says what this visit says, looked for from the last on.
    pub(super) fn says_the_same(&self, ready: &Ready, at: usize) -> Result<Option<Ticket>, Trouble> {
        let index = self.register.index();
        let mut chain = vec![ready.wanted[at].number.as_str()];
        while let Some(next) = chain.last().and_then(|last| index.follower_of(last)) {
            chain.push(next);
        }
        let record = ready.record(at);
        for number in chain.into_iter().rev() {
            let Some(standing) = index.standing(number).filter(|it| matches!(it.end, End::Issued(_))) else { continue };
            let (opened, _) = self.register.opened(standing)?;
            if let Ok(registered) = self.with_record(opened)
                && content::same(&registered.record, &record)
            {
                return Ok(Some(Ticket::known(registered.opened, Way::Known)));
            }
        }
        Ok(None)
    }

    /// What the replaced document said, a loop each.
    fn before(&self, ready: &Ready, at: usize, before: &Predecessor) -> Vec<BeforeFacts> {
        let old = content::records(&before.record).into_iter();
        let new = ready.records_of(at);
        old.zip(new).filter_map(|(old, new)| content::before(old, new).ok()).collect()
    }

    /// What was changed in the files of an amendment.
    fn changes(&self, ready: &Ready, at: usize, follow: &Follow, before: &Predecessor) -> Vec<ChangeFacts> {
        if follow.kind == Kind::ReEvaluation {
            return Vec::new();
        }
        // Logo and fonts are no texts.
        let texts = before.opened.sources.iter().filter(|source| source.name.contains(".y"));
        let old = texts
            .filter_map(|source| Some(Source::new(&source.name, self.register.archive.bytes(&source.sha256).ok()?)));
        let old: Vec<Source> = old.collect();
        let record = ready.records.get(at);
        let uses = |name: &str| {
            record.is_none_or(|record| {
                let standards = record.standards.iter().map(|it| &it.name);
                standards.chain(record.instruments.iter().map(|it| &it.name)).any(|used| used == name)
            })
        };
        changes::changes(&old, &ready.visit.sources, ready.wanted[at].tag.as_deref(), uses)
    }
}

/// The limits given on the command line, which hold instead of those that the files name.
fn limits_of(sources: &[SourceEntry]) -> Option<&SourceEntry> {
    sources.iter().find(|source| is_given_limits(&source.name))
}
