//! Nernst slope and platinum elements by temperature.

use crate::{assert_nine_digits, assert_printed, last_digit, number, rows};
use halfcell::engine::temperature::cost_ph;
use halfcell::reference::platinum::PlatinumElement;
use halfcell::reference::slope_mv_per_ph;

/// Source: SI constants of 2019 in 40-digit arithmetic, 0 °C to 100 °C; Ph. Eur. 11.0, 2.2.3 to one decimal.
#[test]
fn nernst_slope_from_0_to_100_degrees() {
    let table = rows(include_str!("../reference/nernst.csv"));
    assert_eq!(table.len(), 21);
    for row in table {
        let slope = slope_mv_per_ph(number(row[0]));
        assert_nine_digits(slope, number(row[1]), row[0]);
        assert!((slope / number(row[1]) - 1.0).abs() < 1e-14, "{} °C", row[0]);
        if !row[2].is_empty() {
            assert_printed(slope, row[2], row[0]);
        }
    }
}

/// Source: IEC 60751, table of resistances, Pt100 to two decimals; rows below 0 °C and above 100 °C from memory.
#[test]
fn platinum_elements_meet_the_table_both_ways() {
    for row in rows(include_str!("../reference/pt100.csv")) {
        let (t, printed) = (number(row[0]), row[1]);
        let resistance = PlatinumElement::Pt100.resistance_ohm(t).unwrap();
        assert_printed(resistance, printed, &format!("{t} °C"));
        assert!((PlatinumElement::Pt1000.resistance_ohm(t).unwrap() - 10.0 * resistance).abs() < 1e-9);
        // Half the last digit of a resistance is less than 0.02 °C (0.29 Ω per °C at 850 °C, 0.43 at −200 °C).
        if let Ok(back) = PlatinumElement::Pt100.temperature_c(number(printed)) {
            let half_digit_c = last_digit(printed) / 2.0 / 0.29;
            assert!((back - t).abs() <= half_digit_c, "{printed} Ω is {back} °C, not {t} °C");
            assert!((back - (t + 0.1)).abs() > half_digit_c);
        } else {
            assert!(t == -200.0 || t == 850.0, "{printed} Ω has no temperature");
        }
    }
}

/// Source: common practice, no source: 1 °C too high at pH 4 costs 0.010 pH at 25 °C, nothing at pH 7.
#[test]
fn one_degree_costs_a_hundredth_at_ph_4() {
    assert_printed(cost_ph(4.0, 1.0, 25.0), "0.010", "pH 4");
    assert_printed(cost_ph(10.0, 1.0, 25.0), "-0.010", "pH 10");
    assert_eq!(cost_ph(7.0, 1.0, 25.0), 0.0);
}
