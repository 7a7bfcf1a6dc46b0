//! `dossier`: everything an auditor asks for, in one folder and one ZIP.

use super::arguments::Format;
use super::progress::Progress;
use super::{DONE, MISUSE, REFUSED, print, tell};
use crate::dossier::{Fault, Made, Order, Refused, Stage, make};
use crate::issue::Workers;
use crate::register::{Selection, Trouble, View};
use crate::yaml::{few, nearest};
use chrono::NaiveDate;
use clap::Args;
use serde_json::json;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Arguments of `dossier`.
#[derive(Debug, Args)]
pub struct Dossier {
    /// Folder of the register
    #[arg(long, value_name = "FOLDER", default_value = "certificates/register")]
    pub register: PathBuf,
    /// Folder of the documents (default: the folder above the register)
    #[arg(long, value_name = "FOLDER")]
    pub documents: Option<PathBuf>,
    /// Folder for the dossier, not there yet; beside it stands the same as a ZIP
    #[arg(long, value_name = "FOLDER", default_value = "dossier")]
    pub out: PathBuf,
    /// Only documents of this client (several: again)
    #[arg(long, value_name = "NAME")]
    pub client: Vec<String>,
    /// Only documents of this loop (several: again)
    #[arg(long, value_name = "TAG")]
    pub tag: Vec<String>,
    /// Only work done on or after this day
    #[arg(long, value_name = "DATE")]
    pub from: Option<NaiveDate>,
    /// Only work done on or before this day
    #[arg(long, value_name = "DATE")]
    pub to: Option<NaiveDate>,
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Print problems only
    #[arg(long, short)]
    pub quiet: bool,
    /// Documents worked on at the same time (default: as many as processors)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
}

/// Runs `dossier`.
pub fn run(order: &Dossier) -> u8 {
    if order.out.file_name().is_none() {
        tell(&format!("halfcell: --out {}: a dossier is a new folder with a name of its own\n", order.out.display()));
        return MISUSE;
    }
    let view = match View::open(&order.register) {
        Ok(view) => view,
        Err(trouble) => return tell_trouble(&trouble),
    };
    let selection =
        Selection { clients: order.client.clone(), tags: order.tag.clone(), from: order.from, to: order.to };
    let above = order.register.parent().unwrap_or(Path::new("")).to_owned();
    let documents = order.documents.clone().unwrap_or(above);
    if !documents.as_os_str().is_empty() && !documents.is_dir() {
        tell(&format!("halfcell: --documents {}: there is no such folder\n", documents.display()));
        return MISUSE;
    }
    let workers = Workers::new(order.jobs.map_or(0, usize::from));
    let wanted =
        Order { view: &view, documents: &documents, out: &order.out, selection: &selection, workers: &workers };
    let is_for_people = !order.quiet && order.format == Format::Text;
    let mut progress = None;
    let step = |stage: Stage| {
        let line = progress.get_or_insert_with(|| Progress::begin("dossier", stage.of, "documents", is_for_people));
        line.step(stage.done, stage.faults);
    };
    let made = make(&wanted, step);
    drop(progress);
    match made {
        Ok(made) => conclude(order, &view, &made),
        Err(Refused::Nothing(clients, tags)) => {
            tell(&unknown(&selection, &clients, &tags));
            REFUSED
        }
        Err(Refused::Different(path)) => {
            tell(&format!(
                "halfcell: {}: something else stands there, and a dossier is never written over: move it elsewhere, or name \
                 another folder with --out\n",
                path.display()
            ));
            REFUSED
        }
        Err(Refused::Trouble(trouble)) => tell_trouble(&trouble),
    }
}

fn conclude(order: &Dossier, view: &View, made: &Made) -> u8 {
    for fault in &made.faults {
        tell(&format!("halfcell: {}\n", told(fault)));
    }
    let [in_force, replaced, drafts] = made.documents;
    match (order.quiet, order.format) {
        (true, _) => {}
        (false, Format::Json) => print(&format!(
            "{}\n",
            json!({
                "dossier": order.out.display().to_string(),
                "zip": made.zip.display().to_string(),
                "was_there": made.was_there,
                "in_force": in_force,
                "replaced": replaced,
                "drafts": drafts,
                "found_outside_limits": made.failed_as_found,
                "loops_without_certificate": made.without,
                "painted_again": made.made_again,
                "not_whole": made.faults.iter().map(told).collect::<Vec<_>>(),
                "sha256sums": made.sums,
                "register": { "entry": view.head().entry, "hash": view.head().hash },
            })
        )),
        (false, Format::Text) => {
            let word = if made.was_there { "already there" } else { "made" };
            let again = match made.made_again {
                0 => String::new(),
                count => format!("{count} missing files painted again from the archive\n"),
            };
            let whole = if made.faults.is_empty() { "" } else { "; it is not whole" };
            print(&format!(
                "{word}  {}\n{word}  {}\n{again}{in_force} certificates in force ({} found outside limits), {replaced} replaced, \
                 {drafts} drafts, {} loops without a certificate{whole}\nSHA256SUMS has the hash {}\n",
                order.out.display(),
                made.zip.display(),
                made.failed_as_found,
                made.without,
                made.sums
            ));
        }
    }
    if made.faults.is_empty() { DONE } else { REFUSED }
}

/// A fault in a sentence.
fn told(fault: &Fault) -> String {
    match fault {
        Fault::Altered { number, file } => {
            format!(
                "{number}: {file} is not as it was issued, and was left out; put back the file as it was issued, or move it \
                     elsewhere, and it is painted again from the archive"
            )
        }
        Fault::Missing { number, file, why } => {
            format!("{number}: {file} is missing and cannot be painted again: {why}")
        }
        Fault::Record { number, why } => format!("{number}: its record cannot be had from the archive: {why}"),
        Fault::Source { name, hash, why } => {
            format!("{name} ({hash}), from which documents were made, cannot be had from the archive: {why}")
        }
    }
}

/// Why nothing is meant: which client or tag no document has, with the nearest, else that nothing lies in the period.
fn unknown(selection: &Selection, clients: &BTreeSet<String>, tags: &BTreeSet<String>) -> String {
    let is_client = |name: &str| clients.iter().any(|client| client.to_lowercase() == name.to_lowercase());
    let mut out = String::new();
    let strangers = selection.clients.iter().filter(|name| !is_client(name));
    for name in strangers {
        out.push_str(&format!("halfcell: no document is for the client «{name}»; {}\n", known(name, clients)));
    }
    if !out.is_empty() {
        return out;
    }
    for tag in selection.tags.iter().filter(|tag| !tags.contains(*tag)) {
        out.push_str(&format!("halfcell: no document has the tag «{tag}»; {}\n", known(tag, tags)));
    }
    match out.is_empty() {
        true => "halfcell: no document meets all these conditions; nothing was made\n".to_owned(),
        false => out,
    }
}

fn known(name: &str, names: &BTreeSet<String>) -> String {
    match nearest(name, names.iter().map(String::as_str)) {
        Some(near) => format!("did you mean «{near}»?"),
        None if names.is_empty() => "there is none".to_owned(),
        None => format!("there are: {}", few(names.iter().map(String::as_str))),
    }
}

/// Tells why the register or a file cannot be used. Gives the exit code.
fn tell_trouble(trouble: &Trouble) -> u8 {
    match trouble {
        Trouble::Access(path, error) => {
            tell(&format!("halfcell: {}: {error}; no dossier was made\n", path.display()));
            MISUSE
        }
        Trouble::Broken(path, fault) => {
            let (path, why) = (path.display(), fault.told());
            tell(&format!(
                "halfcell: {path}: {why}; no dossier is made from a register that was changed: put back the register from a \
                 backup, and see what differs\n"
            ));
            REFUSED
        }
    }
}
