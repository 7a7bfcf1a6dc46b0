//! Records to files: a number for each document, both paintings, a line in the register, and a folder in which nothing is ever
//! overwritten.
//!
//! Comes in: [`Reviewed`] visits without errors, the moment of issue, a [`crate::register::Register`]. Goes out: files, and what
//! became of each document. Next: [`crate::commands`].
//!
//! ```text
//! Reviewed ─ready─▶ Ready ─desk─▶ numbers ▶ composed ▶ archive kept ▶ `opened` lines ▶ painted, written ▶ `issued` lines
//! ```

mod changes;
mod content;
mod desk;
mod follow;
mod lines;
mod names;
mod ready;
mod refusals;
mod rejudge;
mod restore;
mod sources;
mod standing;
mod tickets;
mod workers;
mod write;

pub use content::{is_close, records};
pub use desk::{Desk, Done, Fate, Hindrance, Outcome};
pub use follow::{Follow, Kind, Replaced};
pub use names::{number, stem};
pub use ready::{Ready, ready};
pub use rejudge::{Governing, ProgramDifference, Rejudged, Rejudging, Row, rejudge};
pub use restore::{MadeFrom, Remade, made_again};
pub use sources::{Prints, source_key};
pub use workers::Workers;
pub use write::{Refused, write};

use crate::document::{self, Document};
use crate::firm::Firm;
use crate::paint::pdf::{LogoFault, Press};
use crate::paint::{self, Paintable};
use crate::problem::{Place, Problem};
use crate::quantity::Moment;
use crate::record::{CertificateFacts, Point, Record};
use crate::requirements::Reviewed;
use crate::visit::Visit;
use serde::Serialize;
use std::collections::BTreeSet;

/// One document, painted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// Document number.
    pub number: String,
    /// File name without ending, legal on every system.
    pub stem: String,
    /// The PDF.
    pub pdf: Vec<u8>,
    /// The HTML page.
    pub html: String,
}

/// The records of a visit, each with number and moment of issue, and the same of the summary.
#[derive(Debug, Clone, PartialEq)]
pub struct Numbered {
    /// One a loop, in file order.
    pub records: Vec<Record>,
    /// Of the summary, where the visit has several loops.
    pub summary: Option<CertificateFacts>,
}

/// The moment that stands on previews: the last signature, else the end of the visit.
pub fn default_issue_time(visit: &Visit) -> &Moment {
    let signed = visit.signatures.iter().filter_map(|signature| signature.signed.as_ref());
    let last = signed.max_by_key(|moment| moment.instant);
    last.or(visit.finished.as_ref()).unwrap_or(&visit.started)
}

/// A moment of issue as printed, with the offset of the end of the visit.
fn printed(visit: &Visit, issued: &Moment) -> String {
    let offset = visit.finished.as_ref().unwrap_or(&visit.started).instant.timezone();
    Moment { instant: issued.instant.with_timezone(&offset), ..issued.clone() }.print()
}

/// Gives every record of a visit the number of the firm's pattern and a moment of issue, for a preview.
pub fn numbered(reviewed: &Reviewed, visit: &Visit, issued: &Moment) -> Numbered {
    let issued = printed(visit, issued);
    let mut records = reviewed.records.clone();
    for record in &mut records {
        record.certificate.number = Some(number(&reviewed.firm.numbering, visit, &record.tag));
        record.certificate.issued = Some(issued.clone());
    }
    let own = CertificateFacts {
        number: Some(visit.number.text.clone()),
        issued: Some(issued),
        ..records.first().map(|record| record.certificate.clone()).unwrap_or_default()
    };
    let summary = (records.len() > 1).then_some(own);
    Numbered { records, summary }
}

/// The record of a summary: what it says of itself, and the records of the loops.
#[derive(Serialize)]
struct SummaryRecord<'n> {
    certificate: Option<&'n CertificateFacts>,
    loops: &'n [Record],
}

impl Numbered {
    /// What the document at a position says of itself: loops in file order, then the summary.
    fn facts(&mut self, at: usize) -> Option<&mut CertificateFacts> {
        match self.records.get_mut(at) {
            Some(record) => Some(&mut record.certificate),
            None => self.summary.as_mut(),
        }
    }

    /// The record of the document at a position as JSON.
    fn data(&self, at: usize) -> String {
        let data = match self.records.get(at) {
            Some(record) => serde_json::to_string(record),
            None => serde_json::to_string(&SummaryRecord { certificate: self.summary.as_ref(), loops: &self.records }),
        };
        data.expect("a record has text keys and finite numbers only")
    }

    /// The points of other visits that the document at a position was made from.
    fn points(&self, at: usize) -> Vec<&Point> {
        let records = self.records.get(at).map_or(&self.records[..], std::slice::from_ref);
        records.iter().flat_map(|record| &record.points).collect()
    }

    /// The document at a position, with what travels within it; none behind the last.
    fn document(&self, at: usize, visit: &Visit, firm: &Firm) -> Option<Document> {
        let mut document = match self.records.get(at) {
            Some(record) => document::certificate(record, firm),
            None => {
                document::summary(&self.records, firm, self.summary.as_ref().filter(|_| at == self.records.len())?)?
            }
        };
        document::attach(&mut document, firm, &visit.sources, &self.points(at), self.data(at));
        Some(document)
    }
}

/// Composes every certificate of a visit from numbered records, and its summary where it has several loops.
///
/// # Errors
/// `character-without-glyph` for each character that no font has, `logo-unusable`, `number-used-twice` where two
/// documents of the visit would get one number.
pub fn documents(
    visit: &Visit,
    firm: &Firm,
    numbered: &Numbered,
    press: &Press,
) -> Result<Vec<Paintable>, Vec<Problem>> {
    let documents = (0..=numbered.records.len()).filter_map(|at| numbered.document(at, visit, firm));
    let documents: Vec<Paintable> = documents.map(Paintable::new).collect();
    let mut problems = names::used_twice(visit, documents.iter().map(|it| it.document().number.as_str()));
    let mut seen = BTreeSet::new();
    let lacking = documents.iter().flat_map(Paintable::missing);
    problems.extend(lacking.filter(|(character, _)| seen.insert(*character)).map(|lack| unprintable(visit, lack)));
    problems.extend(logo_fault(firm, press));
    match problems.is_empty() {
        true => Ok(documents),
        false => Err(problems),
    }
}

/// Paints the documents of a visit.
pub fn sheets(documents: &[Paintable], press: &Press) -> Vec<Sheet> {
    let stems = names::stems(documents.iter().map(|paintable| paintable.document().number.as_str()));
    documents.iter().zip(stems).map(|(document, stem)| sheet(document, stem, press)).collect()
}

fn sheet(document: &Paintable, stem: String, press: &Press) -> Sheet {
    Sheet {
        number: document.document().number.clone(),
        stem,
        pdf: paint::pdf::paint(document, press),
        html: paint::html::paint(document),
    }
}

fn logo_fault(firm: &Firm, press: &Press) -> Option<Problem> {
    let logo = firm.logo.as_ref()?;
    let why = match press.prepare(logo).err()? {
        LogoFault::Unreadable(told) => told,
        LogoFault::Unsupported(what) => format!("it uses {what}, which is not drawn"),
        LogoFault::Empty => "it shows nothing".to_owned(),
    };
    Some(Problem::error(
        "logo-unusable",
        &Place::whole(&logo.name),
        format!("the logo cannot be drawn: {why}"),
        "a certificate must never show a logo in part",
        "save it again as plain SVG with paths only, or as PNG with 8 bits a channel",
    ))
}

/// A character that no font can print, told where it stands in the visit file.
fn unprintable(visit: &Visit, (character, text): &(char, String)) -> Problem {
    let place = visit.place_of(*character).unwrap_or_else(|| Place::whole(&visit.number.place.file));
    Problem::error(
        "character-without-glyph",
        &place,
        format!("the character «{character}» (U+{:04X}) in «{text}»", u32::from(*character)),
        "no font has it, and a certificate must never show a box or a gap in its place",
        "add a font that has it to the firm file, like fonts: [fonts/NotoSansArabic-Regular.ttf], or write the text in Latin, \
         Greek or Cyrillic letters (for a name, its Latin spelling)",
    )
    .with_excerpt(visit.line(&place))
}
