//! What documents are made from: its hashes, the source key, and the archive that keeps it.

use super::ready::Ready;
use crate::firm::{AddedFont, Firm};
use crate::register::{Archive, SourceEntry, hash_of};
use crate::visit::{Visit, has_given_firm, of_given_firm};
use crate::wording::Wording;
use std::io::Error;
use std::sync::{Mutex, PoisonError};

/// Hashes of what many visits share and is large: fonts, each once a run.
#[derive(Debug, Default)]
pub struct Prints {
    fonts: Mutex<Vec<(AddedFont, String)>>,
}

impl Prints {
    /// SHA-256 of the file of a font.
    fn of(&self, font: &AddedFont) -> String {
        let mut known = self.fonts.lock().unwrap_or_else(PoisonError::into_inner);
        // The bytes are shared by all who read the file in this run, and held by the list: the same place, the same bytes.
        if let Some((_, hash)) = known.iter().find(|(other, _)| std::ptr::eq(other.bytes(), font.bytes())) {
            return hash.clone();
        }
        let hash = hash_of(font.bytes());
        known.push((font.clone(), hash.clone()));
        hash
    }
}

/// Every file of a visit's documents in the order in which it is listed: visit, client, kit, limits, firm, logo, fonts.
pub(super) fn sources(visit: &Visit, firm: &Firm, prints: &Prints) -> Vec<SourceEntry> {
    let texts = visit.sources.iter().map(|it| SourceEntry { name: it.name.clone(), sha256: it.sha256.clone() });
    let logo = firm.logo.iter().map(|it| SourceEntry { name: of_firm(visit, &it.name), sha256: hash_of(&it.bytes) });
    let fonts = firm.fonts.iter().map(|it| SourceEntry { name: of_firm(visit, &it.name), sha256: prints.of(it) });
    texts.chain(logo).chain(fonts).collect()
}

/// The name of a file that the firm file names: one given on the command line has its own folder.
fn of_firm(visit: &Visit, name: &str) -> String {
    if has_given_firm(&visit.sources) { of_given_firm(name) } else { name.to_owned() }
}

/// The wording catalogues of a language.
pub(super) fn wording(words: &Wording) -> Vec<SourceEntry> {
    let texts = words.texts().into_iter();
    texts.map(|(name, text)| SourceEntry { name, sha256: hash_of(text.as_bytes()) }).collect()
}

/// The source key of a document: SHA-256 of the hashes of its sources and wording, one a line, then of the lines `tag`, `kind`
/// and `predecessor`, each with its text. The names of files do not count.
pub fn source_key(
    sources: &[SourceEntry],
    wording: &[SourceEntry],
    tag: Option<&str>,
    kind: &str,
    predecessor: Option<&str>,
) -> String {
    let hashes = sources.iter().chain(wording).map(|entry| entry.sha256.as_str());
    let text = |text: Option<&str>| text.map_or_else(String::new, |text| format!(" {}", text.escape_default()));
    let rest = [format!("tag{}", text(tag)), format!("kind {kind}"), format!("predecessor{}", text(predecessor))];
    let lines: String = hashes.chain(rest.iter().map(String::as_str)).map(|line| format!("{line}\n")).collect();
    hash_of(lines.as_bytes())
}

/// Keeps everything that a visit's documents are made from. Gives the hash of the list of points of earlier visits.
pub(super) fn keep(archive: &Archive, ready: &Ready, prints: &Prints) -> Result<Option<String>, Error> {
    let Ready { visit, firm, points, words, .. } = ready;
    for source in &visit.sources {
        archive.keep_as(&source.sha256, &source.bytes)?;
    }
    if let Some(logo) = &firm.logo {
        archive.keep(&logo.bytes)?;
    }
    for font in &firm.fonts {
        archive.keep_as(&prints.of(font), font.bytes())?;
    }
    for (_, text) in words.texts() {
        archive.keep(text.as_bytes())?;
    }
    if points.is_empty() {
        return Ok(None);
    }
    let points = points.iter().map(|point| archive.keep(json(point).as_bytes()));
    let hashes = points.collect::<Result<Vec<String>, Error>>()?;
    archive.keep(json(&hashes).as_bytes()).map(Some)
}

fn json(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).expect("points and hashes have text keys and finite numbers only")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(name: &str, text: &str) -> SourceEntry {
        SourceEntry { name: name.into(), sha256: hash_of(text.as_bytes()) }
    }

    #[test]
    fn every_part_of_a_source_key_counts_but_the_names_of_files() {
        let (files, words) = ([entry("v.yaml", "a"), entry("kit.yaml", "b")], [entry("en", "c")]);
        let key = |tag, kind, predecessor| source_key(&files, &words, tag, kind, predecessor);
        let first = key(Some("AIT-1"), "original", None);
        let renamed = [entry("w.yaml", "a"), entry("kit.yaml", "b")];
        assert_eq!(source_key(&renamed, &words, Some("AIT-1"), "original", None), first);
        let changed = [entry("v.yaml", "a"), entry("kit.yaml", "B")];
        let others = [
            source_key(&changed, &words, Some("AIT-1"), "original", None),
            source_key(&files, &[entry("en", "C")], Some("AIT-1"), "original", None),
            key(Some("AIT-2"), "original", None),
            key(None, "original", None),
            key(Some("AIT-1"), "amendment", Some("V-1")),
        ];
        assert!(others.iter().all(|other| *other != first));
    }

    #[test]
    fn a_source_key_can_be_recomputed_by_hand() {
        // printf '%s\n' … | sha256sum, with the hashes of "a" and "c" and the tag AIT-1.
        let lines = "ca978112ca1bbdcafac231b39a23dc4da786eff8147c4e72b9807785afee48bb\n\
            2e7d2c03a9507ae265ecf5b5356885a53393a2029d241394997265a1a25aefc6\n\
            tag AIT-1\nkind original\npredecessor\n";
        let key = source_key(&[entry("v.yaml", "a")], &[entry("en", "c")], Some("AIT-1"), "original", None);
        assert_eq!(key, hash_of(lines.as_bytes()));
    }
}
