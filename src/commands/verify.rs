//! `verify`: whether documents stand, alone or by their register, and whether the register does.

mod found;
mod of_register;
mod tell;

use super::arguments::Format;
use super::check::exit_code;
use super::progress::Progress;
use super::{MISUSE, files, print, signing, table, tell as tell_error};
use crate::issue::Workers;
use crate::register::Trouble;
use crate::verify::{Answer, Asked, Bench, Broken, Ledger, carries_record, judge, present};
use clap::Args;
use found::{Group, groups};
use std::collections::BTreeSet;
use std::io::IsTerminal;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use tell::{Counts, Teller};

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub struct Verify {
    /// Documents (PDF, HTML), folders of documents, or the folder of a register
    #[arg(required = true, value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    /// The register of the documents (default: `register` in their folder or beside it)
    #[arg(long, value_name = "DIR")]
    pub register: Option<PathBuf>,
    /// A hash kept elsewhere: as a certificate prints it, or the SHA-256 of a file; may be given several times
    #[arg(long, value_name = "HASH")]
    pub anchor: Vec<String>,
    /// A public key (Ed25519, PEM) that is trusted: the register must be signed by one; may be given several times
    #[arg(long, value_name = "PUBKEY")]
    pub trust: Vec<PathBuf>,
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Print only what does not stand
    #[arg(long, short)]
    pub quiet: bool,
    /// Documents worked on at the same time (default: as many as processors)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

/// A file larger than this is no certificate, in bytes: the largest with added fonts take some 20 000 000.
const LARGEST: u64 = 200_000_000;

/// Files looked at by each worker before their answers are told.
const EACH: usize = 8;

/// Runs `verify`.
pub fn run(order: &Verify) -> u8 {
    match asked(order) {
        Ok(asked) => verify(order, &asked),
        Err(code) => code,
    }
}

/// What everything is held against.
fn asked(order: &Verify) -> Result<Asked, u8> {
    let trusted = order.trust.iter().map(|path| signing::public(path)).collect::<Result<Vec<_>, u8>>()?;
    let anchors = order.anchor.iter().map(|text| anchor(text)).collect::<Result<Vec<_>, u8>>()?;
    Ok(Asked { anchors, trusted, whole_archive: false })
}

/// A hash as a person types or copies it: capitals and spaces do not count.
fn anchor(text: &str) -> Result<String, u8> {
    let hash: String = text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase();
    if hash.len() == 64 && hash.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Ok(hash);
    }
    tell_error(&format!(
        "halfcell: --anchor {text}: a hash has 64 digits from 0 to f; the last page of a certificate prints it whole, the footer \
         only its beginning, which proves too little\n"
    ));
    Err(MISUSE)
}

fn verify(order: &Verify, asked: &Asked) -> u8 {
    let (groups, lost) = groups(&order.paths, order.register.as_deref());
    super::check::tell_lost(&lost);
    let workers = Workers::new(order.jobs.map_or(0, usize::from));
    let style = table::Style::of_terminal(std::io::stdout().is_terminal());
    let teller = Teller { format: order.format, is_quiet: order.quiet, style };
    let mut run = Run {
        asked,
        workers: &workers,
        bench: Bench::default(),
        teller: &teller,
        counts: Counts::default(),
        matched: BTreeSet::new(),
    };
    let (mut has_no_access, mut registers) = (!lost.is_empty(), Vec::new());
    for group in groups {
        match run.group(group) {
            Ok((verified, read)) => {
                has_no_access |= !read;
                registers.extend(verified);
            }
            Err(trouble) => {
                has_no_access = true;
                tell_error(&format!("halfcell: {}\n", in_words(&trouble)));
            }
        }
    }
    let Run { mut counts, matched, .. } = run;
    let is_unmatched = |hash: &&String| !matched.contains(*hash) && !registers.iter().any(|it| it.ledger.knows(hash));
    let unmatched: Vec<String> = asked.anchors.iter().filter(is_unmatched).cloned().collect();
    for verified in &mut registers {
        verified.ledger.broken.extend(unmatched.iter().map(|hash| Broken::Unmatched { hash: hash.clone() }));
        counts.broken_registers += usize::from(!verified.ledger.broken.is_empty());
        print(&teller.register(verified, asked));
    }
    if registers.is_empty() {
        counts.unmatched = unmatched;
        if !asked.trusted.is_empty() && !has_no_access {
            tell_error(
                "halfcell: --trust: signatures stand in a register, and none was found; name it with --register\n",
            );
            has_no_access = true;
        }
    }
    print(&teller.end(&counts));
    exit_code(counts.has_faults(), has_no_access)
}

/// Why a register cannot be used.
fn in_words(trouble: &Trouble) -> String {
    match trouble {
        Trouble::Access(path, error) => format!("{}: {error}", path.display()),
        Trouble::Broken(path, fault) => format!("{}: {}", path.display(), fault.told()),
    }
}

/// A register that was verified with the documents presented.
#[derive(Debug)]
pub struct Verified {
    /// Where it is, and the documents.
    pub group: Group,
    /// The register.
    pub ledger: Ledger,
    /// Its lines that opened documents which were presented.
    pub seen: BTreeSet<u64>,
}

/// What goes along with every group.
struct Run<'r> {
    asked: &'r Asked,
    workers: &'r Workers,
    bench: Bench,
    teller: &'r Teller,
    counts: Counts,
    /// Hashes kept elsewhere that are those of files seen.
    matched: BTreeSet<String>,
}

/// What became of a file.
enum Judged {
    Document(Box<Answer>),
    /// A page in a folder that is no certificate.
    PassedOver,
    /// Why it cannot be read.
    Lost(String),
}

impl Run<'_> {
    /// Verifies the documents of one register, and the register. `false`: something could not be read.
    fn group(&mut self, group: Group) -> Result<(Option<Verified>, bool), Trouble> {
        let asked = Asked { whole_archive: group.is_whole, ..self.asked.clone() };
        let audit = |folder: &PathBuf| Ledger::audit(folder, &asked, self.workers);
        let ledger = group.register.as_ref().map(audit).transpose()?;
        let (mut lacking, mut seen, mut is_read) = (Vec::new(), BTreeSet::new(), true);
        let judge = |file: &Path, ()| {
            let is_named = group.named.contains(file);
            judged(file, is_named, &self.bench, ledger.as_ref(), &asked, self.workers).unwrap_or_else(Judged::Lost)
        };
        let (counts, matched, teller) = (&mut self.counts, &mut self.matched, self.teller);
        let is_for_people = !teller.is_quiet && teller.format == Format::Text;
        let mut progress = Progress::begin("verify", group.files.len(), "files", is_for_people);
        let done = |chunk: Vec<(&Path, Judged)>| {
            let (files, fallen) = (chunk.len(), counts.fallen());
            for (file, judged) in chunk {
                match judged {
                    Judged::Document(answer) => {
                        counts.take(&answer);
                        matched.extend(asked.anchors.iter().filter(|hash| **hash == answer.sha256).cloned());
                        print(&teller.document(file, group.register.as_deref(), &answer, &asked));
                        seen.extend(answer.line);
                        lacking.extend(answer.lacking);
                    }
                    Judged::PassedOver => counts.passed_over += 1,
                    Judged::Lost(why) => {
                        is_read = false;
                        tell_error(&format!("halfcell: {}: {why}\n", file.display()));
                    }
                }
            }
            progress.step(files, counts.fallen() - fallen);
            ControlFlow::Continue(())
        };
        files::each(&group.files, self.workers, EACH * self.workers.count(), |_| (), judge, done);
        let verified = ledger.map(|mut ledger| {
            lacking.sort_by_key(Broken::told);
            lacking.dedup();
            ledger.broken.extend(lacking);
            Verified { group, ledger, seen }
        });
        Ok((verified, is_read))
    }
}

/// Judges the document in a file.
fn judged(
    file: &Path,
    is_named: bool,
    bench: &Bench,
    ledger: Option<&Ledger>,
    asked: &Asked,
    workers: &Workers,
) -> Result<Judged, String> {
    let found = std::fs::metadata(file).map_err(|error| error.to_string())?;
    if !found.is_file() || found.len() > LARGEST {
        return Err("this is no document".to_owned());
    }
    let bytes = std::fs::read(file).map_err(|error| error.to_string())?;
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let presented = present(&bytes, bench);
    let is_known = ledger.is_some_and(|ledger| ledger.number_of(&presented.sha256).is_some() || ledger.has(&stem));
    let is_page = file.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("pdf"));
    if is_page && !is_named && !is_known && !carries_record(&bytes) {
        return Ok(Judged::PassedOver);
    }
    let judged = judge(presented, &stem, ledger, asked, workers);
    judged.map(|answer| Judged::Document(Box::new(answer))).map_err(|trouble| in_words(&trouble))
}
