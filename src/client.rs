//! The client file: who the loops belong to, where they stand, and the roster of their identities.
//!
//! Comes in: the tree of a client file, or the mapping under `visit.client`. Goes out: a [`Client`] and every problem of
//! the file. Next: [`crate::visit`], which takes a loop's identity from the roster.

mod identity;
mod likeness;

pub(crate) use identity::electrode_fix;
pub use identity::{identity, probe, process_value, same_serial, usual_process};
pub use likeness::look_alike;

use crate::problem::Problem;
use crate::quantity::{Date, Measured, MicrosiemensPerCm, Plain};
use crate::yaml::{At, Keys, Text, nearest};
use likeness::tell_look_alikes;

/// A client and its loops.
#[derive(Debug, Clone, PartialEq)]
pub struct Client {
    /// Name of the client.
    pub name: Text,
    /// Address, one entry a line.
    pub address: Vec<String>,
    /// Person or address to write to.
    pub contact: Option<Text>,
    /// Language of the documents, one of [`LANGUAGES`].
    pub language: Option<Text>,
    /// Path of the limits that hold for this client, relative to the client file.
    pub limits: Option<Text>,
    /// Sites by the short name the visit uses.
    pub sites: Vec<Site>,
    /// Roster of loops.
    pub loops: Vec<RosterLoop>,
    /// Private keys (`x-…`) of the file with their text.
    pub extensions: Vec<(String, String)>,
}

/// A site of a client.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Short name (`works`), empty where the visit gives free text.
    pub key: String,
    /// Name as printed.
    pub name: String,
    /// Address, one entry a line.
    pub address: Vec<String>,
    /// Time zone name as given; kept and printed, not computed with.
    pub time_zone: Option<Text>,
}

/// What the roster knows of one loop.
#[derive(Debug, Clone, PartialEq)]
pub struct RosterLoop {
    /// Tag of the measuring point.
    pub tag: Text,
    /// Short name of its site.
    pub site: Option<Text>,
    /// The rest of the identity.
    pub identity: Identity,
    /// Path of the limits that hold for this loop, relative to the client file.
    pub limits: Option<Text>,
    /// Private keys (`x-…`) with their text.
    pub extensions: Vec<(String, String)>,
}

/// The identity of a loop; the same keys stand in the roster and in the visit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Identity {
    /// pH or redox.
    pub quantity: Option<LoopQuantity>,
    /// Where the measuring point is.
    pub location: Option<Text>,
    /// Range of the output, low and high end, in pH or mV.
    pub range: Option<[Measured<Plain>; 2]>,
    /// Output signal.
    pub output: Option<OutputSignal>,
    /// Analyser (transmitter).
    pub analyser: Option<Device>,
    /// Probe.
    pub probe: Option<Probe>,
    /// Usual process values, low and high, in pH or mV.
    pub usual: Option<[Measured<Plain>; 2]>,
    /// Usual conductivity of the process.
    pub conductivity: Option<Measured<MicrosiemensPerCm>>,
}

/// What the loop measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoopQuantity {
    /// pH by glass electrode.
    Ph,
    /// Redox potential (ORP) by metal electrode.
    Redox,
}

/// Output signal of an analyser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutputSignal {
    /// 4 mA at the low end of the range.
    FourToTwenty,
    /// 20 mA at the low end of the range.
    TwentyToFour,
}

/// Make, model and serial of a device.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Device {
    /// Maker.
    pub make: Option<Text>,
    /// Model.
    pub model: Option<Text>,
    /// Serial number as read from the plate.
    pub serial: Option<Text>,
}

/// A probe (electrode) with what is known of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Probe {
    /// Make, model, serial.
    pub device: Device,
    /// Reference electrode as typed; one that [`crate::reference`] does not know is a warning.
    pub reference: Option<Text>,
    /// Temperature element: `Pt100`, `Pt1000` or another as typed.
    pub temperature_element: Option<Text>,
    /// Day of installation.
    pub installed: Option<Date>,
    /// Day the junction was last renewed.
    pub junction_renewed: Option<Date>,
    /// Condition as received.
    pub condition: Option<Text>,
}

impl LoopQuantity {
    /// The words of the files.
    pub const WORDS: &[(&str, LoopQuantity)] =
        &[("pH", LoopQuantity::Ph), ("redox", LoopQuantity::Redox)];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            LoopQuantity::Ph => "pH",
            LoopQuantity::Redox => "redox",
        }
    }
}

impl OutputSignal {
    /// The words of the files.
    pub const WORDS: &[(&str, OutputSignal)] = &[
        ("4-20 mA", OutputSignal::FourToTwenty),
        ("20-4 mA", OutputSignal::TwentyToFour),
    ];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            OutputSignal::FourToTwenty => "4-20 mA",
            OutputSignal::TwentyToFour => "20-4 mA",
        }
    }
}

/// Languages that a client or firm file may ask for; documents are made in the first one.
pub const LANGUAGES: &[&str] = &["English", "German", "French", "Spanish"];

/// Whether a file with these top keys is a client file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    top_keys.contains(&"client") && !top_keys.contains(&"visit") && !top_keys.contains(&"firm")
}

impl Client {
    /// The roster's entry for a tag, spelt exactly; at the site of this short name where the tag stands at several.
    pub fn roster_loop(&self, tag: &str, site: Option<&str>) -> Option<&RosterLoop> {
        let of_tag = || self.loops.iter().filter(|entry| entry.tag.text == tag);
        let at_site = |entry: &&RosterLoop| entry.site.as_ref().map(|s| s.text.as_str()) == site;
        of_tag().find(at_site).or_else(|| of_tag().next())
    }

    /// The site of this short name.
    pub fn site(&self, key: &str) -> Option<&Site> {
        self.sites.iter().find(|site| site.key == key)
    }
}

/// Reads a client file; `at` is its root.
///
/// # Errors
/// Booked in the tree: `missing-key`, `unknown-site`, `duplicate-tag`, `look-alike-tag`, `serial-twice`,
/// `time-zone-name`, `language-not-available` and those of [`identity()`]. `None` when there is no client with a name.
pub fn check(at: &At<'_>) -> Option<Client> {
    let mut keys = at.keys("a client file with `client:`, `sites:` and `loops:`")?;
    let who = keys
        .need(
            "client",
            "a certificate names the client (ISO/IEC 17025:2017, 7.8.2.1 e)",
        )
        .and_then(|at| check_inline(&at));
    let language = keys.get("language").and_then(|at| language(&at));
    let limits = keys.get("limits").and_then(|at| at.text());
    let (sites, site_names) = keys.get("sites").map(|at| sites(&at)).unwrap_or_default();
    let loops = keys
        .get("loops")
        .map(|at| roster(&at, &site_names))
        .unwrap_or_default();
    let extensions = keys.finish();
    Some(Client {
        language,
        limits,
        sites,
        loops,
        extensions,
        ..who?
    })
}

/// Reads the mapping `{name, address, contact}` of a client, in a client file or in a visit.
///
/// # Errors
/// Booked in the tree. `None` without a name.
pub fn check_inline(at: &At<'_>) -> Option<Client> {
    let mut keys = at.keys("the client: name, address, contact")?;
    let name = keys
        .need(
            "name",
            "a certificate names the client (ISO/IEC 17025:2017, 7.8.2.1 e)",
        )
        .and_then(|at| at.text());
    let lines = keys
        .get("address")
        .map(|at| address(&at))
        .unwrap_or_default();
    let contact = keys.get("contact").and_then(|at| at.text());
    let extensions = keys.finish();
    Some(Client {
        name: name?,
        address: lines,
        contact,
        language: None,
        limits: None,
        sites: Vec::new(),
        loops: Vec::new(),
        extensions,
    })
}

/// An address: one text, lines divided by ` / ` or by the lines of a `|` block; each trimmed, empty ones left out.
pub fn address(at: &At<'_>) -> Vec<String> {
    let Some(text) = at.text() else {
        return Vec::new();
    };
    let lines = text.text.lines().flat_map(|line| line.split(" / "));
    lines
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .map(str::to_owned)
        .collect()
}

/// A language of [`LANGUAGES`]; one in which no documents are made yet is kept with a warning.
pub fn language(at: &At<'_>) -> Option<Text> {
    let words: Vec<(&str, usize)> = LANGUAGES.iter().copied().zip(0..).collect();
    let position = at.word("language of the documents", &words)?;
    let name = LANGUAGES[position];
    if position > 0 {
        at.tell(Problem::warning(
            "language-not-available",
            &at.place(),
            format!("found `{name}`"),
            "documents are made in English only so far",
            "leave the key out, or write English; the documents are in English",
        ));
    }
    Some(Text {
        text: name.to_owned(),
        place: at.place(),
    })
}

/// Sites by short name, and every short name that was declared, faulty entries included.
fn sites(at: &At<'_>) -> (Vec<Site>, Vec<Text>) {
    let Some(mut keys) = at.keys("sites by short name: `works: {name: …, address: …}`") else {
        return Default::default();
    };
    let entries = keys.entries();
    keys.finish();
    let names: Vec<Text> = entries.iter().map(|(name, _)| name.clone()).collect();
    let sites = entries
        .iter()
        .filter_map(|(name, at)| site(&name.text, at))
        .collect();
    (sites, names)
}

fn site(key: &str, at: &At<'_>) -> Option<Site> {
    let mut keys = at.keys("a site: name, address, time_zone")?;
    let name = keys
        .need(
            "name",
            "a certificate says where the work was done (ISO/IEC 17025:2017, 7.8.2.1 c)",
        )
        .and_then(|at| at.text());
    let lines = keys
        .get("address")
        .map(|at| address(&at))
        .unwrap_or_default();
    let time_zone = keys.get("time_zone").and_then(|at| time_zone(&at));
    keys.finish();
    Some(Site {
        key: key.to_owned(),
        name: name?.text,
        address: lines,
        time_zone,
    })
}

/// A name of the IANA time zone database by its form; it is printed, never computed with.
fn time_zone(at: &At<'_>) -> Option<Text> {
    let zone = at.text()?;
    let part = |part: &str| {
        let legal = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '+');
        part.starts_with(|c: char| c.is_ascii_alphabetic()) && part.chars().all(legal)
    };
    let whole = matches!(zone.text.as_str(), "UTC" | "GMT");
    if !whole && (!zone.text.contains('/') || !zone.text.split('/').all(part)) {
        at.tell(Problem::warning(
            "time-zone-name",
            &zone.place,
            format!("found `{}`", zone.text),
            "a time zone is named by area and city, as in the IANA time zone database; it is printed as typed",
            "write a name like Europe/London, or UTC; offsets stand in the times of the visit",
        ));
    }
    Some(zone)
}

fn roster(at: &At<'_>, sites: &[Text]) -> Vec<RosterLoop> {
    let entries = at
        .list("the roster: a list of loops, each with its tag")
        .unwrap_or_default();
    let loops: Vec<RosterLoop> = entries
        .iter()
        .filter_map(|entry| roster_loop(entry, sites))
        .collect();
    tell_same_tags(at, &loops);
    tell_look_alikes(at, loops.iter().map(|entry| &entry.tag));
    tell_same_probes(at, &loops);
    loops
}

fn roster_loop(at: &At<'_>, sites: &[Text]) -> Option<RosterLoop> {
    let mut keys = at.keys("a loop: tag, site, quantity, probe …")?;
    let tag = keys
        .need("tag", "the visit finds the loop by its tag")
        .and_then(|at| at.text());
    let site = keys.get("site").and_then(|at| declared_site(&at, sites));
    let mut identity = identity(&mut keys);
    if let Some(mut process) = process_keys(&mut keys) {
        usual_process(&mut process, &mut identity);
        process.finish();
    }
    let limits = keys.get("limits").and_then(|at| at.text());
    let extensions = keys.finish();
    Some(RosterLoop {
        tag: tag?,
        site,
        identity,
        limits,
        extensions,
    })
}

fn process_keys<'t>(keys: &mut Keys<'t>) -> Option<Keys<'t>> {
    keys.get("process")?
        .keys("process values of the loop: usual, conductivity")
}

fn declared_site(at: &At<'_>, sites: &[Text]) -> Option<Text> {
    let site = at.text()?;
    if sites.iter().any(|declared| declared.text == site.text) {
        return Some(site);
    }
    let names = || sites.iter().map(|declared| declared.text.as_str());
    let fix = match (sites.is_empty(), nearest(&site.text, names())) {
        (true, _) => format!("declare it: `sites: {{{}: {{name: …}}}}`", site.text),
        (false, Some(name)) => format!("write {name}"),
        (false, None) => format!(
            "write one of {}, or declare it under `sites:`",
            listed(names())
        ),
    };
    at.tell(Problem::error(
        "unknown-site",
        &site.place,
        format!("found `{}`", site.text),
        "`sites:` of this file does not declare it",
        fix,
    ));
    None
}

/// `a, b, c`.
fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.collect::<Vec<_>>().join(", ")
}

/// One tag twice at one site: the visit could not tell which loop is meant.
fn tell_same_tags(at: &At<'_>, loops: &[RosterLoop]) {
    let site = |entry: &RosterLoop| entry.site.as_ref().map(|site| site.text.clone());
    for (index, entry) in loops.iter().enumerate() {
        let clash = |other: &&RosterLoop| {
            let apart = matches!((site(other), site(entry)), (Some(a), Some(b)) if a != b);
            other.tag.text == entry.tag.text && !apart
        };
        let Some(first) = loops[..index].iter().find(clash) else {
            continue;
        };
        at.tell(Problem::error(
            "duplicate-tag",
            &entry.tag.place,
            format!(
                "found the tag `{}` again (first in line {})",
                entry.tag.text, first.tag.place.line
            ),
            "a visit finds a loop by its tag, which stands for one loop of a site",
            "correct one of the tags, remove one entry, or give each its own `site:`",
        ));
    }
}

/// One probe under two tags: it cannot be in both places.
fn tell_same_probes(at: &At<'_>, loops: &[RosterLoop]) {
    let serial = |entry: &RosterLoop| entry.identity.probe.as_ref()?.device.serial.clone();
    for (index, entry) in loops.iter().enumerate() {
        let Some(own) = serial(entry) else {
            continue;
        };
        let same = |other: &&RosterLoop| serial(other).is_some_and(|s| s.text == own.text);
        let Some(first) = loops[..index].iter().find(same) else {
            continue;
        };
        at.tell(Problem::warning(
            "serial-twice",
            &own.place,
            format!(
                "found the probe serial `{}`, which `{}` has as well",
                own.text, first.tag.text
            ),
            "one probe cannot be in two loops",
            "read both plates; if the probe was moved, remove it from the loop it left",
        ));
    }
}
