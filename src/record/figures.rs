//! Figures in the record: readings, fit, checks, remedies.

use super::{EffectRecord, ProbeFacts, Verdict};
use serde::Serialize;

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
    /// Null where no figure has one.
    pub uncertainty: Option<FigureUncertainties>,
    /// What the uncertainties of slope, offset and zero point rest on.
    pub budget: Vec<BudgetRecord>,
}

/// Uncertainties of the figures of one set of readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct FigureUncertainties {
    pub slope_percent: Option<UncertaintyRecord>,
    pub offset_mv: Option<UncertaintyRecord>,
    pub zero_point_ph: Option<UncertaintyRecord>,
    pub gain_percent: Option<UncertaintyRecord>,
}

/// An uncertainty in the unit of its figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct UncertaintyRecord {
    pub standard: f64,
    /// For a coverage probability of 95.45 %.
    pub expanded: f64,
    pub coverage_factor: f64,
    /// Null where infinite.
    pub effective_dof: Option<f64>,
}

/// One effect of the budget.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct BudgetRecord {
    /// `resolution`, `repeatability`, `reproducibility`, `instrument offset`, `instrument gain`, `standard`,
    /// `thermometer`, `temperature resolution`.
    pub source: String,
    /// Name in the kit, where it has one.
    pub of: Option<String>,
    pub standard_uncertainty: f64,
    pub unit: String,
    /// Null where infinite.
    pub dof: Option<f64>,
    /// Whether no certificate or limits file declares it.
    pub assumed: bool,
    pub slope_percent: ShareRecord,
    pub offset_mv: ShareRecord,
    pub zero_point_ph: Option<ShareRecord>,
}

/// What an effect does to a figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct ShareRecord {
    /// Change of the figure with the input; of several inputs the root of the sum of squares.
    pub sensitivity: f64,
    /// Share of the variance.
    pub share_percent: f64,
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
    /// Expanded, 95.45 %.
    pub error_uncertainty_ph: Option<f64>,
    /// Shown value in mV (redox loops).
    pub shown_mv: Option<f64>,
    /// Shown value as typed.
    pub shown_typed: Option<String>,
    /// Digits after the decimal point of the shown value as typed.
    pub shown_decimals: Option<usize>,
    /// Potential of the redox solution against the probe's reference at the temperature (redox loops).
    pub standard_mv: Option<f64>,
    pub error_mv: Option<f64>,
    /// Expanded, 95.45 %.
    pub error_uncertainty_mv: Option<f64>,
    pub after_typed: Option<String>,
    /// Time in s since the change of standard, potential in mV.
    pub trace: Vec<[f64; 2]>,
    /// The same as typed.
    pub trace_typed: Vec<[String; 2]>,
    /// What the trace tells; null without one.
    pub settling: Option<SettlingRecord>,
    /// Whether the reading was taken when the probe had settled; null where no trace tells it.
    pub settled: Option<bool>,
    pub at: Option<String>,
    pub excluded: Option<String>,
    pub with: Option<String>,
    pub note: Option<String>,
}

/// How a probe settled; null where its trace does not tell.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
#[allow(missing_docs)]
pub struct SettlingRecord {
    /// What counts as settled, mV: 0.01 pH by the slope of the same readings (redox: 1 mV).
    pub within_mv: f64,
    /// The theoretical slope was taken for it: the readings give none, or one that says nothing.
    pub by_theoretical_slope: bool,
    pub final_mv: Option<f64>,
    pub time_to_90_s: Option<f64>,
    /// Time to within 0.01 pH of the final value (pH loops).
    pub time_to_0_01_ph_s: Option<f64>,
    /// Time to within 1 mV of the final value (redox loops).
    pub time_to_1_mv_s: Option<f64>,
    pub drift_mv_per_min: Option<f64>,
    pub noise_mv: Option<f64>,
    /// Still on its way by more than that at this time, the end of the trace.
    pub longer_than_s: Option<f64>,
    /// Code of the reason why the time (mostly the final value too) is not told: `too-few-points`, `too-short`,
    /// `begun-late`, `still-changing`, `noisy`, `no-approach`.
    pub told: Option<String>,
}

impl SettlingRecord {
    /// The settling time in s, whichever width it is for.
    pub fn time_to_within_s(&self) -> Option<f64> {
        self.time_to_0_01_ph_s.or(self.time_to_1_mv_s)
    }
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
    /// Expanded, 95.45 %, in the unit of the error.
    pub error_uncertainty: Option<f64>,
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
    /// Expanded, 95.45 %.
    pub error_uncertainty_c: Option<f64>,
    pub decimals: usize,
    pub resistance_ohm: Option<f64>,
    pub resistance_typed: Option<String>,
    /// Temperature that the resistance means by IEC 60751.
    pub resistance_means_c: Option<f64>,
    /// Resistance that the element should have at the reference temperature by IEC 60751.
    pub expected_ohm: Option<f64>,
    /// Temperature that the resistance means minus the reference.
    pub element_error_c: Option<f64>,
    /// What IEC 60751 allows an element of class B at the reference temperature, ±.
    pub class_b_tolerance_c: Option<f64>,
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
    /// Expanded, 95.45 %; null where no instrument with a declared uncertainty measured the current.
    pub error_uncertainty_percent: Option<f64>,
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
    /// Within the 15 minutes of the permit rules; null where the times are not known and in redox loops, which have no such rule.
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
    /// Expanded, 95.45 %; what both states share counts once.
    pub slope_gained_uncertainty: Option<f64>,
    /// Offset after minus offset before, mV.
    pub offset_moved_mv: Option<f64>,
    /// Expanded, 95.45 %.
    pub offset_moved_uncertainty: Option<f64>,
    /// What it did to what was wrong; null where that was not measured, or nothing was wrong.
    pub effect: Option<EffectRecord>,
}
