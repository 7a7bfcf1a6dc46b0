//! Settling against figures worked out elsewhere, and what a trace must not be made to say.

use super::*;

/// 0.01 pH of a perfect probe at about 20 °C, rounded, as taken for the reference figures.
///
/// Source: our own choice.
const WITHIN: f64 = 0.58;
/// Last digit of the potentials, mV.
///
/// Source: our own choice.
const STEP: f64 = 0.1;

fn near(found: Option<f64>, expected: f64, by: f64, what: &str) {
    let value = found.unwrap_or_else(|| panic!("no {what}"));
    assert!((value - expected).abs() <= by, "{what}: {value}, not {expected}");
}

/// Numbers from 0 to 1 that are the same on every machine (a 64-bit linear congruential generator).
struct Made(u64);

impl Made {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// About normal, standard deviation 1: twelve uniform numbers.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

fn curve(times: impl IntoIterator<Item = f64>, of: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    times.into_iter().map(|t| (t, of(t))).collect()
}

fn every(step: f64, to: f64) -> impl Iterator<Item = f64> {
    (1..).map(move |i| f64::from(i) * step).take_while(move |t| *t <= to)
}

/// Trace, then E∞, residual sd, time to 90 %, time to within 0.58 mV, drift.
type Fitted<'a> = (&'a [(f64, f64)], [f64; 5]);

/// Source: `scipy.optimize.curve_fit` of SciPy 1.17.1 (Levenberg–Marquardt, tolerances 1e-14) on the same points.
const BY_SCIPY: [Fitted; 4] = [
    (
        &[(5.0, 2.9), (10.0, 1.2), (15.0, 0.5), (20.0, 0.2), (30.0, 0.0), (45.0, -0.1)],
        [-0.06814113806507018, 0.03083371000570961, 13.850835124614868, 14.80863435587588, -0.03824444926046217],
    ),
    (
        &[
            (10.0, -97.7),
            (20.0, -109.1),
            (30.0, -115.4),
            (45.0, -119.9),
            (60.0, -121.8),
            (90.0, -122.9),
            (120.0, -123.1),
        ],
        [-123.1146321107134, 0.027944784231860444, 38.74391996210978, 73.59952216966946, -0.13121146251975663],
    ),
    (
        &[
            (5.0, 84.5),
            (10.0, 100.8),
            (15.0, 112.9),
            (20.0, 122.0),
            (25.0, 129.1),
            (30.0, 134.3),
            (35.0, 138.6),
            (40.0, 142.1),
            (45.0, 143.8),
            (50.0, 145.5),
            (55.0, 147.2),
            (60.0, 148.2),
            (65.0, 148.9),
            (70.0, 149.1),
            (75.0, 149.8),
            (80.0, 150.4),
            (85.0, 150.0),
            (90.0, 150.5),
            (95.0, 150.2),
            (100.0, 150.5),
            (105.0, 150.4),
            (110.0, 150.9),
            (115.0, 150.7),
            (120.0, 151.2),
        ],
        [151.01889830984206, 0.24940248265958143, 41.23266270582403, 89.92932794732506, 0.362460797680239],
    ),
    (
        &[
            (4.0, -79.8),
            (8.0, -87.1),
            (12.0, -93.4),
            (16.0, -98.7),
            (20.0, -103.3),
            (25.0, -108.2),
            (30.0, -112.4),
            (40.0, -118.6),
            (50.0, -122.9),
            (60.0, -125.8),
            (75.0, -128.6),
            (90.0, -130.3),
        ],
        [-132.44157176724707, 0.051344982345466576, 62.17736862274568, 125.71951763514542, -4.837716221891674],
    ),
];

#[test]
fn traces_with_scatter_agree_with_scipy() {
    for (trace, [level, sd, to_90, to_within, drift]) in BY_SCIPY {
        let settled = settling(trace, WITHIN, STEP);
        near(settled.final_mv, level, 1e-5, "final value");
        near(settled.noise_mv, sd, 1e-7, "scatter");
        near(settled.time_to_90_s, to_90, 1e-4, "time to 90 %");
        near(settled.time_to_within_s, to_within, 1e-4, "time to within");
        near(settled.drift_mv_per_min, drift, 1e-5, "drift");
        assert_eq!((settled.untold, settled.longer_than_s), (None, None));
    }
}

#[test]
fn made_up_approaches_are_recovered() {
    for tau in [4.0, 9.0, 20.0] {
        for (level, a) in [(168.4, -150.0), (-177.0, 64.0), (3.0, 5.0)] {
            let settled = settling(&curve(every(5.0, 90.0), |t| level + a * (-t / tau).exp()), WITHIN, STEP);
            near(settled.final_mv, level, 1e-6, "final value");
            near(settled.time_to_within_s, tau * (a.abs() / WITHIN).ln(), 1e-3, "time to within");
            // Before the first point at 5 s lie 71 % of the step for τ = 4 s: the time to 90 % is not told.
            match tau > 4.5 {
                true => near(settled.time_to_90_s, tau * 10f64.ln(), 1e-3, "time to 90 %"),
                false => assert_eq!(settled.time_to_90_s, None),
            }
        }
    }
}

#[test]
fn a_trace_that_begins_after_the_dip_tells_the_end_but_not_the_step() {
    let settled =
        settling(&curve(every(5.0, 100.0).filter(|t| *t > 25.0), |t| 150.0 - 80.0 * (-t / 18.0).exp()), WITHIN, STEP);
    near(settled.final_mv, 150.0, 1e-6, "final value");
    near(settled.time_to_within_s, 18.0 * (80.0 / WITHIN).ln(), 1e-3, "time to within");
    assert_eq!(settled.time_to_90_s, None);
}

#[test]
fn a_fast_begin_with_a_slow_end_is_told_by_its_end() {
    let of = |t: f64| 150.0 - 90.0 * (-t / 3.0).exp() - 15.0 * (-t / 25.0).exp();
    let settled = settling(&curve(every(4.0, 120.0), of), WITHIN, STEP);
    near(settled.final_mv, 150.0, 0.1, "final value");
    near(settled.time_to_within_s, 25.0 * (15.0 / WITHIN).ln(), 4.0, "time to within");
    assert_eq!(settled.time_to_90_s, None);
}

#[test]
fn scatter_does_not_move_the_final_value_beyond_the_width() {
    let mut made = Made(20260417);
    let (mut told, mut wrong) = (0, 0);
    for _ in 0..400 {
        let (tau, noise) = (5.0 + 25.0 * made.next(), 0.5 * made.next());
        let trace = curve(every(5.0, 120.0), |t| 160.0 - 90.0 * (-t / tau).exp());
        let trace: Vec<(f64, f64)> =
            trace.iter().map(|p| (p.0, ((p.1 + noise * made.normal()) * 10.0).round() / 10.0)).collect();
        let settled = settling(&trace, WITHIN, STEP);
        told += usize::from(settled.final_mv.is_some());
        wrong += usize::from(settled.final_mv.is_some_and(|value| (value - 160.0).abs() > WITHIN));
    }
    assert!(told >= 200 && wrong <= 4, "{told} told, {wrong} wrong");
}

/// A probe whose bulb is fast and whose junction is slow: 2 % to 32 % of the step with four times and more the time
/// constant, 6 to 30 points to 40 s to 240 s, scatter 0.1 mV.
#[test]
fn a_slow_part_beneath_a_fast_one_seldom_moves_the_final_value() {
    let mut made = Made(42);
    let (mut told, mut off, mut far) = (0, 0, 0);
    for _ in 0..1500 {
        let (points, from, to) =
            (6 + (made.next() * 24.0) as usize, 2.0 + 10.0 * made.next(), 40.0 + 200.0 * made.next());
        let (step, slow_part) = (180.0 * made.next() - 90.0, 0.02 + 0.3 * made.next());
        let fast = 2.0 + 15.0 * made.next();
        let slow = 4.0 * fast + 30.0 * made.next();
        let times = (0..points).map(|i| from + (to - from) * i as f64 / (points - 1) as f64);
        let trace: Vec<(f64, f64)> = times
            .map(|t| (t, (1.0 - slow_part) * (-t / fast).exp() + slow_part * (-t / slow).exp()))
            .map(|(t, missing)| (t, ((150.0 + step * missing + 0.1 * made.normal()) * 10.0).round() / 10.0))
            .collect();
        if let Some(value) = settling(&trace, WITHIN, STEP).final_mv {
            told += 1;
            off += usize::from((value - 150.0).abs() > WITHIN);
            far += usize::from((value - 150.0).abs() > 2.0 * WITHIN);
        }
    }
    assert!(told >= 650 && off * 10 <= told && far * 30 <= told, "{told} told, {off} off, {far} far off");
}

#[test]
fn an_unfinished_trace_has_no_final_value_and_is_not_settled() {
    for tau in [40.0, 120.0, 600.0] {
        let trace = curve(every(5.0, 60.0), |t| ((-120.0 + 70.0 * (-t / tau).exp()) * 10.0f64).round() / 10.0);
        let settled = settling(&trace, WITHIN, STEP);
        assert_eq!((settled.final_mv, settled.untold), (None, Some(Untold::StillChanging)), "τ {tau}");
        assert_eq!((settled.time_to_within_s, settled.longer_than_s), (None, Some(60.0)), "τ {tau}");
        near(settled.drift_mv_per_min, 60.0 * -70.0 / tau * (-60.0 / tau).exp(), 4.0, "drift");
        assert_eq!(was_settled(&trace, &settled, Taken::default(), WITHIN), Some(false));
        let later = Taken { after_s: Some(90.0), ..Taken::default() };
        assert_eq!(was_settled(&trace, &settled, later, WITHIN), None);
    }
}

#[test]
fn a_straight_drift_and_an_accelerating_one_are_still_changing() {
    for of in [|t: f64| 20.0 + 0.2 * t, |t: f64| 20.0 + 0.004 * t * t] {
        let settled = settling(&curve(every(5.0, 60.0), of), WITHIN, STEP);
        assert_eq!((settled.final_mv, settled.untold), (None, Some(Untold::StillChanging)));
        assert_eq!(settled.longer_than_s, Some(60.0));
    }
}

#[test]
fn a_tail_that_is_no_exponential_is_not_given_one() {
    // A blocked junction: what is missing falls like 1/t, so the end looks nearer than it is.
    for scale in [2.0, 5.0, 20.0] {
        for to in [40.0, 60.0, 120.0, 240.0] {
            let trace = curve(every(to / 24.0, to), |t| 150.0 - 120.0 / (1.0 + t / scale));
            let settled = settling(&trace, WITHIN, STEP);
            assert!(settled.final_mv.is_none_or(|value| (value - 150.0).abs() <= WITHIN), "{scale} {to} {settled:?}");
        }
    }
}

#[test]
fn a_level_trace_is_settled_at_its_first_point_at_the_latest() {
    let level = |from: f64| curve(every(5.0, 90.0).filter(move |t| *t >= from), |t| 8.3 + 0.1 * ((t / 5.0) % 2.0));
    let settled = settling(&level(5.0), WITHIN, STEP);
    near(settled.final_mv, 8.35, 0.06, "final value");
    assert_eq!((settled.time_to_within_s, settled.untold), (Some(5.0), None));
    let late = settling(&level(40.0), WITHIN, STEP);
    near(late.final_mv, 8.35, 0.06, "final value");
    assert_eq!((late.time_to_within_s, late.untold), (None, Some(Untold::BegunLate)));
}

#[test]
fn a_level_end_tells_the_time_where_the_way_to_it_is_no_exponential() {
    let trace = [(0.0, 50.0), (10.0, 80.0), (20.0, 130.0), (30.0, 105.0), (40.0, 100.0), (60.0, 100.0), (80.0, 100.0)];
    let settled = settling(&trace, 1.0, 1.0);
    near(settled.final_mv, 100.0, 1e-9, "final value");
    near(settled.time_to_within_s, 38.0, 1e-9, "time to within");
    assert_eq!(settled.time_to_90_s, None);
}

#[test]
fn a_trace_too_short_or_too_rough_says_so() {
    let told = |trace: &[(f64, f64)]| settling(trace, WITHIN, STEP).untold;
    assert_eq!(told(&[]), Some(Untold::TooFewPoints));
    assert_eq!(told(&[(5.0, 1.0), (10.0, 2.0), (15.0, 2.5)]), Some(Untold::TooFewPoints));
    assert_eq!(told(&curve(every(2.0, 12.0), |_| 8.3)), Some(Untold::TooShort));
    let mut made = Made(5);
    let rough: Vec<(f64, f64)> = every(5.0, 120.0).map(|t| (t, 8.3 + 4.0 * made.normal())).collect();
    assert_eq!(told(&rough), Some(Untold::Noisy));
}

#[test]
fn a_reading_is_settled_within_the_width_and_half_its_last_digit() {
    let trace = BY_SCIPY[3].0;
    let settled = settling(trace, WITHIN, STEP);
    let typed = |value, step| Taken { mv: Some(Typed { value, step }), after_s: None };
    let taken = |taken| was_settled(trace, &settled, taken, WITHIN);
    assert_eq!(taken(typed(-132.0, 0.1)), Some(true));
    assert_eq!(taken(typed(-131.7, 0.1)), Some(false));
    assert_eq!(taken(typed(-132.0, 1.0)), Some(true));
    assert_eq!(taken(typed(-131.4, 1.0)), Some(true));
    assert_eq!(taken(typed(-131.0, 1.0)), Some(false));
    assert_eq!(taken(Taken { mv: None, after_s: Some(30.0) }), Some(false));
    assert_eq!(taken(Taken { mv: None, after_s: None }), Some(false));
    assert_eq!(taken(Taken { mv: None, after_s: Some(300.0) }), None);
}

#[test]
fn neither_order_nor_offset_nor_scale_of_the_potentials_touches_the_times() {
    for (trace, _) in BY_SCIPY {
        let plain = settling(trace, WITHIN, STEP);
        for (offset, scale) in [(300.0, 1.0), (-55.5, -1.0), (0.0, 1e-3), (1000.0, 40.0)] {
            let mut other: Vec<(f64, f64)> = trace.iter().map(|p| (p.0, offset + scale * p.1)).collect();
            other.reverse();
            let moved = settling(&other, WITHIN * f64::abs(scale), STEP * f64::abs(scale));
            near(moved.time_to_within_s, plain.time_to_within_s.unwrap(), 1e-4, "time to within");
            near(moved.time_to_90_s, plain.time_to_90_s.unwrap(), 1e-4, "time to 90 %");
            near(moved.final_mv, offset + scale * plain.final_mv.unwrap(), 1e-4 * f64::abs(scale), "final value");
        }
    }
}

#[test]
fn a_wider_width_is_never_reached_later() {
    for (trace, _) in BY_SCIPY {
        let time = |within| settling(trace, within, STEP).time_to_within_s.unwrap();
        assert!([0.55, 0.6, 0.8, 1.0].windows(2).all(|pair| time(pair[0]) >= time(pair[1])));
    }
}

#[test]
fn any_finite_trace_gives_finite_figures_or_none() {
    let mut made = Made(1);
    let extreme = [0.0, -0.0, f64::MAX, f64::MIN, f64::MIN_POSITIVE, 5e-324, 1e-300, 1e300, -1e-12];
    for _ in 0..5_000 {
        let points = (made.next() * 12.0) as usize;
        let mut number = |size: f64| match made.next() {
            pick if pick < 0.1 => extreme[(made.next() * extreme.len() as f64) as usize],
            _ => ((made.next() - 0.3) * size).round() / 10.0,
        };
        let trace: Vec<(f64, f64)> = (0..points).map(|_| (number(1200.0), number(4000.0))).collect();
        let within = 0.1 + made.next();
        let settled = settling(&trace, within, STEP);
        let figures = [
            settled.final_mv,
            settled.time_to_90_s,
            settled.time_to_within_s,
            settled.drift_mv_per_min,
            settled.noise_mv,
            settled.longer_than_s,
        ];
        assert!(figures.iter().flatten().all(|figure| figure.is_finite()), "{trace:?} {settled:?}");
        assert!(settled.time_to_within_s.is_some() || settled.untold.is_some(), "{trace:?} {settled:?}");
        was_settled(&trace, &settled, Taken { mv: None, after_s: Some(60.0) }, within);
    }
}

#[test]
fn a_hundredth_ph_follows_the_slope_of_the_probe() {
    assert_eq!(within_0_01_ph(None, 59.16), (0.5916, true));
    assert_eq!(within_0_01_ph(Some(50.0), 59.16), (0.2958, false));
    assert_eq!(within_0_01_ph(Some(1.2), 59.16), (0.5916, true));
    assert_eq!(within_0_01_ph(Some(-96.0), 59.16), (0.5916, true));
}
