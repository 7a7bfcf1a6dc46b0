//! Slope and offset of a pH probe: the trade's rules of thumb, hand arithmetic, made-up probes recovered, and a slow
//! second implementation.

use crate::assert_printed;
use halfcell::engine::fit::{Fit, Point, fit};
use halfcell::reference::buffers::Buffer;
use halfcell::reference::slope_mv_per_ph;

fn at_25(mv: f64, ph: f64) -> Point {
    Point { mv, temperature_c: 25.0, ph }
}

/// Slope in percent of a probe with this difference of potential over 3 pH at a temperature.
fn percent_of(difference_mv: f64, temperature_c: f64) -> f64 {
    let in_4 = Point { mv: difference_mv, temperature_c, ph: 4.0 };
    fit(&[Point { mv: 0.0, temperature_c, ph: 7.0 }, in_4]).unwrap().slope_percent.unwrap()
}

/// Source: common practice, no source: about 59 mV per pH at room temperature, 177 mV for 3 pH; 160 mV instead is 90 %,
/// 142 mV is 80 %, 124 mV is 70 %; the same 160 mV is 92 % at 20 °C and 89 % at 30 °C.
#[test]
fn rules_of_thumb_come_out() {
    assert_printed(slope_mv_per_ph(25.0), "59", "mV per pH");
    assert_printed(3.0 * slope_mv_per_ph(25.0), "177", "mV for 3 pH");
    assert_printed(percent_of(160.0, 25.0), "90", "160 mV");
    assert_printed(percent_of(142.0, 25.0), "80", "142 mV");
    assert_printed(percent_of(124.2, 25.0), "70", "124.2 mV");
    assert_printed(percent_of(160.0, 20.0), "92", "160 mV at 20 °C");
    assert_printed(percent_of(160.0, 30.0), "89", "160 mV at 30 °C");
    assert_printed(percent_of(177.48, 25.0), "100.0", "177.48 mV");
}

/// Source: common practice, no source: within ±50 mV in pH 7 is ±0.845 pH, ±30 mV is ±0.507 pH (50/59.159, 30/59.159).
#[test]
fn an_offset_moves_the_zero_point() {
    for (offset, zero_point) in [(50.0, "7.845"), (-50.0, "6.155"), (30.0, "7.507"), (-30.0, "6.493")] {
        let perfect = offset + 3.0 * slope_mv_per_ph(25.0);
        let fit = fit(&[at_25(offset, 7.0), at_25(perfect, 4.0)]).unwrap();
        assert_printed(fit.zero_point_ph.unwrap(), zero_point, "zero point");
    }
}

/// Source: by hand, in pH 6.865 and 4.005 at 25 °C: (168.4 − 8.3) mV / 2.860 = 55.979 mV per pH, / 59.16 mV = 94.62 %;
/// offset 8.3 − 55.979 × 0.135 = 0.743 mV; zero point 7 + 0.743/55.979 = 7.013.
#[test]
fn two_readings_at_25_degrees_are_subtracted_and_divided() {
    let fit = fit(&[at_25(8.3, 6.865), at_25(168.4, 4.005)]).unwrap();
    assert_printed(fit.slope_percent.unwrap(), "94.62", "slope in percent");
    assert_printed(fit.slope_mv_per_ph_25c.unwrap(), "55.979", "slope at 25 °C");
    assert_printed(fit.slope_mv_per_ph.unwrap(), "55.979", "slope at the mean temperature");
    assert_printed(fit.offset_mv.unwrap(), "0.743", "offset");
    assert_printed(fit.zero_point_ph.unwrap(), "7.013", "zero point");
    assert_eq!((fit.residual_sd_mv, fit.correlation), (None, None));
    assert!(fit.points.iter().all(|p| p.residual_mv.unwrap().abs() < 1e-12));
}

/// Source: own construction: every made-up probe comes back, in two to five buffers, with repeats, at mixed temperatures.
#[test]
fn a_made_up_slope_and_offset_are_recovered() {
    let mut chance = Chance(20_260_417);
    for _ in 0..400 {
        let probe = Probe { slope_ratio: chance.between(0.25, 1.1), offset_mv: chance.between(-120.0, 120.0) };
        let readings = made_up(&mut chance, &probe, 0.0);
        let fit = fit(&readings).unwrap();
        assert!((fit.slope_ratio.unwrap() - probe.slope_ratio).abs() < 1e-12);
        assert!((fit.offset_mv.unwrap() - probe.offset_mv).abs() < 1e-9);
        let nudged = Probe { slope_ratio: probe.slope_ratio + 1e-9, ..probe };
        assert!((fit.slope_ratio.unwrap() - nudged.slope_ratio).abs() > 1e-10);
        for segment in &fit.segments {
            assert!((segment.slope_percent - 100.0 * probe.slope_ratio).abs() < 1e-9);
        }
        assert!(fit.points.iter().all(|p| p.residual_ph.unwrap().abs() < 1e-9));
    }
}

/// Source: own construction: a second, literal implementation by normal equations, scattered readings.
#[test]
fn a_second_implementation_agrees() {
    let mut chance = Chance(1_889);
    for _ in 0..400 {
        let probe = Probe { slope_ratio: chance.between(0.4, 1.05), offset_mv: chance.between(-60.0, 60.0) };
        let readings = made_up(&mut chance, &probe, 3.0);
        let (ours, literal) = (fit(&readings).unwrap(), Literal::of(&readings));
        close(ours.slope_percent.unwrap(), literal.slope_percent);
        close(ours.offset_mv.unwrap(), literal.offset_mv);
        close(ours.zero_point_ph.unwrap(), literal.zero_point_ph);
        close(ours.slope_mv_per_ph_25c.unwrap(), literal.slope_mv_per_ph_25c);
        close(ours.slope_mv_per_ph.unwrap(), literal.slope_mv_per_ph);
        assert_eq!(ours.residual_sd_mv.is_some(), readings.len() > 2);
        if readings.len() > 2 {
            close(ours.residual_sd_mv.unwrap(), literal.residual_sd_mv);
            close(ours.correlation.unwrap(), literal.correlation);
        }
        for (point, residual_ph) in ours.points.iter().zip(&literal.residual_ph) {
            close(point.residual_ph.unwrap(), *residual_ph);
        }
        assert!((ours.slope_percent.unwrap() - literal.slope_percent * 1.000_001).abs() > 1e-9);
    }
}

/// Source: own construction: readings in any order give the same figures, and each reading keeps its own residual.
#[test]
fn the_order_of_readings_does_not_matter() {
    let mut chance = Chance(7);
    for _ in 0..100 {
        let readings = made_up(&mut chance, &Probe { slope_ratio: 0.93, offset_mv: -11.0 }, 4.0);
        let mut order: Vec<usize> = (0..readings.len()).collect();
        for last in (1..order.len()).rev() {
            order.swap(last, chance.below(last + 1));
        }
        let shuffled: Vec<Point> = order.iter().map(|&i| readings[i]).collect();
        let (one, other) = (fit(&readings).unwrap(), fit(&shuffled).unwrap());
        let figures =
            |f: &Fit| [f.slope_percent, f.offset_mv, f.zero_point_ph, Some(f.span_ph), Some(f.mean_temperature_c)];
        for (a, b) in figures(&one).into_iter().zip(figures(&other)) {
            close(a.unwrap(), b.unwrap());
        }
        assert_eq!(one.segments.len(), other.segments.len());
        for (place, &i) in order.iter().enumerate() {
            close(other.points[place].residual_mv.unwrap(), one.points[i].residual_mv.unwrap());
            assert_eq!(other.points[place].group, one.points[i].group);
        }
    }
}

/// Source: own construction: a probe that responds the wrong way round never looks healthy.
#[test]
fn readings_with_the_sign_changed_have_a_negative_slope() {
    let mut chance = Chance(3);
    for _ in 0..50 {
        let mut readings = made_up(&mut chance, &Probe { slope_ratio: 0.95, offset_mv: 5.0 }, 0.0);
        readings.iter_mut().for_each(|r| r.mv = -r.mv);
        let fit = fit(&readings).unwrap();
        close(fit.slope_percent.unwrap(), -95.0);
        assert_eq!(fit.zero_point_ph, None);
    }
}

fn close(one: f64, other: f64) {
    assert!((one - other).abs() <= 1e-9 * other.abs().max(1.0), "{one} is not {other}");
}

struct Probe {
    slope_ratio: f64,
    offset_mv: f64,
}

/// Two to five different buffers, one to three readings in each, 10 °C to 20 °C or 25 °C to 35 °C, ± `scatter` mV.
fn made_up(chance: &mut Chance, probe: &Probe, scatter_mv: f64) -> Vec<Point> {
    let set = [Buffer::Tetroxalate, Buffer::Phthalate, Buffer::Technical7, Buffer::Borax, Buffer::Carbonate];
    let coldest = if chance.below(2) == 0 { 10.0 } else { 25.0 };
    let buffers = 2 + chance.below(4);
    let first = chance.below(set.len());
    let mut readings = Vec::new();
    for buffer in (0..buffers).map(|i| set[(first + i) % set.len()]) {
        for _ in 0..=chance.below(3) {
            let temperature_c = coldest + chance.between(0.0, 10.0);
            let ph = buffer.ph(temperature_c).unwrap();
            let kelvin = temperature_c + 273.15;
            let nernst = std::f64::consts::LN_10 * 8.314_462_618_153_24 * kelvin / 96.485_332_123_310_02;
            let scatter = chance.between(-scatter_mv, scatter_mv);
            let mv = probe.offset_mv + probe.slope_ratio * nernst * (7.0 - ph) + scatter;
            readings.push(Point { mv, temperature_c, ph });
        }
    }
    readings
}

/// The fit as a textbook writes it: uncentred sums, normal equations by Cramer's rule. Source: JCGM 100:2008, H.3.2.
struct Literal {
    slope_percent: f64,
    offset_mv: f64,
    zero_point_ph: f64,
    slope_mv_per_ph_25c: f64,
    slope_mv_per_ph: f64,
    residual_sd_mv: f64,
    correlation: f64,
    residual_ph: Vec<f64>,
}

impl Literal {
    fn of(readings: &[Point]) -> Literal {
        let k = |t: f64| std::f64::consts::LN_10 * 8.314_462_618_153_24 * (t + 273.15) / 96.485_332_123_310_02;
        let (mut n, mut x, mut y, mut xx, mut xy, mut yy, mut t) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for r in readings {
            let theory = k(r.temperature_c) * (7.0 - r.ph);
            n += 1.0;
            x += theory;
            y += r.mv;
            xx += theory * theory;
            xy += theory * r.mv;
            yy += r.mv * r.mv;
            t += r.temperature_c;
        }
        let determinant = n * xx - x * x;
        let offset = (xx * y - x * xy) / determinant;
        let ratio = (n * xy - x * y) / determinant;
        let residual = |r: &Point| r.mv - offset - ratio * k(r.temperature_c) * (7.0 - r.ph);
        Literal {
            slope_percent: 100.0 * ratio,
            offset_mv: offset,
            zero_point_ph: 7.0 + offset / (ratio * k(t / n)),
            slope_mv_per_ph_25c: ratio * k(25.0),
            slope_mv_per_ph: ratio * k(t / n),
            residual_sd_mv: (readings.iter().map(|r| residual(r).powi(2)).sum::<f64>() / (n - 2.0)).sqrt(),
            correlation: (n * xy - x * y) / (determinant * (n * yy - y * y)).sqrt(),
            residual_ph: readings.iter().map(|r| -residual(r) / (ratio * k(r.temperature_c))).collect(),
        }
    }
}

/// Numbers that look random and are the same in every run. Source: SplitMix64, Steele, Lea and Flood, OOPSLA 2014.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
}
