use super::*;
use crate::reference::slope_mv_per_ph;

const SEVEN: Buffer = Buffer::Phosphate;
const FOUR: Buffer = Buffer::Phthalate;
const NINE: Buffer = Buffer::Borax;
const TEN: Buffer = Buffer::Carbonate;

/// Buffer, potential, temperature and value shown, as typed.
type Line = (Buffer, &'static str, &'static str, Option<&'static str>);

fn typed(text: &str) -> Typed {
    let decimals = text.split('.').nth(1).map_or(0, str::len);
    Typed { value: text.parse().unwrap(), step: 10f64.powi(-(decimals as i32)) }
}

fn looked(lines: &[Line], stored: Option<Stored>) -> Option<Suspicion> {
    let values = Buffer::ALL.map(BufferValue::published);
    let readings: Vec<Reading<'_>> = lines
        .iter()
        .map(|&(buffer, mv, temperature_c, shown)| Reading {
            standard: buffer as usize,
            value: &values[buffer as usize],
            mv: typed(mv),
            temperature_c: typed(temperature_c),
            shown: shown.map(typed),
        })
        .collect();
    search(&readings, stored)
}

/// Codes named for lines without value shown at 25 °C.
fn at_25(lines: &[(Buffer, &'static str)]) -> Vec<&'static str> {
    let lines: Vec<Line> = lines.iter().map(|&(buffer, mv)| (buffer, mv, "25.0", None)).collect();
    codes(&lines)
}

fn codes(lines: &[Line]) -> Vec<&'static str> {
    looked(lines, None).map_or_else(Vec::new, |told| told.slips.iter().map(|slip| slip.kind.code()).collect())
}

/// The first slip named.
fn first(lines: &[Line]) -> Slip {
    looked(lines, None).expect("an implausible set").slips[0]
}

#[test]
fn a_plausible_set_is_left_alone() {
    assert_eq!(looked(&[(SEVEN, "8.3", "25.0", Some("6.88")), (FOUR, "168.4", "25.0", Some("4.01"))], None), None);
    assert_eq!(at_25(&[(SEVEN, "8.3"), (FOUR, "168.4"), (NINE, "-121.4")]), [""; 0]);
    assert_eq!(looked(&[], None), None);
    assert_eq!(at_25(&[(SEVEN, "8.3")]), [""; 0]);
}

#[test]
fn exchanged_buffers_and_exchanged_potentials_are_one_slip() {
    assert_eq!(at_25(&[(SEVEN, "168.4"), (FOUR, "8.3"), (NINE, "-121.4")]), ["buffers-exchanged"]);
    let slip = first(&[(SEVEN, "168.4", "25.0", Some("4.01")), (FOUR, "8.3", "25.0", Some("6.87"))]);
    assert_eq!((slip.kind, slip.figure, slip.other), (Kind::BuffersExchanged, Figure::Standard, Some(1)));
    let slip = first(&[(SEVEN, "168.4", "25.0", Some("6.87")), (FOUR, "8.3", "25.0", Some("4.01"))]);
    assert_eq!((slip.kind, slip.figure), (Kind::BuffersExchanged, Figure::Mv), "the display knows which was exchanged");
    // Near miss: reversed, and no exchange makes it good.
    let near = looked(&[(SEVEN, "68.4", "25.0", None), (FOUR, "8.3", "25.0", None)], None).unwrap();
    assert_eq!((near.gravity, near.slips.len()), (Gravity::Reversed, 0));
}

#[test]
fn bottles_exchanged_in_every_reading_are_one_slip() {
    let set = [(SEVEN, "168.4"), (FOUR, "8.3"), (SEVEN, "168.1"), (FOUR, "8.5")];
    assert_eq!(at_25(&set), ["buffers-exchanged"]);
}

#[test]
fn a_lost_sign_is_found_in_one_and_in_all() {
    assert_eq!(at_25(&[(SEVEN, "8.3"), (FOUR, "168.4"), (NINE, "121.4")]), ["sign-lost"]);
    let all = first(&[(SEVEN, "-8.3", "25.0", None), (FOUR, "-168.4", "25.0", None)]);
    assert!(all.kind == Kind::SignLost && all.all && all.would_be.is_none());
    // Near miss: a sign within the offset of a good probe says nothing.
    assert_eq!(at_25(&[(SEVEN, "-8.3"), (FOUR, "168.4"), (NINE, "-121.4")]), [""; 0]);
}

#[test]
fn exchanged_digits_are_found_beyond_the_offset() {
    let slip = first(&[(SEVEN, "8", "25.0", None), (FOUR, "618", "25.0", None)]);
    assert_eq!((slip.kind, slip.would_be.map(|typed| typed.value)), (Kind::DigitsExchanged, Some(168.0)));
    // A slip that the display does not confirm is not named.
    let shown = |four| [(SEVEN, "8.3", "25.0", Some("6.88")), (FOUR, "618.4", "25.0", Some(four))];
    assert_eq!(codes(&shown("4.01")), ["digits-exchanged"]);
    assert_eq!(codes(&shown("5.30")), [""; 0]);
    // Near miss: 8.3 as 3.8 lies within the offset.
    assert_eq!(at_25(&[(SEVEN, "3.8"), (FOUR, "168.4")]), [""; 0]);
}

#[test]
fn a_moved_point_leaves_its_digits_behind() {
    let slip = first(&[(SEVEN, "8.3", "25.0", None), (FOUR, "16.84", "25.0", None)]);
    assert_eq!((slip.kind, slip.would_be), (Kind::PointMoved, Some(typed("168.4"))));
    assert_eq!(at_25(&[(SEVEN, "8.3"), (FOUR, "1684")]), ["point-moved"]);
    assert_eq!(at_25(&[(SEVEN, "8.3"), (FOUR, "1.684")]), ["point-moved"]);
    // Near miss: 17.0 is what a dead probe gives, read like its neighbour.
    assert_eq!(at_25(&[(SEVEN, "2.0"), (FOUR, "17.0")]), [""; 0]);
}

#[test]
fn what_is_shown_speaks_against_a_slip_of_a_dead_probe() {
    let dead = |shown| [(SEVEN, "2.0", "25.0", Some("6.97")), (FOUR, "17.00", "25.0", Some(shown))];
    assert_eq!(codes(&dead("6.70")), [""; 0], "the analyser showed what the dead probe gave");
    assert_eq!(codes(&dead("4.06")), ["point-moved"]);
}

#[test]
fn fahrenheit_is_found_in_one_and_in_all() {
    let slip = first(&[(SEVEN, "8.3", "21.8", None), (FOUR, "168.4", "71", None)]);
    assert_eq!((slip.kind, slip.figure, slip.row), (Kind::Fahrenheit, Figure::Temperature, 1));
    assert!((slip.would_be.unwrap().value - 21.67).abs() < 0.01);
    let all = first(&[(SEVEN, "8.3", "71.2", None), (FOUR, "168.4", "71.4", None)]);
    assert!(all.kind == Kind::Fahrenheit && all.all);
    // Near miss: a warm bottle that is no °F of its neighbours.
    assert_eq!(codes(&[(SEVEN, "8.3", "21.8", None), (FOUR, "168.4", "31.0", None)]), [""; 0]);
}

#[test]
fn slips_in_a_temperature_must_end_beside_the_others() {
    let with = |t| {
        let lines = [(SEVEN, "8.3", "21.8", None), (FOUR, "168.4", t, None), (NINE, "-121.4", "21.7", None)];
        codes(&lines)
    };
    assert_eq!(with("12.8"), ["digits-exchanged"]);
    assert_eq!(with("2.18"), ["point-moved"]);
    assert_eq!(with("13.0"), [""; 0], "near miss: a cold bottle");
    assert_eq!(with("17.8"), [""; 0], "near miss: a cool bottle");
}

#[test]
fn volts_are_found_in_one_and_in_all() {
    assert_eq!(at_25(&[(SEVEN, "8.3"), (FOUR, "0.1684")]), ["volts"]);
    let all = first(&[(SEVEN, "0.0083", "25.0", None), (FOUR, "0.1684", "25.0", None)]);
    assert!(all.kind == Kind::Volts && all.all);
    // Near miss: a dead probe at 0.2 mV.
    assert_eq!(at_25(&[(SEVEN, "0.1"), (FOUR, "0.2")]), [""; 0]);
}

#[test]
fn another_bottle_is_found_by_the_slope_or_by_the_display() {
    // 97 % in carbonate, named borax: 6.01 pH instead of 5.18.
    let slip = first(&[(FOUR, "171.9", "25.0", None), (NINE, "-172.8", "25.0", None)]);
    assert_eq!((slip.kind, slip.buffer), (Kind::BufferFamily, Some(TEN)));
    // 83 % is a weak probe, unless the display is right in borax.
    let named = |shown| [(SEVEN, "7.7", "25.0", Some("6.86")), (TEN, "-125.1", "25.0", Some(shown))];
    let slip = first(&named("9.18"));
    assert_eq!((slip.kind, slip.buffer), (Kind::BufferFamily, Some(NINE)));
    assert_eq!(codes(&named("9.30")), [""; 0], "near miss");
    assert_eq!(at_25(&[(SEVEN, "7.7"), (TEN, "-125.1")]), [""; 0], "near miss: a slope of 71 % alone");
}

#[test]
fn a_ph_as_potential_is_found_by_its_digits() {
    assert_eq!(at_25(&[(SEVEN, "6.87"), (FOUR, "4.01")]), ["ph-as-mv"]);
    let one = codes(&[(SEVEN, "8.3", "25.0", None), (FOUR, "4.01", "25.0", None), (NINE, "-121.4", "25.0", None)]);
    assert!(one.contains(&"ph-as-mv"), "{one:?}");
    let repeated = [(SEVEN, "7.02", "25.0", Some("7.02")), (FOUR, "168.4", "25.0", Some("4.01"))];
    assert_eq!(codes(&repeated), ["ph-as-mv"], "a potential that repeats the display, digit by digit");
    // Near miss: a dead probe read to 0.1 mV.
    assert_eq!(at_25(&[(SEVEN, "6.9"), (FOUR, "4.1")]), [""; 0]);
    assert_eq!(at_25(&[(SEVEN, "6.9"), (FOUR, "168.4")]), [""; 0]);
}

#[test]
fn what_the_analyser_holds_tells_a_wrong_potential() {
    let stored = Some(Stored { slope_percent: typed("97.1"), offset_mv: typed("2.0") });
    let lines = |mv| [(SEVEN, "8.3", "25.0", Some("6.90")), (FOUR, mv, "25.0", Some("4.11"))];
    assert_eq!(looked(&lines("168.4"), stored), None);
    let told = looked(&lines("186.4"), stored).unwrap();
    assert_eq!((told.slips[0].kind, told.slips[0].would_be), (Kind::DigitsExchanged, Some(typed("168.4"))));
    assert_eq!(told.gravity, Gravity::Odd, "105.2 %");
}

#[test]
fn dead_and_weak_probes_are_no_slips() {
    for percent in [-5.0f64, 0.0, 3.0, 8.0, 40.0, 55.0, 65.0, 83.0] {
        let k = slope_mv_per_ph(25.0) * percent / 100.0;
        let mv = |ph: f64| -> &'static str { format!("{:.1}", 12.0 + k * (7.0 - ph)).leak() };
        let told = at_25(&[(SEVEN, mv(6.865)), (FOUR, mv(4.005)), (NINE, mv(9.18))]);
        assert!(told.is_empty(), "{percent} %: {told:?}");
    }
}

#[test]
fn the_order_of_readings_does_not_matter() {
    let sets: [[(Buffer, &'static str); 3]; 4] = [
        [(SEVEN, "168.4"), (FOUR, "8.3"), (NINE, "-121.4")],
        [(SEVEN, "8.3"), (FOUR, "168.4"), (NINE, "121.4")],
        [(SEVEN, "8.3"), (FOUR, "16.84"), (NINE, "-121.4")],
        [(SEVEN, "8.3"), (FOUR, "618.4"), (NINE, "-121.4")],
    ];
    for set in sets {
        let named = at_25(&set);
        assert!(!named.is_empty(), "{set:?}");
        for order in [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
            assert_eq!(at_25(&order.map(|at| set[at])), named, "{set:?} {order:?}");
        }
    }
}

#[test]
fn nothing_panics_on_any_finite_input() {
    let values = Buffer::ALL.map(BufferValue::published);
    let numbers = [0.0, -0.0, 1.0, -8.3, 168.4, 1e-12, 1e12, -1e12, f64::MAX, f64::MIN_POSITIVE, 25.0];
    let steps = [0.0, 0.1, 1.0, 1e-12, 1e12];
    let mut at = 0;
    let mut next = |of: usize| {
        at += 7919;
        at % of
    };
    for _ in 0..3000 {
        let mut any = || Typed { value: numbers[next(numbers.len())], step: steps[next(steps.len())] };
        let mut reading = |standard: usize| Reading {
            standard,
            value: &values[standard],
            mv: any(),
            temperature_c: any(),
            shown: Some(any()),
        };
        let set = [reading(4), reading(3), reading(6), reading(4)];
        let _ = search(&set, None);
        let _ = search(&set[..2], Some(Stored { slope_percent: any(), offset_mv: any() }));
    }
}
