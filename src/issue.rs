//! Records to files: a number for each document, both paintings, and a folder in which nothing is ever overwritten.
//!
//! Comes in: a [`Reviewed`] visit without errors and the moment of issue. Goes out: [`Sheet`]s, then files. Until there is
//! a register, each document says that it is not registered. Next: [`crate::commands`].

mod names;
mod write;

pub use names::{number, stem};
pub use write::{Fate, Refused, write};

use crate::document::{self, Document};
use crate::firm::Firm;
use crate::paint::pdf::{LogoFault, Press};
use crate::paint::{self, Paintable};
use crate::problem::{Place, Problem};
use crate::quantity::Moment;
use crate::record::Record;
use crate::requirements::Reviewed;
use crate::visit::Visit;
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

/// The moment a document is issued unless the command says otherwise: the last signature, else the end of the visit.
pub fn default_issue_time(visit: &Visit) -> &Moment {
    let signed = visit.signatures.iter().filter_map(|signature| signature.signed.as_ref());
    let last = signed.max_by_key(|moment| moment.instant);
    last.or(visit.finished.as_ref()).unwrap_or(&visit.started)
}

/// Gives every record of a visit its number and moment of issue.
pub fn numbered(reviewed: &Reviewed, visit: &Visit, issued: &Moment) -> Vec<Record> {
    let offset = visit.finished.as_ref().unwrap_or(&visit.started).instant.timezone();
    let issued = Moment { instant: issued.instant.with_timezone(&offset), ..issued.clone() };
    let mut records = reviewed.records.clone();
    for record in &mut records {
        record.certificate.number = Some(number(&reviewed.firm.numbering, visit, &record.tag));
        record.certificate.issued = Some(issued.print());
    }
    records
}

/// Composes every certificate of a visit from numbered records, and its summary where it has several loops.
///
/// # Errors
/// `character-without-glyph` for each character that no font has, `logo-unusable`, `number-used-twice` where two
/// documents of the visit would get one number.
pub fn documents(
    visit: &Visit,
    firm: &Firm,
    records: &[Record],
    press: &Press,
) -> Result<Vec<Paintable>, Vec<Problem>> {
    let of_loop = |record| attached(document::certificate(record, firm), visit, firm, std::slice::from_ref(record));
    let mut documents: Vec<Document> = records.iter().map(of_loop).collect();
    if records.len() > 1 {
        let summary = document::summary(records, firm);
        documents.extend(summary.map(|document| attached(document, visit, firm, records)));
    }
    let mut problems = names::used_twice(visit, &documents);
    let documents: Vec<Paintable> = documents.into_iter().map(Paintable::new).collect();
    let mut seen = BTreeSet::new();
    let lacking = documents.iter().flat_map(Paintable::missing);
    problems.extend(lacking.filter(|(character, _)| seen.insert(*character)).map(|lack| unprintable(visit, lack)));
    problems.extend(logo_fault(firm, press));
    match problems.is_empty() {
        true => Ok(documents),
        false => Err(problems),
    }
}

/// A document with what travels within it; the record as one object, those of several loops as a list.
fn attached(mut document: Document, visit: &Visit, firm: &Firm, records: &[Record]) -> Document {
    let data = match records {
        [record] => serde_json::to_string(record),
        records => serde_json::to_string(records),
    };
    let data = data.expect("a record has text keys and finite numbers only");
    document::attach(&mut document, firm, &visit.sources, data);
    document
}

/// Paints the documents of a visit.
pub fn sheets(documents: &[Paintable], press: &Press) -> Vec<Sheet> {
    let stems = names::stems(documents.iter().map(|paintable| paintable.document().number.as_str()));
    let painted = documents.iter().zip(stems).map(|(document, stem)| Sheet {
        number: document.document().number.clone(),
        stem,
        pdf: paint::pdf::paint(document, press),
        html: paint::html::paint(document),
    });
    painted.collect()
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
