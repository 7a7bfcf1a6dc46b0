//! Numbers for documents: new ones, and those that the register or the batch knows already.
//!
//! Comes in: a [`Ready`] visit. Goes out: a [`Ticket`] for each of its documents, or why it can have none.

use super::desk::Desk;
use super::ready::Ready;
use super::{Done, Fate, names, refusals};
use crate::problem::Problem;
use crate::record::CertificateFacts;
use crate::register::{Entry, Opened, Trouble};
use std::collections::{BTreeMap, BTreeSet};

/// A document with its number.
#[derive(Debug, Clone)]
pub(super) struct Ticket {
    pub(super) number: String,
    pub(super) stem: String,
    pub(super) key: String,
    /// Number that a draft gets when it stands.
    pub(super) stands_as: Option<String>,
    /// What the document says of itself.
    pub(super) facts: CertificateFacts,
    pub(super) way: Way,
}

/// What a document needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// It is opened now.
    New,
    /// The register knows it.
    Known,
    /// The register knows it, and nobody asked for it: others name it.
    Aside,
    /// Another file of this batch holds the same visit and opens it.
    Copy,
}

/// Numbers and source keys that this batch is about to use.
#[derive(Debug, Default)]
pub(super) struct Claims {
    pub(super) numbers: BTreeMap<String, String>,
    keys: BTreeMap<String, Ticket>,
    /// Documents that are about to be replaced.
    pub(super) replaced: BTreeSet<String>,
}

impl Ticket {
    /// Of a document that the register knows.
    pub(super) fn known(opened: Opened, way: Way) -> Ticket {
        let stands_as = opened.stands_as().map(str::to_owned);
        let facts = CertificateFacts {
            number: Some(opened.number.clone()),
            kind: opened.kind,
            issued: Some(opened.issued),
            replaces: opened.predecessor,
            original: opened.original,
            reason: opened.reason,
            requested_by: opened.requested_by,
            ..CertificateFacts::default()
        };
        let Opened { number, file: stem, source_key: key, .. } = opened;
        Ticket { number, stem, key, stands_as, facts, way }
    }

    /// The document that it replaces as soon as it is issued; a draft replaces none.
    pub(super) fn replaced(&self) -> Option<&str> {
        self.facts.replaces.as_deref().filter(|_| self.stands_as.is_none())
    }

    pub(super) fn done(&self, fate: Fate) -> Done {
        Done { number: self.number.clone(), stem: self.stem.clone(), fate, is_draft: self.stands_as.is_some() }
    }
}

impl Desk<'_> {
    /// The numbers of a visit's documents; nothing is claimed for a visit that is refused.
    pub(super) fn tickets(
        &self,
        file: &str,
        ready: &Ready,
        claims: &mut Claims,
    ) -> Result<Result<Vec<Ticket>, Vec<Problem>>, Trouble> {
        let (mut tickets, mut problems) = (Vec::new(), Vec::new());
        for at in 0..ready.wanted.len() {
            let ticket = match &ready.follow {
                Some(follow) => self.following(ready, at, follow, claims)?,
                None => self.ticket(ready, at, claims)?,
            };
            match ticket {
                Ok(ticket) => tickets.push(ticket),
                Err(problem) => problems.push(problem),
            }
        }
        let mut replaced = claims.replaced.clone();
        let new = tickets.iter().filter(|ticket| ticket.way == Way::New).filter_map(Ticket::replaced);
        let twice = new.filter(|number| !replaced.insert((*number).to_owned()));
        problems.extend(twice.map(|number| refusals::replaced_twice(ready, number)));
        if problems.is_empty() && ready.follow.is_some() {
            problems.extend(refusals::unchanged(ready, &tickets));
        }
        if !problems.is_empty() {
            return Ok(Err(problems));
        }
        let stems = names::stems(tickets.iter().map(|ticket| ticket.number.as_str()));
        for (ticket, stem) in tickets.iter_mut().zip(stems) {
            if ticket.way == Way::New {
                ticket.stem = stem;
                claims.numbers.insert(ticket.number.clone(), file.to_owned());
                claims.keys.insert(ticket.key.clone(), ticket.clone());
                claims.replaced.extend(ticket.replaced().map(str::to_owned));
            }
        }
        Ok(Ok(tickets))
    }

    /// The number of an original.
    fn ticket(&self, ready: &Ready, at: usize, claims: &Claims) -> Result<Result<Ticket, Problem>, Trouble> {
        let wanted = &ready.wanted[at];
        if let Some(known) = self.of_key(ready, &wanted.key, claims)? {
            return Ok(known);
        }
        if self.register.index().standing(&wanted.number).is_some()
            && let Some(known) = self.says_the_same(ready, at)?
        {
            return Ok(Ok(known));
        }
        // Also of a draft: it could never stand.
        if let Some(problem) = self.hindering(ready, &wanted.number, claims)? {
            return Ok(Err(problem));
        }
        let stands_as = ready.is_draft(&ready.facts).then(|| wanted.number.clone());
        let number = match stands_as {
            Some(_) => self.number_of_draft(&wanted.number, claims),
            None => wanted.number.clone(),
        };
        Ok(Ok(self.new_ticket(ready, number, wanted.key.clone(), stands_as, ready.facts.clone())))
    }

    /// A document that is opened now.
    pub(super) fn new_ticket(
        &self,
        ready: &Ready,
        number: String,
        key: String,
        stands_as: Option<String>,
        facts: CertificateFacts,
    ) -> Ticket {
        let facts = CertificateFacts { number: Some(number.clone()), issued: Some(ready.issued.clone()), ..facts };
        Ticket { number, stem: String::new(), key, stands_as, facts, way: Way::New }
    }

    /// The document with a source key: in the register, or opened by another file of this batch.
    pub(super) fn of_key(
        &self,
        ready: &Ready,
        key: &str,
        claims: &Claims,
    ) -> Result<Option<Result<Ticket, Problem>>, Trouble> {
        let index = self.register.index();
        let Some(standing) = index.number_of(key).and_then(|number| index.standing(number)) else {
            return Ok(claims.keys.get(key).map(|copy| Ok(Ticket { way: Way::Copy, ..copy.clone() })));
        };
        if let Some(Entry::Void(void)) = self.register.end(standing)? {
            return Ok(Some(Err(refusals::void(ready, &void.number, &void.reason))));
        }
        let (opened, _) = self.register.opened(standing)?;
        Ok(Some(Ok(Ticket::known(opened, Way::Known))))
    }

    /// The first number of a draft that is free: `V-1-D1`, `V-1-D2` …; the document that stands gets the number alone.
    pub(super) fn number_of_draft(&self, number: &str, claims: &Claims) -> String {
        self.first_free(number, 'D', claims)
    }

    /// The first number that is free: the number with a letter and a count.
    pub(super) fn first_free(&self, number: &str, letter: char, claims: &Claims) -> String {
        let is_free =
            |number: &String| self.register.index().standing(number).is_none() && !claims.numbers.contains_key(number);
        let mut numbers = (1..).map(|count: u64| format!("{number}-{letter}{count}")).filter(is_free);
        numbers.next().unwrap_or_else(|| number.to_owned())
    }

    /// Why a number cannot be given.
    fn hindering(&self, ready: &Ready, number: &str, claims: &Claims) -> Result<Option<Problem>, Trouble> {
        let of_run = claims.numbers.get(number).or_else(|| self.given.get(number));
        if let Some(file) = of_run {
            return Ok(Some(refusals::given(ready, number, file)));
        }
        let Some(standing) = self.register.index().standing(number) else {
            return Ok(None);
        };
        if let Some(Entry::Void(void)) = self.register.end(standing)? {
            return Ok(Some(refusals::void(ready, number, &void.reason)));
        }
        let (opened, _) = self.register.opened(standing)?;
        Ok(Some(refusals::taken(ready, number, &opened)))
    }
}
