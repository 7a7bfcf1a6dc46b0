//! The files that documents were made from, each once, and what two kinds of them tell: the roster of a client, and the
//! signatures that a firm asks for.
//!
//! Comes in: names and hashes of `opened` lines. Goes out: files below `sources/`.

use super::Fault;
use super::folder::Folder;
use crate::client::{self, Client};
use crate::firm::{self, Firm, Role};
use crate::issue::stem;
use crate::limits;
use crate::register::{Archive, Opened, SourceEntry, Trouble};
use crate::source::{self, Kept};
use crate::yaml;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

/// What a file is.
#[derive(Debug)]
pub enum Kind {
    /// A client file with its roster.
    Client(Vec<RosterLoop>),
    /// A firm file: roles whose signature is due.
    Firm(Vec<&'static str>),
    /// Limits, with their name and revision.
    Limits(String, Option<String>),
    /// Anything else.
    Other,
}

/// A loop of a roster.
#[derive(Debug, Clone)]
pub struct RosterLoop {
    /// Its tag.
    pub tag: String,
    /// Name of its site.
    pub site: Option<String>,
    /// Where it is.
    pub location: Option<String>,
}

/// The sources of a dossier.
#[derive(Debug, Default)]
pub struct Sources {
    seen: Mutex<BTreeSet<(String, String)>>,
    kinds: Mutex<BTreeMap<String, Kind>>,
    faults: Mutex<BTreeSet<Fault>>,
}

impl Sources {
    /// Puts the sources of a document into the folder, but for those that are there.
    ///
    /// # Errors
    /// [`Trouble::Access`] where the folder cannot be written. What the archive lacks is a fault.
    pub fn put(&self, opened: &Opened, archive: &Archive, folder: &Folder) -> Result<(), Trouble> {
        for (at, entry) in opened.sources.iter().enumerate() {
            let key = (entry.name.clone(), entry.sha256.clone());
            if !self.seen.lock().unwrap_or_else(PoisonError::into_inner).insert(key) {
                continue;
            }
            match archive.bytes(&entry.sha256) {
                Ok(bytes) => {
                    let name = name(entry, at == 0);
                    folder.put(&name, &bytes).map_err(|error| Trouble::Access(folder.path().join(&name), error))?;
                    if at > 0 {
                        let kind = kind(entry, bytes);
                        self.kinds.lock().unwrap_or_else(PoisonError::into_inner).insert(entry.sha256.clone(), kind);
                    }
                }
                Err(error) => {
                    let fault =
                        Fault::Source { name: entry.name.clone(), hash: entry.sha256.clone(), why: error.to_string() };
                    self.faults.lock().unwrap_or_else(PoisonError::into_inner).insert(fault);
                }
            }
        }
        Ok(())
    }

    /// The first answer that `ask` has to one of these files, which were put before.
    pub fn find<T>(&self, files: &[SourceEntry], ask: impl Fn(&SourceEntry, &Kind) -> Option<T>) -> Option<T> {
        let kinds = self.kinds.lock().unwrap_or_else(PoisonError::into_inner);
        files.iter().find_map(|entry| ask(entry, kinds.get(&entry.sha256)?))
    }

    /// What could not be had.
    pub fn faults(&self) -> BTreeSet<Fault> {
        self.faults.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// Where a source stands: with its own name and a part of its hash, for the same name may stand for other bytes next year.
pub fn name(entry: &SourceEntry, is_visit: bool) -> String {
    let folder = if is_visit { "sources/visits" } else { "sources/shared" };
    let last = entry.name.rsplit('/').next().unwrap_or_default();
    // After the files of the command line stands how they were given: `firm.yaml (--firm)`.
    let last = last.split(" (").next().unwrap_or_default();
    let (base, ending) = last.rsplit_once('.').unwrap_or((last, "txt"));
    let ending: String = ending.chars().filter(char::is_ascii_alphanumeric).take(8).collect();
    let hash = entry.sha256.get(..16).unwrap_or(&entry.sha256);
    format!("{folder}/{}-{hash}.{ending}", stem(base))
}

fn kind(entry: &SourceEntry, bytes: Vec<u8>) -> Kind {
    if !entry.name.contains(".yaml") && !entry.name.contains(".yml") {
        return Kind::Other;
    }
    let Ok(tree) = yaml::read(&entry.name, &bytes) else {
        return Kind::Other;
    };
    let keys = tree.top_keys();
    if client::is_kind(&keys) {
        return Kind::Client(client::check(&tree.root()).map(roster).unwrap_or_default());
    }
    if firm::is_kind(&keys) {
        let none = source::Folder::kept(Kept { only_texts: true, ..Kept::default() });
        let firm = firm::check(&tree.root(), &none, &entry.name);
        return Kind::Firm(firm.as_ref().map(due).unwrap_or_default());
    }
    match limits::is_kind(&keys).then(|| limits::check(&tree.root())).flatten() {
        Some(limits) => Kind::Limits(limits.name, limits.revision),
        None => Kind::Other,
    }
}

fn roster(client: Client) -> Vec<RosterLoop> {
    let of_loop = |entry: &client::RosterLoop| RosterLoop {
        tag: entry.tag.text.clone(),
        site: entry.site.as_ref().and_then(|key| client.site(&key.text)).map(|site| site.name.clone()),
        location: entry.identity.location.as_ref().map(|location| location.text.clone()),
    };
    client.loops.iter().map(of_loop).collect()
}

/// Roles whose signature a firm asks for.
pub fn due(firm: &Firm) -> Vec<&'static str> {
    firm.signatures.iter().map(|role| word(*role)).collect()
}

fn word(role: Role) -> &'static str {
    match role {
        Role::Performed => "performed",
        Role::Reviewed => "reviewed",
        Role::Authorised => "authorised",
        Role::Received => "received",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_keeps_its_name_and_no_path_leaves_the_folder() {
        let named = |name: &str, is_visit| {
            super::name(&SourceEntry { name: name.into(), sha256: "0123456789abcdef0123".into() }, is_visit)
        };
        assert_eq!(named("2026-02.yaml", true), "sources/visits/2026-02-0123456789abcdef.yaml");
        assert_eq!(named("../limits/own.yaml (--limits)", false), "sources/shared/own-0123456789abcdef.yaml");
        assert_eq!(named("logo.svg", false), "sources/shared/logo-0123456789abcdef.svg");
        for hostile in ["..", "a/..", "x\\..\\y.yaml", "con.yaml", "a:b.y/../l", ""] {
            let name = named(hostile, false);
            let last = name.strip_prefix("sources/shared/").unwrap();
            assert!(!last.contains(['/', '\\', ':']) && !last.starts_with('.'), "{hostile} → {name}");
        }
    }
}
