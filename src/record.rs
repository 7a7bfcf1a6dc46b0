//! The computed record of one loop: codes and figures, the only source of every number and verdict shown anywhere.
//!
//! Comes in: a checked [`crate::visit::Visit`]. Goes out: one [`Record`] a loop, in full double precision, `None` where a
//! figure was not determined. Next: [`crate::document`], and `check --format json`.

use serde::Serialize;

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
    /// Of the state left in service; null when none was.
    pub verdict: Option<Verdict>,
    pub as_found: StateRecord,
    pub as_left: Option<StateRecord>,
    pub remedies: Vec<RemedyRecord>,
    pub condition: Option<Condition>,
    pub criteria: Vec<CriterionRecord>,
    pub deviations: Vec<Deviation>,
}

/// pH or redox.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Quantity {
    /// pH.
    #[serde(rename = "pH")]
    Ph,
    /// Redox potential.
    #[serde(rename = "redox")]
    Redox,
}

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
}

/// Identity of the loop and what is not computed.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct LoopFacts {
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
    /// Certified value and temperature as typed, where given.
    pub certified: Option<String>,
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
}

/// A source file.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SourceFacts {
    pub name: String,
    pub sha256: String,
}

/// The document.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct CertificateFacts {
    /// Null in `check`, where no number is given.
    pub number: Option<String>,
    /// `original`.
    pub kind: String,
    pub issued: Option<String>,
    pub replaces: Option<String>,
    pub original: Option<String>,
    pub reason: Option<String>,
    pub requested_by: Option<String>,
}

/// Verdict on a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
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

/// Readings and figures of one state.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct StateRecord {
    pub verdict: Option<Verdict>,
    /// Reason, where the state was not obtained.
    pub not_obtained: Option<String>,
    #[serde(flatten)]
    pub figures: Figures,
    pub checks: ChecksRecord,
    pub stored: Option<StoredRecord>,
    pub stated: Vec<StatedRecord>,
}

/// The figures of one set of readings. pH: all; redox: `readings`, `gain_percent`, `mean_temperature_c`.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct Figures {
    pub slope_percent: Option<f64>,
    pub slope_mv_per_ph_25c: Option<f64>,
    pub slope_mv_per_ph: Option<f64>,
    pub mean_temperature_c: Option<f64>,
    pub offset_mv: Option<f64>,
    pub zero_point_ph: Option<f64>,
    pub residual_sd_mv: Option<f64>,
    pub correlation: Option<f64>,
    pub gain_percent: Option<f64>,
    pub readings: Vec<ReadingRecord>,
    pub segments: Vec<SegmentRecord>,
}

/// One reading as typed and what follows from it.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ReadingRecord {
    /// Short name of the standard.
    #[serde(rename = "in")]
    pub standard: String,
    pub mv: Option<f64>,
    pub mv_typed: Option<String>,
    pub temperature_c: f64,
    pub temperature_typed: String,
    pub temperature_assumed: Option<String>,
    /// pH of the buffer at the temperature (pH loops).
    pub buffer_ph: Option<f64>,
    pub nernst_mv_per_ph: Option<f64>,
    pub fitted_mv: Option<f64>,
    pub residual_ph: Option<f64>,
    /// Shown value (pH; null in redox loops).
    pub shown_ph: Option<f64>,
    pub error_ph: Option<f64>,
    /// Shown value in mV (redox loops).
    pub shown_mv: Option<f64>,
    /// Shown value as typed.
    pub shown_typed: Option<String>,
    /// Digits after the decimal point of the shown value as typed.
    pub shown_decimals: Option<usize>,
    /// Potential of the redox solution against the probe's reference at the temperature (redox loops).
    pub standard_mv: Option<f64>,
    pub error_mv: Option<f64>,
    pub after_typed: Option<String>,
    pub at: Option<String>,
    pub excluded: Option<String>,
    pub with: Option<String>,
    pub note: Option<String>,
}

/// Slope between neighbouring groups of buffers.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SegmentRecord {
    pub from_ph: f64,
    pub to_ph: f64,
    pub slope_percent: f64,
}

/// What the analyser holds, and whether it shows what it should.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct StoredRecord {
    pub slope_percent: Option<f64>,
    pub slope_typed: Option<String>,
    pub offset_mv: Option<f64>,
    pub offset_typed: Option<String>,
    pub compensation: Option<String>,
    /// Largest disagreement between shown and expected, pH; null where it cannot be computed.
    pub largest_disagreement_ph: Option<f64>,
    /// Whether every shown value is what the analyser should show, within rounding.
    pub agrees: Option<bool>,
}

/// A figure somebody stated, recomputed.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct StatedRecord {
    /// `slope`, `offset`, `difference`.
    pub figure: String,
    /// Standards, for a difference: `B7 to B4`.
    pub between: Option<String>,
    pub unit: String,
    pub stated: f64,
    pub stated_typed: String,
    /// Null where the readings do not give it.
    pub computed: Option<f64>,
    /// Whether they agree within rounding; null where not computed.
    pub agrees: Option<bool>,
}

/// Checks of one state.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ChecksRecord {
    pub standard: Option<StandardCheckRecord>,
    pub temperature: Vec<TemperatureCheckRecord>,
    pub output: Vec<OutputCheckRecord>,
    pub sample: Option<SampleCheckRecord>,
    pub glass_resistance: Option<ResistanceRecord>,
    pub reference_resistance: Option<ResistanceRecord>,
    /// Checks asked for and not done: check, reason.
    pub not_done: Vec<(String, String)>,
}

/// Check in an independent standard.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct StandardCheckRecord {
    #[serde(rename = "in")]
    pub standard: String,
    pub shown: f64,
    pub shown_typed: String,
    pub temperature_c: f64,
    pub temperature_typed: String,
    pub expected: f64,
    pub error: f64,
    pub decimals: usize,
}

/// Temperature check.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct TemperatureCheckRecord {
    pub reference_c: f64,
    pub reference_typed: String,
    pub shown_c: Option<f64>,
    pub shown_typed: Option<String>,
    pub error_c: Option<f64>,
    pub decimals: usize,
    pub resistance_ohm: Option<f64>,
    pub resistance_typed: Option<String>,
    /// Temperature that the resistance means by IEC 60751.
    pub resistance_means_c: Option<f64>,
    /// What the error costs at pH 4, in pH (automatic compensation).
    pub cost_at_ph_4: Option<f64>,
}

/// Output check.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct OutputCheckRecord {
    pub shown: f64,
    pub shown_typed: String,
    pub ma: Option<f64>,
    pub ma_typed: Option<String>,
    pub expected_ma: Option<f64>,
    pub error_percent: Option<f64>,
    pub control_room: Option<f64>,
    pub control_room_typed: Option<String>,
    pub control_room_error_percent: Option<f64>,
    /// `fault low`, `fault high`, `saturated low`, `saturated high`.
    pub fault_current: Option<String>,
    pub simulated: bool,
}

/// Sample check.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SampleCheckRecord {
    pub shown: f64,
    pub shown_typed: String,
    pub reference: f64,
    pub reference_typed: String,
    pub difference: f64,
    pub decimals: usize,
    pub taken: Option<String>,
    pub measured: Option<String>,
    /// Minutes between taking and measuring.
    pub minutes: Option<f64>,
    /// Within the 15 minutes of the permit rules; null where the times are not known.
    pub within_holding_time: Option<bool>,
    pub by: Option<String>,
    pub method: Option<String>,
    pub source: Option<String>,
}

/// A resistance.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ResistanceRecord {
    pub ohm: f64,
    pub typed: String,
    pub temperature_c: Option<f64>,
    pub temperature_typed: Option<String>,
}

/// A remedy with the figures after it.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct RemedyRecord {
    /// The trade's word: `acid soak`.
    pub remedy: String,
    pub solution: Option<String>,
    pub lasted: Option<String>,
    pub at: Option<String>,
    pub note: Option<String>,
    pub by: Option<String>,
    pub probe: Option<ProbeFacts>,
    pub old_probe: Option<String>,
    pub reason: Option<String>,
    /// Figures of the readings taken after it.
    pub after: Option<Figures>,
    /// Slope after minus slope before, percent points; null where either is not known.
    pub slope_gained_percent: Option<f64>,
    /// Offset after minus offset before, mV.
    pub offset_moved_mv: Option<f64>,
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
    pub probability_of_conformity: Option<f64>,
    pub outcome: OutcomeWord,
    /// Why it was not judged.
    pub reason: Option<String>,
}

/// The bounds applied; null where a side has none.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Stage {
    /// As found.
    #[serde(rename = "as found")]
    AsFound,
    /// As left.
    #[serde(rename = "as left")]
    AsLeft,
}

/// Outcome of one criterion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum OutcomeWord {
    /// Asked for, could not be judged.
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
}
