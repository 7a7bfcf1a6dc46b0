//! pH of buffers.

use crate::{assert_printed, number, rounds_to, rows};
use halfcell::reference::buffers::{Buffer, BufferValue};

/// Source: NBS SP 260-53; IUPAC Recommendations 2002, Table 2; DIN 19266: every value tabulated there.
#[test]
fn reference_buffers_meet_every_tabulated_value() {
    let table = rows(include_str!("../reference/buffers.csv"));
    for row in &table {
        let buffer = Buffer::from_name(row[0]).unwrap_or_else(|| panic!("{} is no buffer", row[0]));
        assert_printed(buffer.ph(number(row[1])).unwrap(), row[2], &format!("{} at {} °C", row[0], row[1]));
    }
    for buffer in Buffer::ALL.into_iter().filter(|b| b.is_reference()) {
        let of_buffer = || table.iter().filter(|row| row[0] == buffer.name()).map(|row| number(row[1]));
        let range = buffer.range();
        assert_eq!(of_buffer().fold(f64::INFINITY, f64::min), range.from_c, "{}", buffer.name());
        assert_eq!(of_buffer().fold(f64::NEG_INFINITY, f64::max), range.to_c, "{}", buffer.name());
        assert_eq!(of_buffer().count() as f64, (range.to_c - range.from_c) / 5.0 + 1.0, "{}", buffer.name());
    }
}

/// Source: common practice, no source (table of the carried file); between rows by hand: halfway 20 °C to 25 °C.
#[test]
fn technical_buffer_meets_its_table_and_is_straight_between() {
    for row in rows(include_str!("../reference/technical_7.csv")) {
        assert_printed(Buffer::Technical7.ph(number(row[0])).unwrap(), row[1], row[0]);
    }
    assert_printed(Buffer::Technical7.ph(22.5).unwrap(), "7.0080", "technical 7.00 at 22.5 °C");
    assert_printed(Buffer::Technical7.dph_dt(22.5).unwrap(), "-0.00320", "per °C");
}

/// Source: Bates 1962 (from memory), the superseded phthalate scale: 4.008 at 25 °C, 4.091 at 60 °C; JIS, IUPAC and NIST
/// scales differ from each other, ours is 4.005 and 4.08.
#[test]
fn another_phthalate_scale_is_not_taken_for_ours() {
    assert!(!rounds_to(Buffer::Phthalate.ph(25.0).unwrap(), "4.008"));
    assert!(!rounds_to(Buffer::Phthalate.ph(60.0).unwrap(), "4.091"));
}

/// Source: by hand from the table of the reference buffers: a lot certified 0.005 above 6.865 at 25 °C is 0.005 above
/// 6.881 at 20 °C; each tabulated value may be off by half its last digit.
#[test]
fn a_certified_lot_moves_the_whole_table() {
    let lot = BufferValue::certified(Buffer::Phosphate, 6.870, 25.0).unwrap();
    let ph = lot.ph(20.0).unwrap();
    assert!((ph - 6.886).abs() <= 0.001, "{ph}");
    assert!((ph - 6.881).abs() > 0.001, "{ph} was not shifted");
}
