//! The firm file: who issues, how the document looks and is numbered.
//!
//! Comes in: the tree of `firm.yaml`, or nothing. Goes out: a [`Firm`] and every problem. Next: [`crate::visit`] (people,
//! limits, procedure) and [`crate::document`] (brand).

mod accent;
mod fonts;
mod logo;
mod numbering;
mod people;
mod words;

pub use fonts::AddedFont;
pub use people::procedure;

use crate::client::{address, language};
use crate::problem::Problem;
use crate::quantity::Day;
pub use crate::rounding::DecimalSign;
use crate::source::Folder;
use crate::yaml::{At, Text};

/// The issuing firm and its brand.
#[derive(Debug, Clone, PartialEq)]
pub struct Firm {
    /// Name; none without a firm file.
    pub name: Option<Text>,
    /// Address, one entry a line.
    pub address: Vec<String>,
    /// Contact line.
    pub contact: Option<Text>,
    /// Logo as read.
    pub logo: Option<Logo>,
    /// Fonts that the firm adds, in the order in which a character is looked for.
    pub fonts: Vec<AddedFont>,
    /// Accent colour, sRGB.
    pub accent: [u8; 3],
    /// Paper.
    pub paper: Paper,
    /// Decimal sign on documents; that of the language where none is given.
    pub decimal_sign: Option<DecimalSign>,
    /// Language of the documents, one of [`crate::client::LANGUAGES`].
    pub language: Option<Text>,
    /// Pattern of document numbers: `{visit}-{loop}`.
    pub numbering: String,
    /// Footer text.
    pub footer: Option<Text>,
    /// Accreditation text; printed only if given.
    pub accreditation: Option<Text>,
    /// Path of the firm's limits, relative to the firm file.
    pub limits: Option<Text>,
    /// Procedure used unless the visit names one.
    pub procedure: Option<Procedure>,
    /// People with their qualification.
    pub people: Vec<Person>,
    /// Signatures needed before a document stops being a draft.
    pub signatures: Vec<Role>,
    /// Whether text sources are attached to the document.
    pub attachments: bool,
    /// Suggested interval in days.
    pub interval_days: Option<u32>,
    /// Private keys (`x-…`) with their text.
    pub extensions: Vec<(String, String)>,
    /// What the file names and is not at hand, where only texts were kept.
    pub lacks: Lacks,
}

/// What a firm file names and is not at hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Lacks {
    /// The logo.
    pub logo: bool,
    /// Fonts.
    pub fonts: bool,
}

/// A logo.
#[derive(Debug, Clone, PartialEq)]
pub struct Logo {
    /// Name relative to the visit's folder.
    pub name: String,
    /// SVG or PNG.
    pub kind: LogoKind,
    /// The bytes as read.
    pub bytes: Vec<u8>,
}

/// Kind of a logo file, told by its content.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogoKind {
    /// Scalable vector graphics.
    Svg,
    /// Portable network graphics.
    Png,
}

/// Paper size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    Letter,
}

/// A written procedure.
#[derive(Debug, Clone, PartialEq)]
pub struct Procedure {
    /// Name or number.
    pub name: Text,
    /// Revision as typed.
    pub revision: Option<Text>,
}

/// A person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// Name.
    pub name: Text,
    /// Qualification.
    pub qualification: Option<Text>,
}

/// What a signature means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Did the work.
    Performed,
    /// Reviewed the record.
    Reviewed,
    /// Authorised the document.
    Authorised,
    /// Received it for the client.
    Received,
}

/// Accent colour without a firm file: a blue-green of contrast 7.4:1 against white.
///
/// Source: our own choice.
pub const ACCENT: [u8; 3] = [0x1f, 0x5a, 0x6b];

/// Pattern of document numbers unless the firm gives another.
pub const NUMBERING: &str = "{visit}-{loop}";

/// The plain brand that serves without a firm file: nobody named, A4, one signature of who performed the work.
pub fn plain() -> Firm {
    Firm {
        name: None,
        address: Vec::new(),
        contact: None,
        logo: None,
        fonts: Vec::new(),
        accent: ACCENT,
        paper: Paper::default(),
        decimal_sign: None,
        language: None,
        numbering: NUMBERING.to_owned(),
        footer: None,
        accreditation: None,
        limits: None,
        procedure: None,
        people: Vec::new(),
        signatures: vec![Role::Performed],
        attachments: true,
        interval_days: None,
        extensions: Vec::new(),
        lacks: Lacks::default(),
    }
}

/// Whether a file with these top keys is a firm file.
pub fn is_kind(top_keys: &[&str]) -> bool {
    const OWN: [&str; 13] = [
        "firm",
        "logo",
        "accent",
        "paper",
        "decimal_sign",
        "numbering",
        "footer",
        "accreditation",
        "procedure",
        "people",
        "fonts",
        "attachments",
        "interval",
    ];
    const OTHERS: [&str; 5] = ["visit", "loops", "client", "standards", "instruments"];
    OWN.iter().any(|key| top_keys.contains(key)) && !OTHERS.iter().any(|key| top_keys.contains(key))
}

/// Reads a firm file; `at` is its root, `file` its name relative to the folder, from which the logo is read.
///
/// # Errors
/// Booked in the tree: `missing-key`, `accent-colour`, `accent-unquoted`, `accent-contrast`, `numbering-placeholder`,
/// `numbering-brace`, `numbering-without-visit`, `signature-twice`, `no-signature`, `interval-out-of-range`,
/// `language-not-available`, those of the logo (`logo-kind`, `logo-damaged`, `logo-without-size`, `logo-active`,
/// `logo-external`), those of fonts (`fonts-too-many`, `font-kind`, `font-damaged`, `font-licence`, `font-face-unknown`) and
/// those of a path. `None` when the file is no mapping.
pub fn check(at: &At<'_>, folder: &Folder, file: &str) -> Option<Firm> {
    let mut keys = at.keys("a firm file with `firm:`, `logo:`, `accent:` …")?;
    let mut firm = plain();
    if let Some(at) = keys.get("firm") {
        identity(&at, &mut firm);
    }
    match keys.get("logo") {
        Some(_) if folder.has_only_texts() => firm.lacks.logo = true,
        named => firm.logo = named.and_then(|at| logo::read(&at, folder, file)),
    }
    firm.accent = keys.get("accent").and_then(|at| accent::read(&at)).unwrap_or(ACCENT);
    firm.paper = keys.get("paper").and_then(|at| at.word("the paper", Paper::WORDS)).unwrap_or_default();
    firm.decimal_sign = keys.get("decimal_sign").and_then(|at| at.word("the decimal sign", DecimalSign::WORDS));
    firm.language = keys.get("language").and_then(|at| language(&at));
    if let Some(pattern) = keys.get("numbering").and_then(|at| numbering::read(&at)) {
        firm.numbering = pattern;
    }
    firm.footer = keys.get("footer").and_then(|at| at.text());
    firm.accreditation = keys.get("accreditation").and_then(|at| at.text());
    firm.limits = keys.get("limits").and_then(|at| at.text());
    firm.procedure = keys.get("procedure").and_then(|at| procedure(&at));
    firm.people = keys.get("people").map(|at| people::people(&at)).unwrap_or_default();
    if let Some(roles) = keys.get("signatures").and_then(|at| people::signatures(&at)) {
        firm.signatures = roles;
    }
    match keys.get("fonts") {
        Some(at) if folder.has_only_texts() => {
            firm.lacks.fonts = at.list("fonts").is_some_and(|listed| !listed.is_empty());
        }
        named => firm.fonts = named.map(|at| fonts::read(&at, folder, file)).unwrap_or_default(),
    }
    firm.attachments = keys.get("attachments").and_then(|at| at.yes_no()).unwrap_or(true);
    firm.interval_days = keys.get("interval").and_then(|at| interval(&at));
    firm.extensions = keys.finish();
    Some(firm)
}

/// The mapping `firm`.
fn identity(at: &At<'_>, firm: &mut Firm) {
    let Some(mut keys) = at.keys("the firm (name, address, contact)") else {
        return;
    };
    firm.name = keys
        .need("name", "a certificate names who did the work (ISO/IEC 17025:2017, 7.8.2.1 b)")
        .and_then(|at| at.text());
    firm.address = keys.get("address").map(|at| address(&at)).unwrap_or_default();
    firm.contact = keys.get("contact").and_then(|at| at.text());
    keys.finish();
}

/// Longest interval that is suggested, in days: ten years.
///
/// Source: our own choice.
const LONGEST_INTERVAL: f64 = 3653.0;

/// An interval in whole days.
fn interval(at: &At<'_>) -> Option<u32> {
    let days = at.number::<Day>()?;
    if days.value.fract() == 0.0 && (1.0..=LONGEST_INTERVAL).contains(&days.value) {
        return Some(days.value as u32);
    }
    at.tell(Problem::error(
        "interval-out-of-range",
        &days.place,
        format!("found `{}`", days.text),
        format!("an interval is a whole number of days from 1 to {LONGEST_INTERVAL}"),
        "write it like 90 days or 13 weeks",
    ));
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Severity;
    use std::path::Path;

    /// Every problem as severity, code, line, column, fix.
    pub(super) type Told = (Severity, &'static str, u32, u32, String);

    pub(super) fn read_in(folder: &Path, text: &str) -> (Option<Firm>, Vec<Told>) {
        let tree = crate::yaml::read("firm.yaml", text.as_bytes()).expect("a tree");
        let firm = check(&tree.root(), &Folder::new(folder), "firm.yaml");
        let told = |p: Problem| (p.severity, p.code, p.place.line, p.place.column, p.fix);
        (firm, tree.problems().into_iter().map(told).collect())
    }

    pub(super) fn read(text: &str) -> (Option<Firm>, Vec<Told>) {
        read_in(Path::new("no-such-folder"), text)
    }

    pub(super) fn error(code: &'static str, line: u32, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Error, code, line, column, fix.to_owned())]
    }

    pub(super) fn warning(code: &'static str, line: u32, column: u32, fix: &str) -> Vec<Told> {
        vec![(Severity::Warning, code, line, column, fix.to_owned())]
    }

    #[test]
    fn a_whole_firm_is_read() {
        let text = "firm: {name: Hurdlemere Loop Service, address: 4 Wattle Yard / Hurdlemere, contact: service@hurdlemere.example.com}
accent: \"#34408B\"
paper: Letter
decimal_sign: comma
language: English
numbering: \"{year}/{visit}-{loop}\"
footer: Hurdlemere
limits: limits/hurdlemere.yaml
procedure: {name: HP-07, revision: \"1.10\"}
people:
  N. Tamberlow: {qualification: service technician}
  S. Pindlewood: {}
signatures: [performed, authorised]
attachments: no
interval: 13 weeks
x-branch: 2
";
        let (firm, told) = read(text);
        assert_eq!(told, []);
        let firm = firm.expect("a firm");
        assert_eq!(firm.name.map(|n| n.text).as_deref(), Some("Hurdlemere Loop Service"));
        assert_eq!(firm.address, ["4 Wattle Yard", "Hurdlemere"]);
        assert_eq!(
            (firm.accent, firm.paper, firm.decimal_sign),
            ([0x34, 0x40, 0x8b], Paper::Letter, Some(DecimalSign::Comma))
        );
        assert_eq!(firm.numbering, "{year}/{visit}-{loop}");
        assert_eq!(firm.procedure.and_then(|p| p.revision).map(|r| r.text).as_deref(), Some("1.10"));
        let people: Vec<_> = firm.people.iter().map(|p| (p.name.text.as_str(), p.qualification.is_some())).collect();
        assert_eq!(people, [("N. Tamberlow", true), ("S. Pindlewood", false)]);
        assert_eq!(firm.signatures, [Role::Performed, Role::Authorised]);
        assert_eq!((firm.attachments, firm.interval_days, firm.extensions.len()), (false, Some(91), 1));
    }

    #[test]
    fn without_keys_it_is_the_plain_brand() {
        let (firm, told) = read("paper: A4\n");
        assert_eq!((firm, told), (Some(plain()), vec![]));
    }

    #[test]
    fn a_named_firm_has_a_name() {
        assert_eq!(read("firm: {address: a}").1, error("missing-key", 1, 7, "add `name: …`"));
    }

    #[test]
    fn words_are_suggested() {
        let told = read("paper: a4\ndecimal_sign: coma\n").1;
        let found: Vec<_> = told.iter().map(|p| (p.1, p.2, p.3, p.4.as_str())).collect();
        let expected = [
            ("unknown-word", 1, 8, "did you mean `A4`? allowed: A4, Letter"),
            ("unknown-word", 2, 15, "did you mean `comma`? allowed: point, comma"),
        ];
        assert_eq!(found, expected);
    }

    #[test]
    fn an_interval_is_whole_days() {
        for interval in ["0", "1.5", "-90 days", "20000"] {
            let told = read(&format!("interval: {interval}")).1;
            assert_eq!(told, error("interval-out-of-range", 1, 11, "write it like 90 days or 13 weeks"), "{interval}");
        }
    }

    #[test]
    fn a_missing_logo_is_told_at_its_path() {
        let (firm, told) = read("logo: logo.svg\n");
        assert_eq!(told.iter().map(|p| (p.1, p.2, p.3)).collect::<Vec<_>>(), [("file-unreadable", 1, 7)]);
        assert_eq!(firm.and_then(|f| f.logo), None);
        let told = read("logo: ../../secret.svg\n").1;
        assert_eq!((told[0].1, told[0].3), ("path-outside", 7));
    }

    #[test]
    fn a_firm_file_is_recognised() {
        assert!(is_kind(&["firm"]) && is_kind(&["logo", "limits"]));
        assert!(!is_kind(&["visit", "firm"]) && !is_kind(&["client"]) && !is_kind(&["limits"]));
    }
}
