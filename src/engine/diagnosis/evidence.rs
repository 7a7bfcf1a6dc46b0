//! What a diagnosis rests on: plain numbers of one loop, gathered from its record.

use crate::client::LoopQuantity;
use crate::visit::RemedyKind;

/// Everything known about one loop of a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// pH or redox.
    pub quantity: LoopQuantity,
    /// The state found, where it was obtained.
    pub found: Option<State>,
    /// Remedies in the order performed.
    pub steps: Vec<Step>,
    /// The state left, where it was measured.
    pub left: Option<State>,
    /// Whether what was found stands for what was left: nothing was done, or the loop was left out of service unmeasured.
    pub stands: bool,
    /// Process value after cleaning minus before, pH or mV.
    pub moved_by_cleaning: Option<f64>,
}

/// One state of the loop.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// Readings that are not excluded.
    pub readings: Vec<Reading>,
    /// Percentage theoretical slope.
    pub slope_percent: Option<f64>,
    /// Offset at pH 7, mV.
    pub offset_mv: Option<f64>,
    /// Slope of the acid half, where buffers on both sides of pH 7 tell the halves apart.
    pub acid_percent: Option<f64>,
    /// Slope of the alkaline half.
    pub alkaline_percent: Option<f64>,
    /// Redox: difference read in percent of the difference due between two solutions.
    pub gain_percent: Option<f64>,
    /// Offset of this probe that the analyser held when the visit began, mV.
    pub stored_offset_mv: Option<f64>,
    /// How far the shown value differs from what the stored calibration gives, pH; 0 where rounding explains it.
    pub shown_off_stored_ph: Option<f64>,
    /// Shown minus expected in the independent check standard, pH or mV.
    pub check_standard_error: Option<f64>,
    /// Temperature checks.
    pub temperature: Vec<TemperatureCheck>,
    /// Output checks.
    pub output: Vec<OutputCheck>,
    /// Sample check.
    pub sample: Option<SampleCheck>,
    /// Glass resistance, MΩ, and its temperature, °C.
    pub glass: Option<(f64, Option<f64>)>,
    /// Resistance of the reference, kΩ.
    pub reference_kohm: Option<f64>,
    /// Whether the probe is another one than the probe found.
    pub new_probe: bool,
    /// Whether it is the state after the work, in which fouling is gone.
    pub cleaned: bool,
}

/// One reading in a standard.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Reading {
    /// Which standard: the same number for the same one.
    pub standard: usize,
    /// Its value at the temperature, pH or mV.
    pub value: f64,
    /// What a perfect probe gives, k(T)·(7 − pH), mV (pH loops).
    pub theoretical_mv: Option<f64>,
    /// Potential, mV.
    pub mv: Option<f64>,
    /// Shown minus standard, pH or mV.
    pub error: Option<f64>,
    /// Waiting time, s.
    pub waited_s: Option<f64>,
    /// Whether it had settled when it was read, by its trace.
    pub settled: Option<bool>,
    /// Time to within 0.01 pH of the final value by its trace, s.
    pub time_to_0_01_ph_s: Option<f64>,
    /// Drift at the end of its trace, mV/min.
    pub drift_mv_per_min: Option<f64>,
    /// Scatter about the settling curve of its trace, mV.
    pub noise_mv: Option<f64>,
}

/// Analyser against reference thermometer.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TemperatureCheck {
    /// Shown minus reference, °C.
    pub error_c: Option<f64>,
    /// What the element's resistance means minus reference, °C.
    pub element_error_c: Option<f64>,
    /// What the error costs at pH 4, pH.
    pub cost_at_ph_4: Option<f64>,
}

/// Current and control room against the shown value.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct OutputCheck {
    /// Current expected, mA.
    pub expected_ma: Option<f64>,
    /// Current read, mA.
    pub ma: Option<f64>,
    /// Error of the current, percent of span.
    pub error_percent: Option<f64>,
    /// Error of the control room, percent of span.
    pub control_room_error_percent: Option<f64>,
    /// Whether the current is one that signals a fault or a saturated output.
    pub fault: bool,
}

/// Shown value against a sample.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SampleCheck {
    /// Shown minus sample, pH or mV.
    pub difference: f64,
    /// Minutes between taking and measuring.
    pub minutes: Option<f64>,
}

/// One remedy, with what was read before and after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// What was done.
    pub kind: RemedyKind,
    /// The last readings before it.
    pub before: Snapshot,
    /// The readings after it; empty where none were taken.
    pub after: Snapshot,
    /// How many remedies directly before it have no readings of their own, so that what was gained is theirs too.
    pub unmeasured_before: usize,
    /// Offset that the analyser held when the visit began, mV.
    pub stored_offset_mv: Option<f64>,
    /// Expanded uncertainty of the gain in slope, percent points.
    pub slope_gained_uncertainty: Option<f64>,
    /// Expanded uncertainty of the move of the offset, mV.
    pub offset_moved_uncertainty: Option<f64>,
}

/// The figures by which a remedy is judged.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Snapshot {
    /// Percentage theoretical slope.
    pub slope_percent: Option<f64>,
    /// Offset at pH 7, mV.
    pub offset_mv: Option<f64>,
    /// Longest waiting time, s.
    pub waited_s: Option<f64>,
    /// Redox: largest error, mV.
    pub worst_error_mv: Option<f64>,
}

impl State {
    /// The longest waiting time of its readings, s.
    pub fn longest_wait_s(&self) -> Option<f64> {
        self.readings.iter().filter_map(|reading| reading.waited_s).reduce(f64::max)
    }

    /// The largest error of its readings, with its sign.
    pub fn worst_error(&self) -> Option<f64> {
        let errors = self.readings.iter().filter_map(|reading| reading.error);
        errors.reduce(|a, b| if b.abs() > a.abs() || (b.abs() == a.abs() && b > a) { b } else { a })
    }

    /// The figures by which a remedy is judged.
    pub fn snapshot(&self, quantity: LoopQuantity) -> Snapshot {
        let is_redox = quantity == LoopQuantity::Redox;
        Snapshot {
            slope_percent: self.slope_percent,
            offset_mv: self.offset_mv,
            waited_s: self.longest_wait_s(),
            worst_error_mv: self.worst_error().filter(|_| is_redox),
        }
    }
}
