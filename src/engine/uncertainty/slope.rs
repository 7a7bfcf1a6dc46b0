//! The budget of slope, offset and zero point.
//!
//! Every input is moved for itself and the line of least squares solved again: the sensitivities are its derivatives.
//! Inputs that belong to a standard, an instrument or a thermometer keep their key, so that two states of one visit share
//! them.

use super::{Contribution, Uncertainty, combined, resolution_variance};
use crate::engine::fit::{ISOPOTENTIAL_PH, Point, ZERO_POINT_FROM_PERCENT, response};
use crate::engine::line::Line;
use crate::reference::{ZERO_CELSIUS_K, slope_mv_per_ph};
use std::collections::HashMap;
use std::hash::Hash;

/// Potential at which an instrument's gain error is as large as its offset error, mV.
///
/// Source: our own choice: 180 mV is pH 4 against pH 7.
const GAIN_AT_MV: f64 = 180.0;

/// One reading with what is known of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    /// Potential, temperature, pH.
    pub point: Point,
    /// Step of the last digit of the potential, mV.
    pub mv_step: f64,
    /// Step of the last digit of the temperature, °C.
    pub temperature_step_c: f64,
    /// Change of the buffer's pH per °C.
    pub dph_dt: f64,
    /// Position of its standard in the kit.
    pub standard: usize,
    /// Standard uncertainty of the standard, pH.
    pub standard_u_ph: f64,
    /// The instrument that measured the potential, mV.
    pub voltmeter: (Option<usize>, f64),
    /// The thermometer, °C.
    pub thermometer: (Option<usize>, f64),
}

/// Declared reproducibility of taking a probe from standard to standard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Declared {
    /// Standard uncertainty, mV.
    pub u_mv: f64,
    /// Degrees of freedom, positive.
    pub dof: f64,
}

/// Where an effect comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effect {
    /// Last digit of the potentials.
    Resolution,
    /// Scatter of repeats in one standard.
    Repeatability,
    /// Taking the probe from standard to standard: settling, junction, rinsing.
    Reproducibility,
    /// Offset of the instrument at this position of the kit.
    InstrumentOffset(Option<usize>),
    /// Gain of the instrument at this position of the kit.
    InstrumentGain(Option<usize>),
    /// The standard at this position of the kit.
    Standard(usize),
    /// The thermometer at this position of the kit.
    Thermometer(Option<usize>),
    /// Last digit of the temperatures.
    TemperatureResolution,
}

/// Slope in percent, offset in mV, zero point in pH.
pub type Figures = [f64; 3];

/// What one effect adds to the three figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BudgetLine {
    /// Where it comes from.
    pub effect: Effect,
    /// Standard uncertainty of the input; of several, the root of the mean square.
    pub u: f64,
    /// Degrees of freedom; infinite where taken from a certificate or assumed.
    pub dof: f64,
    /// Change of the figures with the input; of several inputs, the root of the sum of squares, weighted by their
    /// uncertainties where these differ.
    pub sensitivity: Figures,
    /// Sensitivity times standard uncertainty; signed for a single input.
    pub contribution: Figures,
}

/// Uncertainty of the figures of one state.
#[derive(Debug, Clone, PartialEq)]
pub struct FitUncertainty {
    /// Of the slope, percent of theoretical.
    pub slope_percent: Uncertainty,
    /// Of the offset, mV.
    pub offset_mv: Uncertainty,
    /// Of the zero point, pH; `None` where the zero point is not determined.
    pub zero_point_ph: Option<Uncertainty>,
    /// The effects; those of the zero point are 0 where it is not determined.
    pub budget: Vec<BudgetLine>,
}

/// Uncertainty of the line through a state's readings; `None` where they give no line.
pub fn of_line(readings: &[Sighting], declared: Declared) -> Option<FitUncertainty> {
    let solved = Solved::of(readings)?;
    let mut budget = Vec::with_capacity(8 + solved.standards.len());
    let scatter = solved.scatter(declared);
    let each = |input: &dyn Fn(&Sighting) -> f64, at: &dyn Fn(usize) -> Figures| -> Vec<(f64, Figures)> {
        readings.iter().enumerate().map(|(i, reading)| (input(reading), at(i))).collect()
    };
    let per_mv = |i: usize| solved.per_mv(i);
    let infinite = f64::INFINITY;
    budget.push(several(Effect::Resolution, infinite, &each(&|r| resolution_variance(r.mv_step).sqrt(), &per_mv)));
    if let Some(repeat) = scatter.repeatability {
        budget.push(several(Effect::Repeatability, repeat.dof, &each(&|_| repeat.u_mv, &per_mv)));
    }
    let moved: Vec<(f64, Figures)> = solved
        .standards
        .iter()
        .map(|standard| (scatter.reproducibility.u_mv, sum(standard.members.iter().map(|&i| solved.per_mv(i)))))
        .collect();
    budget.push(several(Effect::Reproducibility, scatter.reproducibility.dof, &moved));
    for (key, u, members) in shared(readings, |r| r.voltmeter) {
        let offset = sum(members.iter().map(|&i| solved.per_mv(i)));
        let part = |i: usize| readings[i].point.mv / GAIN_AT_MV;
        let gain = sum(members.iter().map(|&i| scaled(solved.per_mv(i), part(i))));
        budget.push(single(Effect::InstrumentOffset(key), u, offset));
        budget.push(single(Effect::InstrumentGain(key), u, gain));
    }
    for standard in &solved.standards {
        let per_ph = sum(standard.members.iter().map(|&i| solved.per_ph(i)));
        budget.push(single(Effect::Standard(standard.key), standard.u_ph, per_ph));
    }
    for (key, u, members) in shared(readings, |r| r.thermometer) {
        budget.push(single(Effect::Thermometer(key), u, sum(members.iter().map(|&i| solved.per_degree(i)))));
    }
    let per_degree = |i: usize| solved.per_degree(i);
    let steps = each(&|r| resolution_variance(r.temperature_step_c).sqrt(), &per_degree);
    budget.push(several(Effect::TemperatureResolution, infinite, &steps));
    Some(FitUncertainty {
        slope_percent: of_budget(&budget, 0),
        offset_mv: of_budget(&budget, 1),
        zero_point_ph: solved.zero_point.is_some().then(|| of_budget(&budget, 2)),
        budget,
    })
}

/// Uncertainty of slope (percent) and offset (mV) of one state minus another of the same visit: standards, thermometer and
/// instruments are shared, everything else is independent.
pub fn difference(after: &FitUncertainty, before: &FitUncertainty) -> [Uncertainty; 2] {
    let mut lines = after.budget.clone();
    for line in &before.budget {
        let negative = scaled(line.contribution, -1.0);
        match lines.iter_mut().find(|own| own.effect == line.effect && is_shared(line.effect)) {
            Some(own) => own.contribution = sum([own.contribution, negative].into_iter()),
            None => lines.push(BudgetLine { contribution: negative, ..*line }),
        }
    }
    [0, 1].map(|figure| of_budget(&lines, figure))
}

/// Whether two states of a visit have the same error from it.
fn is_shared(effect: Effect) -> bool {
    match effect {
        Effect::Resolution | Effect::Repeatability | Effect::Reproducibility | Effect::TemperatureResolution => false,
        Effect::InstrumentOffset(_) | Effect::InstrumentGain(_) | Effect::Standard(_) | Effect::Thermometer(_) => true,
    }
}

fn of_budget(budget: &[BudgetLine], figure: usize) -> Uncertainty {
    let lines = budget.iter().map(|line| Contribution { value: line.contribution[figure], dof: line.dof });
    combined(&lines.collect::<Vec<_>>())
}

/// One effect of one input.
fn single(effect: Effect, u: f64, sensitivity: Figures) -> BudgetLine {
    BudgetLine { effect, u, dof: f64::INFINITY, sensitivity, contribution: scaled(sensitivity, u) }
}

/// One effect of several independent inputs, each with its standard uncertainty and sensitivity.
fn several(effect: Effect, dof: f64, inputs: &[(f64, Figures)]) -> BudgetLine {
    let root = |weight: &dyn Fn(f64) -> f64, figure: usize| {
        inputs.iter().map(|(u, c)| (weight(*u) * c[figure]).powi(2)).sum::<f64>().sqrt()
    };
    let u = (inputs.iter().map(|(u, _)| u * u).sum::<f64>() / inputs.len() as f64).sqrt();
    let contribution = [0, 1, 2].map(|figure| root(&|u| u, figure));
    let sensitivity = match u > 0.0 {
        true => scaled(contribution, 1.0 / u),
        false => [0, 1, 2].map(|figure| root(&|_| 1.0, figure)),
    };
    BudgetLine { effect, u, dof, sensitivity, contribution }
}

fn scaled(figures: Figures, by: f64) -> Figures {
    figures.map(|figure| figure * by)
}

fn sum(terms: impl Iterator<Item = Figures>) -> Figures {
    terms.fold([0.0; 3], |total, term| [0, 1, 2].map(|figure| total[figure] + term[figure]))
}

/// Inputs that readings share, in the order of their first reading: key, standard uncertainty, the readings.
fn shared<K: Copy + Eq + Hash>(readings: &[Sighting], of: impl Fn(&Sighting) -> (K, f64)) -> Vec<(K, f64, Vec<usize>)> {
    let mut inputs: Vec<(K, f64, Vec<usize>)> = Vec::new();
    let mut known: HashMap<K, usize> = HashMap::new();
    for (position, reading) in readings.iter().enumerate() {
        let (key, u) = of(reading);
        let input = *known.entry(key).or_insert(inputs.len());
        if input == inputs.len() {
            inputs.push((key, u, Vec::new()));
        }
        inputs[input].2.push(position);
    }
    inputs
}

/// The readings in one standard.
struct InStandard {
    key: usize,
    u_ph: f64,
    members: Vec<usize>,
}

/// The line with what its derivatives need.
struct Solved<'a> {
    readings: &'a [Sighting],
    line: Line,
    standards: Vec<InStandard>,
    /// η·k at the mean temperature and offset in mV, where the zero point is determined.
    zero_point: Option<ZeroPoint>,
}

struct ZeroPoint {
    slope_mv_per_ph: f64,
    mean_k: f64,
}

impl<'a> Solved<'a> {
    fn of(readings: &'a [Sighting]) -> Option<Solved<'a>> {
        let points: Vec<Point> = readings.iter().map(|reading| reading.point).collect();
        let line = response(&points)?;
        let mean_temperature_c = points.iter().map(|p| p.temperature_c).sum::<f64>() / points.len() as f64;
        let mean_k = slope_mv_per_ph(mean_temperature_c);
        let determined = 100.0 * line.slope >= ZERO_POINT_FROM_PERCENT;
        let standards = shared(readings, |reading| (reading.standard, reading.standard_u_ph));
        let standards = standards.into_iter().map(|(key, u_ph, members)| InStandard { key, u_ph, members }).collect();
        let zero_point = determined.then_some(ZeroPoint { slope_mv_per_ph: line.slope * mean_k, mean_k });
        Some(Solved { readings, line, standards, zero_point })
    }

    /// Change of the figures with the potential of reading `i`, per mV.
    fn per_mv(&self, i: usize) -> Figures {
        let line = &self.line;
        let slope = (self.readings[i].point.theoretical_mv() - line.mean_x) / line.sum_of_squares_x;
        let offset = 1.0 / line.points as f64 - line.mean_x * slope;
        self.figures(slope, offset, 0.0)
    }

    /// Change of the figures with x = k·(7 − pH) of reading `i`, per mV; `mean_k` is the change of k at the mean
    /// temperature that goes with it.
    fn per_x(&self, i: usize, dx: f64, mean_k: f64) -> Figures {
        let line = &self.line;
        let point = self.readings[i].point;
        let x = point.theoretical_mv();
        let residual = point.mv - line.at(x);
        let slope = dx * (residual - line.slope * (x - line.mean_x)) / line.sum_of_squares_x;
        let offset = -dx * line.slope / line.points as f64 - line.mean_x * slope;
        self.figures(slope, offset, mean_k)
    }

    /// Change of the figures with the pH of reading `i`, per pH.
    fn per_ph(&self, i: usize) -> Figures {
        self.per_x(i, -self.readings[i].point.nernst_mv_per_ph(), 0.0)
    }

    /// Change of the figures with the temperature of reading `i`, per °C: its theoretical slope and the pH of its buffer.
    fn per_degree(&self, i: usize) -> Figures {
        let reading = &self.readings[i];
        let k = reading.point.nernst_mv_per_ph();
        let k_per_degree = k / (reading.point.temperature_c + ZERO_CELSIUS_K);
        let dx = k_per_degree * (ISOPOTENTIAL_PH - reading.point.ph) - k * reading.dph_dt;
        self.per_x(i, dx, k_per_degree / self.line.points as f64)
    }

    /// The three figures from changes of slope ratio and offset (mV).
    fn figures(&self, slope: f64, offset: f64, mean_k: f64) -> Figures {
        let zero = self.zero_point.as_ref().map_or(0.0, |zero| {
            let relative = slope / self.line.slope + mean_k / zero.mean_k;
            (offset - self.line.intercept * relative) / zero.slope_mv_per_ph
        });
        [100.0 * slope, offset, zero]
    }

    /// What the readings themselves say about their scatter.
    fn scatter(&self, declared: Declared) -> Scatter {
        let (n, m) = (self.readings.len() as f64, self.standards.len() as f64);
        let residual = |i: usize| {
            let point = self.readings[i].point;
            point.mv - self.line.at(point.theoretical_mv())
        };
        let digit = self.readings.iter().map(|r| resolution_variance(r.mv_step)).sum::<f64>() / n;
        let means: Vec<f64> = self.standards.iter().map(|standard| mean(&standard.members, &residual)).collect();
        let within: f64 = self
            .standards
            .iter()
            .zip(&means)
            .flat_map(|(standard, mean)| standard.members.iter().map(move |&i| (residual(i) - mean).powi(2)))
            .sum();
        let repeatability = (n > m).then(|| Declared { u_mv: (within / (n - m) - digit).max(0.0).sqrt(), dof: n - m });
        if m < 3.0 {
            return Scatter { repeatability, reproducibility: declared };
        }
        let per_standard = n / m;
        let between: f64 =
            self.standards.iter().zip(&means).map(|(s, mean)| s.members.len() as f64 * mean * mean).sum();
        let between = between / (m - 2.0) / per_standard;
        let repeat = repeatability.map_or(0.0, |repeat| repeat.u_mv * repeat.u_mv);
        let explained = self.standards.iter().map(|standard| self.by_standard(standard).powi(2)).sum::<f64>() / m
            + (digit + repeat) / per_standard;
        let dof = declared.dof + m - 2.0;
        let seen = (m - 2.0) * (between - explained).max(0.0);
        let u_mv = ((declared.dof * declared.u_mv * declared.u_mv + seen) / dof).sqrt();
        Scatter { repeatability, reproducibility: Declared { u_mv, dof } }
    }

    /// What the pH of a standard may move its readings by, mV: η·k(T̄)·u.
    fn by_standard(&self, standard: &InStandard) -> f64 {
        let temperature = mean(&standard.members, &|i| self.readings[i].point.temperature_c);
        self.line.slope * slope_mv_per_ph(temperature) * standard.u_ph
    }
}

/// Repeatability where something was repeated, and reproducibility with what three or more standards say about it.
struct Scatter {
    repeatability: Option<Declared>,
    reproducibility: Declared,
}

fn mean(members: &[usize], of: &dyn Fn(usize) -> f64) -> f64 {
    members.iter().map(|&i| of(i)).sum::<f64>() / members.len() as f64
}
