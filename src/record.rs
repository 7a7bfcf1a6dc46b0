//! The computed record of one loop: codes and figures, the only source of every number and verdict shown anywhere.
//!
//! Comes in: a checked [`crate::visit::Visit`]. Goes out: one [`Record`] a loop, in full double precision, `None` where a
//! figure was not determined. Next: [`crate::document`], and `check --format json`.

mod compute;
mod course;
mod deviations;
mod evidence;
mod facts;
mod figures;
mod findings;
mod gather;
pub mod history;
mod judge;
mod keep;
mod kept;
mod known;
mod settling;
mod slips;
mod states;
mod trend;

pub use compute::compute;
pub use course::*;
pub use facts::*;
pub use figures::*;
pub use findings::*;
pub use history::{HistoryRecord, Point, PointFigures, RemedyGain};
pub use judge::unit;
pub use kept::{Kept, KeptError, KeptState};
pub use slips::{SlipFigures, SlipRecord, SlipSaid, suspicion};
pub use trend::*;

use crate::problem::Facts;
use serde::{Deserialize, Serialize};

/// The record of one loop. Field names are those of the published record.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Record {
    pub tag: String,
    /// `pH` or `redox`.
    pub quantity: Quantity,
    pub visit: VisitFacts,
    pub client: ClientFacts,
    #[serde(rename = "loop")]
    pub measuring_loop: LoopFacts,
    pub standards: Vec<StandardFacts>,
    pub instruments: Vec<InstrumentFacts>,
    pub limits: LimitFacts,
    /// Program name and version.
    pub program: String,
    pub sources: Vec<SourceFacts>,
    pub certificate: CertificateFacts,
    /// Until when the document must be kept at least; null where no rule says so.
    pub keep: Option<KeepFacts>,
    /// Of the state left in service; null when none was.
    pub verdict: Option<Verdict>,
    pub as_found: StateRecord,
    pub as_left: Option<StateRecord>,
    pub remedies: Vec<RemedyRecord>,
    pub condition: Option<Condition>,
    pub criteria: Vec<CriterionRecord>,
    /// What would explain an implausible set; data are never changed.
    pub slips: Vec<SlipRecord>,
    pub findings: Vec<FindingRecord>,
    pub deviations: Vec<Deviation>,
    /// Earlier visits of the loop, in the order of time; hung on by [`history::attach`].
    pub history: Vec<HistoryRecord>,
    /// What three or more visits say together.
    pub trend: Option<Trend>,
}

/// pH or redox.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Quantity {
    /// pH.
    #[serde(rename = "pH")]
    Ph,
    /// Redox potential.
    #[serde(rename = "redox")]
    Redox,
}

/// Verdict on a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Verdict {
    /// Every criterion inside.
    #[serde(rename = "pass")]
    Pass,
    /// Inside the limit but within the guard band.
    #[serde(rename = "conditional pass")]
    ConditionalPass,
    /// Outside the limit but within the guard band.
    #[serde(rename = "conditional fail")]
    ConditionalFail,
    /// Outside.
    #[serde(rename = "fail")]
    Fail,
}

/// Condition of the probe left in the loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Condition {
    /// Slope and offset judged and inside.
    #[serde(rename = "fit")]
    Fit,
    /// Works, but service is due.
    #[serde(rename = "needs service")]
    NeedsService,
    /// Beyond its limits or condemned.
    #[serde(rename = "unfit")]
    Unfit,
}

/// One criterion judged, or asked for and not judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct CriterionRecord {
    /// Key of the limits file: `slope`, `as_found_error` …
    pub name: &'static str,
    pub stage: Stage,
    /// What the value belongs to, where a criterion has several: `B7`, `control room` …
    pub of: Option<String>,
    pub value: Option<f64>,
    /// `%`, `mV`, ``, `°C`, `% of span`, `s`, `months`; empty for pH.
    pub unit: &'static str,
    /// Decimals the value deserves by what was typed.
    pub decimals: usize,
    pub limit: LimitRecord,
    pub expanded_uncertainty: Option<f64>,
    /// Probability that the quantity lies within its fail limits (where there is none, its warn limits), 0 to 1.
    pub probability_of_conformity: Option<f64>,
    /// Whether the guard bands leave no room between two fail limits: inside cannot be decided.
    pub guard_bands_meet: bool,
    pub outcome: OutcomeWord,
    /// Why it was not judged.
    pub reason: Option<String>,
}

/// The bounds applied; null where a side has none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(default)]
#[allow(missing_docs)]
pub struct LimitRecord {
    pub warn_low: Option<f64>,
    pub warn_high: Option<f64>,
    pub fail_low: Option<f64>,
    pub fail_high: Option<f64>,
    /// Decimals of the bounds as typed.
    pub decimals: usize,
}

/// As found or as left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
pub enum Stage {
    /// As found.
    #[default]
    #[serde(rename = "as found")]
    AsFound,
    /// As left.
    #[serde(rename = "as left")]
    AsLeft,
}

/// Outcome of one criterion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, Default)]
pub enum OutcomeWord {
    /// Asked for, could not be judged.
    #[default]
    #[serde(rename = "not judged")]
    NotJudged,
    /// Inside.
    #[serde(rename = "pass")]
    Pass,
    /// Inside the fail limit, outside the warn limit.
    #[serde(rename = "warn")]
    Warn,
    /// Inside, within the guard band.
    #[serde(rename = "conditional pass")]
    ConditionalPass,
    /// Outside, within the guard band.
    #[serde(rename = "conditional fail")]
    ConditionalFail,
    /// Outside.
    #[serde(rename = "fail")]
    Fail,
}

/// Something a reader must know that departs from the procedure or could not be done.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)]
pub struct Deviation {
    pub code: String,
    /// The sentence (for remarks of the check step: what was found).
    pub what: String,
    pub reason: Option<String>,
    /// What `what` says, as plain data: a document says it in its language.
    pub facts: Facts,
}
