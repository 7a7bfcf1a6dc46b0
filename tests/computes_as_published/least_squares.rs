//! The straight line, through the same code that fits a probe.

use crate::{assert_nine_digits, assert_printed, number, rows};
use halfcell::engine::line::{Line, straight_line};

/// Points of a StRD file, whose columns are y,x.
fn strd(table: &str) -> Vec<(f64, f64)> {
    rows(table).iter().map(|row| (number(row[1]), number(row[0]))).collect()
}

fn on_1_to_6(y: [f64; 6]) -> Line {
    let points: Vec<(f64, f64)> = (1..=6).map(f64::from).zip(y).collect();
    straight_line(&points).unwrap()
}

/// Source: NIST Statistical Reference Datasets, linear regression, Norris.dat, certified values.
#[test]
fn norris_is_met_to_nine_digits() {
    let points = strd(include_str!("../reference/strd_norris.csv"));
    assert_eq!(points.len(), 36);
    let line = straight_line(&points).unwrap();
    let scatter = line.scatter.unwrap();
    assert_nine_digits(line.intercept, -0.262323073774029, "B0");
    assert_nine_digits(line.slope, 1.00211681802045, "B1");
    assert_nine_digits(scatter.intercept_error, 0.232818234301152, "sd(B0)");
    assert_nine_digits(scatter.slope_error, 0.429796848199937E-03, "sd(B1)");
    assert_nine_digits(scatter.residual_sd, 0.884796396144373, "residual sd");
    assert_nine_digits(line.sum_of_squares_residual, 26.6173985294224, "residual sum of squares");
    assert_nine_digits(line.correlation.unwrap().powi(2), 0.999993745883712, "R squared");
}

/// Source: NIST Statistical Reference Datasets, linear regression, Pontius.dat: certified is a parabola of residual sum
/// of squares 0.155761768796992E-05, so a straight line leaves the curvature: negative residuals at both ends, positive
/// in the middle.
#[test]
fn a_straight_line_leaves_the_curvature_of_pontius() {
    let points = strd(include_str!("../reference/strd_pontius.csv"));
    assert_eq!(points.len(), 40);
    let line = straight_line(&points).unwrap();
    assert!(line.sum_of_squares_residual > 100.0 * 0.155761768796992E-05);
    let mean_residual = |from: f64, to: f64| {
        let inside: Vec<f64> = points.iter().filter(|p| from <= p.0 && p.0 <= to).map(|p| p.1 - line.at(p.0)).collect();
        inside.iter().sum::<f64>() / inside.len() as f64
    };
    assert!(mean_residual(150_000.0, 450_000.0) < 0.0);
    assert!(mean_residual(1_350_000.0, 1_650_000.0) > 0.0);
    assert!(mean_residual(2_700_000.0, 3_000_000.0) < 0.0);
}

/// Source: ISO/TS 28037:2010, straight line with equal weights, u(y) = 0.5: a = 1.867, b = 1.757, u(a) = 0.465,
/// u(b) = 0.120, cov = −0.050, χ² = 1.665. Known u: the standard errors times u/s.
#[test]
fn iso_28037_equal_weights() {
    let line = on_1_to_6([3.3, 5.6, 7.1, 9.3, 10.7, 12.1]);
    let scatter = line.scatter.unwrap();
    let to_known = 0.5 / scatter.residual_sd;
    assert_printed(line.intercept, "1.867", "a");
    assert_printed(line.slope, "1.757", "b");
    assert_printed(scatter.intercept_error * to_known, "0.465", "u(a)");
    assert_printed(scatter.slope_error * to_known, "0.120", "u(b)");
    assert_printed(scatter.covariance * to_known.powi(2), "-0.050", "cov(a, b)");
    assert_printed(line.sum_of_squares_residual / 0.25, "1.665", "χ²");
}

/// Source: ISO/TS 28037:2010, straight line with unknown equal u(y): a = 1.172, b = 1.964, u(a) = 0.159, u(b) = 0.041,
/// cov = −0.006.
#[test]
fn iso_28037_unknown_uncertainty() {
    let line = on_1_to_6([3.014, 5.225, 7.004, 9.061, 11.201, 12.762]);
    let scatter = line.scatter.unwrap();
    assert_printed(line.intercept, "1.172", "a");
    assert_printed(line.slope, "1.964", "b");
    assert_printed(scatter.intercept_error, "0.159", "u(a)");
    assert_printed(scatter.slope_error, "0.041", "u(b)");
    assert_printed(scatter.covariance, "-0.006", "cov(a, b)");
    assert_printed(line.at(3.5), "8.04", "y at 3.5");
}

/// Source: JCGM 100:2008 (GUM), H.3, calibration of a thermometer: y1 = −0.1712, u 0.0029; y2 = 0.00218, u 0.00067;
/// r = −0.930; s = 0.0035; b(30 °C) = −0.1494, u 0.0041.
#[test]
fn gum_h3_thermometer() {
    let read = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let correction = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let points: Vec<(f64, f64)> = read.iter().map(|t| t - 20.0).zip(correction).collect();
    let line = straight_line(&points).unwrap();
    let scatter = line.scatter.unwrap();
    let r = scatter.covariance / (scatter.intercept_error * scatter.slope_error);
    let variance_at_30 =
        scatter.intercept_error.powi(2) + 100.0 * scatter.slope_error.powi(2) + 20.0 * scatter.covariance;
    assert_printed(line.intercept, "-0.1712", "y1");
    assert_printed(line.slope, "0.00218", "y2");
    assert_printed(scatter.intercept_error, "0.0029", "u(y1)");
    assert_printed(scatter.slope_error, "0.00067", "u(y2)");
    assert_printed(r, "-0.930", "r(y1, y2)");
    assert_printed(scatter.residual_sd, "0.0035", "s");
    assert_printed(line.at(10.0), "-0.1494", "b(30 °C)");
    assert_printed(variance_at_30.sqrt(), "0.0041", "u(b(30 °C))");
}

/// Source: JCGM 100:2008 (GUM), H.3, its data and line: the standard deviation of a single new observation at 30 °C,
/// s·√(1 + 1/n + (x − x̄)²/Sxx) = 0.005 418 572 550 438, worked out apart from this program in double precision; the
/// published u(b(30 °C)) 0.0041 and s 0.0035 are its two parts. t(0.975, 9) = 2.26 from Table G.2.
#[test]
fn gum_h3_prediction_of_a_single_observation() {
    let read = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let correction = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let points: Vec<(f64, f64)> = read.into_iter().zip(correction).collect();
    let ageing = halfcell::engine::history::ageing(&points).unwrap();
    let single = ageing.single_sd(30.0).unwrap();
    assert_nine_digits(single, 0.005418572550438, "single observation at 30 °C");
    let of_line = single.powi(2) - ageing.line.scatter.unwrap().residual_sd.powi(2);
    assert_printed(of_line.sqrt(), "0.0041", "u(b(30 °C))");
    assert_printed(ageing.half_band(30.0).unwrap() / single, "2.26", "t(0.975, 9)");
    assert!(ageing.has_direction(), "y2 = 0.00218, u 0.00067 with 9 degrees of freedom");
}
