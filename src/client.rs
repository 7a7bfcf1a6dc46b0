//! The client file: who the loops belong to, where they stand, and the roster of their identities.
//!
//! Comes in: the tree of a client file, or the mapping under `visit.client`. Goes out: a [`Client`] and every problem of
//! the file. Next: [`crate::visit`], which takes a loop's identity from the roster.

mod identity;
mod index;
mod likeness;
mod roster;

pub(crate) use identity::electrode_fix;
pub use identity::{identity, probe, process_value, same_serial, usual_process};
pub use likeness::look_alike;

use crate::problem::Problem;
use crate::quantity::{Date, Measured, MicrosiemensPerCm, Plain, Span};
use crate::yaml::{At, Text, nearest};
use index::Index;

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
    /// How long this client keeps documents at least.
    pub keep: Option<Span>,
    /// Sites by the short name the visit uses.
    pub sites: Vec<Site>,
    /// Roster of loops.
    pub loops: Vec<RosterLoop>,
    /// Private keys (`x-…`) of the file with their text.
    pub extensions: Vec<(String, String)>,
    index: Index,
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
    /// Time zone name as given; the offsets of the visit's times are checked against it where it is a known one.
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

impl RosterLoop {
    /// Serial of its probe.
    pub fn serial(&self) -> Option<&Text> {
        self.identity.probe.as_ref()?.device.serial.as_ref()
    }
}

impl LoopQuantity {
    /// The words of the files.
    pub const WORDS: &[(&str, LoopQuantity)] = &[("pH", LoopQuantity::Ph), ("redox", LoopQuantity::Redox)];

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
    pub const WORDS: &[(&str, OutputSignal)] =
        &[("4-20 mA", OutputSignal::FourToTwenty), ("20-4 mA", OutputSignal::TwentyToFour)];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            OutputSignal::FourToTwenty => "4-20 mA",
            OutputSignal::TwentyToFour => "20-4 mA",
        }
    }
}

/// Languages that a client or firm file may ask for, by name or by language tag; documents are made in the first one.
///
/// Source of the tags: ISO 639-1.
pub const LANGUAGES: &[(&str, &str)] = &[("English", "en"), ("German", "de"), ("French", "fr"), ("Spanish", "es")];

/// Whether a file with these top keys is a client file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    top_keys.contains(&"client") && !top_keys.contains(&"visit") && !top_keys.contains(&"firm")
}

impl Client {
    /// The roster's entry for a tag, spelt exactly; at the site of this short name where the tag stands at several.
    pub fn roster_loop(&self, tag: &str, site: Option<&str>) -> Option<&RosterLoop> {
        let of_tag = || self.index.of_tag(tag).iter().map(|&position| &self.loops[position]);
        let at_site = |entry: &&RosterLoop| entry.site.as_ref().map(|s| s.text.as_str()) == site;
        of_tag().find(at_site).or_else(|| of_tag().next())
    }

    /// The roster's entries with a tag that looks like this one.
    pub fn looks_like(&self, tag: &str) -> impl Iterator<Item = &RosterLoop> {
        self.index.of_likeness(&look_alike(tag)).iter().map(|&position| &self.loops[position])
    }

    /// The roster's entries whose probe has this serial.
    pub fn with_serial(&self, serial: &str) -> impl Iterator<Item = &RosterLoop> {
        self.index.of_serial(serial).iter().map(|&position| &self.loops[position])
    }

    /// The site of this short name.
    pub fn site(&self, key: &str) -> Option<&Site> {
        self.index.of_site(key).map(|position| &self.sites[position])
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
        .need("client", "a certificate names the client (ISO/IEC 17025:2017, 7.8.2.1 e)")
        .and_then(|at| check_inline(&at));
    let language = keys.get("language").and_then(|at| language(&at));
    let limits = keys.get("limits").and_then(|at| at.text());
    let keep = keys.get("keep").and_then(|at| at.span());
    let (sites, site_names) = keys.get("sites").map(|at| roster::sites(&at)).unwrap_or_default();
    let loops = keys.get("loops").map(|at| roster::loops(&at, &site_names)).unwrap_or_default();
    let extensions = keys.finish();
    let index = Index::new(&sites, &loops);
    Some(Client { language, limits, keep, sites, loops, extensions, index, ..who? })
}

/// Reads the mapping `{name, address, contact}` of a client, in a client file or in a visit.
///
/// # Errors
/// Booked in the tree. `None` without a name.
pub fn check_inline(at: &At<'_>) -> Option<Client> {
    let mut keys = at.keys("the client (name, address, contact)")?;
    let name =
        keys.need("name", "a certificate names the client (ISO/IEC 17025:2017, 7.8.2.1 e)").and_then(|at| at.text());
    let lines = keys.get("address").map(|at| address(&at)).unwrap_or_default();
    let contact = keys.get("contact").and_then(|at| at.text());
    let extensions = keys.finish();
    Some(Client {
        name: name?,
        address: lines,
        contact,
        language: None,
        limits: None,
        keep: None,
        sites: Vec::new(),
        loops: Vec::new(),
        extensions,
        index: Index::default(),
    })
}

/// An address: one text, lines divided by ` / ` or by the lines of a `|` block; each trimmed, empty ones left out.
pub fn address(at: &At<'_>) -> Vec<String> {
    let Some(text) = at.text() else {
        return Vec::new();
    };
    let lines = text.text.lines().flat_map(|line| line.split(" / "));
    lines.map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

/// The tag (BCP 47) of a language of [`LANGUAGES`].
pub fn language_tag(name: &str) -> Option<&'static str> {
    LANGUAGES.iter().find(|(known, _)| *known == name).map(|(_, tag)| *tag)
}

/// A language of [`LANGUAGES`], by its name or its tag. Books `language-not-available`.
pub fn language(at: &At<'_>) -> Option<Text> {
    let typed = at.name()?;
    if let Some((name, _)) = LANGUAGES.iter().find(|(name, tag)| [*name, *tag].contains(&typed.text.as_str())) {
        return Some(Text { text: (*name).to_owned(), place: typed.place });
    }
    let names: Vec<&str> = LANGUAGES.iter().map(|(name, _)| *name).collect();
    let fix = match nearest(&typed.text, names.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`? allowed: {}", names.join(", ")),
        None => format!("write one of: {}", names.join(", ")),
    };
    let what = format!("found `{}` where the language of the documents is due", typed.text);
    let why = "documents are made in the languages whose words the program has";
    at.tell(Problem::error("language-not-available", &typed.place, what, why, fix));
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Severity;

    /// Every problem as severity, code, line, column, fix.
    pub(super) type Told = (Severity, &'static str, u32, u32, String);

    pub(super) fn read(text: &str) -> (Option<Client>, Vec<Told>) {
        let tree = crate::yaml::read("clients/harrow.yaml", text.as_bytes()).expect("a tree");
        let client = check(&tree.root());
        let told = |p: Problem| (p.severity, p.code, p.place.line, p.place.column, p.fix);
        (client, tree.problems().into_iter().map(told).collect())
    }

    pub(super) fn valid(text: &str) -> Client {
        let (client, problems) = read(text);
        assert_eq!(problems, [], "{text}");
        client.expect("a client")
    }

    pub(super) fn error(code: &'static str, line: u32, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Error, code, line, column, fix.to_owned())]
    }

    pub(super) fn warning(code: &'static str, line: u32, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Warning, code, line, column, fix.to_owned())]
    }

    #[test]
    fn a_whole_client_is_read() {
        let client = valid(
            "client: {name: Ebbersand Water, address: 1 Weir Walk / Ebbersand, contact: quality@ebbersand.example.com}
language: English
limits: ../limits/ebbersand.yaml
x-account: 77
sites:
  works: {name: Ebbersand treatment works, address: 1 Weir Walk, time_zone: Europe/London}
loops:
  - {tag: AT-1, site: works, quantity: pH, range: [0, 14], output: 20-4 mA, limits: own.yaml, x-asset: A9, process: {usual: [6.9, 7.8], conductivity: 310 µS/cm}}
",
        );
        assert_eq!(client.name.text, "Ebbersand Water");
        assert_eq!(client.address, ["1 Weir Walk", "Ebbersand"]);
        assert_eq!(
            client.limits.as_ref().map(|l| (l.text.as_str(), l.place.file.as_str())),
            Some(("../limits/ebbersand.yaml", "clients/harrow.yaml"))
        );
        assert_eq!(client.extensions, [("x-account".to_owned(), "77".to_owned())]);
        assert_eq!(
            client.site("works").and_then(|s| s.time_zone.as_ref()).map(|z| z.text.as_str()),
            Some("Europe/London")
        );
        let entry = client.roster_loop("AT-1", None).expect("the loop");
        assert_eq!(entry.identity.output, Some(OutputSignal::TwentyToFour));
        assert_eq!(entry.identity.usual.as_ref().map(|[low, high]| (low.value, high.value)), Some((6.9, 7.8)));
        assert_eq!(entry.identity.conductivity.as_ref().map(|c| c.value), Some(310.0));
        assert_eq!(entry.extensions.len(), 1);
        assert!(client.roster_loop("at-1", None).is_none());
    }

    #[test]
    fn an_address_is_divided_by_slashes_or_lines() {
        let block = valid("client:\n  name: A\n  address: |\n    1 Weir Walk\n    Ebbersand / Ebber\n");
        assert_eq!(block.address, ["1 Weir Walk", "Ebbersand", "Ebber"]);
        assert_eq!(valid("client: {name: A, address: 3/4 Weir Walk}").address, ["3/4 Weir Walk"]);
    }

    #[test]
    fn a_client_has_a_name() {
        assert_eq!(read("client: {address: a}"), (None, error("missing-key", 1, 9, "add `name: …`")));
        assert_eq!(read("loops: []").1, error("missing-key", 1, 1, "add `client: …`"));
    }

    #[test]
    fn the_languages_are_known_by_name_and_tag() {
        for (typed, name) in [("German", "German"), ("de", "German"), ("French", "French"), ("es", "Spanish")] {
            let (client, told) = read(&format!("client: {{name: A}}\nlanguage: {typed}\n"));
            assert_eq!(told, []);
            assert_eq!(client.and_then(|c| c.language).map(|l| l.text).as_deref(), Some(name));
        }
    }

    #[test]
    fn how_long_documents_are_kept_is_a_length_of_time() {
        let keep = |text: &str| valid(&format!("client: {{name: A}}\nkeep: {text}\n")).keep.map(|keep| keep.text());
        assert_eq!(keep("10 years").as_deref(), Some("10 years"));
        let (_, told) = read("client: {name: A}\nkeep: long\n");
        assert_eq!(told.iter().map(|p| (p.1, p.2, p.3)).collect::<Vec<_>>(), [("not-a-number", 2, 7)]);
        let (_, told) = read("client: {name: A}\nkeep: 10\n");
        assert_eq!(told, error("span-not-whole", 2, 7, "write 10 years, or the unit that is meant"));
    }

    #[test]
    fn another_language_is_refused() {
        let (_, told) = read("client: {name: A}\nlanguage: Italian\n");
        let fix = "write one of: English, German, French, Spanish";
        assert_eq!(told, error("language-not-available", 2, 11, fix));
        let (_, told) = read("client: {name: A}\nlanguage: Englisch\n");
        let fix = "did you mean `English`? allowed: English, German, French, Spanish";
        assert_eq!(told, error("language-not-available", 2, 11, fix));
    }

    #[test]
    fn a_client_file_is_recognised() {
        assert!(is_kind(&["client", "loops"]));
        assert!(!is_kind(&["visit", "loops"]) && !is_kind(&["firm"]) && !is_kind(&["loops"]));
    }
}
