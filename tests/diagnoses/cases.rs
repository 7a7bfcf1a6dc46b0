//! For each rule of the diagnosis visits that show it, and near misses on the other side of its threshold.

use halfcell::client::LoopQuantity;
use halfcell::engine::diagnosis::{
    Evidence, OutputCheck, Reading, SampleCheck, Snapshot, State, Step, TemperatureCheck,
};
use halfcell::engine::fit::{Point, fit};
use halfcell::reference::slope_mv_per_ph;
use halfcell::visit::RemedyKind;

/// A rule with what shows it and what just does not.
pub struct Case {
    pub code: &'static str,
    pub fires: Vec<Evidence>,
    pub near_misses: Vec<Evidence>,
}

/// Figures of readings (pH, mV) at 25 °C, as the record computes them.
pub fn state(readings: &[(f64, f64)]) -> State {
    let point = |&(ph, mv): &(f64, f64)| Point { mv, temperature_c: 25.0, ph };
    let fit = fit(&readings.iter().map(point).collect::<Vec<_>>()).unwrap();
    let half =
        |acid: bool| fit.segments.iter().find(|s| (s.from_ph + s.to_ph <= 14.0) == acid).map(|s| s.slope_percent);
    let reading = |&(ph, mv): &(f64, f64)| Reading {
        standard: (ph * 100.0) as usize,
        value: ph,
        theoretical_mv: Some(slope_mv_per_ph(25.0) * (7.0 - ph)),
        mv: Some(mv),
        error: Some(0.02),
        waited_s: Some(60.0),
        ..Reading::default()
    };
    State {
        readings: readings.iter().map(reading).collect(),
        slope_percent: fit.slope_percent,
        offset_mv: fit.offset_mv,
        acid_percent: half(true),
        alkaline_percent: half(false),
        ..State::default()
    }
}

/// A probe with these halves of the slope in percent and this offset, in pH 4, 7 and 10.
pub fn halves(acid: f64, alkaline: f64, offset: f64) -> State {
    let step = 3.0 * slope_mv_per_ph(25.0) / 100.0;
    state(&[(7.0, offset), (4.0, offset + acid * step), (10.0, offset - alkaline * step)])
}

pub fn probe(slope: f64, offset: f64) -> State {
    halves(slope, slope, offset)
}

pub fn healthy() -> State {
    probe(96.0, -5.0)
}

/// A loop found so and left alone.
pub fn found(state: State) -> Evidence {
    Evidence {
        quantity: LoopQuantity::Ph,
        found: Some(state),
        steps: Vec::new(),
        left: None,
        stands: true,
        moved_by_cleaning: None,
    }
}

pub fn redox(errors: &[f64], gain: Option<f64>) -> Evidence {
    let reading = |(standard, error): (usize, &f64)| Reading {
        standard,
        value: 100.0 + 130.0 * standard as f64,
        mv: Some(100.0 + 130.0 * standard as f64 + error),
        error: Some(*error),
        waited_s: Some(120.0),
        ..Reading::default()
    };
    let readings = errors.iter().enumerate().map(reading).collect();
    let state = State { readings, gain_percent: gain, ..State::default() };
    Evidence { quantity: LoopQuantity::Redox, ..found(state) }
}

/// Steps that take the slope from one figure to the next.
pub fn steps(slopes: &[f64], kinds: &[RemedyKind]) -> Vec<Step> {
    let at = |slope: f64| Snapshot { slope_percent: Some(slope), ..Snapshot::default() };
    let pairs = slopes.windows(2).zip(kinds);
    pairs.map(|(pair, kind)| step(*kind, at(pair[0]), at(pair[1]))).collect()
}

pub fn step(kind: RemedyKind, before: Snapshot, after: Snapshot) -> Step {
    Step {
        kind,
        before,
        after,
        unmeasured_before: 0,
        stored_offset_mv: None,
        slope_gained_uncertainty: None,
        offset_moved_uncertainty: None,
    }
}

/// The healthy state with one thing changed.
fn but(change: impl FnOnce(&mut State)) -> Evidence {
    let mut state = healthy();
    change(&mut state);
    found(state)
}

/// A reading of the healthy state changed.
fn reading(change: impl FnOnce(&mut Reading)) -> Evidence {
    but(|state| change(&mut state.readings[1]))
}

/// Readings of pH 7 besides that of the healthy state, each so far off.
fn repeats(off: &[f64]) -> Evidence {
    but(|state| {
        let first = state.readings[0];
        state.readings.extend(off.iter().map(|off| Reading { mv: first.mv.map(|mv| mv + off), ..first }));
    })
}

fn output(expected: f64, ma: f64) -> OutputCheck {
    let error_percent = Some(100.0 * (ma - expected) / 16.0);
    let fault = !(3.8..=20.5).contains(&ma);
    OutputCheck { expected_ma: Some(expected), ma: Some(ma), error_percent, fault, ..OutputCheck::default() }
}

fn outputs(pairs: &[(f64, f64)]) -> Evidence {
    but(|state| state.output = pairs.iter().map(|&(expected, ma)| output(expected, ma)).collect())
}

fn control_room(error: f64, output: Option<f64>) -> Evidence {
    let check =
        OutputCheck { error_percent: output, control_room_error_percent: Some(error), ..OutputCheck::default() };
    but(|state| state.output = vec![check])
}

fn temperature(error: f64, element: Option<f64>) -> Evidence {
    let check = TemperatureCheck { error_c: Some(error), element_error_c: element, cost_at_ph_4: Some(error / 100.0) };
    but(|state| state.temperature = vec![check])
}

fn sample(difference: f64, minutes: Option<f64>, error: f64) -> Evidence {
    but(|state| {
        state.sample = Some(SampleCheck { difference, minutes });
        state.readings.iter_mut().for_each(|reading| reading.error = Some(error));
    })
}

fn glass(mohm: f64, temperature: Option<f64>) -> Evidence {
    but(|state| state.glass = Some((mohm, temperature)))
}

fn stored(slope: f64, offset: f64, stored: f64) -> Evidence {
    found(State { stored_offset_mv: Some(stored), ..probe(slope, offset) })
}

fn after(evidence: Evidence, steps: Vec<Step>) -> Evidence {
    Evidence { steps, stands: false, ..evidence }
}

/// The same potential in every buffer but for so much.
fn stuck(mv: f64) -> Evidence {
    found(state(&[(7.0, mv), (4.0, mv + 2.0), (10.0, mv - 1.0)]))
}

fn new_probe(slope: f64) -> Evidence {
    let left = State { new_probe: true, ..probe(slope, 0.0) };
    Evidence { found: None, left: Some(left), ..found(healthy()) }
}

fn waited(seconds: f64, slope: f64) -> Evidence {
    let mut state = probe(slope, -5.0);
    state.readings[1].waited_s = Some(seconds);
    found(state)
}

fn cleaned(by: f64, quantity: LoopQuantity) -> Evidence {
    let base = if quantity == LoopQuantity::Redox { redox(&[1.0], None) } else { found(healthy()) };
    Evidence { moved_by_cleaning: Some(by), ..base }
}

/// Every rule with its cases.
pub fn cases() -> Vec<Case> {
    use RemedyKind::*;
    let case = |code, fires, near_misses| Case { code, fires, near_misses };
    let dried = || steps(&[2.0, 2.0], &[ConnectorDried]);
    let with = |evidence: Evidence, change: fn(&mut State)| {
        let mut evidence = evidence;
        change(evidence.found.as_mut().unwrap());
        evidence
    };
    vec![
        case(
            "response-reversed",
            vec![found(probe(-95.0, 0.0)), found(probe(-10.1, 5.0))],
            vec![found(probe(-9.9, 5.0))],
        ),
        case(
            "glass-resistance-low",
            vec![glass(4.9, Some(25.0)), glass(0.8, None), after(glass(0.8, None), dried()), glass(30.0, Some(-5.0))],
            vec![glass(5.1, Some(25.0)), glass(2.0, Some(41.0))],
        ),
        case(
            "glass-resistance-high",
            vec![glass(1001.0, Some(25.0)), glass(3000.0, None)],
            vec![glass(999.0, None), glass(3000.0, Some(5.0))],
        ),
        case(
            "remedies-failed",
            vec![
                after(found(probe(60.0, 0.0)), steps(&[60.0, 60.5, 59.0], &[Detergent, AcidSoak])),
                after(
                    found(probe(60.0, 0.0)),
                    steps(&[60.0, 61.0, 61.0, 55.0], &[Detergent, ConnectorDried, AcidSoak]),
                ),
            ],
            vec![
                after(found(probe(60.0, 0.0)), steps(&[60.0, 60.5, 61.0], &[Detergent, ConnectorDried])),
                after(found(probe(60.0, 0.0)), steps(&[60.0, 60.5, 61.0, 92.0], &[Detergent, Wiped, AcidSoak])),
            ],
        ),
        case(
            "no-response",
            vec![
                found(probe(9.9, 5.0)),
                with(found(probe(2.0, 5.0)), |state| state.glass = Some((40.0, None))),
                after(found(probe(2.0, 5.0)), dried()),
                stuck(97.0),
            ],
            vec![found(probe(10.1, 5.0)), stuck(101.0)],
        ),
        case(
            "off-scale",
            vec![stuck(101.0), stuck(-250.0), found(state(&[(7.0, 0.0), (4.0, 571.0), (10.0, -165.0)]))],
            vec![stuck(97.0), found(state(&[(7.0, 0.0), (4.0, 569.0), (10.0, -165.0)]))],
        ),
        case("new-probe-low", vec![new_probe(89.9)], vec![new_probe(90.1), found(probe(89.9, 0.0))]),
        case(
            "slope-low",
            vec![found(probe(89.9, -5.0)), found(probe(65.0, 29.0)), waited(180.0, 85.0)],
            vec![found(probe(90.1, -5.0)), found(probe(85.0, 31.0))],
        ),
        case(
            "slope-low-offset-moved",
            vec![
                found(probe(85.0, 31.0)),
                stored(85.0, 8.0, -4.1),
                stored(65.0, -34.0, -8.0),
                with(waited(180.0, 60.0), |state| state.stored_offset_mv = Some(10.0)),
            ],
            vec![found(probe(85.0, 29.0)), stored(85.0, 8.0, -3.9), found(probe(90.1, 29.0))],
        ),
        case("alkaline-half-low", vec![found(halves(97.0, 91.9, 0.0))], vec![found(halves(97.0, 92.1, 0.0))]),
        case(
            "acid-half-low",
            vec![found(halves(91.9, 97.0, 0.0)), found(halves(60.0, 97.0, 0.0))],
            vec![found(halves(92.1, 97.0, 0.0)), found(halves(80.0, 89.0, 0.0))],
        ),
        case("slope-high", vec![found(probe(102.1, 0.0)), found(probe(106.0, 0.0))], vec![found(probe(101.9, 0.0))]),
        case(
            "offset-off",
            vec![
                found(probe(95.0, 30.1)),
                stored(95.0, 8.0, -4.1),
                with(found(probe(95.0, -60.0)), |state| state.reference_kohm = Some(9.0)),
            ],
            vec![found(probe(95.0, 29.9)), stored(95.0, 8.0, -3.9)],
        ),
        case(
            "reference-resistance-high",
            vec![but(|state| state.reference_kohm = Some(20.1))],
            vec![but(|state| state.reference_kohm = Some(19.9))],
        ),
        case(
            "response-slow",
            vec![waited(171.0, 96.0), reading(|r| r.time_to_0_01_ph_s = Some(121.0))],
            vec![waited(169.0, 96.0), reading(|r| r.time_to_0_01_ph_s = Some(119.0)), waited(171.0, 85.0)],
        ),
        case(
            "not-settled",
            vec![reading(|r| r.drift_mv_per_min = Some(-1.3)), reading(|r| r.settled = Some(false))],
            vec![reading(|r| r.drift_mv_per_min = Some(-1.1)), reading(|r| r.settled = Some(true))],
        ),
        case(
            "noisy",
            vec![reading(|r| r.noise_mv = Some(1.1)), repeats(&[3.1, 1.0])],
            vec![reading(|r| r.noise_mv = Some(0.9)), repeats(&[2.9, 1.0])],
        ),
        case("repeat-differs", vec![repeats(&[-3.1])], vec![repeats(&[-2.9])]),
        case(
            "redox-gain-off",
            vec![redox(&[-1.0, -15.0], Some(89.9)), redox(&[0.0, 14.0], Some(110.1))],
            vec![redox(&[-1.0, -15.0], Some(90.1))],
        ),
        case(
            "redox-off",
            vec![redox(&[-10.1], None), redox(&[-27.0, -24.0], Some(98.0)), redox(&[60.0, 58.0], None)],
            vec![redox(&[-9.9], None), redox(&[9.9, -9.9], None)],
        ),
        case(
            "process-offset",
            vec![
                sample(0.21, Some(10.0), 0.02),
                sample(-0.4, None, 0.1),
                after(sample(0.21, None, 0.02), steps(&[96.0, 96.0], &[AcidSoak])),
                with(redox(&[2.0, 3.0], Some(100.0)), |state| {
                    state.sample = Some(SampleCheck { difference: 20.1, minutes: None });
                }),
            ],
            vec![sample(0.19, Some(10.0), 0.02), sample(0.21, Some(10.0), 0.11), sample(0.5, Some(15.1), 0.02)],
        ),
        case(
            "temperature-off",
            vec![temperature(0.51, None), temperature(-6.0, Some(0.2)), temperature(1.5, Some(1.4))],
            vec![temperature(0.49, None)],
        ),
        case("output-fault", vec![outputs(&[(12.0, 3.5)]), outputs(&[(8.0, 21.5)])], vec![outputs(&[(4.0, 3.95)])]),
        case(
            "output-reversed",
            vec![outputs(&[(8.0, 16.0)]), outputs(&[(12.0, 12.0), (6.0, 18.05)])],
            vec![outputs(&[(8.0, 15.8)]), outputs(&[(12.0, 12.0)]), outputs(&[(8.0, 16.0), (6.0, 6.0)])],
        ),
        case(
            "output-off",
            vec![outputs(&[(12.0, 12.09)]), outputs(&[(12.0, 12.0), (20.0, 18.0)])],
            vec![outputs(&[(12.0, 12.07)])],
        ),
        case(
            "control-room-off",
            vec![control_room(0.51, None), control_room(-8.0, Some(0.1))],
            vec![control_room(0.49, None), control_room(5.0, Some(5.0))],
        ),
        case(
            "shown-not-as-stored",
            vec![but(|state| state.shown_off_stored_ph = Some(-0.11))],
            vec![
                but(|state| state.shown_off_stored_ph = Some(-0.09)),
                but(|state| state.shown_off_stored_ph = Some(0.0)),
            ],
        ),
        case(
            "check-standard-off",
            vec![but(|state| state.check_standard_error = Some(0.11))],
            vec![but(|state| state.check_standard_error = Some(0.09))],
        ),
        case(
            "fouling",
            vec![cleaned(-0.11, LoopQuantity::Ph), cleaned(24.0, LoopQuantity::Redox)],
            vec![cleaned(-0.09, LoopQuantity::Ph), cleaned(9.0, LoopQuantity::Redox)],
        ),
    ]
}
