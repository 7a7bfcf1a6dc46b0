//! Whether a document stands: held against its register, or alone.
//!
//! Comes in: [`Presented`] and a [`Ledger`]. Goes out: a verdict, what is wrong, and what was at hand to tell. Next:
//! [`crate::commands`].

use super::presented::Presented;
use super::register::{Asked, Broken, Ledger, Place, Voucher};
use crate::issue::Workers;
use crate::register::{Entry, Index, Opened, Status, Trouble, Viewed};
use serde::Serialize;

/// How a document stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "verdict", rename_all = "kebab-case")]
pub enum Verdict {
    /// It is as it was issued, and in force.
    Stands,
    /// It is as it was issued, and another replaces it.
    Replaced {
        /// Number of the document to ask for.
        by: String,
        /// When that was issued.
        by_issued: String,
    },
    /// It is as it was issued: a draft, for which signatures were awaited.
    Draft {
        /// Number of the document that stands once they are there.
        stands_as: Option<String>,
        /// Whether that was issued.
        is_settled: bool,
    },
    /// Page, data and computation agree; no register was at hand to tell whether it is the original.
    Agrees,
    /// Its number was opened, and its files are not entered yet.
    Pending,
    /// Nothing contradicts it, and what should prove it is missing or broken.
    Unproved,
    /// It is not what was issued.
    Fails,
}

/// What there was to tell by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AtHand {
    /// The document itself.
    Document,
    /// The register.
    Register,
    /// A hash kept elsewhere that is of this file or of a line that is not before its own.
    HashKeptElsewhere,
    /// A signature of a trusted key.
    Signature,
}

/// What is said of a document.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Answer {
    /// How it stands.
    #[serde(flatten)]
    pub verdict: Verdict,
    /// Its number: as registered, else as it says.
    pub number: Option<String>,
    /// `original`, `amendment` or `re-evaluation`, as registered.
    pub kind: Option<String>,
    /// Moment of issue: as registered, else as it says.
    pub issued: Option<String>,
    /// Number of its `opened` line in the register's file.
    pub line: Option<u64>,
    /// SHA-256 of the file.
    pub sha256: String,
    /// What there was to tell by.
    pub at_hand: Vec<AtHand>,
    /// Whether nothing from outside vouches for its lines.
    pub by_chain_alone: bool,
    /// Why it does not stand, in sentences.
    pub faults: Vec<String>,
    /// Why it is not proved, and what a reader should know besides.
    pub notes: Vec<String>,
    /// What is wrong with the archive of what it was made from.
    #[serde(skip)]
    pub lacking: Vec<Broken>,
}

impl Answer {
    /// Whether the document is as it was issued.
    pub fn is_good(&self) -> bool {
        match self.verdict {
            Verdict::Stands | Verdict::Replaced { .. } | Verdict::Draft { .. } | Verdict::Agrees => true,
            Verdict::Pending | Verdict::Unproved | Verdict::Fails => false,
        }
    }
}

/// Judges a document by its register, where one is at hand. `stem` is the name of its file without ending.
///
/// # Errors
/// [`Trouble`] with the register.
pub fn judge(
    presented: Presented,
    stem: &str,
    ledger: Option<&Ledger>,
    asked: &Asked,
    workers: &Workers,
) -> Result<Answer, Trouble> {
    let Some(ledger) = ledger else { return Ok(alone(presented, asked)) };
    let known = ledger.number_of(&presented.sha256).map(|number| ledger.view.document(number)).transpose()?.flatten();
    match known {
        Some(viewed) => registered(presented, viewed, ledger, asked, workers),
        None => unregistered(presented, stem, ledger),
    }
}

fn answer(presented: Presented, verdict: Verdict, at_hand: Vec<AtHand>) -> Answer {
    let Presented { sha256, number, issued, faults, notes, .. } = presented;
    let (kind, line, lacking) = (None, None, Vec::new());
    Answer { verdict, number, kind, issued, line, sha256, at_hand, by_chain_alone: false, faults, notes, lacking }
}

/// No register is at hand.
fn alone(mut presented: Presented, asked: &Asked) -> Answer {
    presented.faults.extend(presented.unreadable.take());
    let is_kept = asked.anchors.contains(&presented.sha256);
    let prints_kept = presented.printed_hash.as_ref().is_some_and(|hash| asked.anchors.contains(hash));
    let mut at_hand = vec![AtHand::Document];
    at_hand.extend(is_kept.then_some(AtHand::HashKeptElsewhere));
    let verdict = match (presented.faults.is_empty(), is_kept, presented.record_sha256.is_some()) {
        (false, _, _) => Verdict::Fails,
        (true, true, _) => Verdict::Stands,
        (true, false, true) => Verdict::Agrees,
        (true, false, false) => Verdict::Unproved,
    };
    let mut answer = answer(presented, verdict, at_hand);
    if prints_kept && !is_kept {
        answer.notes.push(
            "it prints the hash kept elsewhere, which anybody can print: the register shows whether that line is of this file"
                .to_owned(),
        );
    }
    answer
}

/// The register has the hash of this very file.
fn registered(
    mut presented: Presented,
    viewed: Viewed,
    ledger: &Ledger,
    asked: &Asked,
    workers: &Workers,
) -> Result<Answer, Trouble> {
    let Viewed { opened, entry, hash, status } = viewed;
    let line = ledger.line_of(&hash, entry).unwrap_or(entry);
    let lines = [Some(line), ledger.ended(&opened.number)].into_iter().flatten().collect::<Vec<u64>>();
    // Its bytes are those that were issued, whatever can be read of them.
    presented.notes.extend(presented.unreadable.take());
    let mut faults = disagreeing(&presented, &opened, &hash, line);
    let has_own_hash = presented.printed_hash.as_ref() == Some(&hash);
    let is_kept = asked.anchors.contains(&presented.sha256);
    // A document that agrees with the record which its first line names needs no other line.
    let is_of_record = presented.is_recomputed && presented.record_sha256.as_ref() == Some(&opened.record);
    let needed = if is_of_record && presented.faults.is_empty() { &lines[..1] } else { &lines[..] };
    let mut at_hand = vec![AtHand::Document, AtHand::Register];
    if is_kept || ledger.is_vouched(needed, |by| matches!(by, Voucher::HashOfLine { .. })) {
        at_hand.push(AtHand::HashKeptElsewhere);
    }
    let is_signed = ledger.is_vouched(needed, |by| matches!(by, Voucher::Signature { .. }));
    at_hand.extend(is_signed.then_some(AtHand::Signature));
    let mut answer = answer(presented, Verdict::Stands, at_hand);
    faults.append(&mut answer.faults);
    let (mut doubts, lacking) = of_archive(ledger, line, &opened, asked, workers);
    if !is_kept {
        doubts.extend(of_places(ledger, &lines, has_own_hash));
    }
    answer.verdict = match (faults.is_empty(), doubts.is_empty()) {
        (false, _) => Verdict::Fails,
        (true, false) => Verdict::Unproved,
        (true, true) => of_status(&opened, status, ledger)?,
    };
    answer.notes.splice(..0, doubts);
    Ok(Answer {
        number: Some(opened.number),
        kind: Some(opened.kind),
        issued: Some(opened.issued),
        line: Some(line),
        by_chain_alone: !answer.at_hand.iter().any(|it| matches!(it, AtHand::HashKeptElsewhere | AtHand::Signature)),
        faults,
        lacking,
        ..answer
    })
}

/// What a broken chain means for the lines of a document.
fn of_places(ledger: &Ledger, lines: &[u64], has_own_hash: bool) -> Option<String> {
    let place = |line: &u64| match ledger.standing(*line) {
        Place::Broken if has_own_hash => ledger.first_broken().map(Place::Behind),
        place => Some(place),
    };
    let places: Vec<Place> = lines.iter().filter_map(place).collect();
    let first = lines.first()?;
    if let Some(at) = places.iter().position(|place| *place == Place::Broken) {
        let line = lines.get(at)?;
        return Some(format!("the chain is broken at its line {line}: nothing shows what stood there"));
    }
    let broken = places.iter().find_map(|place| match place {
        Place::Behind(broken) => Some(*broken),
        Place::Proved | Place::Linked | Place::Broken => None,
    })?;
    Some(format!(
        "it agrees with its line {first}, but the chain is broken at line {broken}: nothing shows that what stands behind it is \
         what was written"
    ))
}

/// Where what a document says and carries is not what its line says.
fn disagreeing(presented: &Presented, opened: &Opened, hash: &str, line: u64) -> Vec<String> {
    let mut faults = Vec::new();
    if let Some(printed) = presented.printed_hash.as_ref().filter(|printed| *printed != hash) {
        faults.push(format!(
            "it prints the hash {}…, and its line {line} has {}…: the line was changed after the document was printed",
            short(printed),
            short(hash)
        ));
    }
    if let Some(number) = presented.number.as_ref().filter(|number| **number != opened.number) {
        faults.push(format!("it calls itself {number}, and is registered as {}", opened.number));
    }
    if presented.record_sha256.as_ref().is_some_and(|record| *record != opened.record) {
        faults.push(format!("the record that it carries is not the one that line {line} names"));
    }
    faults
}

/// Where the register contradicts itself about a document, and what lacks in the archive of what it was made from. Where the whole
/// archive was looked through, the register's own answer tells the latter.
fn of_archive(
    ledger: &Ledger,
    line: u64,
    opened: &Opened,
    asked: &Asked,
    workers: &Workers,
) -> (Vec<String>, Vec<Broken>) {
    let is_own = |broken: &Broken| broken.number() == Some(opened.number.as_str());
    if asked.whole_archive {
        return (ledger.broken.iter().filter(|it| is_own(it)).map(Broken::told).collect(), Vec::new());
    }
    let (own, lacking): (Vec<Broken>, Vec<Broken>) =
        ledger.archive_of(line, opened, workers).into_iter().partition(is_own);
    (own.iter().map(Broken::told).collect(), lacking)
}

fn of_status(opened: &Opened, status: Status, ledger: &Ledger) -> Result<Verdict, Trouble> {
    Ok(match status {
        Status::InForce => Verdict::Stands,
        Status::Draft { is_settled } => Verdict::Draft { stands_as: opened.stands_as().map(str::to_owned), is_settled },
        Status::Replaced { by } => {
            let by_issued = ledger.view.document(&by)?.map(|viewed| viewed.opened.issued).unwrap_or_default();
            Verdict::Replaced { by, by_issued }
        }
        // Its files were entered: only a broken register says otherwise of its number.
        Status::Pending | Status::Void => Verdict::Unproved,
    })
}

/// The register has no file with this hash.
fn unregistered(mut presented: Presented, stem: &str, ledger: &Ledger) -> Result<Answer, Trouble> {
    presented.faults.extend(presented.unreadable.take());
    let printed = presented.printed_hash.clone();
    let line_printed = printed.as_deref().and_then(|hash| ledger.line_of(hash, 0));
    let index = ledger.view.index();
    let number = presented.number.clone().filter(|number| index.standing(number).is_some());
    let number =
        number.or_else(|| index.standing(stem).map(|_| stem.to_owned()).filter(|_| presented.number.is_none()));
    let viewed = number.map(|number| ledger.view.document(&number)).transpose()?.flatten();
    let at_hand = vec![AtHand::Document, AtHand::Register];
    let (said, told) = match &presented.number {
        Some(number) => (number.clone(), format!("this register knows neither the file nor the number {number}")),
        None => (stem.to_owned(), "this register does not know the file".to_owned()),
    };
    let mut answer = answer(presented, Verdict::Fails, at_hand);
    match viewed {
        Some(viewed) => {
            let Viewed { opened, entry, hash, status } = viewed;
            let line = ledger.line_of(&hash, entry).unwrap_or(entry);
            let told = of_number(&opened.number, line, &status, ledger)?;
            if status == Status::Pending {
                answer.verdict = Verdict::Pending;
                answer.notes.push(told);
            } else {
                answer.faults.push(told);
            }
            answer.line = Some(line);
            answer.number = Some(opened.number);
            answer.kind = Some(opened.kind);
            answer.issued = Some(opened.issued);
        }
        None => answer.faults.push(format!("{told}{}", near(index, &said))),
    }
    if let Some(printed) = printed.filter(|_| line_printed.is_none()) {
        answer.faults.push(format!(
            "it prints the hash {}…, which no line of this register has: lines were cut off or written anew, or it was never \
             entered here",
            short(&printed)
        ));
    }
    Ok(answer)
}

/// Why a file with another hash is not the document of a number.
fn of_number(number: &str, line: u64, status: &Status, ledger: &Ledger) -> Result<String, Trouble> {
    Ok(match status {
        Status::Pending => format!(
            "{number} was opened on line {line}, and its files are not entered: a run is at work, or broke off; the next \
             `issue` finishes it"
        ),
        Status::Void => {
            let reason = void_reason(number, ledger)?.unwrap_or_default();
            format!("{number} is void: its files were never entered ({reason})")
        }
        Status::InForce | Status::Draft { .. } | Status::Replaced { .. } => {
            let entered = ledger.ended(number).unwrap_or(line);
            let files = ledger.view.files_of(number)?.unwrap_or_default();
            format!(
                "its bytes are not those of {number}: line {entered} has the SHA-256 {}… for the PDF and {}… for the HTML page",
                short(&files[0]),
                short(&files[1])
            )
        }
    })
}

fn void_reason(number: &str, ledger: &Ledger) -> Result<Option<String>, Trouble> {
    let ended = ledger.ended(number);
    let Some(seen) = ledger.lines.iter().find(|seen| Some(seen.line) == ended) else { return Ok(None) };
    Ok(match ledger.view.line_at(seen.span)?.0.said {
        Entry::Void(void) => Some(void.reason),
        Entry::Opened(_) | Entry::Issued(_) | Entry::Signed(_) => None,
    })
}

/// Letters in which a number may differ from one that is told as near.
const NEAR: usize = 3;

/// `; near are V-1-AIT-1, V-1-AIT-2`: numbers that differ in few letters.
fn near(index: &Index, number: &str) -> String {
    let length = number.chars().count();
    let is_as_long = |other: &&str| other.chars().count().abs_diff(length) <= NEAR;
    let distance = |other| (strsim::osa_distance(other, number), other);
    let mut near: Vec<(usize, &str)> = index.numbers().filter(is_as_long).map(distance).collect();
    near.retain(|(distance, _)| *distance <= NEAR.min(length / 2));
    near.sort_unstable();
    let names: Vec<&str> = near.into_iter().take(3).map(|(_, number)| number).collect();
    if names.is_empty() { String::new() } else { format!("; near are {}", names.join(", ")) }
}

/// The beginning of a hash.
fn short(hash: &str) -> &str {
    hash.get(..16).unwrap_or(hash)
}
