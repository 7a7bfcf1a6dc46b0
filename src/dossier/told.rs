//! What the index tells of a document: its line of the register, and of its record what an auditor looks for first.
//!
//! Comes in: an `opened` line and the record as it was archived, of any program version. Goes out: a [`Told`], small enough to be
//! kept for every document of a dossier.

use crate::limits::Criterion;
use crate::record::{CertificateFacts, CriterionRecord, LimitRecord, OutcomeWord, Quantity, Stage};
use crate::register::{FoundError, Opened, Status};
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// A document of the dossier.
#[derive(Debug)]
pub struct Told {
    /// Its line, without the lists of what it was made from.
    pub opened: Opened,
    /// How it stands.
    pub status: Status,
    /// Whether its PDF and its HTML page are in the dossier.
    pub files: [bool; 2],
    /// Its record; an empty one where that cannot be had, or of a summary.
    pub record: RecordTold,
    /// Roles whose signature is awaited, of a draft.
    pub awaited: Vec<&'static str>,
    /// Path in the dossier of the limits it was judged by.
    pub limits_file: Option<String>,
}

/// What the index needs of a record.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct RecordTold {
    pub quantity: Option<Quantity>,
    pub visit: VisitTold,
    pub client: ClientTold,
    #[serde(rename = "loop")]
    pub measuring_loop: LoopTold,
    pub limits: LimitsTold,
    pub certificate: CertificateFacts,
    pub as_found: StateTold,
    pub as_left: Option<StateTold>,
    pub remedies: Vec<RemedyTold>,
    pub criteria: Vec<CriterionTold>,
    pub deviations: Vec<DeviationTold>,
    /// Whether a criterion as found, as left, warned: see [`RecordTold::warns`].
    #[serde(skip)]
    pub warned: [bool; 2],
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct VisitTold {
    pub signatures: Vec<SignatureTold>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct SignatureTold {
    pub role: String,
    pub name: String,
    pub signed: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct ClientTold {
    pub language: Option<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct LoopTold {
    pub site: Option<Named>,
    pub location: Option<String>,
    pub analyser: Option<ProbeTold>,
    pub probe: ProbeTold,
    pub last_good: Option<String>,
    pub adjusted: bool,
    pub outcome: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Named {
    pub name: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct ProbeTold {
    pub serial: Option<String>,
    pub installed: Option<String>,
}

/// The limits that a document was judged by.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(default)]
pub struct LimitsTold {
    pub name: String,
    pub revision: Option<String>,
    pub effective: Option<String>,
    pub approved_by: Option<String>,
    pub built_in: bool,
    pub decision: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct StateTold {
    pub not_obtained: Option<String>,
    pub slope_percent: Option<f64>,
    pub offset_mv: Option<f64>,
    pub gain_percent: Option<f64>,
    pub uncertainty: Option<UncertaintyTold>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct UncertaintyTold {
    pub slope_percent: Option<Expanded>,
    pub offset_mv: Option<Expanded>,
}

#[derive(Debug, Clone, Copy, Default, Deserialize)]
#[serde(default)]
pub struct Expanded {
    pub expanded: f64,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct RemedyTold {
    pub remedy: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct CriterionTold {
    pub name: String,
    pub stage: Stage,
    pub of: Option<String>,
    pub value: Option<f64>,
    pub unit: String,
    pub decimals: usize,
    pub limit: LimitRecord,
    pub expanded_uncertainty: Option<f64>,
    pub outcome: OutcomeWord,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct DeviationTold {
    pub code: String,
    pub what: String,
    pub reason: Option<String>,
    pub facts: BTreeMap<String, Value>,
}

/// Codes of deviations that say that a standard or an instrument was used after its last day.
const EXPIRED: [&str; 3] = ["lot-expired", "opened-after-expiry", "instrument-past-due"];

/// Units that criteria have.
const UNITS: [&str; 7] = ["", "%", "mV", "°C", "% of span", "s", "months"];

impl RecordTold {
    /// Reads a record; of a summary what it says of itself, where it does (programs before 0.2.0 wrote a plain list of the
    /// records of its loops), and of the visit.
    ///
    /// # Errors
    /// What the reader says.
    pub fn read(bytes: &[u8], is_summary: bool) -> Result<RecordTold, String> {
        let told = |error: serde_json::Error| format!("its record cannot be read: {error}");
        match is_summary {
            false => serde_json::from_slice(bytes).map_err(told),
            true => {
                let whole: Value = serde_json::from_slice(bytes).map_err(told)?;
                let certificate = whole.get("certificate").map(CertificateFacts::deserialize).transpose();
                let first = whole.get("loops").unwrap_or(&whole).get(0).unwrap_or(&Value::Null);
                let of_first = RecordTold::deserialize(first).map_err(told)?;
                Ok(RecordTold {
                    certificate: certificate.map_err(told)?.unwrap_or_default(),
                    visit: of_first.visit,
                    client: of_first.client,
                    ..RecordTold::default()
                })
            }
        }
    }

    /// Leaves only what the index shows, so that thousands of records can be kept.
    pub fn shorten(&mut self) {
        self.criteria.retain(|criterion| criterion.outcome >= OutcomeWord::ConditionalFail);
        self.deviations.retain(|deviation| EXPIRED.contains(&deviation.code.as_str()));
        self.visit.signatures.retain(|signature| signature.signed.is_none());
        self.certificate =
            CertificateFacts { before: std::mem::take(&mut self.certificate.before), ..Default::default() };
        self.criteria.shrink_to_fit();
        self.deviations.shrink_to_fit();
        self.visit.signatures.shrink_to_fit();
    }

    /// Whether a criterion as found, as left, warned.
    pub fn warns(&self) -> [bool; 2] {
        [Stage::AsFound, Stage::AsLeft].map(|stage| {
            self.criteria.iter().any(|criterion| criterion.stage == stage && criterion.outcome == OutcomeWord::Warn)
        })
    }

    /// The error found that came closest to its limit or went farthest beyond; where none is limited, the largest: for lines
    /// of programs that did not enter it.
    pub fn found_error(&self) -> Option<FoundError> {
        let limit = |criterion: &CriterionTold| criterion.limit.fail_high.or(criterion.limit.warn_high);
        let rank = |criterion: &CriterionTold| {
            let limit = limit(criterion);
            (limit.is_some(), criterion.value.unwrap_or_default().abs() / limit.unwrap_or(1.0))
        };
        let errors = self.criteria.iter().filter(|it| it.name == "as_found_error" && it.value.is_some());
        let worst = errors.max_by(|a, b| {
            let ((a_limited, a), (b_limited, b)) = (rank(a), rank(b));
            a_limited.cmp(&b_limited).then(a.total_cmp(&b))
        })?;
        Some(FoundError {
            of: worst.of.clone().unwrap_or_default(),
            value: worst.value?,
            unit: worst.unit.clone(),
            limit: limit(worst),
            expanded_uncertainty: worst.expanded_uncertainty,
        })
    }
}

impl CriterionTold {
    /// As the documents print it; none for one that this program does not know.
    pub fn known(&self) -> Option<CriterionRecord> {
        let (name, _) = Criterion::WORDS.iter().find(|(name, _)| *name == self.name)?;
        let unit = UNITS.iter().find(|unit| **unit == self.unit)?;
        Some(CriterionRecord {
            name,
            stage: self.stage,
            of: self.of.clone(),
            value: self.value,
            unit,
            decimals: self.decimals,
            limit: self.limit.clone(),
            expanded_uncertainty: self.expanded_uncertainty,
            probability_of_conformity: None,
            guard_bands_meet: false,
            outcome: self.outcome,
            reason: None,
        })
    }
}

impl Told {
    /// Whether the loop was found outside its limits.
    pub fn failed_as_found(&self) -> bool {
        matches!(self.opened.as_found.as_deref(), Some("fail" | "conditional fail"))
    }

    /// Folder of its files; none where it has none.
    pub fn folder(&self) -> Option<&'static str> {
        folder(&self.status)
    }
}

/// Folder of the files of a document that stands so.
pub fn folder(status: &Status) -> Option<&'static str> {
    match status {
        Status::InForce => Some("certificates"),
        Status::Replaced { .. } => Some("replaced"),
        Status::Draft { .. } => Some("drafts"),
        Status::Pending | Status::Void => None,
    }
}
