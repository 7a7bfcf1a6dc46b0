//! The dossier: everything that an auditor asks for about a client, some loops or a period, in one folder and one ZIP.
//!
//! Comes in: a register that is only read, a selection, the folder of the documents. Goes out: a folder with an index page, the
//! documents as they were issued, what they were made from, the extract of the register with its proof, and the history of what
//! was found; the same bytes for the same register and selection. Next: [`crate::commands`].
//!
//! ```text
//! View ─plan─▶ numbers ─gather─▶ files checked and copied, Told ─page─▶ index.html ─list─▶ SHA256SUMS ─pack─▶ ZIP
//! ```

mod folder;
mod gather;
mod history;
mod lines;
mod pack;
mod page;
mod plan;
mod sources;
mod told;

use crate::issue::Workers;
use crate::register::{Selection, Trouble, View};
use folder::{Folder, Whole, holds};
use gather::Desk;
use std::collections::BTreeSet;
use std::io::Error;
use std::path::{Path, PathBuf};

/// What a dossier is made of.
#[derive(Debug, Clone, Copy)]
pub struct Order<'o> {
    /// The register.
    pub view: &'o View,
    /// Folder of the documents.
    pub documents: &'o Path,
    /// Folder of the dossier; the ZIP stands beside it.
    pub out: &'o Path,
    /// Which documents are meant.
    pub selection: &'o Selection,
    /// For working on many documents at once.
    pub workers: &'o Workers,
}

/// What is not as it should be; the dossier is made without it and names it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// A file is not as it was issued.
    Altered {
        /// Number of the document.
        number: String,
        /// Name of the file.
        file: String,
    },
    /// A file is missing and cannot be made again.
    Missing {
        /// Number of the document.
        number: String,
        /// Name of the file.
        file: String,
        /// Why.
        why: String,
    },
    /// The record of a document cannot be had from the archive.
    Record {
        /// Number of the document.
        number: String,
        /// Why.
        why: String,
    },
    /// A file that documents were made from cannot be had from the archive.
    Source {
        /// Its name.
        name: String,
        /// Its SHA-256.
        hash: String,
        /// Why.
        why: String,
    },
}

/// A dossier that stands.
#[derive(Debug)]
pub struct Made {
    /// Certificates in force, replaced documents, drafts.
    pub documents: [usize; 3],
    /// Certificates in force of loops that were found outside their limits.
    pub failed_as_found: usize,
    /// Loops of the roster without a certificate in force.
    pub without: usize,
    /// What is not as it should be.
    pub faults: Vec<Fault>,
    /// Files that were missing and were painted again.
    pub made_again: usize,
    /// The same dossier stood there already.
    pub was_there: bool,
    /// The ZIP.
    pub zip: PathBuf,
    /// SHA-256 of `SHA256SUMS`, which names every other file.
    pub sums: String,
}

/// Why there is no dossier.
#[derive(Debug)]
pub enum Refused {
    /// No document is meant: every client of the register, every tag of the clients meant.
    Nothing(BTreeSet<String>, BTreeSet<String>),
    /// Something else stands under its name.
    Different(PathBuf),
    /// The register or a file cannot be read or written.
    Trouble(Trouble),
}

impl From<Trouble> for Refused {
    fn from(trouble: Trouble) -> Refused {
        Refused::Trouble(trouble)
    }
}

/// How far a dossier is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stage {
    /// Documents in all.
    pub of: usize,
    /// Documents looked at since the last time it was told.
    pub done: usize,
    /// How many of them are not as they should be.
    pub faults: usize,
}

/// Makes a dossier: whole, under its name, or not at all. `tell` hears how far it is.
///
/// # Errors
/// [`Refused`]; what stands under its name is never touched.
pub fn make(order: &Order, tell: impl FnMut(Stage)) -> Result<Made, Refused> {
    let plan = plan::plan(order.view, order.selection)?;
    if plan.numbers.is_empty() {
        return Err(Refused::Nothing(plan.clients, plan.tags));
    }
    let access = |error: Error| Trouble::Access(order.out.to_owned(), error);
    let folder = Folder::beside(order.out).map_err(access)?;
    let wanted = plan.numbers.values().cloned().collect();
    let void = lines::extract(order.view, &wanted, &folder)?;
    let mut gathered = Desk::new(order, &plan, &folder).gather(tell)?;
    folder.put(history::NAME, history::table(std::mem::take(&mut gathered.rows)).as_bytes()).map_err(access)?;
    let index = page::Index { order, plan: &plan, void: &void, told: &gathered.told, faults: &gathered.faults };
    let without = page::write(&index, &gathered.roster, &gathered.firm, &folder).map_err(access)?;
    let count = |place| gathered.told.iter().filter(|told| told.folder() == Some(place)).count();
    let failed = gathered.told.iter().filter(|told| told.folder() == Some("certificates") && told.failed_as_found());
    let mut made = Made {
        documents: ["certificates", "replaced", "drafts"].map(count),
        failed_as_found: failed.count(),
        without,
        faults: gathered.faults.iter().cloned().collect(),
        made_again: gathered.made_again,
        was_there: false,
        zip: zip_beside(order.out),
        sums: String::new(),
    };
    // Packing needs room of its own for thousands of files.
    drop(gathered);
    let whole = folder.whole().map_err(access)?;
    made.sums = whole.sums.get(folder::SUMS).cloned().unwrap_or_default();
    made.was_there = put_in_place(whole, order.out, &made.zip)?;
    Ok(made)
}

/// The ZIP of a dossier: its name with `.zip` after it.
fn zip_beside(out: &Path) -> PathBuf {
    let mut name = out.file_name().unwrap_or_default().to_owned();
    name.push(".zip");
    out.with_file_name(name)
}

/// Gives folder and ZIP their names, unless the same stand there. Whether both stood there.
fn put_in_place(folder: Whole, out: &Path, zip: &Path) -> Result<bool, Refused> {
    let access = |path: &Path| {
        let path = path.to_owned();
        move |error| Refused::Trouble(Trouble::Access(path, error))
    };
    let packed = pack::packed(&folder, zip).map_err(access(zip))?;
    let [has_folder, has_zip] = [out, zip].map(|path| path.symlink_metadata().is_ok());
    if has_folder && !(out.is_dir() && holds(out, &folder.sums).map_err(access(out))?) {
        return Err(Refused::Different(out.to_owned()));
    }
    if has_zip {
        let hash_of = |path: &Path| folder::hash_of_file(path).map_err(access(path));
        if !zip.is_file() || hash_of(zip)? != hash_of(packed.path())? {
            return Err(Refused::Different(zip.to_owned()));
        }
    }
    if !has_folder {
        folder.name(out).map_err(access(out))?;
    }
    if !has_zip {
        packed.persist_noclobber(zip).map_err(|lost| access(zip)(lost.error))?;
    }
    Ok(has_folder && has_zip)
}
