//! Identities in the record: visit, client, loop, standards, instruments, limits, sources, certificate.
//!
//! Texts and dates as typed; nothing is computed here.

use super::{LimitRecord, OutcomeWord, Stage, Verdict};
use serde::{Deserialize, Serialize};

/// The visit.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct VisitFacts {
    pub number: String,
    pub started: String,
    pub finished: Option<String>,
    pub site: Option<SiteFacts>,
    pub order: Option<String>,
    pub technicians: Vec<PersonFacts>,
    pub procedure: Option<ProcedureFacts>,
    pub ambient_c: Option<f64>,
    pub ambient_typed: Option<String>,
    pub conditions: Option<String>,
    pub signatures: Vec<SignatureFacts>,
    pub extensions: Vec<(String, String)>,
}

/// Name and address of a site.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SiteFacts {
    pub name: String,
    pub address: Vec<String>,
    pub time_zone: Option<String>,
}

/// A person.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct PersonFacts {
    pub name: String,
    pub qualification: Option<String>,
}

/// The procedure.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ProcedureFacts {
    pub name: String,
    pub revision: Option<String>,
}

/// A signature with its meaning.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SignatureFacts {
    /// `performed`, `reviewed`, `authorised`, `received`.
    pub role: String,
    pub name: String,
    pub signed: Option<String>,
}

/// The client.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ClientFacts {
    pub name: String,
    pub address: Vec<String>,
    pub contact: Option<String>,
    /// Tag of the language that the client reads; none where the firm's holds.
    pub language: Option<String>,
}

/// Identity of the loop and what is not computed.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct LoopFacts {
    /// The visit's site, else that of the loop's roster entry.
    pub site: Option<SiteFacts>,
    pub location: Option<String>,
    /// Low and high end of the output range as typed.
    pub range: Option<[String; 2]>,
    /// `4-20 mA` or `20-4 mA`.
    pub output: Option<String>,
    pub analyser: Option<DeviceFacts>,
    /// Probe found in the loop.
    pub probe: ProbeFacts,
    /// Probe left in the loop, where it was replaced.
    pub probe_left: Option<ProbeFacts>,
    pub by: Option<String>,
    pub hold_from: Option<String>,
    pub hold_to: Option<String>,
    pub process: ProcessFacts,
    pub last_good: Option<String>,
    pub adjusted: bool,
    pub standardised: Option<StandardisedFacts>,
    /// `returned to service`, `left out of service`, `condemned`.
    pub outcome: String,
    pub next_due: Option<NextDueFacts>,
    pub photos: Vec<PhotoFacts>,
    pub remarks: Option<String>,
    pub extensions: Vec<(String, String)>,
}

/// Process values as typed.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ProcessFacts {
    pub usual: Option<[String; 2]>,
    pub before_cleaning: Option<String>,
    pub after_cleaning: Option<String>,
    pub back_in_service: Option<String>,
    pub conductivity: Option<String>,
    /// After cleaning minus before cleaning: what fouling did, pH or mV.
    pub fouling: Option<f64>,
}

/// Set to a sample.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct StandardisedFacts {
    pub shown: String,
    pub set_to: String,
}

/// Next due date and who agreed.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct NextDueFacts {
    pub date: String,
    pub agreed_by: String,
}

/// A photo.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct PhotoFacts {
    pub file: String,
    pub shows: Option<String>,
}

/// Make, model, serial.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct DeviceFacts {
    pub make: Option<String>,
    pub model: Option<String>,
    pub serial: Option<String>,
}

/// A probe.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ProbeFacts {
    pub make: Option<String>,
    pub model: Option<String>,
    pub serial: Option<String>,
    pub reference: Option<String>,
    pub temperature_element: Option<String>,
    pub installed: Option<String>,
    pub junction_renewed: Option<String>,
    pub condition: Option<String>,
}

/// One standard of the kit that this loop used.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct StandardFacts {
    pub name: String,
    /// `phthalate`, `technical 7.00`, `zobell`, the bottle's label …
    pub kind: String,
    /// `published equation`, `published equation shifted to the lot`, `bottle's table`, `bottle's value`, `theory`.
    pub value_from: String,
    /// Certified (or the bottle's single) value and its temperature as typed, where given.
    pub certified: Option<(String, String)>,
    pub maker: Option<String>,
    pub lot: Option<String>,
    pub expires: Option<String>,
    pub opened: Option<String>,
    pub certificate: Option<String>,
    pub expanded_uncertainty: Option<f64>,
    pub expanded_uncertainty_typed: Option<String>,
    pub coverage_factor: f64,
    pub coverage_factor_assumed: bool,
}

/// One instrument of the kit.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct InstrumentFacts {
    pub name: String,
    /// `temperature`, `potential`, `current`, `resistance`, `pH`.
    pub measures: String,
    pub make: Option<String>,
    pub model: Option<String>,
    pub serial: Option<String>,
    pub certificate: Option<String>,
    pub calibrated: Option<String>,
    pub due: Option<String>,
    pub expanded_uncertainty: Option<f64>,
    pub expanded_uncertainty_typed: Option<String>,
    pub coverage_factor: f64,
    pub coverage_factor_assumed: bool,
}

/// The limits applied.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct LimitFacts {
    pub name: String,
    pub revision: Option<String>,
    pub effective: Option<String>,
    pub approved_by: Option<String>,
    pub basis: Option<String>,
    pub built_in: bool,
    /// `plain`, `permit`, `gmp`, `laboratory`.
    pub requirements: String,
    /// `simple`, `guarded`, `guard 0.5`.
    pub decision: String,
    pub reproducibility: ReproducibilityFacts,
}

/// Reproducibility of taking a probe from standard to standard.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ReproducibilityFacts {
    pub u_mv: f64,
    pub dof: f64,
    /// Whether the limits declare none.
    pub assumed: bool,
}

/// A source file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[allow(missing_docs)]
pub struct SourceFacts {
    pub name: String,
    pub sha256: String,
}

/// Until when a document must be kept at least.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[allow(missing_docs)]
pub struct KeepFacts {
    /// Day: the day of the work and the longest time that applies.
    pub until: String,
    /// What asks for that time: `permit`, or the key `keep` of the `limits` or the `client`.
    pub rule: String,
    /// That time: `3 years`.
    pub span: String,
}

/// The document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(default)]
#[allow(missing_docs)]
pub struct CertificateFacts {
    /// Null in `check`, where no number is given.
    pub number: Option<String>,
    /// `original`, `amendment` or `re-evaluation`.
    pub kind: String,
    pub issued: Option<String>,
    /// Number of the document that it replaces.
    pub replaces: Option<String>,
    /// When that document was issued, as printed.
    pub replaces_issued: Option<String>,
    /// Number of the first original, where it replaces another.
    pub original: Option<String>,
    /// When the first original was issued, as printed, where it is known.
    pub original_issued: Option<String>,
    /// Why it replaces another.
    pub reason: Option<String>,
    /// Who asked for it.
    pub requested_by: Option<String>,
    /// Who authorised a re-evaluation: the signatures of the visit are about what it replaces.
    pub authorised: Option<AuthorisedFacts>,
    /// What the document that it replaces said, a loop each.
    pub before: Vec<BeforeFacts>,
    /// What an amendment changed in the files, field by field.
    pub changes: Vec<ChangeFacts>,
    /// SHA-256 of the document's line in the register; none: not registered. The line names the hash of the record, so the
    /// record cannot hold that of the line: it is printed only.
    #[serde(skip)]
    pub registered: Option<String>,
}

impl CertificateFacts {
    /// Whether the measurements of a visit were judged anew, by other limits.
    pub fn is_re_evaluation(&self) -> bool {
        self.kind == "re-evaluation"
    }
}

/// Who authorised a re-evaluation, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(default)]
#[allow(missing_docs)]
pub struct AuthorisedFacts {
    pub name: String,
    /// Moment, as printed.
    pub signed: String,
}

/// What the document that is replaced said of a loop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(default)]
#[allow(missing_docs)]
pub struct BeforeFacts {
    pub tag: String,
    /// Name and revision of the limits by which it was judged.
    pub limits: String,
    pub limits_revision: Option<String>,
    /// Its decision rule: `simple`, `guarded`, `guard 0.5`; none: not told.
    pub decision: Option<String>,
    pub as_found: Option<Verdict>,
    pub as_left: Option<Verdict>,
    pub found_slope_percent: Option<f64>,
    pub found_offset_mv: Option<f64>,
    pub left_slope_percent: Option<f64>,
    pub left_offset_mv: Option<f64>,
    /// The criteria that were judged otherwise: by another limit, or with another outcome.
    pub criteria: Vec<BeforeCriterion>,
}

/// How a criterion was judged before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(default)]
#[allow(missing_docs)]
pub struct BeforeCriterion {
    /// Key of the limits file: `slope`, `as_found_error` …
    pub name: String,
    pub stage: Stage,
    pub of: Option<String>,
    pub value: Option<f64>,
    pub limit: LimitRecord,
    pub outcome: OutcomeWord,
}

/// A field of a file that was changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(default)]
#[allow(missing_docs)]
pub struct ChangeFacts {
    /// Name of the file, as in the sources.
    pub file: String,
    /// Where in the file, as it is written there: `loops › AT-118 › as_found › 2 › mv`.
    pub field: String,
    /// As typed before; none: it was not there.
    pub old: Option<String>,
    /// As typed now; none: it is gone.
    pub new: Option<String>,
}
